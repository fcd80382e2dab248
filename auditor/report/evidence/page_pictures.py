"""The statement's own lines as pictures, cut from the pages of its PDF by `cut_lines.py` in a process of its own."""

from __future__ import annotations

import base64
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from auditor.core.sandbox import said_by
from auditor.intake import pdf_pages
from auditor.report.evidence import cut_lines
from auditor.report.evidence.masking import HEADING_WORDS

SECONDS_A_PAGE = 20.0
SECONDS = 300.0
PLACE = re.compile(r"page (\d+), row \d+")
PDF_START = b"%PDF-"


@dataclass(frozen=True)
class Wanted:
    """Lines of one page that go on one picture: their boxes ('x0 top x1 bottom'), and the words that may be seen."""

    file: str
    page: int
    boxes: tuple[str, ...]
    known: frozenset[str]


def page_of(place: str) -> int | None:
    """The page of a place 'page 2, row 7'; None where it is no page."""
    found = PLACE.fullmatch(place)
    return int(found[1]) if found else None


def is_pdf(path: Path | None) -> bool:
    """Whether the file is there and begins as a PDF does (ISO 32000-1, 7.5.2)."""
    if path is None:
        return False
    try:
        with path.open("rb") as file:
            return file.read(len(PDF_START)) == PDF_START
    except OSError:
        return False


def page_pictures(wanted: Sequence[Wanted], originals: Mapping[str, Path]) -> list[bytes | None]:
    """A PNG for each, or None where its page could not be drawn; each file is opened once."""
    pictures: list[bytes | None] = [None] * len(wanted)
    for file in dict.fromkeys(strip.file for strip in wanted):
        path = originals.get(file)
        if path is not None and is_pdf(path):
            jobs = [(at, strip) for at, strip in enumerate(wanted) if strip.file == file]
            for answer in _printed(path, [_job(at, strip) for at, strip in jobs]):
                if "png" in answer:
                    pictures[answer["job"]] = base64.b64decode(answer["png"])
    return pictures


def _job(number: int, wanted: Wanted) -> dict[str, Any]:
    return {
        "job": number,
        "page": wanted.page,
        "boxes": [[float(edge) for edge in box.split()] for box in wanted.boxes],
        "known": sorted(wanted.known),
        "headings": sorted(HEADING_WORDS),
    }


def _printed(path: Path, jobs: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    in_order = sorted(jobs, key=lambda job: job["page"])
    arguments = path.resolve(), pdf_pages.__file__, SECONDS_A_PAGE
    return said_by(cut_lines.__file__, *arguments, seconds=SECONDS, given=in_order)[0]
