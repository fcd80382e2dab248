"""Which columns of a table are its amounts: every way they may stand, to be weighed by what speaks for it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from itertools import permutations

import numpy as np

from auditor.core.arrays import Masked, Yes
from auditor.intake.reading import sums
from auditor.intake.reading.known import Known
from auditor.intake.reading.lines import Amounts
from auditor.intake.reading.tables import Anchors, Table

MOST_COLUMNS = 60
SCALES = (1, 100)
"""What whole numbers are: units of money, or hundredths of them."""
PAIR = 2
NEARLY_ALL, HALF = 0.8, 0.5
COMPLEMENTARY = 0.95
AMOUNTS = ("amount_cents", "charge")
"""What the user may say that a column of amounts is."""


def ways(table: Table, where: Anchors, known: Known, meaning: Collection[int]) -> Iterator[Amounts]:
    """Every way to take columns of the table for amounts: alone, in two columns, a column a charge.

    Columns that have a `meaning` beside the parcels' records are no part of what labels cost.
    """
    every = (replace(one, each=each) for each in SCALES for one in _in_scale(table, where, known, meaning, each))
    told = {at for at, column in enumerate(table.columns) if column.told in AMOUNTS}
    if not told:
        yield from every
        return
    found = list(every)
    yield from [one for one in found if told <= {*one.columns}] or found


def _in_scale(table: Table, where: Anchors, known: Known, meaning: Collection[int], each: int) -> Iterator[Amounts]:
    if table.fixed:
        column = table.columns[table.fixed[1]]
        if each == 1 or not column.share_with_decimals:
            yield Amounts((table.fixed[1],), (column.money(each),), apart=False)
        return
    found = money_columns(table, where, each)
    yield from _alone(found)
    yield from _debit_and_credit(table, found, where)
    yield from _apart(found, where, known, meaning)


def _alone(found: dict[int, Masked]) -> Iterator[Amounts]:
    """A column by itself; `of_two` where it is what is left of one when another is taken away, in each row."""
    columns = list(found.values())
    left: dict[int, int] = {}
    for whole, parts in sums.sums_of_columns(columns).items():
        if len(parts) == PAIR:
            taken_off = any(_is_below_zero(columns[part]) for part in parts)
            rows = int(np.logical_and.reduce([columns[one].known for one in (whole, *parts)]).sum())
            left |= dict.fromkeys((whole,) if taken_off else parts, rows)
    for one, (at, cents) in enumerate(found.items()):
        yield Amounts((at,), (cents,), apart=False, of_two=left.get(one, 0))


def _is_below_zero(cents: Masked) -> bool:
    """Whether most amounts are."""
    return bool((cents.numbers < 0)[cents.known & (cents.numbers != 0)].mean() > HALF) if cents.numbers.any() else False


def money_columns(table: Table, where: Anchors, each: int) -> dict[int, Masked]:
    """Columns of which nearly all cells can be amounts, and that are no days; with the cents.

    Where whole numbers are cents already (`each` is 100) those with decimals are left out.
    """
    found: dict[int, Masked] = {}
    numbered = where.key >= 0
    for at, column in enumerate(table.columns):
        rows = column.filled & numbered if (column.filled & numbered).any() else column.filled
        if at == where.at or at in table.down or not rows.any() or len(found) >= MOST_COLUMNS:
            continue
        if not column.may_be(*AMOUNTS):
            continue
        if each > 1 and column.share_with_decimals:
            continue
        cents = column.money(each)
        if (
            cents.known[rows].mean() >= NEARLY_ALL
            and cents.numbers[column.filled].any()
            and not _are_days(table, at, rows)
        ):
            found[at] = cents
    return found


def _are_days(table: Table, at: int, rows: Yes) -> bool:
    column = table.columns[at]
    return any(bool(column.days(day_first=first).known[rows].mean() >= NEARLY_ALL) for first in (False, True))


def _debit_and_credit(table: Table, found: dict[int, Masked], where: Anchors) -> Iterator[Amounts]:
    """Two columns of which one is filled in each row: the second taken from the first, or the other way round."""
    rows = where.key >= 0
    decimals = {at: table.columns[at].share_with_decimals > HALF for at in found}
    given = {at: (cents.known & (cents.numbers != 0))[rows] for at, cents in found.items()}
    for one, other in permutations(found, 2):
        either, both = given[one] | given[other], given[one] & given[other]
        fits = either.mean() >= COMPLEMENTARY and not both.any() and decimals[one] == decimals[other]
        if fits and given[one].sum() >= given[other].sum() > 0:
            sign = 1 if (found[other].numbers[rows] < 0).any() else -1
            yield Amounts((one, other), (_less(found[one], found[other], sign),), apart=False)


def _less(one: Masked, other: Masked, sign: int) -> Masked:
    return Masked(sums.plain(one) + sign * sums.plain(other), one.known | other.known)


def _apart(found: dict[int, Masked], where: Anchors, known: Known, meaning: Collection[int]) -> Iterator[Amounts]:
    """A column a charge: those that add up to another in each row, or to what labels cost."""
    places, columns = list(found), list(found.values())
    means = {one for one, at in enumerate(places) if at in meaning}
    summed = sums.sums_of_columns(columns)
    label = _label_columns(columns, where, known, {*summed, *means})
    for at in summed:
        if not any(at in other for one, other in summed.items() if one != at):
            yield _of(sorted(_leaves(at, summed)), label, places, columns, places[at])
    if label:
        others = [at for at in range(len(columns)) if at not in {*summed, *means, *label}]
        yield _of(label, label, places, columns, None)
        yield _of(
            sorted([*label, *(at for at in others if _is_sparse(columns[at], where))]), label, places, columns, None
        )


def _of(
    parts: Sequence[int], label: Sequence[int], places: Sequence[int], columns: Sequence[Masked], summed: int | None
) -> Amounts:
    first = tuple(slot for slot, one in enumerate(parts) if one in label)
    cents = tuple(columns[one] for one in parts)
    return Amounts(tuple(places[one] for one in parts), cents, apart=True, summed=summed, first=first)


def _leaves(at: int, summed: dict[int, tuple[int, ...]]) -> set[int]:
    """The columns that a sum is made of in the end."""
    parts: set[int] = set()
    for one in summed[at]:
        parts |= _leaves(one, summed) if one in summed and at not in summed[one] else {one}
    return parts


def _label_columns(columns: Sequence[Masked], where: Anchors, known: Known, without: set[int]) -> list[int]:
    """Columns that come to what most labels cost."""
    costs = known.shipments["label_cost_cents"].to_numpy(dtype=np.int64, na_value=0)
    target = np.where(where.place >= 0, costs[where.place], 0)
    others = [at for at in range(len(columns)) if at not in without]
    rows = (target != 0) & _first_of_each(where)
    if rows.sum() < sums.FEWEST or not others:
        return []
    matrix = np.column_stack([sums.plain(columns[at]) for at in others])[rows]
    return [others[place] for place in sums.chosen(matrix, target[rows].astype(np.int64))]


def _is_sparse(cents: Masked, where: Anchors) -> bool:
    return bool(((cents.numbers != 0) & cents.known)[where.key >= 0].mean() < HALF)


def _first_of_each(where: Anchors) -> Yes:
    """For each row whether it is the first of its parcel."""
    first = np.zeros(len(where.key), dtype=bool)
    first[np.unique(where.key, return_index=True)[1]] = True
    return first & (where.key >= 0)
