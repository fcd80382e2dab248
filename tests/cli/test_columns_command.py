"""`auditor columns` shows what was understood, takes corrections, and keeps them for the next of that layout."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner, Result

from auditor import intake
from auditor.cli.commands.columns import command as columns
from auditor.cli.commands.reconcile import command as reconcile
from auditor.intake import readings
from auditor.intake.readings import Reading
from tests import bad_files

STATEMENT = """\
Invoice no,Waybill,Particulars,Basis,Value
S1,NP44100261,Carriage,12,2.00
S1,NP44100262,Zebra,3,1.00
Total,,,,3.00
"""


@pytest.fixture
def statement(tmp_path: Path) -> Path:
    """A statement with a column, 'Basis', that no word tells."""
    return bad_files.write(tmp_path, "s1.csv", STATEMENT)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Where readings are kept."""
    return tmp_path / "readings"


def run(file: Path, folder: Path, *options: str) -> Result:
    """The command on that file."""
    return CliRunner().invoke(columns, [str(file), "--readings", str(folder), *options])


def test_each_column_is_shown_with_its_meaning_score_and_values(statement: Path, folder: Path) -> None:
    """What was skipped says why; the total is held against the lines."""
    shown = run(statement, folder)
    assert shown.exit_code == 0
    lines = [" ".join(line.split()) for line in shown.output.splitlines()]
    assert lines[:8] == [
        "s1.csv: a statement, 3 rows from row 2 on",
        "column read as score values",
        "Invoice no statement 1.00 S1 | Total",
        "Waybill tracking 0.98 NP44100261 | NP44100262",
        "Particulars description 0.98 Carriage | Zebra",
        "Basis – 12 | 3",
        "nothing that a statement needs has a name like it",
        "Value amount_cents 0.98 2.00 | 1.00 | 3.00",
    ]
    assert "Statement S1: 2 lines, $3.00, ties out to its own total." in shown.output


def test_a_statement_that_does_not_tie_out_exits_with_1(tmp_path: Path, folder: Path) -> None:
    """And says by how much."""
    path = bad_files.write(tmp_path, "s.csv", STATEMENT.replace("Total,,,,3.00", "Total,,,,5.00"))
    shown = run(path, folder)
    assert shown.exit_code == 1
    assert "Statement S1: 2 lines, $3.00; it prints $5.00, −$2.00 apart." in shown.output


def test_a_correction_is_tried_and_kept_and_used_by_reconcile(statement: Path, folder: Path, tmp_path: Path) -> None:
    """For the next statement with the same headings, which says so in a note; the terminal says where that is."""
    tried = run(statement, folder, "--set", "Basis=billed_weight_pg")
    assert "Basis billed_weight_pg 1.00" in " ".join(tried.output.split())
    assert not folder.exists()
    saved = run(statement, folder, "--set", "Basis=billed_weight_pg", "--save")
    [path] = folder.glob("*.toml")
    assert f"Saved: {path}" in saved.output
    following = bad_files.write(tmp_path, "s2.csv", STATEMENT.replace("S1", "S2").replace("Waybill", "WAYBILL "))
    taken = intake.read([following], readings=folder)
    assert taken.lines["billed_weight_pg"].notna().all()
    note = f"The columns were read as saved for this layout in {path.name}."
    assert note in [problem.message for problem in taken.problems]
    out = tmp_path / "report"
    told = CliRunner().invoke(reconcile, [str(following), "--out", str(out), "--readings", str(folder)])
    assert "The report and summary.json also have 2 choices made while reading." in told.output
    assert note in (out / "summary.json").read_text(encoding="utf-8")


def test_a_saved_reading_is_a_small_file_to_be_read_and_edited(statement: Path, folder: Path) -> None:
    """TOML, a line a column."""
    run(statement, folder, "--set", "Basis=not read", "--save")
    [path] = folder.glob("*.toml")
    layout = readings.digest(STATEMENT.splitlines()[0].split(","))
    assert path.name == f"statement-{layout}.toml"
    assert path.read_text(encoding="utf-8") == (
        '# How the columns of one layout are read. A column that is to be left out is "not read".\n'
        f'kind = "statement"\nlayout = "{layout}"\n\n[columns]\n"Invoice no" = "statement"\nWaybill = "tracking"\n'
        'Particulars = "description"\nValue = "amount_cents"\nBasis = "not read"\n'
    )
    assert readings.saved(folder)[0][0].columns["Basis"] == readings.NOT_READ


def test_a_table_that_no_word_tells_is_read_by_corrections(tmp_path: Path, folder: Path) -> None:
    """They make a statement of it."""
    path = bad_files.write(tmp_path, "x.csv", "aa,bb,cc\nNP1,Freight,2.00\n")
    assert run(path, folder).exit_code == 1
    given = [f"--set={one}" for one in ("aa=tracking", "bb=description", "cc=amount_cents")]
    assert "Statement x: 1 lines, $2.00" in run(path, folder, *given).output


def test_a_column_of_amounts_can_be_made_a_charge(tmp_path: Path, folder: Path) -> None:
    """As the note about it says."""
    content = "Statement,Tracking,Freight,Fuel surcharge,Peak\nS1,NP1,2.00,1.00,0.50\n"
    path = bad_files.write(tmp_path, "w.csv", content)
    assert 'run: auditor columns FILE --set "Peak=charge" --save' in run(path, folder).output
    assert "Statement S1: 3 lines, $3.50" in run(path, folder, "--set", "Peak=charge").output


@pytest.mark.parametrize(
    ("option", "message"),
    [
        ("Basis", "'Basis' is not HEADING=FIELD."),
        ("Nobody=tracking", "no column is called 'Nobody'. There are: Invoice no, Waybill, Particulars, Basis, Value."),
        ("Basis=zebra", "'Basis' cannot be 'zebra' in a statement; known are amount_cents, billed_height_nm,"),
    ],
)
def test_a_correction_that_cannot_be_is_said_in_a_sentence(
    statement: Path, folder: Path, option: str, message: str
) -> None:
    """With what there is; exit code 2."""
    shown = run(statement, folder, "--set", option)
    assert shown.exit_code == 2
    assert message in " ".join(shown.output.split())


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        ("kind = ", "it is not TOML (Invalid value (at end of document))"),
        ('kind = "zebra"\n', "it needs a kind, a layout and a table of columns"),
        (
            'kind = "fees"\nlayout = "x"\n[columns]\n"A" = "zone"\n"B" = "tracking"\n',
            (
                "'B' cannot be 'tracking' in a table of fees; known are amount_cents, charge, effective_on, zone, not "
                "read"
            ),
        ),
        ("#" * (readings.LARGEST + 1), "it is far larger than a reading is"),
    ],
)
def test_a_saved_reading_that_is_broken_is_told_of(statement: Path, folder: Path, content: str, reason: str) -> None:
    """And the file is read without it."""
    folder.mkdir()
    path = bad_files.write(folder, "broken.toml", content)
    taken = intake.read([statement], readings=folder)
    assert len(taken.lines) == 2
    [problem] = [problem for problem in taken.problems if not problem.note]
    assert problem.file == str(path)
    assert problem.message == f"This saved reading cannot be used: {reason}. Correct it, or delete it and save it anew."


def test_a_reading_is_known_by_its_headings_alone() -> None:
    """Case, blanks and signs do not matter, order does."""
    assert readings.digest(["Way bill", "Value (USD)"]) == readings.digest(["WAY_BILL", "value usd", ""])
    assert readings.digest(["Waybill", "Value"]) != readings.digest(["Value", "Waybill"])


def test_fields_are_still_known_by_the_names_they_had_before(statement: Path, folder: Path) -> None:
    """In readings that were saved then, and in commands that were written down then."""
    readings.save(folder, Reading("statement", "x", {"Basis": "read_weight_pg"}))
    assert readings.saved(folder)[0][0].columns == {"Basis": "measured_weight_pg"}
    shown = run(statement, folder, "--set", "Basis=read_weight_pg")
    assert "Basis measured_weight_pg 1.00" in " ".join(shown.output.split())


def test_headings_of_any_characters_are_kept(folder: Path) -> None:
    """Quotation marks, backslashes, letters of any script."""
    columns = {'a "b" \\ c': "tracking", "Größe\x7f": "billed_size", "重量": "billed_weight_pg"}
    readings.save(folder, Reading("statement", "x", columns))
    assert readings.saved(folder)[0][0].columns == columns


RECORDS = """\
Tracking number,Length in,Width in,Height in,Weight lb,Business address,Fulfilment
NP44100261,10,8,4,3,yes,Gone out
NP44100262,10,8,4,3,no,Taken back
NP44100263,10,8,4,3,,Not used
"""
STATES = "Fulfilment=voided: Taken back | not used"


def read(path: Path, folder: Path) -> pd.DataFrame:
    """The records as they are read with what is kept."""
    return intake.read([path], readings=folder).shipments


def test_a_column_can_say_the_opposite_and_words_can_mean_cancelled(tmp_path: Path, folder: Path) -> None:
    """Both are kept, and next month's records are read so; a blank stays unknown."""
    path = bad_files.write(tmp_path, "march.csv", RECORDS)
    shown = run(path, folder, "--set", "Business address=not residential", "--set", STATES, "--save")
    assert "Business address not residential 1.00 yes | no" in " ".join(shown.output.split())
    assert "Fulfilment voided: Taken back" in " ".join(shown.output.split())
    [kept] = readings.saved(folder)[0]
    assert (kept.columns["Business address"], kept.columns["Fulfilment"]) == ("not residential", STATES.split("=")[1])
    april = read(bad_files.write(tmp_path, "april.csv", RECORDS.replace("NP441002", "NP441003")), folder)
    assert april["residential"].isna().tolist() == [False, False, True]
    assert april["residential"].dropna().tolist() == [False, True]
    assert april["voided"].tolist() == [False, True, True]


def test_words_can_be_the_opposite_of_a_field() -> None:
    """And a cell that is neither yes nor no is left to be told of, where no words were said."""
    office = readings.meaning_of("not residential: Office | Dock")
    assert [office.yes(text) for text in ("office", "Dock", "Flat")] == [False, False, True]
    assert str(office) == "not residential: Office | Dock"
    with pytest.raises(ValueError, match="is neither yes nor no"):
        readings.meaning_of("not residential").yes("perhaps")


@pytest.mark.parametrize(
    ("option", "message"),
    [
        ("Fulfilment=voided: Stornno", "no cell of 'Fulfilment' says 'Stornno'. There are: Gone out, Not used, Taken"),
        ("Business address=not tracking", "'not tracking': of tracking there is no yes and no."),
        ("Business address=not zebra", "'Business address' cannot be 'not zebra' in"),
    ],
)
def test_what_is_no_yes_and_no_is_refused(tmp_path: Path, folder: Path, option: str, message: str) -> None:
    """With what there is."""
    shown = run(bad_files.write(tmp_path, "march.csv", RECORDS), folder, "--set", option)
    assert shown.exit_code == 2
    assert message in " ".join(shown.output.split())
