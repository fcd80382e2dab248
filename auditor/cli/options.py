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


def shop_file() -> Path:
    """Where the shop's own settings are looked for."""
    return Path(click.get_app_dir("auditor"), "shop.toml")


def keep_apart(out: Path, paths: Sequence[Path]) -> None:
    """Refuse to write among the files given: what is written would be read as one of them the next time."""
    for path in paths:
        if path.is_dir() and out.resolve().is_relative_to(path.resolve()):
            raise click.UsageError(f"--out {out} lies inside {path}, which is read from. Choose a folder outside it.")


def originals(paths: Sequence[Path], given: Sequence[str]) -> dict[str, Path]:
    """The files among the paths by the names that an audit knows them by, photographs among them."""
    from auditor.intake.files import gathered

    return {file.name: file.path for file in gathered(paths, _by_kind(given))[0]}


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
