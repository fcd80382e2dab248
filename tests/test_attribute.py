"""Shares by Shapley value: textbook examples, and cents that add up."""

from __future__ import annotations

from fractions import Fraction
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.shapley import shapley


def game(players: int, worth: dict[frozenset[int], int]) -> np.ndarray:
    """A game as `shapley` takes it: a row of values, the set being the bits of the column's number."""
    sets = [frozenset(p for p in range(players) if s >> p & 1) for s in range(1 << players)]
    return np.array([[worth[s] for s in sets]], dtype=np.int64)


def airport(costs: list[int]) -> np.ndarray:
    """The runway must serve the largest plane in the set."""
    sets = [frozenset(p for p in range(len(costs)) if s >> p & 1) for s in range(1 << len(costs))]
    return game(len(costs), {s: max((costs[p] for p in s), default=0) for s in sets})


@pytest.mark.parametrize(
    ("costs", "shares", "source"),
    [
        ([8, 11, 13, 18], [2, 3, 4, 9], "the airport problem, Littlechild and Owen 1973, as on hellenicaworld.com"),
        ([1500, 2200, 3000], [500, 850, 1650], "runways of 1500, 2200, 3000 m, thoughtfulexaminations.com ?p=19583"),
        ([1500, 2200, 3500], [500, 850, 2150], "the same with 3500 m"),
        ([300, 480, 600], [100, 190, 310], "airport 100, 160, 200 times three, math.techqa.club 2541276"),
    ],
)
def test_airport_games_have_their_published_shares(costs: list[int], shares: list[int], source: str) -> None:
    """Each with its source."""
    assert source
    assert shares == shapley(airport(costs))[0].tolist()


def test_the_glove_game_has_its_published_shares() -> None:
    """Players 1 and 2 have right gloves, 3 a left one: 1/6, 1/6, 2/3. Wikipedia, "Shapley value", glove game."""
    sets = [frozenset(p for p in range(3) if s >> p & 1) for s in range(8)]
    worth = {s: 600 if 2 in s and len(s) > 1 else 0 for s in sets}
    assert shapley(game(3, worth))[0].tolist() == [100, 100, 400]


def test_what_does_not_divide_goes_by_largest_remainder_to_the_earlier_player() -> None:
    """Ten cents among three equal players."""
    sets = [frozenset(p for p in range(3) if s >> p & 1) for s in range(8)]
    assert shapley(game(3, {s: 10 if len(s) == 3 else 0 for s in sets}))[0].tolist() == [4, 3, 3]


values = st.integers(1, 4).flatmap(
    lambda players: st.lists(st.integers(-100_000, 100_000), min_size=1 << players, max_size=1 << players)
)


@given(values)
def test_shares_add_up_and_are_the_mean_over_all_orders(worth: list[int]) -> None:
    """Held against the definition, player by player, order by order, in fractions."""
    players = len(worth).bit_length() - 1
    exact = [Fraction(0)] * players
    orders = list(permutations(range(players)))
    for order in orders:
        joined = 0
        for player in order:
            exact[player] += Fraction(worth[joined | 1 << player] - worth[joined], len(orders))
            joined |= 1 << player
    shares = shapley(np.array([worth], dtype=np.int64))[0].tolist()
    assert sum(shares) == worth[-1] - worth[0]
    assert all(abs(share - part) < 1 for share, part in zip(shares, exact, strict=True))
