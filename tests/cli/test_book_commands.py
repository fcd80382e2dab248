"""`auditor reconcile` with a book, `auditor book`, `auditor disputes`, `auditor close`: as a user meets them."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import icalendar
import pytest

from tests import books, small_book
from tests.cli.test_cli import run

APRIL, JUNE = ("--today", "2026-04-24"), ("--today", "2026-06-02")


@pytest.fixture
def march(tmp_path: Path) -> Path:
    """March's files, taken into the book that the environment names."""
    books.march(Path(os.environ["AUDITOR_BOOK"]), books.APRIL)
    return small_book.march(tmp_path / "march")


@pytest.fixture
def may(tmp_path: Path) -> Path:
    """May's statement."""
    return small_book.file(tmp_path / "may", "may.csv", small_book.MAY)


def test_a_run_ends_with_what_expires_and_where_the_book_is(march: Path, tmp_path: Path) -> None:
    """On the page too; the day is the one given."""
    soon = "4 charges worth $43.50 can be disputed for 10 more days at most; the first ends on 2026-05-01, in 7 days."
    result = run("reconcile", march, "--out", tmp_path / "out", *APRIL)
    lines = result.stdout.splitlines()
    assert soon in lines
    assert lines[-1].startswith("Book: ")
    assert lines[-1].endswith("book.sqlite")
    assert soon in (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    later = run("reconcile", march, "--out", tmp_path / "out", *JUNE)
    assert "more days at most" not in later.stdout


def test_without_a_book_nothing_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The reminder comes from the findings."""
    monkeypatch.setenv("AUDITOR_BOOK", str(tmp_path / "none" / "book.sqlite"))
    folder = small_book.march(tmp_path / "march")
    result = run("reconcile", folder, "--no-book", "--out", tmp_path / "out", *APRIL)
    assert result.stdout.splitlines()[-1] == "No book was used, so nothing was kept."
    assert "4 charges worth $43.50 can be disputed" in result.stdout
    assert not (tmp_path / "none").exists()


def test_everything_in_the_book_can_be_reported_on(march: Path, may: Path, tmp_path: Path) -> None:
    """Without naming files."""
    run("reconcile", may, "--out", tmp_path / "out", *JUNE)
    result = run("reconcile", "--all", "--out", tmp_path / "out", *JUNE)
    assert "4 recorded parcels, 9 lines of 2 statements." in result.stdout
    del march


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("reconcile", "--out", "x"), "Name files or folders, or --all for what is in the book: one of the two."),
        (("reconcile", "--all", "y.csv"), "Name files or folders, or --all for what is in the book: one of the two."),
        (("reconcile", "y.csv", "--no-book", "--book", "b"), "--no-book looks at files alone, so it goes with neither"),
        (("disputes", "--book", "nowhere.sqlite"), "There is no book at nowhere.sqlite. 'auditor reconcile' makes one"),
        (("disputes", "sent", "NP1", "--book", "nowhere.sqlite"), "There is no book at nowhere.sqlite."),
        (("close", "2026-03", "--book", "nowhere.sqlite"), "There is no book at nowhere.sqlite."),
        (("book", "check", "--book", "nowhere.sqlite"), "There is no book at nowhere.sqlite."),
        (("close", "March"), "does not match the format '%Y-%m'"),
        (("evidence", "NP1"), "None of NP1 is a file or folder, so the book was looked into. There is no book at"),
        (("explain", "NP1"), "There is no book at"),
        (
            ("evidence", ".", "--book", "b"),
            "Name files or folders, or a --book: what is made is made from one of the two.",
        ),
        (("explain", "NP1", ".", "--book", "b"), "Name files or folders, or a --book"),
        (("explain", "NP1", "--as", "shipments=x"), "--as and --readings say how files are read, but no file"),
        (("explain", "."), ". is a folder. Name the parcel's number first, and the folder after it."),
    ],
)
def test_wrong_use_exits_with_2_and_says_what_was_wrong(
    arguments: tuple[str, ...], words: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And makes no book."""
    monkeypatch.chdir(tmp_path)
    result = run(*arguments)
    assert result.exit_code == 2
    assert words in " ".join(result.output.split())
    assert list(tmp_path.iterdir()) == []


def test_disputes_are_listed_by_last_day_and_amount(march: Path) -> None:
    """With the sums that must hold."""
    result = run("disputes", *APRIL)
    lines = result.stdout.splitlines()
    assert lines[:4] == [
        "by 2026-05-01      $16.50  open      NP2 on NP-2026-03: freight, strong",
        "by 2026-05-01      $12.50  open      NP3 on NP-2026-03: freight, strong",
        "by 2026-05-01      $12.50  open      NP9 on NP-2026-03: freight, arguable",
        "by 2026-05-01       $2.00  open      pickup service $14.00 on NP-2026-03: pickup service, strong",
    ]
    assert lines[4] == ("Disputed $43.50 = open $43.50 + credited $0.00 + refused $0.00 + given up $0.00.")
    del march


def test_a_dispute_lives_from_sent_to_refused_and_its_history_stays(march: Path) -> None:
    """Each mark says how it stands then."""
    said = run("disputes", "sent", "NP2", "NP9", "--reference", "C-7", "--on", "2026-04-20", *APRIL).stdout
    assert "NP2 on NP-2026-03 is sent: $16.50 = open $16.50 + credited $0.00" in said
    run("disputes", "answered", "NP9", "--note", "they ask for a photograph", *APRIL)
    assert (
        "is refused: $12.50 = open $0.00 + credited $0.00 + refused $12.50"
        in run("disputes", "refused", "NP9", *APRIL).stdout
    )
    assert "is given up: $2.00" in run("disputes", "give-up", "pickup service $14.00", *APRIL).stdout
    assert "is credited: $12.50" in run("disputes", "credited", "NP3", "--amount", "$12.50", *APRIL).stdout
    assert "is answered: $12.50 = open $12.50" in run("disputes", "take-up-again", "NP9", *APRIL).stdout
    assert run("disputes", "history", "NP9").stdout.splitlines() == [
        "2026-04-24  opened          $12.50",
        "2026-04-20  sent            reference C-7",
        "2026-04-24  answered        they ask for a photograph",
        "2026-04-24  refused",
        "2026-04-24  taken up again",
    ]
    assert "NP3" not in run("disputes", *APRIL).stdout
    assert "credited  NP3" in run("disputes", "--closed", *APRIL).stdout
    assert run("book", "check").exit_code == 0
    del march


def test_past_the_last_day_all_commands_say_so(march: Path, tmp_path: Path) -> None:
    """The list, a mark as sent, the calendar, the run and its page; nothing of it is worth disputing any more."""
    late = run("disputes", *JUNE).stdout
    assert "too late since 2026-05-01      $16.50  open      NP2 on NP-2026-03" in late
    assert "$43.50 of what is open was never sent and can no longer be disputed, by the days that the rules" in late
    sent = run("disputes", "sent", "NP2", *JUNE)
    assert sent.stderr == (
        "Warning: the last day to dispute NP2 on NP-2026-03 was 2026-05-01, by the days that the rules give, and you "
        "sent it on 2026-06-02. The carrier may refuse it for that; your contract decides.\n"
    )
    assert run("disputes", "sent", "NP3", "--on", "2026-05-01", *JUNE).stderr == ""
    assert "with 0 last days." in run("disputes", "calendar", tmp_path / "days.ics", *JUNE).stdout
    ran = run("reconcile", march, "--out", tmp_path / "out", *JUNE)
    assert "Worth disputing: $29.00." in ran.stdout  # what was sent
    assert "2 charges worth $14.50 can no longer be disputed: the last day has passed" in ran.stdout
    page = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    assert "too late, since it could be disputed until 2026-05-01" in page


def test_a_refused_dispute_is_listed_with_its_amount(march: Path) -> None:
    """Not as $0.00; and the run counts it no longer."""
    run("disputes", "sent", "NP2", *APRIL)
    run("disputes", "refused", "NP2", *APRIL)
    assert "by 2026-05-01      $16.50  refused   NP2 on NP-2026-03" in run("disputes", "--closed", *APRIL).stdout
    del march


@pytest.mark.parametrize("amount", ["twelve", "1.234", "nan", "-1"])
def test_an_amount_that_is_none_is_refused(march: Path, amount: str) -> None:
    """In words."""
    result = run("disputes", "credited", "NP2", f"--amount={amount}", *APRIL)
    assert result.exit_code == 2
    assert "Write it as 12.40." in result.output or "cannot be credited" in result.output
    del march


def test_the_calendar_is_written(march: Path, tmp_path: Path) -> None:
    """One entry, since all belong to one statement."""
    result = run("disputes", "calendar", tmp_path / "days.ics", *APRIL)
    assert "with 1 last day." in result.stdout
    made: Any = icalendar.Calendar.from_ical((tmp_path / "days.ics").read_bytes())
    assert made.walk("VEVENT")[0]["SUMMARY"] == "Last day to dispute 4 charges of statement NP-2026-03 ($43.50)"
    failed = run("disputes", "calendar", tmp_path / "no" / "days.ics")
    assert failed.exit_code == 2
    assert "The calendar cannot be written to" in failed.output
    assert "No such file or directory. Choose another place." in " ".join(failed.output.split())
    del march


def test_a_closed_month_is_told_of_when_a_later_statement_changes_it(march: Path, may: Path, tmp_path: Path) -> None:
    """In the run that changes it, and on its page."""
    result = run("close", "2026-03")
    assert result.stdout == "2026-03 is closed: 5 lines, billed $73.00, $41.50 over expected, disputed $41.50.\n"
    said = "Later correction of 2026-03, which is closed: billed −$14.00 by may.csv (1 item, $0.00 when it was closed)."
    later = run("reconcile", may, "--out", tmp_path / "out", *JUNE)
    assert said in later.stdout.splitlines()
    assert said in (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    assert "2026-03, closed on" in run("book", "show").stdout
    assert "already. Its figures stay as they were then." in " ".join(run("close", "2026-03").output.split())
    del march


def test_the_book_is_shown_checked_copied_and_restored(march: Path, tmp_path: Path) -> None:
    """Each says what it did."""
    shown = run("book", "show").stdout
    assert "Statement NP-2026-03: billed $87.00 = accepted $43.50 + disputed $43.50." in shown
    assert "march.csv" in shown
    assert "is whole: 4 files, their rows, sums and originals." in run("book", "check").stdout
    copy, restored = tmp_path / "copy.sqlite", tmp_path / "restored.sqlite"
    assert run("book", "backup", copy).exit_code == 0
    assert "is whole: 4 files" in run("book", "check", "--book", copy).stdout
    assert run("book", "export", tmp_path / "tables").exit_code == 0
    assert run("book", "import", tmp_path / "tables", "--book", restored).exit_code == 0
    assert "NP-2026-03: billed $87.00" in run("book", "show", "--book", restored).stdout
    next((tmp_path / "copy.documents").glob("*/*")).unlink()
    broken = run("book", "check", "--book", copy)
    assert broken.exit_code == 1
    assert "Problem: the original of" in broken.stderr
    del march


def test_a_file_is_set_aside_and_taken_back(march: Path, tmp_path: Path) -> None:
    """By the name that the book shows."""
    assert "is no longer counted" in run("book", "set-aside", "march.csv", "--because", "a draft").stdout
    assert "march.csv, set aside: a draft" in run("book", "show").stdout
    empty = run("reconcile", "--all", "--out", tmp_path / "out", *APRIL)
    assert "4 recorded parcels, 0 lines of 0 statements." in empty.stdout
    run("book", "take-back", "march.csv")
    assert "Billed $87.00" in run("reconcile", "--all", "--out", tmp_path / "out", *APRIL).stdout
    unknown = run("book", "set-aside", "april.csv")
    assert "There is no file april.csv in the book. 'auditor book show' lists their names." in unknown.output
    del march


def test_a_book_in_a_synced_folder_is_noted(tmp_path: Path) -> None:
    """The run goes on."""
    folder = small_book.march(tmp_path / "march")
    book = tmp_path / "My Cloud" / "book.sqlite"
    result = run("reconcile", folder, "--out", tmp_path / "out", "--book", book, *APRIL)
    assert result.exit_code == 0
    assert "looks like a folder that a program copies to other machines" in result.stderr


def test_who_did_not_send_a_parcel_says_so_and_it_is_disputed(tmp_path: Path) -> None:
    """NP2 is in no record but looks like the shop's own; the answer stays in the book from run to run."""
    folder = small_book.march(tmp_path / "march")
    records = small_book.SHIPMENTS.splitlines(keepends=True)
    (folder / "shipments.csv").write_text("".join(row for row in records if not row.startswith("NP2")))
    assert "Did you forget to record it?" in run("reconcile", folder, "--out", tmp_path / "out", *APRIL).stderr
    assert "NP2" not in run("disputes", *APRIL).stdout
    assert "NP2 on NP-2026-03 is open: $33.00" in run("disputes", "not-mine", "NP2", *APRIL).stdout
    listed = "by 2026-05-01      $33.00  open      NP2 on NP-2026-03: freight, arguable"
    assert listed in run("disputes", *APRIL).stdout.splitlines()
    assert run("book", "check").exit_code == 0
    run("reconcile", "--all", "--out", tmp_path / "out", *APRIL)
    assert listed in run("disputes", *APRIL).stdout.splitlines()
    assert run("evidence", "NP2", "--out", tmp_path / "letters", *APRIL).exit_code == 0
    assert "2026-04-24  not mine" in run("disputes", "history", "NP2").stdout
    (folder / "np2.csv").write_text("".join(row for row in records if not row.startswith(("NP1", "NP3", "NP4"))))
    run("reconcile", folder / "np2.csv", "--out", tmp_path / "out", *APRIL)
    assert "NP2 on NP-2026-03: freight, strong" in run("disputes", *APRIL).stdout


def test_a_parcel_in_the_records_is_no_question(march: Path) -> None:
    """Nor is one that nothing is found about."""
    words = "NP3 on statement NP-2026-03 is no parcel that is missing in your records, so there is nothing to answer."
    for number, said in (("NP3", words), ("NP77", "The book has nothing to ask about NP77.")):
        result = run("disputes", "not-mine", number, *APRIL)
        assert result.exit_code == 2
        assert said in " ".join(result.output.split())
    del march
