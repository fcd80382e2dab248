"""Charts: where values stand on their scales, and how bars are parted."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.report.html.chart import MOST_NUMBERS, Scale, band, bars, curve


def test_a_scale_runs_from_its_first_to_its_last_value() -> None:
    """What lies beyond an end stands at that end."""
    scale = Scale(40, 48)
    assert [scale.at(value) for value in (40, 44, 48, 30, 60)] == [0, 50, 100, 0, 100]


def test_a_scale_is_numbered_in_round_steps() -> None:
    """With the unit behind each."""
    assert [mark.text for mark in Scale(0, 40).numbered(" %")] == [
        "0 %", "5 %", "10 %", "15 %", "20 %", "25 %", "30 %", "35 %", "40 %"
    ]  # fmt: skip
    assert [mark.text for mark in Scale(40.25, 46).numbered()] == ["41", "42", "43", "44", "45", "46"]


def test_counts_are_numbered_in_whole_steps() -> None:
    """There is no half parcel."""
    assert [mark.text for mark in Scale(0, 4).numbered(least=1)] == ["0", "1", "2", "3", "4"]


@given(st.floats(-1e4, 1e4), st.floats(0.01, 1e4))
def test_no_scale_has_more_numbers_than_fit(first: float, span: float) -> None:
    """And each stands within it."""
    marks = Scale(first, first + span).numbered()
    assert len(marks) <= MOST_NUMBERS + 1
    assert all(0 <= mark.across <= 100 for mark in marks)


def test_a_scale_of_one_value_is_drawn_all_the_same() -> None:
    """No division by zero."""
    assert Scale(5, 5).at(5) == 0
    assert Scale(5, 5).numbered()


def test_a_curve_goes_up_where_values_grow() -> None:
    """As SVG counts from the top; a band is the way there along the low ends and back along the high ones."""
    across, up = Scale(0, 2), Scale(0, 10)
    assert curve(across, up, [0, 1, 2], [0, 5, 10]) == "0,100 50,50 100,0"
    assert band(across, up, [0, 2], [0, 0], [5, 10]) == "0,100 100,100 100,0 0,50"


def test_bars_are_parted_in_order_and_by_the_longest() -> None:
    """What lessens a month's cost has no part in its bar, but is in its sum."""
    looks = ("length", "weight")
    march, april = bars(
        [("March", [("length", 300), ("weight", 100)]), ("April", [("length", 200), ("weight", -50)])], looks
    )
    assert [(part.start, part.width, part.name, part.look) for part in march.parts] == [
        (0, 75, "length", 0),
        (75, 25, "weight", 1),
    ]
    assert [(part.start, part.width) for part in april.parts] == [(0, 50)]
    assert (march.amount_cents, april.amount_cents) == (400, 150)
    assert april.amounts == {"length": 200, "weight": -50}


@pytest.mark.parametrize("amounts", [[], [("March", [("length", 0)])]])
def test_nothing_to_draw_is_no_fault(amounts: list[tuple[str, list[tuple[str, int]]]]) -> None:
    """A shop without back-charges."""
    assert all(not bar.parts for bar in bars(amounts, ("length",)))
