"""`auditor precheck`: at the bench, with tape in hand: is this box safe, and what is to be trimmed?"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from auditor.cli import options
from auditor.cli.terminal import say

if TYPE_CHECKING:
    import pandas as pd

    from auditor.audit import Audit
    from auditor.core.schemas import Problem
    from auditor.habits.bench.precheck import Checked

MOST_CUT = 50
"""Trims are looked for when there are at most so many parcels."""

BELOW_ZERO = re.compile(r"[-−–]\s*[\d.]")


class Precheck(click.Command):
    """A command that does not take '-3 lb' for an option."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Refuse a size or weight below zero in its own words."""
        for text in args:
            if BELOW_ZERO.match(text):
                raise click.UsageError(f"'{text}' is below zero. Measure it again.", ctx)
        return super().parse_args(ctx, args)


@click.command("precheck", cls=Precheck, no_args_is_help=True)
@click.argument("parcels", nargs=-1, required=True)
@click.option(
    "--history",
    multiple=True,
    type=click.Path(path_type=Path),
    help="Your own files or folders: prices, cartons, past months for the chance of a back-charge. Repeat for more.",
)
@click.option("--service", help="Service; every one of your price list when left out.")
@click.option("--zone", help="Zone; every one of your price list when left out.")
@click.option("--residential", is_flag=True, help="To a home.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="Ship date, as 2026-03-31. Default: today.")
@click.option(
    "--format",
    "form",
    type=click.Choice(["text", "csv"]),
    default="text",
    show_default=True,
    help="csv: a row a parcel.",
)
@options.rules
@options.given
@options.readings
@click.pass_context
def command(
    ctx: click.Context,
    parcels: tuple[str, ...],
    history: tuple[Path, ...],
    service: str | None,
    zone: str | None,
    on: datetime | None,
    form: str,
    rules: tuple[str, ...],
    given: tuple[str, ...],
    readings: Path | None,
    *,
    residential: bool,
) -> None:
    r"""Check PARCELS before they are shipped: sizes with weights, your own cartons by name, or files that list parcels.

    Says the expected charge, the distance to each limit, the chance of a back-charge, and what to trim. Exits with 0
    when no limit is passed, 1 when one is or a parcel could not be checked, 2 when called wrongly.

    \b
    For example:
      auditor precheck "47 1/2 x 6 x 6 in" "3 lb"
      auditor precheck "stand tube" --history my-months/ --zone 5
      auditor precheck tonight.csv --history my-months/ --format csv
    """
    audit = options.audit_of(history, rules, given, readings)
    day = (on or datetime.now().astimezone()).date()
    stated = {"service": service, "zone": _zone(zone), "shipped_on": day.isoformat(), "residential": residential}
    table, problems = _parcels(parcels, audit, readings)
    checked, beyond = _checked(_with(table, stated), audit)
    problems += beyond
    say(*_lines(checked, form))
    options.say_problems([*_of_history(audit)], set(audit.lines["source_file"].dropna()), elsewhere=options.IN_FULL)
    say(*map(options.problem_line, problems), err=True)
    left_out = any(not problem.note for problem in problems) or any(problem.unread for problem in audit.problems)
    ctx.exit(1 if left_out or bool(checked.checks["over"].fillna(value=True).any()) else 0)


def _zone(text: str | None) -> str | None:
    from auditor.intake import parsing

    return parsing.zone(text) if text else None


def _parcels(texts: Sequence[str], audit: Audit, readings: Path | None) -> tuple[pd.DataFrame, list[Problem]]:
    """What was typed and listed, with what is known of the shop's own cartons."""
    from auditor import intake
    from auditor.core.schemas import PARCELS, joined
    from auditor.habits.known_cartons import completed, known_cartons
    from auditor.intake.typed import typed, without_quotation_marks

    known = known_cartons(audit.cartons, audit.shipments)
    files = [Path(text) for text in texts if _is_file(text)]
    spoken_texts = [text for text in texts if not _is_file(text)]
    unquoted = without_quotation_marks(spoken_texts, set(known.index))
    try:
        spoken = typed(spoken_texts, set(known.index))
    except ValueError as error:
        raise click.UsageError(unquoted or str(error)) from error
    read = [intake.parcels(file, readings=options.readings_folder(readings)) for file in files]
    faults = [problem for _, problems in read for problem in problems]
    complete, lacking = completed(joined([spoken, *(table for table, _ in read)], PARCELS), known)
    wrong = [problem for problem in lacking if not problem.note and not problem.file]
    if wrong:
        raise click.UsageError(unquoted or wrong[0].message)
    return complete, [*faults, *lacking]


def _is_file(text: str) -> bool:
    named = options.on_disk(text)
    if Path(text).suffix.lower() in {".csv", ".xlsx", ".txt", ".tsv"} and not named:
        raise click.UsageError(f"There is no file {text}.")
    return named is not None and named.is_file()


def _with(table: pd.DataFrame, stated: Mapping[str, object]) -> pd.DataFrame:
    """The parcels with what the options say where they do not say it themselves."""
    from auditor.core.schemas import PARCELS, conform

    for column, value in stated.items():
        table[column] = table[column].astype(object).where(table[column].notna(), value)
    return conform(table, PARCELS)


def _checked(table: pd.DataFrame, audit: Audit) -> tuple[Checked, list[Problem]]:
    """The checks of the parcels for which the rules say anything; what was typed here has to be one of them."""
    from auditor.habits.bench.precheck import check, everywhere, reckonable
    from auditor.habits.bench.prices import carried_on, prices_learned

    kept, problems = reckonable(everywhere(table, audit.prices), audit.rulebook)
    if typed := [problem for problem in problems if not problem.file and not problem.note]:
        raise click.UsageError(typed[0].message)
    past = options.history_of(audit)
    prices, aged = carried_on(audit.prices, table["shipped_on"].max())
    notes = [*problems, *prices_learned(audit.prices, audit.lines), *aged]
    return check(kept, audit.rulebook, prices, past.excess_of, cutting=len(table) <= MOST_CUT), notes


def _lines(checked: Checked, form: str) -> list[str]:
    from auditor.core.schemas import CHECKS
    from auditor.report.csv_files import csv_text
    from auditor.report.lines.precheck import lines_of

    return list(lines_of(checked)) if form == "text" else csv_text(checked.checks, CHECKS).split("\n")[:-1]


def _of_history(audit: Audit) -> list[Problem]:
    """What was wrong with the files of the history; no matter what it lacks."""
    return [problem for problem in audit.problems if problem.file and not problem.note]
