"""The ruler: where limits, readings and the declared length stand on it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.audit import Limit
from auditor.core import schemas
from auditor.report.html.ruler import MOST_LEVELS, Mark, Ruler, own_readings, ruler
from tests.audits import LIMITS, Row, inch, reading, table


def drawn(*rows: Row, limits: tuple[Limit, ...] = LIMITS) -> Ruler:
    """The ruler of these readings."""
    picture = ruler("box", table(list(rows), schemas.READINGS), limits)
    assert picture is not None
    return picture


def numbers(picture: Ruler) -> list[str]:
    """The numbers along it."""
    return [tick.text for tick in picture.ticks if tick.text]


def test_declared_length_readings_and_limit_stand_in_their_order() -> None:
    """A reading of 47.9 in lies left of the limit of 48 in, one of 48.1 in right of it."""
    picture = drawn(reading("box", 47, 47.9, rounded=False), reading("box", 47, 48.1, rounded=False))
    places = [picture.declared.across, picture.dots[0].across, picture.limits[0].across, picture.dots[1].across]
    assert places == sorted(places)
    assert picture.limits[0].text == "additional handling"


def test_a_rounded_reading_is_the_inch_below_it() -> None:
    """Printed as 49 in it lies over 48 in and up to 49 in."""
    picture = drawn(*(reading("box", 48, 49, rounded=True) for _ in range(3)))
    (bracket,) = picture.brackets
    at = {tick.text: tick.across for tick in picture.ticks}
    assert (bracket.start, bracket.end, bracket.text) == (at["48"], at["49"], "3×")
    assert not picture.dots


def test_a_length_that_is_not_whole_inches_was_not_rounded() -> None:
    """It is drawn as a dot."""
    picture = drawn(reading("box", 48, 48.4, rounded=True))
    assert (len(picture.dots), picture.brackets) == (1, ())


def test_a_parcel_billed_by_the_declared_length_has_no_reading_of_its_own() -> None:
    """It is counted in words, and a carton with no others has no picture."""
    as_declared = reading("box", 48, 48, rounded=True)
    assert ruler("box", table([as_declared], schemas.READINGS), LIMITS) is None
    assert "1 parcel billed by the declared length." in drawn(as_declared, reading("box", 48, 49, rounded=True)).words
    unknown = [
        reading("box", 48, None, rounded=True),
        {**reading("box", 48, 49, rounded=True), "declared_length_nm": None},
    ]
    assert own_readings(table(unknown, schemas.READINGS)).empty


def test_a_parcel_on_several_statements_is_one_parcel() -> None:
    """Its reading is drawn once, and it is not counted as billed by the declared length besides."""
    corrected = reading("box", 48, 48.5, rounded=False)
    picture = drawn(corrected, {**corrected, "statement": "later"}, {**corrected, "measured_length_nm": inch(48)})
    assert len(picture.dots) == 1
    assert "billed by the declared length" not in picture.words


def test_a_reading_far_from_the_declared_length_is_told_and_not_drawn() -> None:
    """A slip of the carrier's does not shrink the ruler to nothing."""
    picture = drawn(reading("box", 48, 49, rounded=True), reading("box", 48, 48_000_000, rounded=True))
    assert (len(picture.brackets), picture.undrawn, numbers(picture)[-1]) == (1, 1, "51")
    assert "49 in to 48000000 in" in picture.words


def test_the_nearest_limit_is_the_next_at_or_above_the_declared_length() -> None:
    """48 in is not over the limit of 48 in, so that limit is the one to mind."""
    assert (
        "over 48 in, additional handling. Over it: 1 of 2 shown."
        in drawn(reading("box", 48, 49, rounded=True), reading("box", 48, 47.5, rounded=False)).words
    )
    assert "over 96 in, large parcel" in drawn(reading("box", 48.5, 50, rounded=True)).words
    assert "over 108 in, not accepted" in drawn(reading("box", 109, 110, rounded=True)).words


def test_a_limit_far_away_is_told_and_not_drawn() -> None:
    """Else the readings would shrink to a point."""
    picture = drawn(reading("box", 28, 29, rounded=True))
    assert (picture.limits, numbers(picture)) == ((), ["27", "28", "29", "30", "31"])
    assert "over 48 in" in picture.words


def test_there_may_be_no_limit_at_all() -> None:
    """Some tariffs have none on the longest side."""
    assert "limit" not in drawn(reading("box", 28, 29, rounded=True), limits=()).words


def test_readings_at_one_place_are_stacked_and_the_rest_counted() -> None:
    """No dot covers another, and none is dropped in silence."""
    picture = drawn(*(reading("box", 48, 48.5, rounded=False) for _ in range(11)))
    assert [dot.level for dot in picture.dots] == list(range(MOST_LEVELS))
    assert (picture.levels, picture.undrawn) == (MOST_LEVELS, 3)


def test_a_short_carton_does_not_go_below_nothing() -> None:
    """The ruler begins at 0 in."""
    assert numbers(drawn(reading("box", 0.5, 1, rounded=True)))[0] == "0"


@given(st.lists(st.floats(1, 120), min_size=1, max_size=30), st.integers(1, 110))
def test_everything_lies_on_the_ruler(lengths: list[float], declared: int) -> None:
    """Within the picture's width, with readable numbers, whatever was read."""
    readings = [reading("box", declared, round(length, 2), rounded=length > 60) for length in lengths]
    picture = ruler("box", table(readings, schemas.READINGS), LIMITS)
    if picture is None:
        assert all(inch(round(length, 2)) == inch(declared) for length in lengths)
        return
    places = [mark.across for mark in (*picture.ticks, *picture.limits, picture.declared)]
    places += [dot.across for dot in picture.dots]
    ends = [end for bracket in picture.brackets for end in (bracket.start, bracket.end)]
    assert all(0 <= place <= 100 for place in [*places, *ends])
    assert 2 <= len(numbers(picture)) <= 14
    assert len(picture.dots) + picture.undrawn + sum(int(one.text[:-1]) for one in picture.brackets) <= len(lengths)


@pytest.mark.parametrize("across", [0.0, 50.0])
def test_words_beside_a_mark_run_towards_the_middle(across: float) -> None:
    """So that they stay inside a narrow picture."""
    assert Mark(across, "declared").anchor == "start"
    assert Mark(100 - across + 0.1, "declared").anchor == "end"
