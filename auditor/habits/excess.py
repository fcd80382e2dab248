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
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import log_ndtr, ndtr

from auditor.habits.alike import FIGURES
from auditor.tariff import Rules

Floats = npt.NDArray[np.float64]
Basis = Literal["own history", "shop's history", "device tolerance"]

DRAWS = 200
SEED = 20260301
OWN_FROM = 5
"""From so many parcels on that say something, a carton has a history of its own."""

FINE = 64
"""Bounds are told apart to so many parts of the scale."""

SPREAD_APART = 0.35
"""Standard deviation of the logarithms of the cartons' spreads: most are within a factor of two of one another."""

TYPICAL_DEVIATION = 0.2
"""By how many scales the means of a shop's cartons deviate, beforehand."""

NEXT_TO_NONE = 1e-5
LEAST = 1e-300
REACH = 8.0
"""How far the grids reach at least, in scales."""


@dataclass(frozen=True)
class Excess:
    """Reading less declared figure, for one carton and figure: normal, with a mean and spread that are not quite known.

    `mean` and `spread` (standard deviation), in nm or pg, are equally likely draws of what they may be, so a result is
    the mean of the draws' results and its interval their quantiles. `parcels` and `read` count the parcels this rests
    on and those of them with a reading. `basis`: the carton's own history, the shop's other cartons', or nothing but
    the tolerance of the carrier's device.
    """

    mean: Floats
    spread: Floats
    parcels: int
    read: int
    basis: Basis


@dataclass(frozen=True)
class Silence:
    """What `count` parcels without a correction say: the chance of none in each of some steps of the excess.

    `between` (steps - 1): where the steps meet, nm or pg; `chance` (steps, D), by what the other figures may be.
    """

    between: Floats
    chance: Floats
    count: float


@dataclass(frozen=True)
class Fitted:
    """The excess of one figure for each carton, and for a carton of that shop of which nothing is known."""

    of_carton: Mapping[str, Excess]
    shop: Excess


def by_tolerance(rules: Rules) -> dict[str, Excess]:
    """What to expect of each figure where there is no history: no excess, and a spread of half the device's tolerance.

    A tolerance is taken to be two standard deviations (JCGM 100:2008, 4.3.4: a limit quoted at about 95 %).
    """
    spread = [*[rules.side_tolerance_nm] * 3, rules.weight_tolerance_pg]
    return {
        figure: Excess(np.zeros(1), np.full(1, max(tolerance, 1) / 2), 0, 0, "device tolerance")
        for figure, tolerance in zip(FIGURES, spread, strict=True)
    }


def fitted(
    bounds: pd.DataFrame,
    scale: float,
    silences: Mapping[str, Sequence[Silence]] | None = None,
    *,
    draws: int = DRAWS,
    seed: int = SEED,
) -> Fitted | None:
    """Fit the excess of one figure.

    Args:
        bounds: a row a parcel: carton, and low and high, between which its excess lies, in nm or pg: -inf for a parcel
            whose reading is only known to have stayed below `high`, the same twice for an exact reading.
        scale: about how large an excess is thought to be before anything is seen, in nm or pg; readings raise it.
        silences: by carton what parcels without a correction say, where that is known better than by a bound; their
            rows of `bounds` are then only counted.
        draws: how many draws to give.
        seed: of the draws.

    Returns:
        None when no parcel says anything.
    """
    known = bounds[np.isfinite(bounds["high"]) | np.isfinite(bounds["low"])]
    if known.empty:
        return None
    middle = (known["low"] + known["high"]) / 2
    scale = max(scale, float(middle[np.isfinite(middle)].abs().median() or 0)) if np.isfinite(middle).any() else scale
    told = _Told.of(known, scale, silences)
    rng = np.random.default_rng(seed)
    coarse = _Grid.over(told.reach)
    likelihood = told.with_silences(coarse, told.log_likelihood(coarse))
    shop = _Shop.of(coarse, likelihood, draws, rng)
    prior = shop.of_means(coarse.mean).T @ shop.of_spreads(coarse.log_spread) * coarse.area
    weight = _to_one(likelihood) * prior
    drawn = {
        carton: _drawn(told.of_place(place), coarse.around(weight[place]), shop, rng)
        for place, carton in enumerate(told.cartons)
    }
    read = known["low"].gt(-np.inf).groupby(known["carton"]).sum()
    parcels = known.groupby("carton").size()
    own = {
        carton: Excess(mean * scale, spread * scale, int(parcels[carton]), int(read[carton]), _basis(parcels[carton]))
        for carton, (mean, spread) in drawn.items()
    }
    mean, spread = shop.another_carton(rng)
    return Fitted(own, Excess(mean * scale, spread * scale, len(known), int(read.sum()), "shop's history"))


def _basis(parcels: int) -> Basis:
    return "own history" if parcels >= OWN_FROM else "shop's history"


@dataclass(frozen=True)
class _Grid:
    """Points of (mean, spread), in scales: one for each of `mean` with each of `log_spread`."""

    mean: Floats
    log_spread: Floats

    @classmethod
    def over(cls, reach: float) -> _Grid:
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

    def around(self, weight: Floats) -> _Grid:
        """A closer grid where a carton's mean and spread can be, by their weights at the points of this one."""
        mean, log_spread = _where(weight.sum(axis=1), self.mean), _where(weight.sum(axis=0), self.log_spread)
        return _Grid(np.linspace(*mean, 41), np.linspace(*log_spread, 25))


def _where(weight: Floats, grid: Floats) -> tuple[float, float]:
    """The stretch of a grid outside which there is next to no weight, and a point more at each end."""
    there = np.flatnonzero(weight > NEXT_TO_NONE * weight.sum())
    return float(grid[max(there[0] - 1, 0)]), float(grid[min(there[-1] + 1, len(grid) - 1)])


def _to_one(log_likelihood: Floats) -> Floats:
    """Likelihoods (…, means, spreads) from their logarithms, the largest of each carton being one."""
    return np.asarray(np.exp(log_likelihood - log_likelihood.max(axis=(-2, -1), keepdims=True)))


@dataclass(frozen=True)
class _Told:
    """What the parcels of each carton say, in scales: distinct intervals with their counts, and sums of exact readings.

    `intervals`: place (of the carton), low, high, count. `exact` (cartons, 3): count, sum, sum of squares. `silences`:
    of each carton.
    """

    cartons: list[str]
    intervals: pd.DataFrame
    exact: Floats
    silences: list[Sequence[Silence]]

    @classmethod
    def of(cls, known: pd.DataFrame, scale: float, silences: Mapping[str, Sequence[Silence]] | None) -> _Told:
        codes, cartons = pd.factorize(known["carton"], sort=True)
        low, high = (known[end].to_numpy(dtype=np.float64) / scale for end in ("low", "high"))
        points = low == high
        sums = [np.bincount(codes[points], low[points] ** power, len(cartons)) for power in range(3)]
        exact = np.stack(sums, axis=1).astype(np.float64)
        ends = {"low": np.round(low * FINE) / FINE, "high": np.round(high * FINE) / FINE}
        spans = pd.DataFrame({"place": codes, **ends})[~points]
        spans["high"] = spans["high"].where(spans["high"] > spans["low"], spans["low"] + 1 / FINE)
        if silences is not None:
            spans = spans[np.isfinite(spans["low"])]
        quiet: list[Sequence[Silence]] = [
            [_scaled(one, scale) for one in (silences or {}).get(carton, [])] for carton in cartons
        ]
        return cls(list(cartons), spans.value_counts().rename("count").reset_index(), exact, quiet)

    @property
    def reach(self) -> float:
        ends = self.intervals[["low", "high"]].to_numpy().ravel()
        sums = self.exact[self.exact[:, 0] > 0]
        far = [np.abs(ends[np.isfinite(ends)]).max(initial=0), np.sqrt(sums[:, 2] / sums[:, 0]).max(initial=0) * 2]
        return max(REACH, float(max(far)) * 1.5)

    def of_place(self, place: int) -> _Told:
        """One carton's."""
        own = self.intervals[self.intervals["place"] == place].assign(place=0)
        return _Told([self.cartons[place]], own, self.exact[place : place + 1], [self.silences[place]])

    def with_silences(self, grid: _Grid, known: Floats) -> Floats:
        """The log likelihood of what is read, and of silences with the others' figures as they are on average."""
        likelihood = known.copy()
        for place, silences in enumerate(self.silences):
            for one in silences:
                on_average = one.chance.mean(axis=1, keepdims=True)
                likelihood[place] += one.count * _log_chance_of(one.between, on_average, grid)[0]
        return likelihood

    def by_draw(self, grid: _Grid, known: Floats) -> Floats:
        """The same of the one carton there is, for each draw of the others' figures (D or 1, means, spreads)."""
        likelihood = known
        for one in self.silences[0]:
            likelihood = likelihood + one.count * _log_chance_of(one.between, one.chance, grid)
        return likelihood

    def log_likelihood(self, grid: _Grid) -> Floats:
        """Of what is read, for each carton at each point of the grid, (cartons, means, spreads)."""
        mean, log_spread = (axis.ravel() for axis in np.meshgrid(grid.mean, grid.log_spread, indexing="ij"))
        spread = np.exp(log_spread)
        count, total, squares = self.exact.T[:, :, None]
        apart = squares - 2 * mean * total + count * mean**2
        likelihood = -count * log_spread - apart / (2 * spread**2)
        for place, own in self.intervals.groupby("place"):
            low, high, times = (own[column].to_numpy()[:, None] for column in ("low", "high", "count"))
            likelihood[place] += (times * _log_chance((low - mean) / spread, (high - mean) / spread)).sum(axis=0)
        return np.asarray(likelihood.reshape(len(self.cartons), len(grid.mean), -1))


def _scaled(one: Silence, scale: float) -> Silence:
    return Silence(one.between / scale, one.chance, one.count)


def _log_chance_of(between: Floats, chance: Floats, grid: _Grid) -> Floats:
    """The logarithm of the chance of no correction (D, means, spreads)."""
    below = ndtr((between[:, None, None] - grid.mean[:, None]) / np.exp(grid.log_spread))
    of_draw = np.tensordot(-np.diff(chance, axis=0), below, axes=(0, 0)) + chance[-1][:, None, None]
    return np.asarray(np.log(np.maximum(of_draw, LEAST)))


def _log_chance(low: Floats, high: Floats) -> Floats:
    """The logarithm of the chance that a standard normal lies between two ends, kept exact far out."""
    flip = low > 0
    one = log_ndtr(np.where(flip, -low, high))
    other = log_ndtr(np.where(flip, -high, low))
    return np.asarray(one + np.log1p(-np.exp(np.minimum(other - one, -1e-12))))


@dataclass(frozen=True)
class _Shop:
    """Draws of how the cartons of a shop differ, in scales.

    The middle and deviation of their means, and the middle of the logarithms of their spreads.
    """

    mean: Floats
    deviation: Floats
    log_spread: Floats

    @classmethod
    def of(cls, grid: _Grid, log_likelihood: Floats, draws: int, rng: np.random.Generator) -> _Shop:
        """Draws from what all cartons together say.

        Beforehand the middle mean is within about a scale of zero, the deviation some tenths of one but hardly none
        (a gamma density, which keeps few cartons from being taken for all the same; Gelman et al., 13.2), and the
        middle spread around 0.4 of it, within a factor of three or so.
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
        said = np.log(np.maximum(far @ (_to_one(log_likelihood) @ wide.T), LEAST)).sum(axis=0)
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


def _drawn(told: _Told, grid: _Grid, shop: _Shop, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Draws of one carton's mean and spread, one for each draw of the shop."""
    likely = _to_one(told.by_draw(grid, told.log_likelihood(grid)))
    weight = shop.of_means(grid.mean)[:, :, None] * shop.of_spreads(grid.log_spread)[:, None, :] * likely
    mean, spread = np.divmod(_picked(weight.reshape(len(weight), -1), rng), len(grid.log_spread))
    return _within(grid.mean, mean, rng), np.exp(_within(grid.log_spread, spread, rng))


def _picked(weight: Floats, rng: np.random.Generator) -> npt.NDArray[np.int64]:
    """A place in each row, by the weights in it."""
    below = np.cumsum(np.maximum(weight, LEAST), axis=1)
    chosen = (below < rng.random((len(weight), 1)) * below[:, -1:]).sum(axis=1)
    return np.asarray(np.minimum(chosen, weight.shape[1] - 1), dtype=np.int64)


def _within(grid: Floats, place: npt.NDArray[np.int64], rng: np.random.Generator) -> Floats:
    """A value anywhere in the stretch that each point of an even grid stands for."""
    return np.asarray(grid[place] + rng.uniform(-0.5, 0.5, len(place)) * (grid[1] - grid[0]))
