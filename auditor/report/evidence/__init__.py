"""Evidence for disputes: for each a PDF with its letter, the letter as plain text, and one table of all claims.

choice.py       which findings
claim.py        a finding → a Claim, or why none is made; reasons.py: its sentences
masking.py      what of a file may be seen: no buyer's name or address
page_pictures.py, cut_lines.py   the statement's own lines as pictures
photographs.py  packing photographs
shop.py, letter.py   the seller's settings and words
papers.py, typesetting.py, *.typ   the papers
claims_csv.py, file_names.py   the table, and what the files are called
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import chain, groupby
from pathlib import Path

import pandas as pd

from auditor.audit import Audit
from auditor.core.progress import each
from auditor.core.whole_files import write_whole
from auditor.intake.files import base_name
from auditor.report.evidence.choice import chosen, of_book
from auditor.report.evidence.claim import Claim, Refused, claim
from auditor.report.evidence.claims_csv import claims_csv
from auditor.report.evidence.file_names import distinct, stem
from auditor.report.evidence.letter import Letter, TemplateError, paragraphs
from auditor.report.evidence.masking import Masking, known_words
from auditor.report.evidence.page_pictures import Wanted, page_of, page_pictures
from auditor.report.evidence.papers import Enclosed, claim_texts, cover_texts, letter_names
from auditor.report.evidence.photographs import SEVERAL, Photograph, photograph
from auditor.report.evidence.shop import EXAMPLE, Shop, ShopError, read_shop
from auditor.report.evidence.typesetting import Typesetter
from auditor.report.plain import plain_rows

__all__ = [
    "EXAMPLE",
    "Letter",
    "Photographs",
    "Sender",
    "Shop",
    "ShopError",
    "TemplateError",
    "Written",
    "of_book",
    "read_shop",
    "write",
]

MOST_TOGETHER = 200
"""Claims whose pictures are held in memory at once."""


@dataclass(frozen=True)
class Written:
    """What was written and what was not: the claims with the names of their files, the refusals, what there is to say.

    `left_over` are PDFs of an earlier run in the same folder that are no claims of this one.
    """

    claims: tuple[Claim, ...]
    paths: tuple[Path, ...]
    refused: tuple[Refused, ...]
    notes: tuple[str, ...]
    left_over: tuple[str, ...]


@dataclass(frozen=True)
class Sender:
    """Who claims, from which carriers; the template of the letters, and the day that stands on them, if one does."""

    shop: Shop = field(default_factory=Shop)
    letter: Letter = field(default_factory=Letter)
    dated: date | None = None


@dataclass(frozen=True)
class Photographs:
    """`embed`: put packing photographs into the PDFs; they may show addresses. `files`: looked for among first."""

    embed: bool = False
    files: Mapping[str, Path] = field(default_factory=dict)


def write(
    audit: Audit,
    originals: Mapping[str, Path],
    folder: Path,
    *,
    wanted: Sequence[str] | None = None,
    sender: Sender | None = None,
    photographs: Photographs | None = None,
) -> Written:
    """Write the evidence for the disputes that are asked for. The same input gives the same bytes; no claim, no file.

    Args:
        audit: the run that the findings are of.
        originals: the files it was made from, and photographs, by the names that the audit knows them by.
        folder: made where it is missing.
        wanted: numbers of parcels or findings; None: all strong disputes.
        sender: who claims, and how.
        photographs: what to do with those taken at packing.

    Raises:
        OSError: the folder cannot be made or written to.
        TemplateError: the letter's template asks for something that there is not.
    """
    sender, photographs = sender or Sender(), photographs or Photographs()
    shop, letter = sender.shop, sender.letter
    names, refused = chosen(audit, wanted)
    masking = Masking(audit, originals)

    def photos(name: str) -> list[Path]:
        return _named(name, photographs.files) or _named(name, originals)

    made = [
        claim(name, audit, masking.text, lambda photo: bool(photos(photo)))
        for name in each(names, "Gathering what proves each dispute")
    ]
    claims = sorted(
        (asked for asked in made if isinstance(asked, Claim)), key=lambda asked: (asked.statement, asked.finding)
    )
    stems = distinct(stem(asked.statement, asked.tracking or f"{asked.charges}-{asked.finding}") for asked in claims)
    paths: list[Path] = []
    notes: list[str] = []
    if claims:
        folder.mkdir(parents=True, exist_ok=True)
    with Typesetter(shop.fonts) as typesetter:
        cut = _pictures(claims, audit, masking, originals)
        for asked, name, pictures in zip(each(claims, "Writing papers"), stems, cut, strict=True):
            photo, carrier = _photograph(asked, photos, embed=photographs.embed), shop.carrier(asked.statement)
            notes += [text for text in (photo.problem, photo.doubt) if text] if photo else []
            text = letter.written(letter_names(asked, shop, carrier, sender.dated))
            enclosed = _enclosed(typesetter, pictures, photo, _digests(asked, audit, originals))
            texts = claim_texts(asked, audit, masking, shop, paragraphs(text), enclosed)
            paths.append(write_whole(folder / f"{name}.pdf", typesetter.pdf("claim", texts)))
            paths.append(write_whole(folder / f"{name}.txt", text))
        for name, content in _covers(claims, shop, typesetter):
            paths.append(write_whole(folder / name, content))
    if claims:
        paths.append(write_whole(folder / "claims.csv", claims_csv(claims, shop, stems)))
    return Written(
        claims=tuple(claims),
        paths=tuple(paths),
        refused=(*refused, *(asked for asked in made if isinstance(asked, Refused))),
        notes=tuple(notes),
        left_over=tuple(sorted({path.name for path in folder.glob("*.pdf")} - {path.name for path in paths})),
    )


def _enclosed(
    typesetter: Typesetter,
    pictures: Sequence[tuple[bytes, str, int]],
    photo: Photograph | None,
    digests: Mapping[str, str],
) -> Enclosed:
    """What lies with a claim, its pictures where the typesetter finds them."""
    return Enclosed(
        pictures=[(typesetter.picture(png, "png"), file, page) for png, file, page in pictures],
        photograph=photo,
        photograph_file=typesetter.picture(photo.jpeg, "jpg") if photo and photo.jpeg else None,
        digests=digests,
    )


def _covers(claims: Sequence[Claim], shop: Shop, typesetter: Typesetter) -> Iterator[tuple[str, bytes]]:
    """A sheet for each statement with several claims, so that no carrier sees what another is asked for."""
    for statement, own in groupby(claims, key=lambda claim: claim.statement):
        together = list(own)
        if len(together) > 1:
            texts = cover_texts(together, shop, shop.carrier(statement))
            yield f"{stem(statement, 'cover')}.pdf", typesetter.pdf("cover", texts)


def _photograph(claim: Claim, photos: Callable[[str], Sequence[Path]], *, embed: bool) -> Photograph | None:
    """The claim's packing photograph; found by its name among the files given, never by a path in a record."""
    if not claim.photo:
        return None
    name, found = base_name(claim.photo), photos(claim.photo)
    if len(found) > 1:
        return Photograph(name, problem=SEVERAL.format(name=name))
    return photograph(name, found[0] if found else None, claim.shipped_on, embed=embed)


def _named(photo: str, files: Mapping[str, Path]) -> list[Path]:
    """The files of that name, one of each content."""
    named = {path for name, path in files.items() if photo and base_name(name) == base_name(photo)}
    by_content = {_digest(path) if len(named) > 1 else "": path for path in sorted(named)}
    return list(by_content.values())


def _pictures(
    claims: Sequence[Claim], audit: Audit, masking: Masking, originals: Mapping[str, Path]
) -> Iterator[list[tuple[bytes, str, int]]]:
    """For each claim the pictures of its lines, each with its file and page."""
    for start in range(0, len(claims), MOST_TOGETHER):
        together = claims[start : start + MOST_TOGETHER]
        wanted = [list(_wanted(claim, audit, masking)) for claim in together]
        cut = iter(page_pictures(list(chain.from_iterable(wanted)), originals))
        for of_claim in wanted:
            drawn = [(next(cut), strip) for strip in of_claim]
            yield [(png, strip.file, strip.page) for png, strip in drawn if png]


def _wanted(claim: Claim, audit: Audit, masking: Masking) -> Iterator[Wanted]:
    """The claim's lines that stand on pages, by file and page."""
    lines = audit.lines.loc[list(claim.lines)]
    pages = lines["source_place"].map(page_of)
    on_pages = lines[pages.notna() & lines["source_box"].notna()].assign(page=pages)
    for (file, page), on_page in on_pages.groupby(["source_file", "page"]):
        rows = plain_rows(on_page)
        known = frozenset().union(*(known_words(row, masking.description(row)) for row in rows))
        yield Wanted(str(file), int(str(page).partition(".")[0]), tuple(row["source_box"] for row in rows), known)


def _digests(claim: Claim, audit: Audit, originals: Mapping[str, Path]) -> dict[str, str]:
    """The SHA-256 of each file that the claim's lines stand in, where it is at hand."""
    files = pd.unique(audit.lines.loc[list(claim.lines), "source_file"])
    return {str(file): _digest(originals[str(file)]) for file in files if str(file) in originals}


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
