"""`auditor book`: look after the book."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from auditor.cli import options
from auditor.cli.terminal import say
from auditor.money import dollars
from auditor.tables import rows

if TYPE_CHECKING:
    from auditor.book import Book
    from auditor.book.reading_out import Filed


@click.group("book", no_args_is_help=True)
@options.book
def command(book: Path | None) -> None:
    r"""Show, check, copy and restore the book, which holds all months, their disputes and the original documents.

    \b
    For example:
      auditor book show
      auditor book check
      auditor book backup /media/usb/book-2026-04.sqlite
      auditor book export my-book/ --as csv
      auditor book import my-book/ --book restored.sqlite
    """
    del book


@command.command("show")
@options.book
def show(book: Path | None) -> None:
    """Say where the book is and what is in it: files, statements with their balances, closed months."""
    from auditor.book import closing, reading_out, recording
    from auditor.book.whereabouts import warning

    with options.wrong_use(), _opened(book) as held:
        say(str(held.path), f"Original documents: {held.documents}")
        for filed in reading_out.files(held):
            say(f"  {filed.taken_in_at[:10]}  {_file(filed)}")
        with held.reading() as connection:
            statements = rows(recording.statements(connection))
        say(*_balances(statements))
        for month in rows(closing.months(held)):
            say(_closed(month))
        if said := warning(held.path):
            say(f"Note: {said}", err=True)


def _file(filed: Filed) -> str:
    if filed.set_aside is None:
        return filed.name
    return f"{filed.name}, set aside: {filed.set_aside or 'no reason given'}"


def _balances(statements: list[dict[str, Any]]) -> Iterator[str]:
    for one in statements:
        billed, accepted, disputed = (dollars(int(one[f"{name}_cents"])) for name in ("billed", "accepted", "disputed"))
        yield f"Statement {one['statement']}: billed {billed} = accepted {accepted} + disputed {disputed}."
    if not statements:
        yield "No statement was reckoned yet."


def _closed(month: dict[str, Any]) -> str:
    return (
        f"{month['month']}, closed on {month['closed_at'][:10]}: {month['lines']:,} lines, billed "
        f"{dollars(month['billed_cents'])}, back-charged {dollars(month['difference_cents'])}, disputed "
        f"{dollars(month['disputed_cents'])}."
    )


@command.command("check")
@options.book
@click.pass_context
def check(ctx: click.Context, book: Path | None) -> None:
    """Check that the book is whole: the database, each file's rows, the sums, the originals. Exits with 1 if not."""
    from auditor import booked

    with options.wrong_use(), _opened(book) as held:
        health = booked.checked(held)
        for note in health.notes:
            say(f"Note: {note}")
        for fault in health.faults:
            say(f"Problem: {fault}.", err=True)
        if not health.faults:
            say(f"The book {held.path} is whole: {health.files:,} files, their rows, sums and originals.")
    ctx.exit(1 if health.faults else 0)


@command.command("backup")
@click.argument("target", type=click.Path(path_type=Path))
@options.book
def backup(target: Path, book: Path | None) -> None:
    """Copy the book and its original documents to TARGET, also while another run is using it."""
    from auditor.book import copies

    with options.wrong_use(), _opened(book) as held:
        copies.backup(held, target)
    say(f"Copied to {target}. It is a book itself: auditor book check --book {target}")


@command.command("export")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.option("--as", "form", type=click.Choice(["csv", "parquet"]), default="csv", show_default=True)
@options.book
def export(folder: Path, form: str, book: Path | None) -> None:
    """Write all tables and documents of the book into FOLDER, which must be new or empty."""
    from auditor.book import copies

    with options.wrong_use(), _opened(book) as held:
        written = copies.export(held, folder, "parquet" if form == "parquet" else "csv")
    say(f"Written: {len(written):,} files in {folder}, and the original documents.")


@command.command("import")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False, exists=True))
@options.book
def import_(folder: Path, book: Path | None) -> None:
    """Make a book from what `auditor book export` wrote into FOLDER. There must be no book yet at --book."""
    from auditor.book import copies

    path = options.book_path(book)
    with options.wrong_use():
        copies.restored(folder, path)
    say(f"Imported to {path}.")


@command.command("set-aside")
@click.argument("name")
@click.option("--because", default="", help="Why, for later.")
@options.book
def set_aside(name: str, because: str, book: Path | None) -> None:
    """Count the file NAME no longer, such as a statement that was corrected by another. Nothing is deleted."""
    _set_aside(name, because, book)
    say(f"{name} is no longer counted. Have the rest reckoned again: auditor reconcile --all")


@command.command("take-back")
@click.argument("name")
@options.book
def take_back(name: str, book: Path | None) -> None:
    """Count a file again that was set aside."""
    _set_aside(name, None, book)
    say(f"{name} is counted again. Have it reckoned: auditor reconcile --all")


def _set_aside(name: str, why: str | None, book: Path | None) -> None:
    from auditor.book import BookError, reading_out, taking_in

    with options.wrong_use(), _opened(book, writable=True) as held:
        filed = [one for one in reading_out.files(held) if one.name == name]
        if not filed:
            raise BookError(f"There is no file {name} in the book. 'auditor book show' lists their names.")
        taking_in.set_aside(held, filed[0].file, why)


def _opened(book: Path | None, *, writable: bool = False) -> Book:
    from auditor.book import opened

    return opened(options.book_path(book), writable=writable)
