"""Arguments that several commands share."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from auditor.audit import Audit

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
asking = click.option(
    "--ask/--no-ask",
    default=True,
    help="Whether to ask, at a terminal, what a column means where two meanings come close. Default: ask.",
)


def readings_folder(chosen: Path | None) -> Path:
    """The folder of saved readings: the chosen one, or the user's own."""
    return chosen or Path(click.get_app_dir("auditor"), "readings")


def audit_of(
    paths: Sequence[Path],
    rules: Sequence[str],
    given: Sequence[str],
    readings: Path | None = None,
    *,
    ask: bool = False,
) -> Audit:
    """Run the audit; with `ask`, close calls between columns are asked about. Wrong use is said and exits with 2."""
    named, folder = _by_kind(given), readings_folder(readings)
    from auditor import intake
    from auditor.audit import audited
    from auditor.cli import questions
    from auditor.tariff import RuleError, opened

    try:
        book = opened(_by_service(rules))
    except RuleError as error:
        raise click.UsageError(str(error)) from error
    taken = intake.read(paths, given=named, charges=book.charges, readings=folder)
    if ask and (answers := questions.answered(taken.doubts)):
        taken = intake.read(paths, given=named, charges=book.charges, readings=folder, answers=answers)
        questions.offer_to_save(answers, folder)
    return audited(taken, book)


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
