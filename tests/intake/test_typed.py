"""Parcels as they are typed at the bench: sizes, weights and carton names in order."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.intake.typed import in_quotation_marks, typed, without_quotation_marks
from tests.parcels import inches, pounds


def test_a_size_and_the_weight_after_it_are_one_parcel() -> None:
    """Sides in falling order, whatever order they were typed in."""
    row = typed(["6 x 47 1/2 x 6 in", "5 lb 3 oz"]).iloc[0]
    assert [row["length_nm"], row["width_nm"], row["height_nm"]] == [inches("47.5"), inches(6), inches(6)]
    assert row["weight_pg"] == pounds("5.1875")
    assert row["parcel"] == "6 x 47 1/2 x 6 in, 5 lb 3 oz"


def test_a_carton_may_stand_with_and_without_a_weight() -> None:
    """Each name begins a parcel; grams are weights too."""
    table = typed(["stand tube", "850 g", "uke box", "44x6x6 in", "3 lb"])
    assert table["carton"].fillna("").tolist() == ["stand tube", "uke box", ""]
    assert table["weight_pg"].fillna(0).tolist() == [85 * 10**13, 0, pounds(3)]


def test_a_carton_that_is_called_like_a_size_is_told_by_the_shops_own_names() -> None:
    """Names are compared without case."""
    assert typed(["12x10"], {"12x10"})["carton"].tolist() == ["12x10"]


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        (["44 x 6 in", "3 lb"], "'44 x 6 in' has 2 sides, needs three: length x width x height, as in 44 x 6 x 6 in."),
        (["47 in"], "'47 in' has 1 side, needs three"),
        (["44 x 6 x 6", "3 lb"], "'44 x 6 x 6' has a number without a unit; write it such as 47 1/2 in or 121 cm."),
        (["44 x 6 x 6 in", "3"], "'3' has a number without a unit; write it such as 3 lb 4 oz or 1.5 kg."),
        (["0 x 6 x 6 in", "3 lb"], "'0 x 6 x 6 in' is zero."),
        (["44 x 6 x 6 in", "0 lb"], "'0 lb' is zero."),
        (["-44 x 6 x 6 in"], "'-44 x 6 x 6 in' is below zero."),
        (["44 x 6 x 6 in", "-3 lb"], "'-3 lb' is below zero."),
        (["1,000 ft x 6 x 6 in"], "'1,000 ft x 6 x 6 in' is more than any parcel's length."),
        (["44 x 6 x 6 in", "9 stone"], "'9 stone' has the unit 'stone', which is not known; known are lb, oz, g, kg."),
        (["3 lb"], "'3 lb' is a weight, but no size or carton stands before it. Give that first."),
        (
            ["44x6x6 in", "3 lb", "4 lb"],
            "'4 lb' is a second weight for '44x6x6 in, 3 lb'. Give each parcel one weight.",
        ),
        ([" "], "An empty text is no parcel. Give a size, as in '47 1/2 x 6 x 6 in', or a carton's name."),
        (["1 x " * 60], "is longer than any size or weight (240 characters)."),
    ],
)
def test_what_cannot_be_meant_is_refused_in_words(texts: list[str], words: str) -> None:
    """The text, what is wrong with it, and what to write."""
    with pytest.raises(ValueError, match=re.escape(words)):
        typed(texts)


@given(st.lists(st.text(max_size=30), max_size=4))
def test_any_text_is_a_parcel_or_refused(texts: list[str]) -> None:
    """No other error, whatever is typed."""
    try:
        table = typed(texts)
    except ValueError:
        return
    assert len(table) <= len(texts)


@pytest.mark.parametrize(
    ("typed_so", "meant"),
    [
        ("47 1/2 x 6 x 6 in 3 lb", '"47 1/2 x 6 x 6 in" "3 lb"'),
        ("44x6x6in 3 lb 4 oz", '"44x6x6in" "3 lb 4 oz"'),
        ("120 x 15 x 15 cm 1.5 kg", '"120 x 15 x 15 cm" "1.5 kg"'),
        ("stand tube 5 lb", '"stand tube" "5 lb"'),
        ("stand tube", '"stand tube"'),
        ("two parcels 3", ""),
    ],
)
def test_what_was_meant_without_quotation_marks_is_told_with_them(typed_so: str, meant: str) -> None:
    """The longest part that is a size or a name, and a weight after it."""
    assert in_quotation_marks(typed_so.split(), {"stand tube"}) == meant


def test_missing_quotation_marks_are_told_of_only_where_they_may_be_missing() -> None:
    """By a parcel that can be made of the texts, or by a word such as 'x' that stands alone."""
    begins = "A terminal parts what you type at every blank, so each size, name and weight goes in quotation marks, "
    several = ["44x6x6in", "3", "lb", "12x10x8in", "2", "lb"]
    assert without_quotation_marks(several) == f'{begins}as in: auditor precheck "47 1/2 x 6 x 6 in" "3 lb"'
    assert without_quotation_marks(["44x6x6in", "3", "lb"]) == f'{begins}like this: auditor precheck "44x6x6in" "3 lb"'
    assert without_quotation_marks(["44 x 6 x 6 in", "3 lb", "5 lb"]) == ""
    assert without_quotation_marks(["44 x 6 in", "3 lb"]) == ""
