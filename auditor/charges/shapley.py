"""Shapley values of many games at once, in whole units that add up.

A player's share is the mean, over every order in which the players could join, of what the worth changes when it does
(L. S. Shapley, "A Value for n-Person Games", 1953).
"""

from __future__ import annotations

from math import factorial

import numpy as np

from auditor.core.arrays import Whole
from auditor.core.money import largest_remainder


def shapley(values: Whole) -> Whole:
    """Shapley values of many games at once, in whole units that add up to each game's v(all) − v(none).

    Args:
        values: (games, 2^players): v of each set of players, the set being the bits of the column's number.

    Returns:
        (games, players). Exact in integers; what does not divide goes by largest remainder, ties to the earlier player.
    """
    count = values.shape[1].bit_length() - 1
    weights = np.array([[_weight(set_, player, count) for player in range(count)] for set_ in range(1 << count)])
    return largest_remainder(values @ weights.reshape(-1, count), factorial(count))


def _weight(set_: int, player: int, count: int) -> int:
    """In how many orders the set's worth counts for the player, who joins it last, or (below zero) after it."""
    size = set_.bit_count()
    if set_ >> player & 1:
        return factorial(size - 1) * factorial(count - size)
    return -factorial(size) * factorial(count - size - 1)
