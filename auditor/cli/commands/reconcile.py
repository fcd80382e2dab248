"""`auditor reconcile`: the month's answer, and the files that hold it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click
from click.core import ParameterSource

from auditor.cli import endings, options
from auditor.cli.terminal import say
from auditor.core.money import dollars

if TYPE_CHECKING:
    import pandas as pd

    from auditor.audit import Audit
    from auditor.book.accounting import Booked


@click.command("reconcile", no_args_is_help=True)
@click.argument("paths", nargs=-1, type=click.Path(path_type=Path))
@click.option("--all", "everything", is_flag=True, help="Report on all that is in the book, without new files.")
@click.option(
    "--out",
    default=Path("auditor-report"),
    show_default=True,
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for the report; made if need be, files of an earlier run in it are replaced.",
)
@options.rules
@options.given
@options.readings
@options.book
@click.option("--no-book", is_flag=True, help="Look at these files alone, and keep nothing.")
@options.today
@options.asking
@click.pass_context
def command(
    ctx: click.Context,
    paths: tuple[Path, ...],
    out: Path,
    rules: tuple[str, ...],
    given: tuple[str, ...],
    readings: Path | None,
    book: Path | None,
    today: datetime | None,
    *,
    everything: bool,
    no_book: bool,
    ask: bool,
) -> None:
    r"""Account for every statement line in PATHS (files or folders) and say what each adjustment is.

    Writes report.html, findings.csv, lines.csv and summary.json. Exits with 0 when done, 1 when done but a statement
    does not tie out or a file could not be read, 2 when called wrongly or nothing could be read: then nothing is
    written. 74 where a disk is full, 130 after Ctrl-C, 143 where the system ended it; docs/outputs.md has them all.

    The files are taken into the book, which knows the months before: labels, charges billed before, credits promised.
    Files that are in it already change nothing.

    \b
    For example:
      auditor reconcile my-month/
      auditor reconcile statement.pdf orders.csv prices/ --out march
      auditor reconcile --all --out all-months
    """
    _checked(paths, book, everything=everything, no_book=no_book)
    options.keep_apart(out, paths)
    day = options.day(today)
    say(f"Reading {', '.join(map(str, paths)) or 'the book'} …", err=True)
    if no_book:
        audit, reminders, ending = _alone(options.audit_of(paths, rules, given, readings, ask=ask), day)
        kept = ""
    else:
        path = options.book_path(book)
        how = options.how_read([*paths, path], given, readings, ask=ask)
        booked = options.booked_of(paths, rules, how, path, day)
        audit, reminders, ending = _with_book(booked, path, day)
        kept = booked.kept
    from auditor import report
    from auditor.report.lines.answer import answer

    with endings.noting(kept):
        with endings.writing_to(out, "The report", "--out"):
            written = report.write(audit, out, reminders=reminders)
        names = ", ".join(path.name for path in written)
        say(*answer(audit, in_book=not no_book), *reminders, f"Written to {out}: {names}", ending)
        options.say_problems(audit.problems, set(audit.lines["source_file"].dropna()))
    ctx.exit(0 if audit.complete else 1)


def _checked(paths: Sequence[Path], book: Path | None, *, everything: bool, no_book: bool) -> None:
    if everything == bool(paths):
        raise click.UsageError("Name files or folders, or --all for what is in the book: one of the two.")
    chosen = click.get_current_context().get_parameter_source("book") is ParameterSource.COMMANDLINE
    if no_book and (everything or (book and chosen)):
        raise click.UsageError("--no-book looks at files alone, so it goes with neither --book nor --all.")


def _alone(audit: Audit, day: date) -> tuple[Audit, list[str], str]:
    from auditor.disputes import deadlines

    now = deadlines.as_of(audit, day, {})
    reminders = [*deadlines.reminders(deadlines.proposed(audit), day), *deadlines.too_late(audit, now)]
    return now, reminders, "No book was used, so nothing was kept."


def _with_book(booked: Booked, path: Path, day: date) -> tuple[Audit, list[str], str]:
    from auditor.book.kept_disputes import state_by_finding
    from auditor.book.ledger.whereabouts import warnings
    from auditor.disputes import deadlines

    say(*(f"Note: {warning}" for warning in warnings(path)), err=True)
    now = deadlines.as_of(booked.audit, day, state_by_finding(booked.audit, booked.disputes))
    reminders = [*deadlines.reminders(booked.disputes, day), *deadlines.too_late(booked.audit, now)]
    reminders += later_corrections(booked.corrections)
    return now, reminders, f"Book: {path}"


def later_corrections(corrections: pd.DataFrame) -> Iterator[str]:
    """A sentence for each closed month, file and figure that is otherwise now than when the month was closed."""
    key = ["month", "source_file", "figure"]
    for (month, file, figure), corrected in corrections.groupby(key, dropna=False):
        because = file if isinstance(file, str) else "other rules, or another version of the program"
        closed, cents = int(corrected["closed_cents"].sum()), int(corrected["difference_cents"].sum())
        yield (
            f"Later correction of {month}, which is closed: {figure} {dollars(cents)} by {because} "
            f"({_many(len(corrected), 'item')}, {dollars(closed)} when it was closed)."
        )


def _many(count: int, what: str) -> str:
    return f"{count:,} {what}{'' if count == 1 else 's'}"
