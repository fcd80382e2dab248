"""`auditor explain`: one parcel's working, step by step."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from auditor.cli import options
from auditor.cli.terminal import say
from auditor.core.characters import harmless

if TYPE_CHECKING:
    from auditor.audit import Audit, Part, Step


@click.command("explain", no_args_is_help=True)
@click.argument("tracking")
@click.argument("paths", nargs=-1, type=click.Path(path_type=Path))
@options.rules
@options.given
@options.readings
@options.book_or_files
def command(
    tracking: str,
    paths: tuple[Path, ...],
    rules: tuple[str, ...],
    given: tuple[str, ...],
    readings: Path | None,
    book: Path | None,
) -> None:
    r"""Show how the charges of the parcel TRACKING come about, from the book or from the files in PATHS.

    Where PATHS are given, only those files are looked at; where none are, the book. Each step has its rule with the day
    it began and its source, each charge the file, page and row it was read from.

    \b
    For example:
      auditor explain NP4410026031700123
      auditor explain NP4410026031700123 my-month/
    """
    if (named := options.on_disk(tracking)) and named.is_dir():
        raise click.UsageError(f"{tracking} is a folder. Name the parcel's number first, and the folder after it.")
    source = options.source(paths, book)
    if options.from_book(paths, book, given, readings):
        audit = options.recalled_of(options.book_path(book), rules).audit
    else:
        audit = options.audit_of(paths, rules, given, readings)
        say(*(options.problem_line(problem) for problem in audit.problems if problem.unread), err=True)
    workings = audit.workings.of_parcel(tracking)
    if not workings:
        raise click.ClickException(
            f"There is nothing to explain about {tracking}: {_known(tracking, audit)}. Looked into {source}."
        )
    findings = audit.findings.set_index("finding")
    for name, parts in workings.items():
        statement = f", statement {findings['statement'][name]}" if name in findings.index else ""
        say(f"{tracking}, {name}{statement}")
        if name in findings.index:
            say(*click.wrap_text(harmless(str(findings["explanation"][name])), 100).splitlines())
        say(*_lines(parts))
    say(f"Made from {source}.")


def _known(tracking: str, audit: Audit) -> str:
    """What is known of a parcel that nothing was billed for."""
    import pandas as pd

    from auditor.match import normalised

    if normalised(audit.shipments["tracking"]).isin(normalised(pd.Series([tracking], dtype="str"))).any():
        return "It is in your records, but no statement read here bills it"
    return "No record or statement has it"


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
