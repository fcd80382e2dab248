"""Evidence and workings made from the book, months later, from the originals kept beside it."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path

import pypdf
import pytest

from auditor.book import accounting, kept_disputes
from auditor.book.kept_audit import Recalled, recalled
from auditor.book.ledger import opened, reading_out, taking_in
from auditor.report import evidence
from tests import books, small_book
from tests.claims import photograph, small_pdf
from tests.cli.test_cli import run

DAY = date(2026, 4, 24)
CORRECTED = small_book.MARCH.replace("NP2,2026-03-05,Ground,5,Freight,15,16.50\nNP-2026-03,2026-04-01,", "", 1).replace(
    "87.00", "70.50"
)
"""March without the second freight of NP2."""


@pytest.fixture
def book() -> Path:
    """A book that knows March, which the environment names."""
    return books.march(Path(os.environ["AUDITOR_BOOK"]), books.APRIL)


def mark(book: Path, name: str, what: str, cents: int | None = None) -> None:
    """Mark a dispute."""
    with opened(book) as held:
        kept_disputes.mark(held, [name], kept_disputes.Mark(what, DAY, amount_cents=cents), today=DAY)


def set_aside(book: Path, name: str, why: str) -> None:
    """Set a file of the book aside."""
    with opened(book) as held:
        [file] = [one.file for one in reading_out.files(held) if one.name == name]
        taking_in.set_aside(held, file, why)


def original(book: Path, name: str) -> Path:
    """Where a file's original is kept."""
    with opened(book) as held:
        [path] = [one.path for one in reading_out.files(held) if one.name == name]
    return path


def chosen(book: Path, *wanted: str) -> tuple[list[str], dict[str, str]]:
    """What findings of a book are about that evidence is made of, and why none is made of others."""
    held = recalled(book)
    found = evidence.of_book(held, wanted or None)
    about = held.audit.findings.set_index("finding")
    names = about.loc[list(found.names), "tracking"].fillna(about["charges"]).tolist()
    return sorted(names), {one.what: one.why for one in found.refused}


@pytest.mark.slow
def test_papers_from_the_book_are_the_same_bytes_as_from_the_files(tmp_path: Path) -> None:
    """A row of a CSV file, a line of a PDF's page, a photograph; the answer says what they were made from."""
    folder = small_book.march(tmp_path / "march")
    earlier = "NP0,Q-0,2026-03-02,Ground,5,no,pedal box,12 x 10 x 8 in,4 lb,12.10,12.00,,\n"
    small_book.file(folder, "shipments.csv", small_book.SHIPMENTS + earlier)
    small_pdf(folder / "larkrise.pdf", buyer="Anselm Sorley")
    photograph(folder / "p2.jpg", taken="2026:03:05 08:00:00")
    accounting.reconcile([folder], book=Path(os.environ["AUDITOR_BOOK"]), today=DAY)
    wanted = ("NP2", "LK220726030300000026")
    run("disputes", "not-mine", wanted[1])  # whoever names it beside files says so
    from_book = run("evidence", *wanted, "--show-photographs", "--out", tmp_path / "book")
    from_files = run("evidence", *wanted, folder, "--show-photographs", "--out", tmp_path / "files")
    made = {path.name: path.read_bytes() for path in (tmp_path / "book").iterdir()}
    assert made == {path.name: path.read_bytes() for path in (tmp_path / "files").iterdir()}
    assert from_book.stdout.splitlines()[-1] == f"Made from the book {os.environ['AUDITOR_BOOK']}."
    assert from_files.stdout.splitlines()[-1] == f"Made from {folder}."
    papers = sorted((tmp_path / "book").glob("*.pdf"))
    assert [sum(len(page.images) for page in pypdf.PdfReader(path).pages) for path in papers] == [1, 1]


def test_looking_into_the_book_writes_nothing(book: Path, tmp_path: Path) -> None:
    """Not a byte."""
    before = book.read_bytes()
    run("evidence", "NP3", "--out", tmp_path / "out")
    run("explain", "NP3")
    assert book.read_bytes() == before


def test_without_names_the_strong_disputes_not_sent_yet_are_made(book: Path) -> None:
    """Arguable ones are named; a charge about no parcel by the words it is listed under."""
    assert chosen(book) == (["NP2", "NP3", "pickup service"], {})
    mark(book, "NP3", "sent")
    assert chosen(book) == (["NP2", "pickup service"], {})
    assert chosen(book, "np-3", "NP9", "pickup service $14.00") == (["NP3", "NP9", "pickup service"], {})


@pytest.mark.parametrize(
    ("marks", "why"),
    [
        (["credited"], "all of it was credited ($16.50), so there is nothing left to ask for"),
        (
            ["sent", "refused"],
            "the carrier refused it. To ask once more, take it up again: auditor disputes take-up-again NP2",
        ),
        (["given up"], "you gave it up. To ask for it after all, take it up again: auditor disputes take-up-again NP2"),
    ],
)
def test_what_is_closed_has_no_papers_and_says_what_to_do(book: Path, marks: list[str], why: str) -> None:
    """The others are made."""
    for what in marks:
        mark(book, "NP2", what)
    assert chosen(book, "NP2", "NP3") == (["NP3"], {"NP2 on statement NP-2026-03": why})


def test_what_was_credited_by_hand_is_not_asked_for_again(book: Path, tmp_path: Path) -> None:
    """The letter says so; the statements know nothing of it."""
    mark(book, "NP2", "credited", 650)
    assert "NP2: $10.00 of $33.00" in run("evidence", "NP2", "--out", tmp_path).stdout
    text = (tmp_path / "NP-2026-03_NP2.txt").read_text(encoding="utf-8")
    assert "We dispute $10.00 of the $33.00" in text
    assert "Of this, $6.50 has been given back since." in text


def test_all_of_the_papers_ask_for_what_is_still_open(book: Path, tmp_path: Path) -> None:
    """The table of shares too, and the sum of the claim."""
    mark(book, "NP3", "credited", 1050)
    assert "  NP3: $2.00 of $12.50" in run("evidence", "NP3", "--out", tmp_path).stdout
    text = " ".join(pypdf.PdfReader(tmp_path / "NP-2026-03_NP3.pdf").pages[1].extract_text().split())
    assert "Cause Share Asked back Voided label $12.50 $2.00" in text
    letter = (tmp_path / "NP-2026-03_NP3.txt").read_text(encoding="utf-8")
    assert "Please credit $2.00 and tell us" in letter
    assert "Of this, $10.50 has been given back since." in letter


def test_a_claim_that_rests_on_no_price_says_nothing_of_prices(tmp_path: Path) -> None:
    """A charge made twice, and a label voided, where prices were learned."""
    folder = small_book.march(tmp_path / "march")
    for name in ("rates.csv", "fees.csv"):
        (folder / name).unlink()
    assert run("evidence", "NP2", "NP3", folder, "--out", tmp_path / "out").exit_code == 0
    for name in ("NP2", "NP3"):
        pages = pypdf.PdfReader(tmp_path / "out" / f"NP-2026-03_{name}.pdf").pages
        text = " ".join(" ".join(page.extract_text() for page in pages).split())
        assert not {words for words in ("learned", "expected", "step by step", "Measured at packing") if words in text}


def test_papers_past_the_last_day_are_warned_of(book: Path, tmp_path: Path) -> None:
    """Once for all; on the last day nothing is said."""
    late = run("evidence", "NP2", "NP3", "--out", tmp_path / "out", "--today", "2026-05-02")
    assert "Warning: 2 claims of $29.00 could be disputed until 2026-05-01 at most, by the days that" in late.stderr
    assert "Warning" not in run("evidence", "NP2", "--out", tmp_path / "out", "--today", "2026-05-01").stderr
    del book


def test_a_finding_that_a_corrected_statement_took_away_is_refused(book: Path, tmp_path: Path) -> None:
    """With the day it was found and the file that was set aside; one that was sent says what to do about that."""
    set_aside(book, "march.csv", "replaced")
    accounting.reconcile([small_book.file(tmp_path, "new.csv", CORRECTED)], book=book, today=DAY)
    made, refused = chosen(book, "NP2", "NP3")
    assert made == ["NP3"]
    assert refused == {
        "NP2 on statement NP-2026-03": "it was found on 2026-04-24, but by what the book holds now nothing is wrong "
        "with it, since march.csv was set aside (replaced). A corrected statement, a record or a price that came later "
        "has settled it. Send nothing about it"
    }
    mark(book, "NP3", "sent")
    set_aside(book, "new.csv", "")
    assert chosen(book, "NP3")[1] == {
        "NP3 on statement NP-2026-03": "it was found on 2026-04-24, but that statement is no longer counted: march.csv "
        "was set aside (replaced) and new.csv was set aside. You sent it on 2026-04-24: tell the carrier, and then "
        "mark it as given up"
    }


def test_a_missing_or_changed_original_is_told_and_the_others_are_made(book: Path, tmp_path: Path) -> None:
    """A statement's row stands as text; without the record nobody knows the buyer's words, so there is no paper."""
    original(book, "march.csv").unlink()
    original(book, "shipments.csv").write_text("x", encoding="utf-8")
    result = run("evidence", "NP2", "NP9", "--out", tmp_path)
    assert result.exit_code == 1
    assert "1 claim, $12.50 in all." in result.stdout
    said = " ".join(result.stderr.split())
    assert f"Note: The original of march.csv is missing: {original(book, 'march.csv')}. Give the file to a run" in said
    assert "What is made of its lines has no picture of them and no digest of it." in said
    assert "No evidence for NP2: the original of shipments.csv was changed:" in said
    assert "Without it nobody can tell which words are the buyer's." in said


@pytest.mark.slow
def test_photographs_are_found_in_the_book_or_in_a_folder_given(book: Path, tmp_path: Path) -> None:
    """Two of one name are told, and the folder given decides."""
    for month in ("april", "may"):
        (tmp_path / month).mkdir()
        photograph(tmp_path / month / "p2.jpg", size=(8, 8 if month == "may" else 9))
        accounting.reconcile([tmp_path / month / "p2.jpg"], book=book, today=DAY)
    told = run("evidence", "NP2", "--out", tmp_path / "out").stderr
    assert "Your record names the photograph p2.jpg, and several files have that name. Put the right one alone" in told
    told = run("evidence", "NP2", "--out", tmp_path / "out", "--photographs", tmp_path / "may").stderr
    assert "p2.jpg" not in told


def test_a_run_number_of_a_finding_is_not_taken_for_one_of_the_book(book: Path) -> None:
    """It was of another report."""
    made, refused = chosen(book, "F001", "NP7")
    assert made == []
    assert refused["F001"].startswith("the numbers of findings (F001 …) hold for one run's report only.")
    assert refused["NP7"].startswith("it is neither a file or folder, nor the number of a parcel or finding here.")


@pytest.mark.usefixtures("book")
def test_other_rules_than_those_of_the_book_are_told(tmp_path: Path) -> None:
    """By which it was reckoned before."""
    told = " ".join(run("evidence", "NP9", "--rules", "us-postal", "--out", tmp_path).stderr.split())
    assert "Note: statement NP-2026-03 was reckoned by other rules in the book (us-ground-common" in told
    assert "Note: statement" not in run("evidence", "NP9", "--out", tmp_path).stderr


def test_explain_works_from_the_book_and_from_files(book: Path, tmp_path: Path) -> None:
    """The same working, and which it was."""
    folder = small_book.march(tmp_path / "march")
    from_book, from_files = (run("explain", "np 2", *paths).stdout.splitlines() for paths in ((), (folder,)))
    assert from_book[:-1] == from_files[:-1]
    assert from_book[0].endswith("statement NP-2026-03")
    assert (from_book[-1], from_files[-1]) == (f"Made from the book {book}.", f"Made from {folder}.")
    nothing = run("explain", "NP-4")
    assert nothing.exit_code == 1
    assert f"It is in your records, but no statement read here bills it. Looked into the book {book}." in nothing.output


def test_a_book_with_nothing_in_it_has_no_papers(tmp_path: Path) -> None:
    """And no fault."""
    opened(tmp_path / "empty.sqlite").connection.close()
    held: Recalled = recalled(tmp_path / "empty.sqlite")
    assert evidence.of_book(held, None).names == ()
    assert evidence.of_book(held, ["NP1"]).refused[0].what == "NP1"


def test_a_photograph_of_any_kind_and_with_a_path_in_the_record_is_kept(tmp_path: Path) -> None:
    """A phone's HEIC picture is one too; both are found again for the papers, and neither is read as a statement."""
    named = small_book.SHIPMENTS.replace("p2.jpg", r"C:\pictures\p2.heic")
    folder = small_book.march(tmp_path / "march")
    small_book.file(folder, "shipments.csv", named)
    (folder / "p2.heic").write_bytes(b"\0\0\0\x18ftypheic" + bytes(100))
    path = Path(os.environ["AUDITOR_BOOK"])
    assert accounting.reconcile([folder], book=path, today=DAY).audit.complete
    assert original(path, "p2.heic").read_bytes() == (folder / "p2.heic").read_bytes()
    told = run("evidence", "NP2", "--out", tmp_path / "out").stderr
    assert "Note: The photograph p2.heic is a HEIC picture, which is not opened here." in told
