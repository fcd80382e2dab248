"""Each fault in a file is told with its place, the value and what to do; the other files are read all the same."""

import gzip
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pandas as pd
import pytest

from auditor import intake
from auditor.core.schemas import Problem
from auditor.intake import csv_file, documents, eml_file, opening, pdf_file, xlsx_file
from tests import bad_files


def beside_a_month(tmp_path: Path, path: Path) -> tuple[intake.Intake, list[Problem]]:
    """What is read of a sound month with that file beside it; the month must come out whole."""
    month = bad_files.month(tmp_path / "month")
    taken = intake.read([path, month])
    for name in ("cartons", "rates", "fees", "fuel", "printed_totals"):
        assert not getattr(taken, name).empty
    assert len(taken.lines) >= 7
    assert len(taken.shipments) >= 3
    return taken, list(taken.problems)


def told_of(tmp_path: Path, name: str, content: str) -> tuple[intake.Intake, list[Problem]]:
    """The same for a text file; and the problems must be about it."""
    path = bad_files.write(tmp_path, name, content)
    taken, problems = beside_a_month(tmp_path, path)
    assert {problem.file for problem in problems} <= {name}
    return taken, problems


UNREADABLE: list[tuple[Callable[[Path], Path], str]] = [
    (
        lambda folder: bad_files.write(folder, "empty.csv", ""),
        "This file is empty. Export or download it again, or leave it out.",
    ),
    (
        lambda folder: bad_files.write(folder, "blank.csv", " \n\n"),
        "This file is empty. Export or download it again, or leave it out.",
    ),
    (
        bad_files.pdf_damaged,
        (
            "This PDF is damaged or cut off: no page of it could be opened. Download it again, or ask for the "
            "statement as CSV."
        ),
    ),
    (
        bad_files.pdf_cut_off,
        (
            "This PDF is damaged or cut off: no page of it could be opened. Download it again, or ask for the "
            "statement as CSV."
        ),
    ),
    (
        bad_files.pdf_encrypted,
        (
            "This PDF is protected with a password. Open it with the password, print or save it as a PDF without one, "
            "and give that."
        ),
    ),
    (
        lambda folder: bad_files.pdf(folder, rows=[], total="", ruled=False),
        (
            "This letter has no line such as 'Tracking number: …', so what it is about could not be told. If it is a "
            "notice, write its figures into lines of that kind; otherwise leave it out."
        ),
    ),
    (
        bad_files.xlsx_damaged,
        (
            "This workbook is damaged or cut off: its packing cannot be opened. Save or download it again, or export "
            "it as CSV."
        ),
    ),
    (
        bad_files.xlsx_with_broken_sheet,
        (
            "This workbook is damaged (ParseError). Open it in a spreadsheet program, save it anew as .xlsx or CSV, "
            "and give that."
        ),
    ),
    (
        bad_files.xlsx_bomb,
        (
            "This workbook would unpack to 250 MB, far more than a workbook of its size holds, so it was not opened. "
            "If you trust it, open it in a spreadsheet program and export it as CSV."
        ),
    ),
    (
        lambda folder: bad_files.xlsx(folder, "empty.xlsx", {"Sheet": []}),
        "There is nothing in this file. Export it again, or leave it out.",
    ),
    (
        bad_files.zip_of_files,
        "This is a zip archive and not a workbook. Unpack it and give the files in it.",
    ),
    (
        lambda folder: bad_files.write(folder, "month.csv.gz", gzip.compress(bad_files.FEES.encode())),
        "This is a packed file (.gz, .7z, .rar or .bz2). Unpack it, and give the files in it.",
    ),
    (
        lambda folder: bad_files.write(folder, "old.xls", opening.OLD_OFFICE + bytes(600)),
        (
            "This is a workbook of the old kind (.xls) or one with a password. Save it as .xlsx or CSV, without a "
            "password, and give that."
        ),
    ),
    (
        lambda folder: bad_files.write(folder, "program.bin", bytes(range(256)) * 10),
        (
            "This is no kind of file that is known here. Statements are read from CSV, .xlsx, PDF and e-mail files; "
            "export it as one of these."
        ),
    ),
    (
        lambda folder: bad_files.write(folder, "phone.heic", b"\0\0\0\x18ftypheic" + bytes(600)),
        "This is a HEIC picture, which is not opened here. If it is a statement, save it as PNG or JPEG and give that.",
    ),
    (
        lambda folder: bad_files.write(folder, "page.csv", "<!doctype html><table></table>"),
        "This web page shows no text and no table. Save it again, or leave it out.",
    ),
    (
        lambda folder: bad_files.write(folder, "page.json", '{"lines": []}'),
        (
            "This is a web page or a file for programs (HTML, XML, JSON). Statements are read from CSV, .xlsx, PDF and "
            "e-mail files; export it as CSV."
        ),
    ),
    (
        lambda folder: bad_files.write(folder, "letter.txt", "Dear seller,\nhow are you?\n"),
        (
            "What this file is could not be told from its headings. Headings found: Dear seller. If it is one of "
            "yours, say what it is with --as KIND=FILE (kinds: shipments, cartons, rates, fees, fuel, statement, "
            "notice), or leave it out."
        ),
    ),
    (
        lambda folder: bad_files.write(folder, "commas.csv", ",,\n,,\n"),
        "There is nothing in this table. Export it again, or leave it out.",
    ),
    (
        lambda folder: bad_files.write(folder, "headings.csv", bad_files.FEES.splitlines()[0]),
        "This looks like a table of fees, but has no rows below its headings.",
    ),
    (
        lambda folder: bad_files.email(folder, "hello.eml", text="Hello.\n"),
        (
            "This letter has no line such as 'Tracking number: …', so what it is about could not be told. If it is a "
            "notice, write its figures into lines of that kind; otherwise leave it out."
        ),
    ),
    (
        lambda folder: folder / "march" / "statement.pdf",
        "There is no such file or folder. Look at how it is spelled and run again.",
    ),
]


@pytest.mark.parametrize(("make", "message"), UNREADABLE, ids=[message[:40] for _, message in UNREADABLE])
def test_a_file_that_cannot_be_read_is_named_with_what_to_do(
    tmp_path: Path, make: Callable[[Path], Path], message: str
) -> None:
    """And the rest of the month is read."""
    path = make(tmp_path)
    _, problems = beside_a_month(tmp_path, path)
    name = path.name if path.exists() else str(path)
    assert problems == [Problem(name, "", message, unread=True)]


def test_an_empty_folder_is_told_of(tmp_path: Path) -> None:
    """Hidden files do not count."""
    folder = tmp_path / "nothing"
    folder.mkdir()
    bad_files.write(folder, ".hidden", "x")
    _, problems = beside_a_month(tmp_path, folder)
    message = "There is no file in this folder. Put the month's files into it, or give another folder."
    assert problems == [Problem(str(folder), "", message, unread=True)]


def test_a_file_that_may_not_be_read_is_told_of(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever reason the system gives."""
    path = bad_files.write(tmp_path, "locked.csv", bad_files.FEES)
    plain_open = Path.open

    def open_(self: Path, *args: object, **kwargs: object) -> object:
        if self == path:
            raise PermissionError(13, "Permission denied")
        return plain_open(self, *args, **kwargs)  # type: ignore[call-overload]

    monkeypatch.setattr(Path, "open", open_)
    _, problems = beside_a_month(tmp_path, path)
    message = "This file cannot be opened (Permission denied). Change who may read it, and run again."
    assert problems == [Problem("locked.csv", "", message, unread=True)]


def test_a_folder_that_may_not_be_opened_is_told_of(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is not called empty."""
    folder = tmp_path / "locked"
    folder.mkdir()

    def walk(top: Path, onerror: Callable[[OSError], None]) -> list[object]:
        onerror(PermissionError(13, "Permission denied", str(top)))
        return []

    monkeypatch.setattr("auditor.intake.files.os.walk", walk)
    message = "This folder cannot be opened (Permission denied). Change who may read it, and run again."
    assert intake.read([folder]).problems == (Problem(str(folder), "", message, unread=True),)


def test_a_path_that_the_system_refuses_is_told_of(tmp_path: Path) -> None:
    """Such as one with a name that is too long."""
    path = tmp_path / ("x" * 300)
    [problem] = intake.read([path]).problems
    assert (problem.file, problem.message) == (
        str(path),
        "This cannot be opened (File name too long). Look at how it is spelled and at who may read it.",
    )


def test_a_page_that_cannot_be_read_is_told_of(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And the other pages are read."""
    path = bad_files.pdf(tmp_path)
    pages, stopped, count = pdf_file._pages(path)  # noqa: SLF001 - one of its pages is to fail
    pages[1] = {"page": 2, "fault": "KeyError"}
    monkeypatch.setattr(pdf_file, "_pages", lambda _: (pages, stopped, count))
    taken = intake.read([path])
    message = "This page could not be read (KeyError). Ask for the statement as CSV."
    assert taken.problems == (Problem("statement.pdf", "page 2", message, unread=True),)
    assert taken.lines["source_place"].str[:6].unique().tolist() == ["page 1", "page 3"]


def test_a_pdf_whose_reading_is_stopped_is_told_of(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When all of it takes too long."""
    monkeypatch.setattr(pdf_file, "SECONDS", 0.01)
    [problem] = intake.read([bad_files.pdf(tmp_path)]).problems
    assert problem.unread


def test_a_fault_that_nobody_foresaw_stops_no_other_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is told with its class."""
    path = bad_files.email(tmp_path)

    def fail(*_: object) -> None:
        raise ZeroDivisionError("by nought")

    monkeypatch.setattr(eml_file, "read", fail)
    _, problems = beside_a_month(tmp_path, path)
    message = (
        "This file could not be read, for a reason that was not foreseen (ZeroDivisionError: by nought). Export it "
        "again as CSV; and please report this."
    )
    assert problems == [Problem("notice.eml", "", message, unread=True)]


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        (
            "records.csv",
            "Tracking number,Order,Ship date,Size,Wight\nNP1,Q-1,2026-03-04,44 x 6 x 6 in,3 lb\n",
            (
                "This looks like shipping records, but has no column for the weight. Headings found: Tracking number, "
                "Order, Ship date, Size, Wight. Name one 'Weight'. If 'Wight' is meant, that is the one to rename."
            ),
        ),
        (
            "records.csv",
            "Tracking number,Order,Length,Width,Weight\nNP1,Q-1,44 in,6 in,3 lb\n",
            (
                "This looks like shipping records, but has no column for the height. Headings found: Tracking number, "
                "Order, Length, Width, Weight. Name one 'Height'."
            ),
        ),
        (
            "records.csv",
            "Tracking number,Order,Ship date,Postcode,Weight\nNP1,Q-1,2026-03-04,44101,3 lb\n",
            (
                "This looks like shipping records, but has no column for the size. Headings found: Tracking number, "
                "Order, Ship date, Postcode, Weight. Name one 'Size', or three 'Length', 'Width' and 'Height'."
            ),
        ),
        (
            "prices.csv",
            "Service,Zone,Weight up to (lb),Effective date\nGround,5,1,2026-01-05\n",
            (
                "This looks like a price table, but has no column for the price. Headings found: Service, Zone, "
                "Weight up to (lb), Effective date. Name one 'Price'."
            ),
        ),
    ],
)
def test_a_missing_column_is_named(tmp_path: Path, name: str, content: str, message: str) -> None:
    """With the headings found, and the one that is probably meant."""
    _, problems = told_of(tmp_path, name, content)
    assert problems == [Problem(name, "", message, unread=True)]


SHIPMENT = "Tracking number,Size,Weight,Residential,Ship date,Label cost\n"
LEFT = "The cell was left empty and the rest of its row kept; correct it and run again."


@pytest.mark.parametrize(
    ("row", "message", "lost"),
    [
        (
            "NP9,44x6,3 lb,yes,2026-03-04,1.00",
            "'44x6' in column 'Size' has 2 sides, needs three: length x width x height, as in 44 x 6 x 6 in.",
            ["length_nm", "width_nm", "height_nm"],
        ),
        ("NP9,44x6x6 in,-3 lb,yes,2026-03-04,1.00", "'-3 lb' in column 'Weight' is below zero.", ["weight_pg"]),
        (
            "NP9,44x6x6 in,3 stone,yes,2026-03-04,1.00",
            "'3 stone' in column 'Weight' has the unit 'stone', which is not known; known are lb, oz, g, kg.",
            ["weight_pg"],
        ),
        (
            "NP9,44x6x6 in,3 lb,maybe,2026-03-04,1.00",
            "'maybe' in column 'Residential' is neither yes nor no.",
            ["residential"],
        ),
        (
            "NP9,44x6x6 in,3 lb,yes,2026-02-30,1.00",
            "'2026-02-30' in column 'Ship date' is no day of the calendar; write it as 2026-03-31.",
            ["shipped_on"],
        ),
        (
            "NP9,44x6x6 in,3 lb,yes,2026-03-04,1.2.3",
            "'1.2.3' in column 'Label cost' is not an amount of money with a decimal point and thousands in threes.",
            ["label_cost_cents"],
        ),
    ],
)
def test_a_cell_that_cannot_be_read_leaves_the_rest_of_its_row(
    tmp_path: Path, row: str, message: str, lost: list[str]
) -> None:
    """The shipment stays, so that its lines still find it."""
    taken, problems = told_of(tmp_path, "records.csv", f"{SHIPMENT}{row}\n")
    assert problems == [Problem("records.csv", "row 2", f"{message} {LEFT}")]
    kept = taken.shipments[taken.shipments["tracking"] == "NP9"].iloc[0]
    read = ["length_nm", "width_nm", "height_nm", "weight_pg", "residential", "shipped_on", "label_cost_cents"]
    assert [column for column in read if pd.isna(kept[column])] == lost


def test_a_size_that_lacks_a_side_is_left_empty(tmp_path: Path) -> None:
    """Sides in three columns are one figure."""
    content = "Tracking,Length (in),Width (in),Height (in),Weight (lb)\nNP9,44,6,,3\n"
    taken, problems = told_of(tmp_path, "records.csv", content)
    message = (
        "Only some of the sides ('Length (in)', 'Width (in)', 'Height (in)') are filled in, so the size was left "
        "empty. Fill in all three."
    )
    assert problems == [Problem("records.csv", "row 2", message)]
    assert taken.shipments.loc[taken.shipments["tracking"] == "NP9", "length_nm"].isna().all()


def test_a_row_without_what_it_needs_is_left_out(tmp_path: Path) -> None:
    """A price that cannot be read is no price."""
    content = bad_files.RATES + "Ground,6,1,nine,2026-01-05\nGround,6,2,,2026-01-05\n"
    taken = intake.read([bad_files.write(tmp_path, "rates.csv", content)])
    assert len(taken.rates) == 2
    assert taken.problems == (
        Problem(
            "rates.csv",
            "row 4",
            "'nine' in column 'Price' is not an amount of money, such as 12.34, -12.34 or (12.34). The row was left "
            "out; correct it and run again.",
        ),
        Problem("rates.csv", "row 5", "Column 'Price' is empty, so this row was left out. Fill it in and run again."),
    )


def test_two_parcels_with_one_tracking_number_are_both_kept(tmp_path: Path) -> None:
    """And both rows are named."""
    content = f"{SHIPMENT}NP8,44x6x6 in,3 lb,yes,2026-03-04,1\nNP8,12x10x8 in,5 lb,no,2026-03-05,2\n"
    taken, problems = told_of(tmp_path, "records.csv", content)
    message = (
        "Tracking number NP8 stands on 2 rows: records.csv, row 2; records.csv, row 3. All were kept, but what is "
        "billed for that number is held against the first. Give each parcel the number on its own label."
    )
    assert problems == [Problem("records.csv", "row 3", message)]
    assert (taken.shipments["tracking"] == "NP8").sum() == 2


def test_a_file_that_is_not_utf8_is_read_and_told_of(tmp_path: Path) -> None:
    """With the places to look at."""
    path = bad_files.write(tmp_path, "cartons.csv", "Carton,Size\nétui à cor,38x16x14 in\n".encode("cp1252"))
    taken = intake.read([path])
    message = (
        "This file is not in UTF-8, so its letters with accents and its signs were read as Windows-1252. Look whether "
        "these are right: row 2 'étui à cor'. If not, save the file as CSV in UTF-8."
    )
    assert taken.problems == (Problem("cartons.csv", "", message, note=True),)
    assert taken.cartons["carton"].to_list() == ["étui à cor"]


def test_a_quotation_mark_that_never_closes_is_told_of(tmp_path: Path) -> None:
    """The rows before it are read; those it swallowed are not lost in silence."""
    content = bad_files.FEES + '"residential,5.95,,\nlarge parcel,245.00,,\n'
    taken = intake.read([bad_files.write(tmp_path, "fees.csv", content)])
    assert len(taken.fees) == 2
    message = (
        'A quotation mark (") opens in this row and never closes, so this row and all below it were not read. Take the '
        "mark out, or write it twice within a quoted cell, and run again."
    )
    assert taken.problems == (Problem("fees.csv", "row 4", message, unread=True),)
    swallowed = intake.read([bad_files.write(tmp_path, "long.csv", content + "x" * 200_000)])
    assert swallowed.problems == (Problem("long.csv", "row 4", message, unread=True),)


def test_nul_characters_are_left_out_and_told_of(tmp_path: Path) -> None:
    """They come from programs that failed in mid-file."""
    content = bad_files.FEES.replace("Pickup", "Pick\0up")
    taken = intake.read([bad_files.write(tmp_path, "more.csv", content)])
    message = "This file has NUL characters in it, which no text has. They were left out; look over its values."
    assert taken.problems == (Problem("more.csv", "", message),)
    assert "Pickup service" in taken.fees["charge"].to_list()


def test_a_row_with_more_cells_than_headings_is_told_of(tmp_path: Path) -> None:
    """An amount with a comma in it and no quotation marks is two cells."""
    content = "Charge,Amount\nresidential,5.95\nlarge parcel,1,245.00\n"
    taken = intake.read([bad_files.write(tmp_path, "fees.csv", content)])
    message = (
        "This row has 3 cells, but there are 2 headings, so its values may stand in the wrong columns. A cell with a "
        "comma in it needs quotation marks around it. Correct the row and run again."
    )
    assert taken.problems == (Problem("fees.csv", "row 3", message),)


def test_two_columns_for_one_thing_are_told_of(tmp_path: Path) -> None:
    """The first is taken."""
    taken = intake.read([bad_files.write(tmp_path, "fees.csv", "Charge,Amount,Price\nresidential,5.95,7.00\n")])
    message = "Columns 'Amount' and 'Price' could both be the amount; 'Amount' was taken."
    assert taken.problems == (Problem("fees.csv", "row 1", message, note=True),)
    assert taken.fees["amount_cents"].to_list() == [595]


def test_faults_of_a_column_are_counted_after_the_first_twenty(tmp_path: Path) -> None:
    """So that a column in an unknown unit does not bury everything else."""
    rows = "".join(f"NP{n},44x6x6 in,{n + 1} stone\n" for n in range(50))
    taken = intake.read([bad_files.write(tmp_path, "records.csv", f"Tracking,Size,Weight\n{rows}")])
    assert len(taken.problems) == 21
    message = "30 more cells of column 'Weight' have faults like those above."
    assert taken.problems[-1] == Problem("records.csv", "row 22 to row 51", message)


def test_a_hostile_value_is_shown_short_and_harmless() -> None:
    """Control characters are spelled out, long texts cut."""
    assert intake.tidy.shown("a\x1b[31m\n") == "'a\\x1b[31m\\n'"
    assert intake.tidy.shown("x" * 80) == f"'{'x' * 60}…'"


LINES = "Statement,Tracking,Description,Amount\n"


def test_a_line_whose_amount_cannot_be_read_is_kept_and_not_read(tmp_path: Path) -> None:
    """So that its statement cannot tie out unnoticed."""
    content = f"{LINES}S1,NP1,Freight,12.3o\nS1,NP1,Fuel,\nS1,NP1,Residential,5.95\nTotal,,,20.00\n"
    taken = intake.read([bad_files.write(tmp_path, "lines.csv", content)])
    assert taken.lines["state"].to_list() == ["not read", "not read", "label charge"]
    assert taken.problems == (
        Problem(
            "lines.csv",
            "row 2",
            "'12.3o' in column 'Amount' is not an amount of money, such as 12.34, -12.34 or (12.34). The cell was left "
            "empty and the rest of its row kept; correct it and run again.",
        ),
        Problem(
            "lines.csv",
            "row 3",
            "Column 'Amount' is empty, so this line was not read and its statement cannot tie out.",
        ),
    )


def test_remarks_and_sums_within_a_statement_are_no_lines(tmp_path: Path) -> None:
    """They are named, so that nothing is left out in silence."""
    content = (
        f"{LINES}S1,NP1,Freight,2.00\nSubtotal,,,2.00\nThank you,,,\nTotal,,,2.00\nTotal fuel,,,0.00\nTotal due,,,\n"
    )
    taken = intake.read([bad_files.write(tmp_path, "lines.csv", content)])
    assert len(taken.lines) == 1
    assert taken.printed_totals["printed_total_cents"].to_list() == [200]
    assert [(problem.place, problem.message, problem.note) for problem in taken.problems] == [
        (
            "row 4",
            "'Thank you' was taken for a remark: the row has no tracking number, charge or amount.",
            True,
        ),
        ("row 3", "'Subtotal' was taken for a sum of other lines and not counted.", True),
        ("row 6", "'Total fuel' was taken for a sum of other lines and not counted.", True),
        ("row 7", "'Total due' has no amount in column 'Amount', so it says nothing.", False),
    ]


def test_a_statement_without_a_number_is_called_after_its_file(tmp_path: Path) -> None:
    """And that is told."""
    path = bad_files.write(tmp_path, "march.csv", "Tracking,Description,Amount\nNP1,Freight,2.00\n")
    taken = intake.read([path])
    message = "No statement number was found in this file, so the statement is called 'march', after the file."
    assert taken.problems == (Problem("march.csv", "", message, note=True),)
    assert taken.lines["statement"].to_list() == ["march"]


def test_a_notice_without_figures_is_kept_and_told_of(tmp_path: Path) -> None:
    """A note, not a fault."""
    taken = intake.read([bad_files.email(tmp_path, text="Tracking number: NP2\nReason: it was long\n")])
    message = "This notice about parcel NP2 has no figures in it: no size, weight or amount."
    assert taken.problems == (Problem("notice.eml", "line 1", message, note=True),)
    assert taken.notices["reason"].to_list() == ["it was long"]


def test_faults_in_a_notice_are_told_with_their_line(tmp_path: Path) -> None:
    """A figure that cannot be read, a number that is missing, a thing said twice."""
    text = "Tracking number: NP2\nMeasured size: 48 x 20\nMeasured weight: 16 lb\nMeasured weight: 17 lb\n\nTracking:\n"
    taken = intake.read([bad_files.email(tmp_path, text=text)])
    assert len(taken.notices) == 1
    assert [(problem.place, problem.message) for problem in taken.problems] == [
        ("line 4", "'Measured weight: 17 lb' was not read: the same was said before about this parcel."),
        (
            "line 1",
            (
                "'48 x 20' in column 'Measured size' has 2 sides, needs three: length x width x height, as in 44 x 6 "
                f"x 6 in. {LEFT}"
            ),
        ),
        ("line 6", "Column 'Tracking' is empty, so this row was left out. Fill it in and run again."),
    ]


def test_a_letter_is_no_table(tmp_path: Path) -> None:
    """Even when it is said to be one."""
    path = bad_files.email(tmp_path)
    problems = intake.read([path], given={"shipments": [path]}).problems
    message = "This is a letter, not a table, so it cannot be read as shipments."
    assert problems == (Problem("notice.eml", "", message, unread=True),)


def test_a_number_that_lost_digits_in_a_workbook_is_told_of(tmp_path: Path) -> None:
    """It never turns into 9.6E+21 in silence."""
    rows: list[list[object]] = [["Tracking", "Size", "Weight"], [9_612_345_678_901_234_567_890.0, "44x6x6 in", "3 lb"]]
    taken = intake.read([bad_files.xlsx(tmp_path, "book.xlsx", {"Labels": rows})])
    message = (
        "The number 9612345678901230000000 is stored as a number of more than 15 digits, of which a workbook keeps "
        "only the first. Format that column as text, enter the number again, and run again."
    )
    assert taken.problems == (Problem("book.xlsx", "sheet Labels, row 2", message),)
    assert taken.shipments["tracking"].to_list() == ["9612345678901230000000"]


def test_formulas_without_a_result_and_hidden_sheets_are_told_of(tmp_path: Path) -> None:
    """Formulas are not computed."""
    fees: list[list[object]] = [["Charge", "Amount"], ["residential", 5.95], ["large parcel", "=5.95*2"]]
    path = bad_files.xlsx(tmp_path, "book.xlsx", {"Fees": fees, "Old": fees, "Notes": [["Hello", "you"]]})
    book = openpyxl.load_workbook(path)
    book["Old"].sheet_state = "hidden"
    book.save(path)
    taken = intake.read([path])
    assert taken.fees["amount_cents"].to_list() == [595]
    assert [(problem.place, problem.message[:60], problem.note, problem.unread) for problem in taken.problems] == [
        ("sheet Old", "This sheet is hidden, so it was not read. Show it and save t", True, False),
        ("sheet Fees, row 3", "The formula '=5.95*2' has no stored result, so its cell was ", False, False),
        ("sheet Fees, row 3", "Column 'Amount' is empty, so this row was left out. Fill it ", False, False),
        ("sheet Notes", "What this file is could not be told from its headings. Headi", True, False),
    ]


def test_files_of_more_than_a_size_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Before they are read."""
    for module in (csv_file, eml_file, pdf_file, xlsx_file):
        monkeypatch.setattr(module, "LARGEST", 2**10)
    big = 3 * 2**20
    message = "This file has 3 MB; of this kind up to 0 MB are read. Split it into smaller files."
    for name, start in {"a.csv": b"a,b\n", "b.pdf": b"%PDF-1.4\n"}.items():
        path = bad_files.write(tmp_path, name, start.ljust(big, b"1"))
        assert intake.read([path]).problems == (Problem(name, "", message, unread=True),)
        path.unlink()
    with pytest.raises(documents.Unreadable, match="up to 0 MB are read"):
        xlsx_file.read("c.xlsx", b"PK\x03\x04".ljust(big))


def test_a_sheet_with_more_cells_than_are_read_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The dimensions it claims are not believed."""
    monkeypatch.setattr(xlsx_file, "MOST_CELLS", 20)
    path = bad_files.xlsx(tmp_path, "book.xlsx", {"Labels": bad_files.csv_rows(bad_files.SHIPMENTS)})
    message = "Sheet Labels has more cells than are read (20). Export it as CSV."
    assert intake.read([path]).problems == (Problem("book.xlsx", "", message, unread=True),)


def test_a_page_that_takes_too_long_is_given_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page is read in a process that a watchdog ends."""
    monkeypatch.setattr(pdf_file, "SECONDS_A_PAGE", 0.1)
    _, problems = beside_a_month(tmp_path, bad_files.pdf_of_a_million_rectangles(tmp_path))
    message = (
        "This page takes more than 0.1 seconds or too much memory to read, so it was not read (1 of 1). Ask for the "
        "statement as CSV."
    )
    assert problems == [Problem("rectangles.pdf", "page 1", message, unread=True)]


def test_a_pdf_of_more_pages_than_are_read_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its pages are counted before they are read."""
    monkeypatch.setattr(pdf_file, "MOST_PAGES", 1)
    [problem] = intake.read([bad_files.pdf(tmp_path)]).problems
    assert problem.message == (
        "This PDF has more than 2,000 pages, which is more than are read. Split it into smaller files."
    )


def test_a_pdf_without_its_end_mark_is_read_as_far_as_it_goes(tmp_path: Path) -> None:
    """And called cut off."""
    path = bad_files.pdf(tmp_path)
    path.write_bytes(path.read_bytes().replace(b"%%EOF", b""))
    taken = intake.read([path])
    assert len(taken.lines) == len(bad_files.pdf_rows(80))
    message = "This PDF is cut off: its end is missing, and pages may be. Download it again and run again."
    assert taken.problems == (Problem("statement.pdf", "", message, unread=True),)


def test_records_that_are_like_a_statement_are_told_of_as_such(tmp_path: Path) -> None:
    """Not number by number without end: what to do is said once."""
    rows = "".join(f"NP4410026{number // 2:08d},12 x 10 x 8 in,3 lb\n" for number in range(100))
    taken = intake.read([bad_files.write(tmp_path, "list.csv", f"Tracking number,Size,Weight\n{rows}")])
    told = [problem.message for problem in taken.problems]
    assert len(told) == 22
    assert told[20] == "30 more tracking numbers stand on several rows."
    assert told[21] == (
        "Most tracking numbers stand on several rows here, as in a carrier's statement, but this was read as shipping "
        'records. If it is a statement, run again with --as "statement=list.csv".'
    )
