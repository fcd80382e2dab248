"""Whose the sizes and weights are: those that are the record's were entered, the others were measured."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from auditor.core.arrays import Masked, Whole, Yes
from auditor.core.sides import FIGURES, SIDES
from auditor.core.units import NM_PER_INCH
from auditor.intake import vocabulary
from auditor.intake.reading import measures
from auditor.intake.reading.cells import Column
from auditor.intake.reading.known import Known
from auditor.intake.reading.prepaid.sheets import Seen

LIKE, MOSTLY = 0.7, 0.5
"""So many of a column's figures are like what was declared, where it is one of the parcel's (chosen)."""
NEAR_SIDE, NEAR_NM, LEAST_WEIGHT, MOST_WEIGHT = 0.35, 4 * NM_PER_INCH, 0.4, 4.0
"""A side measured is within about a third of the declared one or a hand, a weight from half to some times as much."""
SMALL = 1e-9


@dataclass(frozen=True, eq=False)
class Read:
    """A figure as columns give it: its values by name, whether they are like those declared, and how many are equal.

    `columns` are those it stands in, `heading` the words above the first.
    """

    values: Mapping[str, Masked]
    like: float
    equal: float
    columns: tuple[int, ...]
    heading: str


def figures(seen: Seen, known: Known, taken: set[int]) -> tuple[dict[str, Masked], set[int]]:
    """The entered and measured figures by their names in MOVES, and the columns that they stand in."""
    found: dict[str, Masked] = {}
    used: set[int] = set()
    for kind, candidates in (
        ("size", list(_sizes(seen, known, taken))),
        ("weight", list(_weights(seen, known, taken))),
    ):
        for whose, read in _told_apart(_apart(candidates), kind).items():
            found |= {f"{whose}_{name}": values for name, values in read.values.items()}
            used |= {*read.columns}
    return found, used


def _apart(candidates: Sequence[Read]) -> list[Read]:
    """The candidates that are likest, none of which stands in a column of another; in the order of their columns."""
    chosen: list[Read] = []
    for one in sorted(candidates, key=lambda read: (-round(read.like, 2), -read.equal, read.columns)):
        if not any({*one.columns} & {*other.columns} for other in chosen):
            chosen.append(one)
    return sorted(chosen[:2], key=lambda read: read.columns)


def _told_apart(found: Sequence[Read], kind: str) -> dict[str, Read]:
    """Which are entered and which measured: more of those entered are what the record says."""
    if not found:
        return {}
    if len(found) == 1:
        [only] = found
        is_entered = only.equal > 1 - SMALL if not _lean(only, kind) else _lean(only, kind) > 0
        return {"entered" if is_entered else "measured": only}
    first, second = found
    apart = (first.equal + _lean(first, kind) / 100) - (second.equal + _lean(second, kind) / 100)
    entered, measured = (first, second) if apart >= 0 else (second, first)
    return {"entered": entered, "measured": measured}


def _lean(read: Read, kind: str) -> int:
    """What the words above say, where they are known: 1 for entered, −1 for measured."""
    like = vocabulary.likeness(read.heading, "notice") if read.heading else {}
    whose = {name.partition("_")[0]: score for name, (score, _) in like.items() if kind in name or "_nm" in name}
    entered, measured = whose.get("declared", 0.0), whose.get("measured", 0.0)
    return int(np.sign(entered - measured)) if max(entered, measured) > MOSTLY else 0


def _sizes(seen: Seen, known: Known, taken: set[int]) -> Iterator[Read]:
    declared = [seen.recorded(known, side) for side in SIDES]
    columns = seen.table.columns
    for at, column in enumerate(columns):
        if at in taken or at == seen.where.at:
            continue
        units = measures.UNITS["length"]
        yield from _best(
            (_of_text(column, unit), declared, measures.half_a_step(column, unit, "length"), (at,), column.heading)
            for unit in units
        )
    numbers = [at for at in range(len(columns)) if at not in taken and at != seen.where.at and _is_figure(columns[at])]
    for run in zip(numbers, numbers[1:], numbers[2:], strict=False):
        if run[2] - run[0] == len(SIDES) - 1:
            them = [columns[at] for at in run]
            yield from _best(
                (_of_three(them, unit), declared, measures.half_a_step(them[0], unit, "length"), run, them[0].heading)
                for unit in measures.UNITS["length"]
            )


def _is_figure(column: Column) -> bool:
    used = column.used
    return bool(used) and sum(text[0].isdigit() for text in used) > MOSTLY * len(used)


def _of_text(column: Column, unit: str) -> list[Masked]:
    return [measures.side_of(column, unit, place) for place in range(len(SIDES))]


def _of_three(columns: Sequence[Column], unit: str) -> list[Masked]:
    """Three sides in falling order, whatever order their columns have."""
    found = [measures.measured(column, unit, "length") for column in columns]
    known = np.logical_and.reduce([one.known & (one.numbers > 0) for one in found])
    falling = -np.sort(-np.stack([one.numbers for one in found]), axis=0)
    return [Masked(numbers, known) for numbers in falling]


def _weights(seen: Seen, known: Known, taken: set[int]) -> Iterator[Read]:
    declared = seen.recorded(known, "weight_pg")
    for at, column in enumerate(seen.table.columns):
        if at not in taken and at != seen.where.at and _is_figure(column):
            yield from _best(
                (
                    [measures.measured(column, unit, "weight")],
                    [declared],
                    measures.half_a_step(column, unit, "weight"),
                    (at,),
                    column.heading,
                )
                for unit in measures.UNITS["weight"]
            )


def _best(ways: Iterator[tuple[list[Masked], list[Masked], Whole, tuple[int, ...], str]]) -> Iterator[Read]:
    """The unit in which figures are likest to the declared ones, where they are like them at all."""
    found = [_read(*way) for way in ways]
    best = max((read for read in found if read), key=lambda read: (read.like, read.equal), default=None)
    if best is not None and best.like >= LIKE:
        yield best


def _read(
    values: list[Masked], declared: list[Masked], off: Whole, columns: tuple[int, ...], heading: str
) -> Read | None:
    there = np.logical_and.reduce([one.known & other.known for one, other in zip(values, declared, strict=True)])
    filled = values[0].known
    if not there.any() or not filled.any():
        return None
    like = np.logical_and.reduce(
        [_is_like(*pair, sides=len(values) > 1) for pair in zip(values, declared, strict=True)]
    )
    equal = np.logical_and.reduce([measures.near(*pair, off) for pair in zip(values, declared, strict=True)])
    names = SIDES if len(values) > 1 else FIGURES[len(SIDES) :]
    return Read(
        dict(zip(names, values, strict=True)), float(like[there].mean()), float(equal[there].mean()), columns, heading
    )


def _is_like(one: Masked, declared: Masked, *, sides: bool) -> Yes:
    share = one.numbers / np.maximum(declared.numbers, 1)
    if sides:
        return np.asarray((np.abs(share - 1) <= NEAR_SIDE) | (np.abs(one.numbers - declared.numbers) <= NEAR_NM))
    return np.asarray((share >= LEAST_WEIGHT) & (share <= MOST_WEIGHT))
