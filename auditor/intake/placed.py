"""Words and where they stand on pages: read in order, as lines, and as tables once each has its row and column.

Everything is measured in points from the top left corner of a page, downwards; letters' heights set the scale, so that
the pages of a scan in dots serve as well.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from auditor.core.arrays import Whole
from auditor.intake.documents import Grid, Page

Numbers = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Texts = npt.NDArray[np.object_]

X0, TOP, X1, BOTTOM = range(4)
SAME_LINE = 0.35
"""Words whose middles are apart by less than this part of their height stand in one line."""
LEAST_GAP, MOST_GAP, BLANKS = 0.35, 0.75, 1.6
"""A gap of more than 1.6 blanks parts two cells; a blank is taken for 0.22 to 0.47 of a letter's height."""
TOUCHING = 0.1
FAR = 1e6
"""Further than any page is wide."""

CURRENCIES = r"US\$|[$€£]|USD|EUR|GBP|CAD|AUD|CHF|ZAR|INR|SEK|NOK|DKK|PLN|CZK|zł|kr\.?|Kč|Rs\.?"
MONEY = re.compile(
    rf"(?:[-+(−–]|{CURRENCIES}){{0,3}}(?:\d{{1,3}}(?:[,.'’]\d{{3}})+|\d+)[.,]\d{{2}}(?:[)\-−]|CR|DR|{CURRENCIES}){{0,2}}",
    re.IGNORECASE,
)
DRAWN = re.compile(r"[-=_.·*—–|+]{3,}")
"""Signs that are no word: a line of dashes, the dots before an amount."""
MONEY_ENDS = frozenset("0123456789)-−DdRr€$£PpFfKkNnłč.")


@dataclass(frozen=True)
class Words:
    """The words of all pages in reading order. Arrays of one length; `line` and `part` count over all pages."""

    texts: Texts
    boxes: Numbers
    page: Whole
    line: Whole
    part: Whole
    money: Flags

    def where(self, chosen: Flags | Whole) -> Words:
        """Those of the words."""
        return Words(
            self.texts[chosen],
            self.boxes[chosen],
            self.page[chosen],
            self.line[chosen],
            self.part[chosen],
            self.money[chosen],
        )

    def __len__(self) -> int:
        return len(self.texts)


@dataclass(frozen=True)
class Line:
    """A line of text: its page, its parts between wide gaps, and the box of each."""

    page: int
    parts: tuple[str, ...]
    boxes: Numbers

    @property
    def text(self) -> str:
        """All of it."""
        return " ".join(self.parts)

    @property
    def box(self) -> str:
        """Around all of it."""
        return written(np.concatenate([self.boxes[:, :X1].min(axis=0), self.boxes[:, X1:].max(axis=0)]))


@dataclass(frozen=True)
class Table:
    """Words of one table with their rows, counted over all pages, and columns, of which there are `width`."""

    words: Words
    row: Whole
    column: Whole
    width: int

    def grid(self) -> Grid:
        """The table as a grid of texts, with the place and box of each row."""
        order = np.lexsort((self.words.boxes[:, X0], self.words.line, self.column, self.row))
        words, row, column = self.words.where(order), self.row[order], self.column[order]
        keys = row * self.width + column
        cells = joined(words.texts, keys)
        rows, starts = np.unique(row, return_index=True)
        texts = [[""] * self.width for _ in rows]
        at = np.searchsorted(rows, [key // self.width for key, _ in cells])
        for number, (key, text) in zip(at.tolist(), cells, strict=True):
            texts[number][key % self.width] = text
        page = words.page[starts]
        nth = np.arange(len(rows)) - np.searchsorted(page, page) + 1
        places = [f"page {one}, row {count}" for one, count in zip(page.tolist(), nth.tolist(), strict=True)]
        boxes = [written(box) for box in around_each(words.boxes, starts)]
        firsts = np.flatnonzero(np.diff(keys, prepend=-1))
        filled = np.column_stack([at, keys[firsts] % self.width, around_each(words.boxes, firsts)])
        return Grid(texts, places, boxes=boxes, cell_boxes=filled)


def together(pieces: Sequence[Table]) -> Table:
    """Pieces of a table as one."""
    words = Words(
        np.concatenate([piece.words.texts for piece in pieces]),
        np.concatenate([piece.words.boxes for piece in pieces]),
        np.concatenate([piece.words.page for piece in pieces]),
        np.concatenate([piece.words.line for piece in pieces]),
        np.concatenate([piece.words.part for piece in pieces]),
        np.concatenate([piece.words.money for piece in pieces]),
    )
    row, column = (np.concatenate([getattr(piece, name) for piece in pieces]) for name in ("row", "column"))
    return Table(words, row, column, pieces[0].width)


def read_in_order(pages: Sequence[Page]) -> Words:
    """The words of pages in lines from top to bottom, and in each from left to right."""
    texts = np.array([word for page in pages for word in page.words], dtype=object)
    boxes = np.concatenate([np.zeros((0, 4)), *(page.boxes.reshape(-1, 4) for page in pages)])
    number = np.repeat(
        np.array([page.number for page in pages], dtype=np.int64),
        np.array([len(page.words) for page in pages], dtype=np.int64),
    )
    kept = np.fromiter((DRAWN.fullmatch(text) is None for text in texts), dtype=bool, count=len(texts))
    return in_order(texts[kept], boxes[kept], number[kept])


def in_order(texts: Texts, boxes: Numbers, number: Whole) -> Words:
    """Words with their boxes and pages' numbers, in lines from top to bottom and in each from left to right."""
    middle, height = boxes[:, [TOP, BOTTOM]].mean(axis=1), boxes[:, BOTTOM] - boxes[:, TOP]
    order = np.lexsort((middle, number))
    apart = np.diff(middle[order], prepend=-FAR) > SAME_LINE * height[order]
    line = np.cumsum(apart | (np.diff(number[order], prepend=-1) != 0))
    across = np.lexsort((boxes[order, X0], line))
    order, line = order[across], line[across]
    known = {text: is_money(text) for text in set(texts.tolist())}
    money = np.fromiter((known[text] for text in texts[order]), dtype=bool, count=len(order))
    words = Words(texts[order], boxes[order], number[order], line, np.zeros_like(line), money)
    return replace(words, part=_parts(words))


def is_money(text: str) -> bool:
    """Whether a word is an amount with two decimals, of whatever sign."""
    return text[-1:] in MONEY_ENDS and MONEY.fullmatch(text) is not None


def lines(words: Words) -> list[Line]:
    """The words as lines of text."""
    starts = np.flatnonzero(np.diff(words.part, prepend=-1))
    parts = [text for _, text in joined(words.texts, words.part)]
    boxes = around_each(words.boxes, starts)
    page, line = words.page[starts].tolist(), words.line[starts]
    first = np.flatnonzero(np.diff(line, prepend=-1)).tolist()
    ends = [*first[1:], len(line)]
    return [Line(page[one], tuple(parts[one:end]), boxes[one:end]) for one, end in zip(first, ends, strict=False)]


def written(box: Numbers) -> str:
    """A box as it is kept with a row: '34.0 120.5 578.0 131.2'."""
    return " ".join(f"{number:.1f}" for number in box.tolist())


def around_each(boxes: Numbers, starts: Whole) -> Numbers:
    """The box around each run of boxes that begins at one of the starts."""
    if not len(starts):
        return np.zeros((0, 4))
    low, high = np.minimum.reduceat(boxes[:, :X1], starts), np.maximum.reduceat(boxes[:, X1:], starts)
    return np.hstack([low, high])


def joined(texts: Texts, keys: Whole) -> list[tuple[int, str]]:
    """The texts of each run of one key, with blanks between."""
    starts = np.flatnonzero(np.diff(keys, prepend=-1)).tolist()
    every = texts.tolist()
    ends = [*starts[1:], len(every)]
    return [(int(keys[a]), " ".join(every[a:b])) for a, b in zip(starts, ends, strict=False)]


def _parts(words: Words) -> Whole:
    """The number of each word's part of a line. What gap parts is told by how wide most blanks of the document are."""
    height = words.boxes[:, BOTTOM] - words.boxes[:, TOP]
    fresh = np.diff(words.line, prepend=-1) != 0
    gap = np.diff(words.boxes[:, X0], prepend=FAR)
    gap[1:] = words.boxes[1:, X0] - words.boxes[:-1, X1]
    gap = gap / np.maximum(height, TOUCHING)
    small = gap[~fresh & (gap > TOUCHING) & (gap < MOST_GAP)]
    blank = np.bincount((small * 50).astype(np.int64)).argmax() / 50 if len(small) else 0.0
    least = min(max(BLANKS * blank, LEAST_GAP), MOST_GAP)
    return np.cumsum(fresh | (gap > least)).astype(np.int64)
