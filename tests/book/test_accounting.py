"""Runs with a book: what earlier months know, what later ones complete; order and repetition change nothing."""

from __future__ import annotations

import random
import sqlite3
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from auditor.book import accounting, all_months, health, kept_disputes
from auditor.book.ledger import BookError, closing, opened, reading_out, recording, taking_in
from auditor.book.ledger.documents import digest_of
from auditor.book.ledger.reading_out import table
from auditor.disputes.marking import ClaimError
from auditor.report.summary import summary
from tests import books, killed, small_book
from tests.books import TODAY
from tests.run.test_month import SAMPLE
from tests.run.test_month import audit as sample

JUNE = small_book.HEAD + "NP-2026-06,2026-07-01,NP1,2026-03-04,Ground,5,Freight,12,15.00\n"
"""The freight of NP1, billed in March, once more."""


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A book that knows March."""
    return books.march(tmp_path / "shelf" / "book.sqlite")


@pytest.fixture(scope="module")
def of_sample(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, accounting.Booked]:
    """A book with the sample month, and what the run gave."""
    path = tmp_path_factory.mktemp("sample") / "book.sqlite"
    return path, run(path, SAMPLE)


@pytest.fixture
def march(tmp_path: Path) -> Path:
    """March's files."""
    return small_book.march(tmp_path / "march")


@pytest.fixture
def may(tmp_path: Path) -> Path:
    """May's statement."""
    return small_book.file(tmp_path, "may.csv", small_book.MAY)


def run(book: Path, *paths: Path, **more: Any) -> accounting.Booked:
    """A run on that day."""
    return accounting.reconcile(paths, book=book, today=TODAY, **more)


def stands(found: accounting.Booked) -> list[list[Any]]:
    """How each dispute stands: what it is about, its state, and its sums."""
    columns = ["about", "state", "amount_cents", "open_cents", "credited_cents"]
    return found.disputes[columns].to_numpy().tolist()


def figures(book: Path) -> list[Any]:
    """All that a book says, without instants and its own numbers."""
    with opened(book) as held:
        reckoned = [
            table(held.connection, "SELECT * FROM statement ORDER BY 1", recording.STATEMENT),
            table(held.connection, "SELECT * FROM finding ORDER BY 1, 2", recording.FINDING),
            table(held.connection, "SELECT * FROM dispute ORDER BY 1, 2", recording.BALANCE),
        ]
        history = recording.history(held.connection).sort_values(["statement", "about", "what"])
    return [one.astype(str).to_numpy().tolist() for one in (*reckoned, history)]


def messages(found: accounting.Booked) -> list[str]:
    """What there was to say."""
    return [problem.message for problem in found.audit.problems]


@pytest.mark.slow
def test_the_sample_month_is_the_same_with_a_book_and_without(of_sample: tuple[Path, accounting.Booked]) -> None:
    """Every table and figure, also when the files are there already."""
    book, first = of_sample
    plain = sample()
    for audit in (first.audit, run(book, SAMPLE).audit):
        assert summary(audit) == summary(plain)
        for name in ("shipments", "lines", "statements", "readings", "findings", "never_billed", "voided_billed"):
            pd.testing.assert_frame_equal(getattr(audit, name), getattr(plain, name))
        finding = str(plain.findings["finding"].iloc[0])
        assert audit.workings[finding] == plain.workings[finding]


def test_what_is_worth_disputing_is_in_the_book_to_the_cent(of_sample: tuple[Path, accounting.Booked]) -> None:
    """And each statement's balance is there."""
    book, found = of_sample
    assert found.disputes["amount_cents"].sum() == found.audit.disputable_cents
    with opened(book) as held:
        statements = recording.statements(held.connection)
    assert statements["billed_cents"].sum() == found.audit.billed_cents
    assert (statements["billed_cents"] == statements["accepted_cents"] + statements["disputed_cents"]).all()


def test_taking_the_same_files_in_again_writes_nothing(book: Path, march: Path) -> None:
    """Not a byte."""
    before = book.read_bytes()
    run(book, march)
    assert book.read_bytes() == before


@pytest.mark.slow
def test_the_order_of_taking_in_changes_nothing(tmp_path: Path, march: Path, may: Path) -> None:
    """All at once; in pairs, mixed up; and the last statement first, the records with the first one."""
    june = small_book.file(tmp_path, "june.csv", JUNE)
    mixed = random.Random(1).sample([*sorted(march.iterdir()), may, june], 6)
    expected: list[Any] = []
    for turns in ([[march, may, june]], [mixed[:2], mixed[2:4], mixed[4:]], [[june], [may, march]]):
        book = tmp_path / f"{len(turns)}-{len(turns[0])}.sqlite"
        for given in turns:
            run(book, *given)
        run(book)
        expected = expected or figures(book)[:3]
        assert figures(book)[:3] == expected


def test_a_later_statement_closes_a_dispute_by_its_credit(book: Path, march: Path, may: Path) -> None:
    """In full, or short, which is named with file and row; the statement of March stays as it was."""
    later = run(book, may)
    assert stands(later) == [
        ["NP2", "credited", 1650, 0, 1650],
        ["NP3", "open", 1250, 250, 1000],
        ["NP9", "open", 1250, 1250, 0],
        ["pickup service $14.00", "open", 200, 200, 0],
    ]
    assert "The credit of $10.00 for parcel NP3 is not as claimed on statement NP-2026-03: $2.50 short." in messages(
        later
    )
    assert run(book, march).audit.difference_cents == 4350


def test_a_run_shows_the_statements_given_by_all_that_the_book_knows(book: Path, may: Path) -> None:
    """The records of March know the parcel that May bills first; findings are numbered for the run."""
    audit = run(book, may).audit
    assert audit.statements["statement"].tolist() == ["NP-2026-05"]
    assert audit.billed_cents == -1400
    assert {problem.file for problem in audit.problems} == {"", "may.csv"}
    assert audit.expected_cents == 1250
    assert audit.findings["finding"].tolist() == ["F001", "F002"]
    assert sorted(audit.lines["finding"].dropna()) == ["F001", "F002"]
    assert list(audit.workings) == ["F001", "F002"]
    assert len(run(book).audit.statements) == 2


def test_a_charge_billed_before_in_another_month_is_a_duplicate(book: Path, tmp_path: Path) -> None:
    """Seen though only June is given."""
    audit = run(book, small_book.file(tmp_path, "june.csv", JUNE)).audit
    assert audit.findings[["tracking", "cause", "difference_cents"]].to_numpy().tolist() == [["NP1", "duplicate", 1500]]


def test_an_export_of_the_records_made_again_doubles_no_parcel(book: Path, tmp_path: Path) -> None:
    """With more rows, given in a later run."""
    more = small_book.SHIPMENTS + "NP5,Q-5,2026-04-02,Ground,5,no,pedal box,12 x 10 x 8 in,4 lb,12.10,12.00,,\n"
    audit = run(book, small_book.file(tmp_path, "records.csv", more)).audit
    assert audit.shipments["tracking"].tolist() == ["NP1", "NP2", "NP3", "NP4", "NP5"]
    assert run(book).audit.difference_cents == 4350


def test_a_file_is_named_once_whatever_it_is_called_later(book: Path, tmp_path: Path) -> None:
    """By its content."""
    copy = small_book.file(tmp_path, "downloaded.csv", small_book.MARCH)
    found = run(book, copy)
    assert "This file is in the book already, as march.csv, byte for byte. It was counted once." in messages(found)
    assert found.audit.billed_cents == 8700


def test_a_file_that_cannot_be_read_is_not_taken_in(book: Path, march: Path, tmp_path: Path) -> None:
    """It is told, the rest is taken, and it can be given again when it is mended."""
    found = run(book, march, small_book.file(tmp_path, "broken.csv", ""))
    assert not found.audit.complete
    with opened(book) as held:
        assert "broken.csv" not in [one.name for one in reading_out.files(held)]


def test_a_file_that_may_not_be_opened_is_told_as_ever(
    book: Path, march: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is no fault of the book; nor when an earlier file had its name."""

    def closed(path: Path) -> str:
        if path.name == "fees.csv":
            path.unlink()
        return digest_of(path)

    monkeypatch.setattr("auditor.book.filing.digest_of", closed)
    found = run(book, march)
    assert "This file cannot be opened (No such file or directory)." in " ".join(messages(found))
    assert found.audit.billed_cents == 8700


def test_a_corrected_reading_takes_the_place_of_the_first(book: Path, march: Path, tmp_path: Path) -> None:
    """As `auditor columns --save` keeps them; and without a new word the file stays as the user said it is."""
    odd = small_book.file(
        tmp_path, "odd.csv", small_book.MARCH.replace("Amount", "Value").replace("2026-03,", "X,").replace(",NP", ",ZP")
    )
    first = run(book, march, odd, how=accounting.HowRead(given={"statement": [odd]}))
    again = run(book, odd)
    assert again.audit.billed_cents == first.audit.billed_cents - 8700 == 8700


def test_photographs_are_kept_and_not_read(book: Path, march: Path, tmp_path: Path) -> None:
    """Named by the records; their bytes are there for evidence."""
    picture = tmp_path / "p2.jpg"
    picture.write_bytes(b"\xff\xd8\xff\xe0not really a picture")
    run(book, march)
    found = run(book, picture)
    assert found.audit.complete
    with opened(book) as held:
        [kept] = [one for one in reading_out.files(held) if one.picture]
        assert kept.path.read_bytes() == picture.read_bytes()


def test_a_run_by_other_rules_leaves_what_was_reckoned_by_the_first(book: Path, march: Path, may: Path) -> None:
    """And says so; given again, the statement is reckoned by the new ones."""
    other = run(book, may, rules="us-postal")
    assert any(
        "Statement NP-2026-03 was reckoned by other rules before (us-ground-common" in one for one in messages(other)
    )
    with opened(book) as held:
        rules = dict(held.connection.execute("SELECT statement, rules FROM statement"))
    assert {name: text.split()[0] for name, text in rules.items()} == {
        "NP-2026-03": "us-ground-common",
        "NP-2026-05": "us-postal",
    }
    run(book, march, rules="us-postal")
    with opened(book) as held:
        assert "us-postal" in dict(held.connection.execute("SELECT statement, rules FROM statement"))["NP-2026-03"]


def test_the_rules_used_are_noted_and_own_ones_kept(book: Path, march: Path, tmp_path: Path) -> None:
    """With the digest of the shop's own file."""
    own = small_book.file(tmp_path, "own.toml", 'extends = "us-ground-common"\nname = "own"\n')
    run(book, march)
    run(book, march, rules=own)
    with opened(book) as held:
        noted = held.connection.execute("SELECT name, digest FROM rules ORDER BY name").fetchall()
        assert [name for name, _ in noted] == ["own", "us-ground-common"]
        assert next(held.documents.glob(f"*/{noted[0][1]}.toml")).read_text(encoding="utf-8") == own.read_text()


def test_a_file_set_aside_is_not_counted_until_it_is_taken_back(book: Path, march: Path, may: Path) -> None:
    """Its credits go and come again, and the history says so."""
    run(book, march, may)
    for why, credited in (("wrong account", 0), (None, 2650)):
        with opened(book) as held:
            [file] = [one.file for one in reading_out.files(held) if one.name == "may.csv"]
            taking_in.set_aside(held, file, why)
        found = run(book)
        assert found.disputes["credited_cents"].sum() == credited
        assert len(found.audit.statements) == (1 if why else 2)
        if why:
            again = run(book, may)
            assert again.audit.lines.empty
            assert "This file was set aside in the book (wrong account), so it is not counted." in " ".join(
                messages(again)
            )
    with opened(book) as held:
        history = kept_disputes.history_of(held, "NP2")
        assert history["amount_cents"].tolist() == [1650, 1650, -1650, 1650]
        assert health.health_of(held).faults == ()


def test_a_statement_set_aside_leaves_nothing_to_dispute_but_what_was_sent(book: Path) -> None:
    """Nothing is deleted."""
    with opened(book) as held:
        kept_disputes.mark(held, ["NP3"], kept_disputes.Mark("sent", TODAY), today=TODAY)
        [file] = [one.file for one in reading_out.files(held) if one.name == "march.csv"]
        taking_in.set_aside(held, file, "")
    found = run(book)
    assert [one[:3] for one in stands(found)] == [
        ["NP2", "withdrawn", 0],
        ["NP3", "sent", 1250],
        ["NP9", "withdrawn", 0],
        ["pickup service $14.00", "withdrawn", 0],
    ]
    with opened(book) as held:
        assert health.health_of(held).faults == ()


def test_marks_are_all_made_or_none(book: Path) -> None:
    """A name that is not there stops the others."""
    with opened(book) as held:
        with pytest.raises(ClaimError, match=r"There is no dispute about NP77. 'auditor disputes' lists all."):
            kept_disputes.mark(held, ["NP2", "NP77"], kept_disputes.Mark("sent", TODAY), today=TODAY)
        assert set(kept_disputes.disputes(held)["state"]) == {"open"}
        after = kept_disputes.mark(
            held, ["np-2", "pickup service $14.00"], kept_disputes.Mark("sent", TODAY), today=TODAY
        )
        assert [one["state"] for one in after] == ["sent", "sent"]
        assert health.health_of(held).faults == ()


def test_a_parcel_disputed_on_two_statements_is_told_apart_by_the_statement(
    book: Path, march: Path, tmp_path: Path
) -> None:
    """And the message names them."""
    june = JUNE.replace("NP1,", "NP2,").replace("15.00", "16.50")
    run(book, march, small_book.file(tmp_path, "june.csv", june.replace(",12,", ",15,")))
    with opened(book) as held:
        how = kept_disputes.Mark("sent", TODAY)
        with pytest.raises(
            ClaimError, match=r"NP2 is disputed on several statements: NP-2026-03, NP-2026-06. Name one"
        ):
            kept_disputes.mark(held, ["NP2"], how, today=TODAY)
        [one] = kept_disputes.mark(held, ["NP2"], how, today=TODAY, statement="NP-2026-06")
        assert (one["statement"], one["state"]) == ("NP-2026-06", "sent")
        with pytest.raises(ClaimError, match=r"There is no dispute about NP2 on statement X."):
            kept_disputes.mark(held, ["NP2"], how, today=TODAY, statement="X")


def test_a_change_by_another_run_is_noticed_and_all_is_reckoned_again(
    book: Path, may: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between reading out and writing down."""
    real, calls = all_months.reckon, []

    def late(*arguments: Any) -> Any:
        calls.append(1)
        if len(calls) == 1:
            killed.take_all(book, killed.documents_of([may]))
        return real(*arguments)

    monkeypatch.setattr(all_months, "reckon", late)
    assert run(book).disputes["credited_cents"].sum() == 2650
    assert len(calls) == 2


# The month's close


def test_a_closed_month_keeps_its_figures_and_shows_what_came_later(book: Path, may: Path) -> None:
    """A credit in May for parcels of March: by month of shipping, with the file that caused it."""
    with opened(book) as held:
        closing.close(held, "2026-03")
        before = closing.months(held)
        assert closing.corrections(held).empty
    later = run(book, may)
    rows = later.corrections.drop(columns="closed_cents").to_numpy().tolist()
    assert rows == [
        ["2026-03", "NP-2026-05", "all its lines", "billed", -1400, -1400, "may.csv"],
        ["2026-03", "NP-2026-05", "NP2", "difference", -1650, -1650, "may.csv"],
        ["2026-03", "NP-2026-05", "NP3", "difference", -1000, -1000, "may.csv"],
    ]
    with opened(book) as held:
        pd.testing.assert_frame_equal(closing.months(held), before)
        assert before[["lines", "billed_cents", "difference_cents", "disputed_cents"]].to_numpy().tolist() == [
            [5, 7300, 4150, 4150]
        ]


def test_records_that_come_after_the_close_are_named_as_the_cause(book: Path, march: Path, tmp_path: Path) -> None:
    """NP9 was nobody's, and turns out to be the shop's own."""
    with opened(book) as held:
        closing.close(held, "2026-03")
    records = small_book.SHIPMENTS.splitlines()[0] + (
        "\nNP9,Q-9,2026-03-09,Ground,5,no,pedal box,12 x 10 x 8 in,4 lb,12.10,12.00,,\n"
    )
    corrections = run(book, small_book.file(tmp_path, "forgotten.csv", records)).corrections
    assert run(book, march).corrections.drop(columns="month").to_numpy().tolist() == [
        ["NP-2026-03", "NP9", "difference", 1250, 0, -1250, "forgotten.csv"],
        ["NP-2026-03", "NP9", "disputed", 1250, 0, -1250, "forgotten.csv"],
    ]
    assert len(corrections) == 2


def test_a_month_is_closed_once_and_only_when_it_is_there(book: Path, may: Path) -> None:
    """And only when all that was taken in was reckoned."""
    with opened(book) as held:
        with pytest.raises(
            BookError, match=r"There is nothing of 2026-09 in the book. It has 2026-03, 2026-04. Months"
        ):
            closing.close(held, "2026-09")
        killed.take_all(book, killed.documents_of([may]))
        with pytest.raises(BookError, match="2026-03 cannot be closed yet: NP-2026-05 was taken in but not reckoned"):
            closing.close(held, "2026-03")
    run(book)
    with opened(book) as held:
        closing.close(held, "2026-03")
        with pytest.raises(BookError, match=r"2026-03 was closed on \d{4}-\d\d-\d\d already. Its figures stay"):
            closing.close(held, "2026-03")
        with (
            pytest.raises(sqlite3.IntegrityError, match="closed month are never changed"),
            held.writing() as connection,
        ):
            connection.execute("UPDATE closed_counted SET billed_cents = 0")
