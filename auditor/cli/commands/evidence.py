"""`auditor evidence`: the papers for disputes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from auditor.cli import endings, options
from auditor.cli.terminal import say
from auditor.core.money import dollars

if TYPE_CHECKING:
    from auditor.audit import Audit
    from auditor.report.evidence import Shop, Written
    from auditor.report.evidence.claim import Claim, Refused


EXAMPLES = """\b
For example:
  auditor evidence
  auditor evidence NP4410026032700114 --photographs my-photos/
  auditor evidence NP4410026032700114 my-month/
"""


@dataclass(frozen=True)
class _Source:
    """What papers are made from: the files given, or the book."""

    audit: Audit
    originals: Mapping[str, Path]
    wanted: Sequence[str] | None
    refused: tuple[Refused, ...] = ()
    notes: tuple[str, ...] = ()
    other_rules: Mapping[str, str] = field(default_factory=dict)


@click.command("evidence", epilog=EXAMPLES)
@click.argument("tracking_and_paths", nargs=-1, metavar="[TRACKING]... [PATHS]...")
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
@options.book_or_files
@options.today
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
    book: Path | None,
    today: datetime | None,
    *,
    show_photographs: bool,
) -> None:
    """Write a PDF for each dispute: the letter and the evidence for it, from the book or from the files in PATHS.

    Where PATHS are given, it is made from those files and from nothing else; where none are, from the book and the
    originals kept with it. TRACKING are parcels' numbers (with PATHS also findings', F012); without any, all strong
    disputes are written, of the book those that were not sent yet. To name a parcel with PATHS that is in no record
    says that you did not send it (with the book: auditor disputes not-mine). Beside each PDF stands its letter as plain
    text, and beside them all a cover sheet a statement and claims.csv. Buyers' names and addresses and other parcels'
    lines are left out; read all of it before you send it all the same. This is no legal advice.

    Exits with 0 when done, 1 when done but nothing could be written for a parcel that was asked for or a file could not
    be read, 2 when called wrongly.
    """
    wanted = [text for text in tracking_and_paths if not options.on_disk(text)]
    paths = [path for text in tracking_and_paths if (path := options.on_disk(text))]
    from_book = options.from_book(paths, book, given, readings)
    options.keep_apart(out, paths)
    shop = _shop(shop_file)
    if from_book:
        made_from = _book(options.book_path(book), wanted, rules)
    else:
        say(f"Reading {', '.join(map(str, paths))} …", err=True)
        audit = options.audit_of(paths, rules, given, readings, not_mine=wanted)
        made_from = _Source(audit, options.originals(paths, given), wanted or None)
    from auditor.report import evidence

    try:
        with endings.writing_to(out, "The evidence", "--out"):
            written = evidence.write(
                made_from.audit,
                made_from.originals,
                out,
                wanted=made_from.wanted,
                sender=evidence.Sender(shop, evidence.Letter(template), dated.date() if dated else None),
                photographs=evidence.Photographs(show_photographs, _photographs(folders)),
            )
    except evidence.TemplateError as error:
        raise click.UsageError(str(error)) from error
    written = replace(written, refused=(*made_from.refused, *written.refused), notes=(*made_from.notes, *written.notes))
    say(*_answer(written, out), f"Made from {options.source(paths, book)}.")
    say(*_notes(written, shop, out, options.day(today)), *_by_other_rules(written, made_from), err=True)
    # What could not be read of a file in the book was told when it was taken in.
    unread = [problem for problem in made_from.audit.problems if problem.unread and paths]
    say(*map(options.problem_line, unread), err=True)
    ctx.exit(1 if unread or (written.refused and wanted) else 0)


def _book(path: Path, wanted: Sequence[str], rules: Sequence[str]) -> _Source:
    """What the book holds for the papers that are wanted."""
    say(f"Reading the book {path} …", err=True)
    try:
        held = options.recalled_of(path, rules)
    except click.UsageError as error:
        if not wanted or path.exists():
            raise
        looked = f"None of {', '.join(wanted)} is a file or folder, so the book was looked into."
        raise click.UsageError(f"{looked} {error.message}") from error
    from auditor.report import evidence

    chosen = evidence.of_book(held, wanted or None)
    return _Source(held.audit, chosen.originals, chosen.names, chosen.refused, chosen.notes, held.other_rules)


def _by_other_rules(written: Written, made_from: _Source) -> Iterator[str]:
    for statement in dict.fromkeys(claim.statement for claim in written.claims):
        if before := made_from.other_rules.get(statement):
            yield (
                f"Note: statement {statement} was reckoned by other rules in the book ({before}). Where the amounts "
                "should be those, name them: --rules."
            )


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
    claims, files = _many(len(written.claims), "claim"), _many(len(written.paths), "file")
    yield (
        f"{claims}, {asked} in all. Written to {out}: {files}." if written.claims else "0 claims; nothing was written."
    )


BEFORE_SENDING = (
    "Read every paper before you send it. It is no legal advice; your carrier's terms decide, and where much depends "
    "on it, qualified advice does. Keep the carton, the label, the original photographs and, where you have them, the "
    "goods until the claim is settled, and ask the buyer to do the same. Photographs may show names and addresses."
)


def _too_late(claims: Sequence[Claim], today: date) -> Iterator[str]:
    late = [claim for claim in claims if claim.dispute_by and claim.dispute_by < today]
    if late:
        asked, last = dollars(sum(claim.asked_cents for claim in late)), max(str(claim.dispute_by) for claim in late)
        yield (
            f"Warning: {_many(len(late), 'claim')} of {asked} could be disputed until {last} at most, by the days that "
            "the rules give. The carrier may refuse them for that; your contract decides."
        )


def _notes(written: Written, shop: Shop, out: Path, today: date) -> Iterator[str]:
    for refused in written.refused:
        yield f"No evidence for {refused.what}: {refused.why}."
    yield from (f"Note: {note}" for note in written.notes)
    if written.claims and not shop.name:
        from auditor.report.evidence import EXAMPLE

        yield (
            "Note: the papers have no shop's name yet. Write this, with your own names, into "
            f"{options.shop_file()} (or a file you give with --shop) and run again:"
        )
        yield from ("", *(f"    {line}" for line in EXAMPLE.splitlines()), "")
    if written.left_over:
        yield (
            f"Note: from an earlier run there are also {_listed(written.left_over)} in {out}. This run did not make "
            "them. Look whether those claims still stand before you send them."
        )
    if written.claims:
        yield from _too_late(written.claims, today)
        yield BEFORE_SENDING


def _many(count: int, what: str) -> str:
    return f"{count:,} {what}{'' if count == 1 else 's'}"


MOST_LISTED = 5


def _listed(names: Sequence[str]) -> str:
    more = len(names) - MOST_LISTED
    return ", ".join(names[:MOST_LISTED]) + (f" and {more} more" if more > 0 else "")
