"""The run with a book: files are taken in, all months are reckoned together, and what comes of it is written down."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path

import pandas as pd

from auditor import intake
from auditor.audit import Audit, audited
from auditor.book import all_months
from auditor.book.excerpt import excerpt
from auditor.book.filing import Answer, filed, parts_of, read_together, until_something_is_read
from auditor.book.kept_disputes import disputes
from auditor.book.ledger import Book, BookError, closing, opened, recording
from auditor.book.ledger.reading_out import Filed
from auditor.book.ledger.recording import ChangedMeanwhileError
from auditor.core.schemas import Problem
from auditor.disputes.history import not_mine
from auditor.intake.readings import Reading, saved
from auditor.tariff import Rulebook, expecting
from auditor.tariff import opened as rules_opened

TRIES = 5
"""So often is everything reckoned again because another run wrote to the book meanwhile."""


@dataclass(frozen=True)
class Booked:
    """What a run with a book gave.

    `audit`: of the statements given in this run, by what the whole book knows. `disputes`: all of the book
    (`tables.DISPUTES`). `corrections`: what later documents changed of closed months (`tables.CORRECTIONS`). `kept`: in
    words, what was taken in; "" for nothing.
    """

    audit: Audit
    disputes: pd.DataFrame
    corrections: pd.DataFrame
    kept: str = ""


@dataclass(frozen=True)
class HowRead:
    """How files are read: `given` and `readings` as in `auditor.reconcile`.

    `answer` is asked about the close calls between the columns of each new file; its readings hold for that file.
    """

    given: Mapping[str, Sequence[Path]] | None = None
    readings: Path | None = None
    answer: Answer = lambda _: ()


AS_THEY_STAND = HowRead()


@dataclass(frozen=True)
class _More:
    """What is kept beside the book, and where the files of this run lie, by name."""

    readings: tuple[Reading, ...]
    paths: Mapping[str, str]


def reconcile(
    paths: Sequence[str | Path],
    *,
    book: Path,
    rules: str | Path | Mapping[str, str | Path] = "us-ground-common",
    today: date | None = None,
    how: HowRead = AS_THEY_STAND,
) -> Booked:
    """Take files into the book, and account for every line of their statements by all that the book knows.

    Args:
        paths: files and folders; none for all that is in the book.
        book: the book's file, made where there is none.
        rules: as in `auditor.reconcile`.
        today: the day of the run, put down beside what happened; the clock's by default.
        how: how the files are read.

    Raises:
        auditor.tariff.RuleError: the rules cannot be used.
        auditor.book.BookError: the book cannot be used.
        intake.NothingReadError: of the paths nothing could be read; no book is made then, nor is one changed.
    """
    rulebook = rules_opened(rules)
    files, problems = intake.gathered_files([Path(path) for path in paths], given=how.given, readings=how.readings)
    parts = {} if book.exists() or not paths else until_something_is_read(files, problems)
    with opened(book) as held, _telling_what_is_kept(held) as kept:
        parts = read_together(held, files, parts, expecting(rulebook))
        digests, unread = filed(held, files, how.answer, parts)
        problems = [*problems, *unread]
        if paths and not digests:
            raise intake.NothingReadError(problems)
        recording.note_rules(held, _used(rules, rulebook))
        beside = _More(tuple(saved(how.readings)[0]), intake.paths_of(files))
        chosen, day = digests if paths else None, today or datetime.now().astimezone().date()
        for left in reversed(range(TRIES)):
            try:
                audit = _reckoned_together(held, rulebook, chosen, problems, day, beside)
                break
            except ChangedMeanwhileError:
                if not left:
                    raise
        return Booked(audit, disputes(held), closing.corrections(held), kept())


@contextmanager
def _telling_what_is_kept(book: Book) -> Iterator[Callable[[], str]]:
    """What ends the run has a note beside it of what the book has taken in by then, which is given, too."""
    before = _count(book)

    def kept() -> str:
        taken = _count(book) - before
        files = "1 file was" if taken == 1 else f"{taken:,} files were"
        return f"{files} taken into the book {book.path}; it is whole, and your own files are as they were."

    try:
        yield lambda: kept() if _count(book) > before else ""
    except BaseException as error:
        with suppress(BookError, sqlite3.Error):
            if _count(book) > before:
                error.add_note(kept())
        raise


def _count(book: Book) -> int:
    with book.reading() as connection:
        return int(connection.execute("SELECT count(*) FROM file").fetchone()[0])


def _used(rules: str | Path | Mapping[str, str | Path], rulebook: Rulebook) -> list[tuple[str, str, Path | None]]:
    """The tariffs used, with the file of each that is the shop's own."""
    chosen = rules if isinstance(rules, Mapping) else {"": rules}
    own = {rulebook.of(service).name: Path(name) for service, name in chosen.items() if Path(name).is_file()}
    return [(tariff.name, tariff.version, own.get(tariff.name)) for tariff in rulebook.tariffs]


def _reckoned_together(
    book: Book,
    rulebook: Rulebook,
    digests: Sequence[str] | None,
    problems: Sequence[Problem],
    today: date,
    beside: _More,
) -> Audit:
    """Reckon all that is in the book, write down what comes of it, and give the Audit of the files of those digests.

    None stands for all files.
    """
    changes = book.changes
    contents = parts_of(book)
    parts = [part for _, part in contents]
    taken = intake.together(
        parts, charges=rulebook.charges, expecting=expecting(rulebook), problems=problems, readings=beside.readings
    )
    with book.reading() as connection:
        answers = not_mine(recording.history(connection))
    everything = audited(replace(taken, paths=beside.paths), rulebook, answers)
    files = _shown_files(contents, digests, taken.replaced)
    statements = _statements_in(parts, files)
    before = all_months.last_reckoned(book, contents, taken.replaced)
    given = set() if digests is None else statements
    reckoned, more = all_months.reckon(everything, before, rulebook, given, today)
    recording.record(book, reckoned, changes=changes)
    audit = everything if digests is None else excerpt(everything, files, statements)
    others = {part.name for part in parts} - files
    shown = [problem for problem in (*audit.problems, *more) if problem.file not in others or problem in problems]
    return replace(audit, problems=tuple(shown))


def _shown_files(
    contents: Sequence[tuple[Filed, intake.Part]], digests: Sequence[str] | None, replaced: pd.DataFrame
) -> set[str]:
    """The names of the files given, and of those with statements in the place of theirs."""
    chosen = {file.name for file, _ in contents if digests is None or file.digest in digests}
    return chosen | set(replaced.loc[replaced["source_file"].isin(chosen), "by_file"].astype("str"))


def _statements_in(parts: Sequence[intake.Part], files: set[str]) -> set[str]:
    lines = [part.tables["lines"] for part in parts if part.name in files and "lines" in part.tables]
    return {str(name) for table in lines for name in table["statement"].unique()}
