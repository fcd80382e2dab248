"""`auditor rules`: what the rules say, where they come from, and whether a file of your own can be used."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

import click

from auditor.cli.terminal import say

if TYPE_CHECKING:
    from auditor.tariff import Tariff

DAY = click.DateTime(["%Y-%m-%d"])


@click.group("rules", no_args_is_help=True)
def command() -> None:
    r"""List the tariffs, show one in plain sentences, compare two, or check a file of your own.

    \b
    For example:
      auditor rules list
      auditor rules show us-ground-common --on 2026-03-04
      auditor rules compare us-ground-common --on 2025-08-17 --and-on 2025-08-18
      auditor rules check my-carrier.toml
    """


@command.command("list")
def list_() -> None:
    """Name the shipped tariffs, with the days over which they are known."""
    from auditor.tariff import load, shipped

    for name in shipped():
        tariff = load(name)
        say(f"{name:<20} {tariff.title} ({tariff.known_from} to {tariff.known_until}, version {tariff.version})")


@command.command("show")
@click.argument("name")
@click.option("--on", type=DAY, help="A ship date; the last day that is known where none is given.")
def show(name: str, on: datetime | None) -> None:
    """Show tariff NAME (shipped, or a .toml file) as of a day, in plain sentences with sources."""
    from auditor.tariff.sentences import sentences

    tariff = _loaded(name)
    day = _day(tariff, on)
    say(tariff.title, f"{tariff.name}, version {tariff.version}, as of {day}", "")
    if day > tariff.known_until:
        say(f"Last looked at on {tariff.known_until}: what has changed since is not in it.", "")
    for sentence in sentences(tariff, day):
        say(sentence.text)
        if sentence.replaced:
            say(f"    your own, in place of: {sentence.replaced}")
        say(f"    since {sentence.since}; source: {sentence.source}")
    if tariff.not_covered:
        say("", f"Not covered: {tariff.not_covered}.")


@command.command("compare")
@click.argument("name")
@click.argument("other", required=False)
@click.option("--on", type=DAY, help="The day for NAME.")
@click.option("--and-on", "then", type=DAY, help="The day to compare with.")
def compare(name: str, other: str | None, on: datetime | None, then: datetime | None) -> None:
    """Show what differs between tariff NAME and OTHER, or between two days of NAME."""
    from auditor.tariff.sentences import changes

    if other is None and then is None:
        raise click.UsageError("Give a second tariff, or a second day with --and-on.")
    left = _loaded(name)
    right = _loaded(other) if other else left
    first = _day(left, on)
    second = _day(right, then or on)
    found = list(changes(left, first, right, second))
    for change in found:
        say(change.fact, f"    {left.name} on {first}: {change.before or 'none'}")
        say(f"    {right.name} on {second}: {change.after or 'none'}", f"    source: {change.source}")
    if not found:
        say("Nothing differs.")


@command.command("check")
@click.argument("file")
@click.pass_context
def check(ctx: click.Context, file: str) -> None:
    """Check a rule FILE: exits with 0 when it can be used, 1 when something in it is doubtful, 2 when it cannot be."""
    from auditor.tariff.checks import doubtful_facts

    tariff = _loaded(file)
    found = doubtful_facts(tariff)
    for fact, doubt in found:
        say(f"{file}: {fact}: {doubt}.", err=True)
    own = [(fact, value) for fact, values in tariff.facts.items() for value in values if value.own]
    for fact, value in own:
        say(f"{fact}: {value.written} from {value.since}; in place of: {value.replaced or 'nothing'}")
    if not found:
        say(f"{file} can be used: {len(tariff.facts)} facts, known from {tariff.known_from} to {tariff.known_until}.")
    ctx.exit(1 if found else 0)


def _loaded(name: str) -> Tariff:
    from auditor.tariff import RuleError, load

    try:
        return load(name)
    except RuleError as error:
        raise click.UsageError(str(error)) from error


def _day(tariff: Tariff, on: datetime | None) -> date:
    day = on.date() if on else tariff.known_until
    if day < tariff.known_from:
        raise click.UsageError(f"The rules {tariff.name} are known only from {tariff.known_from} on, not for {day}.")
    return day
