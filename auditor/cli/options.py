"""Arguments that several commands share."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from auditor.audit import Audit
    from auditor.habits.history import History
    from auditor.tables import Problem
    from auditor.tariff import Prices, Rulebook

KINDS = ("shipments", "cartons", "rates", "fees", "fuel", "statement", "notice")

paths = click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path))
rules = click.option(
    "--rules",
    multiple=True,
    metavar="[SERVICE=]NAME",
    help="A shipped tariff or a .toml file; with SERVICE=, for that service only. Default: us-ground-common.",
)
given = click.option(
    "--as",
    "given",
    multiple=True,
    metavar="KIND=FILE",
    help=f"Read FILE as that kind, whatever it looks like. Kinds: {', '.join(KINDS)}.",
)
readings = click.option(
    "--readings",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder of saved readings of layouts (auditor columns --save). Default: one in your user folder.",
)


def readings_folder(chosen: Path | None) -> Path:
    """The folder of saved readings: the chosen one, or the user's own."""
    return chosen or Path(click.get_app_dir("auditor"), "readings")


def audit_of(paths: Sequence[Path], rules: Sequence[str], given: Sequence[str], readings: Path | None = None) -> Audit:
    """Run the audit. Wrong use is said in a sentence and exits with 2."""
    named = _by_kind(given)
    from auditor.audit import reconcile
    from auditor.tariff import RuleError

    try:
        return reconcile(paths, rules=_by_service(rules), given=named, readings=readings_folder(readings))
    except RuleError as error:
        raise click.UsageError(str(error)) from error


def rulebook_of(rules: Sequence[str]) -> Rulebook:
    """The rules named. Wrong use is said in a sentence and exits with 2."""
    from auditor.tariff import RuleError, opened

    try:
        return opened(_by_service(rules))
    except RuleError as error:
        raise click.UsageError(str(error)) from error


def prices_of(paths: Sequence[Path], audit: Audit) -> Prices:
    """The prices in the files, and the audit's own in the place of each table that is not among them."""
    from auditor import intake
    from auditor.tariff import Prices

    read = intake.read(paths, charges=audit.rulebook.charges)
    tables = {
        name: table if len(table := getattr(read, name)) else getattr(audit.prices, name)
        for name in ("rates", "fees", "fuel")
    }
    if not any(len(getattr(read, name)) for name in tables):
        raise click.UsageError(f"No rates, fees or fuel percentages were found in {', '.join(map(str, paths))}.")
    return Prices(**tables)


def history_of(audit: Audit) -> History:
    """What the shop's own past says of how its cartons are read."""
    from auditor.habits.history import history

    return history(audit.shipments, audit.cartons, audit.lines, audit.readings, audit.rulebook, audit.prices)


def _by_service(rules: Sequence[str]) -> dict[str, str]:
    named: dict[str, str] = {}
    for text in rules:
        service, _, name = text.rpartition("=")
        if service in named:
            raise click.BadParameter(
                f"two tariffs for {service or 'all services'}: {named[service]}, {name}.", param_hint="--rules"
            )
        named[service] = name
    return named


def _by_kind(given: Sequence[str]) -> dict[str, list[Path]]:
    named: dict[str, list[Path]] = {}
    for text in given:
        kind, equals, file = text.partition("=")
        if not equals or kind not in KINDS:
            raise click.BadParameter(f"{text!r} is not KIND=FILE. Kinds are: {', '.join(KINDS)}.", param_hint="--as")
        named.setdefault(kind, []).append(Path(file))
    return named


def said(problem: Problem) -> str:
    """A problem on one line, where it is and what it is."""
    where = ", ".join(part for part in (problem.file, problem.place) if part)
    kind = "Note" if problem.note else "Problem"
    return f"{kind}: {where}: {problem.message}" if where else f"{kind}: {problem.message}"
