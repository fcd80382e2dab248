"""What it says that a parcel was not corrected, when its figures are looked at together.

A longer reading alone may not raise the charge, and with a wider one it does; or a side read smaller makes up for it.
So the chance of no correction is found for each step that one figure's reading may lie in, given how the others are
read as far as is known.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import ndtr

from auditor.cases import by_rules
from auditor.habits.alike import FIGURES, NO_PRICE, Charges, Whole
from auditor.habits.combinations import Cells
from auditor.habits.excess import Excess, Floats, Silence
from auditor.tariff import Prices, Rulebook

SAME_RISE = ("service", *FIGURES)
"""Parcels of the same rules that are equal in these are corrected at the same readings, in whatever zone."""

MOST_KINDS = 48
"""The commonest kinds of a carton's parcels stand for all."""


@dataclass(frozen=True)
class Silent:
    """Parcels of one carton without a correction, n kinds of them: `count` (n) of each.

    `quiet` (n, steps of each of the FIGURES …): whether readings in those steps leave the charge as it is. `between`:
    by figure where its steps meet, less the declared figure (n, steps - 1).
    """

    count: Floats
    quiet: Floats
    between: Mapping[str, Floats]

    def says(self, figure: str, excess: Mapping[str, Excess]) -> list[Silence]:
        """What they say of one figure, the others being read as by each draw of their `excess`."""
        others = [other for other in FIGURES if other != figure]
        chances = [_chances(self.between[other], excess[other]) for other in others]
        letters = dict(zip(FIGURES, "abcd", strict=True))
        left, of = self.quiet, "nabcd"
        for other, chance in zip(others, chances, strict=True):
            without = of.replace(letters[other], "").removesuffix("z") + "z"
            left, of = np.einsum(f"{of},n{letters[other]}z->{without}", left, chance), without
        return [
            Silence(ends, chance, float(count))
            for ends, chance, count in zip(self.between[figure], left, self.count, strict=True)
        ]


def _chances(between: Floats, excess: Excess) -> Floats:
    """The chance of each step (n, steps, D)."""
    below = ndtr((between[:, :, None] - excess.mean) / excess.spread)
    return np.diff(below, axis=1, prepend=0.0, append=1.0)


def silent(parcels: pd.DataFrame, excess: Mapping[str, Excess], book: Rulebook, prices: Prices) -> list[Silent]:
    """Parcels of one carton that were not corrected, by the rules they fall under.

    Args:
        parcels: as `price` takes them, with the declared figures.
        excess: of that carton, about, for each of the FIGURES: how far steps need to be told apart.
        book: the rules.
        prices: the prices.
    """
    found = []
    for rules, index in by_rules(book, parcels):
        same = parcels.loc[index].groupby([*SAME_RISE], sort=False, dropna=False)
        counts = same.size().sort_values(ascending=False, kind="stable").head(MOST_KINDS)
        kinds = same.head(1).set_index([*SAME_RISE], drop=False).loc[counts.index].reset_index(drop=True)
        cells = {
            figure: Cells.of(kinds[figure].to_numpy(dtype=np.int64), excess[figure], figure, rules, shared=False)
            for figure in FIGURES
        }
        count = counts.to_numpy(dtype=np.float64) * len(index) / counts.sum()
        between = {figure: one.between[one.of_row] for figure, one in cells.items()}
        found.append(Silent(count, _quiet(kinds, cells, Charges.of(kinds, book, prices)), between))
    return found


def _quiet(kinds: pd.DataFrame, cells: Mapping[str, Cells], charges: Charges) -> Floats:
    rows: Whole = np.arange(len(kinds))
    shape = (len(kinds), *(one.count for one in cells.values()))
    read = {}
    for axis, (figure, one) in enumerate(cells.items(), 1):
        along = [len(kinds), *(size if place == axis else 1 for place, size in enumerate(shape[1:], 1))]
        read[figure] = np.broadcast_to(one.inside[one.of_row].reshape(along), shape).reshape(-1)
    totals = charges.cents(rows.repeat(int(np.prod(shape[1:]))), read).reshape(shape)
    declared = charges.cents(rows).reshape(-1, *[1] * len(cells))
    return np.asarray((totals <= declared) & (totals != NO_PRICE), dtype=np.float64)
