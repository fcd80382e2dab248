"""What stands beside a stack of charges: a parcel's cells in the middle of its height, or stacks of their own.

A number in the middle of its charges is lifted to the first of them, so that a row of a parcel stands over the charges
that are under it. Stacks beside the charges, as on a card, become lines of their own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from auditor.core.arrays import Whole
from auditor.intake.blocks import NUMBER
from auditor.intake.placed import BOTTOM, TOP, X0, X1, Flags, Numbers, Words, in_order, joined
from auditor.intake.wording import SUM

ALIGNED = 2.5
"""Charges under one another begin, and their amounts end, within this many points."""
LEAST = 3
"""So many must stand so for a document to be of such an arrangement."""
MOSTLY = 0.8
"""The share of the pages, or of the charges, that must be of it."""
UNDER = 0.3
"""For each charge beside a number, so many must stand beside something under a number."""
MIDDLE = 0.25
"""A number stands in the middle of its charges within this part of a letter's height."""


@dataclass(frozen=True)
class _Stack:
    """Charges in a column: where they begin, where their amounts end, and the lines they stand in, with their heights.

    `beside` tells of each word of the document whether it stands left of them all or right of their amounts.
    """

    left: float
    right: float
    lines: Whole
    beside: Flags


def lifted(words: Words) -> Words:
    """The words with each parcel's cells at the height of its first charge, where they stand in the middle of them."""
    stack = _stack(words)
    if stack is None:
        return words
    numbered = _numbered(words, stack)
    if len(np.setdiff1d(numbered, stack.lines)) < LEAST:
        return words
    middles = words.boxes[:, [TOP, BOTTOM]].mean(axis=1)
    near = MIDDLE * float(np.median(words.boxes[:, BOTTOM] - words.boxes[:, TOP]))
    moves: dict[int, float] = {}
    pages = np.unique(words.page[np.isin(words.line, stack.lines)]).tolist()
    sound = 0
    for page in pages:
        charges = _heights(stack.lines, words, middles, ~stack.beside & (words.page == page))
        numbers = _heights(numbered, words, middles, stack.beside & (words.page == page))
        found = _groups([*numbers.values()], np.array([*charges.values()]), near)
        sound += found is not None
        moves |= dict(zip(numbers, found or (), strict=False))
    if sound < MOSTLY * len(pages):
        return words
    boxes = words.boxes.copy()
    shift = np.array([moves.get(line, 0.0) for line in words.line.tolist()]) * stack.beside
    boxes[:, [TOP, BOTTOM]] += shift[:, None]
    return in_order(words.texts, boxes, words.page)


def _heights(lines: Whole, words: Words, middles: Numbers, chosen: Flags) -> dict[int, float]:
    """The height of the first chosen word of each line that has one."""
    ours = np.flatnonzero(chosen & np.isin(words.line, lines))
    line, first = np.unique(words.line[ours], return_index=True)
    return dict(zip(line.tolist(), middles[ours[first]].tolist(), strict=True))


def _stack(words: Words) -> _Stack | None:
    """The column of most charges; None where there is none."""
    starts = np.flatnonzero(np.diff(words.part, prepend=-1))
    if not len(starts):
        return None
    ends = np.append(starts[1:], len(words)) - 1
    x0, x1, line = words.boxes[starts, X0], words.boxes[ends, X1], words.line[starts]
    priced = np.flatnonzero(words.money[ends][1:] & ~words.money[ends][:-1] & (line[1:] == line[:-1])) + 1
    if len(priced) < LEAST:
        return None
    right = _commonest(x1[priced])
    priced = priced[np.abs(x1[priced] - right) <= ALIGNED]
    left = _commonest(x0[priced - 1])
    priced = priced[np.abs(x0[priced - 1] - left) <= ALIGNED]
    named = [" ".join(words.texts[starts[at - 1] : starts[at]]) for at in priced.tolist()]
    lines = line[priced[[SUM.match(name) is None for name in named]]]
    beside = (words.boxes[:, X1] <= left - ALIGNED) | (words.boxes[:, X0] >= right + ALIGNED)
    return _Stack(left, right, lines, beside) if len(lines) >= LEAST else None


def _commonest(places: Numbers) -> float:
    """Where most of the places are, within what counts as aligned."""
    near, counts = np.unique(np.round(places / ALIGNED), return_counts=True)
    return float(np.median(places[np.round(places / ALIGNED) == near[counts.argmax()]]))


def _numbered(words: Words, stack: _Stack) -> Whole:
    """The lines in which a parcel's number stands left of the charges."""
    left = np.flatnonzero(stack.beside & (words.boxes[:, X1] < stack.left))
    texts = joined(words.texts[left], words.line[left])
    return np.array([line for line, text in texts if NUMBER.search(text)], dtype=np.int64)


def _groups(numbers: Sequence[float], charges: Numbers, near: float) -> list[float] | None:
    """How far each number is from the first of its charges; None unless each stands in the middle of a run of them."""
    moves = []
    at = 0
    for number in numbers:
        if at >= len(charges) or charges[at] > number + near:
            return None
        end = 2 * number - charges[at]
        last = int(np.abs(charges - end).argmin())
        if last < at or abs(charges[last] - end) > 2 * near:
            return None
        moves.append(charges[at] - number if last > at else 0.0)
        at = last + 1
    return moves if at == len(charges) else None


def apart(words: Words) -> Words:
    """The words with stacks that stand left of charges, and sums right of them, in lines of their own."""
    stack = _stack(words)
    if stack is None or not _is_card(words, stack):
        return words
    charged = np.isin(words.line, stack.lines)
    place = np.where(words.boxes[:, X0] > stack.right, 2, (~stack.beside).astype(np.int64))
    key = words.line * 3 + np.where(charged, place, 0)
    order = np.lexsort((words.boxes[:, X0], key))
    apart = replace(words.where(order), line=key[order])
    fresh = np.diff(apart.part, prepend=-1) != 0
    return replace(apart, part=np.cumsum(fresh | (np.diff(apart.line, prepend=-1) != 0)))


def _is_card(words: Words, stack: _Stack) -> bool:
    """Whether something that is no parcel's number stands under the numbers, beside charges."""
    numbered = _numbered(words, stack)
    left = stack.beside & (words.boxes[:, X0] < stack.left) & np.isin(words.line, stack.lines)
    firsts = np.flatnonzero(left & (np.diff(words.line, prepend=-1) != 0))
    with_number = np.isin(words.line[firsts], numbered)
    places = words.boxes[firsts, X0]
    if with_number.sum() < LEAST:
        return False
    under = (np.abs(places[~with_number] - np.median(places[with_number])) <= ALIGNED).sum()
    return bool(under >= max(LEAST, UNDER * with_number.sum()))
