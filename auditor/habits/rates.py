"""Shares with intervals: how often parcels of a carton are back-charged, when few of them have been shipped."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.special import betaln, ndtri

from auditor.core.arrays import Floats
from auditor.habits.readings.excess import SEED

LEVEL = 0.9
"""Of the intervals: they hold the true figure nine times in ten (chosen)."""

DRAWS = 2000
"""So many that an end of an interval lies within a hundredth of the share it stands for (chosen)."""

WORTH = np.geomspace(2, 400, 25)
"""How many parcels of a carton's own the shop's mean may weigh as much as: from 2 to 400, any factor alike (chosen)."""


def wilson(hits: npt.ArrayLike, trials: npt.ArrayLike, level: float = LEVEL) -> tuple[Floats, Floats]:
    """The score interval of a share (E. B. Wilson 1927; NIST/SEMATECH e-Handbook, 7.2.4.1); 0 to 1 of nothing."""
    hits, trials = np.asarray(hits, dtype=np.float64), np.asarray(trials, dtype=np.float64)
    z = ndtri((1 + level) / 2)
    middle = hits + z**2 / 2
    half = z * np.sqrt(np.where(trials > 0, hits * (trials - hits) / np.maximum(trials, 1), 0) + z**2 / 4)
    widened = trials + z**2
    low, high = (middle - half) / widened, (middle + half) / widened
    return np.where(trials > 0, np.maximum(low, 0), 0.0), np.where(trials > 0, np.minimum(high, 1), 1.0)


def newcombe(before: tuple[int, int], after: tuple[int, int], level: float = LEVEL) -> tuple[float, float, float]:
    """A share after less one before, each (hits, of), and its interval: (difference, low, high).

    The hybrid score interval (R. G. Newcombe, Statistics in Medicine 17 (1998), 873-890, method 10).
    """
    share = {name: hits / max(trials, 1) for name, (hits, trials) in (("before", before), ("after", after))}
    (l1, u1), (l2, u2) = (tuple(float(end) for end in wilson(*counts, level)) for counts in (after, before))
    difference = share["after"] - share["before"]
    low = difference - float(np.hypot(share["after"] - l1, u2 - share["before"]))
    high = difference + float(np.hypot(u1 - share["after"], share["before"] - l2))
    return difference, low, high


def shrunk(hits: npt.ArrayLike, trials: npt.ArrayLike, *, draws: int = DRAWS, seed: int = SEED) -> Floats:
    """Draws of each carton's true share, small counts being drawn towards the shop's own mean: (cartons, draws).

    Beta-binomial: the cartons' shares come from one beta distribution, whose mean and worth (how many parcels it weighs
    as much as) are what all cartons together say (Gelman et al., Bayesian Data Analysis, 3rd ed., 5.3).
    """
    hits, trials = np.asarray(hits, dtype=np.float64)[:, None], np.asarray(trials, dtype=np.float64)[:, None]
    rng = np.random.default_rng(seed)
    mean, worth = (axis.ravel() for axis in np.meshgrid((np.arange(200) + 0.5) / 200, WORTH))
    yes, no = mean * worth, (1 - mean) * worth
    log_likelihood = (betaln(yes + hits, no + trials - hits) - betaln(yes, no)).sum(axis=0)
    chance = np.exp(log_likelihood - log_likelihood.max())
    shop = rng.choice(len(chance), draws, p=chance / chance.sum())
    return np.asarray(rng.beta(yes[shop] + hits, no[shop] + trials - hits))
