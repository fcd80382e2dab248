"""Shapley values of many games at once, in whole units that add up.

A player's share is the mean, over every order in which the players could join, of what the worth changes when it does
(L. S. Shapley, "A Value for n-Person Games", 1953).
"""

from __future__ import annotations

from math import factorial

import numpy as np
import numpy.typing as npt

Whole = npt.NDArray[np.int64]


def shapley(values: Whole) -> Whole:
    """Shapley values of many games at once, in whole units that add up to each game's v(all) − v(none).

    Args:
        values: (games, 2^players): v of each set of players, the set being the bits of the column's number.

    Returns:
        (games, players). Exact in integers; what does not divide goes by largest remainder, ties to the earlier player.
    """
    count = values.shape[1].bit_length() - 1
    sets = np.arange(values.shape[1])
    size = np.array([int(s).bit_count() for s in sets])
    order = np.array([factorial(k) * factorial(count - k - 1) if k < count else 0 for k in range(count + 1)])
    exact = np.zeros((len(values), count), dtype=np.int64)
    for player in range(count):
        without = sets[(sets >> player & 1) == 0]
        gain = values[:, without | 1 << player] - values[:, without]
        exact[:, player] = gain @ order[size[without]]
    return _largest_remainder(exact, factorial(count))


def _largest_remainder(exact: Whole, denominator: int) -> Whole:
    """Rows of numerators over one denominator, rounded to whole numbers with the same sum."""
    whole, rest = np.divmod(exact, denominator)
    left = rest.sum(axis=1) // denominator
    rank = np.argsort(np.argsort(-rest, axis=1, kind="stable"), axis=1, kind="stable")
    return np.asarray(whole + (rank < left[:, None]), dtype=np.int64)
