"""Cuts a statement's lines out of a PDF's pages as pictures. Run by itself, in a process of its own.

A stranger's PDF can keep its reader busy for hours or fill the memory, so a watchdog ends this process, and it may have
only so much memory, as with `auditor.intake.pdf_pages`, whose reading of words it uses. On a picture only the words are
left that are known to be the parcel's own; every other word of the line, and whatever else is drawn there but the
table's rulings, is painted over in the pixels. No other line is on it at all.
"""

from __future__ import annotations

import base64
import faulthandler
import importlib.util
import io
import json
import os
import re
import sys
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal, InvalidOperation
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
from PIL import Image, ImageDraw

from auditor.core.arrays import Yes
from auditor.core.sandbox import limit_memory, say

MOST_MEMORY = 2 * 2**30
DOTS_AN_INCH = 200
MOST_DOTS = 40_000_000
"""A page of more dots than this is drawn coarser."""
POINTS_AN_INCH = 72
PAD, SIDE_PAD = 2.0, 4.0
"""Points kept around a line: above and below at most, and at its ends."""
GAP = 3.0
"""Points between things drawn that are painted over as one."""
INK = 40
"""So many steps of 255 from the line's ground is something drawn."""
LEAST_HEADINGS, MOSTLY = 3, 0.6
"""A line of text with so many words, and that part of them, known as headings is the table's."""
LEAST_RULING = 20.0
"""Points that a ruling runs across at least, or it runs down the whole line."""
MARK = (20, 89, 90)
BLACK = (0, 0, 0)
BAR = 4
"""Dots of the bar that stands where other lines were left out."""

Box = tuple[float, float, float, float]
"""x0, top, x1, bottom in points from the top left corner of the page as it is shown."""
Word = tuple[str, Box]
Mask = Yes


def forms(word: str) -> frozenset[str]:
    """The forms in which a word is compared: in small letters, without marks at its ends; a number by its value."""
    plain = word.casefold().strip("()[]{}$€£.,;:'\"*#-−–+ ")
    numbers = {plain.replace(",", ""), plain.replace(".", "").replace(",", ".")}
    return frozenset({plain, *(_number(text) for text in numbers)} - {""})


def _number(text: str) -> str:
    if not re.fullmatch(r"\d+(\.\d+)?", text, re.ASCII):
        return ""
    try:
        return f"{Decimal(text).normalize():f}"
    except InvalidOperation:
        return ""


def is_known(word: str, known: frozenset[str]) -> bool:
    """Whether a word may be seen: as a whole, or each part of a size written as one; or it has no letter or digit."""
    if not any(character.isalnum() for character in word):
        return True
    parts = re.split(r"[x×*]", word.casefold())
    return bool(forms(word) & known) or (len(parts) > 1 and all(forms(part) & known for part in parts if part))


def main(path: Path, reader_path: Path, seconds_a_page: float) -> None:
    """Print a picture for each job on standard input, a line of JSON each: its number and the PNG, or a fault."""
    reader = _module(reader_path)
    limit_memory(MOST_MEMORY)
    jobs = json.load(sys.stdin)
    with Path(os.devnull).open("w") as nowhere:
        pdf = pypdfium2.PdfDocument(path)
        for number in dict.fromkeys(job["page"] for job in jobs):
            faulthandler.dump_traceback_later(seconds_a_page, exit=True, file=nowhere)
            for answer in _of_page(pdf, reader, number, [job for job in jobs if job["page"] == number]):
                say(answer)
        faulthandler.cancel_dump_traceback_later()


def _module(path: Path) -> Any:
    """A module of ours by its file, without the package around it, which takes longer to load than a page to draw."""
    spec = importlib.util.spec_from_file_location("reader", path)
    assert spec is not None  # noqa: S101 - the path is our own
    assert spec.loader is not None  # noqa: S101 - as above
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _of_page(pdf: Any, reader: Any, number: int, jobs: Sequence[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    try:
        held = reader.held(pdf, number - 1)
        boxes, rulings = (
            [tuple(edge / reader.HUNDREDTHS for edge in held[name][at : at + 4]) for at in range(0, len(held[name]), 4)]
            for name in ("boxes", "rulings")
        )
        words = list(zip(held["words"].split("\n"), boxes, strict=True)) if held["words"] else []
        drawn = _drawn(pdf[number - 1])
        for job in jobs:
            picture = cut(drawn, held["size"], words, rulings, job)
            buffer = io.BytesIO()
            picture.quantize(32, dither=Image.Dither.NONE).save(buffer, "PNG", optimize=True)
            yield {"job": job["job"], "png": base64.b64encode(buffer.getvalue()).decode("ascii")}
    except Exception as error:  # noqa: BLE001 - a stranger's file can fail in any way, and the row's text is shown then
        yield from ({"job": job["job"], "fault": type(error).__name__} for job in jobs)


def _drawn(page: Any) -> Image.Image:
    """The page as a picture, without what was laid over it later (notes, stamps, filled-in forms)."""
    width, height = page.get_size()
    dots = width * height * (DOTS_AN_INCH / POINTS_AN_INCH) ** 2
    scale = DOTS_AN_INCH / POINTS_AN_INCH * min(1.0, (MOST_DOTS / dots) ** 0.5)
    drawn: Image.Image = page.render(scale=scale, draw_annots=False, may_draw_forms=False).to_pil().convert("RGB")
    page.close()
    return drawn


def cut(
    page: Image.Image, size: Sequence[float], words: Sequence[Word], rulings: Sequence[Box], job: dict[str, Any]
) -> Image.Image:
    """The lines of a job one below the other, marked, under the table's headings where they were found.

    Args:
        page: the page as it is shown.
        size: its width and height in points.
        words: its words with their boxes.
        rulings: the lines drawn on it.
        job: `boxes` of the lines, the words `known` to be theirs, and those of `headings`.
    """
    scale = page.width / size[0]
    rows: list[Box] = sorted((tuple(box) for box in job["boxes"]), key=lambda box: box[1])
    headings = frozenset(job["headings"])
    head = _heading(words, rows[0], headings)
    around = [*rows, *([head] if head else [])]
    left, right = min(box[0] for box in around) - SIDE_PAD, max(box[2] for box in around) + SIDE_PAD
    strips = [
        _strip(page, (left, row[1], right, row[3]), words, rulings, frozenset(job["known"]), scale) for row in rows
    ]
    apart = [after[1] - before[3] > after[3] - after[1] for before, after in pairwise(rows)]
    body = _stacked([*_with_bars(strips, apart)])
    ImageDraw.Draw(body).rectangle((0, 0, body.width - 1, body.height - 1), outline=MARK, width=3)
    above = [_strip(page, (left, head[1], right, head[3]), words, rulings, headings, scale)] if head else []
    return _stacked([*above, body])


def _with_bars(strips: Sequence[Image.Image], apart: Sequence[bool]) -> Iterator[Image.Image]:
    """The strips, with a bar where lines between two of them were left out."""
    for at, strip in enumerate(strips):
        if at and apart[at - 1]:
            yield Image.new("RGB", (strip.width, BAR), BLACK)
        yield strip


def _stacked(pictures: Sequence[Image.Image]) -> Image.Image:
    stack = Image.new(
        "RGB", (max(picture.width for picture in pictures), sum(picture.height for picture in pictures)), "white"
    )
    top = 0
    for picture in pictures:
        stack.paste(picture, (0, top))
        top += picture.height
    return stack


def _heading(words: Sequence[Word], first: Box, headings: frozenset[str]) -> Box | None:
    """The nearest line of text above that is mostly of words known as headings."""
    above = sorted((word for word in words if word[1][3] <= first[1] + 1), key=lambda word: -word[1][3])
    while above:
        _, (_, top, _, bottom) = above[0]
        line = [word for word in above if word[1][3] > top and word[1][1] < bottom]
        above = [word for word in above if word not in line]
        known = [box for text, box in line if is_known(text, headings)]
        if len(known) >= LEAST_HEADINGS and len(known) >= MOSTLY * len(line):
            x0, upper, x1, lower = zip(*known, strict=True)
            return min(x0), min(upper), max(x1), max(lower)
    return None


def _strip(
    page: Image.Image, row: Box, words: Sequence[Word], rulings: Sequence[Box], known: frozenset[str], scale: float
) -> Image.Image:
    """One line of the page with nothing to be seen but the words known and the rulings."""
    left, top, right, bottom = row
    above, below = _room(row, words)
    edges = (max(left, 0.0), max(top - above, 0.0), right, bottom + below)
    x0, upper, x1, lower = (round(edge * scale) for edge in edges)
    crop = page.crop((x0, upper, x1, lower))
    seen = _filled(crop, edges, scale, (_wider(box, 1.0, 0.5) for box in _boxes(words, row, known, wanted=True)))
    other = _filled(crop, edges, scale, (_wider(box, 1.0, 1.0) for box in _boxes(words, row, known, wanted=False)))
    ruled = _filled(crop, edges, scale, (_wider(box, 0.75, 0.75) for box in rulings if _is_long(box, bottom - top)))
    dots = np.asarray(crop).copy()
    hidden = (other | _columns(_ink(crop) & ~seen & ~ruled & ~other, GAP * scale)) & ~seen
    dots[hidden] = BLACK
    return Image.fromarray(dots)


def _is_long(ruling: Box, height: float) -> bool:
    """Whether a ruling is the table's and no stroke of a letter that was drawn as a shape."""
    return ruling[3] - ruling[1] >= height or ruling[2] - ruling[0] >= LEAST_RULING


def _room(row: Box, words: Sequence[Word]) -> tuple[float, float]:
    """How far a strip may reach over its line, up and down: half way to the next words."""
    _, top, _, bottom = row
    higher = max((box[3] for _, box in words if box[3] <= top + 1), default=top - 2 * PAD)
    lower = min((box[1] for _, box in words if box[1] >= bottom - 1), default=bottom + 2 * PAD)
    above, below = (min(max(room / 2, 0.0), PAD) for room in (top - higher, lower - bottom))
    return above, below


def _boxes(words: Sequence[Word], row: Box, known: frozenset[str], *, wanted: bool) -> Iterator[Box]:
    """Boxes of the line's known words; or of all words that reach into it but are not."""
    _, top, _, bottom = row
    for text, box in words:
        inside = top <= (box[1] + box[3]) / 2 <= bottom
        if (inside and is_known(text, known)) == wanted and box[3] > top and box[1] < bottom:
            yield box


def _wider(box: Box, across: float, down: float) -> Box:
    return box[0] - across, box[1] - down, box[2] + across, box[3] + down


def _filled(crop: Image.Image, edges: Box, scale: float, boxes: Iterable[Box]) -> Mask:
    """Which dots of the crop lie in one of the boxes."""
    mask = np.zeros((crop.height, crop.width), dtype=np.bool_)
    for x0, top, x1, bottom in boxes:
        across = slice(max(int((x0 - edges[0]) * scale), 0), max(int((x1 - edges[0]) * scale) + 1, 0))
        down = slice(max(int((top - edges[1]) * scale), 0), max(int((bottom - edges[1]) * scale) + 1, 0))
        mask[down, across] = True
    return mask


def _ink(crop: Image.Image) -> Mask:
    """Which dots differ from the line's ground, which is its commonest shade."""
    shades = np.asarray(crop.convert("L")).astype(np.int16)
    ground = np.bincount(shades.ravel(), minlength=256).argmax() if shades.size else 255
    differs: Mask = np.abs(shades - ground) > INK
    return differs


def _columns(ink: Mask, gap: float) -> Mask:
    """From the first to the last dot of each stretch with ink in it, over the whole height."""
    mask = np.zeros_like(ink)
    places = np.flatnonzero(ink.any(axis=0))
    if len(places):
        breaks = np.flatnonzero(np.diff(places) > gap)
        for first, last in zip(places[[0, *(breaks + 1)]], places[[*breaks, -1]], strict=True):
            mask[:, first : last + 1] = True
    return mask


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), float(sys.argv[3]))
