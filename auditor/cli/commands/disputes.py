"""`auditor disputes`: what to dispute, until when, and what became of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from functools import reduce
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from auditor.cli import endings, options
from auditor.cli.terminal import say
from auditor.core.money import dollars
from auditor.core.whole_files import write_whole

if TYPE_CHECKING:
    import pandas as pd

    from auditor.book.ledger import Book

ON = click.option("--on", type=options.TODAY, help="The day it happened. Default: today.")
REFERENCE = click.option("--reference", help="The carrier's number for the dispute.")
NOTE = click.option("--note", help="Anything worth remembering.")
STATEMENT = click.option("--statement", help="The statement, where a parcel is disputed on several.")
NAMES = click.argument("names", nargs=-1, required=True, metavar="TRACKING…")


@click.group("disputes", invoke_without_command=True)
@click.option("--closed", is_flag=True, help="List also those credited, refused, given up or withdrawn.")
@options.book
@options.today
@click.pass_context
def command(ctx: click.Context, book: Path | None, today: datetime | None, *, closed: bool) -> None:
    r"""List what is worth disputing, the first to expire and the largest first; or mark what happened to a dispute.

    A dispute is called by the parcel's tracking number, or by the words it is listed under.

    \b
    For example:
      auditor disputes
      auditor disputes sent NP4410026031700123 --reference C-1002
      auditor disputes credited NP4410026031700123 --amount 12.40
      auditor disputes calendar deadlines.ics
    """
    if ctx.invoked_subcommand:
        return
    from auditor.disputes import deadlines

    table, path = _disputes(book)
    day = options.day(today)
    say(*_listed(table, day, closed=closed), *deadlines.reminders(table, day), f"Book: {path}")


def _disputes(book: Path | None) -> tuple[pd.DataFrame, Path]:
    from auditor.book.kept_disputes import disputes
    from auditor.book.ledger import opened

    path = options.book_path(book)
    with options.wrong_use(), opened(path, writable=False) as held:
        return disputes(held), path


def _listed(table: pd.DataFrame, day: date, *, closed: bool) -> Iterator[str]:
    shown = table if closed else table[table["open_cents"] > 0]
    shown = shown.sort_values(["dispute_by", "open_cents", "statement", "about"], ascending=[True, False, True, True])
    late = 0
    for dispute in _plain(shown):
        by, last = "no last day", dispute["dispute_by"]
        if last:
            past = dispute["state"] == "open" and last.date() < day
            by = f"{'since' if past else 'by'} {last:%Y-%m-%d}"
            late += dispute["open_cents"] if past else 0
            by = f"too late {by}" if past else by
        what = f"{dispute['state']:<9} {dispute['about']} on {dispute['statement']}"
        yield f"{by}  {dollars(dispute['open_cents'] or dispute['amount_cents']):>10}  {what}{_more(dispute)}"
    if late:
        yield (
            f"{dollars(late)} of what is open was never sent and can no longer be disputed, by the days that the rules "
            "give. Your contract decides; look there, then mark it: auditor disputes give-up."
        )
    sums = {name: int(table[f"{name}_cents"].sum()) for name in ("amount", "open", "credited", "refused", "given_up")}
    yield (
        f"Disputed {dollars(sums['amount'])} = open {dollars(sums['open'])} + credited {dollars(sums['credited'])} + "
        f"refused {dollars(sums['refused'])} + given up {dollars(sums['given_up'])}."
    )


def _more(dispute: dict[str, Any]) -> str:
    """What else there is to say of a dispute, behind a colon."""
    worth = dispute["worth_cents"] or 0
    details = [
        dispute["charges"],
        dispute["dispute"],
        f"{dollars(dispute['credited_cents'])} credited" if dispute["credited_cents"] else "",
        f"reference {dispute['reference']}" if dispute["reference"] else "",
        f"by what is known now it would be {dollars(worth)}" if worth != dispute["amount_cents"] else "",
    ]
    return f": {', '.join(filter(None, details))}" if any(details) else ""


def _plain(table: pd.DataFrame) -> list[dict[str, Any]]:
    from auditor.report.plain import plain_rows

    return plain_rows(table)


def _marks(*extra: Callable[..., Any]) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """The arguments of a command that marks disputes."""
    every = (NAMES, ON, *extra, NOTE, STATEMENT, options.book, options.today)
    return lambda function: reduce(lambda made, option: option(made), reversed(every), function)


def _mark(
    what: str,
    names: tuple[str, ...],
    *,
    on: datetime | None,
    today: datetime | None,
    book: Path | None,
    statement: str | None,
    **details: Any,
) -> None:
    from auditor.book.kept_disputes import Mark, mark
    from auditor.book.ledger import opened

    day = options.day(today)
    with options.wrong_use(), opened(options.book_path(book), must_exist=True) as held:
        how = Mark(what, on.date() if on else day, **details)
        last_days = dict(_last_days(held)) if what == "sent" else {}
        for dispute in mark(held, names, how, today=day, statement=statement):
            say(_stands(dispute))
            last = last_days.get((dispute["statement"], dispute["about"]))
            if last and how.on > last:
                say(
                    f"Warning: the last day to dispute {dispute['about']} on {dispute['statement']} was {last}, by the "
                    f"days that the rules give, and you sent it on {how.on}. The carrier may refuse it for that; your "
                    "contract decides.",
                    err=True,
                )


def _stands(dispute: dict[str, Any]) -> str:
    """How a dispute stands, to the cent."""
    return (
        f"{dispute['about']} on {dispute['statement']} is {dispute['state']}: "
        f"{dollars(int(dispute['amount_cents']))} = open "
        f"{dollars(int(dispute['open_cents']))} + credited {dollars(int(dispute['credited_cents']))} + refused "
        f"{dollars(int(dispute['refused_cents']))} + given up {dollars(int(dispute['given_up_cents']))}."
    )


def _last_days(book: Book) -> Iterator[tuple[tuple[str, str], date]]:
    from auditor.book.kept_disputes import disputes

    for dispute in _plain(disputes(book)):
        if dispute["dispute_by"]:
            yield (dispute["statement"], dispute["about"]), dispute["dispute_by"].date()


@command.command("sent")
@_marks(REFERENCE)
def sent(names: tuple[str, ...], **more: Any) -> None:
    """You wrote to the carrier."""
    _mark("sent", names, **more)


@command.command("answered")
@_marks(REFERENCE)
def answered(names: tuple[str, ...], **more: Any) -> None:
    """The carrier answered, but nothing is decided yet."""
    _mark("answered", names, **more)


@command.command("credited")
@_marks(REFERENCE, click.option("--amount", help="What came back, as 12.40. Default: all that is open."))
def credited(names: tuple[str, ...], amount: str | None, **more: Any) -> None:
    """Money came back in another way than by a statement; credits on statements are found by themselves."""
    _mark("credited", names, amount_cents=_cents(amount), **more)


@command.command("refused")
@_marks(REFERENCE)
def refused(names: tuple[str, ...], **more: Any) -> None:
    """The carrier said no to what is open."""
    _mark("refused", names, **more)


@command.command("give-up")
@_marks()
def give_up(names: tuple[str, ...], **more: Any) -> None:
    """You do not pursue what is open."""
    _mark("given up", names, **more)


@command.command("take-up-again")
@_marks()
def take_up_again(names: tuple[str, ...], **more: Any) -> None:
    """Open again what was refused or given up."""
    _mark("taken up again", names, **more)


@command.command("not-mine")
@NAMES
@STATEMENT
@options.book
@options.today
def not_mine(names: tuple[str, ...], statement: str | None, book: Path | None, today: datetime | None) -> None:
    """You did not send a parcel that is in no record of yours: what it costs is disputed from now on."""
    from auditor.book.kept_disputes import answer_not_mine
    from auditor.book.ledger import opened

    day = options.day(today)
    with options.wrong_use(), opened(options.book_path(book), must_exist=True) as held:
        say(*map(_stands, answer_not_mine(held, names, today=day, statement=statement)))


@command.command("history")
@click.argument("name", metavar="TRACKING")
@options.book
def history(name: str, book: Path | None) -> None:
    """Show all that happened to a dispute; on each statement, where it went on with another."""
    from auditor.book.kept_disputes import history_of
    from auditor.book.ledger import opened

    with options.wrong_use(), opened(options.book_path(book), writable=False) as held:
        happened = history_of(held, name)
    parts = happened.groupby("statement", sort=False)
    for statement, part in parts:
        if len(parts) > 1:
            say(f"On statement {statement}:")
        for event in _plain(part):
            details = [
                "" if event["amount_cents"] is None else dollars(event["amount_cents"]),
                f"by statement {event['by_statement']}" if event["by_statement"] else "",
                f"reference {event['reference']}" if event["reference"] else "",
                event["note"],
            ]
            say(f"{event['happened_on']:%Y-%m-%d}  {event['what']:<15} {', '.join(filter(None, details))}".rstrip())


@command.command("calendar")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@options.book
@options.today
def calendar(file: Path, book: Path | None, today: datetime | None) -> None:
    """Write the last days of all disputes not sent yet into FILE (.ics), for any calendar; none that has passed."""
    from auditor.disputes import deadlines

    table, _ = _disputes(book)
    with endings.writing_to(file, "The calendar", "place"):
        write_whole(file, deadlines.calendar(table, options.day(today)))
    days = deadlines.waiting(table, options.day(today))["dispute_by"].nunique()
    say(f"Written: {file}, with {days:,} last day{'' if days == 1 else 's'}.")


def _cents(amount: str | None) -> int | None:
    if amount is None:
        return None
    try:
        cents = Decimal(amount.removeprefix("$").replace(",", "")) * 100
    except InvalidOperation:
        cents = Decimal("0.5")
    if not cents.is_finite() or cents != cents.to_integral_value():
        raise click.BadParameter(
            f"{amount!r} is no amount of dollars and cents. Write it as 12.40.", param_hint="--amount"
        )
    return int(cents)
