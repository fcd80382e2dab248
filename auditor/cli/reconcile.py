"""`auditor reconcile`: the month's answer, and the files that hold it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from auditor.cli import endings, options
from auditor.cli.terminal import say
from auditor.money import dollars
from auditor.tables import rows

if TYPE_CHECKING:
    import pandas as pd

    from auditor.audit import Audit
    from auditor.booked import Booked


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
        audit, told, ending = _alone(options.audit_of(paths, rules, given, readings, ask=ask), day)
        kept = ""
    else:
        path = options.book_path(book)
        booked = options.booked_of(paths, rules, given, readings, path, day, ask=ask)
        audit, told, ending = _with_book(booked, path, day)
        kept = booked.kept
    from auditor import report

    with endings.noting(kept):
        with endings.writing_to(out, "The report", "--out"):
            written = report.write(audit, out, reminders=told)
        say(*_answer(audit), *told, "Written: " + ", ".join(map(str, written)), ending)
        say(*map(options.said, audit.problems), err=True)
    ctx.exit(0 if audit.complete else 1)


def _checked(paths: Sequence[Path], book: Path | None, *, everything: bool, no_book: bool) -> None:
    if everything == bool(paths):
        raise click.UsageError("Name files or folders, or --all for what is in the book: one of the two.")
    chosen = click.get_current_context().get_parameter_source("book") is ParameterSource.COMMANDLINE
    if no_book and (everything or (book and chosen)):
        raise click.UsageError("--no-book looks at files alone, so it goes with neither --book nor --all.")


def _alone(audit: Audit, day: date) -> tuple[Audit, list[str], str]:
    from auditor import deadlines

    told = [*deadlines.reminders(deadlines.proposed(audit), day)]
    return audit, told, "No book was used, so nothing was kept."


def _with_book(booked: Booked, path: Path, day: date) -> tuple[Audit, list[str], str]:
    from auditor import deadlines
    from auditor.book.whereabouts import warning

    if said := warning(path):
        say(f"Note: {said}", err=True)
    told = [*deadlines.reminders(booked.disputes, day), *later_corrections(booked.corrections)]
    return booked.audit, told, f"Book: {path}"


def later_corrections(corrections: pd.DataFrame) -> Iterator[str]:
    """A sentence for each closed month, file and figure that is otherwise now than when the month was closed."""
    key = ["month", "source_file", "figure"]
    for (month, file, figure), them in corrections.groupby(key, dropna=False):
        because = file if isinstance(file, str) else "other rules, or another version of the program"
        closed, cents = int(them["closed_cents"].sum()), int(them["difference_cents"].sum())
        yield (
            f"Later correction of {month}, which is closed: {figure} {dollars(cents)} by {because} "
            f"({_many(len(them), 'item')}, {dollars(closed)} when it was closed)."
        )


def _answer(audit: Audit) -> Iterator[str]:
    counts = f"{len(audit.lines)} lines of {_many(len(audit.statements), 'statement')}"
    yield f"{_many(len(audit.shipments), 'recorded parcel')}, {counts}."
    yield (
        f"Billed {dollars(audit.billed_cents)}, expected {dollars(audit.expected_cents)}, "
        f"back-charged {dollars(audit.difference_cents)}, worth disputing {dollars(audit.disputable_cents)}."
    )
    if audit.not_audited_cents:
        yield f"Not audited: {dollars(audit.not_audited_cents)}; the report says why."
    for statement in rows(audit.statements):
        yield _tie(statement)
    for one in rows(audit.replaced):
        if one["by_statement"] != one["statement"] or one["billed_cents"] != one["now_cents"]:
            yield _replaced(one)
    for cause, found in audit.findings.groupby("cause", sort=False):
        yield f"  {cause}: {_many(len(found), 'finding')}, {dollars(int(found['difference_cents'].sum()))}"
    if named := list(audit.never_billed["tracking"]):
        more = f" and {len(named) - MOST_NAMED:,} more" if len(named) > MOST_NAMED else ""
        yield f"Labels never billed: {', '.join(named[:MOST_NAMED])}{more}"


MOST_NAMED = 10
"""So many parcels are named on one line; the report names more, and summary.json all."""


def _tie(statement: dict[str, Any]) -> str:
    name, total = statement["statement"], dollars(int(statement["lines_total_cents"]))
    if statement["ties"] is True:
        return f"Statement {name}: {statement['lines']} lines, {total}, ties out to its own total."
    if statement["ties"] is False:
        printed, apart = (dollars(int(statement[key])) for key in ("printed_total_cents", "difference_cents"))
        return f"Statement {name} DOES NOT TIE OUT: its lines come to {total}, it prints {printed}; {apart} apart."
    return f"Statement {name}: {statement['lines']} lines, {total}; no printed total was found to hold that against."


def _replaced(one: dict[str, Any]) -> str:
    return (
        f"Statement {one['statement']} in {one['source_file']} ({dollars(int(one['billed_cents']))}) is not counted: "
        f"{one['by_file']} is in its place ({dollars(int(one['now_cents']))}; {one['reason']})."
    )


def _many(count: int, what: str) -> str:
    return f"{count:,} {what}{'' if count == 1 else 's'}"
