"""Whole cents stay whole where there are many of them, or large ones."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.core import money, units

INT64 = 2**63 - 1


@pytest.mark.parametrize("rows", [0, 1, 3, 1000, 10**7])
def test_so_many_of_the_largest_amounts_add_up_in_64_bits(rows: int) -> None:
    """Ten times over as well, as by a percentage, and not a hundred times: the bound is no needlessly small one."""
    sum_of_all = money.most_in(rows) * max(rows, 1)
    assert 10 * sum_of_all <= INT64 < 100 * sum_of_all
    assert money.MOST_SUMMED - max(rows, 1) < sum_of_all <= money.MOST_SUMMED


def test_a_parcel_costs_ten_million_dollars_at_the_most() -> None:
    """And a hundred million such add up."""
    assert money.dollars(money.MOST_PRICE) == "$10,000,000.00"
    assert money.most_in(100_000_000) >= money.MOST_PRICE


@given(st.lists(st.integers(-(2**40), 2**40), min_size=1, max_size=4))
def test_a_product_is_exact_however_large(factors: list[int]) -> None:
    """As Python's own whole numbers have it; also as a row of several."""
    exact = int(np.prod(np.array(factors, dtype=object)))
    assert int(money.product(*factors)) == exact
    columns = [np.array([factor, 1], dtype=np.int64) for factor in factors]
    assert [int(value) for value in money.product(*columns)] == [exact, 1]


def test_a_product_stays_in_64_bits_while_twice_it_fits() -> None:
    """Below the bound it is quick, from it on exact."""
    assert money.product(np.array([2**30]), 2**30).dtype == np.int64
    assert money.product(np.array([2**31]), 2**29).dtype == np.int64
    assert money.product(np.array([2**31]), 2**30).dtype == object
    assert money.product(np.array([-(2**31)]), -(2**31)).tolist() == [2**62]
    assert money.product(np.array([], dtype=np.int64), 5).tolist() == []


@given(st.integers(-(10**9), 10**9), st.integers(1, 10**6))
def test_halves_go_away_from_nothing(numerator: int, denominator: int) -> None:
    """As exact fractions have it."""
    exact = Fraction(abs(numerator), denominator) + Fraction(1, 2)
    size = exact.numerator // exact.denominator
    assert money.half_up(np.array([numerator]), denominator).tolist() == [size if numerator >= 0 else -size]


def test_several_rows_are_shared_out_each_by_itself() -> None:
    """Of equal losses the earlier is made good."""
    parts = np.array([[5, 5, 5, 5], [9, 1, 0, 0], [-1, -1, 1, 1], [3, 9, 9, 9]])
    assert money.largest_remainder(parts, 10).tolist() == [[1, 1, 0, 0], [1, 0, 0, 0], [0, 0, 0, 0], [0, 1, 1, 1]]


@pytest.mark.parametrize(
    ("cents", "plain", "shown"),
    [(0, "0.00", "$0.00"), (100, "1.00", "$1.00"), (-1, "-0.01", "−$0.01"), (-12345678, "-123456.78", "−$123,456.78")],
)
def test_whole_dollars_and_next_to_nothing(cents: int, plain: str, shown: str) -> None:
    """Each with two places."""
    assert money.text(cents) == plain
    assert money.dollars(cents) == shown


def test_what_lies_between_two_small_units_goes_to_the_nearest() -> None:
    """A third of an inch is no whole number of nanometres."""
    assert units.small(Fraction(1, 3), "in", "length") == 8_466_667
    assert units.small(16, "oz", "weight") == units.small(1, "lb", "weight") == units.PG_PER_POUND
    assert units.shown(8_466_667, "in", "length") == "0.33"
    assert units.shown(0, "in", "length") == "0"
