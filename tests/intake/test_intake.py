"""Sound files of every kind come out as tables of the schemas, each row with where it stood."""

import json
from datetime import date, datetime
from pathlib import Path

import openpyxl
import pandas as pd
import pytest

from auditor import intake
from auditor.core.schemas import LINES, STATES, Problem
from auditor.intake import pdf_pages
from tests import bad_files
from tests.parcels import inches, pounds


@pytest.fixture(scope="module")
def month(tmp_path_factory: pytest.TempPathFactory) -> intake.Intake:
    """A small month of sound files: CSV of each kind, a PDF statement, an e-mail."""
    folder = bad_files.month(tmp_path_factory.mktemp("sound") / "month")
    bad_files.email(folder)
    bad_files.pdf(folder)
    return intake.read([folder])


def places(frame: pd.DataFrame) -> list[str]:
    """Where the rows stand."""
    return frame["source_place"].to_list()


def test_every_table_is_of_its_schema(month: intake.Intake) -> None:
    """Columns, order and dtypes; also where nothing was read."""
    for taken in (month, intake.read([])):
        for name, schema in intake.TABLES.items():
            table = getattr(taken, name)
            assert [(column.name, column.dtype) for column in schema] == [
                (name, "str" if dtype == "str" else str(dtype)) for name, dtype in table.dtypes.items()
            ]
            assert table.index.equals(pd.RangeIndex(len(table)))


def test_a_sound_month_has_nothing_to_say(month: intake.Intake) -> None:
    """Not even a note."""
    assert month.problems == ()


def test_the_lines_of_each_statement_add_up_to_its_printed_total(month: intake.Intake) -> None:
    """CSV and PDF; no total is taken for a line."""
    sums = month.lines.groupby("statement")["amount_cents"].sum()
    printed = month.printed_totals.set_index("statement")["printed_total_cents"]
    assert sums.to_dict() == printed.to_dict() == {"NP-2026-03": 5447, "LP-2026-03": 7960}


def test_shipments_are_read_with_units_and_leading_zeros(month: intake.Intake) -> None:
    """Sides in falling order, ounces and pounds together, zones without the word, postcodes as text."""
    first, second, third = month.shipments.to_dict("records")
    assert (first["tracking"], first["postcode"], first["residential"]) == ("NP1", "04410", True)
    assert first["weight_pg"] == pounds("3.25")
    assert (first["label_cost_cents"], first["buyer_paid_cents"]) == (1437, 1600)
    assert [second[f"{side}_nm"] for side in ("length", "width", "height")] == [inches(48), inches(20), inches(8)]
    assert second["packed_length_nm"] == inches("48.1")
    assert (second["zone"], second["photo"]) == ("6", "p2.jpg")
    assert third["voided"]
    assert second["shipped_on"] == pd.Timestamp("2026-03-05")


def test_tables_of_prices_and_cartons_are_read(month: intake.Intake) -> None:
    """Units from headings, thousands, per cent as millionths, a trim of zero."""
    assert month.rates["price_cents"].to_list() == [935, 100995]
    assert month.rates["up_to_pg"].to_list() == [pounds(1), pounds(2)]
    assert month.fees["charge"].to_list() == ["additional handling", "Pickup service"]
    assert month.fuel["fuel_ppm"].to_list() == [152_500, 155_000]
    assert month.cartons["usual_trim_nm"].to_list() == [0, inches(6)]


def test_charges_are_told_by_the_rules_words_and_have_one_state_each(month: intake.Intake) -> None:
    """Whatever the carrier prints for them."""
    lines = month.lines[month.lines["statement"] == "NP-2026-03"]
    assert list(zip(lines["charge"], lines["state"], strict=True)) == [
        ("freight", "label charge"),
        ("fuel", "label charge"),
        ("additional handling", "adjustment"),
        ("correction fee", "fee"),
        ("freight", "credit"),
        ("pickup service", "fee"),
        ("tax", "tax"),
    ]
    assert set(month.lines["state"]) <= set(STATES)
    assert lines["tracking"].isna().to_list() == [False] * 5 + [True] * 2


def test_a_line_carries_the_carriers_figures(month: intake.Intake) -> None:
    """Billed sides and weight, the scale's weight, the order."""
    line = month.lines.iloc[2]
    assert (line["billed_length_nm"], line["billed_weight_pg"]) == (inches(49), pounds(56))
    assert (line["measured_weight_pg"], line["order"]) == (pounds("16.4"), "Q-2")


def test_places_are_counted_as_a_person_would(month: intake.Intake) -> None:
    """A CSV's heading is row 1; so is the heading on each page of a PDF; a letter has lines."""
    assert places(month.shipments) == ["row 2", "row 3", "row 4"]
    pdf = month.lines[month.lines["source_file"] == "statement.pdf"]
    assert places(pdf)[0] == "page 1, row 2"
    assert "page 2, row 2" in places(pdf)
    assert "page 2, row 1" not in places(pdf)
    assert len(pdf) == len(bad_files.pdf_rows(80))
    assert places(month.notices) == ["line 5", "line 13"]


def test_a_pdf_statement_is_named_by_the_text_above_its_table(month: intake.Intake) -> None:
    """Number and date; amounts in brackets are money back."""
    last = month.lines.iloc[-1]
    assert (last["statement"], last["statement_on"]) == ("LP-2026-03", pd.Timestamp("2026-04-02"))
    assert (last["amount_cents"], last["state"], last["charge"]) == (-40, "credit", "freight")


def test_a_notice_has_a_row_for_each_parcel(month: intake.Intake) -> None:
    """Raw readings in falling order; the letter's own day, wherever it was written."""
    first, second = month.notices.to_dict("records")
    assert (first["tracking"], first["measured_length_nm"], first["declared_length_nm"]) == (
        "NP2",
        inches("48.2"),
        inches(48),
    )
    assert (first["measured_weight_pg"], first["amount_cents"]) == (pounds("16.4"), 2950)
    assert first["reason"] == "longer than declared"
    assert (second["measured_length_nm"], second["noticed_on"]) == (inches("44.5"), pd.Timestamp("2026-03-20"))


def test_an_email_with_html_beside_its_text_is_read_by_the_text(tmp_path: Path) -> None:
    """And one with HTML only, by what the HTML shows."""
    html = "<html><head><style>p{}</style></head><body>" + "".join(
        f"<p>{line}</p>" for line in bad_files.NOTICE.splitlines()
    )
    both = intake.read([bad_files.email(tmp_path, "both.eml", html="<p>Tracking number: wrong</p>")])
    only = intake.read([bad_files.email(tmp_path, "only.eml", text="", html=html)])
    source = ["source_file", "source_place"]
    pd.testing.assert_frame_equal(both.notices.drop(columns=source), only.notices.drop(columns=source))
    assert both.problems == only.problems == ()


def test_attachments_are_read_in_turn(tmp_path: Path) -> None:
    """Their names are cleaned before they are shown."""
    path = bad_files.email(tmp_path)
    boundary = "part"
    head, _, body = path.read_text().partition("\n\n")
    plain = [line for line in head.splitlines() if not line.startswith("Content-")]
    parts = (
        f"--{boundary}\nContent-Type: text/plain\n\n{body}\n--{boundary}\nContent-Type: text/csv\n"
        f'Content-Disposition: attachment; filename="../../<b>.csv"\n\nalpha,beta\n--{boundary}--\n'
    )
    path.write_text("\n".join([*plain, f'Content-Type: multipart/mixed; boundary="{boundary}"']) + f"\n\n{parts}")
    taken = intake.read([path])
    assert len(taken.notices) == 2
    assert [problem.message for problem in taken.problems] == [
        (
            "What this file is could not be told from its headings. Headings found: alpha, beta. If it is one of "
            "yours, say what it is with --as KIND=FILE (kinds: shipments, cartons, rates, fees, fuel, statement, "
            "notice), or leave it out."
        )
    ]
    assert taken.problems[0].place == "attachment .._..__b_.csv"
    assert taken.problems[0].note


def test_a_workbook_is_read_sheet_by_sheet(tmp_path: Path) -> None:
    """Numbers as the text they show: zip codes with their zeros, percentages, long numbers in full."""
    rows: list[list[object]] = [list(row) for row in bad_files.csv_rows(bad_files.SHIPMENTS)]
    rows[1][0] = 440_123_456_789_012
    rows[1][5] = 4410
    rows[1][10] = 0.1 + 0.2
    fuel: list[list[object]] = [["Effective date", "Percent"], [pd.Timestamp("2026-03-02").to_pydatetime(), 0.1525]]
    path = bad_files.xlsx(tmp_path, "book.xlsx", {"Labels": rows, "Fuel": fuel, "Empty": []})
    book = openpyxl.load_workbook(path)
    book["Labels"]["F2"].number_format = "00000"
    book["Fuel"]["B2"].number_format = "0.00%"
    book.save(path)
    taken = intake.read([path])
    first = taken.shipments.iloc[0]
    assert (first["tracking"], first["postcode"], first["label_cost_cents"]) == ("440123456789012", "04410", 30)
    assert places(taken.shipments) == ["sheet Labels, row 2", "sheet Labels, row 3", "sheet Labels, row 4"]
    assert (taken.fuel["fuel_ppm"][0], taken.fuel["effective_on"][0]) == (152_500, pd.Timestamp("2026-03-02"))
    assert taken.problems == ()


def test_the_same_table_may_come_in_another_dialect(tmp_path: Path) -> None:
    """Semicolons, tabs, UTF-16 with and without a mark, a byte order mark, titles above."""
    expected = intake.read([bad_files.write(tmp_path, "plain.csv", bad_files.RATES)]).rates
    quoted = bad_files.RATES.replace('"', "")
    semicolons = "sep=;\n" + bad_files.RATES.replace('"1,009.95"', "1.009,95").replace(",2026", ";2026")
    semicolons = (
        semicolons.replace("9.35", "9,35").replace("Ground,5,1,", "Ground;5;1;").replace("Ground,5,2,", "Ground;5;2;")
    )
    semicolons = semicolons.replace(
        "Service,Zone,Weight up to (lb),Price,Effective", "Service;Zone;Weight up to (lb);Price;Effective"
    )
    tabs = quoted.replace("1,009", "1009").replace(",", "\t")
    for name, content in {
        "marked.csv": b"\xef\xbb\xbf" + bad_files.RATES.encode(),
        "utf16.csv": bad_files.RATES.encode("utf-16"),
        "unmarked.csv": bad_files.RATES.encode("utf-16-le"),
        "tabs.txt": tabs.encode(),
        "semicolons.csv": semicolons.encode(),
        "titles.csv": ("Prices of 2026\n\n" + bad_files.RATES).encode(),
    }.items():
        taken = intake.read([bad_files.write(tmp_path, name, content)])
        pd.testing.assert_frame_equal(
            expected.drop(columns=["source_file", "source_place"]),
            taken.rates.drop(columns=["source_file", "source_place"]),
            obj=name,
        )


def test_a_decimal_comma_is_told_of(tmp_path: Path) -> None:
    """Because it decides every amount of the column."""
    path = bad_files.write(tmp_path, "fees.csv", "Charge;Amount\nresidential;5,95\nlarge parcel;1.245,00\n")
    taken = intake.read([path])
    assert taken.fees["amount_cents"].to_list() == [595, 124500]
    message = "Column 'Amount' was read with a decimal comma: 12,34 as 12.34."
    assert taken.problems == (Problem("fees.csv", "", message, note=True),)


def test_numbers_without_a_unit_are_inches_and_pounds_and_told_of(tmp_path: Path) -> None:
    """Once a column."""
    content = "Tracking,Size,Weight\nNP1,44x6x6,3\nNP2,48x20x8,14\n"
    taken = intake.read([bad_files.write(tmp_path, "s.csv", content)])
    assert taken.shipments["length_nm"].to_list() == [inches(44), inches(48)]
    assert [problem.message for problem in taken.problems] == [
        "Column 'Size' has numbers without a unit. They were read as inches.",
        "Column 'Weight' has numbers without a unit. They were read as pounds.",
    ]
    assert all(problem.note for problem in taken.problems)


def test_units_in_headings_are_heeded(tmp_path: Path) -> None:
    """However they are written there."""
    content = "tracking_no,Length [cm],WidthCm,height cm,weight_kg\nNP1,15,121.92,15,1.5\n"
    taken = intake.read([bad_files.write(tmp_path, "s.csv", content)])
    assert taken.shipments["length_nm"][0] == inches(48)
    assert taken.shipments["weight_pg"][0] == 15 * 10**14
    assert taken.problems == ()


def test_dates_are_read_by_what_the_whole_column_shows(tmp_path: Path) -> None:
    """A 13 in first place makes the column day first; with no such number it is month first, and told."""
    head = "Tracking,Size,Weight,Ship date\nNP1,44x6x6 in,3 lb,03/04/2026\n"
    told = intake.read([bad_files.write(tmp_path, "told.csv", head + "NP2,44x6x6 in,3 lb,13/04/2026\n")])
    open_ = intake.read([bad_files.write(tmp_path, "open.csv", head)])
    assert told.shipments["shipped_on"][0] == pd.Timestamp("2026-04-03")
    assert told.problems == ()
    assert open_.shipments["shipped_on"][0] == pd.Timestamp("2026-03-04")
    assert [problem.message for problem in open_.problems] == [
        (
            "Column 'Ship date' has dates such as 3/4/2026, and none shows which number is the day. They were read "
            "month first."
        )
    ]


def test_the_order_of_the_paths_does_not_matter(tmp_path: Path) -> None:
    """Nor whether a file comes by itself or in its folder."""
    folder = bad_files.month(tmp_path / "month")
    other = bad_files.email(tmp_path)
    files = sorted(folder.iterdir())
    one, two, three = intake.read([folder, other]), intake.read([other, folder]), intake.read([other, *reversed(files)])
    for name in intake.TABLES:
        pd.testing.assert_frame_equal(getattr(one, name), getattr(two, name))
        pd.testing.assert_frame_equal(getattr(one, name), getattr(three, name))
    assert one.problems == two.problems == three.problems == ()


def test_the_same_file_is_read_once(tmp_path: Path) -> None:
    """Given twice, or copied under another name; and that is told."""
    path = bad_files.write(tmp_path, "fees.csv", bad_files.FEES)
    bad_files.write(tmp_path, "fees (1).csv", bad_files.FEES)
    taken = intake.read([path, path, tmp_path / "fees (1).csv"])
    assert len(taken.fees) == 2
    assert taken.problems == (
        Problem("fees.csv", "", "This file was given twice. It was read once.", note=True),
        Problem("fees.csv", "", "This file is the same as fees (1).csv, byte for byte. It was read once.", note=True),
    )


def test_files_of_one_name_are_told_apart_by_their_folders(tmp_path: Path) -> None:
    """So that a row can be found again."""
    for name in ("march", "may"):
        (tmp_path / name).mkdir()
        own = bad_files.FEES.replace("-01-05", f"-0{len(name)}-05").replace("Pickup", name)
        bad_files.write(tmp_path / name, "fees.csv", own)
    taken = intake.read([tmp_path])
    assert taken.fees["source_file"].unique().tolist() == ["march/fees.csv", "may/fees.csv"]


def test_hidden_files_are_skipped(tmp_path: Path) -> None:
    """Those that systems and programs keep for themselves."""
    folder = bad_files.month(tmp_path / "month")
    bad_files.write(folder, ".DS_Store", b"\0\0")
    bad_files.write(folder, "~$book.xlsx", b"x")
    (folder / ".git").mkdir()
    bad_files.write(folder / ".git", "fees.csv", "x")
    assert intake.read([folder]).problems == ()


def test_a_kind_that_the_user_gives_is_heeded(tmp_path: Path) -> None:
    """A table that would be taken for fees is read as a statement, if it has the columns; a text as a notice."""
    fees = bad_files.write(tmp_path, "x.csv", bad_files.FEES)
    taken = intake.read([tmp_path], given={"statement": [fees]})
    assert taken.fees.empty
    assert [problem.message for problem in taken.problems] == [
        (
            "This looks like a statement, but has no column for the tracking number. Headings found: Charge, Amount, "
            "Zone, Effective date. Name one 'Tracking number'."
        )
    ]
    text = bad_files.write(tmp_path, "notice.txt", bad_files.NOTICE)
    assert len(intake.read([text], given={"notice": [text]}).notices) == 2


def test_a_charge_named_in_the_fees_is_a_known_word(tmp_path: Path) -> None:
    """So the rules' own names need no vocabulary; a word known nowhere leaves the charge missing."""
    fees = "Charge,Amount\nNonstandard volume,20.00\n"
    lines = (
        "Statement,Tracking,Description,Amount\nS1,NP1,Nonstandard volume fee,20.00\nS1,NP1,Zebra,1.00\nTotal,,,21.00\n"
    )
    bad_files.write(tmp_path, "fees.csv", fees)
    bad_files.write(tmp_path, "lines.csv", lines)
    taken = intake.read([tmp_path])
    assert taken.lines["charge"].fillna("").to_list() == ["nonstandard volume", ""]
    assert taken.lines["state"].to_list() == ["label charge", "fee"]
    assert taken.printed_totals["statement"].to_list() == ["S1"]


@pytest.mark.parametrize(
    ("printed", "charge", "state"),
    [
        ("Freight", "freight", "label charge"),
        ("Residential delivery", "residential", "label charge"),
        ("Residential", "residential", "label charge"),
        ("Fuel", "fuel", "label charge"),
        ("FUEL SURCHARGE ADJUSTMENT", "fuel", "adjustment"),
        ("Adjusted freight", "freight", "adjustment"),
        ("Freight correction", "freight", "adjustment"),
        ("Adjusted additional handling", "additional handling", "adjustment"),
        ("Large parcel surcharge", "large parcel", "label charge"),
        ("Address correction", "address correction", "fee"),
        ("Correction fee", "correction fee", "fee"),
        ("Credit - fuel surcharge", "fuel", "credit"),
        ("Credit freight", "freight", "credit"),
        ("Refund: address correction", "address correction", "credit"),
        ("Pickup service", "pickup service", "fee"),
        ("Sales tax", "tax", "tax"),
        ("Adjustment", "", "adjustment"),
        ("Zebra fee", "", "fee"),
    ],
)
def test_charge_words(printed: str, charge: str, state: str) -> None:
    """As the sample's carriers print them, and their ordinary synonyms."""
    assert intake.vocabulary.charge(printed) == (charge or None, state)


def test_money_back_for_a_plain_charge_is_a_credit(tmp_path: Path) -> None:
    """Its amount says so, though its words do not; an adjustment downwards stays one."""
    lines = "Statement,Tracking,Description,Amount\nS1,NP1,Freight,-2.00\nS1,NP1,Freight adjustment,-1.00\n"
    taken = intake.read([bad_files.write(tmp_path, "lines.csv", lines)])
    assert taken.lines["state"].to_list() == ["credit", "adjustment"]


def test_a_hundred_thousand_lines_are_read_column_by_column(tmp_path: Path) -> None:
    """All of them, with the total."""
    body = "".join(f"S1,2026-04-01,NP{n},Freight,12,44,6,6,{n % 90}.{n % 100:02d}\n" for n in range(100_000))
    total = sum(n % 90 * 100 + n % 100 for n in range(100_000))
    head = "Statement,Statement date,Tracking,Charge,Billed weight (lb),Length (in),Width (in),Height (in),Amount\n"
    content = f"{head}{body}Statement total,,,,,,,,{total / 100:.2f}\n"
    taken = intake.read([bad_files.write(tmp_path, "lines.csv", content)])
    assert len(taken.lines) == 100_000
    assert taken.lines["amount_cents"].sum() == taken.printed_totals["printed_total_cents"][0] == total
    assert list(taken.lines) == [column.name for column in LINES]
    assert taken.problems == ()


def test_the_sample_month_is_read_whole_with_nothing_to_say() -> None:
    """Every file is known, every statement ties out to its own total."""
    folder = Path(__file__).parents[2] / "sample_statements" / "2026-03"
    taken = intake.read([folder])
    assert taken.problems == ()
    read_from = {file for name in intake.TABLES for file in getattr(taken, name)["source_file"].unique()}
    assert read_from == {path.name for path in folder.iterdir()}
    sums = taken.lines.groupby("statement")["amount_cents"].sum()
    assert sums.to_dict() == taken.printed_totals.set_index("statement")["printed_total_cents"].to_dict()
    assert len(sums) == 2
    assert not (taken.lines["state"] == "not read").any()


def test_a_total_may_stand_in_the_column_of_charges(tmp_path: Path) -> None:
    """Behind the statement's own number."""
    content = "Statement,Tracking,Description,Amount\nS1,NP1,Freight,2.00\nS1,,Total due,2.00\n"
    taken = intake.read([bad_files.write(tmp_path, "lines.csv", content)])
    assert len(taken.lines) == 1
    assert taken.printed_totals[["statement", "printed_total_cents"]].to_numpy().tolist() == [["S1", 200]]


def test_a_photograph_that_the_records_name_is_no_unknown_file(tmp_path: Path) -> None:
    """Photographs taken at packing may lie beside the records."""
    folder = bad_files.month(tmp_path / "month")
    bad_files.picture(folder).rename(folder / "p2.jpg")
    assert intake.read([folder]).problems == ()


def test_an_email_in_an_unknown_character_set_is_read_as_far_as_it_goes(tmp_path: Path) -> None:
    """The figures in it are plain letters."""
    head = (
        "From: a@norrhaven.example\nDate: Fri, 20 Mar 2026 10:00:00 +0000\nContent-Type: text/plain; charset=nobody\n\n"
    )
    taken = intake.read([bad_files.write(tmp_path, "notice.eml", head + bad_files.NOTICE)])
    assert taken.notices["tracking"].to_list() == ["NP2", "NP1"]


def test_a_workbooks_values_are_read_as_they_show(tmp_path: Path) -> None:
    """Yes and no, days with and without a time."""
    rows: list[list[object]] = [
        ["Tracking", "Size", "Weight", "Residential", "Ship date"],
        ["NP1", "44x6x6 in", "3 lb", True, datetime(2026, 3, 4, 10, 30)],  # noqa: DTZ001 - workbooks know no time zones
        ["NP2", "44x6x6 in", "3 lb", False, date(2026, 3, 5)],
    ]
    taken = intake.read([bad_files.xlsx(tmp_path, "book.xlsx", {"Labels": rows})])
    assert taken.shipments["residential"].to_list() == [True, False]
    assert taken.shipments["shipped_on"].dt.day.to_list() == [4, 5]
    assert taken.problems == ()


def test_the_process_that_reads_pdfs_prints_a_line_a_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """What hinders it is one word."""
    monkeypatch.setattr(pdf_pages, "limit_memory", lambda _: None)
    for path in (bad_files.pdf(tmp_path), bad_files.pdf_encrypted(tmp_path), bad_files.pdf_damaged(tmp_path)):
        pdf_pages.main(path, 10, 60)
    pdf_pages.main(tmp_path / "statement.pdf", 1, 60)
    said = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert said[0] == {"pages": 3, "first": 1, "last": 3}
    assert " ".join(bad_files.PDF_TITLES) in " ".join(said[1]["words"].split())
    assert [len(page["boxes"]) // 4 for page in said[1:4]] == [len(page["words"].split()) for page in said[1:4]]
    assert [page["size"] for page in said[1:4]] == [[612, 792]] * 3
    assert [one.get("hindrance", one.get("pages")) for one in said[4:]] == ["password", "damaged", "pages"]
