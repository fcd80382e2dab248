"""Parcels side by side on pages → the lines of the right side below those of the left one, page by page."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from auditor.core.arrays import Yes
from auditor.intake.placed import TOP, X0, X1
from auditor.intake.reading.anchored import Anchored

SHARE = 0.25
"""So many of the numbers stand on each side at least; the last page may be half empty."""
CROSSING = 0.02
"""So few words stand over the line between the sides: titles and totals do. Chosen."""

FAR = 2.5
"""A foot stands so many times further below the cards than lines stand apart. Chosen."""


def side_by_side(given: Anchored) -> Anchored | None:
    """The words with one side below the other; None where numbers begin in one place, or words lie across the sides.

    The sides are told by the widest gap between the places where numbers begin.
    """
    words = given.words
    begins = np.sort(words.boxes[given.numbers, X0])
    if len(begins) < 4:  # noqa: PLR2004 - two on each side
        return None
    at = int(np.diff(begins).argmax()) + 1
    if not SHARE <= at / len(begins) <= 1 - SHARE:
        return None
    begin = _begin_of_side(given, float(begins[at - 1]), float(begins[at]))
    right = words.boxes[:, X0] >= begin
    across = ~right & (words.boxes[:, X1] > begin)
    below_first = words.line >= words.line[given.numbers].min()
    if across[below_first].mean() > CROSSING:
        return None
    left = np.where(right, float(np.median(begins[at:]) - np.median(begins[:at])), 0.0)
    side = np.where(_at_foot(given, right), 2, right)
    order = np.lexsort((words.boxes[:, X0], words.line, side, words.page))
    moved = Anchored(words, given.numbers, left).where(order)
    fresh = (np.diff(moved.words.line, prepend=-1) != 0) | (np.diff(side[order], prepend=0) != 0)
    part = np.cumsum(fresh | (np.diff(moved.words.part, prepend=-1) != 0))
    return replace(moved, words=replace(moved.words, line=np.cumsum(fresh), part=part))


def _at_foot(given: Anchored, right: Yes) -> Yes:
    """Words far below all others of their page, as totals are, without a number: they are of neither side."""
    words = given.words
    foot = np.zeros(len(words), dtype=bool)
    for page in np.unique(words.page):
        own = np.flatnonzero(words.page == page)
        tops = np.unique(words.boxes[own, TOP])
        steps = np.diff(tops)
        wide = np.flatnonzero(steps > FAR * np.median(steps)) if len(steps) else steps
        if len(wide) and not given.numbers[own][words.boxes[own, TOP] > tops[wide[-1]]].any():
            foot[own] = (words.boxes[own, TOP] > tops[wide[-1]]) & ~right[own]
    return foot


def _begin_of_side(given: Anchored, left: float, right: float) -> float:
    """Where the right side begins: as far left as words stand free between the places where numbers begin."""
    boxes = given.words.boxes
    between = boxes[(boxes[:, X0] > left) & (boxes[:, X0] <= right + 1), X0]
    candidates = np.unique(np.round(between))
    crossing = np.array([((boxes[:, X0] < one - 1) & (boxes[:, X1] > one + 1)).sum() for one in candidates])
    starting = np.array([(np.abs(between - one) <= 1).sum() for one in candidates])
    # Where next to nothing lies across, most words begin at the side's own edge.
    return float(candidates[np.argmax(np.where(crossing <= crossing.min(), starting, -1))]) - 1
