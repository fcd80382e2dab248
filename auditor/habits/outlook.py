"""What back-charges to expect of parcels, from how the carrier reads such cartons.

A reading is the declared figure plus its excess, which is normal. It matters only in which step of the rounding it
falls, and on which side of a limit: so every figure has a few cells, each with its chance, and `price` says what each
combination of cells costs. Nothing is simulated. Parcels that differ in one figure only share their prices.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import ndtr

from auditor.cases import by_rules
from auditor.habits.alike import FIGURES, NO_PRICE, PRICED_BY, Charges, alike
from auditor.habits.cells import edges, width
from auditor.habits.excess import Excess, Floats
from auditor.tariff import Prices, Rulebook, Rules

Whole = npt.NDArray[np.int64]
Yes = npt.NDArray[np.bool_]

LOW, HIGH = 0.05, 0.95
"""The ends of a 90 % interval."""

TAILS = 3.0
"""Readings further out than so many standard deviations are counted in the outermost cell."""

BELOW = 2
"""Cells below the declared figure that are told apart; what is read smaller still counts in the lowest of them."""

MOST = 1 << 19
"""Prices reckoned at a time."""


@dataclass(frozen=True)
class Outlook:
    """What to expect of N parcels, of which n kinds differ, in each of D draws.

    `kind` (N): the kind of each parcel. Of each kind: `declared_cents` (n), the charge by the declared figures, -1
    where it has no price; `chance` (n, D) of a back-charge, a charge by the reading above the one by the declared
    figures; `cents` (n, D), the mean back-charge over all parcels, with and without one, correction fee included;
    `read_cents` (n, D), the mean charge had every parcel been declared as it was read.
    """

    kind: Whole
    declared_cents: Whole
    chance: Floats
    cents: Floats
    read_cents: Floats

    def table(self, index: pd.Index) -> pd.DataFrame:
        """A row for each parcel: declared_cents, and chance and cents as expected, with a 90 % interval.

        Columns declared_cents, chance, chance_low, chance_high, cents, cents_low, cents_high; missing without a price.
        Cents are expectations, so not whole.
        """
        columns: dict[str, Floats] = {}
        for name, draws in (("chance", self.chance), ("cents", self.cents)):
            low, high = np.quantile(draws, [LOW, HIGH], axis=1) if len(draws) else np.zeros((2, 0))
            columns |= {name: draws.mean(axis=1), f"{name}_low": low, f"{name}_high": high}
        declared = pd.Series(self.declared_cents, dtype="Int64", name="declared_cents")
        kinds = pd.concat([declared, pd.DataFrame(columns).astype("Float64")], axis=1)
        kinds = kinds.mask(pd.Series(self.declared_cents < 0))
        return kinds.iloc[self.kind].set_axis(index)

    @property
    def parcels(self) -> Whole:
        """How many parcels there are of each kind (n); none where it has no price."""
        return np.bincount(self.kind, minlength=len(self.declared_cents)) * (self.declared_cents >= 0)

    def total_cents(self) -> Floats:
        """The back-charges expected of all priced parcels together, in each draw (D)."""
        return np.asarray(self.parcels @ self.cents, dtype=np.float64)

    def mean_cents(self) -> Floats:
        """The same of one parcel on average (D); NaN when none is priced."""
        return np.asarray(self.total_cents() / (self.parcels.sum() or np.nan), dtype=np.float64)

    def mean_chance(self) -> Floats:
        """The share of the priced parcels that will be back-charged, in each draw (D); NaN when none is priced."""
        parcels = self.parcels
        return np.asarray(parcels @ self.chance / (parcels.sum() or np.nan), dtype=np.float64)


def outlook(parcels: pd.DataFrame, excess: Mapping[str, Excess], book: Rulebook, prices: Prices) -> Outlook:
    """What to expect of parcels of one carton.

    Args:
        parcels: as `price` takes them, with the declared figures.
        excess: how far readings of each of the FIGURES lie beyond the declared one; equally many draws each, or one. A
            figure that is not there is read as declared.
        book: the rules.
        prices: the prices.

    Returns:
        See `Outlook`. A reading without a price (not accepted, or at a fee that is not known) counts as a back-charge
        of the dearest amount that another reading of that parcel can come to.
    """
    kinds, kind = alike(parcels, book, prices)
    charges, rows = Charges.of(kinds, book, prices), np.arange(len(kinds))
    declared = charges.cents(rows)
    fee = np.maximum(charges.cents(rows, corrected=np.zeros_like(rows)) - declared, 0)
    draws = max((len(one.mean) for one in excess.values()), default=1)
    chance, cents, read_cents = (np.zeros((len(kinds), draws)) for _ in range(3))
    for rules, index in by_rules(book, kinds[declared >= 0]):
        for rows, family, cells in _blocks(kinds.loc[index], excess, rules):
            totals, refused = _totals(charges, rows, family, cells)
            # Rows of a family that are charged alike as declared differ only in the chances of its own figure.
            group, of_row = np.unique(np.stack([family, declared[rows]]), axis=1, return_inverse=True)
            of_row, first = of_row.ravel(), np.unique(of_row, return_index=True)[1]
            totals, refused = totals[group[0]], refused[group[0]]
            more = totals - group[1].reshape(-1, *[1] * len(FIGURES))
            more = np.where(refused, np.maximum(more, 1), np.maximum(more, 0))
            fees = fee[rows[first]].reshape(-1, *[1] * len(FIGURES))
            if book.takes_of_correction:
                fees = _fees(charges, rows[first], more, declared)
            corrected = np.where(more > 0, more + fees, 0)
            for found, values in ((chance, more > 0), (cents, corrected), (read_cents, totals)):
                found[rows] = _expected(values.astype(np.float64), cells, first, of_row)
    return Outlook(kind, declared, chance, cents, read_cents)


def _fees(charges: Charges, rows: Whole, more: Whole, declared: Whole) -> Whole:
    """The fee for correcting each row by each amount (rows, …), where it is a percentage of that."""
    each = rows.repeat(more[0].size)
    with_fee = charges.cents(each, corrected=more.reshape(-1))
    return np.asarray(np.maximum(with_fee - declared[each], 0).reshape(more.shape))


@dataclass(frozen=True)
class _Cells:
    """The cells of one figure of n parcels: a reading inside each (n, cells), and their chances (n, cells, D)."""

    inside: Whole
    chance: Floats
    of_row: Whole
    shared: bool = False

    @classmethod
    def of(cls, declared: Whole, excess: Excess | None, figure: str, rules: Rules, *, shared: bool) -> _Cells:
        """Cells from a little below each declared figure to where readings become rare.

        With `shared`, all parcels have the same cells. Without an excess the declared figure is the only reading.
        """
        distinct, of_row = np.unique(declared, return_inverse=True)
        if excess is None:
            return cls(distinct[:, None], np.ones((len(distinct), 1, 1)), of_row)
        lowest, highest = _window(excess, width(figure, rules))
        ends = edges(figure, int(distinct[0]) + lowest, int(distinct[-1]) + highest, rules)
        if not shared:
            first = np.searchsorted(ends, distinct + lowest, side="right") - 1
            count = int((np.searchsorted(ends, distinct + highest) - first).max())
            ends = ends[np.minimum(first[:, None] + np.arange(count + 1), len(ends) - 1)]
        between = np.atleast_2d(ends)[:, 1:-1] - distinct[:, None]
        below = ndtr((between[:, :, None] - excess.mean) / excess.spread)
        inside = np.broadcast_to(
            np.maximum((ends[..., :-1] + ends[..., 1:]) // 2, 1), (len(distinct), ends.shape[-1] - 1)
        )
        return cls(inside, np.diff(below, axis=1, prepend=0.0, append=1.0), of_row, shared)

    @property
    def count(self) -> int:
        return int(self.inside.shape[1])

    def rows(self, rows: slice | Whole) -> _Cells:
        """Those of some parcels."""
        of_row = self.of_row[rows]
        return _Cells(self.inside[of_row], self.chance[of_row], np.arange(len(of_row)), self.shared)


def _window(excess: Excess, step: int) -> tuple[int, int]:
    """How far below and above the declared figure readings are told apart."""
    lowest = np.quantile(excess.mean - TAILS * excess.spread, LOW)
    highest = np.quantile(excess.mean + TAILS * excess.spread, HIGH)
    return max(int(lowest), -BELOW * step), max(int(highest), 0) + step


def _blocks(
    kinds: pd.DataFrame, excess: Mapping[str, Excess], rules: Rules
) -> Iterator[tuple[Whole, Whole, dict[str, _Cells]]]:
    """Row numbers of kinds, as many as can be priced at a time, their families, and the cells of each figure.

    Kinds of a family differ in one figure only and share its cells, which stand first. The figure is the one that
    leaves the fewest prices to reckon.
    """
    whole = {figure: kinds[figure].to_numpy(dtype=np.int64) for figure in FIGURES}

    def cells(shared: str) -> dict[str, _Cells]:
        in_order = sorted(FIGURES, key=lambda figure: figure != shared)
        return {
            figure: _Cells.of(whole[figure], excess.get(figure), figure, rules, shared=figure == shared)
            for figure in in_order
        }

    def prices_of(ways: dict[str, _Cells]) -> int:
        return int(np.prod([one.count for one in ways.values()]))

    differing = [figure for figure in excess if len(kinds) > 1 and np.ptp(whole[figure])]
    families = {"": np.arange(len(kinds))} | _families(kinds, differing)
    ways = {figure: cells(figure) for figure in families}
    best = min(families, key=lambda figure: (int(families[figure].max()) + 1) * prices_of(ways[figure]))
    order = np.argsort(families[best], kind="stable")
    at_once = max(MOST // prices_of(ways[best]), 1)
    for start in range(0, len(kinds), at_once):
        some = order[start : start + at_once]
        family = np.unique(families[best][some], return_inverse=True)[1]
        yield kinds.index.to_numpy()[some], family, {figure: one.rows(some) for figure, one in ways[best].items()}


def _families(kinds: pd.DataFrame, figures: Sequence[str]) -> dict[str, Whole]:
    """For each figure a number for the kinds that differ in that one only."""
    codes = {column: pd.factorize(kinds[column], use_na_sentinel=False)[0] for column in PRICED_BY if column in kinds}
    differing = {column: code for column, code in codes.items() if code.any()}
    found = {}
    for figure in figures:
        others = [code for column, code in differing.items() if column != figure]
        alone = np.zeros(len(kinds), dtype=np.int64)
        found[figure] = np.unique(np.stack(others), axis=1, return_inverse=True)[1].ravel() if others else alone
    return found


def _totals(charges: Charges, rows: Whole, family: Whole, cells: Mapping[str, _Cells]) -> tuple[Whole, Yes]:
    """What each combination of cells costs, (families, cells of each figure …), and which have no price.

    Without a price stands the dearest other combination.
    """
    first = np.unique(family, return_index=True)[1]
    shape = (len(first), *(one.count for one in cells.values()))
    read = {}
    for axis, (figure, one) in enumerate(cells.items(), 1):
        along = [len(first), *(size if place == axis else 1 for place, size in enumerate(shape[1:], 1))]
        read[figure] = np.broadcast_to(one.inside[first].reshape(along), shape).reshape(-1)
    totals = charges.cents(rows[first].repeat(int(np.prod(shape[1:]))), read).reshape(shape)
    dearest = totals.reshape(len(first), -1).max(axis=1).reshape(-1, *[1] * len(FIGURES))
    return np.where(totals == NO_PRICE, dearest, totals), totals == NO_PRICE


def _expected(values: Floats, cells: Mapping[str, _Cells], first: Whole, of_row: Whole) -> Floats:
    """The mean of values (groups, cells of each figure …) over the cells' chances, for each row (rows, D).

    `of_row` is the group of each row; rows of one group have the chances of their `first` in all but one figure.
    """
    own, *others = (one.chance for one in cells.values())
    *others, last = (chance[first] for chance in others)
    mean = np.einsum("nkc,ncd->nkd", values.reshape(len(values), -1, values.shape[-1]), last)
    for chance in reversed(others):
        apart = mean.reshape(len(values), -1, chance.shape[1], mean.shape[-1])
        mean = np.einsum("nkcd,ncd->nkd", apart, chance)
    return np.asarray(np.einsum("ncd,ncd->nd", mean[of_row], own))
