"""A picture of a statement or letter (scan, phone photograph, PDF without text) → grids or a letter, by recognition.

The words are found in a process of their own (`picture_words.py`) and put into rows and columns by `layout.py`. What is
found may be wrong in a character, and the reader's own certainty hardly shows it. So the lines' money counts only where
the statement's printed total agrees with it (`proved`), and tracking numbers are held against their check digits
(`misread.py`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from importlib.util import find_spec
from itertools import count
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.core.money import dollars
from auditor.core.sandbox import said_by
from auditor.core.schemas import Problem
from auditor.intake import layout
from auditor.intake.documents import Grid, Letter, Opened, Page, Unreadable, WithoutText, refuse_over

LARGEST = 100 * 2**20
MOST_DOTS = 80_000_000
MOST_PAGES = 60
SECONDS_A_PAGE = 120.0
SECONDS = 3_600.0
STARTS = (b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"II*\x00", b"MM\x00*")
OURS = "auditor columns"
"""What the pictures that we draw say they were made by, so that they are never read as a statement."""
LONGEST_START = 12
HEIC_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif")
"""What stands behind 'ftyp' in the file's first box (ISO/IEC 23008-12, annex B; from memory)."""

HEIC = "This is a HEIC picture, which is not opened here. If it is a statement, save it as PNG or JPEG and give that."
SCRIPT = Path(__file__).with_name("picture_words.py")

SURE = 0.9
"""A text with a digit is told of where recognition is less sure of it, from 0 to 1."""
MOST_TOLD = 20
MARGIN = 0.25
"""The part of its height that a found box stands off its letters, above and below."""

ROUNDS, MOST_CHANGE = 2, 0.5
LETTER = 8.0
"""Points that the letters of most texts are taken to be high."""
SNAP = 1.5
"""Edges no further apart than so many points may be meant to stand under one another."""

NOT_INSTALLED = (
    "This is a picture, or a PDF of pictures as from a scanner, and what reads pictures is not installed. In the "
    "project's folder, run: pip install '.[ocr]'. Then run again. Or ask the carrier for the statement as CSV, or as "
    "the PDF it was printed from."
)
PAGE_NOT_INSTALLED = (
    "This page is a picture, as from a scanner, and what reads pictures is not installed, so it was not read. In the "
    "project's folder, run: pip install '.[ocr]'. Then run again. Or ask the carrier for the statement as CSV."
)
HINDRANCES = {
    "damaged": "This picture is damaged or cut off, or of a kind that is not known. Save it anew as PNG or JPEG.",
    "dots": f"This picture has more than {MOST_DOTS // 10**6} million dots, which is more than are read. Save it "
    "smaller; 200 dots an inch are enough.",
    "slow": f"This picture takes more than {SECONDS_A_PAGE:g} seconds or too much memory to read. Save it smaller; 200 "
    "dots an inch are enough.",
}
RECOGNISED = (
    "This was read from a picture by character recognition, which can take one character for another. Compare what "
    "matters with the paper."
)
NOTHING = (
    "No text was found in this picture. If it is a statement, take it again: flat, in good light, filling the picture. "
    "Otherwise leave it out."
)

Corners = npt.NDArray[np.float64]


def is_picture(path: Path) -> bool:
    """Whether the file is a picture, by its first bytes; a file that cannot be opened is none."""
    try:
        with path.open("rb") as file:
            start = file.read(LONGEST_START)
    except OSError:
        return False
    return start.startswith(STARTS) or is_heic(start)


def is_heic(start: bytes) -> bool:
    """Whether a file that begins so is a HEIC or AVIF picture, as phones take them; they are not opened here."""
    return start[4:8] == b"ftyp" and start[8:12] in HEIC_BRANDS


def installed() -> bool:
    """Whether what reads pictures is there."""
    return bool(find_spec("rapidocr") and find_spec("onnxruntime"))


def not_installed(name: str, numbers: Sequence[int]) -> Iterator[Problem]:
    """Pages of a PDF that are pictures and cannot be read, one by one, and many more of them together."""
    for number in numbers[:MOST_TOLD]:
        yield Problem(name, f"page {number}", PAGE_NOT_INSTALLED, unread=True)
    if more := numbers[MOST_TOLD:]:
        message = f"{len(more):,} more pages are pictures, and were not read for the same reason."
        yield Problem(name, listed(more), message, unread=True)


def is_ours(path: Path) -> bool:
    """Whether a picture was drawn by `auditor columns --picture`."""
    with path.open("rb") as file:
        return f"Software\0{OURS}".encode() in file.read(512)


def read(name: str, path: Path, numbers: Sequence[int] = ()) -> Opened:
    """Read the tables of a picture or of a PDF's pages drawn as pictures, or the text where there are none.

    Args:
        name: the file's.
        path: where it is.
        numbers: of those pages of a PDF that are wanted, from 1; all where there are none.

    Raises:
        Unreadable: too large or damaged; or what reads pictures is not installed. WithoutText: no text was found.
    """
    refuse_over(LARGEST, path.stat().st_size)
    if not installed():
        raise Unreadable(NOT_INSTALLED)
    found, problems = _found(name, path, numbers)
    pages = [_page(number, page) for number, page in zip(numbers or count(1), found, strict=False)]
    grids, outside = layout.tables(pages)
    text = "\n".join(line.text for line in outside)
    if not grids and not text.strip():
        raise WithoutText(NOTHING)
    told = Problem(name, listed(numbers), RECOGNISED, note=True)
    problems = [told, *problems, *_without_text(name, pages), *_unsure(name, found, pages, grids)]
    tables = tuple(replace(grid, boxes=(), by_recognition=True) for grid in grids)  # their points are not the page's
    return Opened(tables or (Letter(text),), tuple(problems))


def listed(numbers: Sequence[int]) -> str:
    """Numbers of pages as a place: 'page 3', 'pages 3 to 5 and 9'; '' for none."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and runs[-1][-1] == number - 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    *texts, last = [f"{run[0]} to {run[-1]}" if len(run) > 1 else f"{run[0]}" for run in runs] or [""]
    pages = f"{', '.join(texts)} and {last}" if texts else last
    return f"page{'s' if len(numbers) > 1 else ''} {pages}" if numbers else ""


def _found(name: str, path: Path, numbers: Sequence[int]) -> tuple[list[dict[str, Any]], list[Problem]]:
    """What was found on each page, and that pages after these were not read."""
    limits = MOST_PAGES, MOST_DOTS, SECONDS_A_PAGE
    said, ended_well = said_by(str(SCRIPT), path.resolve(), *limits, *numbers, seconds=SECONDS)
    pages = [page for page in said if "texts" in page]
    hindrance = next((page["hindrance"] for page in said if "hindrance" in page), "" if ended_well else "slow")
    if hindrance and not pages:
        raise Unreadable(HINDRANCES[hindrance])
    left = numbers[len(pages) :] or [len(pages) + 1]
    return pages, [_stopped(name, left[0], hindrance)] if hindrance else []


def _stopped(name: str, page: int, hindrance: str) -> Problem:
    reason = (
        f"Of pictures and scans up to {MOST_PAGES} pages are read. Split it into smaller files."
        if hindrance == "pages"
        else HINDRANCES[hindrance]
    )
    return Problem(name, f"page {page}", f"This page and those after it were not read. {reason}", unread=True)


def _without_text(name: str, pages: Sequence[Page]) -> Iterator[Problem]:
    for page in pages:
        if not page.words:
            yield Problem(name, f"page {page.number}", "No text was found on this page.", note=True)


def _unsure(
    name: str, found: Sequence[dict[str, Any]], pages: Sequence[Page], grids: Sequence[Grid]
) -> Iterator[Problem]:
    """The texts with digits of which recognition is not sure, each with the row it stands in."""
    doubts = [
        (page, at, sure)
        for held, page in zip(found, pages, strict=True)
        for at, sure in enumerate(held["sure"])
        if sure < SURE and re.search(r"\d", page.words[at])
    ]
    for page, at, sure in doubts[:MOST_TOLD]:
        message = (
            f"'{page.words[at]}' may be misread (recognition is sure to {int(sure * 100)}%). Compare it with the paper."
        )
        yield Problem(name, _row(page, at, grids), message, note=True)
    if more := doubts[MOST_TOLD:]:
        yield Problem(name, "", f"{len(more)} more texts with digits may be misread.", note=True)


def _row(page: Page, at: int, grids: Sequence[Grid]) -> str:
    """The place of the row in which a text stands; just its page where it is in no table."""
    middle = (page.boxes[at, 1] + page.boxes[at, 3]) / 2
    for place, box in ((place, box) for grid in grids for place, box in zip(grid.places, grid.boxes, strict=True)):
        _, top, _, bottom = map(float, box.split())
        if place.startswith(f"page {page.number},") and top <= middle <= bottom:
            return place
    return f"page {page.number}"


# Upright boxes


def _page(number: int, page: dict[str, Any]) -> Page:
    return Page(number, page["texts"], upright(np.array(page["corners"], dtype=float)), np.empty((0, 4)))


def upright(corners: Corners) -> Corners:
    """The boxes (x0, top, x1, bottom) of texts on a page that lies askew, as if it lay straight.

    They are in points, taking letters to be of an ordinary size, since a picture does not say how large its page is.

    Args:
        corners: four corners of each text, (texts, 4, 2), from the top left, clockwise.
    """
    if not len(corners):
        return np.empty((0, 4))
    along = corners[:, 1] - corners[:, 0]
    flat = _turned(corners, float(np.median(np.arctan2(along[:, 1], along[:, 0]))))
    for _ in range(ROUNDS):
        flat = _straightened(flat, flat.mean(axis=1))
        down = flat[:, :, ::-1]
        flat = _straightened(down, down[:, (0, 3)].mean(axis=1))[:, :, ::-1]
    boxes = _around(flat)
    heights = boxes[:, 3] - boxes[:, 1]
    off = MARGIN * np.minimum(heights, np.median(heights))
    boxes += off[:, None] * np.array([1, 1, -1, -1])
    boxes *= LETTER / np.median(boxes[:, 3] - boxes[:, 1])
    boxes[:, 0], boxes[:, 2] = _aligned(boxes[:, 0]), _aligned(boxes[:, 2])
    return boxes


def _straightened(corners: Corners, points: Corners) -> Corners:
    """The corners moved across so that texts next to each other along stand on one line.

    A photograph taken at a slant makes lines run together, so the slope of a line is taken to change evenly across. The
    middle one of all changes between two lines, and then of all slopes, is taken (after Theil and Sen).

    Args:
        corners: of each text, (texts, 4, 2); the last axis is along and across.
        points: one of each text, (texts, 2), that stand on lines.
    """
    starts, steps = _longest_lines(points, np.median(np.ptp(corners, axis=1).min(axis=1)))
    if not len(starts):
        return corners
    slopes = steps[:, 1] / steps[:, 0]
    at = starts[:, 1] - slopes * starts[:, 0]
    apart = at[None, :] - at[:, None]
    changes = (slopes[None, :] - slopes[:, None])[apart > 0] / apart[apart > 0]
    change = np.median(changes) if len(changes) else 0.0
    if np.abs(change * corners[:, :, 0]).max() > MOST_CHANGE:
        return corners
    slope = np.median(slopes - change * at)
    across = (corners[:, :, 1] - slope * corners[:, :, 0]) / (1 + change * corners[:, :, 0])
    return np.stack([corners[:, :, 0], across], axis=-1)


def _longest_lines(points: Corners, height: float) -> tuple[Corners, Corners]:
    """Where lines of points begin, and the step from there to their end; those at least half as long as the longest.

    Each point leads to the nearest one ahead that is less than half a letter's height across.
    """
    steps = points[None, :, :] - points[:, None, :]
    ahead = np.where((np.abs(steps[:, :, 1]) < height / 2) & (steps[:, :, 0] > height / 2), steps[:, :, 0], np.inf)
    leads = np.isfinite(ahead.min(axis=1))
    to = np.where(leads, ahead.argmin(axis=1), np.arange(len(points)))
    end = to
    for _ in range(len(points).bit_length()):
        end = end[end]
    first = leads & ~np.isin(np.arange(len(points)), to[leads])
    lines = points[end[first]] - points[first]
    long = lines[:, 0] >= lines[:, 0].max(initial=0) / 2
    return points[first][long], lines[long]


def _aligned(edges: Corners) -> Corners:
    """Edges that stand nearly under one another, put right under one another: found boxes differ by a dot or two."""
    ordered = pd.Series(edges).sort_values()
    groups = ordered.groupby((ordered.diff() > SNAP).cumsum())
    middle, spread = groups.transform("median"), groups.transform("max") - groups.transform("min")
    aligned: Corners = middle.where(spread <= 2 * SNAP, ordered).sort_index().to_numpy(dtype=np.float64)
    return aligned


def _turned(corners: Corners, angle: float) -> Corners:
    cosine, sine = np.cos(angle), np.sin(angle)
    turned: Corners = corners @ np.array([[cosine, -sine], [sine, cosine]])
    return turned


def _around(corners: Corners) -> Corners:
    return np.hstack([corners.min(axis=1), corners.max(axis=1)])


# Money


def unproved(
    name: str, lines: pd.DataFrame, totals: pd.DataFrame, recognised: pd.Series
) -> tuple[list[str], list[Problem]]:
    """The statements with lines read from pictures whose printed total does not prove them, and what is said of each.

    Args:
        name: the file's.
        lines: all of the file (LINES), also those that were not read from pictures.
        totals: those that it prints (PRINTED_TOTALS).
        recognised: the statements, of the lines that were read from pictures.
    """
    added = lines.groupby("statement", dropna=False)["amount_cents"].sum()[recognised.unique()]
    printed = totals.groupby("statement", dropna=False)["printed_total_cents"].first().reindex(added.index)
    wrong = added.index[(added != printed).fillna(value=True)]
    return list(wrong), [Problem(name, "", _unproved(one, int(added[one]), printed[one]), unread=True) for one in wrong]


def _unproved(statement: Any, added: int, printed: Any) -> str:
    total = "no total was found on it" if pd.isna(printed) else f"its printed total is {dollars(int(printed))}"
    return (
        f"The lines of statement {statement}, read from a picture in whole or in part, add up to {dollars(added)}, but "
        f"{total}, so a figure was misread or missed and no amount read from the picture was counted. Take the picture "
        "again: flat, in good light, all of it; or ask the carrier for the statement as CSV."
    )
