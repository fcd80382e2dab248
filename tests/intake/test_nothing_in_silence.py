"""Tables that look like others and are none: said to be not read, or read without what they do not hold."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from auditor import intake

NUMBERS = [f"NP44100260{at:02d}" for at in range(1, 20)]
PARCEL = ["Order", "Tracking number", "Ship date", "Service", "Zone", "Size", "Weight"]


def taken(folder: Path, *rows: Sequence[str]) -> intake.Intake:
    """What is read of a file of those rows."""
    file = folder / "file.csv"
    file.write_text("".join(",".join(row) + "\n" for row in rows), encoding="utf-8")
    return intake.read([file])


def tables(read: intake.Intake) -> dict[str, int]:
    """The rows of each table that has any."""
    return {name: len(getattr(read, name)) for name in intake.TABLES if len(getattr(read, name))}


def order(number: str) -> list[str]:
    """A recorded parcel, as PARCEL has it."""
    return [f"Q-{number[-2:]}", number, "2026-03-04", "Ground", "5", "28x12x6 in", "5 lb"]


@pytest.mark.parametrize(
    ("headings", "items"),
    [
        (("Item 1", "Item 2"), ("Ukulele", "Strap")),
        (("Item 1", "Qty 1", "Item 2", "Qty 2"), ("Ukulele", "1", "Strap", "2")),
        (("Item 1", "Price 1", "Item 2", "Price 2"), ("Ukulele", "80.00", "Strap", "9.00")),
        (("Item 1", "Amount 1", "Item 2", "Amount 2"), ("Ukulele", "80.00", "Strap", "9.00")),
        (("Item 1", "Item 1 price", "Item 2", "Item 2 price"), ("Ukulele", "80.00", "Strap", "9.00")),
    ],
)
def test_an_export_of_orders_with_items_is_a_row_a_parcel(
    tmp_path: Path, headings: tuple[str, ...], items: tuple[str, ...]
) -> None:
    """No statement of what was sold, no shipment twice, and no item taken for a carton or a price."""
    read = taken(tmp_path, [*PARCEL, *headings], *([*order(number), *items] for number in NUMBERS))
    assert tables(read) == {"shipments": len(NUMBERS)}
    assert read.shipments["carton"].isna().all()
    assert read.shipments[["label_cost_cents", "buyer_paid_cents"]].isna().all(axis=None)
    assert read.problems == ()


def test_charges_in_pairs_of_columns_are_still_a_row_each(tmp_path: Path) -> None:
    """Where the heading says that it is a charge, or the words are charges."""
    for heading, words in (("Fee", ("Lamp oil", "Upkeep")), ("Item", ("Freight", "Fuel surcharge"))):
        head = ["Tracking number", f"{heading} 1", "Amount 1", f"{heading} 2", "Amount 2"]
        read = taken(tmp_path, head, *([number, words[0], "9.00", words[1], "1.00"] for number in NUMBERS))
        assert tables(read)["lines"] == 2 * len(NUMBERS)


@pytest.mark.parametrize(
    "rows",
    [
        (("Code", "Meaning"), ("FRT", "Freight"), ("FSC", "Fuel surcharge"), ("RES", "Residential delivery")),
        (
            ("Charge code", "Description", "Category"),
            ("100", "Freight", "Transport"),
            ("110", "Fuel surcharge", "Transport"),
            ("120", "Residential delivery", "Extras"),
            ("130", "Additional handling", "Extras"),
            ("140", "Address correction", "Extras"),
        ),
    ],
)
def test_a_sheet_of_charge_codes_with_their_meanings_is_not_read(
    tmp_path: Path, rows: tuple[tuple[str, ...], ...]
) -> None:
    """It has no figures of its own, and that it was left is said."""
    read = taken(tmp_path, *rows)
    assert tables(read) == {}
    [problem] = read.problems
    assert problem.unread
    assert problem.message.startswith("What this file is could not be told from its headings. Headings found: ")


LETTERS = (
    "The headings of this table are single letters ({}), which do not tell what stands below them, so nothing of it "
    "was read. Write what each column is, such as 'Tracking number' or 'Amount', and run again; or leave the file out."
)


@pytest.mark.parametrize("headings", ["ABCDEF", "NDLWHA", "TDSZCA"])
def test_headings_of_one_letter_tell_nothing(tmp_path: Path, headings: str) -> None:
    """Not even those of a size, over a day and a service."""
    read = taken(tmp_path, headings, *([number, "2026-03-04", "Ground", "5", "Freight", "12.50"] for number in NUMBERS))
    assert tables(read) == {}
    [problem] = read.problems
    assert problem.unread
    assert problem.message == LETTERS.format(", ".join(headings))


def test_a_letter_beside_plain_headings_is_a_side_only_where_all_three_are_lengths(tmp_path: Path) -> None:
    """'D' over days once made a fault of each row."""
    rows = ([number, "2026-03-04", "Ground", "7", "5", "Freight", "12.50"] for number in NUMBERS)
    read = taken(tmp_path, ["Tracking number", "D", "L", "W", "H", "Charge", "Amount"], *rows)
    assert read.lines[["billed_length_nm", "billed_width_nm", "billed_height_nm"]].isna().all(axis=None)
    assert [problem.message for problem in read.problems if not problem.note] == []
    sized = taken(
        tmp_path,
        ["Tracking number", "D", "L", "W", "H", "Weight"],
        *([number, "2026-03-04", "28", "12", "6", "5 lb"] for number in NUMBERS),
    )
    assert sized.shipments[["length_nm", "width_nm", "height_nm"]].notna().all(axis=None)


NO_HEADINGS = (
    "This table has no row of headings that is known here; it begins with: {}. Nothing of it was read. Put a row above "
    "it that says what each column is, such as 'Tracking number' or 'Amount', and run again; or leave the file out."
)


@pytest.mark.parametrize(
    "row",
    [
        ("NP-1", "2026-04-01", "{}", "2026-03-04", "Ground", "zone 5", "Freight", "7 lb", "28 x 12 x 6 in", "$12.50"),
        ("{}", "2026-03-04", "Ground", "5", "Freight", "$12.50"),
        ("{}", "2026-03-04", "Ground", "5", "28 x 12 x 6 in", "5 lb"),
    ],
)
def test_a_file_without_headings_is_neither_a_table_nor_so_many_letters(tmp_path: Path, row: tuple[str, ...]) -> None:
    """One was read as 116 letters; now its first row is shown, and what to write above it."""
    rows = [[cell.format(number) for cell in row] for number in NUMBERS]
    read = taken(tmp_path, *rows)
    assert tables(read) == {}
    [problem] = read.problems
    assert problem.unread
    assert problem.message == NO_HEADINGS.format(", ".join(rows[0]))
