"""Every combination of readings that matters for some parcels, with its chance and what it costs."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from scipy.special import ndtr

from auditor.core.arrays import Floats, Whole, Yes
from auditor.core.sides import FIGURES
from auditor.habits.readings.alike import NO_PRICE
from auditor.habits.readings.cells import edges, width
from auditor.habits.readings.excess import Excess
from auditor.habits.readings.lot import Lot
from auditor.tariff import Rules

BELOW = 2
"""Cells below the declared figure that are told apart; what is read smaller still counts in the lowest of them
(chosen)."""

MOST = 1 << 19
"""Prices reckoned at a time: what fits into memory (chosen); it changes no figure."""


@dataclass(frozen=True)
class Cells:
    """The cells of one figure of n parcels: a reading inside each (n, cells), and their chances (n, cells, D).

    `chances` are reckoned when first asked for, as most cells are only counted. `between` (n, cells - 1): where they
    meet, less the declared figure. Each is by distinct declared figure, and `of_row` says which of them a parcel has.
    With `shared`, all parcels have the same cells.
    """

    inside: Whole
    chances: Callable[[], Floats]
    between: Floats
    of_row: Whole
    shared: bool = False

    @classmethod
    def alone(cls, declared: Whole) -> Cells:
        """The declared figure as the only reading."""
        distinct, of_row = np.unique(declared, return_inverse=True)
        return cls(distinct[:, None], lambda: np.ones((len(distinct), 1, 1)), np.zeros((len(distinct), 0)), of_row)

    @classmethod
    def of(
        cls, declared: Whole, excess: Excess, reach: tuple[int, int], figure: str, rules: Rules, *, shared: bool
    ) -> Cells:
        """Cells within a reach, see `window`, of each declared figure; with `shared` all parcels have the same."""
        distinct, of_row = np.unique(declared, return_inverse=True)
        lowest, highest = reach
        ends = edges(figure, int(distinct[0]) + lowest, int(distinct[-1]) + highest, rules)
        if not shared:
            first = np.searchsorted(ends, distinct + lowest, side="right") - 1
            count = int((np.searchsorted(ends, distinct + highest) - first).max())
            ends = ends[np.minimum(first[:, None] + np.arange(count + 1), len(ends) - 1)]
        between = np.atleast_2d(ends)[:, 1:-1] - distinct[:, None]
        inside = np.broadcast_to(
            np.maximum((ends[..., :-1] + ends[..., 1:]) // 2, 1), (len(distinct), ends.shape[-1] - 1)
        )
        chances = cache(lambda: chances_of(between, excess))
        return cls(inside, chances, between.astype(np.float64), of_row, shared)

    @property
    def count(self) -> int:
        """How many cells there are."""
        return int(self.inside.shape[1])

    def rows(self, rows: slice | Whole) -> Cells:
        """Those of some parcels."""
        return replace(self, of_row=self.of_row[rows])


def chances_of(between: Floats | Whole, excess: Excess) -> Floats:
    """The chance of each cell, by where they meet less the declared figure (n, cells - 1): (n, cells, D)."""
    below = ndtr((between[:, :, None] - excess.mean) / excess.spread)
    return np.diff(below, axis=1, prepend=0.0, append=1.0)


def window(excess: Excess, figure: str, rules: Rules) -> tuple[int, int]:
    """From how far below the declared figure to how far above, where readings become rare, they are told apart."""
    step, (lowest, highest) = width(figure, rules), excess.tails
    return min(max(int(lowest), -BELOW * step), 0), int(highest) + step


def blocks(
    lot: Lot, kinds: Whole, excess: Mapping[str, Excess], rules: Rules
) -> Iterator[tuple[Whole, Whole, dict[str, Cells]]]:
    """Some kinds of a lot, of as many families as can be priced at a time, and the cells of each figure.

    Kinds of a family differ in one figure only and share its cells, which stand first. The figure is the one that
    leaves the fewest prices to reckon.
    """
    reach = {figure: window(fit, figure, rules) for figure, fit in excess.items()}

    def cells(figure: str, *, shared: bool) -> Cells:
        declared = lot.figures[figure][kinds]
        if figure not in excess:
            return Cells.alone(declared)
        return Cells.of(declared, excess[figure], reach[figure], figure, rules, shared=shared)

    def prices_of(ways: dict[str, Cells]) -> int:
        return int(np.prod([of_figure.count for of_figure in ways.values()]))

    own = {figure: cells(figure, shared=False) for figure in FIGURES}
    families, ways = {"": np.arange(len(kinds))}, {"": own}
    for figure in excess:
        if np.ptp(lot.figures[figure][kinds]):
            families[figure] = lot.families(kinds, figure)
            # The figure that they differ in stands first.
            ways[figure] = {
                figure: cells(figure, shared=True),
                **{other: own[other] for other in FIGURES if other != figure},
            }
    best = min(families, key=lambda figure: (int(families[figure].max()) + 1) * prices_of(ways[figure]))
    order = np.argsort(families[best], kind="stable")
    family = families[best][order]
    at_once = max(MOST // prices_of(ways[best]), 1)
    for first in range(0, int(family[-1]) + 1, at_once):
        now = slice(*np.searchsorted(family, [first, first + at_once]))
        yield (
            kinds[order[now]],
            family[now] - first,
            {name: of_figure.rows(order[now]) for name, of_figure in ways[best].items()},
        )


def totals_of(lot: Lot, kinds: Whole, family: Whole, cells: Mapping[str, Cells]) -> tuple[Whole, Yes]:
    """What each combination of cells costs, (families, cells of each figure …), and which have no price.

    Without a price stands the dearest other combination.
    """
    first = np.unique(family, return_index=True)[1]
    shape = (len(first), *(of_figure.count for of_figure in cells.values()))
    measured = {}
    for axis, (figure, of_figure) in enumerate(cells.items(), 1):
        along = [len(first), *(size if place == axis else 1 for place, size in enumerate(shape[1:], 1))]
        measured[figure] = of_figure.inside[of_figure.of_row[first]].reshape(along)
    totals = lot.cents(kinds[first].reshape(-1, *[1] * len(FIGURES)), measured)
    dearest = totals.reshape(len(first), -1).max(axis=1).reshape(-1, *[1] * len(FIGURES))
    return np.where(totals == NO_PRICE, dearest, totals), totals == NO_PRICE


def mean_over(values: Floats, one: Floats, two: Floats, three: Floats) -> Floats:
    """The mean of values (n, cells of each figure …) over the chances of all figures but the first (n, cells, D).

    Returns:
        (n, cells of the first figure, D).
    """
    count, of_own, of_one = values.shape[:3]
    # Two figures together, so that one product of matrices does most of the work.
    together = (two[:, :, None] * three[:, None]).reshape(count, -1, max(two.shape[-1], three.shape[-1]))
    mean = values.reshape(count, of_own * of_one, -1) @ together
    return np.asarray((mean.reshape(count, of_own, of_one, -1) * one[:, None]).sum(axis=2))
