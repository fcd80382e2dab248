"""A PDF → grids for its tables, which may run over pages; one without tables is a letter.

Pages that are pictures, as from a scanner, are read by recognition (`picture_file.py`), or else told of.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from auditor.core.sandbox import said_by
from auditor.core.schemas import Problem
from auditor.intake import layout, pdf_pages, picture_file, vocabulary
from auditor.intake.documents import Damaged, Grid, Letter, Opened, Page, Text, Unreadable, WithoutText, refuse_over
from auditor.intake.pdf_pages import HUNDREDTHS
from auditor.intake.placed import Numbers

LARGEST = 100 * 2**20
MOST_PAGES = 2_000
SECONDS_A_PAGE = 20.0
SECONDS = 1_200.0
PROCESSES = 2
SMALL = 2**18
"""A file of so few bytes is read by one process: another would take longer to start than its share takes to read."""
MOST_STOPS = 3
"""Pages that may stop a process before the rest of its share is given up."""

HINDRANCES = {
    "password": "This PDF is protected with a password. Open it with the password, print or save it as a PDF without "
    "one, and give that.",
    "damaged": "This PDF is damaged or cut off: no page of it could be opened. Download it again, or ask for the "
    "statement as CSV.",
    "pages": f"This PDF has more than {MOST_PAGES:,} pages, which is more than are read. Split it into smaller files.",
}

LAID = (
    "The text here was laid over a picture of the page by character recognition, which can take one character for "
    "another. Compare what matters with the picture."
)

FEW_WORDS = 20
"""A page with fewer words under which a picture lies may be a scan with a number stamped on it."""
LARGE = 0.3
"""From this part of its page on a picture is no logo."""
MOSTLY = 0.5
"""Where more of its texts are not to be seen, a page with a large picture is a scan with its text laid over it."""
MANY_SHAPES = 100
"""From so many on, the shapes on a page without a word may be letters that are drawn."""


Part = tuple[int, int]
"""Which share of the pages, and of how many shares."""


def read(name: str, path: Path) -> Opened:
    """Read the tables of a PDF, or its text where it has none.

    Raises:
        Unreadable: too large, protected, damaged; or its pages are pictures, and these cannot be read.
    """
    refuse_over(LARGEST, path.stat().st_size)
    said, stopped, count = _pages(path)
    problems = (*_cut_off(name, path), *_faults(name, said, stopped, count))
    sound = [page for page in said if "words" in page]
    pictures = [page["page"] for page in sound if _is_picture(page)]
    written = [page for page in sound if page["page"] not in pictures]
    pages = tuple(_page(page) for page in written)
    grids, outside = layout.tables(pages)
    if not grids and not outside:
        if not problems:
            return picture_file.read(name, path)
        pictures = [page["page"] for page in sound]
    problems += tuple(_partly_pictures(name, written))
    if laid := [page["page"] for page in written if page["laid"] > MOSTLY and _large(page) >= LARGE]:
        problems += (Problem(name, picture_file.listed(laid), LAID, note=True),)
        grids = [replace(grid, by_recognition=_stands_on(grid, laid)) for grid in grids]
    scanned = _scanned(name, path, pictures) if pictures else Opened(())
    documents = _together(grids, tuple(line.text for line in outside), scanned.documents)
    return Opened(documents, (*problems, *scanned.problems), pages=() if laid else pages)


def _is_picture(page: dict[str, Any]) -> bool:
    """Whether a page is a picture, as from a scanner; one of text that has a logo is not."""
    words = page["words"].count("\n") + 1 if page["words"] else 0
    return (words < FEW_WORDS and _pictured(page) >= LARGE) or (not words and page["drawn"] >= MANY_SHAPES)


def _pictured(page: dict[str, Any]) -> float:
    """The part of a page that pictures take up, from 0 to 1; none where they lie behind words."""
    words, pictures = _boxes(page, "boxes"), _on_page(page)
    across, down = (words[:, :2] + words[:, 2:]).T / 2
    on_pictures = np.zeros(len(words), dtype=bool)
    for x0, top, x1, bottom in pictures:
        on_pictures |= (x0 <= across) & (across <= x1) & (top <= down) & (down <= bottom)
    return 0.0 if on_pictures.sum() >= FEW_WORDS else _large(page)


def _large(page: dict[str, Any]) -> float:
    """The part of a page that pictures take up, whatever stands on them."""
    width, height = page["size"]
    pictures = _on_page(page)
    return min(1.0, float((pictures[:, 2:] - pictures[:, :2]).prod(axis=1).sum() / max(width * height, 1)))


def _on_page(page: dict[str, Any]) -> Numbers:
    width, height = page["size"]
    return np.clip(_boxes(page, "pictures"), 0, [width, height, width, height])


def _stands_on(grid: Grid, pages: Sequence[int]) -> bool:
    marks = tuple(f"page {number}," for number in pages)
    return any(place.startswith(marks) for place in grid.places)


def _partly_pictures(name: str, written: Sequence[dict[str, Any]]) -> Iterator[Problem]:
    """Pages of text on which a large picture stands beside it."""
    for page in written:
        if (share := _pictured(page)) >= LARGE:
            message = (
                f"A picture takes up {share:.0%} of this page, and what stands in it was not read. If it shows lines "
                "of the statement, ask for the statement as CSV."
            )
            yield Problem(name, f"page {page['page']}", message, note=True)


def _scanned(name: str, path: Path, pictures: Sequence[int]) -> Opened:
    """What those pages hold, which are pictures, or why they could not be read."""
    if not picture_file.installed():
        return Opened((), tuple(picture_file.not_installed(name, pictures)))
    try:
        return picture_file.read(name, path, pictures)
    except Unreadable as reason:
        nothing = isinstance(reason, WithoutText)
        problem = Problem(name, picture_file.listed(pictures), str(reason), unread=not nothing, note=nothing)
        return Opened((), (problem,))


def _together(
    grids: Sequence[Grid], outside: tuple[str, ...], scanned: Sequence[Grid | Letter | Text]
) -> tuple[Grid | Letter, ...]:
    """Tables and letters of pages of text and of pages that are pictures, each table with all that stands around it."""
    tables = [one for one in scanned if isinstance(one, Grid)]
    letters = [one for one in scanned if isinstance(one, Letter)]
    around = tables[0].above if tables else tuple(line for one in letters for line in one.text.split("\n"))
    whole = (
        *(replace(grid, above=(*grid.above, *around)) for grid in grids),
        *(replace(table, above=(*outside, *around)) for table in tables),
    )
    said = [Letter("\n".join(outside)), *letters]
    return (*whole, *(one for one in said if one.text.strip() and (not whole or _is_notice(one.text))))


def _is_notice(text: str) -> bool:
    """Whether the text beside tables is a notice of its own, with a parcel's number behind its label."""
    labels = (line.partition(":") for line in text.splitlines())
    return any(
        value.strip() and (vocabulary.meaning(label, "notice") or ("",))[0] == "tracking" for label, _, value in labels
    )


def _page(said: dict[str, Any]) -> Page:
    words = said["words"].split("\n") if said["words"] else []
    return Page(said["page"], words, _boxes(said, "boxes"), _boxes(said, "rulings"))


def _boxes(said: dict[str, Any], name: str) -> Numbers:
    return np.array(said[name], dtype=float).reshape(-1, 4) / HUNDREDTHS


def _pages(path: Path) -> tuple[list[dict[str, Any]], list[int], int]:
    """What each page holds, the pages at which reading stopped, and how many there are.

    The pages are shared out to processes. Where one stops at a page, another goes on after it.
    """
    until = time.monotonic() + SECONDS
    parts = 1 if path.stat().st_size <= SMALL else PROCESSES
    with ThreadPoolExecutor(parts) as pool:
        shares = list(pool.map(lambda part: _share(path, (part, parts), until), range(parts)))
    said = [page for pages, _, _ in shares for page in pages]
    return said, [page for _, stopped, _ in shares for page in stopped], max(count for _, _, count in shares)


def _share(path: Path, part: Part, until: float) -> tuple[list[dict[str, Any]], list[int], int]:
    said: list[dict[str, Any]] = []
    stopped: list[int] = []
    after = 0
    while True:
        head, pages = _printed(path, part, after, until)
        said += pages
        after = pages[-1]["page"] if pages else max(after, head["first"] - 1)
        if after >= head["last"] or len(stopped) >= MOST_STOPS or time.monotonic() > until:
            return said, [*stopped, *range(after + 1, head["last"] + 1)], int(head["pages"])
        after += 1
        stopped.append(after)


def _printed(
    path: Path, part: tuple[int, int], after: int, until: float
) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """What one process says: its share of the pages, and each page it could read."""
    numbers = MOST_PAGES, SECONDS_A_PAGE, *part, after
    said, _ = said_by(pdf_pages.__file__, path.resolve(), *numbers, seconds=until - time.monotonic())
    head = said[0] if said else {"hindrance": "damaged"}
    if not head.get("pages"):
        hindrance = head.get("hindrance", "damaged")
        raise (Damaged if hindrance == "damaged" else Unreadable)(HINDRANCES[hindrance])
    return head, said[1:]


def _cut_off(name: str, path: Path) -> Iterator[Problem]:
    """A PDF ends with a mark (ISO 32000-1, 7.5.5); without it the end is missing, and perhaps pages."""
    with path.open("rb") as file:
        file.seek(-min(2048, path.stat().st_size), 2)
        if b"%%EOF" not in file.read():
            message = "This PDF is cut off: its end is missing, and pages may be. Download it again and run again."
            yield Problem(name, "", message, unread=True)


def _faults(name: str, said: list[dict[str, Any]], stopped: list[int], count: int) -> Iterator[Problem]:
    for page in said:
        if "fault" in page:
            message = f"This page could not be read ({page['fault']}). Ask for the statement as CSV."
            yield Problem(name, f"page {page['page']}", message, unread=True)
    if stopped:
        first, *more = stopped
        what = "it was not read" if not more else f"it and {len(more)} other pages were not read"
        yield Problem(
            name,
            f"page {first}",
            f"This page takes more than {SECONDS_A_PAGE:g} seconds or too much memory to read, so {what} "
            f"({len(stopped)} of {count}). Ask for the statement as CSV.",
            unread=True,
        )
