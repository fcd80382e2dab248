"""Rows and columns are paired for the greatest sum, as a library of optimisation pairs them."""

from __future__ import annotations

import numpy as np
from scipy.optimize import linear_sum_assignment

from auditor.intake.best_pairs import best_pairs


def test_pairs_are_those_of_the_library_also_among_equals() -> None:
    """Tables of any shape, half of them with many equal scores; the library stands for a check from outside."""
    random = np.random.default_rng(20260301)
    for number in range(2_000):
        shape = tuple(random.integers(1, 9, 2))
        table = random.random(shape) if number % 2 else random.integers(0, 4, shape) / 4
        expected = [
            (int(row), int(column)) for row, column in zip(*linear_sum_assignment(table, maximize=True), strict=True)
        ]
        assert best_pairs(table) == expected, table.tolist()


def test_a_score_given_up_for_a_greater_sum() -> None:
    """0.9 + 0.8 is more than 1.0 + 0.1."""
    assert best_pairs(np.array([[1.0, 0.9], [0.8, 0.1]])) == [(0, 1), (1, 0)]


def test_a_table_of_one_cell() -> None:
    """One row has the one column, whatever it scores."""
    assert best_pairs(np.array([[0.0]])) == [(0, 0)]
