"""What it says that a parcel was not corrected, when its figures are looked at together.

A longer reading alone may not raise the charge, and with a wider one it does; or a side read smaller makes up for it.
So the chance of no correction is found for each step that one figure's reading may lie in, given how the others are
read as far as is known.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from auditor.core.arrays import Floats, Whole
from auditor.core.sides import FIGURES
from auditor.habits.readings.combinations import Cells, chances_of, mean_over, totals_of, window
from auditor.habits.readings.excess import Excess
from auditor.habits.readings.likelihoods import Silence
from auditor.habits.readings.lot import Lot

MOST_KINDS = 48
"""The commonest kinds of a carton's parcels stand for all (chosen).

Parcels of the same rules and service that are declared alike are corrected at the same readings, in whatever zone.
"""


@dataclass(frozen=True)
class Silent:
    """Parcels of one carton without a correction, n kinds of them: `count` (n) of each.

    `quiet` (n, steps of each of the FIGURES …): whether readings in those steps leave the charge as it is. `between`:
    by figure where its steps meet, less the declared figure (n, steps - 1).
    """

    count: Floats
    quiet: Floats
    between: Mapping[str, Floats]

    def chances(self, figure: str, excess: Excess) -> Floats:
        """The chance of each step of one figure in each draw (n, steps, D)."""
        return chances_of(self.between[figure], excess)

    def says(self, figure: str, chance: Mapping[str, Floats]) -> Silence:
        """What they say of one figure, the others being read as by each draw of their excess: by their `chances`."""
        chances = [chance[other] for other in FIGURES if other != figure]
        own_first = np.moveaxis(self.quiet, FIGURES.index(figure) + 1, 1)
        return Silence(self.between[figure], mean_over(own_first, *chances), self.count)


def silent(lot: Lot, kind: Whole, excess: Mapping[str, Excess]) -> list[Silent]:
    """Parcels of one carton that were not corrected, by the rules they fall under.

    Args:
        lot: parcels with the declared figures.
        kind: of which of its kinds each of those parcels is.
        excess: of that carton, about, for each of the FIGURES: how far steps need to be told apart.
    """
    found = []
    for rules, under in lot.stretches(np.unique(kind)):
        own = np.stack([lot.service[lot.row[under]], *(lot.figures[figure][under] for figure in FIGURES)])
        _, first, group = np.unique(own, axis=1, return_index=True, return_inverse=True)
        count = np.bincount(group.ravel(), np.bincount(kind)[under])
        common = np.argsort(-count, kind="stable")[:MOST_KINDS]
        kinds, stands_for = under[first[common]], count.sum() / count[common].sum()
        reach = {figure: window(excess[figure], figure, rules) for figure in FIGURES}
        cells = {
            figure: Cells.of(lot.figures[figure][kinds], excess[figure], reach[figure], figure, rules, shared=False)
            for figure in FIGURES
        }
        between = {figure: of_figure.between[of_figure.of_row] for figure, of_figure in cells.items()}
        found.append(Silent(count[common] * stands_for, _quiet(lot, kinds, cells), between))
    return found


def _quiet(lot: Lot, kinds: Whole, cells: Mapping[str, Cells]) -> Floats:
    totals, refused = totals_of(lot, kinds, np.arange(len(kinds)), cells)
    declared = lot.cents(kinds).reshape(-1, *[1] * len(cells))
    return np.asarray((totals <= declared) & ~refused, dtype=np.float64)
