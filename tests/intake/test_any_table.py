"""Tables in layouts nobody here has seen are read on first sight, and what could be dropped is proved not to be."""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor import intake
from auditor.core.schemas import Problem
from auditor.intake import by_column, csv_file, parsing, vocabulary, words
from auditor.intake.texts import are_plain
from tests import bad_files
from tests.layouts.table_layouts import LAYOUTS, Layout
from tests.layouts.table_score import score
from tests.parcels import inches, pounds

HARDEST = {"extract in abbreviations, charges as codes"}
"""Layouts that are not yet read whole; they stay in the table of docs/reading.md with what they reach."""


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_every_layout_ties_out_with_its_cells_right(layout: Layout, tmp_path: Path) -> None:
    """Without a saved reading: 99.5 % of the cells at least, and the printed total to the cent."""
    right, of, ties = score(layout, tmp_path)
    if layout.name in HARDEST:
        assert 0.7 < right / of < 0.995
    else:
        assert ties
        assert right / of >= 0.995


def read(tmp_path: Path, content: str | bytes, name: str = "table.csv") -> intake.Intake:
    """One file, read."""
    return intake.read([bad_files.write(tmp_path, name, content)])


def messages(taken: intake.Intake) -> list[str]:
    """What there is to say that is no note."""
    return [problem.message for problem in taken.problems if not problem.note]


# Words


@pytest.mark.parametrize(
    ("heading", "stands_for"),
    [
        ("Abrechnungsgewicht (kg)", ("billed", "weight", "kg")),
        ("N° de suivi", ("number", "tracking")),
        ("CUST_REF_1", ("reference",)),
        ("Treibstoffzuschlag", ("fuel", "charge")),
        ("Fecha de envío", ("date", "ship")),
        ("Trakcing", ("tracking",)),
        ("zebra", ("zebra",)),
    ],
)
def test_words_of_headings_stand_for_one_word_of_the_trade(heading: str, stands_for: tuple[str, ...]) -> None:
    """In several languages, put together, abbreviated, or with a slip of the finger."""
    assert words.canonical(heading) == stands_for


def test_a_weight_that_says_no_more_is_no_measured_one() -> None:
    """What all names of a field have in common must be in the heading."""
    assert "measured_weight_pg" not in vocabulary.likeness("Poids", "statement")
    assert vocabulary.likeness("Poids mesuré", "statement")["measured_weight_pg"][0] > 0.9


@pytest.mark.parametrize("printed", ["Peak residential surcharge", "Zebra", "Parcel locker", "Insurance"])
def test_a_charge_with_words_of_another_meaning_stays_unknown(printed: str) -> None:
    """So that it is never audited as a charge it is not."""
    assert vocabulary.charge(printed)[0] is None


# Columns by likeness and evidence

STATEMENT = "Statement,Tracking,Charge,Amount\n"


def test_columns_told_by_likeness_are_told_of(tmp_path: Path) -> None:
    """Once a table, each with its score."""
    taken = read(tmp_path, "Invoice no,Waybill,Fee type,Net value\nS1,NP44100261,Freight,2.00\nTotal,,,2.00\n")
    [told] = [problem for problem in taken.problems if "likeness" in problem.message]
    assert told == Problem(
        "table.csv",
        "row 1",
        (
            "Columns were told by likeness: 'Waybill' as the tracking number (0.98), 'Fee type' as the charge (0.98), "
            "'Net value' as the amount (0.98). 'auditor columns' shows and corrects that."
        ),
        note=True,
    )
    assert taken.lines["amount_cents"].to_list() == [200]


def test_a_close_call_names_both_readings_and_how_to_settle_it(tmp_path: Path) -> None:
    """With their scores."""
    content = "Invoice no,Waybill,Fee type,Imponibile,Lordo\n" + "".join(
        f"S1,NP441002{n},Freight,2.{n % 10}0,3.{n % 10}0\n" for n in range(10, 20)
    )
    taken = read(tmp_path, content)
    assert [problem.message for problem in taken.problems if "might be" in problem.message] == [
        (
            "Column 'Imponibile' was read as the amount (score 0.60), and column 'Lordo' might be it (0.60). If that "
            'is right, run: auditor columns FILE --set "Lordo=amount_cents" --save'
        )
    ]


def test_check_digits_tell_a_column_whose_heading_says_nothing(tmp_path: Path) -> None:
    """Numbers of UPU S10 under 'Our code', beside other codes under 'Batch'."""
    numbers = ["RR473124829QM", "LK123456785QM"]
    rows = "".join(f"S1,B7700{at},{number},Freight,2.00\n" for at, number in enumerate(numbers))
    taken = read(tmp_path, f"Statement,Batch,Our code,Charge,Amount\n{rows}Total,,,,4.00\n")
    assert taken.lines["tracking"].to_list() == numbers


def test_a_statement_whose_headings_would_do_for_records_is_a_statement(tmp_path: Path) -> None:
    """The kind that explains more of the columns is taken."""
    content = (
        "Tracking,Length,Width,Height,Weight,Kind of fee,Net amt,Invoice no\nNP44100261,44,6,6,3,Freight,2.00,S1\n"
    )
    taken = read(tmp_path, content)
    assert (len(taken.lines), len(taken.shipments)) == (1, 0)


# Arrangements

WIDE = "Statement,Tracking,Billed weight (lb),Freight,Fuel surcharge,Peak fee,Total\n"


def test_a_column_a_charge_becomes_a_line_a_charge(tmp_path: Path) -> None:
    """Zero and blank are no lines; a column that the sums need is a charge though its name is unknown."""
    content = f"{WIDE}S1,NP1,12,10.00,1.00,0.50,11.50\nS1,NP2,3,5.00,,0.00,5.00\nTotal,,,15.00,1.00,0.50,16.50\n"
    taken = read(tmp_path, content)
    found = taken.lines[["tracking", "description", "charge", "amount_cents", "source_place"]].fillna("").to_numpy()
    assert found.tolist() == [
        ["NP1", "Freight", "freight", 1000, "row 2"],
        ["NP1", "Fuel surcharge", "fuel", 100, "row 2"],
        ["NP1", "Peak fee", "", 50, "row 2"],
        ["NP2", "Freight", "freight", 500, "row 3"],
    ]
    assert taken.lines["billed_weight_pg"].to_list() == [pounds(12)] * 3 + [pounds(3)]
    assert taken.printed_totals["printed_total_cents"].to_list() == [1650]
    assert messages(taken) == []


def test_a_row_that_does_not_come_to_its_sum_is_told_of(tmp_path: Path) -> None:
    """And so is a column; the charges are counted as they stand."""
    rows = "".join(f"S1,NP{n},12,10.00,1.00,,11.00\n" for n in range(9))
    taken = read(tmp_path, f"{WIDE}{rows}S1,NP9,3,5.00,,,6.00\nTotal,,,95.00,8.00,,104.00\n")
    assert messages(taken) == [
        (
            "The charges of this row come to $5.00, but its column 'Total' says $6.00. The charges were counted as "
            "they stand."
        ),
        "Column 'Fuel surcharge' comes to $9.00, but the row of sums says $8.00.",
    ]
    assert taken.lines["amount_cents"].sum() == 10400


def test_a_column_of_amounts_that_no_sum_needs_is_told_of_and_not_counted(tmp_path: Path) -> None:
    """With the way to make it a charge."""
    content = (
        "Statement,Tracking,Freight,Fuel surcharge,Insured value,Total\n"
        "S1,NP1,10.00,1.00,500.00,11.00\nS1,NP2,5.00,1.00,80.00,6.00\n"
    )
    taken = read(tmp_path, content)
    assert taken.lines["amount_cents"].sum() == 1700
    assert [problem.message for problem in taken.problems] == [
        (
            "Column 'Insured value' has amounts, but is not known as a charge and the rows' sums do not need it. It "
            'was not counted. If it is a charge, run: auditor columns FILE --set "Insured value=charge" --save'
        )
    ]


UNDER = """\
Statement,Tracking,Zone,Charge,Amount
S1,NP1,5,,{first}
,,,Freight,2.00
,,,Fuel,0.20
S1,NP2,6,,3.00
,,,Freight,3.00
"""


def test_charges_under_a_parcel_are_that_parcels(tmp_path: Path) -> None:
    """With its figures; its own row has the sum of them and is no charge. Charges of the account get no number."""
    taken = read(tmp_path, UNDER.format(first="2.20") + ",,,Sales tax,1.00\nTotal,,,,6.20\n")
    assert taken.lines["tracking"].fillna("").to_list() == ["NP1", "NP1", "NP2", ""]
    assert taken.lines["zone"].fillna("").to_list() == ["5", "5", "6", ""]
    assert taken.lines["amount_cents"].to_list() == [200, 20, 300, 100]
    assert messages(taken) == []
    assert taken.problems[0].message == (
        "3 charges stand under the row of their parcel without its number. They were read as that parcel's, with its "
        "figures."
    )


def test_a_parcels_sum_that_its_charges_do_not_come_to_is_told_of(tmp_path: Path) -> None:
    """A line under it may be missing."""
    more = "".join(f"S1,NP1{n},5,,2.00\n,,,Freight,2.00\n" for n in range(9))
    taken = read(tmp_path, UNDER.format(first="2.90") + more)
    assert messages(taken) == [
        ("The charges under this parcel come to $2.20, but its row says $2.90. The charges were counted as they stand.")
    ]


def test_charges_of_the_account_are_not_given_to_the_parcel_above(tmp_path: Path) -> None:
    """Where each line has its number, one without is about none."""
    rows = "S1,NP1,Freight,2.00\nS1,NP1,Fuel,1.00\nS1,,Zebra,5.00\nS1,NP2,Freight,2.00\nTotal,,,10.00\n"
    taken = read(tmp_path, STATEMENT + rows)
    assert taken.lines["tracking"].isna().to_list() == [False, False, True, False]


# Completeness


def test_a_subtotal_that_sums_nothing_above_it_is_told_of(tmp_path: Path) -> None:
    """One that sums the lines since the last, all above, its parcel or its charge is in order."""
    rows = (
        "S1,NP44100261,Freight,2.00\nS1,NP44100261,Fuel,1.00\nParcel total,,,3.00\nS1,NP44100262,Freight,4.00\n"
        "Subtotal,,,5.00\nTotal fuel,,,1.00\nTotal,,,7.00\n"
    )
    taken = read(tmp_path, STATEMENT + rows)
    assert messages(taken) == [
        (
            "'Subtotal' says $5.00, but the lines above it since the last such sum come to $4.00. Look whether a line "
            "of them is missing or was misread."
        )
    ]


def test_a_count_that_is_not_what_was_read_is_told_of(tmp_path: Path) -> None:
    """Printed above the table."""
    taken = read(tmp_path, f"Number of parcels: 3\n\n{STATEMENT}S1,NP1,Freight,2.00\nS1,NP2,Freight,2.00\n")
    assert messages(taken) == ["'Number of parcels: 3' is printed, but 2 parcels were read. Look what is missing."]


def test_the_same_statement_in_two_forms_is_counted_once(tmp_path: Path) -> None:
    """Line by line the same, whatever the words; the one that says more is kept."""
    bad_files.write(
        tmp_path, "full.csv", f"{STATEMENT}S1,NP1,Freight,2.00\nS1,NP-2,Fuel surcharge,1.00\nTotal,,,3.00\n"
    )
    html = (
        "<html><table><tr><th>Tracking<th>Description<th>Amount</tr><tr><td>NP2<td>Fuel<td>1.00</tr>"
        "<tr><td>NP1<td>Carriage<td>2.00</tr></table><p>Statement S1</p></html>"
    )
    bad_files.write(tmp_path, "short.html", html)
    taken = intake.read([tmp_path])
    assert taken.lines["source_file"].to_list() == ["full.csv", "full.csv"]
    assert [problem for problem in taken.problems if "counted once" in problem.message] == [
        Problem(
            "short.html",
            "",
            "Statement S1 is also in full.csv, with the same 2 lines. It was counted once, as it stands in full.csv.",
            note=True,
        )
    ]


def test_two_parts_of_one_statement_are_no_double(tmp_path: Path) -> None:
    """Nothing is told of files whose lines differ."""
    for name, number in {"a.csv": 1, "b.csv": 2}.items():
        bad_files.write(tmp_path, name, f"{STATEMENT}S1,NP{number},Freight,{number}.00\n")
    taken = intake.read([tmp_path])
    assert (len(taken.lines), taken.problems) == (2, ())


# The seller's records


@pytest.mark.parametrize(
    ("content", "length", "weight"),
    [
        ("Parcel no,L (cm),W (cm),H (cm),Wt lb,Wt oz\nNP44100261,111.76,15,15,3,4\n", inches(44), pounds("3.25")),
        ("Parcel no,Dims,Dims unit,Wt,Wt unit\nNP44100261,112x15x15,cm,1500,g\n", 1_120_000_000, 15 * 10**14),
        ('Label id,Package size,Declared wt\nNP44100261,"44"" x 6"" x 6""",5 lb 3 oz\n', inches(44), pounds("5.1875")),
        (
            "Sendungsnummer;Länge cm;Breite cm;Höhe cm;Gewicht kg\nNP44100261;112,5;15;15;1,5\n",
            1_125_000_000,
            15 * 10**14,
        ),
    ],
)
def test_sizes_and_weights_of_any_export_are_read(tmp_path: Path, content: str, length: int, weight: int) -> None:
    """In one text or three columns, with units in headings, cells or columns of their own, pounds and ounces apart."""
    taken = read(tmp_path, content)
    assert taken.shipments[["tracking", "length_nm", "weight_pg"]].to_numpy().tolist() == [
        ["NP44100261", length, weight]
    ]


RECORDS = "Tracking,Size,Weight,Label state,Address type\n"


def test_voids_and_residential_flags_are_read_from_words(tmp_path: Path) -> None:
    """'Refunded' and 'label voided' are voids, 'delivered' is none."""
    rows = "NP1,44x6x6 in,3 lb,Delivered,Residential\nNP2,44x6x6 in,3 lb,Label voided,Commercial\n"
    taken = read(tmp_path, RECORDS + rows)
    assert taken.shipments["voided"].to_list() == [False, True]
    assert taken.shipments["residential"].to_list() == [True, False]


def test_several_parcels_in_one_row_are_a_row_each(tmp_path: Path) -> None:
    """With the figures of the row, and that is told."""
    taken = read(tmp_path, "Order,Tracking numbers,Size,Weight\nQ-1,NP44100261; NP44100262,44x6x6 in,3 lb\n")
    assert taken.shipments["tracking"].to_list() == ["NP44100261", "NP44100262"]
    assert taken.shipments["order"].to_list() == ["Q-1", "Q-1"]
    assert "1 row has more than one tracking number. Each was read as a parcel with the row's figures." in [
        problem.message for problem in taken.problems
    ]


# Files that want to be too much


@pytest.mark.parametrize("row", [b"x" * 100 * 2**20 + b",1.00\n", b",x" * 50 * 2**20 + b"\n"])
def test_a_line_of_a_hundred_megabytes_is_bounded(tmp_path: Path, row: bytes) -> None:
    """In one cell or in fifty million. It is told of, and a sound file is read beside it."""
    path = bad_files.write(tmp_path, "long.csv", b"Charge,Amount\n" + row)
    sound = bad_files.write(tmp_path, "fees.csv", bad_files.FEES)
    taken = intake.read([path, sound])
    assert len(taken.fees) == 2
    assert taken.problems[0] == Problem(
        "long.csv",
        "row 2",
        "This row has more than 1,048,576 characters, which no row of a table has, so it and all below it were not "
        "read. Export the file again.",
        unread=True,
    )


def test_a_file_of_one_endless_line_is_bounded(tmp_path: Path) -> None:
    """Its first row is named."""
    taken = read(tmp_path, "a," * 2**20)
    assert [(problem.place, problem.unread) for problem in taken.problems] == [("row 1", True), ("", True)]


def test_a_cell_without_end_is_told_of(tmp_path: Path) -> None:
    """The rows before it are read."""
    taken = read(tmp_path, f"{STATEMENT}S1,NP44100261,Freight,2.00\nS1,{'x' * 200_000},Freight,2.00\n")
    assert len(taken.lines) == 1
    [problem] = [problem for problem in taken.problems if problem.unread]
    assert problem.place == "row 3"
    assert problem.message == (
        "This row has a cell of more than 131,072 characters, which no table has, so it and all below it were not "
        "read. Export the file again."
    )


def test_rows_of_more_cells_than_any_table_has_are_no_headings(tmp_path: Path) -> None:
    """A row of a hundred thousand cells is not compared with the vocabulary, and takes no time."""
    taken = read(tmp_path, f"{'Amount,' * 100_000}\n{'x,' * 100_000}\n")
    [problem] = [problem for problem in taken.problems if problem.unread]
    assert problem.message == (
        "This table has rows of more than 1,000 cells, which no table that is known here has. Keep the columns that "
        "matter, and export it again."
    )


def test_a_workbook_with_macros_is_read_as_what_it_shows(tmp_path: Path) -> None:
    """No macro is run; the name of the file does not matter."""
    rows = bad_files.csv_rows(bad_files.FEES)
    path = bad_files.xlsx(tmp_path, "book.xlsx", {"Fees": rows})
    taken = intake.read([path.rename(tmp_path / "book.xlsm.csv")])
    assert len(taken.fees) == 2


def test_a_big_plain_file_is_read_alike_by_row_and_by_column(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Cells, places and problems; with blanks around cells, repeated headings and a remark in between."""
    pytest.importorskip("pyarrow")
    row = "S1, NP4410{0},Freight,{1}.50\n"
    body = "".join(row.format(n, n % 90) for n in range(500))
    content = f"{STATEMENT}{body}{STATEMENT}Thank you,,,\nS1,NP9,Zebra,x\nS1,NP8,,1.00\nTotal,,,1.00\n"
    by_row = read(tmp_path, content)
    monkeypatch.setattr(csv_file, "BY_COLUMN_FROM", 0)
    assert csv_file.read_by_column(bad_files.write(tmp_path, "lines.csv", content)) is not None
    alike = read(tmp_path, content)
    pd.testing.assert_frame_equal(by_row.lines, alike.lines)
    pd.testing.assert_frame_equal(by_row.printed_totals, alike.printed_totals)
    assert by_row.problems == alike.problems


@pytest.mark.parametrize("lead", ["All in all,,,", ",,All debits,", "S1,,Whole of it,"])
def test_a_last_row_that_is_the_sum_of_all_is_the_total_whatever_it_is_called(tmp_path: Path, lead: str) -> None:
    """Of the statement whose lines stand above it; and that is said."""
    taken = read(tmp_path, f"{STATEMENT}S1,NP44100261,Freight,9.00\nS1,NP44100261,Fuel,2.00\n{lead}11.00\n")
    assert taken.lines["amount_cents"].to_list() == [900, 200]
    assert taken.printed_totals[["statement", "printed_total_cents"]].to_numpy().tolist() == [["S1", 1100]]
    assert any("was taken for the total, as it is the sum of all lines" in one.message for one in taken.problems)


@pytest.mark.parametrize("last", ["S1,,Pickup service,11.00", "S1,NP44100269,Zebra,11.00", "S1,,Zebra,11.01"])
def test_a_last_row_of_a_known_charge_a_parcel_or_another_amount_is_a_line(tmp_path: Path, last: str) -> None:
    """However much the others come to."""
    taken = read(tmp_path, f"{STATEMENT}S1,NP44100261,Freight,9.00\nS1,NP44100261,Fuel,2.00\n{last}\n")
    assert len(taken.lines) == 3
    assert taken.printed_totals.empty


CELLS = st.text(st.sampled_from("aZ7 .,-\u00a0é"), max_size=6)
NUMBERS = st.sampled_from(["NP44100260", "NP4410 0261", "NP4410026é", " NP44100262", "N" * 101, "", "Total"])
AMOUNTS = st.sampled_from(["1.50", " 2.00", "-3.25", "x", "", "1,234.50"])
ROWS = st.lists(st.tuples(CELLS, NUMBERS, CELLS, AMOUNTS), min_size=1, max_size=12)


@pytest.mark.slow
@settings(max_examples=40, deadline=None)
@given(ROWS, st.integers(150, 400))
def test_any_plain_file_is_read_alike_by_row_and_by_column(rows: list[tuple[str, ...]], piece: int) -> None:
    """Whatever stands in its cells, in whatever pieces it is read."""
    pytest.importorskip("pyarrow")
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        table = pd.DataFrame(rows, columns=["Statement", "Tracking", "Description", "Amount"])
        path = Path(folder, "lines.csv")
        table.to_csv(path, index=False, lineterminator="\n")
        by_row = intake.read([path])
        patch.setattr(csv_file, "BY_COLUMN_FROM", 0)
        patch.setattr(by_column, "BLOCK", piece)
        alike = intake.read([path])
        pd.testing.assert_frame_equal(by_row.lines, alike.lines)
        pd.testing.assert_frame_equal(by_row.printed_totals, alike.printed_totals)
        assert by_row.problems == alike.problems


@given(st.lists(CELLS), st.integers(0, 3), st.integers(0, 3))
def test_plain_texts_are_told_from_others_by_their_bytes(texts: list[str], first: int, fewer: int) -> None:
    """As from each by itself; also in a part of a longer column."""
    pa = pytest.importorskip("pyarrow")
    part = texts[first : len(texts) - fewer]
    plain = all(text == parsing.words(text) and text.isascii() and text.isprintable() for text in part)
    assert are_plain(pa.array(texts, pa.large_string()).slice(first, len(part))) == plain


@pytest.mark.parametrize(
    "content", ["a,b\n1,2\n\n3,4\n", "a,b\n1\n", 'a,b\n1,"x\ny"\n', 'a,b\n1, "2"\n', "a,b\n1,\0\n", "sep=;\na;b\n"]
)
def test_an_uneven_file_is_not_read_by_column(tmp_path: Path, content: str) -> None:
    """What the two ways would take differently is read by row."""
    pytest.importorskip("pyarrow")
    assert csv_file.read_by_column(bad_files.write(tmp_path, "lines.csv", content)) is None


@pytest.mark.parametrize("encoding", ["utf-8", "cp1252"])
def test_bytes_that_are_no_utf_8_far_down_are_found(tmp_path: Path, encoding: str) -> None:
    """Behind the beginning, by which it is told whether all cells are checked while they are read."""
    pytest.importorskip("pyarrow")
    content = ("a,b\n" + "1,2\n" * csv_file.SAMPLE_CHARACTERS + "é,3\n").encode(encoding)
    columns = csv_file.read_by_column(bad_files.write(tmp_path, "lines.csv", content))
    assert (columns is not None) == (encoding == "utf-8")


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"a,b\n1,2\n", {"is_ascii"}),
        ("a,b\n1,é\n".encode(), set()),
        (b'a,b\n1,"2"\n', {"is_ascii"}),
        (b"a,b\r\n1,2", {"is_ascii"}),
        (b'a,b\n1, "2"\n', {"is_uneven", "is_ascii"}),
        (b'a\tb\n1\t "2"\n', {"is_uneven", "is_ascii"}),
        (b'a,b "c"\n "1",2\n', {"is_ascii"}),
        (b"a,b\n1,\0\n", {"is_uneven", "is_ascii"}),
    ],
)
@pytest.mark.parametrize("piece", [1, 2, 3, 100])
def test_marks_are_found_in_whatever_pieces_a_file_is_read(content: bytes, told: set[str], piece: int) -> None:
    """Also where a mark of several characters lies across two or three of them."""
    file = by_column.LookedThrough(io.BytesIO(content))
    assert b"".join(iter(lambda: file.read(piece), b"")) == content
    assert {name for name in ("is_uneven", "is_ascii") if getattr(file, name)} == told
    assert file.lines == 2


def test_without_pyarrow_files_are_read_by_row(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is an extra."""
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    assert csv_file.read_by_column(bad_files.write(tmp_path, "lines.csv", "a,b\n1,2\n")) is None
