"""Arrangements of statements beside the plain one, each with a near miss that must be left as it is.

What they are is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from auditor import intake
from auditor.core import units
from auditor.intake import around, beside_charges, blocks, covers, documents, group_names, placed, two_columns
from auditor.intake.charges_apart import with_charges_apart
from auditor.intake.documents import Grid
from auditor.intake.parsing import date as parsed_date
from auditor.intake.parsing import month_and_day
from auditor.intake.rulings import ruled
from auditor.intake.whitespace import aligned
from auditor.intake.words import canonical
from tests import bad_files
from tests.parcels import inches, pounds


def read(folder: Path, content: str) -> intake.Intake:
    """What is read of a CSV."""
    path = folder / "lines.csv"
    path.write_text(content)
    return intake.read([path])


def faults(taken: intake.Intake) -> list[str]:
    """What is told, notes aside."""
    return [problem.message for problem in taken.problems if not problem.note]


# Names of groups


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Sunday, 1 March 2026", ("shipped_on", "1 March 2026")),
        ("Shipped on 2026-03-04", ("shipped_on", "2026-03-04")),
        ("Service: Ground", ("service", "Ground")),
        ("Zone 5", ("zone", "5")),
        ("Subtotal 1 March 2026: 5.00", None),
        ("Thank you for your business", None),
        ("Page 5", None),
    ],
)
def test_names_of_groups_are_told_from_remarks(text: str, found: tuple[str, str] | None) -> None:
    """By a day, or by a label that is known."""
    assert group_names.said(text) == found


def test_a_day_over_rows_is_theirs(tmp_path: Path) -> None:
    """The first may stand over the headings."""
    taken = read(
        tmp_path,
        "Monday 2 March 2026,,\nTracking number,Charge,Amount\nNP44100261,Freight,2.00\nTuesday 3 March 2026,,\n"
        "NP44100262,Freight,3.00\nNP44100263,Freight,4.00\nWednesday 4 March 2026,,\nNP44100264,Freight,5.00\n",
    )
    days = [date(2026, 3, 2), date(2026, 3, 3), date(2026, 3, 3), date(2026, 3, 4)]
    assert [day.date() for day in taken.lines["shipped_on"]] == days
    assert faults(taken) == []


def test_one_day_alone_is_a_remark_and_no_group(tmp_path: Path) -> None:
    """As the day on which it was printed."""
    taken = read(
        tmp_path, "Tracking number,Charge,Amount\nNP44100261,Freight,2.00\n2 March 2026,,\nNP44100262,Fuel,3.00\n"
    )
    assert taken.lines["shipped_on"].isna().all()
    assert len(taken.lines) == 2


# Charges under a parcel's row, or in pairs of columns


def test_words_and_an_amount_under_a_parcel_are_its_charges(tmp_path: Path) -> None:
    """They stand under its order; the parcel's row has their sum."""
    taken = read(
        tmp_path,
        "Parcel,Your order,Sent,Amount\nNP44100261,Q-1,2026-03-04,5.00\n,Freight,,3.00\n,Fuel,,2.00\n"
        "NP44100262,Q-2,2026-03-05,7.00\n,Freight,,6.00\n,Fuel,,1.00\n",
    )
    assert taken.lines["amount_cents"].to_list() == [300, 200, 600, 100]
    assert taken.lines["order"].to_list() == ["Q-1", "Q-1", "Q-2", "Q-2"]
    assert taken.lines["charge"].to_list() == ["freight", "fuel"] * 2


def test_rows_of_sums_are_no_charges_under_a_parcel() -> None:
    """Nor are rows in a column that has charges on the parcels' rows too."""
    sums = [["NP44100261", "Q-1", "5.00"], ["", "Subtotal", "5.00"]] * 5
    charges = [["NP44100261", "Freight", "Q-1", "5.00"], ["", "Freight", "", "2.00"]] * 5
    for rows in (sums, charges):
        grid = Grid([["Parcel", "Charge", "Order", "Amount"][: len(rows[0])], *rows], ["row"] * 11)
        assert with_charges_apart(grid) is grid


def test_pairs_of_columns_are_a_row_each() -> None:
    """As many as a row fills; a row without any stays."""
    grid = Grid(
        [
            ["Number", "Charge 1", "Amount 1", "Charge 2", "Amount 2"],
            ["NP1", "Freight", "2.00", "Fuel", "1.00"],
            ["NP2", "Freight", "3.00", "", ""],
            ["NP3", "", "", "", ""],
        ],
        ["row 1", "row 2", "row 3", "row 4"],
    )
    apart = with_charges_apart(grid)
    assert apart.rows == [
        ["Number", "Charge", "Amount"],
        ["NP1", "Freight", "2.00"],
        ["NP1", "Fuel", "1.00"],
        ["NP2", "Freight", "3.00"],
        ["NP3", "", ""],
    ]
    assert apart.places == ["row 1", "row 2", "row 2", "row 3", "row 4"]


def test_charges_stacked_in_a_cell_are_a_row_each() -> None:
    """With the parcel's facts on each, and the sum on the first; a cell of two facts is one text."""
    grid = Grid(
        [
            ["Parcel", "Service", "What for", "Amount", "Total"],
            ["NP44100261", "Ground\nzone 5", "Label price\nFuel", "$2.00\n$1.00", "$3.00"],
            ["NP44100262", "Ground\nzone 4", "Label price", "$4.00", "$4.00"],
        ],
        ["row 1", "row 2", "row 3"],
    )
    assert with_charges_apart(grid).rows[1:] == [
        ["NP44100261", "Ground zone 5", "Label price", "$2.00", "$3.00"],
        ["NP44100261", "Ground zone 5", "Fuel", "$1.00", ""],
        ["NP44100262", "Ground zone 4", "Label price", "$4.00", "$4.00"],
    ]


def test_figures_that_stand_once_are_those_of_all_rows_of_a_number(tmp_path: Path) -> None:
    """A row with a figure of its own keeps its gaps: an adjustment shows no size because none was printed."""
    taken = read(
        tmp_path,
        "Tracking number,Ship date,Size,Charge,Amount\nNP44100261,2026-03-04,48 x 20 x 8 in,Freight,2.00\n"
        "NP44100261,,,Fuel,1.00\nNP44100261,2026-03-04,,Additional handling,9.00\n",
    )
    assert taken.lines["shipped_on"].notna().all()
    assert taken.lines["billed_length_nm"].notna().to_list() == [True, True, False]
    other = read(
        tmp_path,
        "Tracking number,Size,Charge,Amount\nNP44100261,48 x 20 x 8 in,Freight,2.00\nNP44100261,,Fuel,1.00\n"
        "NP44100262,,Fuel,1.00\nNP44100261,,Fuel,1.00\n",
    )
    assert other.lines["billed_length_nm"].notna().to_list() == [True, True, False, False]


def test_tops_of_pages_among_the_rows_are_no_lines(tmp_path: Path) -> None:
    """What stands above the headings stands there again, with the next page's number; headings are of two rows."""
    top = "CARRIER REPORT,,PAGE {0}\nPARCEL,CHARGE,NET\nNUMBER,TYPE,AMOUNT\n"
    taken = read(tmp_path, f"{top.format(1)}NP44100261,Freight,2.00\n{top.format(2)}NP44100262,Freight,3.00\n")
    assert taken.lines["amount_cents"].to_list() == [200, 300]
    assert faults(taken) == []


def test_names_of_groups_over_the_headings_are_no_tops_of_pages(tmp_path: Path) -> None:
    """Though another day of the same name stands among the rows, nor are amounts ever."""
    head = "Opening balance,,9.00\nSunday 1 March 2026,,\nTracking number,Charge,Amount\n"
    rows = "NP44100261,Freight,2.00\nMonday 2 March 2026,,\nNP44100262,Freight,3.00\nSunday 8 March 2026,,\n"
    taken = read(tmp_path, f"{head}{rows}NP44100263,Freight,4.00\nOpening balance,,7.00\n")
    assert [day.day for day in taken.lines["shipped_on"]] == [1, 2, 8]
    assert any("'Opening balance' was taken for a sum" in problem.message for problem in taken.problems)


def test_a_tax_is_a_line_and_told_by_its_name_whatever_its_rate(tmp_path: Path) -> None:
    """Net, tax and gross: the gross total is what all lines come to."""
    taken = read(
        tmp_path,
        "Tracking number,Charge,Amount\nNP44100261,Freight,10.00\n,Total excl. VAT,10.00\n,VAT at 20%,2.00\n"
        ",Total incl. VAT,12.00\n",
    )
    assert taken.lines["state"].to_list() == ["label charge", "tax"]
    assert taken.printed_totals["printed_total_cents"].to_list() == [1200]


def test_fields_of_records_keep_their_places_and_longer_records_are_left(tmp_path: Path) -> None:
    """A field without a name is one, and what has no name at all is not cut off."""
    nameless = (
        RECORDS.replace("NO\tSERVICE", "NO\t\tSERVICE").replace("\tGround", "\tx\tGround").replace("\tAir", "\tx\tAir")
    )
    assert read(tmp_path, nameless).lines["service"].to_list() == ["Ground", "Ground", "Air"]
    assert read(tmp_path, RECORDS.replace("\tGround", "\tGround\tmore")).lines.empty


def test_columns_of_charges_are_lines_from_left_to_right(tmp_path: Path) -> None:
    """Whether their names are known or only their sum tells."""
    taken = read(
        tmp_path,
        "Tracking number,Zebra,Fuel surcharge,Total\nNP44100261,2.00,1.00,3.00\nNP44100262,4.00,1.50,5.50\n",
    )
    assert taken.lines["description"].to_list() == ["Zebra", "Fuel surcharge"] * 2
    head = "Tracking number,Zebra,Zebra,Fuel surcharge,Total\n"
    twice = read(tmp_path, f"{head}NP44100261,2.00,4.00,1.00,7.00\nNP44100262,4.00,1.00,1.50,6.50\n")
    assert twice.lines["description"].to_list() == ["Zebra", "Zebra (2)", "Fuel surcharge"] * 2


# Cells with labels


BAR = "Tracking #: NP4410026{0} Shipped: Mar {0}, 2026 Service: Ground Zone: 5 Billed weight: 3 lbs"


def test_bars_over_charges_say_what_parcel_they_are_of(tmp_path: Path) -> None:
    """Not of the sums below them, nor of the total."""
    body = "".join(
        f'"{BAR.format(n)}",\nFreight,{n}.00\nFuel,1.00\nPackage subtotal,{n + 1}.00\n' for n in range(10, 16)
    )
    taken = read(tmp_path, f"Package / description,Amount\n{body}Total this invoice,81.00\n")
    assert faults(taken) == []
    assert taken.lines["tracking"].to_list() == [f"NP4410026{n}" for n in range(10, 16) for _ in range(2)]
    assert set(taken.lines["zone"]) == {"5"}
    assert set(taken.lines["service"]) == {"Ground"}
    assert taken.lines["shipped_on"].dt.day.to_list() == [n for n in range(10, 16) for _ in range(2)]
    assert taken.lines["billed_weight_pg"].unique().tolist() == [pounds(3)]
    assert (taken.lines["amount_cents"].sum(), taken.printed_totals["printed_total_cents"].to_list()) == (8100, [8100])


def test_labels_under_a_number_are_of_its_parcel(tmp_path: Path) -> None:
    """Beside the charges that follow; also two in one cell."""
    body = "".join(
        f"NP4410026{n},5,Freight,{n}.00\nRef: Q-{n},,Fuel,1.00\nDims: 44 x 6 x {n % 6 + 1} in,,Residential,2.00\n"
        f"NP4410036{n},5,Freight,{n}.00\nRef: R-{n} Dims: 28 x 12 x 6 in,,Fuel,1.00\n"
        for n in range(10, 16)
    )
    taken = read(tmp_path, f"Tracking number,Zone,Charge,Amount\n{body}")
    assert taken.lines["tracking"].notna().all()
    assert taken.lines["order"].to_list()[:5] == ["Q-10"] * 3 + ["R-10"] * 2
    assert taken.lines["billed_length_nm"].to_list()[:5] == [inches(44)] * 3 + [inches(28)] * 2
    assert any("a column for each label" in one.message for one in taken.problems)


@pytest.mark.parametrize(
    "cell", ["Surcharge: Fuel", "Note: late", "Tracking: late", "Service: Fuel", "Adjusted: weight", "Freight: 12:30"]
)
def test_charges_with_a_colon_are_charges(tmp_path: Path, cell: str) -> None:
    """Where no parcel's number stands in their column."""
    body = "".join(f'NP4410026{n},"{cell}",{n}.00\n' for n in range(10, 20))
    taken = read(tmp_path, f"Tracking number,Charge,Amount\n{body}")
    assert set(taken.lines["description"]) == {cell}
    assert not any("a column for each label" in one.message for one in taken.problems)


RECORDS = (
    "#HDR\tSTATEMENT NO\tSTATEMENT DATE\n#PKG\tTRACKING NO\tSERVICE\n#CHG\tCHARGE\tAMOUNT\n#TRL\tTOTAL AMOUNT\n"
    "HDR\tS-77\t20260402\nPKG\tNP44100261\tGround\nCHG\tFREIGHT\t2.00\nCHG\tFUEL\t1.00\nPKG\tNP44100262\tAir\n"
    "CHG\tFREIGHT\t3.00\nTRL\t6.00\n"
)


def test_records_of_several_types_are_a_table_of_charges(tmp_path: Path) -> None:
    """Head and foot give the statement's number, day and total."""
    taken = read(tmp_path, RECORDS)
    assert taken.lines["amount_cents"].to_list() == [200, 100, 300]
    assert taken.lines["tracking"].to_list() == ["NP44100261", "NP44100261", "NP44100262"]
    assert taken.lines["statement"].unique().tolist() == ["S-77"]
    assert taken.printed_totals["printed_total_cents"].to_list() == [600]
    assert faults(taken) == []
    assert [one.message for one in taken.problems if "Records of several types" in one.message]


def test_a_parcel_s_record_without_a_charge_is_not_lost(tmp_path: Path) -> None:
    """It is told of as a line without an amount; a type that the file does not name leaves the whole as it is."""
    taken = read(tmp_path, RECORDS.replace("CHG\tFREIGHT\t3.00\n", ""))
    assert len(taken.lines) == 3
    assert len(faults(taken)) >= 1
    assert read(tmp_path, f"{RECORDS}XYZ\tmore\n").printed_totals.empty


def test_a_sum_in_each_row_that_the_charges_do_not_come_to_is_told_of(tmp_path: Path) -> None:
    """Whether it is called a total or 'net charge'; a value of the goods is none."""
    head = "Tracking number,Freight,Fuel surcharge,{0}\n"
    rows = "NP44100261,2.00,1.00,9.00\nNP44100262,3.00,1.00,9.00\n"
    for name, told in (("Net charge", 2), ("Total", 2), ("Declared value", 0)):
        assert len(faults(read(tmp_path, head.format(name) + rows))) == told, name


# What stands around the lines


@pytest.mark.parametrize(
    ("note", "kind", "unit"),
    [
        ("Weights are in ounces, sizes in inches.", "weight", "oz"),
        ("Weights are in ounces, sizes in inches.", "length", "in"),
        ("Despatches of March, ex VAT. Sizes in mm.", "length", "mm"),
        ("Sizes in mm or cm as stated. Sizes in cm.", "length", None),
        ("A parcel over 30 kg in weight costs more", "weight", None),
        ("Thank you", "weight", None),
    ],
)
def test_a_note_gives_the_unit_of_bare_numbers(note: str, kind: str, unit: str | None) -> None:
    """Where notes disagree, or speak of figures of their own, they give none."""
    assert around.unit_noted((note, note), kind) == unit


def test_codes_that_a_note_explains_are_read_as_their_names(tmp_path: Path) -> None:
    """And that is told; a code without a note stays."""
    taken = read(
        tmp_path,
        "Codes: CAR carriage; FSX = fuel supplement\nTracking number,Charge,Amount\nNP44100261,CAR,2.00\n"
        "NP44100261,FSX,1.00\nNP44100261,ZQX,3.00\n",
    )
    assert taken.lines["charge"].fillna("").to_list() == ["freight", "fuel", ""]
    assert taken.lines["description"].to_list() == ["carriage", "fuel supplement", "ZQX"]
    assert any("CAR as 'carriage', FSX as 'fuel supplement'" in problem.message for problem in taken.problems)


def test_rows_below_the_lines_say_the_number_the_day_and_the_total(tmp_path: Path) -> None:
    """Without one of them being a line, or a fault."""
    taken = read(
        tmp_path,
        "Tracking number,Charge,Amount\nNP44100261,Freight,2.00\nNP44100262,Freight,3.00\n\nNumber of parcels,2,\n"
        "Invoice number,S-77,\nInvoice date,2026-04-02,\n",
    )
    assert taken.lines["statement"].unique().tolist() == ["S-77"]
    assert set(taken.lines["statement_on"]) == {pd.Timestamp(2026, 4, 2)}
    assert faults(taken) == []


def test_a_last_line_without_an_amount_is_no_remark(tmp_path: Path) -> None:
    """Its charge is there, so something is missing."""
    taken = read(tmp_path, "Tracking number,Charge,Amount\nNP44100261,Freight,2.00\nNP44100262,Freight,\n")
    assert len(taken.lines) == 2
    assert len(faults(taken)) == 1


def test_a_card_gives_labels_over_values_and_a_table_does_not() -> None:
    """A table goes on with figures where the row above has them."""
    card = [["Statement", "Date"], ["S-77", "2026-04-02"]]
    assert "Statement S-77" in list(covers.said(card))
    table = [["Service", "Parcels"], ["Ground", "30"], ["Express", "20"]]
    assert "Parcels 30" not in list(covers.said(table))


# On pages

WIDE, HIGH = 5.0, 8.0


def page(*lines: tuple[float, list[tuple[float, str]]]) -> documents.Page:
    """A page of words, from the height of their middle and where each begins."""
    words = [word for _, parts in lines for _, text in parts for word in text.split()]
    boxes = []
    for middle, parts in lines:
        for x, text in parts:
            at = x
            for word in text.split():
                boxes.append((at, middle - HIGH / 2, at + WIDE * len(word), middle + HIGH / 2))
                at += WIDE * (len(word) + 0.6)
    return documents.Page(1, words, np.array(boxes), np.zeros((0, 4)))


def in_stacks(sizes: list[int], *, centred: bool) -> placed.Words:
    """Parcels of so many charges each; their numbers in the middle of these, or beside the first."""
    lines: list[tuple[float, list[tuple[float, str]]]] = []
    row = 0
    for nth, size in enumerate(sizes):
        place = row + ((size - 1) / 2 if centred else 0)
        number = (50.0, f"NP441002600{nth:05d}")
        charges = [(float(row + at), [(250.0, "Fuel"), (400.0, "12.34")]) for at in range(size)]
        beside = [at for at, (height, _) in enumerate(charges) if height == place]
        for at in beside:
            charges[at] = (place, [number, *charges[at][1]])
        lines += charges if beside else sorted([*charges, (place, [number])])
        row += size
    return placed.read_in_order([page(*((100 + 13 * height, parts) for height, parts in lines))])


def test_a_number_in_the_middle_of_its_charges_is_lifted_to_the_first() -> None:
    """Each then stands in the line of a charge, and as many charges follow as it has."""
    words = in_stacks([2, 3, 1, 4, 2, 2], centred=True)
    numbered = [len(line.parts) == 3 for line in placed.lines(beside_charges.lifted(words))]
    starts = [at for at, is_numbered in enumerate(numbered) if is_numbered]
    assert starts == [0, 2, 5, 6, 10, 12]


@pytest.mark.parametrize("sizes", [[3] * 8, [1] * 8, [2, 3, 1, 4, 2, 2], [5, 3, 3, 3, 5]])
def test_numbers_beside_their_first_charge_stay(sizes: list[int]) -> None:
    """Even where stacks of one height could be parted in another way."""
    words = in_stacks(sizes, centred=False)
    assert beside_charges.lifted(words) is words


def test_credits_may_stand_out_of_the_column_of_amounts() -> None:
    """The mark behind them does not part them from the others."""
    lines = [(50.0, "NP44100260"), (200.0, "Fuel")]
    amounts = ["12.34", "12.34", "12.34", "12.34CR", "12.34", "12.34"]
    rows = [(100.0 + 13 * at, [*lines, (405.0, amount)]) for at, amount in enumerate(amounts)]
    [table], _ = aligned(placed.read_in_order([page(*rows)]), [page(*rows)])
    assert [row[-1] for row in table.grid().rows] == amounts


def test_a_band_around_one_line_is_no_ruled_table() -> None:
    """As a frame around a parcel's number is; with an amount in it, it is a row."""
    for text, tables in (("NP44100260", 0), ("12.34", 1)):
        plain = page((100.0, [(50.0, "Parcel"), (200.0, text)]))
        across = [[40.0, y, 400.0, y + 0.5] for y in (90.0, 110.0)]
        down = [[x, 90.0, x + 0.5, 110.0] for x in (40.0, 150.0, 400.0)]
        framed = documents.Page(1, plain.words, plain.boxes, np.array(across + down))
        assert len(ruled(placed.read_in_order([framed]), [framed])[0]) == tables


def in_two(lefts: list[int], rights: list[int]) -> placed.Words:
    """A page with the numbers of parcels at those lines of its left and right half."""
    lines: dict[int, list[tuple[float, str]]] = {}
    for nth, at in enumerate(lefts):
        lines.setdefault(at, []).append((50.0, f"NP441002600{nth:05d}"))
    for nth, at in enumerate(rights):
        lines.setdefault(at, []).append((320.0, f"NP441002601{nth:05d}"))
    return placed.read_in_order([page(*((100 + 13 * at, parts) for at, parts in sorted(lines.items())))])


def test_pages_in_two_columns_are_read_down_the_left_one_first() -> None:
    """The right one begins where its numbers do."""
    words, columns = two_columns.in_order(in_two([0, 4, 8, 13], [0, 5, 9, 12]))
    assert [str(text)[10] for text in words.texts] == ["0"] * 4 + ["1"] * 4
    assert columns.shift == pytest.approx(270)


def test_two_columns_of_numbers_in_a_table_are_read_line_by_line() -> None:
    """They stand beside one another."""
    words = in_two([0, 1, 2, 3], [0, 1, 2, 3])
    assert two_columns.in_order(words)[0] is words


def test_charges_in_a_sentence_are_lines_where_they_come_to_its_sum() -> None:
    """Over two lines of the page as well; a sentence whose amounts do not add up stays one."""
    parcel = (50.0, "NP44100260000001, sent 4 March 2026")
    first = (60.0, "carriage £2.00, fuel £1.00, house delivery £3.00. Together £6.00")
    second = (50.0, "NP44100260000002, sent 5 March 2026")
    wrapped = [(60.0, "carriage £4.00, fuel £1.00, house delivery £3.00."), (60.0, "Together £8.00")]
    third, odd = (50.0, "NP44100260000003, sent 5 March 2026"), (60.0, "carriage £4.00, fuel £1.00. Together £9.00")
    parts = [parcel, first, second, *wrapped, third, odd]
    words = placed.read_in_order([page(*((100 + 13.0 * at, [part]) for at, part in enumerate(parts)))])
    [grid], _ = blocks.grid_of(words)
    amount, charge = grid.rows[0].index("Amount"), grid.rows[0].index("Charge")
    assert [(row[charge], row[amount]) for row in grid.rows[1:8]] == [
        ("carriage", "£2.00"),
        ("fuel", "£1.00"),
        ("house delivery", "£3.00"),
        ("Together", "£6.00"),
        ("carriage", "£4.00"),
        ("fuel", "£1.00"),
        ("house delivery", "£3.00"),
    ]
    assert grid.rows[-1][amount] == "£9.00"


def test_parcels_that_come_to_as_much_as_all_others_are_no_summary() -> None:
    """A summary has each charge's own sum; this is the second of two parcels that cost the same."""
    said = [
        [(50.0, "NP44100260000001")],
        *(
            [(60.0, name), (400.0, amount)]
            for name, amount in (("Freight", "5.00"), ("Fuel", "4.00"), ("Handling", "3.00"))
        ),
        [(50.0, "NP44100260000002")],
        *([(60.0, name), (400.0, amount)] for name, amount in (("Freight", "10.00"), ("Fuel", " 2.00"))),
    ]
    words = placed.read_in_order([page(*((100 + 13.0 * at, parts) for at, parts in enumerate(said)))])
    [grid], _ = blocks.grid_of(words)
    assert len(grid.rows) == 6


# Words and figures


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("Tue 24 Mar 2026", date(2026, 3, 24)),
        ("Thursday, April 2, 2026", date(2026, 4, 2)),
        ("Mar 24, 2026", date(2026, 3, 24)),
        ("mar. 24/03/2026", date(2026, 3, 24)),
    ],
)
def test_a_weekday_before_a_date_says_nothing(text: str, day: date) -> None:
    """And a month is no weekday."""
    assert parsed_date(text, day_first="/" in text) == day


@pytest.mark.parametrize(
    ("heading", "words"),
    [
        ("V/ enco-menda", ("v", "order")),
        ("Sub-total", ("sub", "total")),
        ("Amount ex GST", ("amount",)),
        ("Opłata", ("charge",)),
        ("Debiterad vikt", ("billed", "weight")),
    ],
)
def test_headings_are_read_in_broken_words_and_more_languages(heading: str, words: tuple[str, ...]) -> None:
    """A hyphen that breaks a word at a line's end is none."""
    assert canonical(heading) == words


@pytest.mark.parametrize(("text", "found"), [("Mar 26", (3, 26)), ("Tue, Mar 26", (3, 26)), ("26-Mar", (3, 26))])
def test_a_month_that_is_a_weekday_elsewhere_is_a_month(text: str, found: tuple[int, int]) -> None:
    """'Mar' is a Tuesday in French and Spanish."""
    assert month_and_day(text) == found


def test_days_without_a_year_are_those_before_the_statement_s(tmp_path: Path) -> None:
    """Around the turn of the year too."""
    taken = read(
        tmp_path,
        "Invoice date 2026-01-05\nTracking number,Ship date,Charge,Amount\nNP44100261,28-Dec,Freight,2.00\n"
        "NP44100262,03-Jan,Freight,3.00\n",
    )
    assert [day.date() for day in taken.lines["shipped_on"]] == [date(2025, 12, 28), date(2026, 1, 3)]


def test_credits_in_a_column_of_their_own_are_below_zero(tmp_path: Path) -> None:
    """And a mark in the column behind says which are."""
    for content in (
        "Tracking number,Charge,Debit,Credit\nNP44100261,Freight,2.00,\nNP44100262,Freight,,3.00\n",
        "Tracking number,Charge,Amount,CR\nNP44100261,Freight,2.00,\nNP44100262,Freight,3.00,CR\n",
    ):
        assert read(tmp_path, content).lines["amount_cents"].to_list() == [200, -300]


def test_measures_have_a_decimal_comma_where_amounts_have_one(tmp_path: Path) -> None:
    """8,900 kg are no nine tonnes; sides may stand between strokes."""
    taken = read(
        tmp_path,
        'Tracking number;Charge;Amount;Weight (kg);Size (in)\nNP44100261;Freight;"1.002,50";8,900;48/20/8\n'
        "NP44100262;Freight;3,00;12,5;12/10/8\n",
    )
    assert taken.lines["amount_cents"].to_list() == [100250, 300]
    assert taken.lines["billed_weight_pg"].to_list() == [
        units.small(8900, "g", "weight"),
        units.small(12500, "g", "weight"),
    ]
    assert taken.lines["billed_length_nm"].to_list() == [
        units.small(48, "in", "length"),
        units.small(12, "in", "length"),
    ]


# One total of several tables


def sheets(folder: Path, subtotals: tuple[object, object], *cover: list[object]) -> list[tuple[int, str]]:
    """The printed totals, and where, of a statement on two sheets of 5.00 and 7.00 with a cover before them."""
    heads: list[object] = ["Invoice number", "Tracking number", "Charge", "Amount"]
    held: dict[str, Sequence[Sequence[object]]] = {"Cover": [["Invoice", "S1"], *cover]} if cover else {}
    for at, (cents, subtotal) in enumerate(zip((5, 7), subtotals, strict=True)):
        rows: list[list[object]] = [["S1", f"NP4410026{at}{n}", "Freight", (2, cents - 2)[n]] for n in range(2)]
        held[f"Depot {at}"] = [heads, *rows, [f"Subtotal depot {at}", None, None, subtotal]]
    taken = intake.read([bad_files.xlsx(folder, "statement.xlsx", held)])
    assert taken.lines["amount_cents"].sum() == 1200
    printed = taken.printed_totals
    return list(zip(printed["printed_total_cents"], printed["source_place"], strict=True))


def test_subtotals_of_sheets_come_to_the_total_or_it_stands_on_a_cover(tmp_path: Path) -> None:
    """Where one is wrong they are left as they are."""
    assert sheets(tmp_path, (5, 7)) == [(1200, "sheet Depot 0, row 4 and sheet Depot 1, row 4")]
    assert sheets(tmp_path, (5, 7), ["Total due", 12.00]) == [(1200, "Total due 12")]
    assert [cents for cents, _ in sheets(tmp_path, (5, 6))] != [1200]


def test_a_total_said_again_in_other_words_is_no_line(tmp_path: Path) -> None:
    """It must be what all lines come to, and be about no known charge."""
    head = "Tracking number,Charge,Amount\n" + "".join(f"NP4410026{n},Freight,{n}.00\n" for n in (10, 11))
    again = read(tmp_path, f"{head}Total,,21.00\n,Zu Ihren Lasten,21.00\n")
    assert (len(again.lines), again.printed_totals["printed_total_cents"].to_list()) == (2, [2100])
    for last in (",Zu Ihren Lasten,20.00", ",Pickup service,21.00"):
        assert len(read(tmp_path, f"{head}Total,,21.00\n{last}\n").lines) == 3


@pytest.mark.parametrize("lead", ["Manifest 1187 subtotal", "Depot North sub-total", "Base imponible", "Net charges"])
def test_sums_may_be_called_after_what_they_are_of(tmp_path: Path, lead: str) -> None:
    """Before the word for a sum."""
    body = "".join(f"NP4410026{n},Freight,{n}.00\n" for n in (10, 11))
    taken = read(tmp_path, f"Tracking number,Charge,Amount\n{body}{lead},,21.00\n")
    assert len(taken.lines) == 2


def test_debits_and_credits_may_be_summed_each_by_itself(tmp_path: Path) -> None:
    """Where a sum of theirs is wrong that is told."""
    head = (
        "Tracking number,Charge,Amount\nNP441002610,Freight,10.00\nNP441002611,Freight,5.00\nNP441002611,Fuel,-2.00\n"
    )
    assert faults(read(tmp_path, f"{head}Total debits,,15.00\nTotal credits,,-2.00\nTotal,,13.00\n")) == []
    assert faults(read(tmp_path, f"{head}Total debits,,15.00\nTotal credits,,2.00\nTotal,,13.00\n")) == []
    [wrong] = faults(read(tmp_path, f"{head}Total debits,,15.00\nTotal credits,,-3.00\nTotal,,13.00\n"))
    assert "'Total credits' says −$3.00" in wrong


def test_a_heading_of_nothing_but_its_tax_is_of_the_amount(tmp_path: Path) -> None:
    """And a cover may have several labels in a row."""
    assert canonical("Ex GST $") == ("amount",)
    assert canonical("Amount incl. VAT (AUD)") == ("amount",)
    held: dict[str, Sequence[Sequence[object]]] = {
        "Cover": [["Carrier"], ["Bill to", "A seller", "Invoice no", "S-77"], ["Period", "March", "Due", "2026-04-30"]],
        "Lines": [
            ["Con note", "Charge type", "Ex GST $"],
            *(["NP441002610", name, 2.5] for name in ("Freight", "Fuel")),
        ],
    }
    taken = intake.read([bad_files.xlsx(tmp_path, "invoice.xlsx", held)])
    assert taken.lines["statement"].to_list() == ["S-77"] * 2


def shaded(rows: int, every: int) -> documents.Page:
    """A page of rows of a number, a word and an amount, of which each so many has a frame around each of its cells."""
    plain = page(
        *(
            (100.0 + 12 * row, [(50.0, f"NP4410026{row:02d}"), (200.0, "Freight"), (300.0, f"{row}.00")])
            for row in range(rows)
        )
    )
    edges, lines = (45.0, 180.0, 280.0, 360.0), []
    for top in (94.0 + 12 * row for row in range(0, rows, every)):
        lines += [[edges[0], y, edges[-1], y + 0.1] for y in (top, top + 12)]
        lines += [[x, top, x + 0.1, top + 12] for x in edges]
    return documents.Page(1, plain.words, plain.boxes, np.array(lines))


def test_shades_behind_every_other_row_are_no_table() -> None:
    """Frames around all rows are one."""
    assert ruled(placed.read_in_order([shaded(12, 2)]), [shaded(12, 2)])[0] == []
    [table] = ruled(placed.read_in_order([shaded(12, 1)]), [shaded(12, 1)])[0]
    assert len(np.unique(table.row)) == 12


def test_rows_without_a_number_that_the_total_leaves_out_are_a_summary(tmp_path: Path) -> None:
    """Not where they are a charge that is about no parcel, or come to something else."""
    head = "Tracking number,Charge,Amount\n" + "".join(f"NP4410026{n},Freight,1.00\n" for n in range(10, 31))
    for rows, lines in (
        (",Labels,15.00\n,Other items,6.00\nTotal,,21.00\n,Card ending 42,21.00\n", 21),
        (",Labels,15.00\n,Pickup service,6.00\nTotal,,21.00\n", 23),
        (",Labels,15.00\n,Other items,5.00\nTotal,,21.00\n", 23),
        (",Labels,15.00\n,Other items,6.00\nTotal,,42.00\n", 23),
    ):
        taken = read(tmp_path, head + rows)
        assert len(taken.lines) == lines
        assert any("taken for a summary" in one.message for one in taken.problems) == (lines == 21)


@pytest.mark.parametrize("other", ["Due date", "Payment date", "Order date"])
def test_the_day_of_a_letter_s_head_is_the_statement_s(tmp_path: Path, other: str) -> None:
    """Not another day beside it."""
    body = "Tracking number,Charge,Amount\nNP441002610,Freight,9.00\nNP441002611,Fuel,2.00\n"
    taken = read(tmp_path, f"Old Dairy Road Date 2 Apr 2026,,\n{other} 30 Apr 2026,,\n\n{body}")
    assert taken.lines["statement_on"].unique().tolist() == [pd.Timestamp("2026-04-02")]
    assert read(tmp_path, f"{other} 2 Apr 2026,,\n{other} 30 Apr 2026,,\n\n{body}").lines["statement_on"].isna().all()


def test_a_sign_may_stand_in_brackets(tmp_path: Path) -> None:
    """Before its amount."""
    taken = read(tmp_path, "Tracking number,Charge,Amount\nNP441002610,Freight,9.00\nNP441002611,Fuel,(-) 2.00\n")
    assert taken.lines["amount_cents"].to_list() == [900, -200]
