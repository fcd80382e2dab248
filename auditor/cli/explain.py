"""`auditor explain`: one parcel's working, step by step."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from auditor.cli import options

if TYPE_CHECKING:
    from auditor.audit import Part, Step


@click.command("explain", no_args_is_help=True)
@click.argument("tracking")
@options.paths
@options.rules
@options.given
@options.readings
def command(
    tracking: str, paths: tuple[Path, ...], rules: tuple[str, ...], given: tuple[str, ...], readings: Path | None
) -> None:
    r"""Show how the charges of the parcel TRACKING come about, from the files in PATHS.

    Each step has its rule with the day it began and its source, each charge the file, page and row it was read from.

    \b
    For example:
      auditor explain NP4410026031700123 my-month/
    """
    audit = options.audit_of(paths, rules, given, readings)
    workings = audit.workings.of_parcel(tracking)
    if not workings:
        recorded = tracking in set(audit.shipments["tracking"])
        known = (
            "It is in your records, but no statement read here bills it"
            if recorded
            else "No record or statement has it"
        )
        raise click.ClickException(f"There is nothing to explain about {tracking}: {known}.")
    sentences = audit.findings.set_index("finding")["explanation"]
    for name, parts in workings.items():
        click.echo(f"{tracking}, {name}")
        if name in sentences.index:
            click.echo(click.wrap_text(str(sentences[name]), 100))
        for line in _lines(parts):
            click.echo(line)


def _lines(parts: tuple[Part, ...]) -> Iterator[str]:
    for heading, steps in parts:
        yield f"\n{heading}"
        for step in steps:
            yield f"  {step.what:<60} {step.figure}"
            yield from (f"      {text}" for text in _notes(step))
    yield ""


def _notes(step: Step) -> Iterator[str]:
    if step.rule:
        yield f"{step.rule}{f', {step.version}' if step.version else ''}"
    if step.source:
        yield f"source: {step.source}"
