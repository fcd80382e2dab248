"""What each movement of a balance is: by its amount and its parcel, and by the text that goes with that."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from auditor.core.arrays import Masked, Places, Yes
from auditor.core.schemas import MOVE_KINDS
from auditor.intake.reading.cells import Column
from auditor.intake.reading.prepaid.money import Money
from auditor.intake.reading.prepaid.sheets import Seen

LABEL, CORRECTION, RETURNED, REFUND, TOP_UP, OTHER = range(len(MOVE_KINDS))
MOST_TEXTS = 40
"""A text that tells kinds of movements is one of so many at most."""
MOSTLY = 0.7
"""Of the movements of one text so many are of one kind, where the text tells it (chosen)."""

Kinds = npt.NDArray[np.int8]


def kinds_of(seen: Seen, money: Money, costs: Masked) -> Kinds:
    """For each row the place of its kind in MOVE_KINDS; −1 where nothing moves."""
    by_amount = _by_amount(seen, money.taken, costs)
    if "balance_cents" not in money.columns:
        return np.where(by_amount == LABEL, CORRECTION, np.where(by_amount == REFUND, RETURNED, by_amount))
    telling = [column for at, column in enumerate(seen.table.columns) if at not in money.used and at != seen.where.at]
    return _by_text(by_amount, telling)


def _by_amount(seen: Seen, taken: Masked, costs: Masked) -> Kinds:
    """By amount alone: a label is taken at its cost, once; what else is taken of its parcel corrects it."""
    cents, moves = taken.numbers, taken.known & (taken.numbers != 0)
    ours = seen.numbered & moves
    kinds = np.full(len(cents), -1, dtype=np.int8)
    kinds[moves & ~seen.numbered] = np.where(cents < 0, TOP_UP, OTHER)[moves & ~seen.numbered]
    kinds[ours] = np.where(cents < 0, RETURNED, CORRECTION)[ours]
    at_cost = ours & costs.known & (np.abs(cents) == costs.numbers)
    kinds[_first_of_each(seen.where.key, at_cost & (cents > 0))] = LABEL
    kinds[at_cost & (cents < 0)] = REFUND
    return kinds


def _first_of_each(key: Places, rows: Yes) -> Places:
    """The first of those rows of each parcel."""
    at = np.flatnonzero(rows)
    return at[np.unique(key[at], return_index=True)[1]]


def _by_text(kinds: Kinds, columns: Sequence[Column]) -> Kinds:
    """With the kind that most movements of the same text are, where a text tells it for nearly all."""
    best = max(columns, key=lambda column: _tells(kinds, column), default=None)
    if best is None or _tells(kinds, best) <= 0:
        return kinds
    told = kinds.copy()
    for code in np.unique(best.codes):
        rows = (best.codes == code) & (kinds >= 0)
        if rows.any() and best.texts[code]:
            found, counts = np.unique(kinds[rows], return_counts=True)
            if counts.max() >= MOSTLY * rows.sum():
                told[rows] = found[counts.argmax()]
    return told


def _tells(kinds: Kinds, column: Column) -> float:
    """How much better a column's texts tell the kinds than the commonest kind does; 0 for texts of any number."""
    rows = kinds >= 0
    if not rows.any() or len(column.used) > MOST_TEXTS or column.filled[rows].mean() < MOSTLY:
        return 0.0
    pairs, counts = np.unique(np.column_stack([column.codes[rows], kinds[rows]]), axis=0, return_counts=True)
    right = sum(int(counts[pairs[:, 0] == code].max()) for code in np.unique(pairs[:, 0]))
    most = int(np.unique(kinds[rows], return_counts=True)[1].max())
    return (right - most) / int(rows.sum()) - len(column.used) / max(int(rows.sum()), 1)
