"""The book: what is taken in comes out the same, whole or not at all, whatever goes wrong; old forms are renewed."""

from __future__ import annotations

import json
import multiprocessing
import os
import random
import resource
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import replace
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from auditor import intake
from auditor.book import accounting, filing, health, kept_disputes
from auditor.book.ledger import Book, BookError, copies, digests, opened, reading_out, whereabouts
from auditor.book.ledger.check import check
from auditor.book.ledger.documents import digest_of, keep, place
from auditor.book.ledger.opening import own_steps
from auditor.book.ledger.taking_in import Document, take_in
from auditor.core import schemas
from tests import books, killed, small_book
from tests.cli.test_cli import run
from tests.run.test_month import SAMPLE

OLD_BOOKS = Path(__file__).parents[1] / "fixtures" / "books"
DERIVED = {"lines": {"source_file", "charge", "state"}}
"""Columns that are reckoned anew each time, beside the name of the file."""


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """A new book."""
    with opened(tmp_path / "shelf" / "book.sqlite") as held:
        yield held


@pytest.fixture
def march(tmp_path: Path) -> Iterator[Book]:
    """A book that knows March."""
    with opened(books.march(tmp_path / "shelf" / "march.sqlite")) as held:
        yield held


def document(path: Path, **changed: Any) -> Document:
    """A file, read; with what is changed of that."""
    [read] = killed.documents_of([path])
    return replace(read, **changed)


def dump(path: Path) -> str:
    """All that is in a book, as SQL."""
    connection = sqlite3.connect(path)
    try:
        return "\n".join(connection.iterdump())
    finally:
        connection.close()


def parts(book: Book) -> list[intake.Part]:
    """What the book's files gave."""
    return [part for _, part in filing.parts_of(book)]


@pytest.mark.parametrize("name", intake.TABLES)
def test_the_book_has_every_column_that_files_give(book: Book, name: str) -> None:
    """A column added to auditor/tables.py needs a step; one that is derived from others is not kept."""
    with book.reading() as connection:
        columns = {column for (column,) in connection.execute("SELECT name FROM pragma_table_info(?)", (name,))}
    assert columns - {"file", "row", "row_digest"} == set(schemas.names(intake.TABLES[name])) - DERIVED.get(
        name, {"source_file"}
    )


def test_findings_and_events_have_the_columns_of_their_tables(book: Book) -> None:
    """As above."""
    with book.reading() as connection:
        finding, event = (
            {column for (column,) in connection.execute("SELECT name FROM pragma_table_info(?)", (name,))}
            for name in ("finding", "event")
        )
    own = {"about", "month", "worth_cents", "row_digest"}
    assert finding - own == set(schemas.names(schemas.FINDINGS)) - {"finding", "disputable_cents", "strong_cents"}
    assert event - {"number", "row_digest"} == set(schemas.names(schemas.EVENTS))


def test_what_is_taken_in_comes_out_the_same(book: Book) -> None:
    """The same tables and the same to say, from the files and from the book, whatever the order of taking in."""
    paths = sorted(SAMPLE.iterdir())
    given = [intake.part_of(intake.File(path, path.name)) for path in paths]
    documents = list(map(killed.document, paths, given))
    for one in random.Random(1).sample(documents, len(documents)):
        take_in(book, one, intake.TABLES)
    from_files, from_book = intake.together(given), intake.together(parts(book))
    for name in intake.TABLES:
        pd.testing.assert_frame_equal(getattr(from_files, name), getattr(from_book, name))
    assert from_files.problems == from_book.problems
    assert check(book).faults == ()


def test_the_original_is_kept_by_content(book: Book, tmp_path: Path) -> None:
    """With its ending, under its digest; a file of that content taken in again is the same file."""
    path = small_book.file(tmp_path, "march.csv", small_book.MARCH)
    take_in(book, document(path), intake.TABLES)
    before = dump(book.path)
    take_in(book, document(path), intake.TABLES)
    [filed] = reading_out.files(book)
    assert filed.path == place(book.documents, digest_of(path), ".csv")
    assert filed.path.read_text(encoding="utf-8") == small_book.MARCH
    assert dump(book.path) == before


@pytest.mark.parametrize("name", ["x.csv/../../evil", "x.$(rm)", "x.averyverylongending", "x"])
def test_no_path_is_made_from_a_name(book: Book, tmp_path: Path, name: str) -> None:
    """An ending that is not a plain one is left away."""
    path = small_book.file(tmp_path, "m.csv", small_book.MARCH)
    take_in(book, document(path, name=name), intake.TABLES)
    [filed] = reading_out.files(book)
    assert filed.path == place(book.documents, digest_of(path), "")


def test_a_file_read_in_another_way_is_replaced(book: Book, tmp_path: Path) -> None:
    """Such as after its columns were corrected; the original stays the same."""
    path = small_book.file(tmp_path, "march.csv", small_book.MARCH)
    first = document(path)
    take_in(book, first, intake.TABLES)
    other = {**first.tables, "lines": first.tables["lines"].assign(service="Air")}
    take_in(book, document(path, kind="statement", reading="y", tables=other), intake.TABLES)
    [part] = parts(book)
    assert part.tables["lines"]["service"].tolist() == ["Air"] * 6
    assert check(book).faults == ()


def test_files_of_one_name_are_told_apart_by_their_content(book: Book, tmp_path: Path) -> None:
    """Whichever came first."""
    for month, text in (("march", small_book.MARCH), ("may", small_book.MAY)):
        take_in(book, document(small_book.file(tmp_path / month, "statement.csv", text)), intake.TABLES)
    names = [one.name for one in reading_out.files(book)]
    digests = sorted(digest_of(tmp_path / month / "statement.csv")[:8] for month in ("march", "may"))
    assert names == [f"statement.csv ({digest})" for digest in digests]
    assert parts(book)[0].tables["lines"]["source_file"].unique().tolist() == names[:1]


def test_text_that_no_file_can_hold_is_written_as_its_code(book: Book, tmp_path: Path) -> None:
    """Half of a character pair, from a damaged file."""
    path = small_book.file(tmp_path, "march.csv", small_book.MARCH)
    given = document(path)
    lines = given.tables["lines"].assign(description=pd.Series(["half \ud800"] * 6, dtype=object))
    take_in(book, replace(given, tables={"lines": lines}), intake.TABLES)
    assert parts(book)[0].tables["lines"]["description"].unique().tolist() == ["half \\ud800"]


def test_a_write_after_which_the_sums_do_not_hold_is_undone(march: Book) -> None:
    """With a word on what is wrong; the book is as before."""
    before = dump(march.path)
    with (
        pytest.raises(
            BookError, match=r"statement NP-2026-03: \$43\.50 is disputed, but its disputes come to \$27\.00"
        ),
        march.writing() as connection,
    ):
        connection.execute(
            "UPDATE dispute SET amount_cents = 0, open_cents = 0, state = 'withdrawn' WHERE about = 'NP2'"
        )
    assert dump(march.path) == before
    with pytest.raises(sqlite3.IntegrityError, match="CHECK"), march.writing() as connection:
        connection.execute("UPDATE dispute SET open_cents = open_cents + 1")
    assert dump(march.path) == before


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("DELETE FROM event", "never deleted"),
        ("UPDATE event SET amount_cents = 1", "never changed"),
    ],
)
def test_the_history_is_only_added_to(march: Book, change: str, words: str) -> None:
    """The database itself refuses anything else."""
    with pytest.raises(sqlite3.IntegrityError, match=words), march.writing() as connection:
        connection.execute(change)


def test_check_finds_what_was_done_behind_its_back(march: Book, tmp_path: Path) -> None:
    """A changed row, a lost row, a changed original, a missing one."""
    filed = {one.name: one for one in reading_out.files(march)}
    march.connection.execute("UPDATE lines SET amount_cents = 1501 WHERE row = 1")
    march.connection.execute("DELETE FROM shipments WHERE row = 4")
    filed["rates.csv"].path.write_text("x", encoding="utf-8")
    filed["fees.csv"].path.unlink()
    told = "\n".join(check(march).faults)
    assert "statement NP-2026-03: $87.00 is billed in one of its files, but the lines there come to $87.01" in told
    assert "march.csv gave 6 rows of $87.00 to lines, but 6 rows of $87.01 are there" in told
    assert "shipments.csv gave 4 rows" in told
    assert f"the original of rates.csv was changed: {filed['rates.csv'].path}." in told
    assert f"the original of fees.csv is missing: {filed['fees.csv'].path}." in told
    accounting.reconcile([small_book.march(tmp_path / "files")], book=march.path)
    assert "original" not in "\n".join(check(march).faults)


def test_the_sqlite3_command_agrees(march: Book) -> None:
    """An implementation's own shell: the file is sound, and the balances are there for anyone."""
    if not shutil.which("sqlite3"):
        pytest.skip("there is no sqlite3 command here")
    queries = (
        "PRAGMA integrity_check; PRAGMA foreign_key_check; SELECT billed_cents, accepted_cents, disputed_cents FROM "
        "statement; SELECT sum(amount_cents) FROM lines; SELECT sum(amount_cents), sum(open_cents) FROM dispute;"
    )
    said = subprocess.run(["sqlite3", march.path, queries], capture_output=True, text=True, check=True).stdout
    assert said.split() == ["ok", "8700|4350|4350", "8700", "4350|4350"]


# What goes wrong


@pytest.mark.slow
def test_killed_at_any_moment_the_book_holds_all_of_a_file_or_none(tmp_path: Path) -> None:
    """25 times here, each into the book that the one before left; `python -m tests.killed` does it 200 times."""
    paths = killed.files(tmp_path / "files", 12)
    documents, chance, book = killed.documents_of(paths), random.Random(3), tmp_path / "book.sqlite"
    killed.killed_after(60, killed.take_all, tmp_path / "first.sqlite", documents[:1])
    counts = []
    for _ in range(25):
        killed.killed_after(chance.uniform(0.01, 0.25), killed.take_all, book, documents)
        counts.append(killed.whole_or_absent(book, 400))
    killed.take_all(book, documents)
    assert killed.whole_or_absent(book, 400) == 12
    assert counts == sorted(counts)


@pytest.mark.slow
def test_two_runs_at_once_both_get_in(tmp_path: Path) -> None:
    """Each waits for the other; nothing is lost and nothing doubled."""
    book, march = tmp_path / "book.sqlite", small_book.march(tmp_path / "march")
    may = small_book.file(tmp_path, "may.csv", small_book.MAY)
    context = killed.context()
    runs = [context.Process(target=killed.reconcile, args=(book, [path])) for path in (march, may)]
    for one in runs:
        one.start()
    for one in runs:
        one.join(300)
    assert [one.exitcode for one in runs] == [0, 0]
    with opened(book) as held:
        assert len(reading_out.files(held)) == 5
        assert health.health_of(held).faults == ()
        accounting.reconcile([], book=book)
        assert kept_disputes.disputes(held)["credited_cents"].sum() == 2650


def run_on_a_full_disk(arguments: Sequence[str], said: Connection) -> None:
    """A call of the command line by which no file may get longer than this: how a full disk looks to a program."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (400_000, 400_000))
    result = run(*arguments)
    said.send((result.exit_code, result.stderr))


@pytest.mark.skipif(sys.platform == "win32", reason="limits of processes are POSIX's")
def test_a_full_disk_is_told_and_harms_nothing(tmp_path: Path) -> None:
    """By a limit on the size of files: none of the file that did not fit is in the book, and it fits later."""
    book = books.march(tmp_path / "book.sqlite")
    big = "".join(f"S9,2026-04-01,NP{line},2026-03-05,Ground,5,Freight,7,12.50\n" for line in range(4_500))
    path = small_book.file(tmp_path, "big.csv", small_book.HEAD + big)
    before = dump(book)
    here, there = multiprocessing.Pipe()
    arguments = ["reconcile", *map(str, (path, "--book", book, "--out", tmp_path / "o"))]
    process = killed.context().Process(target=run_on_a_full_disk, args=(arguments, there))
    process.start()
    process.join()
    code, message = here.recv()
    assert code == 74
    assert f"The book {book} cannot be used: the disk failed, or is full." in " ".join(message.split())
    assert dump(book) == before
    killed.take_all(book, killed.documents_of([path]))
    with opened(book) as held:
        assert len(reading_out.files(held)) == 5
        assert health.health_of(held).faults == ()


def test_a_book_without_room_says_so(book: Book, tmp_path: Path) -> None:
    """The database's own limit."""
    pages = book.connection.execute("PRAGMA page_count").fetchone()[0]
    book.connection.execute(f"PRAGMA max_page_count = {pages}")
    [path] = killed.files(tmp_path, 1)
    with pytest.raises(BookError, match=r"there is no room left. Nothing of this was written to it. Make room"):
        take_in(book, document(path), intake.TABLES)
    assert reading_out.files(book) == []


def open_as_nobody(path: Path, said: Connection) -> None:
    """Open a book as a user who may not do everything, and send what is said."""
    if os.geteuid() == 0:
        os.setuid(65_534)
    try:
        with opened(path) as held, held.writing() as connection:
            connection.execute("DELETE FROM problem")
    except BookError as error:
        said.send(str(error))


@pytest.mark.parametrize("made", [False, True])
def test_a_read_only_folder_is_told(made: bool) -> None:  # noqa: FBT001 - whether the book is there already
    """Whether the book is to be made there, or may be read but not renewed."""
    with tempfile.TemporaryDirectory() as name:
        path = Path(name, "book.sqlite")
        if made:
            opened(path).connection.close()
            os.chown(path, 65_534 if os.geteuid() == 0 else -1, -1)
            path.chmod(0o400)
        Path(name).chmod(0o555)
        here, there = multiprocessing.Pipe()
        process = killed.context().Process(target=open_as_nobody, args=(path, there))
        process.start()
        process.join()
        assert here.poll()
        assert f"The book {path} cannot be used: " in (message := here.recv())
        assert "Change that, or" in message if made else "Look at the folder and who may write to it" in message
        Path(name).chmod(0o755)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"not a database, but long enough to look like one" * 30, "it is no book, or it is damaged."),
        (None, "is a database of another program, not a book of this one. Choose another --book."),
    ],
)
def test_a_file_that_is_no_book_is_refused(tmp_path: Path, content: bytes | None, words: str) -> None:
    """And left as it is."""
    path = tmp_path / "other.sqlite"
    if content is None:
        with sqlite3.connect(path) as other:
            other.execute("CREATE TABLE notes (text)")
        other.close()
    else:
        path.write_bytes(content)
    before = path.read_bytes()
    with pytest.raises(BookError, match=words):
        opened(path)
    assert path.read_bytes() == before


def test_a_damaged_book_is_told(tmp_path: Path) -> None:
    """In the middle of its pages."""
    path = books.march(tmp_path / "book.sqlite")
    content = bytearray(path.read_bytes())
    content[4096:] = b"\xff" * (len(content) - 4096)
    path.write_bytes(content)
    with pytest.raises(BookError, match=r"it is damaged. Restore a backup"), opened(path) as held:
        reading_out.files(held)


# Steps


SECOND = {
    **own_steps(),
    max(own_steps()) + 1: "ALTER TABLE file ADD COLUMN remark TEXT;\nCREATE TABLE more (x) STRICT;",
}
GOOD = {**own_steps(), max(own_steps()) + 1: "ALTER TABLE file ADD COLUMN remark TEXT;"}


@pytest.fixture
def old(tmp_path: Path, request: pytest.FixtureRequest) -> Path:
    """A copy of a book that an earlier version made."""
    form = request.param
    shutil.copytree(OLD_BOOKS / f"form-{form}.documents", tmp_path / "book.documents")
    return Path(shutil.copy(OLD_BOOKS / f"form-{form}.sqlite", tmp_path / "book.sqlite"))


@pytest.mark.sample(2)
@pytest.mark.parametrize("old", own_steps(), indirect=True)
def test_a_book_of_every_earlier_form_is_renewed_and_works_on(old: Path, tmp_path: Path) -> None:
    """Its disputes stand as they stood, and a statement of May is taken in."""
    may = small_book.file(tmp_path, "may.csv", small_book.MAY)
    after = accounting.reconcile([may], book=old).disputes
    assert after["state"].tolist() == ["credited", "sent", "open", "open"]
    assert after["reference"].tolist()[1] == "C-1"
    with opened(old) as held:
        assert health.health_of(held).faults == ()


@pytest.mark.parametrize("old", [3], indirect=True)
def test_what_was_measured_is_still_there_under_its_new_name(old: Path) -> None:
    """Of lines, notices, and how their columns were read; a heading that is called as a field was stays as it is."""
    layout = json.dumps({"read_size": "read_weight_pg"})
    with closing(sqlite3.connect(old)) as before:
        digests.keep_up(before)
        before.execute("UPDATE lines SET read_weight_pg = 7")
        before.execute("UPDATE layout SET columns = ?", (layout,))
        before.commit()
    with opened(old) as held:
        assert set(held.connection.execute("SELECT measured_weight_pg FROM lines")) == {(7,)}
        layouts = {json.loads(text)["read_size"] for (text,) in held.connection.execute("SELECT columns FROM layout")}
        assert layouts == {"measured_weight_pg"}
        assert health.health_of(held).faults == ()


@pytest.mark.parametrize("old", own_steps(), indirect=True)
def test_a_step_is_recorded_and_a_copy_of_the_book_before_it_is_kept(old: Path, request: pytest.FixtureRequest) -> None:
    """The number, the row in the table of steps, and all that was there."""
    before = dump(old)
    form, first = max(own_steps()), request.node.callspec.params["old"]
    with opened(old, steps=GOOD) as held:
        assert held.connection.execute("PRAGMA user_version").fetchone()[0] == form + 1
        assert [number for (number,) in held.connection.execute("SELECT number FROM step")] == [
            *sorted(own_steps()),
            form + 1,
        ]
        assert len(reading_out.files(held)) == 4
    assert dump(old.with_name(f"book-form-{first}.sqlite")) == before
    opened(old, steps=GOOD).connection.close()


@pytest.mark.parametrize("old", [max(own_steps())], indirect=True)
def test_a_step_that_fails_in_the_middle_leaves_the_book_as_it_was(old: Path) -> None:
    """Number and tables."""
    before = dump(old)
    with pytest.raises(sqlite3.OperationalError, match="missing datatype"):
        opened(old, steps=SECOND)
    assert dump(old) == before


def test_a_book_of_a_newer_version_is_refused(tmp_path: Path) -> None:
    """And left as it is."""
    path = tmp_path / "book.sqlite"
    opened(path, steps=GOOD).connection.close()
    before = path.read_bytes()
    with pytest.raises(BookError, match="was made by a newer version of this program") as error:
        opened(path)
    assert "Install the newer version, or choose another book with --book." in str(error.value)
    assert path.read_bytes() == before


def test_steps_are_numbered_without_a_gap_and_each_has_its_old_book() -> None:
    """The newest one's is there too, for the next."""
    assert sorted(own_steps()) == list(range(1, max(own_steps()) + 1))
    assert {path.stem for path in OLD_BOOKS.glob("*.sqlite")} == {f"form-{number}" for number in own_steps()}


# Copies


def test_a_backup_is_made_while_the_book_is_in_use(march: Book, tmp_path: Path) -> None:
    """The same rows, and every original; one that is there is not overwritten."""
    with opened(march.path) as other:
        other.connection.execute("BEGIN")
        other.connection.execute("SELECT count(*) FROM lines").fetchone()
        copies.backup(march, tmp_path / "usb" / "copy.sqlite")
        other.connection.rollback()
    assert dump(tmp_path / "usb" / "copy.sqlite") == dump(march.path)
    with opened(tmp_path / "usb" / "copy.sqlite") as copy:
        assert health.health_of(copy).faults == ()
    with pytest.raises(BookError, match=r"is there already. Choose another name for the backup"):
        copies.backup(march, tmp_path / "usb" / "copy.sqlite")


@pytest.mark.sample(1)
@pytest.mark.parametrize("form", ["csv", "parquet"])
def test_an_export_imported_is_the_same_book(book: Book, tmp_path: Path, form: copies.Form) -> None:
    """Row for row, with hostile, empty and missing texts, and every original."""
    folder = small_book.march(tmp_path / "march")
    hostile = small_book.SHIPMENTS.replace("Q-1,", "=1+1,").replace("Q-2,", "'Q,").replace("Q-4,", '"a\r\n""b""",')
    small_book.file(folder, "shipments.csv", hostile)
    accounting.reconcile([folder], book=book.path)
    with book.writing() as connection:
        connection.execute("UPDATE file SET set_aside = '' WHERE name = 'fees.csv'")
    copies.export(book, tmp_path / "out", form)
    copies.restored(tmp_path / "out", tmp_path / "again" / "book.sqlite")
    assert dump(tmp_path / "again" / "book.sqlite") == dump(book.path)
    with opened(tmp_path / "again" / "book.sqlite") as again:
        assert health.health_of(again).faults == ()
    if form == "csv":
        assert "'=1+1," in (tmp_path / "out" / "shipments.csv").read_text(encoding="utf-8")


def test_an_import_that_is_not_whole_is_refused_and_leaves_nothing(march: Book, tmp_path: Path) -> None:
    """A missing manifest, a lost row, a changed value, a changed original, a book in the way."""
    copies.export(march, tmp_path / "out", "csv")
    target, lines = tmp_path / "again.sqlite", tmp_path / "out" / "lines.csv"
    text = lines.read_text(encoding="utf-8")
    faults = {
        "".join(text.splitlines(keepends=True)[:-1]): "has 5 rows, but 6 were exported",
        text.replace(",1,NP-2026-03", ",x,NP-2026-03"): "cannot be imported",
        text.replace("row,", "rows,", 1): "does not have the columns of a book",
    }
    for changed, words in faults.items():
        lines.write_text(changed, encoding="utf-8")
        with pytest.raises(BookError, match=words):
            copies.restored(tmp_path / "out", target)
        assert not target.exists()
    lines.write_text(text, encoding="utf-8")
    original = next((tmp_path / "out" / "documents").glob("*/*"))
    original.write_text("x", encoding="utf-8")
    with pytest.raises(BookError, match=r"A document in .* is not what it was"):
        copies.restored(tmp_path / "out", target)
    (tmp_path / "out" / "book.json").unlink()
    with pytest.raises(BookError, match="is no whole export of a book"):
        copies.restored(tmp_path / "out", target)
    with pytest.raises(BookError, match="There is a book at"):
        copies.restored(tmp_path / "out", march.path)
    with pytest.raises(BookError, match=r"is not empty. Choose another folder"):
        copies.export(march, tmp_path / "out", "csv")


# Where it lies


@pytest.mark.parametrize("folder", ["My Cloud", "synced", "Shared drive"])
def test_a_folder_that_is_copied_elsewhere_is_warned_of(tmp_path: Path, folder: str) -> None:
    """By its name, or by a mark that a program for that leaves in it."""
    path = tmp_path / folder / "shop" / "book.sqlite"
    assert f"{tmp_path / folder} looks like a folder that a program copies to other machines" in whereabouts.warning(
        path
    )
    (tmp_path / "plain" / ".stfolder").mkdir(parents=True)
    assert whereabouts.warning(tmp_path / "plain" / "book.sqlite")
    assert whereabouts.warning(tmp_path / "other" / "book.sqlite") == ""


def test_a_network_folder_is_warned_of(tmp_path: Path) -> None:
    """By the system's list of mounts."""
    mounts = tmp_path / "mounts"
    mounts.write_text("/dev/sda1 / ext4 rw 0 0\nserver:/x /srv/office nfs4 rw 0 0\n", encoding="utf-8")
    assert "it lies on another machine, over the network" in whereabouts.warning(
        Path("/srv/office/book.sqlite"), mounts
    )
    assert whereabouts.warning(Path("/srv/own/book.sqlite"), mounts) == ""


def test_a_file_that_changes_while_it_is_kept_is_refused(book: Book, tmp_path: Path) -> None:
    """What is kept is what was read."""
    path = small_book.file(tmp_path, "march.csv", small_book.MARCH)
    given = document(path)
    path.write_text("other", encoding="utf-8")
    with pytest.raises(BookError, match=r"march.csv was not taken in: it changed while it was read. Run again."):
        take_in(book, given, intake.TABLES)
    with pytest.raises(ValueError, match="changed"):
        keep(book.documents, path, given.digest, ".csv")
    assert not list(book.documents.glob("*/*"))
