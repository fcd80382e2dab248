"""Prints the words, rulings and pictures of a PDF's pages, a line of JSON a page. Run by itself, in a process.

A PDF from a stranger can keep its reader busy for hours or fill the memory (a page of a few kB that unpacks to millions
of rectangles). So it is read in a process that a watchdog ends when one page takes too long, and that may have only so
much memory. Of ours it imports `apart.py` alone, so that it starts quickly, and it closes each page before the next.
"""

from __future__ import annotations

import ctypes
import faulthandler
import os
import re
import sys
from collections.abc import Container, Iterable, Iterator
from functools import reduce
from itertools import islice
from pathlib import Path
from typing import Any

import pypdfium2
from pypdfium2 import raw

from auditor.core.sandbox import limit_memory, say

MOST_MEMORY = 2 * 2**30
MOST_CHARACTERS = 200_000
MOST_OBJECTS = 50_000
"""Lines and rectangles that are looked at on one page; a page with more is a drawing and no table."""
MOST_PICTURES = 1_000
DEEPEST = 4
"""How deep drawings may stand within drawings."""
RUN = re.compile(r"[^\s\x00-\x20]+")
WIDE = 0.75
"""Letters wider than this part of their height on average may have gaps between them."""
WORD_GAP = 0.3
"""A gap wider than this part of a letter's height parts two words, as a blank does."""
THIN, SHORT = 3.0, 4.0
"""Points: a shape thinner than the one is a line; one smaller than the other both ways is a dot."""
TEXT, PATH, PICTURE = raw.FPDF_PAGEOBJ_TEXT, raw.FPDF_PAGEOBJ_PATH, raw.FPDF_PAGEOBJ_IMAGE
HUNDREDTHS = 100
"""Places are printed in whole hundredths of a point."""

Box = tuple[float, float, float, float]
"""Left, bottom, right and top of a thing in points, as PDF counts: upwards, whatever of the page is shown."""
Matrix = tuple[float, float, float, float, float, float]
LETTER = raw.FS_RECTF()
"""Where pdfium puts the box of a letter."""
SAME: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


def main(path: Path, most_pages: int, seconds_a_page: float, part: int = 0, parts: int = 1, after: int = 0) -> None:
    """Print a share of the file's pages, or the one word of what hinders it: password, damaged, pages.

    The first line says how many pages there are and which are in this share, the `part`th of `parts`, counted from 1
    and without those up to page `after`.
    """
    limit_memory(MOST_MEMORY)
    with Path(os.devnull).open("w") as nowhere:
        faulthandler.dump_traceback_later(seconds_a_page, exit=True, file=nowhere)
        try:
            pdf = pypdfium2.PdfDocument(path)
            count = len(pdf)
        except pypdfium2.PdfiumError as error:
            say({"hindrance": "password" if error.err_code == raw.FPDF_ERR_PASSWORD else "damaged"})
        else:
            first, last = max(count * part // parts, after) + 1, count * (part + 1) // parts
            say({"hindrance": "pages"} if count > most_pages else {"pages": count, "first": first, "last": last})
            for number in range(first, last + 1) if count <= most_pages else ():
                faulthandler.dump_traceback_later(seconds_a_page, exit=True, file=nowhere)
                say({"page": number} | held(pdf, number - 1))
            pdf.close()
        faulthandler.cancel_dump_traceback_later()


def held(pdf: Any, at: int) -> dict[str, Any]:
    """The page's words, a line each, and where they, its rulings and its pictures stand: x0, top, x1, bottom, in a row.

    `drawn` is how many things are drawn on it, letters aside; `laid` is the part of its texts that is not to be seen,
    as character recognition lays its own over the picture of a page.
    """
    try:
        page = pdf[at]
        try:
            seen, turns = page.get_bbox(), page.get_rotation() // 90
            words, boxes = _words(page)
            rulings, pictures, drawn = _drawn(page)
            laid = _laid(page) if pictures else 0.0
        finally:
            page.close()
    except Exception as error:  # noqa: BLE001 - a stranger's file can fail in any way, and the other pages are read
        return {"fault": type(error).__name__}
    _, _, width, height = upright(seen, seen, turns)
    inside = [
        (word, box)
        for word, box in zip(words, (upright(box, seen, turns) for box in boxes), strict=True)
        if box[2] > 0 and box[3] > 0 and box[0] < width and box[1] < height
    ]
    return {
        "size": [width, height],
        "words": "\n".join(word for word, _ in inside),
        "boxes": _whole(box for _, box in inside),
        "rulings": _whole(upright(box, seen, turns) for box in rulings),
        "pictures": _whole(upright(box, seen, turns) for box in pictures),
        "drawn": drawn,
        "laid": laid,
    }


def _whole(boxes: Iterable[Box]) -> list[int]:
    return [round(number * HUNDREDTHS) for box in boxes for number in box]


def upright(box: Box, seen: Box, turns: int) -> Box:
    """A box as it is seen on the page: x0, top, x1, bottom in points from the top left corner of what is shown.

    Args:
        box: as PDF counts (ISO 32000-1, 8.3.2): upwards, before the page is turned.
        seen: the part of the page that is shown (its CropBox), counted the same way.
        turns: quarter turns clockwise by which the page is shown (its Rotate, 7.7.3.3).
    """
    left, bottom, right, top = box
    from_left, from_right = (left - seen[0], right - seen[0]), (seen[2] - right, seen[2] - left)
    from_bottom, from_top = (bottom - seen[1], top - seen[1]), (seen[3] - top, seen[3] - bottom)
    across, down = (
        (from_left, from_top),
        (from_bottom, from_left),
        (from_right, from_bottom),
        (from_top, from_right),
    )[turns % 4]
    return across[0], down[0], across[1], down[1]


def _words(page: Any) -> tuple[list[str], list[Box]]:
    """Words in the order they were written, each with its box."""
    shown = page.get_textpage()
    try:
        words: list[str] = []
        boxes: list[Box] = []
        for run in RUN.finditer(_text(shown)):
            for word, box in _parted(shown, run[0], run.start()):
                words.append(word)
                boxes.append(box)
    finally:
        shown.close()
    return words, boxes


def _parted(shown: Any, run: str, start: int) -> Iterator[tuple[str, Box]]:
    """A run of letters without a blank as one word; as several where it is so wide that it must have gaps."""
    left, bottom, right, top = _around(_box(shown, start), _box(shown, start + len(run) - 1))
    if len(run) == 1 or right - left <= WIDE * len(run) * (top - bottom):
        yield run, (left, bottom, right, top)
        return
    boxes = [_box(shown, start + at) for at in range(len(run))]
    begin = 0
    for at in range(1, len(run) + 1):
        if at == len(run) or _away(boxes[at - 1], boxes[at]) > WORD_GAP * (boxes[at][3] - boxes[at][1]):
            yield run[begin:at], reduce(_around, boxes[begin:at])
            begin = at


def _box(shown: Any, at: int) -> Box:
    """The box of a letter, from its font's lowest to its highest and as wide as it moves the pen."""
    raw.FPDFText_GetLooseCharBox(shown, at, LETTER)
    left, right, bottom, top = LETTER.left, LETTER.right, LETTER.bottom, LETTER.top
    return min(left, right), min(bottom, top), max(left, right), max(bottom, top)


def _around(one: Box, other: Box) -> Box:
    return min(one[0], other[0]), min(one[1], other[1]), max(one[2], other[2]), max(one[3], other[3])


def _away(one: Box, other: Box) -> float:
    return max(other[0] - one[2], one[0] - other[2], other[1] - one[3], one[1] - other[3])


def _text(shown: Any) -> str:
    """A character for each that the page has. The hyphen at a line's end, which pdfium marks, is a hyphen again."""
    count = raw.FPDFText_CountChars(shown)
    if count > MOST_CHARACTERS:
        raise OverflowError
    buffer = (ctypes.c_ushort * (count + 1))()
    raw.FPDFText_GetText(shown, 0, count, buffer)
    text = bytes(buffer)[: 2 * count].decode("utf-16-le", errors="replace").split("\0")[0]
    if len(text) != count:
        text = "".join(chr(raw.FPDFText_GetUnicode(shown, at)) for at in range(count))
    return text.replace("\x02", "-").replace("\ufffe", "-")


def _drawn(page: Any) -> tuple[list[Box], list[Box], int]:
    """The lines drawn along the page or down it and the sides of its rectangles; its pictures; how much is drawn."""
    count = raw.FPDFPage_CountObjects(page)
    if count > MOST_OBJECTS:
        return [], [], count
    things = _things(page, count, {PATH, PICTURE})
    rulings = [ruling for thing, kind, at in things if kind == PATH for ruling in _sides(thing, at)]
    pictures = [_bounds(thing, at) for thing, kind, at in things if kind == PICTURE]
    return rulings[:MOST_OBJECTS], pictures[:MOST_PICTURES], len(things)


def _laid(page: Any) -> float:
    """The part of a page's texts that is drawn invisibly (ISO 32000-1, 9.3.6, text rendering mode 3)."""
    texts = _things(page, min(raw.FPDFPage_CountObjects(page), MOST_OBJECTS), {TEXT})
    unseen = [raw.FPDFTextObj_GetTextRenderMode(text) == raw.FPDF_TEXTRENDERMODE_INVISIBLE for text, _, _ in texts]
    return float(sum(unseen) / max(len(unseen), 1))


def _things(page: Any, count: int, kinds: Container[int]) -> list[tuple[Any, int, Matrix]]:
    """The things of some kinds among the first of a page."""
    on_page = (raw.FPDFPage_GetObject(page, at) for at in range(count))
    return [*islice(_within(on_page, kinds, SAME, 0), MOST_OBJECTS)]


def _within(
    drawn: Iterator[Any], kinds: Container[int], matrix: Matrix, depth: int
) -> Iterator[tuple[Any, int, Matrix]]:
    """The things of some kinds among things drawn, also within drawings, each with the matrix that puts it in place."""
    for thing in drawn:
        kind = raw.FPDFPageObj_GetType(thing)
        if kind in kinds:
            yield thing, kind, matrix
        elif kind == raw.FPDF_PAGEOBJ_FORM and depth < DEEPEST:
            count = min(raw.FPDFFormObj_CountObjects(thing), MOST_OBJECTS)
            inner = (raw.FPDFFormObj_GetObject(thing, at) for at in range(count))
            yield from _within(inner, kinds, _times(_matrix(thing), matrix), depth + 1)


def _bounds(thing: Any, matrix: Matrix) -> Box:
    """The box of a thing on the page."""
    edges = [ctypes.c_float() for _ in range(4)]
    raw.FPDFPageObj_GetBounds(thing, *map(ctypes.byref, edges))
    left, bottom, right, top = (edge.value for edge in edges)
    (x, y), (other_x, other_y) = _placed(matrix, left, bottom), _placed(matrix, right, top)
    return min(x, other_x), min(y, other_y), max(x, other_x), max(y, other_y)


def _matrix(thing: Any) -> Matrix:
    found = raw.FS_MATRIX()
    raw.FPDFPageObj_GetMatrix(thing, ctypes.byref(found))
    return found.a, found.b, found.c, found.d, found.e, found.f


def _times(one: Matrix, other: Matrix) -> Matrix:
    """The matrix that does what the one does and then the other (ISO 32000-1, 8.3.4)."""
    a, b, c, d, e, f = one
    p, q, r, s, t, u = other
    return a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u


def _placed(matrix: Matrix, x: float, y: float) -> tuple[float, float]:
    a, b, c, d, e, f = matrix
    return a * x + c * y + e, b * x + d * y + f


def _sides(shape: Any, matrix: Matrix) -> Iterator[Box]:
    """A thin shape as one line; a rectangle as its four sides; of any other, the parts that run along or down."""
    filled, stroked = ctypes.c_int(), ctypes.c_int()
    raw.FPDFPath_GetDrawMode(shape, ctypes.byref(filled), ctypes.byref(stroked))
    if not filled.value and not stroked.value:
        return
    pieces = raw.FPDFPath_CountSegments(shape)
    if pieces > 6:  # noqa: PLR2004 - a rectangle has four sides, a start and an end
        yield from _pieces(shape, pieces, matrix)
        return
    left, bottom, right, top = _bounds(shape, matrix)
    if right - left < SHORT and top - bottom < SHORT:
        return
    if right - left < THIN or top - bottom < THIN:
        yield left, bottom, right, top
        return
    yield left, bottom, left, top
    yield right, bottom, right, top
    yield left, bottom, right, bottom
    yield left, top, right, top


def _pieces(shape: Any, count: int, matrix: Matrix) -> Iterator[Box]:
    """The straight pieces of a shape of many, where they run along the page or down it."""
    own = _times(_matrix(shape), matrix)
    before = start = (0.0, 0.0)
    x, y = ctypes.c_float(), ctypes.c_float()
    for at in range(min(count, MOST_OBJECTS)):
        piece = raw.FPDFPath_GetPathSegment(shape, at)
        raw.FPDFPathSegment_GetPoint(piece, ctypes.byref(x), ctypes.byref(y))
        here = _placed(own, x.value, y.value)
        kind = raw.FPDFPathSegment_GetType(piece)
        if kind == raw.FPDF_SEGMENT_LINETO:
            yield from _straight(before, here)
        elif kind == raw.FPDF_SEGMENT_MOVETO:
            start = here
        if raw.FPDFPathSegment_GetClose(piece):
            yield from _straight(here, start)
        before = here


def _straight(one: tuple[float, float], other: tuple[float, float]) -> Iterator[Box]:
    across, down = abs(one[0] - other[0]), abs(one[1] - other[1])
    if min(across, down) < THIN / 2 and max(across, down) >= SHORT:
        yield min(one[0], other[0]), min(one[1], other[1]), max(one[0], other[0]), max(one[1], other[1])


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3]), *map(int, sys.argv[4:]))
