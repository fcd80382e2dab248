"""A close call between columns is asked about at a terminal, and nowhere else."""

from __future__ import annotations

import os
import pty
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from auditor import intake
from auditor.cli import group, questions
from auditor.intake import assignment, readings
from auditor.intake.assignment import completed
from auditor.intake.documents import Grid
from auditor.intake.headings import CloseCall, Meaning, by_names, heads
from tests import bad_files
from tests.parcels import pounds

HEADINGS = "Invoice no,Waybill,Fee type,Net value,Rated scanned weight"
ONE_COLUMN = f"{HEADINGS}\n" + "".join(f"S1,NP441002{n},Freight,2.{n % 10}0,{n} lb\n" for n in range(10, 20))
TWO_COLUMNS = "Invoice no,Waybill,Fee type,Imponibile,Lordo\n" + "".join(
    f"S1,NP441002{n},Freight,2.{n % 10}0,3.{n % 10}0\n" for n in range(10, 20)
)
ASKED = """
s.csv: what does column 'Rated scanned weight' of a statement say?
  Some of its values: 10 lb | 11 lb | 12 lb
  1  the billed weight (so it was read)
  2  the scale weight
Type 1 or 2, or 'keep' to leave it as it is [keep]: """
WHICH = """
s.csv: which column of a statement is the amount?
  1  'Imponibile' (so it was read): 2.00 | 2.10 | 2.20
  2  'Lordo': 3.00 | 3.10 | 3.20
"""


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody is there to be asked."""
    monkeypatch.setattr(questions, "at_terminal", lambda: True)


def run(tmp_path: Path, *arguments: str, content: str = ONE_COLUMN, typed: str = "") -> Result:
    """A command on that statement, with what is typed."""
    bad_files.write(tmp_path, "s.csv", content)
    command, *options = arguments
    given = [command, str(tmp_path / "s.csv"), "--readings", str(tmp_path / "kept"), *options]
    return CliRunner().invoke(group, given, input=typed, catch_exceptions=False)


def meaning_of(result: Result, heading: str) -> str:
    """What `auditor columns` says that a column was read as."""
    found = re.search(rf"^  {re.escape(heading)} +(\S+)", result.stdout, re.MULTILINE)
    return found[1] if found else ""


@pytest.mark.usefixtures("terminal")
@pytest.mark.parametrize(
    ("typed", "read_as"),
    [("2\nn\n", "measured_weight_pg"), ("1\nn\n", "billed_weight_pg"), ("keep\nn\n", "billed_weight_pg")],
)
def test_the_answer_is_used(tmp_path: Path, typed: str, read_as: str) -> None:
    """And not kept unless that is wished; the question shows both meanings and three values."""
    result = run(tmp_path, "columns", typed=typed)
    assert ASKED in result.stderr
    assert meaning_of(result, "Rated scanned weight") == read_as
    called = {"measured_weight_pg": "scale weight", "billed_weight_pg": "billed weight"}[read_as]
    assert f"Note: Columns were read as answered when asked: 'Rated scanned weight' as the {called}." in result.stdout
    assert "might be" not in result.stdout
    assert not (tmp_path / "kept").exists()


@pytest.mark.usefixtures("terminal")
def test_return_alone_keeps_what_was_read_and_writes_nothing(tmp_path: Path) -> None:
    """Both questions have a default that changes nothing."""
    result = run(tmp_path, "columns", typed="\n\n")
    assert meaning_of(result, "Rated scanned weight") == "billed_weight_pg"
    assert "Keep these answers for every file with the same headings? [y/N]:" in result.stderr
    assert not (tmp_path / "kept").exists()


@pytest.mark.usefixtures("terminal")
def test_something_else_is_asked_again(tmp_path: Path) -> None:
    """In the words of the question."""
    result = run(tmp_path, "columns", typed="3\n2\nn\n")
    assert "'3' is not one of '1', '2', 'keep'." in result.stderr
    assert meaning_of(result, "Rated scanned weight") == "measured_weight_pg"


@pytest.mark.usefixtures("terminal")
def test_an_answer_can_be_kept_and_is_then_not_asked_for_again(tmp_path: Path) -> None:
    """For the next file of the same headings."""
    result = run(tmp_path, "reconcile", "--out", str(tmp_path / "out"), typed="2\ny\n")
    [path] = (tmp_path / "kept").glob("*.toml")
    assert f"Saved: {path}" in result.stderr
    assert readings.saved(tmp_path / "kept")[0][0].columns == {"Rated scanned weight": "measured_weight_pg"}
    again = run(tmp_path, "reconcile", "--out", str(tmp_path / "out"))
    assert "what does column" not in again.output
    summary = (tmp_path / "out" / "summary.json").read_text(encoding="utf-8")
    assert f"The columns were read as saved for this layout in {path.name}." in summary
    taken = intake.read([tmp_path / "s.csv"], readings=tmp_path / "kept")
    assert taken.lines["measured_weight_pg"].to_list() == [pounds(n) for n in range(10, 20)]


@pytest.mark.usefixtures("terminal")
def test_with_save_the_whole_reading_is_kept_without_another_question(tmp_path: Path) -> None:
    """As `--save` does."""
    result = run(tmp_path, "columns", "--save", typed="2\n")
    assert "Keep these answers" not in result.output
    [reading] = readings.saved(tmp_path / "kept")[0]
    assert (reading.columns["Rated scanned weight"], len(reading.columns)) == ("measured_weight_pg", 5)


@pytest.mark.usefixtures("terminal")
def test_which_of_two_columns_is_meant_is_asked(tmp_path: Path) -> None:
    """With the values of each."""
    result = run(tmp_path, "columns", content=TWO_COLUMNS, typed="2\nn\n")
    assert WHICH in result.stderr
    assert (meaning_of(result, "Lordo"), meaning_of(result, "Imponibile")) == ("amount_cents", "–")


@pytest.mark.parametrize("command", ["columns", "reconcile"])
def test_nobody_is_asked_where_there_is_no_terminal(tmp_path: Path, command: str) -> None:
    """The note of the close call says how to settle it."""
    options = ["--out", str(tmp_path / "out")] if command == "reconcile" else []
    result = run(tmp_path, command, *options)
    assert "what does column" not in result.output
    assert (
        'If that is right, run: auditor columns FILE --set "Rated scanned weight=measured_weight_pg"' in result.output
    )


@pytest.mark.usefixtures("terminal")
def test_nobody_is_asked_who_does_not_wish_it(tmp_path: Path) -> None:
    """`--no-ask`, and with a correction given."""
    assert "what does column" not in run(tmp_path, "columns", "--no-ask").output
    assert "what does column" not in run(tmp_path, "columns", "--set", "Fee type=description").output


def call(other: Meaning, *, settled: bool = True) -> CloseCall:
    """A close call about column A."""
    return CloseCall("s.csv", "statement", ("A", "B"), Meaning("A", "zone", 0.7, ("1",)), other, open=settled)


@pytest.mark.usefixtures("terminal")
def test_only_what_an_answer_can_settle_is_asked_and_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same one in two files is one; one that a former answer settled is none any more."""
    asked: list[CloseCall] = []

    def other(one: CloseCall) -> Meaning:
        asked.append(one)
        return one.other

    monkeypatch.setattr(questions, "_asked", other)
    service, order = (Meaning("A", name, 0.7, ("1",)) for name in ("service", "order"))
    close_calls = [call(service, settled=False), call(order), call(order), call(service)]
    [reading] = questions.answered(close_calls)
    assert (len(asked), reading.columns) == (1, {"A": "order"})


@pytest.mark.usefixtures("terminal")
def test_ten_questions_are_enough(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """The rest stays in the notes."""
    monkeypatch.setattr(questions, "_asked", lambda one: one.taken)
    others = [Meaning(f"B{number}", "zone", 0.7, ()) for number in range(12)]
    questions.answered([call(other) for other in others])
    assert "2 more such questions are left to the notes below." in capsys.readouterr().err


def test_two_columns_of_one_heading_cannot_be_told_apart_by_an_answer(tmp_path: Path) -> None:
    """So there is a note and no question."""
    content = TWO_COLUMNS.replace("Lordo", "Imponibile")
    taken = intake.read([bad_files.write(tmp_path, "s.csv", content)])
    assert [one.open for one in taken.close_calls] == [False]


def test_an_answer_that_would_leave_a_table_without_what_it_needs_is_not_offered() -> None:
    """The only column of amounts cannot be something else; the only column of zones can."""
    rows = [["Waybill", "Charge", "Value", "Zone"], ["NP44100261", "Freight", "2.00", "5"]]
    fit = completed(by_names(next(heads(Grid(rows, ["row 1", "row 2"]))), "statement"))
    told = [
        assignment._close_call(fit, (at, field, 0.9), (at, "order", 0.85)).open  # noqa: SLF001 - no heading known makes one
        for at, field in ((2, "amount_cents"), (3, "zone"))
    ]
    assert told == [False, True]


def test_control_characters_of_a_heading_do_not_reach_the_terminal() -> None:
    """They could clear it, or write over what stands there."""
    hostile = CloseCall(
        "s\x1b[2J.csv",
        "statement",
        ("A",),
        Meaning("A\x1b]0;x\x07", "zone", 0.7, ("\x1b[31m1",)),
        Meaning("B\x9b", "zone", 0.7, ()),
        open=True,
    )
    text = "\n".join(questions._question(hostile))  # noqa: SLF001 - what would be printed
    assert re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f]", text) is None


def typed_at_terminal(command: list[str], *answers: tuple[str, str]) -> str:
    """All that a command prints at a real terminal where each answer is typed once its question stands there."""
    ours, theirs = pty.openpty()
    process = subprocess.Popen(command, stdin=theirs, stdout=theirs, stderr=theirs, close_fds=True)
    os.close(theirs)
    shown, waiting, until = "", list(answers), time.monotonic() + 60
    try:
        while time.monotonic() < until:
            try:
                shown += os.read(ours, 4096).decode(errors="replace")
            except OSError:  # Linux says so when the other end is closed
                break
            if waiting and waiting[0][0] in shown:
                os.write(ours, f"{waiting.pop(0)[1]}\n".encode())
    finally:
        os.close(ours)
        process.kill()
        process.wait()
    return shown.replace("\r\n", "\n")


def test_at_a_real_terminal_the_question_is_asked_and_the_answer_taken(tmp_path: Path) -> None:
    """And with a pipe for its output it is not."""
    path = bad_files.write(tmp_path, "s.csv", ONE_COLUMN)
    command = [sys.executable, "-m", "auditor", "columns", str(path), "--readings", str(tmp_path / "kept")]
    shown = typed_at_terminal(command, ("[keep]:", "2"), ("[y/N]:", "y"))
    assert ASKED in shown
    assert "'Rated scanned weight' as the scale weight." in shown
    assert "Saved: " in shown
    [path] = (tmp_path / "kept").glob("*.toml")
    path.unlink()
    piped = subprocess.run(command, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL)
    assert "what does column" not in piped.stdout + piped.stderr
