"""Money back lessens what was charged too much, a charge made twice first, and answers the charge nearest to it."""

from __future__ import annotations

from itertools import permutations
from typing import Any

import numpy as np
import pandas as pd
import pytest

from auditor.charges.credits import MOST_STATEMENTS, after_credits, answered
from auditor.charges.shapley import shapley

CAUSES = ("box_length", "rounding", "duplicate", "unexplained")


def left(shares: list[list[int]], credit: list[int], shipment: list[int] | None = None) -> dict[str, Any]:
    """What is left of each case's shares, undone of earlier ones, and returned later."""
    table = pd.DataFrame(shares, columns=list(CAUSES))
    about = pd.DataFrame(
        {"shipment": shipment or [1] * len(shares), "statement": [f"S-{number}" for number in range(len(shares))]}
    )
    found = after_credits(table, pd.Series(credit), about)
    columns = {"shares": found.shares, "undone": found.undone, "returned": found.returned}
    return {name: frame.to_numpy().tolist() for name, frame in columns.items()}


def test_what_was_charged_twice_is_given_back_first_and_the_rest_in_proportion() -> None:
    """800 of 300 + 100 + 600: all of the duplicate, then 200 of 400, three parts to one."""
    found = left([[300, 100, 600, 0]], [-800])
    assert found["shares"] == [[150, 50, 0, 0]]
    assert found["undone"] == [[0, 0, 0, 0]]
    assert found["returned"] == [[0, ""]]


def test_less_than_was_charged_twice_leaves_the_rest() -> None:
    """A part of the duplicate only."""
    assert left([[300, 100, 600, 0]], [-500])["shares"] == [[300, 100, 100, 0]]


def test_what_goes_beyond_undoes_earlier_statements_latest_first() -> None:
    """900 back on the third: its own 100, all 500 of the second, 300 of the first's 400."""
    found = left([[400, 0, 0, 0], [0, 500, 0, 0], [100, 0, 0, 0]], [0, 0, -900])
    assert found["undone"] == [[0, 0, 0, 0], [0, 0, 0, 0], [300, 500, 0, 0]]
    assert found["shares"] == [[400, 0, 0, 0], [0, 500, 0, 0], [-300, -500, 0, 0]]
    assert found["returned"] == [[300, "S-2"], [500, "S-2"], [0, ""]]


def test_what_is_undone_once_is_not_undone_again() -> None:
    """Two times 300 back on 400: a hundred is left for the second, the rest answers nothing."""
    found = left([[400, 0, 0, 0], [0, 0, 0, 0], [0, 0, 0, 0]], [0, -300, -300])
    assert found["undone"] == [[0, 0, 0, 0], [300, 0, 0, 0], [100, 0, 0, 200]]
    assert found["returned"][0] == [400, "S-2"]


def test_another_parcels_charges_are_no_answer() -> None:
    """What answers nothing is unexplained, in the seller's favour."""
    found = left([[400, 0, 0, 0], [0, 0, 0, 0]], [0, -300], [1, 2])
    assert found["shares"] == [[400, 0, 0, 0], [0, 0, 0, -300]]
    assert found["returned"] == [[0, ""], [0, ""]]


@pytest.mark.parametrize(("before", "undone"), [(MOST_STATEMENTS - 1, 50), (MOST_STATEMENTS, 0)])
def test_statements_too_long_ago_are_not_undone(before: int, undone: int) -> None:
    """Of a parcel with very many."""
    found = left([[50, 0, 0, 0], *[[0, 0, 0, 0]] * before], [0] * before + [-50])
    assert found["returned"][0][0] == undone


def lines(*rows: tuple[int, str, str, int]) -> pd.DataFrame:
    """Case, state, charge and cents of the lines of one parcel."""
    table = pd.DataFrame(rows, columns=["case", "state", "charge", "amount_cents"])
    return table.astype({"amount_cents": "Int64"}).assign(shipment=1, repeated=False)


def answer(*rows: tuple[int, str, str, int], shipment: int = 1) -> list[tuple[object, ...]]:
    """Credits with their charges."""
    table = lines(*rows)
    about = pd.DataFrame({"shipment": shipment, "statement": "S"}, index=range(int(table["case"].max()) + 1))
    found = answered(table, table["case"], about)
    return list(found.itertuples(index=False, name=None))


def test_a_credit_answers_the_nearest_amount_of_its_charge() -> None:
    """One line's, or all of a statement's; of equally near ones the later statement's."""
    rows = ((0, "label charge", "freight", 900), (1, "adjustment", "freight", 300), (1, "adjustment", "freight", 200))
    assert answer(*rows, (2, "credit", "freight", -210)) == [(2, "freight", 210, 200, 1)]
    assert answer(*rows, (2, "credit", "freight", -480)) == [(2, "freight", 480, 500, 1)]
    assert answer(*rows, (2, "credit", "freight", -900)) == [(2, "freight", 900, 900, 0)]
    assert answer(*rows, (2, "credit", "freight", -700)) == [(2, "freight", 700, 500, 1)]


def test_only_charges_up_to_its_own_statement_are_answered() -> None:
    """A later charge is none that was given back."""
    rows = ((1, "adjustment", "freight", 300), (2, "adjustment", "freight", 210))
    assert answer(*rows, (1, "credit", "freight", -210)) == [(1, "freight", 210, 300, 1)]
    assert answer(rows[1], (1, "credit", "freight", -210)) == []
    assert answer(rows[0], (1, "credit", "surcharge", -300)) == []
    assert answer((1, "adjustment", "freight", 300), (1, "credit", "freight", 0)) == []


def test_money_back_without_a_name_answers_all_that_was_added() -> None:
    """Or any amount at all; several pieces of money back are one."""
    rows = [(0, "label charge", "freight", 900), (1, "adjustment", "freight", 300), (1, "adjustment", "fee", 50)]
    table = lines(*rows, (2, "credit", "", -200), (2, "credit", "", -160))
    table["charge"] = table["charge"].mask(table["charge"] == "")
    about = pd.DataFrame({"shipment": 1, "statement": "S"}, index=range(3))
    found = answered(table, table["case"], about)
    assert found.iloc[0].tolist() == [2, "", 360, 350, 1]


@pytest.mark.parametrize("players", [1, 2, 3, 4])
def test_shares_are_the_mean_over_every_order(players: int) -> None:
    """Counted out, and in whole units that add up."""
    values = np.random.default_rng(players).integers(-1000, 1000, (5, 2**players))
    got = shapley(values)
    assert (got.sum(axis=1) == values[:, -1] - values[:, 0]).all()
    orders = list(permutations(range(players)))
    for game, shares in zip(values, got, strict=True):
        mean = np.zeros(players)
        for order in orders:
            there = 0
            for player in order:
                mean[player] += (game[there | 1 << player] - game[there]) / len(orders)
                there |= 1 << player
        assert np.abs(shares - mean).max() < 1
