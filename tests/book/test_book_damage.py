"""Damage of the book is noticed and told as damage; what it holds is for its owner alone."""

from __future__ import annotations

import os
import random
import re
import shutil
import sqlite3
import stat
import sys
from pathlib import Path

import pytest

from auditor.book import accounting, filing, health, kept_disputes
from auditor.book.ledger import BookError, copies, opened, reading_out, whereabouts
from auditor.book.ledger.check import check
from auditor.disputes.marking import ClaimError
from tests import books, small_book
from tests.cli.test_cli import run

FLIPS, SEED = 150, 17


def contents(path: Path) -> str:
    """All that is in the tables of a book, and how they are made."""
    connection = sqlite3.connect(path)
    try:
        return "\n".join(connection.iterdump())
    finally:
        connection.close()


@pytest.fixture(scope="module")
def march(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book that knows March, and has a closed month and a dispute that was sent."""
    folder = tmp_path_factory.mktemp("damage")
    book = books.march(folder / "book.sqlite")
    assert run("disputes", "sent", "NP3", "--book", book).exit_code == 0
    assert run("close", "2026-03", "--book", book).exit_code == 0
    return book


def told(path: Path) -> bool:
    """Whether damage is told of, by the check or on opening; anything else that ends it fails the test."""
    try:
        with opened(path, writable=False) as held:
            return bool(health.health_of(held).faults)
    except BookError:
        return True


@pytest.mark.sample(2)
@pytest.mark.parametrize("part", range(5))
def test_every_flipped_bit_is_noticed_or_harms_nothing(march: Path, tmp_path: Path, part: int) -> None:
    """150 at seeded places: either it is told, or every row and the plan of the tables read as before."""
    sound, before = march.read_bytes(), contents(march)
    chance, path = random.Random(SEED + part), tmp_path / "book.sqlite"
    shutil.copytree(march.with_name("book.documents"), tmp_path / "book.documents")
    noticed = 0
    for _ in range(FLIPS // 5):
        hurt = bytearray(sound)
        hurt[chance.randrange(len(hurt))] ^= 1 << chance.randrange(8)
        path.write_bytes(hurt)
        noticed += (is_told := told(path))
        assert is_told or contents(path) == before
    assert noticed


@pytest.mark.parametrize("part", range(2))
def test_a_flipped_bit_ends_no_command_but_in_words_of_ours(march: Path, tmp_path: Path, part: int) -> None:
    """What looks into the book, and what writes to it, at places where rows lie."""
    sound, chance, path = march.read_bytes(), random.Random(SEED + part), tmp_path / "book.sqlite"
    shutil.copytree(march.with_name("book.documents"), tmp_path / "book.documents")
    rows = [at for at, byte in enumerate(sound) if byte]
    for _ in range(10):
        hurt = bytearray(sound)
        hurt[chance.choice(rows)] ^= 1 << chance.randrange(8)
        for writable in (False, True):
            path.write_bytes(hurt)
            try:
                with opened(path, writable=writable) as held:
                    kept_disputes.disputes(held)
                    filing.parts_of(held)
                    if writable:
                        kept_disputes.mark(held, ["NP2"], kept_disputes.Mark("sent", books.TODAY), today=books.TODAY)
            except (BookError, ClaimError) as error:
                assert str(error)  # noqa: PT017 - whichever of the two it is


def changed(path: Path, *statements: str) -> Path:
    """The book after another program wrote to it."""
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA writable_schema = ON")
    for statement in statements:
        connection.execute(statement)
    connection.commit()
    connection.close()
    return path


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        (
            "UPDATE lines SET shipped_on = '2026-03-06' WHERE row = 2",
            "table lines has 1 rows that are not as they were",
        ),
        ("UPDATE layout SET columns = replace(columns, 'zone', 'zome')", "table layout has"),
        ("UPDATE file SET name = 'other.csv' WHERE name = 'march.csv'", "table file has 1 rows"),
        ("INSERT INTO rules (name, version, digest, used_at) VALUES ('a', 'b', '', '')", "table rules has 1 rows"),
        ("UPDATE sqlite_schema SET sql = replace(sql, 'tracking', 'tracking ') WHERE name = 'lines'", "at table lines"),
        ("UPDATE sqlite_schema SET sql = replace(sql, 'never', 'nevr') WHERE type = 'trigger'", "at trigger"),
        ("UPDATE sqlite_schema SET sql = replace(sql, 'zone TEXT', 'zome TEXT')", "the plan of its tables is damaged"),
        ("PRAGMA user_version = 2", "its header says that it has form 2, its steps say"),
        ("PRAGMA user_version = 0", "its header says that it has form 0, its steps say"),
    ],
)
def test_what_was_changed_is_told_as_damage(march: Path, tmp_path: Path, statement: str, words: str) -> None:
    """A day, a layout, a name, a row put in, the plan of the tables, the header; exits with 1 or 2."""
    path = changed(Path(shutil.copy(march, tmp_path / "book.sqlite")), statement)
    shutil.copytree(march.with_name("book.documents"), tmp_path / "book.documents")
    result = run("book", "check", "--book", path)
    assert result.exit_code in {1, 2}
    assert words in " ".join(result.output.split())


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE sqlite_schema SET sql = replace(sql, 'about TEXT', 'abuot TEXT') WHERE name = 'finding'",
        "UPDATE sqlite_schema SET sql = replace(sql, 'worth_cents ', 'worth_cemts ') WHERE name = 'finding'",
    ],
)
def test_a_damaged_plan_is_told_by_what_meets_it(march: Path, tmp_path: Path, statement: str) -> None:
    """And not as a fault of the program; of a column by which rows are found, and of another."""
    path = changed(Path(shutil.copy(march, tmp_path / "book.sqlite")), statement)
    for command in (["disputes"], ["reconcile", "--all", "--out", str(tmp_path / "out")], ["book", "check"]):
        result = run(*command, "--book", path)
        told = " ".join(result.output.split())
        assert result.exit_code in {1, 2}
        assert re.search("the plan of its tables is damaged|cannot be used: it is damaged", told)
        assert "The program itself failed" not in told


def test_a_damaged_book_is_not_renewed(tmp_path: Path) -> None:
    """Digests are given to rows that are as they were, and a copy of the damaged one would be no help."""
    fixtures = Path(__file__).parents[1] / "fixtures" / "books"
    path = changed(
        Path(shutil.copy(fixtures / "form-1.sqlite", tmp_path / "book.sqlite")),
        "UPDATE sqlite_schema SET sql = replace(sql, 'never', 'nevr') WHERE type = 'trigger'",
    )
    with pytest.raises(BookError, match=r"is damaged: the plan of its tables is damaged, at trigger"):
        opened(path)
    assert not list(tmp_path.glob("*form*"))


def test_every_way_of_writing_gives_rows_their_digests(march: Path, tmp_path: Path) -> None:
    """Taking in, reading again, marking, closing, setting aside, backup, export and import, renewing an old book."""
    path = books.march(tmp_path / "book.sqlite")
    accounting.reconcile([small_book.file(tmp_path, "may.csv", small_book.MAY)], book=path)
    name = "may.csv"
    for call in (
        ("disputes", "sent", "NP3"),
        ("close", "2026-03"),
        ("book", "set-aside", name),
        ("book", "take-back", name),
        ("book", "backup", tmp_path / "copy.sqlite"),
        ("book", "export", tmp_path / "export"),
    ):
        assert run(*call, "--book", path).exit_code == 0, call
    copies.restored(tmp_path / "export", tmp_path / "again.sqlite")
    for made in (path, tmp_path / "copy.sqlite", tmp_path / "again.sqlite", march):
        with opened(made, writable=False) as held:
            assert [fault for fault in check(held).faults if "NP-2026" not in fault] == []


def test_an_original_and_the_shops_own_rules_are_held_against_their_digests(tmp_path: Path) -> None:
    """Each file by itself."""
    rules = small_book.file(tmp_path, "own.toml", 'extends = "us-ground-common"\nname = "own"\n')
    path = tmp_path / "book.sqlite"
    result = run(
        "reconcile", small_book.march(tmp_path / "march"), "--rules", rules, "--book", path, "--out", tmp_path / "o"
    )
    assert result.exit_code == 0, result.output
    for kept in path.with_name("book.documents").glob("*/*"):
        content = bytearray(kept.read_bytes())
        content[len(content) // 2] ^= 4
        kept.write_bytes(content)
    with opened(path, writable=False) as held:
        faults = check(held).faults
    assert len([fault for fault in faults if fault.startswith("the original of ") and "was changed" in fault]) == 5
    assert any(fault.startswith("the original of the rules own was changed") for fault in faults)


# For the owner alone


@pytest.mark.skipif(sys.platform == "win32", reason="modes are POSIX's")
@pytest.mark.parametrize("umask", [0o000, 0o022, 0o277])
def test_the_book_and_its_originals_are_for_their_owner_alone(tmp_path: Path, umask: int) -> None:
    """0600 and 0700 whatever the umask: the book, its originals, a backup, an export, an import."""
    before = os.umask(umask)
    try:
        path = tmp_path / "book.sqlite"
        accounting.reconcile([small_book.march(tmp_path / "march")], book=path)
        with opened(path, writable=False) as held:
            copies.backup(held, tmp_path / "copy.sqlite")
            copies.export(held, tmp_path / "export", "csv")
        copies.restored(tmp_path / "export", tmp_path / "again.sqlite")
    finally:
        os.umask(before)
    made = [one for one in tmp_path.rglob("*") if not one.is_relative_to(tmp_path / "march") and one.name != "march"]
    modes = {(one.is_dir(), stat.S_IMODE(one.stat().st_mode)) for one in made}
    assert modes == {(False, 0o600), (True, 0o700)}


@pytest.mark.skipif(sys.platform == "win32", reason="modes are POSIX's")
def test_a_book_that_others_may_read_is_told_of(tmp_path: Path) -> None:
    """With what to do, by the run, by 'book show' and by 'book check'; not where it is closed."""
    path = books.march(tmp_path / "book.sqlite")
    path.chmod(0o600)
    documents = path.with_name("book.documents")
    documents.chmod(0o700)
    assert whereabouts.open_to_others(path) == ""
    path.chmod(0o640)
    documents.chmod(0o755)
    words = (
        f"Others on this machine may look into the book and its originals, which hold buyers' addresses. Close them: "
        f"chmod go= '{path}' '{documents}'"
    )
    assert whereabouts.open_to_others(path) == words
    for call in (["book", "show"], ["book", "check"], ["reconcile", "--all", "--out", str(tmp_path / "out")]):
        assert f"Note: {words}" in run(*call, "--book", path).output


def test_files_are_told_apart_before_anything_is_read(march: Path) -> None:
    """The fixture is sound, so that what the tests above find is what they did."""
    with opened(march, writable=False) as held:
        assert health.health_of(held).faults == ()
        assert len(reading_out.files(held)) == 4
