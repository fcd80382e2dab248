"""What back-charges to expect of parcels, from how the carrier reads such cartons.

A reading is the declared figure plus its excess, which is normal. It matters only in which step of the rounding it
falls, and on which side of a limit: so every figure has a few cells, each with its chance, and `price` says what each
combination of cells costs. Nothing is simulated. Parcels that differ in one figure only share their prices.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.core.arrays import Floats, Whole, Yes
from auditor.core.sides import FIGURES
from auditor.habits.readings.combinations import MOST, Cells, blocks, mean_over, totals_of
from auditor.habits.readings.excess import Excess, ends
from auditor.habits.readings.lot import Lot
from auditor.tariff import Prices, Rulebook


@dataclass(frozen=True)
class Outlook:
    """What to expect of N parcels, of which n kinds differ, in each of D draws.

    `kind` (N): the kind of each parcel. Of each kind: `declared_cents` (n), the charge by the declared figures, -1
    where it has no price; `chance` (n, D) of a back-charge, a charge by the reading above the one by the declared
    figures; `cents` (n, D), the mean back-charge over all parcels, with and without one, correction fee included.
    """

    kind: Whole
    declared_cents: Whole
    chance: Floats
    cents: Floats

    def table(self, index: pd.Index) -> pd.DataFrame:
        """A row for each parcel: declared_cents, and chance and cents as expected, with a 90 % interval.

        Columns declared_cents, chance, chance_low, chance_high, cents, cents_low, cents_high; missing without a price.
        Cents are expectations, so not whole.
        """
        columns: dict[str, Floats] = {}
        for name, draws in (("chance", self.chance), ("cents", self.cents)):
            low, high = ends(draws)
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


def outlook(parcels: pd.DataFrame, excess: Mapping[str, Excess], book: Rulebook, prices: Prices) -> Outlook:
    """What to expect of parcels of one carton, see `outlooks`."""
    return outlooks(parcels, excess, book, prices, [0])[0]


def outlooks(
    parcels: pd.DataFrame, excess: Mapping[str, Excess], book: Rulebook, prices: Prices, bounds: Sequence[int]
) -> list[Outlook]:
    """What to expect of parcels of one carton, for each bound of back-charges above it alone.

    Args:
        parcels: as `price` takes them, with the declared figures.
        excess: how far readings of each of the FIGURES lie beyond the declared one; equally many draws each, or one. A
            figure that is not there is read as declared.
        book: the rules.
        prices: the prices.
        bounds: in cents. 0: every back-charge.

    Returns:
        See `Outlook`, one for each bound. A reading without a price (not accepted, or at a fee that is not known)
        counts as a back-charge of the dearest amount that another reading of that parcel can come to.
    """
    lot, kind = Lot.of(parcels, book, prices)
    found = expected(lot, excess, *(value for bound in bounds for value in (over(bound), amount_over(bound))))
    return [Outlook(kind, lot.declared_cents, *found[at : at + 2]) for at in range(0, len(found), 2)]


def over(cents: int) -> Callable[[Whole], Floats]:
    """Whether back-charges are more than that: its expectation is a chance."""
    return lambda back_charge: (back_charge > cents).astype(np.float64)


def amount(back_charge: Whole) -> Floats:
    """How much back-charges are, in cents."""
    return back_charge.astype(np.float64)


def amount_over(cents: int) -> Callable[[Whole], Floats]:
    """How much back-charges of more than that are, in cents; others are nothing."""
    return lambda back_charge: np.where(back_charge > cents, back_charge, 0).astype(np.float64)


def expected(lot: Lot, excess: Mapping[str, Excess], *values: Callable[[Whole], Floats]) -> list[Floats]:
    """The mean of each function of the back-charge, cents with the fee for correcting, for n kinds and D draws (n, D).

    0 where a kind has no price. See `outlook`.
    """
    declared = lot.declared_cents
    draws = max((len(fit.mean) for fit in excess.values()), default=1)
    found = [np.zeros((len(declared), draws)) for _ in values]
    for rules, under in lot.stretches(np.flatnonzero(declared >= 0)):
        for kinds, family, cells in blocks(lot, under, excess, rules):
            totals, refused = totals_of(lot, kinds, family, cells)
            at_once = max(MOST // totals[0].size, 1)
            for now in (slice(start, start + at_once) for start in range(0, len(kinds), at_once)):
                back_charge, first, of_kind = _back_charges(lot, kinds[now], family[now], totals, refused)
                own = [of_figure.rows(now) for of_figure in cells.values()]
                for mean, value in zip(found, values, strict=True):
                    mean[kinds[now]] = _mean(value(back_charge), own, first, of_kind)
    return found


def _back_charges(lot: Lot, kinds: Whole, family: Whole, totals: Whole, refused: Yes) -> tuple[Whole, Whole, Whole]:
    """The back-charge for each combination of cells (groups, cells of each figure …), by what those come to.

    Kinds of a family that are charged alike as declared make a group: they differ only in the chances of the family's
    own figure. With it the first kind of each group, and the group of each kind.
    """
    every = np.stack([family, lot.declared_cents[kinds]])
    group, first, of_kind = np.unique(every, axis=1, return_index=True, return_inverse=True)
    more = totals[group[0]] - group[1].reshape(-1, *[1] * len(FIGURES))
    more = np.maximum(more, refused[group[0]])  # what is refused counts as a cent more at least
    fees = lot.fee_cents[kinds[first]].reshape(-1, *[1] * len(FIGURES))
    if lot.charges.terms.book.takes_of_correction:
        fees = _fees(lot, kinds[first], more)
    return np.where(more > 0, more + fees, 0), first, of_kind.ravel()


def _fees(lot: Lot, kinds: Whole, more: Whole) -> Whole:
    """The fee for correcting each kind by each amount (kinds, …), where it is a percentage of that."""
    each = kinds.repeat(more[0].size)
    with_fee = lot.cents(each, corrected=more.reshape(-1))
    return np.asarray(np.maximum(with_fee - lot.declared_cents[each], 0).reshape(more.shape))


def _mean(values: Floats, cells: Sequence[Cells], first: Whole, of_kind: Whole) -> Floats:
    """The mean of values (groups, cells of each figure …) over the cells' chances, for each kind (kinds, D).

    `of_kind` is the group of each kind; kinds of one group have the chances of their `first` in all but one figure.
    """
    own, *others = cells
    mean = mean_over(values, *(of_figure.chances()[of_figure.of_row[first]] for of_figure in others))
    return np.asarray(np.einsum("ncd,ncd->nd", mean[of_kind], own.chances()[own.of_row]))
