"""Changes of habit, found and told, with before and after."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest
from statsmodels.stats.proportion import confint_proportions_2indep

from auditor.habits.changes import changes

DAYS = pd.date_range("2026-01-01", periods=60)


def parcels(lengths: list[int], back_charged: list[bool], weights: list[int] | None = None) -> pd.DataFrame:
    """Parcels of one carton, one a day."""
    return pd.DataFrame(
        {
            "name": "keyboard box",
            "shipped_on": DAYS[: len(lengths)],
            "length_nm": lengths,
            "width_nm": 18,
            "height_nm": 8,
            "weight_pg": weights or [22] * len(lengths),
            "back_charged": back_charged,
            "back_cents": [4000 * yes for yes in back_charged],
        }
    )


def test_a_new_cut_is_found_with_its_day_and_compared() -> None:
    """Thirty parcels of 52 in, twelve of them back-charged; then thirty of 46 in, two of them."""
    charged = [number % 5 < 2 for number in range(30)] + [number < 2 for number in range(30)]
    [found] = changes(parcels([52] * 30 + [46] * 30, charged), {}).to_dict("records")
    assert found["changed_on"] == DAYS[30]
    assert (found["figure"], found["before"], found["after"]) == ("length_nm", 52, 46)
    assert found["difference"] == pytest.approx(2 / 30 - 12 / 30)
    theirs = confint_proportions_2indep(2, 30, 12, 30, method="newcomb", alpha=0.1)
    assert (found["difference_low"], found["difference_high"]) == pytest.approx(theirs)
    assert (found["cents_before"], found["cents_after"]) == (1600, 267)


def test_a_new_default_weight_is_found() -> None:
    """A stray one in between does not hide it."""
    weights = [22] * 15 + [25] * 15
    weights[20] = 22
    [found] = changes(parcels([46] * 30, [False] * 30, weights), {}).to_dict("records")
    assert (found["figure"], found["before"], found["after"]) == ("weight_pg", 22, 25)
    assert found["changed_on"] == DAYS[15]


def test_two_sizes_used_side_by_side_are_no_change() -> None:
    """Every other parcel."""
    assert changes(parcels([52, 46] * 20, [False] * 40), {}).empty


def test_a_few_parcels_make_no_habit() -> None:
    """Four of another length at the end."""
    assert changes(parcels([52] * 30 + [46] * 4, [False] * 34), {}).empty


def test_a_change_that_is_told_is_compared() -> None:
    """Fresh tape: no declared figure shows it."""
    charged = [True] * 5 + [False] * 15
    [found] = changes(parcels([46] * 20, charged), {"keyboard box": date(2026, 1, 11)}).to_dict("records")
    assert found["told"] is True
    assert (found["parcels_before"], found["parcels_after"]) == (10, 10)
    assert (found["share_before"], found["share_after"]) == (0.5, 0)


def test_a_day_outside_the_records_compares_nothing() -> None:
    """There is nothing before or after it."""
    assert changes(parcels([46] * 20, [False] * 20), {"keyboard box": date(2027, 1, 1)}).empty
