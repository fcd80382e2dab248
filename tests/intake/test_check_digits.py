"""Check digits against published examples, each with its source."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.intake.check_digits import air_waybill_digit, checked, gs1_digit, postal_barcode, s10, s10_digit


@pytest.mark.parametrize(
    ("serial", "digit", "source"),
    [
        ("47312482", 9, "UPU S10, worked example in its mirrors: S = 200, 200 mod 11 = 2, C = 9"),
        ("12345678", 5, "RB123456785GB: tracking_number_data, s10.json"),
        ("00071761", 8, "EB000717618HK: README of an open-source s10 package"),
        ("16799528", 4, "RB167995284IT: an open-source post-tracking generator"),
        ("57240540", 6, "LL572405406US: the same"),
        ("12345671", 0, "UPU S10, as in its mirrors: S = 155, 155 mod 11 = 1, and 11 - 1 = 10 is written 0"),
        ("10000002", 5, "the same: S = 22, 22 mod 11 = 0, and 11 - 0 = 11 is written 5"),
    ],
)
def test_s10_digits_are_the_published_ones(serial: str, digit: int, source: str) -> None:
    """Weights 8 6 4 2 3 5 9 7, modulo 11."""
    assert source
    assert digit == s10_digit(serial)


@pytest.mark.parametrize(
    ("digits", "digit", "source"),
    [
        ("629104150021", 3, "GTIN-13, gs1hk.org"),
        ("730001100001", 7, "GTIN-13, gs1.se"),
        ("890400021003", 7, "GTIN-13, gs1india.org"),
        ("37610425002123456", 9, "SSCC, GS1 General Specifications 7.9.1, the table"),
        ("917196901075600307738", 5, "legacy postal number with its 91 prefix, Stack Overflow 5073717"),
        ("7196901075600307738", 3, "the same without the prefix gives another, wrong digit"),
    ],
)
def test_gs1_digits_are_the_published_ones(digits: str, digit: int, source: str) -> None:
    """Weights 3 and 1 from the right."""
    assert source
    assert digit == gs1_digit(digits)


VALID_BARCODES = [
    "9400111206206406260787",
    "9400111201080805483016",
    "9405803699300124287899",
    "9505511069605048600624",
    "9361289878700317633795",
    "9261292700768711948021",
    "92001903060085300042901077",
    "420787459400111206206406260787",
    "4201028200009261290113185417468510",
]
INVALID_BARCODES = ["9434611206206407667131", "9200000000000000000000", "4201028200009261290113185417468511"]


@pytest.mark.parametrize("number", VALID_BARCODES)
def test_valid_postal_barcodes_are_right(number: str) -> None:
    """Source: tracking_number_data, usps.json v2.0.0, rebuilt from Publication 199."""
    assert postal_barcode(number) is True


@pytest.mark.parametrize("number", INVALID_BARCODES)
def test_invalid_postal_barcodes_are_wrong(number: str) -> None:
    """Source: the same list."""
    assert postal_barcode(number) is False


def test_air_waybill_digits_are_the_published_ones() -> None:
    """1234567 → 5: Australian Border Force, "Air Waybill Number Validation"; 589-8114074 → 3: freight.domains."""
    assert air_waybill_digit("1234567") == 5
    assert air_waybill_digit("8114074") == 3


def test_a_number_is_told_by_its_shape() -> None:
    """Blanks and case do not matter; a number of no known shape has no answer."""
    assert checked("rb 123 456 785 gb") == {"UPU S10": True}
    assert checked("RB123456784GB") == {"UPU S10": False}
    assert checked("9400 1112 0620 6406 2607 87") == {"Postal Service barcode": True}
    assert checked("Q-10231") == {}


@given(st.text("0123456789", min_size=8, max_size=8), st.integers(0, 7), st.integers(1, 9))
def test_s10_catches_single_wrong_digits_but_for_its_two_fives(serial: str, place: int, shift: int) -> None:
    """Remainders 0 and 6 both give check digit 5, so only an error between those two passes."""
    other = serial[:place] + str((int(serial[place]) + shift) % 10) + serial[place + 1 :]
    assert s10_digit(other) != s10_digit(serial) or s10_digit(serial) in (0, 5)


@given(st.text("0123456789", min_size=17, max_size=21), st.integers(0, 16), st.integers(1, 9))
def test_gs1_catches_every_single_wrong_digit(digits: str, place: int, shift: int) -> None:
    """GS1 General Specifications 7.9.1."""
    other = digits[:place] + str((int(digits[place]) + shift) % 10) + digits[place + 1 :]
    assert gs1_digit(other) != gs1_digit(digits)


@given(st.text(max_size=40))
def test_any_text_is_answered(text: str) -> None:
    """No text of a stranger makes it fail."""
    assert all(isinstance(right, bool) for right in checked(text).values())
    assert s10(text) in (True, False, None)
