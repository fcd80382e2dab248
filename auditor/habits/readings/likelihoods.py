"""How likely means and spreads of a carton's excess are, at the points of a grid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import log_ndtr, ndtr

from auditor.core.arrays import Floats, Places

NEXT_TO_NONE = 1e-5
"""Of the weight of a carton's grid: what lies beyond is left out (chosen)."""

NEXT_TO_NOTHING = np.float32(1e-30)
"""Chances no less than this have a logarithm in 32 bits (chosen near the least such number)."""


@dataclass(frozen=True)
class Silence:
    """What n kinds of parcels without a correction say: the chance of none in each of some steps of the excess.

    `between` (n, steps - 1): where the steps meet, nm or pg; `chance` (n, steps, D), by what the other figures may be;
    `count` (n): parcels of each kind.
    """

    between: Floats
    chance: Floats
    count: Floats

    def scaled(self, scale: float) -> Silence:
        """The same in scales."""
        return replace(self, between=self.between / scale)


@dataclass(frozen=True)
class Grid:
    """Points of (mean, spread), in scales: one for each of `mean` with each of `log_spread`."""

    mean: Floats
    log_spread: Floats

    @classmethod
    def over(cls, reach: float) -> Grid:
        """From -reach to reach, closer together near zero."""
        even = np.linspace(-np.arcsinh(reach * 4), np.arcsinh(reach * 4), 65)
        return cls(np.sinh(even) / 4, np.linspace(np.log(0.02), np.log(reach), 25))

    @property
    def points(self) -> tuple[Floats, Floats]:
        """Mean and log spread of every point."""
        mean, log_spread = np.meshgrid(self.mean, self.log_spread, indexing="ij")
        return mean.ravel(), log_spread.ravel()

    @property
    def area(self) -> Floats:
        """The area each point stands for, (means, spreads)."""
        return np.outer(np.gradient(self.mean), np.gradient(self.log_spread))

    def around(self, weight: Floats) -> Grid:
        """A closer grid where a carton's mean and spread can be, by their weights at the points of this one."""
        mean, log_spread = _where(weight.sum(axis=1), self.mean), _where(weight.sum(axis=0), self.log_spread)
        return Grid(np.linspace(*mean, 31), np.linspace(*log_spread, 19))


def _where(weight: Floats, grid: Floats) -> tuple[float, float]:
    """The stretch of a grid outside which there is next to no weight, and a point more at each end."""
    there = np.flatnonzero(weight > NEXT_TO_NONE * weight.sum())
    return float(grid[max(there[0] - 1, 0)]), float(grid[min(there[-1] + 1, len(grid) - 1)])


def to_one(log_likelihood: Floats) -> Floats:
    """Likelihoods (…, means, spreads) from their logarithms, the largest of each carton being one."""
    return np.asarray(np.exp(log_likelihood - log_likelihood.max(axis=(-2, -1), keepdims=True)))


def of_silences(silences: Sequence[Silence], grid: Grid) -> Floats:
    """The log likelihood of silences, the others' figures as they are on average (means, spreads)."""
    on_average = [replace(silence, chance=silence.chance.mean(axis=-1, keepdims=True)) for silence in silences]
    return np.asarray(by_draw(on_average, grid)[0])


def by_draw(silences: Sequence[Silence], grid: Grid) -> Floats:
    """The log likelihood of silences for each draw of the others' figures (D or 1, means, spreads)."""
    mean, spread = np.repeat(grid.mean, len(grid.log_spread)), np.tile(np.exp(grid.log_spread), len(grid.mean))
    likelihood = np.zeros((silences[0].chance.shape[-1] if silences else 1, len(mean)), dtype=np.float32)
    chance = np.empty_like(likelihood)
    for silence in silences:
        distinct, distinct_of = _distinct_rows(silence.between)
        # Seven digits are plenty for a chance, and logarithms of them take half the time.
        below = ndtr((distinct[:, :, None] - mean) / spread).astype(np.float32)
        less = (-np.diff(silence.chance, axis=1)).astype(np.float32)
        last = silence.chance[:, -1, :, None].astype(np.float32)
        for kind, count in enumerate(silence.count.astype(np.float32)):
            np.matmul(less[kind].T, below[distinct_of[kind]], out=chance)
            np.maximum(np.add(chance, last[kind], out=chance), NEXT_TO_NOTHING, out=chance)
            logarithm = np.log(chance, out=chance)
            likelihood += logarithm if count == 1 else np.multiply(logarithm, count, out=chance)
    return likelihood.astype(np.float64).reshape(len(likelihood), len(grid.mean), -1)


def _distinct_rows(table: Floats) -> tuple[Floats, Places]:
    """The distinct rows, and which of them each is; mostly all are the same, which is quickly seen."""
    if (table == table[:1]).all():
        return table[:1], np.zeros(len(table), dtype=np.intp)
    distinct, distinct_of = np.unique(table, axis=0, return_inverse=True)
    return distinct, distinct_of.reshape(-1)


def log_chance(low: Floats, high: Floats) -> Floats:
    """The logarithm of the chance that a standard normal lies between two ends, kept exact far out."""
    flip = low > 0
    upper = log_ndtr(np.where(flip, -low, high))
    lower = log_ndtr(np.where(flip, -high, low))
    return np.asarray(upper + np.log1p(-np.exp(np.minimum(lower - upper, -1e-12))))
