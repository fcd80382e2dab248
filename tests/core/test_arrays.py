"""Whole numbers of which some are not known."""

import numpy as np

from auditor.core.arrays import Masked


def test_none_is_not_known_and_nought_is() -> None:
    """No number stands for none."""
    found = Masked.of([3, None, 0])
    assert found.known.tolist() == [True, False, True]
    assert found.numbers[found.known].tolist() == [3, 0]


def test_rows_keep_what_is_known_of_them() -> None:
    """Each as often as asked for."""
    found = Masked.of([3, None])[np.array([1, 0, 0])]
    assert found.known.tolist() == [False, True, True]
    assert found.numbers[1:].tolist() == [3, 3]


def test_another_table_is_asked_only_where_the_first_does_not_know() -> None:
    """What neither knows stays unknown."""
    found = Masked.of([3, None, None]).otherwise(Masked.of([9, 4, None]))
    assert found.numbers[found.known].tolist() == [3, 4]
    assert found.known.tolist() == [True, True, False]
