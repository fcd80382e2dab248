"""What a reader made of a paper about prepaid labels, beside what was planted in it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import pandas as pd

from auditor import intake
from auditor.core.units import NM_PER_INCH, PG_PER_OUNCE
from tests.layouts.prepaid import Paper
from tests.layouts.prepaid.look import declared
from tests.layouts.prepaid.papers import Planted

SIDES = ("length_nm", "width_nm", "height_nm")


@dataclass(frozen=True)
class Score:
    """Counts: corrections planted and found, cells right of all, whether the sum is right, and lines too many."""

    planted: int
    found: int
    cells: int
    of_cells: int
    summed: bool
    more: int


def score(paper: Paper, taken: intake.Intake) -> Score:
    """The counts of one paper."""
    moves = taken.moves[taken.moves["kind"].isin(["correction", "returned"])]
    left = moves.to_dict("records")
    cells, of_cells, found = 0, 0, 0
    for plant in paper.corrections:
        wanted = dict(_cells(plant))
        best = max((one for one in left if _is_same(plant, one)), key=lambda one: _right(wanted, one), default=None)
        of_cells += 2 + len(wanted)
        if best is not None:
            left.remove(best)
            found += 1
            cells += 2 + _right(wanted, best)
    lines = taken.lines[taken.lines["state"] != "label charge"]
    billed = int(lines.loc[lines["state"].isin(["adjustment", "fee", "credit"]), "amount_cents"].sum())
    due = sum(one.cents for one in paper.planted if one.kind in {"correction", "returned", "refund"})
    return Score(len(paper.corrections), found, cells, of_cells, billed == due, len(left))


def _is_same(plant: Planted, read: Mapping[Any, Any]) -> bool:
    return read["tracking"] == plant.tracking and _whole(read) == plant.cents


def _whole(read: Mapping[Any, Any]) -> int:
    return int(read["amount_cents"]) + (0 if pd.isna(read["fee_cents"]) else int(read["fee_cents"]))


def _cells(plant: Planted) -> Iterator[tuple[str, int]]:
    """The figures that the paper shows of a correction, by their names in MOVES."""
    one, label = plant.about, plant.about.label if plant.about else None
    if one is None or label is None:
        return
    for whose, tenths, ounces in (
        ("entered", declared(label), label.ounces),
        ("measured", one.tenths, one.ounces),
    ):
        if f"{whose} size" in plant.shows:
            for side, value in zip(SIDES, tenths, strict=True):
                yield f"{whose}_{side}", int(Fraction(value, 10) * NM_PER_INCH)
        if f"{whose} weight" in plant.shows:
            yield f"{whose}_weight_pg", ounces * PG_PER_OUNCE
    paid, right = (one.right, label.cents) if plant.kind == "returned" else (label.cents, one.right)
    if "paid" in plant.shows:
        yield "paid_cents", paid
    if "right" in plant.shows:
        yield "right_cents", right


def _right(wanted: Mapping[str, int], read: Mapping[Any, Any]) -> int:
    return sum(_is_near(name, value, read[name]) for name, value in wanted.items())


def _is_near(name: str, value: int, read: Any) -> bool:
    return not pd.isna(read) and abs(int(read) - value) <= _off(name)


def _off(name: str) -> int:
    """What rounding to printed digits may take."""
    return PG_PER_OUNCE // 100 if name.endswith("weight_pg") else 0
