"""Parcels that were sent otherwise than declared by mistake."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.core.units import NM_PER_INCH
from auditor.habits.readings.slips import slips


def found(*inches: tuple[float, float], carton: str = "stand tube") -> list[bool]:
    """Of parcels of one carton, each with the ends between which its reading lies beyond the declared length."""
    ends = np.array(inches) * NM_PER_INCH
    return slips(pd.DataFrame({"carton": carton, "low": ends[:, 0], "high": ends[:, 1]})).to_list()


NEAR = (0.0, 1.0)
QUIET = (-np.inf, 1.5)
UNKNOWN = (-np.inf, np.inf)


def test_a_reading_far_beyond_all_others_is_a_slip() -> None:
    """Two inches beyond what the others may have been at the most, not one and a half."""
    assert found(NEAR, (5.0, 5.0), NEAR, QUIET, NEAR) == [False, True, False, False, False]
    assert found(NEAR, (3.5, 3.5), NEAR, QUIET, NEAR) == [False, True, False, False, False]
    assert not any(found(NEAR, (3.0, 4.0), NEAR, QUIET, NEAR))


def test_readings_that_follow_one_another_are_no_slips() -> None:
    """However far they reach."""
    assert not any(found(QUIET, (0.0, 1.0), (1.0, 2.0), (2.0, 3.0), (3.0, 4.0), (4.0, 5.0)))


def test_what_most_parcels_do_is_a_habit() -> None:
    """Two of five are read five inches longer: that carton is longer than declared."""
    assert not any(found((5.0, 5.0), (5.0, 5.0), QUIET, QUIET, QUIET))
    assert found((5.0, 5.0), QUIET, QUIET, QUIET) == [True, False, False, False]


def test_a_parcel_without_a_correction_was_read_less_than_a_gap_longer() -> None:
    """Also where no charge would have shown more."""
    assert found((5.0, 5.0), UNKNOWN, UNKNOWN, UNKNOWN) == [True, False, False, False]
    assert not any(found((3.5, 3.5), UNKNOWN, UNKNOWN, UNKNOWN))


def test_each_carton_is_looked_at_by_itself() -> None:
    """What is far out for one is usual for another; no parcels are no slips."""
    table = pd.DataFrame(
        {
            "carton": ["tube"] * 4 + ["box"] * 4,
            "low": np.array([5.0, 0, 0, 0, 5.0, 4.5, 4.2, 5.1]) * NM_PER_INCH,
            "high": np.array([5.0, 1, 1, 1, 5.0, 4.5, 4.2, 5.1]) * NM_PER_INCH,
        },
        index=[7, 3, 1, 9, 0, 2, 4, 8],
    )
    assert slips(table)[lambda one: one].index.to_list() == [7]
    assert slips(table.head(0)).empty
