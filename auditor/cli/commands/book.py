"""`auditor book`: look after the book."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from auditor.cli import options
from auditor.cli.terminal import say
from auditor.core.money import dollars
from auditor.core.schemas import rows

if TYPE_CHECKING:
    from auditor.book.ledger import Book
    from auditor.book.ledger.reading_out import Filed


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
    from auditor.book.ledger import closing, reading_out, recording
    from auditor.book.ledger.whereabouts import warnings

    with options.wrong_use(), _opened(book) as held:
        say(str(held.path), f"Original documents: {held.documents}")
        files = reading_out.files(held)
        for filed in files:
            say(f"  {filed.taken_in_at[:10]}  {_file(filed)}")
        with held.reading() as connection:
            statements = rows(recording.statements(connection))
            replaced = rows(recording.replaced(connection))
        say(*_balances(statements), *_replaced(replaced, {file.file: file.name for file in files}))
        for month in rows(closing.months(held)):
            say(_closed(month))
        say(*(f"Note: {warning}" for warning in warnings(held.path)), err=True)


def _file(filed: Filed) -> str:
    if filed.set_aside is None:
        return filed.name
    return f"{filed.name}, set aside: {filed.set_aside or 'no reason given'}"


def _balances(statements: list[dict[str, Any]]) -> Iterator[str]:
    for statement in statements:
        billed, accepted, disputed = (
            dollars(int(statement[f"{name}_cents"])) for name in ("billed", "accepted", "disputed")
        )
        yield f"Statement {statement['statement']}: billed {billed} = accepted {accepted} + disputed {disputed}."
    if not statements:
        yield "No statement was reckoned yet."


def _replaced(replaced: list[dict[str, Any]], names: dict[int, str]) -> Iterator[str]:
    for row in replaced:
        file, by_file = names[row["file"]], names[row["by_file"]]
        billed, now = dollars(int(row["billed_cents"])), dollars(int(row["now_cents"]))
        yield (
            f"Statement {row['statement']} in {file} ({billed}) is not counted: {by_file}, statement "
            f"{row['by_statement']} ({now}), is in its place ({row['reason']}). If that is wrong: auditor book "
            f"set-aside '{by_file}'"
        )


def _closed(month: dict[str, Any]) -> str:
    return (
        f"{month['month']}, closed on {month['closed_at'][:10]}: {month['lines']:,} lines, billed "
        f"{dollars(month['billed_cents'])}, {dollars(month['difference_cents'])} over expected, disputed "
        f"{dollars(month['disputed_cents'])}."
    )


@command.command("check")
@options.book
@click.pass_context
def check(ctx: click.Context, book: Path | None) -> None:
    """Check that the book is whole: the database, each file's rows, the sums, the originals. Exits with 1 if not."""
    from auditor.book.health import health_of

    with options.wrong_use(), _opened(book) as held:
        health = health_of(held)
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
    from auditor.book.ledger import copies

    with options.wrong_use(), _opened(book) as held:
        copies.backup(held, target)
    say(f"Copied to {target}. It is a book itself: auditor book check --book {target}")


@command.command("export")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.option("--as", "form", type=click.Choice(["csv", "parquet"]), default="csv", show_default=True)
@options.book
def export(folder: Path, form: str, book: Path | None) -> None:
    """Write all tables and documents of the book into FOLDER, which must be new or empty."""
    from auditor.book.ledger import copies

    with options.wrong_use(), _opened(book) as held:
        written = copies.export(held, folder, "parquet" if form == "parquet" else "csv")
    say(f"Written: {len(written):,} files in {folder}, and the original documents.")


@command.command("import")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False, exists=True))
@options.book
def import_(folder: Path, book: Path | None) -> None:
    """Make a book from what `auditor book export` wrote into FOLDER. There must be no book yet at --book."""
    from auditor.book.ledger import copies

    path = options.book_path(book)
    with options.wrong_use():
        copies.restored(folder, path)
    say(f"Imported to {path}.")


@command.command("set-aside")
@click.argument("name")
@click.option("--because", default="", help="Why, for later.")
@options.book
def set_aside(name: str, because: str, book: Path | None) -> None:
    """Count the file NAME no longer, such as a statement that was corrected by another. Nothing is deleted.

    NAME is the file's own name; where several share it, the beginning of its digest, as 'auditor book show' lists it.
    """
    called = _set_aside(name, because, book)
    say(f"{called} is no longer counted. Have the rest reckoned again: auditor reconcile --all")


@command.command("take-back")
@click.argument("name")
@options.book
def take_back(name: str, book: Path | None) -> None:
    """Count a file again that was set aside."""
    called = _set_aside(name, None, book)
    say(f"{called} is counted again. Have it reckoned: auditor reconcile --all")


def _set_aside(name: str, why: str | None, book: Path | None) -> str:
    from auditor.book.ledger import reading_out, taking_in

    with options.wrong_use(), _opened(book, writable=True) as held:
        filed = _named(name, reading_out.files(held))
        taking_in.set_aside(held, filed.file, why)
    return filed.name


def _named(name: str, files: Sequence[Filed]) -> Filed:
    """The file that is meant: by its name in the book, its own name, that without its folder, or its digest."""
    from auditor.book.ledger import BookError
    from auditor.intake.files import base_name

    ways: tuple[Callable[[Filed], bool], ...] = (
        lambda file: file.name == name,
        lambda file: file.own_name == name,
        lambda file: base_name(file.own_name) == base_name(name),
        lambda file: len(name) >= LEAST_OF_DIGEST and file.digest.startswith(name.strip("()").lower()),
    )
    found = next((named for way in ways if (named := [file for file in files if way(file)])), [])
    if not found:
        raise BookError(f"There is no file {name} in the book. 'auditor book show' lists their names.")
    if len(found) > 1:
        each = "; ".join(f"{file.digest[:SHOWN]} (taken in on {file.taken_in_at[:10]}{_aside(file)})" for file in found)
        raise BookError(f"{len(found)} files in the book are called {name}. Give the digest of the one meant: {each}.")
    return found[0]


LEAST_OF_DIGEST, SHOWN = 4, 8


def _aside(filed: Filed) -> str:
    return "" if filed.set_aside is None else ", set aside"


def _opened(book: Path | None, *, writable: bool = False) -> Book:
    from auditor.book.ledger import opened

    return opened(options.book_path(book), writable=writable)
