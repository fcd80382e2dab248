"""`auditor close`: a month's figures, kept as they are."""

from __future__ import annotations

from pathlib import Path

import click

from auditor.cli import options
from auditor.cli.terminal import say
from auditor.core.money import dollars


@click.command("close", no_args_is_help=True)
@click.argument("month", type=click.DateTime(["%Y-%m"]), metavar="MONTH")
@options.book
def command(month: click.DateTime, book: Path | None) -> None:
    r"""Freeze the figures of the parcels shipped in MONTH (2026-03).

    Later documents may still change them, such as a credit in May for a parcel of March. Every report then shows that
    as a later correction, with the file that caused it, beside the figures that were closed.

    \b
    For example:
      auditor close 2026-03
    """
    from auditor.book.ledger import closing, opened

    name = f"{month:%Y-%m}"
    with options.wrong_use(), opened(options.book_path(book), must_exist=True) as held:
        closing.close(held, name)
        months = closing.months(held)
    closed = months[months["month"] == name].iloc[0]
    say(
        f"{name} is closed: {closed['lines']:,} lines, billed {dollars(int(closed['billed_cents']))}, "
        f"{dollars(int(closed['difference_cents']))} over expected, disputed {dollars(int(closed['disputed_cents']))}."
    )
