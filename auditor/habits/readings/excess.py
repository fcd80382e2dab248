"""How far the carrier's readings lie beyond the declared figures: normal for each carton, cartons being alike.

A reading is seen only when the carrier corrected the parcel, and then mostly rounded; any other parcel says that its
reading stayed below the next figure at which the charge would rise. So each parcel gives an interval, open below for
most, and a carton's likelihood is a product of normal chances of intervals and densities (Tobin 1958; the same as
`scipy.stats.CensoredData`). Cartons are pooled: their means are drawn from one normal distribution, and so are the
logarithms of their spreads, whose parameters are not known either (Gelman et al., Bayesian Data Analysis, 3rd ed.,
5.4). All of it is added up on grids, so no sampler has to converge; draws are seeded.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np
import pandas as pd
from scipy.special import ndtr

from auditor.core.arrays import Floats, Places, Whole, Yes
from auditor.habits.readings.likelihoods import Grid, Silence, by_draw, log_chance, of_silences, to_one

Basis = Literal["own history", "shop's history", "device tolerance"]

DRAWS = 200
"""Chosen, for the time they take: an end of an interval then lies within some 0.015 of the share it stands for."""

SEED = 20260301
"""Any number."""

OWN_FROM = 5
"""From so many parcels on that say something, a carton has a history of its own (chosen)."""

LOW, HIGH = 0.05, 0.95
"""The ends of a 90 % interval (chosen)."""

FINE = 64
"""Bounds are told apart to so many parts of the scale (chosen)."""

SPREAD_APART = 0.35
"""Standard deviation of the logarithms of the cartons' spreads: most are within a factor of two of one another.

This, what else is thought beforehand and where (`_Shop.of`), and the grids, are chosen. The intervals that come of them
are measured: docs/evaluation.md, "Intervals of habits" (`tests/evaluation/habits.py`); that the grids are fine and wide
enough is held against a second integration (`tests/habits/test_excess_beforehand.py`).
"""

TYPICAL_DEVIATION = 0.2
"""By how many scales the means of a shop's cartons deviate, beforehand (chosen)."""

LEAST = 1e-300
"""Chances no less than this have a logarithm (chosen near the least such number)."""

TAIL = 0.001
"""Readings further out than all but this share of them are counted in the outermost cell (chosen)."""

TAILS, FEWER = 5.0, 4
"""They are looked for within so many standard deviations of the widest draws, by every fourth draw (chosen)."""

REACH = 8.0
"""How far the grids reach at least, in scales (chosen)."""


@dataclass(frozen=True)
class Excess:
    """Reading less declared figure, for one carton and figure: normal, with a mean and spread that are not quite known.

    `mean` and `spread` (standard deviation), in nm or pg, are equally likely draws of what they may be, so a result is
    the mean of the draws' results and its interval their quantiles. `parcels` and `measured` count the parcels this
    rests on and those of them with a reading. `basis`: the carton's own history, the shop's other cartons', or nothing
    but the tolerance of the carrier's device.
    """

    mean: Floats
    spread: Floats
    parcels: int
    measured: int
    basis: Basis

    @cached_property
    def tails(self) -> tuple[float, float]:
        """From how far below the declared figure to how far above readings are not rare, nm or pg."""
        mean, spread = self.mean[::FEWER], self.spread[::FEWER]
        far = max(float(np.quantile(mean + TAILS * spread, HIGH)), 0.0)
        ends = np.linspace(0, far, 32)
        beyond = ndtr((mean - ends[:, None]) / spread).mean(axis=1)
        return float(np.quantile(mean - TAILS * spread, LOW)), float(ends[np.argmax(beyond < TAIL)])


@dataclass(frozen=True)
class Fitted:
    """The excess of one figure for each carton, and for a carton of that shop of which nothing is known."""

    of_carton: Mapping[str, Excess]
    shop: Excess


def ends(draws: Floats) -> Floats:
    """The ends of a 90 % interval, by draws along the last axis: (2, …).

    The i-th smallest of n draws stands for i / (n + 1): as many draws of the truth, and one more, would lie below it
    (R. J. Hyndman and Y. Fan, The American Statistician 50 (1996), 361-365, definition 6). Counted from end to end
    instead, the interval of a hundred draws would hold the truth in 88 % of cases.
    """
    return np.asarray(np.quantile(draws, [LOW, HIGH], axis=-1, method="weibull"))


def fitted(bounds: pd.DataFrame, scale: float, *, draws: int = DRAWS, seed: int = SEED) -> Fitted | None:
    """Fit the excess of one figure by bounds alone.

    Args:
        bounds: see `Seen.of`.
        scale: see there.
        draws: how many draws to give.
        seed: of the draws.

    Returns:
        None when no parcel says anything.
    """
    seen = Seen.of(bounds, scale)
    return None if seen is None else seen.fit(draws=draws, seed=seed)


def _basis(parcels: int) -> Basis:
    return "own history" if parcels >= OWN_FROM else "shop's history"


@dataclass(frozen=True)
class Seen:
    """What is seen of one figure of the parcels of each carton, in scales.

    `scale`: nm or pg. `place`, `low`, `high`, `count` (n): distinct intervals of the excess with the place of their
    carton; low is -inf where only an upper end is known. `exact` (cartons, 3): of exact readings their count, sum and
    sum of squares. `parcels` and `measured`: how many parcels of each carton say something, and have a reading.
    """

    cartons: list[str]
    scale: float
    place: Places
    low: Floats
    high: Floats
    count: Floats
    exact: Floats
    parcels: list[int]
    measured: list[int]

    @classmethod
    def of(cls, bounds: pd.DataFrame, scale: float) -> Seen | None:
        """What bounds say; None when they say nothing.

        Args:
            bounds: a row a parcel: carton, and low and high, between which its excess lies, in nm or pg: -inf for a
                parcel whose reading is only known to have stayed below `high`, the same twice for an exact reading.
            scale: about how large an excess is thought to be before anything is seen, in nm or pg; readings raise it.
        """
        known = bounds[np.isfinite(bounds["high"]) | np.isfinite(bounds["low"])]
        if known.empty:
            return None
        low, high = (known[end].to_numpy(dtype=np.float64) for end in ("low", "high"))
        middle = np.abs((low + high) / 2)
        scale = max(scale, float(np.median(middle[np.isfinite(middle)]))) if np.isfinite(middle).any() else scale
        low, high = low / scale, high / scale
        code, cartons = pd.factorize(known["carton"], sort=True)
        points = low == high
        exact = [np.bincount(code[points], low[points] ** power, len(cartons)) for power in range(3)]
        low, high = np.round(low * FINE) / FINE, np.round(high * FINE) / FINE
        high = np.where(high > low, high, low + 1 / FINE)
        spans, count = np.unique(np.stack([code, low, high])[:, ~points], axis=1, return_counts=True)
        return cls(
            cartons=[str(carton) for carton in cartons],
            scale=scale,
            place=spans[0].astype(np.intp),
            low=spans[1],
            high=spans[2],
            count=count.astype(np.float64),
            exact=np.stack(exact, axis=1).astype(np.float64),
            parcels=np.bincount(code, minlength=len(cartons)).tolist(),
            measured=np.bincount(code, low > -np.inf, len(cartons)).astype(int).tolist(),
        )

    def fit(
        self, silences: Mapping[str, Sequence[Silence]] | None = None, *, draws: int = DRAWS, seed: int = SEED
    ) -> Fitted:
        """The excess of each carton, and of any other of the shop.

        Args:
            silences: by carton what parcels without a correction say, where that is known better than by upper ends,
                which then do not count.
            draws: how many draws to give.
            seed: of the draws.
        """
        rng, grid = np.random.default_rng(seed), self._grid
        silent = [
            [silence.scaled(self.scale) for silence in (silences or {}).get(carton, ())] for carton in self.cartons
        ]
        likelihood = self._of_ends if silences is None else self._of_readings
        likelihood = likelihood + np.stack([of_silences(of_carton, grid) for of_carton in silent])
        shop = _Shop.of(grid, likelihood, draws, rng)
        prior = shop.of_means(grid.mean).T @ shop.of_spreads(grid.log_spread) * grid.area
        own = {}
        for place, weight in enumerate(to_one(likelihood) * prior):
            closer = grid.around(weight)
            seen = self.log_likelihood(closer, self._counts(open_ended=silences is None) & (self.place == place))[place]
            mean, spread = _drawn(seen + by_draw(silent[place], closer), closer, shop, rng)
            own[self.cartons[place]] = self._excess(mean, spread, self.parcels[place], self.measured[place])
        every = self._excess(*shop.another_carton(rng), sum(self.parcels), sum(self.measured))
        return Fitted(own, replace(every, basis="shop's history"))

    def _excess(self, mean: Floats, spread: Floats, parcels: int, measured: int) -> Excess:
        return Excess(mean * self.scale, spread * self.scale, parcels, measured, _basis(parcels))

    @cached_property
    def _grid(self) -> Grid:
        apart = np.abs(np.concatenate([self.low, self.high]))
        sums = self.exact[self.exact[:, 0] > 0]
        far = [apart[np.isfinite(apart)].max(initial=0), np.sqrt(sums[:, 2] / sums[:, 0]).max(initial=0) * 2]
        return Grid.over(max(REACH, float(max(far)) * 1.5))

    @cached_property
    def _of_ends(self) -> Floats:
        return self.log_likelihood(self._grid, self._counts(open_ended=True))

    @cached_property
    def _of_readings(self) -> Floats:
        return self.log_likelihood(self._grid, self._counts(open_ended=False))

    def _counts(self, *, open_ended: bool) -> Yes:
        """The intervals that count: all, or those with a reading."""
        return np.isfinite(self.low) | open_ended

    def log_likelihood(self, grid: Grid, wanted: Yes) -> Floats:
        """Of exact readings and some of the intervals, for each carton at each point, (cartons, means, spreads)."""
        mean, log_spread = grid.points
        spread = np.exp(log_spread)
        count, total, squares = self.exact.T[:, :, None]
        apart = squares - 2 * mean * total + count * mean**2
        exact = -count * log_spread - apart / (2 * spread**2)
        low, high = self.low[wanted, None], self.high[wanted, None]
        chance = log_chance((low - mean) / spread, (high - mean) / spread)
        of_carton = (self.place[wanted] == np.arange(len(self.cartons))[:, None]) * self.count[wanted]
        return np.asarray((exact + of_carton @ chance).reshape(len(self.cartons), len(grid.mean), -1))


@dataclass(frozen=True)
class _Shop:
    """Draws of how the cartons of a shop differ, in scales.

    The middle and deviation of their means, and the middle of the logarithms of their spreads.
    """

    mean: Floats
    deviation: Floats
    log_spread: Floats

    @classmethod
    def of(cls, grid: Grid, log_likelihood: Floats, draws: int, rng: np.random.Generator) -> _Shop:
        """Draws from what all cartons together say.

        Beforehand the middle mean is within about a scale of zero, the deviation some tenths of one but hardly none
        (a gamma density, which keeps few cartons from being taken for all the same; Gelman et al., 13.2), and the
        middle spread around 0.4 of it, within a factor of three or so (chosen, see SPREAD_APART).
        """
        mean, deviation = (
            axis.ravel() for axis in np.meshgrid(grid.mean[::2], np.geomspace(0.05, 4, 14), indexing="ij")
        )
        middle = np.linspace(-3, 1.5, 19)
        stands_for = np.gradient(grid.mean[::2]).repeat(14) * deviation
        of_means = np.log(stands_for) - 0.5 * mean**2 + np.log(deviation) - deviation / TYPICAL_DEVIATION
        beforehand = of_means[:, None] - 0.5 * (middle - np.log(0.4)) ** 2

        far = _density(grid.mean, mean, deviation) * np.gradient(grid.mean)
        wide = _density(grid.log_spread, middle, SPREAD_APART) * np.gradient(grid.log_spread)
        said = np.log(np.maximum(far @ (to_one(log_likelihood) @ wide.T), LEAST)).sum(axis=0)
        chance = np.exp(beforehand + said - (beforehand + said).max()).ravel()
        picked, at = np.divmod(rng.choice(len(chance), draws, p=chance / chance.sum()), len(middle))
        return cls(mean[picked], deviation[picked], middle[at])

    def of_means(self, mean: Floats) -> Floats:
        """The density of a carton's mean, but for a constant: (draws, means)."""
        return _density(mean, self.mean, self.deviation)

    def of_spreads(self, log_spread: Floats) -> Floats:
        """The density of a carton's log spread, but for a constant: (draws, spreads)."""
        return _density(log_spread, self.log_spread, SPREAD_APART)

    def another_carton(self, rng: np.random.Generator) -> tuple[Floats, Floats]:
        """A draw of mean and spread for a carton not seen yet."""
        mean = rng.normal(self.mean, self.deviation)
        return mean, np.exp(rng.normal(self.log_spread, SPREAD_APART))


def _density(value: Floats, mean: Floats, deviation: Floats | float) -> Floats:
    """Normal density, but for a constant, at each value for each mean and deviation (means, values)."""
    deviation = np.broadcast_to(deviation, mean.shape)[:, None]
    return np.asarray(np.exp(-0.5 * ((value - mean[:, None]) / deviation) ** 2) / deviation)


def _drawn(log_likelihood: Floats, grid: Grid, shop: _Shop, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Draws of one carton's mean and spread, one for each draw of the shop."""
    of_means, of_spreads = shop.of_means(grid.mean), shop.of_spreads(grid.log_spread)
    likely = np.broadcast_to(to_one(log_likelihood), (len(of_means), len(grid.mean), len(grid.log_spread)))
    mean, inside = _picked(of_means * (likely @ of_spreads[:, :, None])[:, :, 0], rng.random(len(of_means)))
    spread, _ = _picked(of_spreads * likely[np.arange(len(mean)), mean], inside)
    return _within(grid.mean, mean, rng), np.exp(_within(grid.log_spread, spread, rng))


def _picked(weight: Floats, at: Floats) -> tuple[Whole, Floats]:
    """The place in each row at a share of the weights in it, and at which share of that place's own weight."""
    weight, row = np.maximum(weight, LEAST), np.arange(len(weight))
    upto = np.cumsum(weight, axis=1)
    goal = at * upto[:, -1]
    place = np.minimum((upto < goal[:, None]).sum(axis=1), weight.shape[1] - 1)
    own = weight[row, place]
    return place, np.clip((goal - (upto[row, place] - own)) / own, 0, 1)


def _within(grid: Floats, place: Whole, rng: np.random.Generator) -> Floats:
    """A value anywhere in the stretch that each point of an even grid stands for."""
    return np.asarray(grid[place] + rng.uniform(-0.5, 0.5, len(place)) * (grid[1] - grid[0]))
