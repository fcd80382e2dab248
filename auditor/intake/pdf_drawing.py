"""Draws a PDF's pages as PNG files, with boxes and words on them. Run by itself, in a process of its own.

As for reading (`pdf_pages.py`): a hostile page may take the process down, and a watchdog ends it when one page takes
too long. Of ours it imports `apart.py` alone. What is to be drawn comes as JSON on its input:

    {"by": "auditor …", "legend": {"line": "a row that was read", …},
     "pages": {"1": {"title": "statement.pdf, page 1 …", "marks": [["line", [x0, top, x1, bottom], "7"], …]}}}

with boxes in points from the top left corner of what is shown of a page. A line of JSON is printed a page.
"""

from __future__ import annotations

import contextlib
import faulthandler
import json
import math
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pypdfium2
from PIL import Image, ImageDraw, ImageFont
from PIL.PngImagePlugin import PngInfo

from auditor.core.sandbox import limit_memory, say

MOST_MEMORY = 2 * 2**30
DOTS_A_POINT = 2.0
MOST_DOTS = 25_000_000
"""A page is drawn no larger, whatever size it claims."""
LETTERS = 13
ROOM = 6
"""Dots between things."""
NARROWEST = 900
"""Dots that the legend needs."""

Box = Sequence[float]
STYLES: dict[str, tuple[str, int, tuple[int, int] | None, int]] = {
    "line": ("#0072b2", 2, None, 1),
    "total": ("#d55e00", 2, None, 2),
    "other": ("#555555", 2, (10, 6), 1),
    "unknown": ("#882255", 2, (3, 7), 1),
    "cell": ("#009e73", 1, (2, 3), 1),
}
"""Colour, width in dots, dash and gap (a solid line without), and how many lines: told apart without colour too.

The colours are those of Okabe and Ito's palette for all kinds of sight, and one of Tol's; from memory.
"""


def main(path: Path, folder: Path, stem: str, seconds_a_page: float, after: int) -> None:
    """Draw the pages after `after`, and print each one's number and file; the first line says how many there are."""
    limit_memory(MOST_MEMORY)
    wanted = json.load(sys.stdin)
    with Path(os.devnull).open("w") as nowhere:
        faulthandler.dump_traceback_later(seconds_a_page, exit=True, file=nowhere)
        with contextlib.closing(pypdfium2.PdfDocument(path)) as pdf:
            say({"pages": len(pdf)})
            for number in range(after + 1, len(pdf) + 1):
                faulthandler.dump_traceback_later(seconds_a_page, exit=True, file=nowhere)
                page = wanted["pages"].get(str(number), {"title": f"{stem}, page {number}", "marks": []})
                file = folder / f"{stem}-page-{number:03d}.png"
                say({"page": number} | _drawn(pdf, number, page, wanted, file))
        faulthandler.cancel_dump_traceback_later()


def _drawn(pdf: Any, number: int, marked: dict[str, Any], wanted: dict[str, Any], file: Path) -> dict[str, str]:
    """Draw one page; the file, or the fault."""
    try:
        page = pdf[number - 1]
        try:
            scale = min(DOTS_A_POINT, math.sqrt(MOST_DOTS / max(math.prod(page.get_size()), 1)))
            picture = page.render(scale=scale).to_pil().convert("RGB")
        finally:
            page.close()
    except Exception as error:  # noqa: BLE001 - a stranger's file can fail in any way, and the other pages are drawn
        return {"fault": type(error).__name__}
    _mark(picture, marked["marks"], scale)
    noted = PngInfo()
    noted.add_text("Software", wanted["by"])
    with_legend(picture, marked["title"], wanted["legend"]).save(file, pnginfo=noted)
    return {"file": str(file)}


def _mark(picture: Image.Image, marks: Sequence[tuple[str, Box, str]], scale: float) -> None:
    """Draw the boxes, and then the words, so that no line crosses them."""
    draw = ImageDraw.Draw(picture)
    scaled = [(sort, _within(picture, [number * scale for number in box]), label) for sort, box, label in marks]
    for sort, box, _ in scaled:
        if sort in STYLES:
            outlined(draw, box, sort)
    font = ImageFont.load_default(LETTERS)
    taken: list[Box] = []
    for sort, box, label in scaled:
        if label:
            at = _place(draw.textbbox((0, 0), label, font=font), box, taken, beside=sort != "column")
            taken.append(at)
            draw.rectangle(list(at), fill="white")
            draw.text((at[0] + 1, at[1]), label, font=font, fill=STYLES.get(sort, STYLES["cell"])[0])


def _within(picture: Image.Image, box: Box) -> Box:
    """The box, as far as it lies on the picture."""
    return [min(max(number, 0), most) for number, most in zip(box, 2 * picture.size, strict=True)]


def _place(size: Box, box: Box, taken: Sequence[Box], *, beside: bool) -> Box:
    """Where a label goes: to the left of its box, or above it, higher up where another label stands already."""
    wide, high = size[2] + 2, size[3] + 2
    x0 = max(0, box[0] - wide - ROOM) if beside else box[0]
    top = box[1] if beside else max(0, box[1] - high - ROOM)
    at = (x0, top, x0 + wide, top + high)
    while not beside and at[1] > 0 and any(_overlap(at, other) for other in taken[-40:]):
        at = (x0, at[1] - high, x0 + wide, at[1])
    return at


def _overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def outlined(draw: ImageDraw.ImageDraw, box: Box, sort: str) -> None:
    """Draw a box in the style of its sort, a little off what it holds."""
    _, width, _, times = STYLES[sort]
    for time in range(times):
        off = ROOM / 3 + time * 2 * width
        x0, top, x1, bottom = box[0] - off, box[1] - off, max(box[0], box[2]) + off, max(box[1], box[3]) + off
        for ends in ((x0, top, x1, top), (x0, bottom, x1, bottom), (x0, top, x0, bottom), (x1, top, x1, bottom)):
            _side(draw, ends, sort)


def _side(draw: ImageDraw.ImageDraw, ends: tuple[float, float, float, float], sort: str) -> None:
    """Draw one line of a box, in pieces where its sort is dashed."""
    colour, width, dash, _ = STYLES[sort]
    x0, top, x1, bottom = ends
    long = max(x1 - x0, bottom - top)
    on, step = (dash[0], sum(dash)) if dash else (long, long)
    for at in range(0, math.ceil(long), math.ceil(step)):
        start, end = at / long, min(at + on, long) / long
        piece = [first + part * (last - first) for part in (start, end) for first, last in ((x0, x1), (top, bottom))]
        draw.line(piece, fill=colour, width=width)


def with_legend(picture: Image.Image, title: str, legend: dict[str, str]) -> Image.Image:
    """The picture with what its lines mean below it."""
    font = ImageFont.load_default(LETTERS + 2)
    high = LETTERS + 3 * ROOM
    size = max(picture.width, NARROWEST), picture.height + (len(legend) + 1) * high + 2 * ROOM
    whole = Image.new("RGB", size, "white")
    whole.paste(picture)
    draw = ImageDraw.Draw(whole)
    draw.line((0, picture.height, whole.width, picture.height), fill="black", width=1)
    draw.text((2 * ROOM, picture.height + ROOM), title, font=font, fill="black")
    for row, (sort, meaning) in enumerate(legend.items(), start=1):
        top = picture.height + row * high + ROOM
        outlined(draw, (2 * ROOM, top, 10 * ROOM, top + LETTERS), sort)
        draw.text((13 * ROOM, top - 2), meaning, font=font, fill="black")
    return whole


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3], float(sys.argv[4]), int(sys.argv[5]))
