"""Which amounts are what was paid, what would have been right, what was taken, a fee, and what was left of a balance.

Three things tell it: what was paid is what the shop's records say the label cost; what is right less what was paid is
what was taken; a balance before a movement, less what it took, is the balance after it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import permutations

import numpy as np

from auditor.core.arrays import Masked, Yes
from auditor.intake.reading import agreement
from auditor.intake.reading.amounts import money_columns
from auditor.intake.reading.known import Known
from auditor.intake.reading.prepaid.sheets import Seen

MOST_COLUMNS = 10
BY_CHANCE = 0.001
"""So often one amount is another less a third by chance, or a balance runs (chosen, as what a sum to the cent is)."""
MOSTLY = 0.6
DEARER = 0.75
"""Corrections are seldom as much as the label: amounts of more than it in so many rows are right prices (chosen)."""
FEW_AMOUNTS = 3
"""A fee is one amount, or one of so many."""
LEAST_RUNNING = 3
"""So many movements at least show that a balance runs."""


@dataclass(frozen=True, eq=False)
class Money:
    """What the columns of amounts are: `taken` in cents for each row, the others by their columns.

    `also` are those that move a balance, `found` all columns of amounts. `holds` are the rows in which what was taken
    is what is right less what was paid, `runs` those that a balance proves; `agrees` those whose amount paid is the
    label's cost.
    """

    taken: Masked
    columns: Mapping[str, int]
    of: Mapping[str, Masked]
    odds: float
    holds: Yes
    agrees: Yes
    runs: Yes
    also: frozenset[int] = field(default=frozenset())
    found: frozenset[int] = field(default=frozenset())

    @property
    def used(self) -> set[int]:
        """The columns that are taken."""
        return {*self.columns.values(), *self.also}

    @property
    def others(self) -> set[int]:
        """Columns of amounts that are none of it."""
        return {*self.found} - self.used


def ways(seen: Seen, known: Known) -> Iterator[Money]:
    """Every way to read the amounts of a table for which something speaks, or nothing but its one amount."""
    found = _columns(seen)
    costs = label_costs(seen, known)
    if not seen.pairs:
        yield from _running(found, costs)
    rows = seen.numbered
    paid = {at: _agreement(seen, cents, known, rows) for at, cents in found.items()}
    for one, other in permutations(found, 2):
        agrees, odds = paid[one]
        likely = odds > 0 and agrees[rows & costs.known].mean() >= MOSTLY if (rows & costs.known).any() else False
        for third in found.keys() - {one, other}:
            yield from _of_three(found, (one, other, third), (agrees, odds), rows)
        if likely:
            same = seen.pairs and seen.table.columns[one].at == seen.table.columns[other].at
            yield from _of_two(found, (one, other), (agrees, odds), rows, same=same)
    if not seen.pairs:
        yield from (_alone(at, found, paid[at], rows) for at in found)


def _columns(seen: Seen) -> dict[int, Masked]:
    """The columns that may be amounts: where some have cents, those of which about as many have."""
    found = money_columns(seen.table, seen.where, 1)
    decimals = {at: seen.table.columns[at].share_with_decimals for at in found}
    least = max(decimals.values(), default=0.0) / 2
    kept = [(at, cents) for at, cents in found.items() if decimals[at] >= least]
    return dict(kept[:MOST_COLUMNS])


def label_costs(seen: Seen, known: Known) -> Masked:
    """For each row what its parcel's label cost."""
    return seen.recorded(known, "label_cost_cents")


def _agreement(seen: Seen, cents: Masked, known: Known, rows: Yes) -> tuple[Yes, float]:
    """For each row whether an amount is what its label cost, and the log odds that the column means that."""
    costs = Masked.of_column(known.shipments["label_cost_cents"])
    asked = rows & seen.ours & cents.known
    asked[asked] = costs.known[seen.where.place[asked]]
    agrees = np.zeros(len(rows), dtype=bool)
    if not asked.any():
        return agrees, 0.0
    places, numbers = seen.where.place[asked], cents.numbers[asked]
    agrees[asked] = costs.numbers[places] == numbers
    if len(np.unique(places)) > max(agreement.SHIFTS):
        chance = agreement.by_chance(lambda others: costs.known[others] & (costs.numbers[others] == numbers), places)
    else:  # too few to count by: held against all labels of the shop
        chance = max(float(np.isin(costs.numbers[costs.known], numbers).mean()), 1 / (2 * len(costs.known)))
    return agrees, agreement.held(agrees[asked], chance, agreement.MEANT)


def _of_three(
    found: Mapping[int, Masked], at: tuple[int, int, int], paid: tuple[Yes, float], rows: Yes
) -> Iterator[Money]:
    """Paid, right and taken: the third is the second less the first."""
    one, other, third = (found[place] for place in at)
    known = one.known & other.known & third.known & rows
    more = other.numbers - one.numbers
    holds = known & (np.abs(more) == np.abs(third.numbers)) & (third.numbers != 0)
    if not known.any() or holds[known].mean() < MOSTLY:
        return
    odds = agreement.held(holds[known], BY_CHANCE, agreement.MEANT) + paid[1]
    sign = -1 if (np.sign(more) != np.sign(third.numbers))[holds].mean() > 1 / 2 else 1
    taken = Masked(np.where(holds, more, sign * third.numbers), third.known & rows)
    smaller = bool(np.median(np.abs(third.numbers[known])) <= np.median(np.abs(one.numbers[known])))
    columns = {"paid_cents": at[0], "right_cents": at[1], "taken": at[2]}
    yield _with_fee(Money(taken, columns, {}, odds + smaller, holds, paid[0], holds & False), found, rows)


def _of_two(
    found: Mapping[int, Masked], at: tuple[int, int], paid: tuple[Yes, float], rows: Yes, *, same: bool
) -> Iterator[Money]:
    """Paid, and what would have been right, or what was taken; `same`: they stand in one column of two rows."""
    one, other = found[at[0]], found[at[1]]
    known = one.known & other.known & rows
    if not known.any():
        return
    dearer = same or (other.numbers > one.numbers)[known].mean() >= DEARER
    no = np.zeros(len(rows), dtype=bool)
    if dearer:
        taken = Masked(other.numbers - one.numbers, known)
        yield _with_fee(
            Money(taken, {"paid_cents": at[0], "right_cents": at[1]}, {}, paid[1], no, paid[0], no), found, rows
        )
    else:
        taken = _mostly_above_zero(other, rows)
        yield _with_fee(Money(taken, {"paid_cents": at[0], "taken": at[1]}, {}, paid[1], no, paid[0], no), found, rows)


def _alone(at: int, found: Mapping[int, Masked], paid: tuple[Yes, float], rows: Yes) -> Money:
    """One amount, which is no label's cost: the more of them are, the less it is."""
    no = np.zeros(len(rows), dtype=bool)
    money = Money(_mostly_above_zero(found[at], rows), {"taken": at}, {}, -max(paid[1], 0.0), no, no, no)
    return _with_fee(money, found, rows)


def _mostly_above_zero(cents: Masked, rows: Yes) -> Masked:
    """What is taken is above zero, also where a list of a balance has it below."""
    there = cents.known & rows
    sign = -1 if 2 * int((cents.numbers < 0)[there].sum()) > int(there.sum()) else 1
    return Masked(sign * cents.numbers, there)


def _with_fee(money: Money, found: Mapping[int, Masked], rows: Yes) -> Money:
    """With the values of its columns, and a fee where a further column has one amount in most rows, or few ones."""
    fee = next((at for at in found.keys() - money.used if _is_fee(found[at], rows)), None)
    columns = {**money.columns, **({} if fee is None else {"fee_cents": fee})}
    of = {name: found[at] for name, at in columns.items() if name != "taken"}
    return replace(money, columns=columns, of=of, found=frozenset(found))


def _is_fee(cents: Masked, rows: Yes) -> bool:
    there = cents.known & rows & (cents.numbers != 0)
    amounts = np.unique(cents.numbers[there])
    return bool(0 < len(amounts) <= FEW_AMOUNTS and there.sum() > 2 * len(amounts))


def _running(found: Mapping[int, Masked], costs: Masked) -> Iterator[Money]:
    """A balance, and the column that moves it, or the two of which one is filled in each row."""
    for at, balance in found.items():
        for columns, moved in _movements({one: cents for one, cents in found.items() if one != at}):
            for upwards in (False, True):
                for sign in (1, -1):
                    if money := _runs(balance, Masked(sign * moved.numbers, moved.known), costs, upwards=upwards):
                        of = {"balance_cents": balance}
                        yield replace(money, columns={"balance_cents": at}, of=of, also=frozenset(columns))


def _movements(found: Mapping[int, Masked]) -> Iterator[tuple[tuple[int, ...], Masked]]:
    """Columns that may say what moves a balance: one, or one less another."""
    yield from (((at,), cents) for at, cents in found.items())
    for one, other in permutations(found, 2):
        first, second = found[one], found[other]
        if not (first.known & second.known & (first.numbers != 0) & (second.numbers != 0)).any():
            numbers = np.where(first.known, first.numbers, 0) - np.where(second.known, np.abs(second.numbers), 0)
            yield (one, other), Masked(numbers, first.known | second.known)


def _runs(balance: Masked, taken: Masked, costs: Masked, *, upwards: bool) -> Money | None:
    """The movements, where the balance before each, less what it took, is the balance after it; from below upwards."""
    rows = np.flatnonzero(balance.known)
    rows = rows[::-1] if upwards else rows
    if len(rows) <= LEAST_RUNNING:
        return None
    before, after = rows[:-1], rows[1:]
    runs = np.zeros(len(balance.known), dtype=bool)
    moved = taken.known[after] & (taken.numbers[after] != 0)
    runs[after] = moved & (balance.numbers[before] - taken.numbers[after] == balance.numbers[after])
    if not moved.any() or runs[after][moved].mean() < MOSTLY or runs.sum() < LEAST_RUNNING:
        return None
    agrees = costs.known & taken.known & (costs.numbers == taken.numbers)
    odds = agreement.held(runs[after][moved], BY_CHANCE, agreement.MEANT)
    return Money(taken, {}, {}, odds, runs & False, agrees, runs)
