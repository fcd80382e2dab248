"""Arguments that several commands share."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

import click
from click.core import ParameterSource

from auditor.cli.terminal import say

if TYPE_CHECKING:
    from auditor.audit import Audit
    from auditor.book.accounting import Booked, HowRead
    from auditor.book.kept_audit import Recalled
    from auditor.core.schemas import Problem
    from auditor.habits.history import History
    from auditor.intake.headings import CloseCall
    from auditor.intake.readings import Reading
    from auditor.tariff import Prices, Rulebook

TODAY = click.DateTime(["%Y-%m-%d"])

IN_FULL = "'auditor reconcile' tells in its report of"

KINDS = ("shipments", "cartons", "rates", "fees", "fuel", "statement", "notice")

paths = click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path))
rules = click.option(
    "--rules",
    multiple=True,
    metavar="[SERVICE=]NAME",
    help="A shipped tariff or a .toml file; with SERVICE=, for that service only. Default: us-ground-common.",
)
given = click.option(
    "--as",
    "given",
    multiple=True,
    metavar="KIND=FILE",
    help=f"Read FILE as that kind, whatever it looks like. Kinds: {', '.join(KINDS)}.",
)
readings = click.option(
    "--readings",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder of saved readings of layouts (auditor columns --save). Default: one in your user folder.",
)
asking = click.option(
    "--ask/--no-ask",
    default=True,
    help="Whether to ask, at a terminal, what a column means where two meanings come close. Default: ask.",
)


book = click.option(
    "--book",
    envvar="AUDITOR_BOOK",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The book's file. Default: book.sqlite in your user folder.",
)
book_or_files = click.option(
    "--book",
    envvar="AUDITOR_BOOK",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The book that is looked into when no PATHS are given. Default: book.sqlite in your user folder.",
)
today = click.option("--today", type=TODAY, help="Take this as the day of the run, in place of the clock's.")


def on_disk(text: str) -> Path | None:
    """The file or folder that a text names; None where there is none, also where it could not be a name."""
    try:
        return path if (path := Path(text)).exists() else None
    except (OSError, ValueError):  # too long, or with a NUL in it
        return None


def shop_file() -> Path:
    """Where the shop's own settings are looked for."""
    return Path(click.get_app_dir("auditor"), "shop.toml")


def keep_apart(out: Path, paths: Sequence[Path]) -> None:
    """Refuse to write among the files given: what is written would be read as one of them the next time."""
    for path in paths:
        if path.is_dir() and out.resolve().is_relative_to(path.resolve()):
            raise click.UsageError(f"--out {out} lies inside {path}, which is read from. Choose a folder outside it.")


def originals(paths: Sequence[Path], given: Sequence[str]) -> dict[str, Path]:
    """The files among the paths by the names that an audit knows them by, photographs among them."""
    from auditor.intake.files import gathered

    return {file.name: file.path for file in gathered(paths, _by_kind(given))[0]}


def book_path(chosen: Path | None) -> Path:
    """The book: the chosen one, the one that the command before it chose, or the user's own."""
    from auditor.book.ledger.whereabouts import usual

    parent = click.get_current_context().parent
    return chosen or (parent.params.get("book") if parent else None) or usual()


def day(chosen: datetime | None) -> date:
    """The day of the run."""
    return (chosen or datetime.now().astimezone()).date()


@contextmanager
def wrong_use() -> Iterator[None]:
    """What is wrong with the book, the rules or a mark is said in a sentence, and exits with 2.

    Where nothing could be read of what was given, each file's reason stands before it. A disk that is full or fails is
    nobody's wrong use: it exits with 74.
    """
    from auditor.book.ledger import BookError
    from auditor.cli.endings import NoRoom, is_of_the_disk
    from auditor.disputes.marking import ClaimError
    from auditor.intake import NothingReadError
    from auditor.tariff import RuleError

    try:
        yield
    except NothingReadError as error:
        raise _nothing_read(error.problems) from error
    except (BookError, ClaimError, RuleError) as error:
        kind = NoRoom if is_of_the_disk(error.__cause__) else click.UsageError
        raise kind(" ".join([str(error), *getattr(error, "__notes__", ())])) from error


def _nothing_read(problems: Sequence[Problem]) -> click.UsageError:
    """Say why nothing was read, file by file, and give the error to end with."""
    faults = [problem for problem in problems if not problem.note] or list(problems)
    say_problems(faults, elsewhere="Besides there are")
    return click.UsageError(
        "Nothing of what was given could be read as a statement, a notice, shipping records, prices or cartons, so "
        "nothing was written. Look whether it is the right file or folder."
    )


def readings_folder(chosen: Path | None) -> Path:
    """The folder of saved readings: the chosen one, or the user's own."""
    return chosen or Path(click.get_app_dir("auditor"), "readings")


def how_read(held: Sequence[Path], given: Sequence[str], readings: Path | None, *, ask: bool = False) -> HowRead:
    """How files are read into a book; with `ask`, close calls are asked about. Wrong use exits with 2.

    `held`: the files, folders and the book, by whose size texts are kept (see `keep_texts_plainly`).
    """
    named = _by_kind(given)
    keep_texts_plainly([*held, *chain(*named.values())])
    from auditor.book.accounting import HowRead
    from auditor.cli import questions

    folder = readings_folder(readings)

    def answer(close_calls: Sequence[CloseCall]) -> list[Reading]:
        return questions.answered_and_kept(close_calls, folder) if ask else []

    return HowRead(named, folder, answer)


def booked_of(paths: Sequence[Path], rules: Sequence[str], how: HowRead, book: Path, today: date) -> Booked:
    """Run the audit with a book. Wrong use exits with 2."""
    from auditor.book.accounting import reconcile

    with wrong_use():
        return reconcile(paths, book=book, rules=_by_service(rules), today=today, how=how)


def from_book(paths: Sequence[Path], book: Path | None, given: Sequence[str], readings: Path | None) -> bool:
    """Whether a command looks into the book: where it is given no files. Wrong use exits with 2."""
    chosen = click.get_current_context().get_parameter_source("book") is ParameterSource.COMMANDLINE
    if paths and book and chosen:
        raise click.UsageError("Name files or folders, or a --book: what is made is made from one of the two.")
    if not paths and (given or readings):
        raise click.UsageError("--as and --readings say how files are read, but no file or folder is named.")
    return not paths


def source(paths: Sequence[Path], book: Path | None) -> str:
    """What a command looked into, in words: the files it was given, or the book."""
    return ", ".join(map(str, paths)) if paths else f"the book {book_path(book)}"


def recalled_of(book: Path, rules: Sequence[str]) -> Recalled:
    """All that is in the book, reckoned again. Wrong use exits with 2."""
    from auditor.book.kept_audit import recalled

    with wrong_use():
        return recalled(book, rules=_by_service(rules), readings=readings_folder(None))


SMALL = 2**20
"""Up to so many bytes of files, Python's own texts are quicker than pyarrow's, where that is installed: a month of 177
parcels took a tenth less or better. No file of these is so large that it is read by column, which takes pyarrow's."""


def keep_texts_plainly(paths: Iterable[Path]) -> None:
    """Have pandas keep texts as Python does until the command ends, where the files and folders are small."""
    from auditor.intake.files import size_of

    if size_of(paths) <= SMALL:
        import pandas as pd

        context = click.get_current_context(silent=True)
        if context is not None:
            context.with_resource(pd.option_context("mode.string_storage", "python"))


def audit_of(
    paths: Sequence[Path],
    rules: Sequence[str],
    given: Sequence[str],
    readings: Path | None = None,
    *,
    ask: bool = False,
    not_mine: Collection[str] = (),
) -> Audit:
    """Run the audit; with `ask`, close calls between columns are asked about. Wrong use is said and exits with 2.

    `not_mine`: numbers of parcels that, where no record has them, the seller did not send.
    """
    named, folder = _by_kind(given), readings_folder(readings)
    keep_texts_plainly([*paths, *chain(*named.values())])
    from auditor import intake
    from auditor.audit import audited
    from auditor.cli import questions
    from auditor.tariff import expecting, opened

    with wrong_use():
        book = opened(_by_service(rules))
        taken = intake.read(paths, given=named, charges=book.charges, expecting=expecting(book), readings=folder)
        if paths and taken.empty:
            raise intake.NothingReadError(taken.problems)
    if ask and (answers := questions.answered_and_kept(taken.close_calls, folder)):
        taken = intake.read(
            paths, given=named, charges=book.charges, expecting=expecting(book), readings=folder, answers=answers
        )
    return audited(taken, book, not_mine)


def rulebook_of(rules: Sequence[str]) -> Rulebook:
    """The rules named. Wrong use is said in a sentence and exits with 2."""
    from auditor.tariff import RuleError, opened

    try:
        return opened(_by_service(rules))
    except RuleError as error:
        raise click.UsageError(str(error)) from error


def prices_of(paths: Sequence[Path], audit: Audit) -> Prices:
    """The prices in the files, and the audit's own in the place of each table that is not among them."""
    from auditor import intake
    from auditor.tariff import Prices, expecting

    read = intake.read(paths, charges=audit.rulebook.charges, expecting=expecting(audit.rulebook))
    tables = {
        name: table if len(table := getattr(read, name)) else getattr(audit.prices, name)
        for name in ("rates", "fees", "fuel")
    }
    if not any(len(getattr(read, name)) for name in tables):
        raise click.UsageError(f"No rates, fees or fuel percentages were found in {', '.join(map(str, paths))}.")
    return Prices(**tables)


def history_of(audit: Audit) -> History:
    """What the shop's own past says of how its cartons are read."""
    from auditor.habits.history import history

    return history(audit.shipments, audit.cartons, audit.lines, audit.readings, audit.rulebook, audit.prices)


def _by_service(rules: Sequence[str]) -> dict[str, str]:
    named: dict[str, str] = {}
    for text in rules:
        service, _, name = text.rpartition("=")
        if service in named:
            raise click.BadParameter(
                f"two tariffs for {service or 'all services'}: {named[service]}, {name}.", param_hint="--rules"
            )
        named[service] = name
    return named


def _by_kind(given: Sequence[str]) -> dict[str, list[Path]]:
    named: dict[str, list[Path]] = {}
    for text in given:
        kind, equals, file = text.partition("=")
        if not equals or kind not in KINDS:
            raise click.BadParameter(f"{text!r} is not KIND=FILE. Kinds are: {', '.join(KINDS)}.", param_hint="--as")
        named.setdefault(kind, []).append(Path(file))
    return named


def problem_line(problem: Problem) -> str:
    """A problem on one line, where it is and what it is."""
    where = ", ".join(part for part in (problem.file, problem.place) if part)
    kind = "Note" if problem.note else "Problem"
    return f"{kind}: {where}: {problem.message}" if where else f"{kind}: {problem.message}"


def say_problems(problems: Sequence[Problem], statements: Collection[str] = (), *, elsewhere: str = "") -> None:
    """Problems by kind and file, on stderr: at most a few lines, what concerns money first.

    Args:
        problems: all there are.
        statements: the files with statement lines in them.
        elsewhere: where the others are told of, in words that end before them; the report where left out.
    """
    from auditor.report.lines.problems import lines

    say(*lines(problems, statements, elsewhere or "The report and summary.json also have"), err=True)
