"""What a reader made of a drawn statement, beside what was planted in it."""

from __future__ import annotations

import re
from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from auditor import intake
from tests.layouts.drawn import Drawn
from tests.layouts.table_truth import FIELDS

CELLS = tuple(name for name in FIELDS if name not in {"statement", "tracking", "charge", "amount_cents"})
"""Cells of a line that count where they are printed, beside its number, its amount and its charge."""

Row = Mapping[Hashable, Any]
Pair = tuple[Row | None, Row | None]


@dataclass(frozen=True)
class Score:
    """Counts of one statement; `lines` are those found by number and amount, `grades` what the reader says of it."""

    planted: int
    lines: int
    more: int
    classes: int
    states: int
    cells: int
    of_cells: int
    tied: bool
    total_found: bool | None
    grades: tuple[str, ...]

    @property
    def whole(self) -> bool:
        """At least 99.5 % of the cells, the sum to the cent, each charge in its class, no line too many."""
        enough = 1000 * self.cells >= 995 * self.of_cells
        return self.tied and enough and self.classes == self.planted and not self.more

    @property
    def wrong(self) -> bool:
        """A sum that is not the statement's, a line that is not there, or a charge that is called another."""
        return not self.tied or self.lines < self.planted or bool(self.more) or self.classes < self.planted

    @property
    def silent(self) -> bool | None:
        """Wrong and called proven; None where the reader gives no grades."""
        return (self.wrong and set(self.grades) == {"proven"}) if self.grades else None


def score(drawn: Drawn, taken: intake.Intake) -> Score:
    """The counts."""
    of, pairs = drawn.truth.to_dict("records"), list(paired(drawn, taken))
    both = [(plant, read) for plant, read in pairs if plant is not None and read is not None]
    printed = set(taken.printed_totals["printed_total_cents"].dropna())
    return Score(
        planted=len(of),
        lines=len(both),
        more=sum(plant is None for plant, _ in pairs),
        classes=sum(plant["charge"] == read["charge"] for plant, read in both),
        states=sum(_state_holds(plant, read) for plant, read in both),
        cells=sum(right for plant, read in both for right in cells(plant, read)),
        of_cells=sum(3 + sum(_there(plant, name) for name in CELLS) for plant in of),
        tied=int(taken.lines["amount_cents"].sum()) == drawn.total_cents and printed <= {drawn.total_cents},
        total_found=drawn.total_cents in printed if drawn.prints_total else None,
        grades=grades(taken),
    )


def grades(taken: intake.Intake) -> tuple[str, ...]:
    """What the reader says of how far its reading is proven, statement by statement."""
    return tuple(proof.grade for proof in taken.proofs.values())


def paired(drawn: Drawn, taken: intake.Intake) -> Iterator[Pair]:
    """Each planted line with the line read of the same number and amount, the same charge first; None for either.

    A line of nothing says nothing, and is no line too many.
    """
    left: dict[tuple[str, object], list[Row]] = {}
    lines = taken.lines[taken.lines["amount_cents"].ne(0).fillna(value=True)]
    for read in lines.to_dict("records"):
        left.setdefault(_key(read), []).append(read)
    for plant in drawn.truth.to_dict("records"):
        found = left.get(_key(plant), [])
        best = max(
            found,
            key=lambda read: (read["charge"] is not pd.NA and read["charge"] == plant["charge"], _right(plant, read)),
            default=None,
        )
        if best is not None:
            found.remove(best)
        yield plant, best
    yield from ((None, read) for reads in left.values() for read in reads)


def _right(plant: Row, read: Row) -> int:
    return sum(cells(plant, read))


def cells(plant: Row, read: Row) -> Iterator[bool]:
    """Whether the number, the amount, the charge and each figure printed is right."""
    yield from (True, True, _same("charge", plant, read))
    yield from (_same(name, plant, read) for name in CELLS if _there(plant, name))


def differences(drawn: Drawn, taken: intake.Intake) -> Iterator[str]:
    """What was misread, a line each."""
    for plant, read in paired(drawn, taken):
        if read is None and plant is not None:
            yield f"not read: {_shortly(plant)}"
        elif plant is None and read is not None:
            yield f"not there: {_shortly(read)}"
        elif plant is not None and read is not None:
            wrong = ("charge", *(name for name in CELLS if _there(plant, name)))
            told = [f"{name} {plant[name]} as {read[name]}" for name in wrong if not _same(name, plant, read)]
            if told:
                yield f"{plant['tracking']} {plant['amount_cents']}: {', '.join(told)}"


def _shortly(row: Row) -> str:
    return f"{row['tracking']} {row['charge']} {row['amount_cents']} {row['state']}"


def _key(row: Row) -> tuple[str, object]:
    number, cents = row["tracking"], row["amount_cents"]
    return "" if pd.isna(number) else re.sub(r"\W", "", str(number)), None if pd.isna(cents) else int(str(cents))


def _there(row: Row, name: str) -> bool:
    return name in row and not pd.isna(row[name])


def _same(name: str, plant: Row, read: Row) -> bool:
    if not _there(read, name):
        return False
    if name == "zone":
        return _zone(plant[name]) == _zone(read[name])
    return bool(plant[name] == read[name])


def _zone(told: object) -> str:
    return re.sub(r"^\D*0*", "", str(told))


def _state_holds(plant: Row, read: Row) -> bool:
    """The same state; of what is taken back and charged anew it is no fault to call it a credit or a label's charge."""
    alike: Sequence[str] = {"adjustment": ("adjustment", "credit", "label charge")}.get(str(plant["state"]), ())
    return read["state"] == plant["state"] or read["state"] in alike
