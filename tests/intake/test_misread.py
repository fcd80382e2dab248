"""Check digits tell a misread number from a right one, where the numbers have one at all."""

from __future__ import annotations

import pandas as pd

from auditor.intake.check_digits import gs1_digit
from auditor.intake.misread import misread
from tests.intake.test_check_digits import VALID_BARCODES


def table(*numbers: str) -> pd.DataFrame:
    """Numbers in rows 2, 3 … of a file."""
    places = [f"row {place}" for place in range(2, len(numbers) + 2)]
    return pd.DataFrame({"tracking": numbers, "source_file": "statement.csv", "source_place": places}).astype("str")


def test_a_number_whose_check_digit_fails_among_right_ones_is_named_with_its_place() -> None:
    """A 6 read for an 8; source of the right ones: tracking_number_data, usps.json v2.0.0."""
    right = [number for number in VALID_BARCODES if len(number) == 22]
    wrong = right[0].replace("87", "67")
    found = list(misread(table(*right, wrong)))
    assert [(problem.file, problem.place) for problem in found] == [("statement.csv", "row 8")]
    assert f"The last digit of tracking number {wrong} does not fit the others" in found[0].message
    assert found[0].note


def test_numbers_of_a_carriers_own_shape_are_not_doubted() -> None:
    """There is no check digit to hold them against."""
    assert list(misread(table("NP4410026031700123", "NP4410026031700124"))) == []
    assert list(misread(table())) == []


def test_chance_hits_of_a_scheme_are_not_taken_for_it() -> None:
    """18 digits that are no container codes: one in ten passes by chance."""
    assert list(misread(table(*(f"44100260317{number:07d}" for number in range(40))))) == []


def test_many_wrong_numbers_are_told_by_count() -> None:
    """The first twenty one by one."""
    serials = [f"940011120620640{number:06d}" for number in range(400)]
    good = [serial + str(gs1_digit(serial)) for serial in serials]
    bad = [serial + str((gs1_digit(serial) + 1) % 10) for serial in serials[:30]]
    found = list(misread(table(*good, *bad)))
    assert len(found) == 21
    assert found[-1].message == "10 more tracking numbers have a last digit that does not fit the others."
