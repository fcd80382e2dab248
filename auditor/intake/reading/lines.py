"""A table read as lines: amounts with their parcels, long; and what speaks for that reading."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from auditor.core.arrays import Floats, Masked, Places, Whole, Yes
from auditor.intake.reading import agreement
from auditor.intake.reading.agreement import MEANT, ONE_IN_100, ONE_IN_1000
from auditor.intake.reading.known import Known
from auditor.intake.reading.tables import Anchors

HALF = 0.5
MOST_OF_LABEL = 8
"""A label's own charges are so many at most."""
MOST_BILLED = 0.5
"""Of recorded labels half at least are billed at what they cost, where the lines are read right."""


@dataclass(frozen=True)
class Evidence:
    """What speaks for a reading, in log odds, and the sentence that says it."""

    odds: float
    said: str


@dataclass(frozen=True, eq=False)
class Amounts:
    """Columns of a table taken for amounts: `columns`, their cents, whether each is a charge of its own (`apart`).

    `summed` is the column that holds their sum in each row, where there is one; `first` are the places among them of
    those that make up a label's cost; `of_two` in how many rows it is one column less another. `each` is 100 where
    whole numbers are cents already.
    """

    columns: tuple[int, ...]
    cents: tuple[Masked, ...]
    apart: bool
    summed: int | None = None
    first: tuple[int, ...] = ()
    of_two: int = 0
    each: int = 1


@dataclass(frozen=True, eq=False)
class Lines:
    """Lines in the order of the document: row of the table, place among the columns of amounts, cents, parcel.

    `first` are those that come first where it is asked what a label cost.
    """

    row: Places
    slot: Places
    cents: Whole
    key: Places
    place: Places
    first: Yes

    def __len__(self) -> int:
        return len(self.row)


def lines_of(amounts: Amounts, where: Anchors, rows: Yes) -> Lines:
    """The lines in those rows; a charge of its own column that is zero is none."""
    there = np.column_stack([_is_line(one, apart=amounts.apart) for one in amounts.cents]) & rows[:, None]
    row, slot = np.nonzero(there)
    cents = np.column_stack([one.numbers for one in amounts.cents])[row, slot]
    return Lines(row, slot, cents, where.key[row], where.place[row], np.isin(slot, amounts.first))


def _is_line(cents: Masked, *, apart: bool) -> Yes:
    return cents.known & (cents.numbers != 0) if apart else cents.known


def labels_paid(lines: Lines, known: Known, settled: Yes) -> tuple[Places, Yes, float]:
    """Parcels with a recorded label cost, whether their first lines come to it, and how often they would by chance.

    Parcels that are `settled` already are left out, as a label is charged once.
    """
    costs = Masked.of_column(known.shipments["label_cost_cents"])
    rows = np.flatnonzero(lines.place >= 0)
    rows = rows[~settled[lines.place[rows]]]
    order = rows[np.lexsort((~lines.first[rows], lines.place[rows]))]
    parcels, starts = np.unique(lines.place[order], return_index=True)
    if not len(parcels):
        return parcels, np.zeros(0, dtype=bool), 1.0
    group = np.repeat(np.arange(len(parcels)), np.diff([*starts, len(order)]))
    running = np.cumsum(lines.cents[order])
    running -= (running[starts] - lines.cents[order][starts])[group]
    early = np.arange(len(order)) - starts[group] < MOST_OF_LABEL

    def comes_to(others: Places) -> Yes:
        hits = (running == costs.numbers[others][group]) & early
        return np.bincount(group[hits], minlength=len(parcels)) > 0

    has_cost = costs.known[parcels] & (costs.numbers[parcels] != 0)
    if not has_cost.any():
        return parcels[:0], has_cost[:0], 1.0
    chance = agreement.by_chance(lambda others: comes_to(others)[has_cost], parcels)
    return parcels[has_cost], comes_to(parcels)[has_cost], chance


def as_expected(lines: Lines, known: Known, settled: Yes) -> tuple[Yes, float]:
    """For each line of a recorded parcel whether it is one of the charges expected of it, or all; and by chance."""
    names = [name for name in known.charges if known.expected[name].notna().any()]
    rows = np.flatnonzero((lines.place >= 0) & (lines.cents != 0))
    rows = rows[~settled[lines.place[rows]]]
    if not names or not len(rows):
        return np.zeros(0, dtype=bool), 1.0
    due = known.expected[names].assign(whole=known.whole_cents)
    table = due.to_numpy(dtype=np.float64, na_value=0)
    cents = lines.cents[rows].astype(np.float64)

    def agrees(places: Places) -> Yes:
        return np.asarray((table[places] == cents[:, None]).any(axis=1))

    places = lines.place[rows]
    return agrees(places), agreement.by_chance(agrees, places)


def varied(lines: Lines) -> float:
    """Log odds that amounts in a column differ within a parcel, as charges do and what is said of it does not."""
    order = np.lexsort((lines.row, lines.key, lines.slot))
    key, slot, cents = lines.key[order], lines.slot[order], lines.cents[order]
    again = (key[1:] == key[:-1]) & (key[1:] >= 0) & (slot[1:] == slot[:-1])
    if not again.any():
        return 0.0
    differ = cents[1:][again] != cents[:-1][again]
    # Half of what repeats within a parcel would differ if nothing were known of it.
    return agreement.held(differ, HALF, MEANT)


def sizes(cents: Whole) -> Floats:
    """Amounts on a scale of their size."""
    return np.asarray(np.log1p(np.abs(cents.astype(np.float64))))


def of_parcels(lines: Lines, known: Known, settled: Yes) -> list[Evidence]:
    """What the shop's records and prices say of lines."""
    _, paid, by_luck = labels_paid(lines, known, settled)
    expected, chance = as_expected(lines, known, settled)
    return [
        Evidence(
            agreement.at_least(paid, by_luck, MOST_BILLED) if len(paid) else 0.0,
            f"{int(paid.sum()):,} of {len(paid):,} labels add up to what was recorded as paid",
        ),
        Evidence(
            agreement.gained(expected, chance),
            f"{int(expected.sum()):,} of {len(expected):,} amounts are a charge expected of their parcel",
        ),
        Evidence(varied(lines), "amounts differ within a parcel"),
    ]


def left_of_two(amounts: Amounts) -> Evidence:
    """What it says that a column is another less a third in each row, as what is billed is."""
    return Evidence(amounts.of_two * ONE_IN_1000, f"{amounts.of_two:,} amounts are one column less another")


def charged_already(lines: Lines, before: Lines | None) -> Evidence:
    """Lines that say again what another table of the statement has charged: that is no charge."""
    if before is None or not len(before):
        return Evidence(0.0, "")
    pairs = {*zip(before.place.tolist(), before.cents.tolist(), strict=True)}
    again = sum(pair in pairs for pair in zip(lines.place.tolist(), lines.cents.tolist(), strict=True) if pair[0] >= 0)
    return Evidence(-again * ONE_IN_100, f"{again:,} amounts were charged above already")


def rows_add_up(cents: tuple[Masked, ...], summed: Masked) -> Evidence:
    """What it says that columns add up to another one in each row: by chance one in a thousand would."""
    matrix = np.column_stack([np.where(one.known, one.numbers, 0) for one in cents])
    rows = summed.known & ((matrix != 0).sum(axis=1) > 1)
    right = int((matrix.sum(axis=1) == summed.numbers)[rows].sum())
    return Evidence(right * ONE_IN_1000, f"{right:,} rows add up to the column of their sums")
