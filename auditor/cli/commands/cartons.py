"""`auditor cartons`: what each carton costs in back-charges, and what to change."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from auditor.cli import options
from auditor.cli.terminal import say
from auditor.core.money import dollars
from auditor.core.schemas import SHARES, rows
from auditor.core.units import shown

if TYPE_CHECKING:
    from auditor.habits import Habits

HEADINGS = ("carton", "parcels", "back-charged", "to expect", "a month", "read over by")
IN_BRACKETS = (
    "To expect: how many in a hundred are back-charged; with few parcels it is moved towards what all cartons show. "
    "Read over by: how far the carrier reads beyond your figure, of all parcels, those never corrected too. In "
    "brackets is the range in which the true figure lies nine times in ten."
)
NO_FIGURE = "-"
WIDE = 110


@click.command("cartons", no_args_is_help=True)
@options.paths
@click.option(
    "--chance",
    default=2.0,
    show_default=True,
    type=click.FloatRange(0.1, 50),
    help="How many parcels in a hundred may be back-charged for the length of a safe carton.",
)
@click.option(
    "--cover",
    default=90.0,
    show_default=True,
    type=click.FloatRange(50, 98),
    help="How many parcels in a hundred a default weight should cover at least.",
)
@click.option(
    "--changed",
    multiple=True,
    metavar="CARTON=DATE",
    help="You use that carton otherwise from that day on (2026-03-16): compare before and after.",
)
@options.rules
@options.given
@options.readings
@click.pass_context
def command(
    ctx: click.Context,
    paths: tuple[Path, ...],
    chance: float,
    cover: float,
    changed: tuple[str, ...],
    rules: tuple[str, ...],
    given: tuple[str, ...],
    readings: Path | None,
) -> None:
    r"""Say what each carton costs in back-charges, and what to change: its cut, its default weight.

    PATHS are the files or folders of the months to look at, the more the better. What cannot be said yet is told, with
    what is needed for it. How it is reckoned: docs/habits.md. Exits with 1 when a file could not be read.

    \b
    For example:
      auditor cartons 2026-01/ 2026-02/ 2026-03/
      auditor cartons my-months/ --changed "keyboard box=2026-03-16"
    """
    changed_on = _changed_on(changed)
    audit = options.audit_of(paths, rules, given, readings)
    from auditor.habits import Aims, study

    habits = study(audit.recorded, Aims(chance / 100, cover / 100, changed_on))
    say(*_lines(habits))
    unread = [problem for problem in audit.problems if problem.unread]
    for problem in unread:
        say(f"Problem: {problem.file}: {problem.message}", err=True)
    ctx.exit(1 if unread else 0)


def _changed_on(changed: Sequence[str]) -> dict[str, date]:
    """By carton the day from which it is used otherwise."""
    days = {}
    for text in changed:
        carton, equals, day = text.rpartition("=")
        try:
            days[carton.strip()] = date.fromisoformat(day.strip())
        except ValueError:
            equals = ""
        if not equals or not carton.strip():
            message = f'{text!r} is not CARTON=DATE. Write it like "keyboard box=2026-03-16".'
            raise click.BadParameter(message, param_hint="--changed")
    return days


def _lines(habits: Habits) -> Iterator[str]:
    from auditor.habits.advice.words import changes_told, trends_told

    if habits.cartons["parcels"].sum() > 0:
        yield from _table([HEADINGS, *(_row(row, habits.history.unit) for row in rows(habits.cartons))])
        yield from ("", *click.wrap_text(IN_BRACKETS, WIDE).split("\n"))
        yield from _section("What to change", _advice(habits))
        yield from _section("Changes of habit", changes_told(habits.changes))
        yield from _section("Trends", trends_told(habits.cartons))
    yield from _section("What cannot be said yet", habits.gaps)
    yield from _section("What this rests on", habits.notes)


def _row(row: dict[str, Any], unit: str) -> tuple[str, ...]:
    if not row["parcels"]:
        return (row["carton"], "0", *[NO_FIGURE] * 4)
    likely = (f"{100 * row[f'likely_share{end}']:.0f}" for end in ("", "_low", "_high"))
    amount = sum(row[f"{cause}_cents"] for cause in SHARES[:-1])
    return (
        row["carton"],
        str(row["parcels"]),
        str(row["back_charged"]),
        "{} % ({} to {})".format(*likely),
        dollars(int(amount)),
        _over(row, unit),
    )


def _over(row: dict[str, Any], unit: str) -> str:
    ends = [row[f"excess_nm{end}"] for end in ("", "_low", "_high")]
    if not all(isinstance(end, int) for end in ends):
        return NO_FIGURE
    mean, low, high = (shown(int(end), unit, "length", 1) for end in ends)
    return f"{mean} {unit} ({low} to {high})" if row["measured"] else f"at most {high} {unit}"


def _table(lines: Sequence[Sequence[str]]) -> Iterator[str]:
    """Columns as wide as their widest cell; the first is words, the others are figures."""
    widths = [max(len(line[column]) for line in lines) for column in range(len(HEADINGS))]
    for first, *others in lines:
        cells = (cell.rjust(width) for cell, width in zip(others, widths[1:], strict=True))
        yield "  ".join([first.ljust(widths[0]), *cells])


def _section(heading: str, sentences: Iterable[str]) -> Iterator[str]:
    """The heading and the sentences under it; nothing where there are none."""
    for number, sentence in enumerate(sentences):
        if not number:
            yield from ("", heading)
        yield from click.wrap_text(sentence, WIDE, initial_indent="  ", subsequent_indent="    ").split("\n")


def _advice(habits: Habits) -> Iterator[str]:
    from auditor.habits.advice import cautions

    for row in rows(habits.advice):
        yield f"{row['carton']}: {row['sentence']}."
    yield from cautions.of_advice(habits.advice, habits.history.parcels.table["weight_pg"])
