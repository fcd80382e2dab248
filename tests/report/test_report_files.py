"""findings.csv, lines.csv and summary.json: what exactly is written from an Audit."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.core import csv_cells, schemas
from auditor.core.csv_cells import inert, may_be_formula, quoted
from auditor.report import write
from auditor.report.csv_files import findings_csv, lines_csv
from auditor.report.groups import by_carton, by_cause
from auditor.report.summary import summary, summary_json
from tests import audits

MONTH = audits.month()
DOCUMENT = (Path(__file__).parents[2] / "docs" / "outputs.md").read_text(encoding="utf-8")


def cells(text: str) -> list[dict[str, str]]:
    """The CSV file's rows by heading."""
    return list(csv.DictReader(io.StringIO(text, newline="")))


def documented(section: str) -> list[str]:
    """The names in the first column of the first table of a section of docs/outputs.md."""
    part = DOCUMENT.split(f"## {section}\n", 1)[1].split("\n## ", 1)[0]
    return re.findall(r"^\| `([^`]+)` \|", part, flags=re.MULTILINE)


def keys(value: object, path: str = "") -> list[str]:
    """Every path to a plain value, with [] for an entry of a list and * for a name of a group."""
    if isinstance(value, list):
        return list(dict.fromkeys(key for entry in value for key in keys(entry, f"{path}[]")))
    if isinstance(value, dict):
        named = path in {"by_cause", "by_carton"}
        parts = (keys(entry, f"{path}.{'*' if named else name}".lstrip(".")) for name, entry in value.items())
        return list(dict.fromkeys(key for part in parts for key in part))
    return [path]


def test_writes_the_four_files_in_order_and_leaves_no_partial_one(tmp_path: Path) -> None:
    """The folder is made, and holds just the files whose paths are returned."""
    folder = tmp_path / "new" / "out"
    written = write(MONTH, folder)
    assert [path.name for path in written] == ["report.html", "findings.csv", "lines.csv", "summary.json"]
    assert sorted(folder.iterdir()) == sorted(written)


def test_the_same_audit_gives_the_same_bytes(tmp_path: Path) -> None:
    """Nothing depends on the clock, the folder or an earlier run."""
    first = [path.read_bytes() for path in write(MONTH, tmp_path / "a")]
    again = [path.read_bytes() for path in write(audits.month(), tmp_path / "b")]
    over = [path.read_bytes() for path in write(MONTH, tmp_path / "a")]
    assert first == again == over


def test_lines_end_with_a_newline_alone(tmp_path: Path) -> None:
    """No carriage return is written, on any system."""
    assert all(b"\r" not in path.read_bytes() for path in write(MONTH, tmp_path))


def test_half_a_character_pair_is_written_as_its_code(tmp_path: Path) -> None:
    """UTF-8 cannot hold a lone surrogate, and a run never ends on one."""
    problem = schemas.Problem("bad\udc80.csv", "", "Not UTF-8.")
    paths = write(replace(MONTH, problems=(problem,)), tmp_path)
    assert "bad\\udc80.csv" in paths[0].read_text(encoding="utf-8")


def test_findings_have_the_columns_of_the_design_in_its_order() -> None:
    """The heading row, word by word."""
    assert findings_csv(MONTH).splitlines()[0] == (
        "finding,shipment_tracking,tracking,match,confidence,order,carton,statement,charges,billed,expected,difference,"
        "cause,box_length,box_girth,declared_weight,rounding,other,price_basis,dispute,dispute_reason,dispute_by,"
        "source_file,source_place,explanation,disputable,strong"
    )


def test_a_finding_is_written_in_plain_units() -> None:
    """Dollars with two decimals, ISO dates, confidence as it is."""
    row = cells(findings_csv(MONTH))[0]
    assert row == {
        "finding": "F001",
        "shipment_tracking": "NP4410026031700123",
        "tracking": "NP4410026031700123",
        "match": "exact",
        "confidence": "0.999",
        "order": "Q-10231",
        "carton": "guitar box",
        "statement": "NP-2026-03",
        "charges": "freight; additional handling; fuel",
        "billed": "53.12",
        "expected": "22.16",
        "difference": "30.96",
        "cause": "box length",
        "box_length": "29.41",
        "box_girth": "0.00",
        "declared_weight": "0.00",
        "rounding": "1.55",
        "other": "0.00",
        "price_basis": "table",
        "dispute": "arguable",
        "dispute_reason": audits.FINDINGS[0]["dispute_reason"],
        "dispute_by": "2026-04-14",
        "source_file": "norrhaven-2026-03.csv",
        "source_place": "row 10",
        "explanation": audits.FINDINGS[0]["explanation"],
        "disputable": "30.96",
        "strong": "0.00",
    }


def test_what_is_missing_is_an_empty_cell() -> None:
    """A finding that could not be priced has no expected charge, shares, cause or dispute."""
    row = cells(findings_csv(MONTH))[10]
    empty = [name for name, value in row.items() if not value]
    assert empty == [
        *("expected", "difference", "cause", *schemas.SHARES),
        *("price_basis", "dispute", "dispute_reason", "dispute_by"),
    ]


def test_what_the_scale_read_stands_where_it_stood() -> None:
    """lines.csv keeps the names that its columns have had, whatever the tables call them."""
    assert "read_weight_lb" in lines_csv(MONTH).splitlines()[0].split(",")


def test_money_back_keeps_its_sign_as_a_number() -> None:
    """An amount below zero is not taken for a formula."""
    assert cells(findings_csv(MONTH))[9]["difference"] == "-0.42"
    assert cells(lines_csv(MONTH))[5]["amount"] == "-1.37"


def test_the_shares_of_every_finding_add_up_to_its_difference() -> None:
    """In cents, as written."""
    for row in cells(findings_csv(MONTH)):
        shares = sum(round(float(row[name] or 0) * 100) for name in schemas.SHARES)
        assert shares == round(float(row["difference"] or 0) * 100)


def test_a_statement_line_is_written_with_its_units_and_what_became_of_it() -> None:
    """Inches and pounds in decimals, the shipment it was joined to, the finding about it."""
    row = cells(lines_csv(MONTH))[1]
    assert row == {
        "statement": "NP-2026-03",
        "statement_on": "2026-03-31",
        "tracking": "NP4410026031700123",
        "description": "Additional handling adjustment",
        "charge": "additional handling",
        "amount": "30.96",
        "state": "adjustment",
        "shipped_on": "2026-03-04",
        "service": "Ground",
        "zone": "5",
        "billed_weight_lb": "40",
        "billed_length_in": "49",
        "billed_width_in": "20",
        "billed_height_in": "8",
        "read_weight_lb": "14.125",
        "order": "Q-10231",
        "source_file": "norrhaven-2026-03.csv",
        "source_place": "row 11",
        "source_box": "",
        "shipment_tracking": "NP4410026031700123",
        "finding": "F001",
    }


def test_every_line_is_written_once_and_in_order() -> None:
    """Also those of no parcel, with no finding, or whose amount could not be read."""
    rows = cells(lines_csv(MONTH))
    assert [row["source_place"] for row in rows] == [line["source_place"] for line in audits.LINES]
    assert [row["finding"] for row in rows] == [
        *("F001", "F001", "F005", "F005", "", "", "F006", "F007", "", "F008", "F009")
    ]
    assert not rows[-1]["amount"]


def test_no_cell_steers_a_terminal_or_begins_a_row() -> None:
    """What is unseen stands as its code, as at the terminal; a formula behind it is made inert all the same."""
    lines = MONTH.lines.assign(description="Freight\x1b[2J\r=1+1", statement="\x1b=2")
    text = lines_csv(replace(MONTH, lines=lines))
    assert not any(ord(letter) < ord(" ") for letter in text.replace("\n", ""))
    assert {row["description"] for row in cells(text)} == {"Freight\\u001b[2J =1+1"}
    assert {row["statement"] for row in cells(text)} == {"\\u001b=2"}


def test_no_cell_of_either_file_begins_like_a_formula() -> None:
    """Except numbers."""
    for row in (*cells(findings_csv(MONTH)), *cells(lines_csv(MONTH))):
        texts = [cell for cell in row.values() if not re.fullmatch(r"-?\d+\.\d\d", cell)]
        assert not any(map(may_be_formula, texts))
    assert cells(lines_csv(MONTH))[7]["description"] == "'" + audits.FORMULA


@pytest.mark.parametrize(
    "text",
    [
        "=1+1",
        "+1",
        "-1",
        "@SUM(A1)",
        "\tx",
        "\rx",
        "  =1",
        "\n=1",
        " \t=1",
        " \rx",
        "＝1",
        "＋1",
        "－1",
        "＠A",
        "﹢1",
        "\ufeff=1",
    ],
)
def test_a_text_that_may_be_a_formula_gets_a_leading_apostrophe(text: str) -> None:
    """Also after blanks and what is not seen, and in full-width or small signs, which some read as the plain ones."""
    assert inert(text) == f"'{text}"


@pytest.mark.parametrize("text", ["", "NP44", "48 x 20 x 8", "a=b", "'quoted", "−0.42"])
def test_any_other_text_stays_as_it_is(text: str) -> None:
    """A sign inside a text is no formula, nor is a minus that is not the keyboard's."""
    assert inert(text) == text


@given(st.text())
def test_no_text_is_left_a_formula_or_changed_otherwise(text: str) -> None:
    """At most one character is added, before it."""
    assert inert(text) in {text, f"'{text}"}
    assert not inert(text).lstrip().startswith(("=", "+", "-", "@"))


def test_an_empty_run_writes_headings_and_zeroes(tmp_path: Path) -> None:
    """A folder with nothing in it gives four whole files."""
    paths = write(audits.nothing(), tmp_path)
    assert [len(path.read_text(encoding="utf-8").splitlines()) for path in paths[1:3]] == [1, 1]
    assert json.loads(paths[3].read_text(encoding="utf-8"))["amounts"]["billed"] == "0.00"


def test_the_summary_has_the_statements_with_their_totals() -> None:
    """One that ties, one that does not, one that prints no total."""
    unproven = {"reading": None, "proof": None}
    assert summary(MONTH)["statements"] == [
        unproven
        | {"statement": "NP-2026-03", "lines": 9, "lines_total": "148.05", "printed_total": "148.05", "ties": True},
        unproven
        | {"statement": "LP-2026-03", "lines": 2, "lines_total": "16.50", "printed_total": "25.40", "ties": False},
        unproven | {"statement": "LP-2026-02B", "lines": 0, "lines_total": "0.00", "printed_total": None, "ties": None},
    ]


def test_the_summary_counts_lines_parcels_and_findings() -> None:
    """The pickup line is about no parcel, so it is neither matched nor unmatched."""
    assert summary(MONTH)["counts"] == {
        "lines": 11,
        "matched": 8,
        "unmatched": 2,
        "shipments": 8,
        "never_billed": 2,
        "findings": 12,
    }


def test_the_summary_has_the_amounts_as_decimal_text() -> None:
    """Billed is expected, difference and not audited together."""
    amounts = summary(MONTH)["amounts"]
    assert amounts == {
        "billed": "326.07",
        "expected": "145.57",
        "difference": "136.75",
        "not_audited": "43.75",
        "disputable": "89.39",
    }


def test_causes_and_cartons_each_add_up_to_the_difference() -> None:
    """Each finding is counted once, with its whole difference; one without a price adds nothing."""
    for groups in (by_cause(MONTH.findings), by_carton(MONTH.findings)):
        assert groups["amount_cents"].sum() == MONTH.difference_cents
        assert groups["count"].sum() == len(MONTH.findings)


def test_groups_stand_largest_first_and_name_what_has_no_name() -> None:
    """Equal amounts stand by name."""
    assert list(summary(MONTH)["by_cause"])[2:5] == ["unknown parcel", "duplicate", "voided label"]
    assert summary(MONTH)["by_cause"]["not priced"] == {"count": 1, "amount": "0.00"}
    assert summary(MONTH)["by_carton"]["no carton recorded"] == {"count": 2, "amount": "28.19"}


def test_the_summary_lists_labels_and_problems_with_file_and_place() -> None:
    """So that each can be found again."""
    written = summary(MONTH)
    assert written["never_billed"][0] == {"tracking": "NP4410026031700888", "file": "shipments.csv", "place": "row 88"}
    assert [label["tracking"] for label in written["voided_billed"]] == ["NP4410026031700777"]
    assert written["problems"][0] == {"file": "notice-4.eml", "place": "", "message": audits.PROBLEMS[0].message}


def test_the_summary_is_plain_json_in_utf_8() -> None:
    """Read back it is the same, and no character is written as a code."""
    assert json.loads(summary_json(MONTH)) == summary(MONTH)
    assert "\\u" not in summary_json(MONTH)


def test_outputs_are_documented_column_by_column_and_key_by_key() -> None:
    """docs/outputs.md has just the columns and keys that are written, in their order."""
    assert documented("findings.csv") == findings_csv(MONTH).splitlines()[0].split(",")
    assert documented("lines.csv") == lines_csv(MONTH).splitlines()[0].split(",")
    assert documented("summary.json") == keys(summary(MONTH))


def test_every_cause_is_documented() -> None:
    """In the order of schemas.CAUSES."""
    listed = DOCUMENT.split("The causes:", 1)[1].split("\n## ", 1)[0]
    assert tuple(re.findall(r"^\| ([a-z ]+) \|", listed, flags=re.MULTILINE)[1:]) == schemas.CAUSES


@given(st.lists(st.lists(st.text(), min_size=2, max_size=2), max_size=4))
def test_no_text_of_a_cell_starts_a_row(rows: list[list[str]]) -> None:
    """A carriage return within a cell stands in quotation marks, as readers of CSV go on to the next row at one."""
    text = "".join(csv_cells.row(row) for row in rows)
    assert list(csv.reader(io.StringIO(text, newline=""))) == rows
    assert all("\r" not in part for part in text.split('"')[::2])
    assert [quoted(cell) for cell in ("a", "a\rb", 'a"b', "a,b")] == ["a", '"a\rb"', '"a""b"', '"a,b"']


def test_a_carriage_return_in_a_file_name_stays_in_its_cell() -> None:
    """In findings.csv and lines.csv."""
    hostile = MONTH.lines.assign(source_file="a\rforged,row.csv")
    text = lines_csv(replace(MONTH, lines=hostile))
    assert [row["source_file"] for row in cells(text)] == ["a forged,row.csv"] * len(hostile)
    assert not re.search(r'(^|,)[^",]*\r', text)
