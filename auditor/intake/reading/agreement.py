"""Evidence as log odds: how often two things agree, against how often they would by chance (Fellegi and Sunter, 1969).

Chance is counted in the document itself, by holding each parcel's cells against the records of other parcels.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import log

import numpy as np

from auditor.core.arrays import Floats, Places, Yes

SHIFTS = (1, 2, 3, 5, 8)
"""By how many places records are shifted among the parcels of a document to count what agrees by chance."""


ONE_IN_10, ONE_IN_100, ONE_IN_1000, ONE_IN_100_000 = log(10), log(100), log(1_000), log(100_000)
"""What a fact is worth that would come about so rarely where the reading is wrong. Chosen, in steps of ten: nothing
finer was measured, and each is outvoted by a few rows that say otherwise."""
MEANT = 0.9
"""Of cells that mean what they are taken for so many agree; the others are somebody's errors. Chosen."""


def shifted(parcels: Places) -> Iterator[Places]:
    """For each parcel the one that comes so many later among the distinct ones, the first after the last; by SHIFTS."""
    distinct, places = np.unique(parcels, return_inverse=True)
    yield from (distinct[(places + by) % max(len(distinct), 1)] for by in SHIFTS)


def by_chance(agree: Callable[[Places], Yes], parcels: Places) -> float:
    """How often cells agree with the records of other parcels, at least half a time."""
    if not len(parcels):
        return 1.0
    counted = [float(agree(others).mean()) for others in shifted(parcels)]
    return max(float(np.mean(counted)), 0.5 / (len(SHIFTS) * len(parcels)))


def held(agree: Yes, chance: float, expected: float) -> float:
    """Log odds of cells that agree in the share `expected` where they mean it, in the share `chance` where not."""
    count, of = int(agree.sum()), len(agree)
    by_luck = min(max(chance, 1e-6), 1 - 1e-6)
    return count * log(expected / by_luck) + (of - count) * log((1 - expected) / (1 - by_luck))


def counted(agree: Yes, chance: float) -> float:
    """What those that agree say by themselves, where the others may be of another kind."""
    count = int(agree.sum())
    share = (count + 0.5) / (len(agree) + 1)
    return count * log(share / chance) if share > chance else 0.0


def gained(agree: Yes, chance: float) -> float:
    """Log odds of the share that is seen to agree, whatever it is; none where chance explains it as well."""
    share = (float(agree.sum()) + 0.5) / (len(agree) + 1)
    return held(agree, chance, share) if share > chance else 0.0


def at_least(agree: Yes, chance: float, least: float) -> float:
    """The same, where they would agree in that share at least, or in the larger one that is seen."""
    share = (float(agree.sum()) + 0.5) / (len(agree) + 1)
    return held(agree, chance, max(share, least)) if len(agree) else 0.0


def explained(values: Floats, groups: Places) -> float:
    """Log odds that values go with their groups: the gain of a mean a group, less Schwarz's price of a mean (1978).

    The spread is never taken for less than a hundredth of what it is over all, as equal values would prove all.
    """
    if len(values) < 3:  # noqa: PLR2004 - two are always explained
        return 0.0
    counts = np.bincount(groups)
    means = np.bincount(groups, values) / np.maximum(counts, 1)
    whole, rest = float(values.var()), float(((values - means[groups]) ** 2).mean())
    if not whole:
        return 0.0
    used = int((counts > 0).sum())
    return len(values) / 2 * log(whole / max(rest, whole / 100)) - (used - 1) / 2 * log(len(values))
