"""Texts are read exactly or refused in plain words; nothing is guessed."""

import contextlib
import re
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.core import units
from auditor.intake import parsing
from tests.parcels import inches, pounds


@pytest.mark.parametrize(
    ("text", "cents"),
    [
        ("12.34", 1234),
        ("$12.34", 1234),
        ("$ 1,234.50", 123450),
        ("USD 12", 1200),
        ("12.34 USD", 1234),
        ("-12.34", -1234),
        ("−12.34", -1234),
        ("-$12.34", -1234),
        ("$-12.34", -1234),
        ("12.34-", -1234),
        ("(12.34)", -1234),
        ("($1,012.34)", -101234),
        ("12.34 CR", -1234),
        ("12.34DR", 1234),
        (".5", 50),
        ("7.", 700),
        ("1 234.50", 123450),
        ("1'234.50", 123450),
        ("0.00", 0),
        ("12.3400", 1234),
    ],
)
def test_money_is_read_as_whole_cents(text: str, cents: int) -> None:
    """Signs before, after and around, currency, thousands."""
    assert parsing.money(text) == cents


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("twelve", "is not an amount of money, such as 12.34, -12.34 or (12.34)"),
        ("12/31/2025", "is not an amount of money"),
        ("1.5e3", "is not an amount of money"),
        ("12.34.56", "is not an amount of money with a decimal point and thousands in threes"),
        ("12,34", "is not an amount of money with a decimal point and thousands in threes"),
        ("1.234", "has a part of a cent"),
        ("(12.34", "has a sign that is not clear; write -12.34 or (12.34) for money back"),
        ("-12.34 CR", "has a sign that is not clear"),
        ("9999999999999999", "is more money than any statement has"),
        ("0\n0", "is not an amount of money"),
    ],
)
def test_what_is_no_amount_is_refused(text: str, reason: str) -> None:
    """In words that follow the text."""
    with pytest.raises(ValueError, match=f"^{re.escape(reason)}"):
        parsing.money(text)


def test_a_column_with_decimal_commas_is_told_by_its_values() -> None:
    """12,34 cannot be thousands; one 12.34 in the column and it is not settled."""
    assert parsing.has_decimal_comma(["1.234,56", "7", "12,34"])
    assert not parsing.has_decimal_comma(["1,234.56", "1,234"])
    assert not parsing.has_decimal_comma(["12,34", "12.34"])
    assert parsing.money("1.234,56", decimal_comma=True) == 123456
    assert parsing.money("-12,3 €".replace("€", "$"), decimal_comma=True) == -1230


@given(st.integers(-(10**12), 10**12), st.sampled_from(["{0:,.2f}", "{0:.2f}", "${0:,.2f}", "{0:,.2f} USD"]))
def test_printed_money_reads_back_to_the_cent(cents: int, form: str) -> None:
    """However it is printed."""
    amount = Decimal(abs(cents)) / 100
    for text in (f"-{form}", f"({form})", f"{form}-", f"{form} CR") if cents < 0 else (form,):
        assert parsing.money(text.format(amount)) == cents


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-03-04", date(2026, 3, 4)),
        ("2026/3/4", date(2026, 3, 4)),
        ("20260304", date(2026, 3, 4)),
        ("2026-03-04T23:10:05Z", date(2026, 3, 4)),
        ("2026-03-04 23:10", date(2026, 3, 4)),
        ("3/4/2026", date(2026, 3, 4)),
        ("03/04/26", date(2026, 3, 4)),
        ("3/4/2026 1:05 PM", date(2026, 3, 4)),
        ("04.03.2026", date(2026, 3, 4)),
        ("4 Mar 2026", date(2026, 3, 4)),
        ("March 4, 2026", date(2026, 3, 4)),
        ("Mar 4th, 2026", date(2026, 3, 4)),
        ("29-Feb-2028", date(2028, 2, 29)),
    ],
)
def test_dates_are_read_as_people_write_them(text: str, day: date) -> None:
    """Month first where two numbers leave it open."""
    assert parsing.date(text) == day


def test_dates_are_read_day_first_where_the_column_says_so() -> None:
    """A number over 12 anywhere in the column settles it."""
    assert parsing.date("3/4/2026", day_first=True) == date(2026, 4, 3)
    assert parsing.day_order(["3/4/2026", "13/4/2026", ""]) == "day first"
    assert parsing.day_order(["3/4/2026", "3/14/2026"]) == "month first"
    assert parsing.day_order(["3/4/2026"]) == "open"
    assert parsing.day_order(["2026-03-04", "04.03.2026"]) == "none"


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("may", "is not a date; write it as 2026-03-31"),
        ("5", "is not a date"),
        ("2025", "is not a date"),
        ("Ground", "is not a date"),
        ("12.34", "is not a date"),
        ("4 Foo 2026", "is not a date"),
        ("02/30/2026", "is no day of the calendar; write it as 2026-03-31"),
        ("2026-13-01", "is no day of the calendar"),
        ("0026-03-04", "is in the year 26, which cannot be right"),
    ],
)
def test_no_day_is_made_up(text: str, reason: str) -> None:
    """What is no day of the calendar is refused."""
    with pytest.raises(ValueError, match=f"^{re.escape(reason)}"):
        parsing.date(text)


@pytest.mark.parametrize(
    ("text", "sides"),
    [
        ("44 x 6 x 6 in", ("44", "6", "6")),
        ("6x44x6", ("44", "6", "6")),
        ("44 X 6 X 6 inches", ("44", "6", "6")),
        ("44 × 6 × 6", ("44", "6", "6")),
        ("44 by 6 by 6 in.", ("44", "6", "6")),
        ("44 x 6 x 6 (in)", ("44", "6", "6")),
        ('44" x 6" x 6"', ("44", "6", "6")),
        ("47 1/2 x 6 x 6", ("47.5", "6", "6")),
        ("47-1/2 x 6 x 6 in", ("47.5", "6", "6")),
        ("47½ x 6¼ x ½", ("47.5", "6.25", "0.5")),
        ('3\' 11½" x 6" x 6"', ("47.5", "6", "6")),
        ("3 ft 11 1/2 in x 6 x 6 in", ("47.5", "6", "6")),
        ("4 ft x 6 x 6 in", ("48", "6", "6")),
        ("48,5 x 6 x 6 in", ("48.5", "6", "6")),
        ("6 x 6 x 47 1/2 in", ("47.5", "6", "6")),
        ("47 1 / 2 x 6 x 6 in", ("47.5", "6", "6")),
        ("47 1⁄2 x 6 x 6 in", ("47.5", "6", "6")),
        ("47½″ × 6″ × 6″", ("47.5", "6", "6")),
        ('3\'-11 1/2" x 6" x 6"', ("47.5", "6", "6")),
        ("3’ 11½” × 6” × 6”", ("47.5", "6", "6")),
        ("L 47.5 x W 6 x H 6 in", ("47.5", "6", "6")),
        ('47.5"L x 6"W x 6"H', ("47.5", "6", "6")),
        ("47.5 in long x 6 in wide x 6 in high", ("47.5", "6", "6")),
        ("length: 47.5 in x width: 6 in x height: 6 in", ("47.5", "6", "6")),
        ("4 ft x 6 in x 15.24 cm", ("48", "6", "6")),
    ],
)
def test_sizes_in_inches_are_read_exactly(text: str, sides: tuple[str, str, str]) -> None:
    """In falling order, whatever order they stand in."""
    assert parsing.size(text, "in") == tuple(inches(side) for side in sides)


def test_sizes_in_centimetres_are_read_exactly() -> None:
    """121.92 cm is 48 in (1 in = 2.54 cm exactly: NIST SP 811, Appendix B.8)."""
    assert parsing.size("112×15×15 cm") == (1_120_000_000, 150_000_000, 150_000_000)
    assert parsing.size("15 x 121.92 x 15", "cm")[0] == inches(48)
    assert parsing.size("1.2 m x 150 mm x 15 cm") == (1_200_000_000, 150_000_000, 150_000_000)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("44x6", "has 2 sides, needs three: length x width x height, as in 44 x 6 x 6 in"),
        ("44", "has 1 side, needs three"),
        ("44 x 6 x 6 x 2 in", "has 4 sides, needs three"),
        ("44 x 6 x -6 in", "is below zero"),
        ("44 x 6 x 0 in", "is zero"),
        ("44 x 6 x 6 yd", "has the unit 'yd', which is not known; known are in, ft, mm, cm, m"),
        ("44 x 6 x wide", "is not a length, such as 47 1/2 in or 121 cm"),
        ("44 x 6 x", "has 2 sides"),
        ("44 x x 6 x 6", "has 4 sides"),
        ("44 x 6 x 1/0 in", "has a fraction with zero below the line"),
        ("1,000 ft x 6 x 6 in", "is more than any parcel's length"),
        ("44 x 6 x high", "is not a length, such as 47 1/2 in or 121 cm"),
        ("44 x 6 x 6000 m", "is more than any parcel's length"),
    ],
)
def test_what_is_no_size_is_refused(text: str, reason: str) -> None:
    """With what it lacks."""
    with pytest.raises(ValueError, match=f"^{re.escape(reason)}"):
        parsing.size(text, "in")


@pytest.mark.parametrize(
    ("text", "weight"),
    [
        ("3 lb 4 oz", "3.25"),
        ("3lb4oz", "3.25"),
        ("3 lbs., 4 oz.", "3.25"),
        ("3 pounds and 4 ounces", "3.25"),
        ("52 oz", "3.25"),
        ("14", "14"),
        ("14.2 LB", "14.2"),
        ("1/2 lb", "0.5"),
        ("2#", "2"),
    ],
)
def test_weights_in_pounds_are_read_exactly(text: str, weight: str) -> None:
    """3 lb 4 oz is 3.25 lb: 1 lb = 16 oz (NIST Handbook 44, Appendix C)."""
    assert parsing.weight(text, "lb") == pounds(weight)


def test_weights_in_kilograms_are_read_exactly() -> None:
    """A kilogram is 10^15 pg."""
    assert parsing.weight("1.5 kg") == 15 * 10**14
    assert parsing.weight("750 g") == 75 * 10**13


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("-3 lb", "is below zero"),
        ("0 lb", "is zero"),
        ("3 stone", "has the unit 'stone', which is not known; known are lb, oz, g, kg"),
        ("3 lb 4", "has a number without a unit; write it such as 3 lb 4 oz or 1.5 kg"),
        ("4 oz 3 lb", "is not a weight, such as 3 lb 4 oz or 1.5 kg"),
        ("3-4 lb", "is not a weight"),
        ("heavy", "is not a weight"),
        ("99999 kg", "is more than any parcel's weight"),
    ],
)
def test_what_is_no_weight_is_refused(text: str, reason: str) -> None:
    """An unknown unit is named, with the known ones."""
    with pytest.raises(ValueError, match=f"^{re.escape(reason)}"):
        parsing.heft(text, "lb")


def test_a_bare_number_needs_a_unit_from_its_column() -> None:
    """Without one it is refused."""
    with pytest.raises(ValueError, match=r"^has a number without a unit; write it such as 3 lb 4 oz or 1.5 kg$"):
        parsing.weight("14")
    assert parsing.is_bare("44 x 6 x 6", "length")
    assert not parsing.is_bare("44 x 6 x 6 in", "length")
    assert not parsing.is_bare('44"', "length")


SIXTY_FOURTHS = st.integers(1, 64 * 100)


@given(st.lists(SIXTY_FOURTHS, min_size=3, max_size=3))
def test_a_size_reads_the_same_however_it_is_printed(sides: list[int]) -> None:
    """As fractions, decimals, feet and inches, with or without blanks."""
    expected = tuple(sorted((side * units.NM_PER_INCH // 64 for side in sides), reverse=True))
    decimals = " x ".join(f"{Decimal(side) / 64:f}" for side in sides)
    mixed = "x".join(f"{side // 64} {side % 64}/64" for side in sides)
    feet = " × ".join(f"{side // 768}' {Decimal(side % 768) / 64:f}\"" for side in sides)
    assert parsing.size(decimals, "in") == expected
    assert parsing.size(f"{decimals} in") == expected
    assert parsing.size(mixed, "in") == expected
    assert parsing.size(feet) == expected


@given(st.integers(1, 2400))
def test_a_weight_reads_the_same_in_ounces_and_in_pounds(ounces: int) -> None:
    """To the picogram."""
    expected = ounces * units.PG_PER_OUNCE
    for text in (f"{ounces} oz", f"{ounces // 16} lb {ounces % 16} oz", f"{Decimal(ounces) / 16:f} lb"):
        assert parsing.weight(text) == expected


@pytest.mark.parametrize(("text", "ppm"), [("15.25", 152_500), ("15.25 %", 152_500), ("15,5%", 155_000), ("0", 0)])
def test_percentages_are_millionths(text: str, ppm: int) -> None:
    """15.25 % is 152,500 of a million."""
    assert parsing.percent(text) == ppm


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("15.25001", "has more than four decimals of a percent"),
        ("fifteen", "is not a percentage, such as 15.25"),
        ("-3", "is not a percentage"),
        ("15250", "is more than any percentage of a charge"),
    ],
)
def test_what_is_no_percentage_is_refused(text: str, reason: str) -> None:
    """Rather than rounded."""
    with pytest.raises(ValueError, match=f"^{re.escape(reason)}"):
        parsing.percent(text)


def test_yes_and_no_are_read_as_people_write_them() -> None:
    """And maybe is neither."""
    assert all(parsing.flag(text) for text in ("yes", "Y", "TRUE", "1", "x", "Residential"))
    assert not any(parsing.flag(text) for text in ("no", "N", "false", "0", "commercial"))
    with pytest.raises(ValueError, match=r"^is neither yes nor no$"):
        parsing.flag("maybe")


def test_a_zone_is_its_number_without_the_word() -> None:
    """Leading zeros say nothing; names stay."""
    assert [parsing.zone(text) for text in ("5", "05", "Zone 5", "zone: 05", "Hawaii")] == [*"5555", "Hawaii"]
    with pytest.raises(ValueError, match=r"^names no zone$"):
        parsing.zone("Zone")


PARSERS = (
    parsing.money,
    parsing.date,
    parsing.size,
    parsing.length,
    parsing.weight,
    parsing.heft,
    parsing.percent,
    parsing.flag,
    parsing.zone,
)
LIKE_VALUES = st.text("0123456789.,-+/() x×'\"½¼inlbozkgcrdm%$:TZ\n", max_size=40)


@given(st.text(max_size=40) | LIKE_VALUES)
def test_no_text_makes_a_parser_fail_in_another_way(text: str) -> None:
    """It reads the text or raises ValueError."""
    for parse in PARSERS:
        with contextlib.suppress(ValueError):
            parse(text)


@given(LIKE_VALUES)
def test_what_is_read_fits_into_a_column(text: str) -> None:
    """Whole numbers of 64 bits."""
    for parse in (parsing.money, parsing.length, parsing.weight):
        values, reasons = parsing.parsed(pd.Series([text]), parse)
        assert len(values.astype("Int64")) == 1
        assert len(reasons) <= 1


def test_each_distinct_text_is_read_once() -> None:
    """And its value or reason comes back at each of its rows."""
    asked: list[str] = []

    def parse(text: str) -> int:
        asked.append(text)
        return parsing.money(text)

    values, reasons = parsing.parsed(pd.Series(["1", "bad", "", "1", "bad"], index=[9, 8, 7, 6, 5]), parse)
    assert asked == ["1", "bad"]
    assert values.to_dict() == {9: 100, 8: None, 7: None, 6: 100, 5: None}
    assert list(reasons.index) == [8, 5]
    assert set(reasons) == {"is not an amount of money, such as 12.34, -12.34 or (12.34)"}


def test_a_text_longer_than_any_value_is_refused_unread() -> None:
    """So that no parser works on a megabyte."""
    _, reasons = parsing.parsed(pd.Series(["1" * 5000]), parsing.money)
    assert reasons.to_list() == ["is longer than any such value (5000 characters)"]


def test_fractions_of_the_small_units_go_to_the_nearest() -> None:
    """A third of an inch is no whole number of nanometres."""
    assert parsing.length("1/3 in") == round(Fraction(units.NM_PER_INCH, 3))


def test_a_day_and_its_month_in_letters_need_nothing_between_them() -> None:
    """As print-outs write them; two digits of a year are of this century or the last."""
    assert parsing.date("26MAR26") == parsing.date("26-Mar-2026") == parsing.date("2026-03-26")
