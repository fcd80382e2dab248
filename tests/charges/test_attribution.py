"""Shares by Shapley value: textbook examples, and cents that add up."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import permutations
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.charges.attribution import shapley_shares
from auditor.charges.schema import Cases
from auditor.charges.shapley import shapley
from auditor.tariff import Rulebook, load
from tests.parcels import inches, parcel, prices, table


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


OWN_FEE = """\
extends = "us-ground-common"
name = "percent-of-correction"

[[charges."correction fee".fee]]
from = 2026-01-01
amount = "1.00"
percent = "6 %"
of = ["correction"]
source = "common practice, no source: the greater of 1.00 and 6 % of the correction"
"""


def test_a_correction_fee_can_be_a_percentage_of_the_correction(tmp_path: Path) -> None:
    """The greater of one dollar and six percent of what the reading added, in v as in the charge by the figures."""
    (tmp_path / "own.toml").write_text(OWN_FEE, encoding="utf-8")
    book = Rulebook(load(tmp_path / "own.toml"))
    declared = table(parcel("46 x 18 x 8", 20), parcel("46 x 18 x 8", 20)).assign(
        address_corrected=False, corrected=False, size_wrong=False
    )
    measured = declared.assign(corrected=True, length_nm=[inches(49), inches(47)])
    players = pd.DataFrame({"length_nm": 2, "width_nm": 0, "height_nm": 0, "weight_pg": 0, "active": 2}, index=[0, 1])
    nothing, none = pd.DataFrame(index=[0, 1]), pd.Series(dtype=int)
    cases = Cases(
        nothing, declared, declared, measured, players, nothing, nothing, nothing, nothing, none, none, nothing
    )
    shares = shapley_shares(cases, book, prices())
    plain = shapley_shares(replace(cases, measured=measured.assign(corrected=False)), book, prices())
    added = plain["longest side"].tolist()
    assert shares["longest side"].tolist() == [added[0] + round(added[0] * 0.06), added[1] + 100]
