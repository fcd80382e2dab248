"""Where a code stands first."""

from __future__ import annotations

import numpy as np

from auditor.match.numbers import _first_of


def test_a_code_that_stands_nowhere_has_no_place() -> None:
    """Nor has the code of what is missing, wherever that stands."""
    first = _first_of(np.array([1, -1, 0, 1, 0], dtype=np.intp), 3)
    assert first.tolist() == [2, 0, -1, -1]
    assert first[-1] == -1
