"""How far a parcel is from each limit: the greatest figure that does not pass, and not a nanometre more."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.core.arrays import Whole
from auditor.core.schemas import rows
from auditor.tariff import limit_words, limits_passed, load, margins, opened, price
from auditor.tariff.figures import whole
from auditor.tariff.rules import Rules
from tests.parcels import inches, parcel, pounds, prices, table

BOOK = opened("us-ground-common")
UP, NEAREST = date(2026, 3, 4), date(2025, 3, 4)


def billable(parcels: pd.DataFrame) -> Whole:
    """Their billable weights by the common ground rules."""
    return whole(price(parcels, BOOK, prices())["billable_pg"])


def room(sides: str, weight: str | int = 5, on: date = UP) -> pd.DataFrame:
    """Every limit of one parcel."""
    return margins(table(parcel(sides, weight, str(on))), _rules(on), billable)


def _rules(on: date) -> Rules:
    found = BOOK.on("Ground", on)
    assert found
    return found


def most(limits: pd.DataFrame, limit: str, figure: str) -> int:
    """The greatest value of a figure by one limit."""
    return int(limits[(limits["limit"] == limit) & (limits["figure"] == figure)]["most"].iloc[0])


def test_over_48_in_with_sides_rounded_up_leaves_48_in_and_not_a_hair_more() -> None:
    """us-ground-common since 2025-08-18: each side up to the whole inch, then over 48 in."""
    assert most(room("47.5 x 6 x 6"), "longest side over 48 in", "length_nm") == inches(48)


def test_over_48_in_with_sides_rounded_to_the_nearest_leaves_just_under_48_and_a_half() -> None:
    """Before that day a half inch went up, so 48.5 in is 49 in and over."""
    assert most(room("47.5 x 6 x 6", on=NEAREST), "longest side over 48 in", "length_nm") == inches("48.5") - 1


def test_length_plus_girth_counts_twice_what_is_not_the_longest_side() -> None:
    """48 + 2 (20 + 8) = 104 of 105 in: one inch of length is left, and no whole inch of width or height."""
    limits = room("48 x 20 x 8")
    limit = "length plus girth over 105 in"
    assert [most(limits, limit, side) for side in ("length_nm", "width_nm", "height_nm")] == [
        inches(49),
        inches(20),
        inches(8),
    ]
    assert set(limits[limits["limit"] == limit]["counted"]) == {"104 in"}


def test_a_limit_on_weight_is_one_of_the_scale_and_not_of_the_billable_weight() -> None:
    """Actual weight over 50 lb; 50 lb is not over it."""
    assert most(room("12 x 10 x 8", 50), "actual weight over 50 lb", "weight_pg") == pounds(50)


def test_a_limit_that_no_figure_alone_clears_stays_in_the_table() -> None:
    """Two sides of 120 in are over 108 in, and either one alone leaves the other."""
    limits = room("150 x 120 x 10")
    longest = limits[limits["limit"] == "longest side over 108 in"]
    assert len(longest)
    assert longest["passed"].all()
    assert longest["most"].isna().all()


def test_a_limit_of_a_flagged_charge_holds_only_where_the_flag_is_set() -> None:
    """Dimension noncompliance of the postal rules, from 2022-04-03, is due only where the size was missing or wrong."""
    rules = load("us-postal").on(date(2023, 3, 6))
    assert rules
    parcels = table(parcel("23 x 6 x 6", 5, service="Priority Mail"), parcel("23 x 6 x 6", 5, service="Priority Mail"))
    found = margins(parcels.assign(size_wrong=[False, True]), rules, billable)
    assert set(found[found["charge"] == "dimension noncompliance"]["parcel"]) == {1}


@pytest.mark.parametrize("on", [UP, pytest.param(NEAREST, marks=pytest.mark.slow)])
@settings(max_examples=8)
@given(st.tuples(st.integers(1, 130 * 16), st.integers(1, 60 * 16), st.integers(1, 60 * 16)), st.integers(1, 160 * 16))
def test_at_the_most_a_limit_is_not_passed_and_a_small_unit_more_passes_it(
    on: date, sixteenths: tuple[int, int, int], ounces: int
) -> None:
    """Whatever the parcel: held against the limits that `limits_passed` finds."""
    sides = " x ".join(str(side / 16) for side in sixteenths)
    own = parcel(sides, str(ounces / 16), str(on))
    limits = margins(table(own), _rules(on), billable)
    decided = limits[(limits["charge"] != "not accepted") & limits["most"].notna()]
    for row in decided.sample(min(4, len(decided)), random_state=0).to_dict("records"):
        for value, passes in ((int(row["most"]), False), (int(row["most"]) + 1, True)):
            changed = {**own, row["figure"]: value}
            passed = limits_passed(changed, rows(price(table(changed), BOOK, prices()))[0], _rules(on))
            assert (
                (row["charge"], row["limit"]) in [(c.name, limit_words(t, _rules(on))) for c, t in passed]
            ) == passes
