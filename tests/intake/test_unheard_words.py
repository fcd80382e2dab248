"""What no word tells is told by what the figures are: sums, columns of charges, the column of what was charged for."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pandas as pd
import pytest

from auditor import intake
from auditor.intake import telltale
from auditor.intake.cells_apart import apart
from auditor.intake.documents import Grid
from auditor.intake.headings import heads

NUMBERS = ("NP441002600001", "NP441002600002", "NP441002600003", "NP441002600004")
FREIGHT, FUEL = (1210, 845, 2390, 3305), (103, 77, 245, 310)


def dollars(cents: int) -> str:
    """1210 → '12.10'."""
    return f"{cents / 100:.2f}"


def read(folder: Path, rows: Sequence[Sequence[str]]) -> intake.Intake:
    """What a file of those rows gives."""
    path = folder / "statement.csv"
    path.write_text("\n".join(";".join(row) for row in rows), encoding="utf-8")
    return intake.read([path])


def in_blocks(sum_of_parcel: Sequence[int], whole: int) -> list[list[str]]:
    """A parcel's two charges, what it comes to, and what all come to, in words that name no sum."""
    rows = [["Tracking number", "What for", "Amount"]]
    for number, freight, fuel, both in zip(NUMBERS, FREIGHT, FUEL, sum_of_parcel, strict=True):
        rows += [[number, "Freight", dollars(freight)], [number, "Fuel", dollars(fuel)]]
        rows += [[number, "Makes", dollars(both)]]
    return [*rows, ["", "Everything together", dollars(whole)]]


def test_sums_of_parcels_and_of_all_are_told_by_what_they_come_to(tmp_path: Path) -> None:
    """'Makes' and 'Everything together' stand beside no line of their own."""
    both = [freight + fuel for freight, fuel in zip(FREIGHT, FUEL, strict=True)]
    taken = read(tmp_path, in_blocks(both, sum(both)))
    assert taken.lines["amount_cents"].sum() == sum(both)
    assert taken.printed_totals["printed_total_cents"].to_list() == [sum(both)]
    assert set(taken.lines["charge"]) == {"freight", "fuel"}


def test_repeated_charges_that_equal_one_another_stay_lines(tmp_path: Path) -> None:
    """Two fees of the same amount for every parcel: the second is not the sum of the first."""
    rows = [["Tracking number", "Charge", "Amount"]]
    rows += [[number, words, "1.50"] for number in NUMBERS for words in ("Weekly round", "Second look")]
    taken = read(tmp_path, rows)
    assert len(taken.lines) == 2 * len(NUMBERS)


def in_columns(totals: Sequence[int]) -> list[list[str]]:
    """A row a parcel with a column a charge; no name of a charge is known, and a dash stands for nothing."""
    rows = [["Tracking number", "Order", "Line haul and more", "Upkeep of depots", "Extra care", "Comes to"]]
    rows += [
        [number, f"Q-{at}", dollars(freight), dollars(fuel), "–", dollars(whole)]
        for at, (number, freight, fuel, whole) in enumerate(zip(NUMBERS, FREIGHT, FUEL, totals, strict=True))
    ]
    rows[2][4], rows[2][5] = "5.00", dollars(totals[1] + 500)
    return rows


def test_columns_that_another_sums_up_are_charges(tmp_path: Path) -> None:
    """With their headings as what they are for; a dash is no charge."""
    taken = read(tmp_path, in_columns([a + b for a, b in zip(FREIGHT, FUEL, strict=True)]))
    assert taken.lines["amount_cents"].sum() == sum(FREIGHT) + sum(FUEL) + 500
    assert len(taken.lines) == 2 * len(NUMBERS) + 1
    assert taken.lines["description"].unique().tolist() == ["Line haul and more", "Upkeep of depots", "Extra care"]


def test_what_was_charged_for_is_the_column_that_differs_within_a_parcel(tmp_path: Path) -> None:
    """Its heading names nothing; the service is the same on each row of a parcel."""
    rows = [["Waybill", "Service level", "Remarkable", "Net (USD)"]]
    for number, freight, fuel in zip(NUMBERS, FREIGHT, FUEL, strict=True):
        rows += [[number, "Ground", "Bringing it there", dollars(freight)], [number, "Ground", "Diesel", dollars(fuel)]]
    taken = read(tmp_path, rows)
    assert taken.lines["description"].to_list() == ["Bringing it there", "Diesel"] * len(NUMBERS)
    assert taken.lines["service"].unique().tolist() == ["Ground"]
    assert taken.lines["amount_cents"].sum() == sum(FREIGHT) + sum(FUEL)


@pytest.mark.parametrize(
    ("heading", "cell", "headings", "cells"),
    [
        ("Rated at", "41 lb 48×20×8 in", ["billed weight", "billed size"], ["41 lb", "48×20×8 in"]),
        ("Service", "Ground Zone 8", ["Service", "zone"], ["Ground", "Zone 8"]),
        ("Parcel ID Order", "NP441002605812 Q-200", ["Parcel ID", "order reference"], ["NP441002605812", "Q-200"]),
        ("Tracking number", "1X 999 AA1 01 2345 6784", ["Tracking number"], ["1X 999 AA1 01 2345 6784"]),
        ("Tracking number", "RA 473124829 QM", ["Tracking number"], ["RA 473124829 QM"]),
        ("Ship to", "Flat 3, 12 Mill Lane", ["Ship to"], ["Flat 3, 12 Mill Lane"]),
    ],
)
def test_a_cell_of_several_particulars_is_parted(
    heading: str, cell: str, headings: list[str], cells: list[str]
) -> None:
    """By what each looks like; a number in groups, or an address, stays whole."""
    grid = Grid([[heading], *[[cell]] * 4, ["All parcels"]], [""] * 6)
    parted = apart(grid).rows
    assert parted[0] == headings
    assert parted[1] == cells
    assert parted[-1] == ["All parcels", *[""] * (len(cells) - 1)]


def test_a_row_with_a_number_and_an_amount_is_no_row_of_headings() -> None:
    """So that no line is lost as one."""
    rows = [["Some words", "More"], ["NP441002605812", "12.10"], ["NP441002605813", "9.80"]]
    assert [head.row for head in heads(Grid(rows, [""] * 3))] == [0]


@pytest.mark.parametrize(
    ("words", "charge"),
    [
        ("Diesel price supplement, changing by the month", "fuel"),
        ("Base rate for collection and delivery", "freight"),
        ("Drop-off at a private household", "residential"),
        ("Consignee address amended", "address correction"),
        ("Item moved by hand", "additional handling"),
        ("Remote address surcharge", None),
        ("Fuel used on private roads by hand", None),
        ("Dangerous goods, sorted by hand", None),
    ],
)
def test_one_word_gives_a_charge_away(words: str, charge: str | None) -> None:
    """Words of two charges, or of one that stands by itself, name none."""
    assert telltale.told(words) == charge


@pytest.mark.parametrize("words", ["Invoice QM-40817, issued 2026-04-02.", "Bill no. QM-40817 of 04/02/2026"])
def test_the_day_behind_a_statement_s_number_is_its_date(tmp_path: Path, words: str) -> None:
    """Where no text is called the date."""
    rows = [["Tracking number", "Charge", "Amount"], *[[number, "Freight", "12.10"] for number in NUMBERS]]
    taken = read(tmp_path, [[words], [], *rows])
    assert taken.lines["statement_on"].unique().tolist() == [pd.Timestamp("2026-04-02")]
    assert taken.lines["statement"].unique().tolist() == ["QM-40817"]


@pytest.mark.parametrize("words", ["To pay for all parcels on this bill", "Invoice total for 3 items", "All parcels"])
def test_a_total_may_say_what_it_is_the_total_of(tmp_path: Path, words: str) -> None:
    """And is held against the lines though it is not what they come to."""
    rows = [["Tracking number", "Charge", "Amount"], *[[number, "Freight", "12.10"] for number in NUMBERS]]
    taken = read(tmp_path, [*rows, [words, "", "99.00"]])
    assert taken.printed_totals["printed_total_cents"].to_list() == [9900]
    assert taken.lines["amount_cents"].sum() == 4840
