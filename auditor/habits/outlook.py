"""What back-charges to expect of parcels, from how the carrier reads such cartons.

A reading is the declared figure plus its excess, which is normal. It matters only in which step of the rounding it
falls, and on which side of a limit: so every figure has a few cells, each with its chance, and `price` says what each
combination of cells costs. Nothing is simulated.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import ndtr

from auditor.cases import by_rules
from auditor.habits.alike import FIGURES, alike
from auditor.habits.excess import Excess, Floats
from auditor.tariff import Prices, Rulebook, Rules, price
from auditor.tariff.price import SIDES
from auditor.units import NM_PER_INCH, PG_PER_OUNCE

Whole = npt.NDArray[np.int64]

LOW, HIGH = 0.05, 0.95
"""The ends of a 90 % interval."""

TAILS = 3.0
"""Readings further out than so many standard deviations are counted in the outermost cell."""

BELOW = 2
"""Cells below the declared figure that are told apart; what is read smaller still counts in the lowest of them."""

MOST = 1 << 18
"""Prices reckoned at a time."""

REFUSED = -1


@dataclass(frozen=True)
class Outlook:
    """What to expect of N parcels, of which n kinds differ, in each of D draws.

    `kind` (N): the kind of each parcel. Of each kind: `declared_cents` (n), the charge by the declared figures, -1
    where it has no price; `chance` (n, D) of a back-charge, a charge by the reading above the one by the declared
    figures; `cents` (n, D), the mean back-charge over all parcels, with and without one.
    """

    kind: npt.NDArray[np.intp]
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
            low, high = np.quantile(draws, [LOW, HIGH], axis=1) if len(draws) else np.zeros((2, 0))
            columns |= {name: draws.mean(axis=1), f"{name}_low": low, f"{name}_high": high}
        declared = pd.Series(self.declared_cents, dtype="Int64", name="declared_cents")
        kinds = pd.concat([declared, pd.DataFrame(columns).astype("Float64")], axis=1)
        kinds = kinds.mask(pd.Series(self.declared_cents < 0))
        return kinds.iloc[self.kind].set_axis(index)

    def total_cents(self) -> Floats:
        """The back-charges expected of all priced parcels together, in each draw (D)."""
        priced = np.where(self.declared_cents < 0, 0, 1) * np.bincount(self.kind, minlength=len(self.cents))
        return np.asarray(priced @ self.cents, dtype=np.float64)

    def mean_chance(self) -> Floats:
        """The share of the priced parcels that will be back-charged, in each draw (D); NaN when none is priced."""
        priced = np.where(self.declared_cents < 0, 0, 1) * np.bincount(self.kind, minlength=len(self.chance))
        share = priced / priced.sum() if priced.sum() else np.full(len(priced), np.nan)
        return np.asarray(share @ self.chance, dtype=np.float64)


def outlook(parcels: pd.DataFrame, excess: Mapping[str, Excess], book: Rulebook, prices: Prices) -> Outlook:
    """What to expect of parcels of one carton.

    Args:
        parcels: as `price` takes them, with the declared figures.
        excess: for each of the FIGURES how far readings lie beyond the declared one; equally many draws each, or one.
        book: the rules.
        prices: the prices.

    Returns:
        See `Outlook`. A reading without a price (not accepted, or at a fee that is not known) counts as a back-charge of
        the dearest amount that another reading of that parcel can come to.
    """
    kinds, kind = alike(parcels, book, prices)
    declared = price(kinds, book, prices)["total_cents"].fillna(-1).to_numpy(dtype=np.int64)
    draws = max(len(one.mean) for one in excess.values())
    chance, cents = np.zeros((len(kinds), draws)), np.zeros((len(kinds), draws))
    for rules, rows in by_rules(book, kinds[declared >= 0]):
        cells = {figure: _Cells.of(kinds.loc[rows, figure], excess[figure], rules) for figure in FIGURES}
        at_once = max(MOST // int(np.prod([one.count for one in cells.values()])), 1)
        for start in range(0, len(rows), at_once):
            some = slice(start, start + at_once)
            block, inside = rows[some], [cells[figure].inside[cells[figure].of_row[some]] for figure in FIGURES]
            more = _back_charges(kinds.loc[block], declared[block], inside, book, prices)
            chances = [cells[figure].chance[cells[figure].of_row[some]] for figure in FIGURES]
            chance[block] = _expected((more > 0).astype(float), chances)
            cents[block] = _expected(more, chances)
    return Outlook(kind, declared, chance, cents)


@dataclass(frozen=True)
class _Cells:
    """The cells of one figure: for each distinct declared value a reading inside each cell, and the cells' chances.

    `inside` (distinct, cells), `chance` (distinct, draws, cells); `of_row`: which of the distinct each row has.
    """

    inside: Whole
    chance: Floats
    of_row: npt.NDArray[np.intp]

    @property
    def count(self) -> int:
        return int(self.inside.shape[1])

    @classmethod
    def of(cls, declared: pd.Series, excess: Excess, rules: Rules) -> _Cells:
        """Cells from a little below each declared figure to where readings become rare."""
        distinct, of_row = np.unique(declared.to_numpy(dtype=np.int64), return_inverse=True)
        step = _step(str(declared.name), rules)
        lowest, highest = _window(excess, step)
        edges = _edges(str(declared.name), int(distinct[0]) + lowest - step, int(distinct[-1]) + highest + step, rules)
        first = np.searchsorted(edges, distinct + lowest, side="right") - 1
        count = int((np.searchsorted(edges, distinct + highest) - first).max())
        ends = edges[np.minimum(first[:, None] + np.arange(count + 1), len(edges) - 1)]
        between = (ends[:, 1:-1] - distinct[:, None])[:, None, :] - excess.mean[:, None]
        below = ndtr(between / excess.spread[:, None])
        inside = np.maximum((ends[:, :-1] + ends[:, 1:]) // 2, 1)
        return cls(inside, np.diff(below, axis=-1, prepend=0.0, append=1.0), of_row)


def _step(figure: str, rules: Rules) -> int:
    """The width of a figure's cells: the rule's step, or the device's tolerance where nothing is rounded."""
    side = figure in SIDES
    rounding = rules.side_rounding if side else rules.weight_rounding
    if rounding.way != "none":
        return rounding.step
    return max(rules.side_tolerance_nm, NM_PER_INCH // 16) if side else max(rules.weight_tolerance_pg, PG_PER_OUNCE)


def _window(excess: Excess, step: int) -> tuple[int, int]:
    """How far below and above the declared figure readings are told apart."""
    reach = np.array([excess.mean - TAILS * excess.spread, excess.mean + TAILS * excess.spread])
    lowest, highest = np.quantile(reach[0], LOW), np.quantile(reach[1], HIGH)
    return max(int(lowest), -BELOW * step), max(int(highest), 0) + step


def _edges(figure: str, lowest: int, highest: int, rules: Rules) -> Whole:
    """Where, between two figures, rounding changes or a limit on the unrounded figure stands."""
    step, side = _step(figure, rules), figure in SIDES
    rounding = rules.side_rounding if side else rules.weight_rounding
    shift = step // 2 if rounding.way == "nearest" else 0
    edges = np.arange(lowest // step * step + shift, highest + 2 * step, step)
    if rounding.fine_step and lowest < rounding.fine_up_to:
        fine = np.arange(lowest // rounding.fine_step * rounding.fine_step, rounding.fine_up_to + 1, rounding.fine_step)
        edges = np.concatenate([fine, edges[edges > rounding.fine_up_to]])
    of_figure = [
        int(limit.limit)
        for limit in (*(limit for charge in rules.charges for limit in charge.limits), *rules.not_accepted)
        if limit.measure in (("longest side", "second side", "shortest side") if side else ("actual weight",))
    ]
    limits = [limit for limit in of_figure if edges[0] < limit < edges[-1]]
    return np.unique(np.concatenate([edges, np.array(limits, dtype=np.int64)]))


def _back_charges(
    kinds: pd.DataFrame, declared_cents: Whole, inside: list[Whole], book: Rulebook, prices: Prices
) -> Floats:
    """What each combination of cells costs above the declared charge: (kinds, cells of each figure …)."""
    shape = (len(kinds), *(figure.shape[1] for figure in inside))
    read = kinds.loc[kinds.index.repeat(int(np.prod(shape[1:])))].reset_index(drop=True)
    for place, (figure, values) in enumerate(zip(FIGURES, inside, strict=True), 1):
        along = [len(kinds), *(values.shape[1] if axis == place else 1 for axis in range(1, len(shape)))]
        read[figure] = np.broadcast_to(values.reshape(along), shape).reshape(-1)
    more = _raised(read, np.repeat(declared_cents, len(read) // len(kinds)), book, prices)
    dearest = more.reshape(len(kinds), -1).max(axis=1).repeat(len(read) // len(kinds))
    return np.where(more == REFUSED, np.maximum(dearest, 1), more).reshape(shape).astype(np.float64)


def _raised(read: pd.DataFrame, declared_cents: Whole, book: Rulebook, prices: Prices) -> Whole:
    """By how many cents the readings raise the charge, the correction fee included; REFUSED where there is no price."""
    plain = price(read, book, prices)["total_cents"].fillna(REFUSED).to_numpy(dtype=np.int64)
    more = np.where(plain == REFUSED, REFUSED, np.maximum(plain - declared_cents, 0))
    raised = more > 0
    if raised.any() and book.called_by("corrected"):
        again = read[raised].assign(corrected=True, correction_cents=more[raised])
        total = price(again, book, prices)["total_cents"]
        more[raised] = np.maximum(total.to_numpy(dtype=np.int64, na_value=0) - declared_cents[raised], more[raised])
    return more


def _expected(values: Floats, chances: list[Floats]) -> Floats:
    """The mean of values (n, cells of each figure …) over the cells' chances (n, D, cells): (n, D)."""
    *others, last = chances
    kinds, draws = len(values), max(chance.shape[1] for chance in chances)
    mean = values.reshape(kinds, -1, values.shape[-1]) @ last.transpose(0, 2, 1)
    for chance in reversed(others):
        mean = mean.reshape(kinds, -1, chance.shape[2], mean.shape[-1])
        mean = np.einsum("nkcd,ndc->nkd", mean, np.broadcast_to(chance, (kinds, draws, chance.shape[2])))
    return np.broadcast_to(mean[:, 0, :], (kinds, draws))
