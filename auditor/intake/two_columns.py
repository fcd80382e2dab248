"""Pages in two columns, with parcels down the left one and on down the right one → their lines in that order."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

import numpy as np

from auditor.core.arrays import Whole
from auditor.intake.placed import FAR, X0, X1, Words

ALIGNED = 3.0
LEAST = 6
"""So many numbers of parcels tell, at least."""
SHARE, MOSTLY = 0.3, 0.9
"""Of the numbers so many stand in each column, and so many in the two together."""
STAGGERED = 0.7
"""Where more of the right column's numbers stand beside one in the left, they are a second column of a table."""
CROSSING = 0.01
NUMBER_OF = 10
"""Letters of a parcel's number, at least."""


@dataclass(frozen=True)
class Columns:
    """Where the right one begins, and how far right of the left one; there is none where it begins far out."""

    begin: float = FAR
    shift: float = 0.0


def in_order(words: Words) -> tuple[Words, Columns]:
    """The words with the right column's lines of each page after the left one's, and where the columns stand."""
    starts = np.flatnonzero(np.diff(words.part, prepend=-1))
    if not len(starts):
        return words, Columns()
    of_part = np.searchsorted(starts, np.arange(len(words)), side="right") - 1
    numbers = np.array([_is_number(str(text)) for text in words.texts], dtype=bool)
    headed = starts[np.unique(of_part[numbers])]
    columns = _columns(words, headed)
    if columns.begin == FAR:
        return words, columns
    right = words.boxes[:, X0] >= columns.begin
    pages, at = np.unique(words.page[headed], return_index=True)
    first = dict(zip(pages.tolist(), words.line[headed[at]].tolist(), strict=True))
    moved = right & (words.line >= np.array([first.get(page, FAR) for page in words.page.tolist()]))
    order = np.lexsort((words.boxes[:, X0], words.line, moved, words.page))
    kept = words.where(order)
    fresh = (np.diff(kept.line, prepend=-1) != 0) | (np.diff(moved[order], prepend=-1) != 0)
    part = np.cumsum(fresh | (np.diff(kept.part, prepend=-1) != 0))
    return replace(kept, line=np.cumsum(fresh), part=part), columns


def _columns(words: Words, headed: Whole) -> Columns:
    """Where the parts with a parcel's number begin, if that is in two places, and seldom side by side."""
    begins = words.boxes[headed, X0]
    if len(headed) < LEAST:
        return Columns()
    (one, count), *others = Counter(np.round(begins / ALIGNED).tolist()).most_common(2)
    if not others or min(count, others[0][1]) < SHARE * len(headed) or count + others[0][1] < MOSTLY * len(headed):
        return Columns()
    left, right = sorted(float(np.median(begins[np.round(begins / ALIGNED) == place])) for place in (one, others[0][0]))
    lines = words.line[headed]
    in_right = np.abs(begins - right) <= ALIGNED
    beside = np.isin(lines[in_right], lines[~in_right]).mean()
    pages = np.isin(words.page, np.unique(words.page[headed[in_right]]))
    crossing = pages & (words.boxes[:, X0] < right - 1) & (words.boxes[:, X1] > right + 1)
    if beside > STAGGERED or crossing.sum() > CROSSING * pages.sum():
        return Columns()
    return Columns(right - ALIGNED, right - left)


def _is_number(text: str) -> bool:
    return len(text) >= NUMBER_OF and text.isalnum() and 2 * sum(map(str.isdigit, text)) > len(text)
