"""Shares and their intervals, held against published examples and a second library."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

from auditor.habits.rates import newcombe, shrunk, wilson


def test_the_formula_of_the_handbook_worked_by_hand() -> None:
    """4 defective of 20 at 90 %: (0.2 + 0.0676 ± 1.645 √(0.008 + 0.00169)) / 1.1353 = 0.0931 and 0.3784.

    Formula: NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.1.
    """
    low, high = wilson(4, 20, 0.9)
    assert (float(low), float(high)) == pytest.approx((0.0931, 0.3784), abs=5e-5)


@pytest.mark.parametrize(
    ("hits", "of", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_the_published_table_of_shares(hits: int, of: int, low: float, high: float) -> None:
    """R. G. Newcombe, Statistics in Medicine 17 (1998), 857-872, table I, method 3, 95 % (from memory)."""
    assert tuple(float(end) for end in wilson(hits, of, 0.95)) == pytest.approx((low, high), abs=5e-5)


@given(st.integers(0, 60), st.integers(1, 60))
def test_shares_as_statsmodels_has_them(hits: int, more: int) -> None:
    """`proportion_confint(method="wilson")`."""
    of = hits + more - 1 or 1
    theirs = proportion_confint(hits, of, alpha=0.1, method="wilson")
    assert tuple(float(end) for end in wilson(hits, of)) == pytest.approx(theirs, abs=1e-12)


@given(st.integers(0, 30), st.integers(1, 30), st.integers(0, 30), st.integers(1, 30))
def test_differences_as_statsmodels_has_them(one: int, more: int, other: int, rest: int) -> None:
    """`confint_proportions_2indep(method="newcomb")`."""
    before, after = (one, one + more), (other, other + rest)
    theirs = confint_proportions_2indep(*after, *before, method="newcomb", alpha=0.1)
    assert newcombe(before, after)[1:] == pytest.approx(theirs, abs=1e-9)


@pytest.mark.parametrize(
    ("one", "other", "low", "high"),
    [
        ((56, 70), (48, 80), 0.0524, 0.3339),
        ((9, 10), (3, 10), 0.1705, 0.8090),
        ((5, 56), (0, 29), -0.0381, 0.1926),
        ((0, 10), (0, 10), -0.2775, 0.2775),
        ((10, 10), (0, 10), 0.6075, 1.0),
    ],
)
def test_the_published_table_of_differences(
    one: tuple[int, int], other: tuple[int, int], low: float, high: float
) -> None:
    """R. G. Newcombe, Statistics in Medicine 17 (1998), 873-890, table II, method 10, 95 % (from memory)."""
    assert newcombe(other, one, 0.95)[1:] == pytest.approx((low, high), abs=1e-4)


def test_small_counts_are_drawn_towards_the_shops_mean() -> None:
    """One of two parcels is not half of them, where ten other cartons have two in a hundred."""
    hits, of = [1, *[2] * 10], [2, *[100] * 10]
    share = shrunk(hits, of).mean(axis=1)
    assert 0.02 < share[0] < 0.2
    assert share[1] == pytest.approx(0.02, abs=0.01)


def test_large_counts_stay_where_they_are() -> None:
    """Three hundred of a thousand are three in ten, whatever other cartons have."""
    assert shrunk([300, 2, 3], [1000, 100, 100]).mean(axis=1)[0] == pytest.approx(0.3, abs=0.02)


def test_shrunk_intervals_hold_the_true_share() -> None:
    """Nine times in ten, of cartons whose shares are drawn from one beta distribution."""
    rng = np.random.default_rng(5)
    held = []
    for seed in range(60):
        true, of = rng.beta(2, 20, 8), rng.integers(3, 60, 8)
        low, high = np.quantile(shrunk(rng.binomial(of, true), of, draws=400, seed=seed), [0.05, 0.95], axis=1)
        held.append((low <= true) & (true <= high))
    assert 0.85 < np.mean(held) < 0.96
