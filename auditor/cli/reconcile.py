"""`auditor reconcile`: the month's answer, and the files that hold it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from auditor.cli import options
from auditor.money import dollars
from auditor.tables import rows

if TYPE_CHECKING:
    from auditor.audit import Audit


@click.command("reconcile", no_args_is_help=True)
@options.paths
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
@click.pass_context
def command(
    ctx: click.Context,
    paths: tuple[Path, ...],
    out: Path,
    rules: tuple[str, ...],
    given: tuple[str, ...],
    readings: Path | None,
) -> None:
    r"""Account for every statement line in PATHS (files or folders) and say what each adjustment is.

    Writes report.html, findings.csv, lines.csv and summary.json. Exits with 0 when done, 1 when done but a statement
    does not tie out or a file could not be read, 2 when called wrongly.

    \b
    For example:
      auditor reconcile my-month/
      auditor reconcile statement.pdf orders.csv prices/ --out march
    """
    _keep_apart(out, paths)
    click.echo(f"Reading {', '.join(map(str, paths))} …", err=True)
    audit = options.audit_of(paths, rules, given, readings)
    from auditor import report

    try:
        written = report.write(audit, out)
    except OSError as error:
        raise click.UsageError(
            f"The report cannot be written to {out}: {error.strerror}. Choose another --out."
        ) from error
    for line in _answer(audit):
        click.echo(line)
    click.echo("Written: " + ", ".join(map(str, written)))
    for problem in audit.problems:
        click.echo(options.said(problem), err=True)
    ctx.exit(0 if audit.complete else 1)


def _keep_apart(out: Path, paths: Sequence[Path]) -> None:
    """A report written among the files given would be read as one of them the next time."""
    for path in paths:
        if path.is_dir() and out.resolve().is_relative_to(path.resolve()):
            raise click.UsageError(f"--out {out} lies inside {path}, which is read from. Choose a folder outside it.")


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
    for cause, found in audit.findings.groupby("cause", sort=False):
        yield f"  {cause}: {_many(len(found), 'finding')}, {dollars(int(found['difference_cents'].sum()))}"
    if len(audit.never_billed):
        yield f"Labels never billed: {', '.join(audit.never_billed['tracking'])}"


def _tie(statement: dict[str, Any]) -> str:
    name, total = statement["statement"], dollars(int(statement["lines_total_cents"]))
    if statement["ties"] is True:
        return f"Statement {name}: {statement['lines']} lines, {total}, ties out to its own total."
    if statement["ties"] is False:
        printed, apart = (dollars(int(statement[key])) for key in ("printed_total_cents", "difference_cents"))
        return f"Statement {name} DOES NOT TIE OUT: its lines come to {total}, it prints {printed}; {apart} apart."
    return f"Statement {name}: {statement['lines']} lines, {total}; it prints no total to hold that against."


def _many(count: int, what: str) -> str:
    return f"{count:,} {what}{'' if count == 1 else 's'}"
