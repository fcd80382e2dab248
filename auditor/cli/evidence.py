"""`auditor evidence`: the papers for disputes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from auditor.cli import options
from auditor.money import dollars

if TYPE_CHECKING:
    from auditor.report.evidence import Shop, Written


EXAMPLES = """\b
For example:
  auditor evidence my-month/
  auditor evidence NP4410026032700114 my-month/ --photographs my-photos/
"""


@click.command("evidence", no_args_is_help=True, epilog=EXAMPLES)
@click.argument("tracking_and_paths", nargs=-1, required=True, metavar="[TRACKING]... PATHS...")
@click.option(
    "--out",
    default=Path("auditor-evidence"),
    show_default=True,
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder for the papers; made if need be.",
)
@click.option(
    "--shop",
    "shop_file",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Your shop's name and accounts, a small TOML file. Default: shop.toml in your user folder.",
)
@click.option(
    "--template",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Your own words for the letters, in place of ours.",
)
@click.option(
    "--photographs",
    "folders",
    multiple=True,
    type=click.Path(path_type=Path, file_okay=False, exists=True),
    help="Folder with packing photographs, where they are not among PATHS.",
)
@click.option(
    "--show-photographs",
    is_flag=True,
    help="Put the photographs into the PDFs. They may show names and addresses: look.",
)
@click.option("--dated", type=click.DateTime(["%Y-%m-%d"]), help="A day to put on the letters, 2026-04-20.")
@options.rules
@options.given
@options.readings
@click.pass_context
def command(
    ctx: click.Context,
    tracking_and_paths: tuple[str, ...],
    out: Path,
    shop_file: Path | None,
    template: Path | None,
    folders: tuple[Path, ...],
    dated: datetime | None,
    rules: tuple[str, ...],
    given: tuple[str, ...],
    readings: Path | None,
    *,
    show_photographs: bool,
) -> None:
    """Write a PDF for each dispute: the letter and the evidence for it, from the files in PATHS.

    TRACKING are parcels' numbers (or findings', F012); without any, all strong disputes are written. Beside each PDF
    stands its letter as plain text, and beside them all a cover sheet a statement and claims.csv. Buyers' names and
    addresses and other parcels' lines are left out; read all of it before you send it all the same. This is no legal
    advice.

    Exits with 0 when done, 1 when done but nothing could be written for a parcel that was asked for or a file could not
    be read, 2 when called wrongly.
    """
    wanted = [text for text in tracking_and_paths if not Path(text).exists()]
    paths = [Path(text) for text in tracking_and_paths if Path(text).exists()]
    if not paths:
        raise click.UsageError(
            f"None of {', '.join(wanted)} is a file or folder. Name the month's files after the parcels' numbers."
        )
    options.keep_apart(out, paths)
    shop = _shop(shop_file)
    click.echo(f"Reading {', '.join(map(str, paths))} …", err=True)
    audit = options.audit_of(paths, rules, given, readings)
    from auditor.report import evidence

    try:
        written = evidence.write(
            audit,
            options.originals(paths, given) | _photographs(folders),
            out,
            wanted=wanted,
            shop=shop,
            letter=evidence.Letter(template),
            photographs=show_photographs,
            dated=dated.date() if dated else None,
        )
    except evidence.TemplateError as error:
        raise click.UsageError(str(error)) from error
    except OSError as error:
        message = f"The evidence cannot be written to {out}: {error.strerror}. Choose another --out."
        raise click.UsageError(message) from error
    for line in _answer(written, out):
        click.echo(line)
    for line in _notes(written, shop, out):
        click.echo(line, err=True)
    unread = [problem for problem in audit.problems if problem.unread]
    for problem in unread:
        click.echo(f"Problem: {problem.file}: {problem.message}", err=True)
    ctx.exit(1 if unread or (written.refused and wanted) else 0)


def _photographs(folders: Sequence[Path]) -> dict[str, Path]:
    """The files in the folders, which are looked for by their own names and never read as statements."""
    return {str(path): path for folder in folders for path in sorted(folder.rglob("*")) if path.is_file()}


def _shop(chosen: Path | None) -> Shop:
    """The shop by its file; one without a name where the usual file is not there."""
    from auditor.report.evidence import Shop, ShopError, read_shop

    usual = options.shop_file()
    if chosen is None and not usual.is_file():
        return Shop()
    try:
        return read_shop(chosen or usual)
    except ShopError as error:
        raise click.UsageError(str(error)) from error


def _answer(written: Written, out: Path) -> Iterator[str]:
    for claim in written.claims:
        by = f", by {claim.dispute_by:%Y-%m-%d}" if claim.dispute_by else ""
        what = claim.tracking or claim.charges
        yield f"  {what}: {dollars(claim.asked_cents)} of {dollars(claim.billed_cents)} ({claim.strength}{by})"
    asked = dollars(sum(claim.asked_cents for claim in written.claims))
    count = len(written.claims)
    yield f"{count} claim{'' if count == 1 else 's'}, {asked} in all. Written to {out}: {len(written.paths)} files."


def _notes(written: Written, shop: Shop, out: Path) -> Iterator[str]:
    for refused in written.refused:
        yield f"No evidence for {refused.what}: {refused.why}."
    yield from (f"Note: {note}" for note in written.notes)
    if written.claims and not shop.name:
        from auditor.report.evidence import EXAMPLE

        yield (
            "Note: the papers have no shop's name yet. Write this, with your own names, into "
            f"{options.shop_file()} (or a file you give with --shop) and run again:\n"
        )
        yield "\n".join(f"    {line}" for line in EXAMPLE.splitlines()) + "\n"
    if written.left_over:
        yield (
            f"Note: from an earlier run there are also {_listed(written.left_over)} in {out}. This run did not make "
            "them. Look whether those claims still stand before you send them."
        )
    if written.claims:
        yield "Read every paper before you send it. It is no legal advice; your carrier's terms decide."


MOST_LISTED = 5


def _listed(names: Sequence[str]) -> str:
    more = len(names) - MOST_LISTED
    return ", ".join(names[:MOST_LISTED]) + (f" and {more} more" if more > 0 else "")
