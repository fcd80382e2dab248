"""Which lines of a page are the headings of the rows below them, and which rows stand under the same headings."""

from __future__ import annotations

import re

import numpy as np

from auditor.core.arrays import Whole
from auditor.intake.column_gaps import COLUMNS, Parts
from auditor.intake.placed import BOTTOM, TOP, Flags, Numbers, Words

HEADING_REACH = 2.2
"""Headings stand no further above the first row, in heights of a letter."""
TIGHT = 0.1
STACKED = 0.6
"""Lines of one heading are no further apart, in heights of a letter."""
MOST_KINDS = 20
"""Headings of more kinds than a document has tables are no headings."""
MOST_GROUPS = 2
"""So many lines may name a group of rows, and a group within it, between the headings and the first row."""
APART = 1.5
"""So much further from what stands above them than from their first row are headings in the middle of a page."""
ALIKE = 0.5
"""Headings of which so many words are the same are those of one table."""
FIGURE = re.compile(r".*\d")


def titles_of(words: Words, line: Whole, parts: Parts, body: Flags, fits: Flags, boxes: Numbers, page: Whole) -> Flags:
    """The lines of headings: just above the first row of a page, of several parts, and without figures.

    The name of a group of rows may stand between.
    """
    count = np.bincount(parts.line, minlength=len(body))
    figures = np.zeros(len(body), dtype=bool)
    figures[line[[FIGURE.match(str(text)) is not None for text in words.texts]]] = True
    titles = np.zeros(len(body), dtype=bool)
    for one in np.unique(page[body]).tolist():
        first = int(np.flatnonzero(body & (page == one))[0])
        first = _top_of_row(first, boxes, page, figures)
        for last in range(first, max(first - MOST_GROUPS, 0) - 1, -1):
            if last < first and (page[last] != one or count[last] >= COLUMNS):
                break
            begin = _begin(last, (page == one) & ~figures & (fits | (count >= COLUMNS)), boxes)
            if count[begin:last].max(initial=0) >= COLUMNS:
                titles[begin:last] = True
                break
    may_be = ~figures & ~body & (count >= COLUMNS)
    for at in np.flatnonzero(body[1:] & may_be[:-1] & (page[1:] == page[:-1])).tolist():
        begin = _begin(at + 1, (page == page[at]) & ~figures & ~body & (fits | (count >= COLUMNS)), boxes)
        titles[begin : at + 1] |= _stands_apart(begin, at, boxes, page)
    known = {text_of(words, line, at) for at in np.flatnonzero(titles).tolist()}
    again = np.flatnonzero(may_be & ~titles).tolist() if known else []
    titles[[at for at in again if text_of(words, line, at) in known]] = True
    return titles


def _begin(last: int, may_be: Flags, boxes: Numbers) -> int:
    """The first of the lines of headings that end before `last`."""
    begin = last
    while begin and may_be[begin - 1]:
        height = boxes[begin - 1, BOTTOM] - boxes[begin - 1, TOP]
        reach = HEADING_REACH if begin == last else STACKED
        if boxes[begin, TOP] - boxes[begin - 1, BOTTOM] > reach * height:
            break
        begin -= 1
    return begin


def _top_of_row(first: int, boxes: Numbers, page: Whole, figures: Flags) -> int:
    """The first line of a row whose amount stands lower: lines that reach into one another are of one row."""
    while first and page[first - 1] == page[first]:
        height = boxes[first, BOTTOM] - boxes[first, TOP]
        gap = (boxes[first, TOP] - boxes[first - 1, BOTTOM]) / height
        if gap > -TIGHT and not (gap < TIGHT and figures[first - 1]):
            break
        first -= 1
    return first


def _stands_apart(begin: int, last: int, boxes: Numbers, page: Whole) -> bool:
    """Whether lines are nearer to the row below them than to what stands above, as the headings of a new table are."""
    if not begin or page[begin - 1] != page[begin]:
        return True
    above, below = boxes[begin, TOP] - boxes[begin - 1, BOTTOM], boxes[last + 1, TOP] - boxes[last, BOTTOM]
    height = boxes[last, BOTTOM] - boxes[last, TOP]
    return bool(above > max(APART * below, height))


def runs(titles: Flags, page: Whole) -> list[Whole]:
    """The lines of headings that follow one another on a page, together."""
    at = np.flatnonzero(titles)
    return np.split(at, np.flatnonzero((np.diff(at) > 1) | (np.diff(page[at]) != 0)) + 1) if len(at) else []


def under_one_heading(words: Words, line: Whole, body: Flags, titles: Flags, page: Whole) -> Flags:
    """The lines but those under other headings than most rows have."""
    together = runs(titles, page)
    texts = [{word for at in run for word in text_of(words, line, at).split()} for run in together]
    kinds: list[set[str]] = []
    of_run = []
    for text in texts:
        like = (at for at, kind in enumerate(kinds) if len(text & kind) >= ALIKE * len(text | kind))
        of_run.append(next(like, len(kinds)))
        kinds += [text] if of_run[-1] == len(kinds) else []
        if len(kinds) > MOST_KINDS:
            break
    if not 1 < len(kinds) <= MOST_KINDS:
        return np.ones_like(body)
    begins = [int(run[0]) for run in together]
    nth = np.searchsorted(begins, np.arange(len(body)), side="right") - 1
    kind = np.where(nth >= 0, np.array(of_run)[nth], -1)
    most = np.bincount(kind[body & (kind >= 0)], minlength=len(kinds)).argmax()
    same: Flags = (kind == most) | (kind < 0)
    return same


def text_of(words: Words, line: Whole, at: int) -> str:
    """All words of a line."""
    begin, end = np.searchsorted(line, [at, at + 1])
    return " ".join(words.texts[begin:end])
