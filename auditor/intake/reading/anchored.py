"""Words on pages → the same with each of the shop's numbers as one of them, however it is printed."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from auditor.core.arrays import Places, Yes
from auditor.intake.documents import Page
from auditor.intake.placed import CURRENCIES, TOP, X0, X1, Numbers, Words, around_each, joined, read_in_order
from auditor.intake.reading.known import LEAST_FIGURES, Known, bare

MOST_GROUPS = 8
"""A number is printed in so many groups at most."""
FIGURE, LETTER = re.compile(r"\d"), re.compile(r"[^\W\d_]")
SIGN = re.compile(rf"[-+(−–]{{0,2}}(?:{CURRENCIES})?[-+)−–]{{0,2}}", re.IGNORECASE)
LINES_BELOW = 2
"""A number that a column was too narrow for goes on so many lines below at most."""


@dataclass(frozen=True, eq=False)
class Anchored:
    """Words, and which of them are numbers of the shop; `left` is how far left of its place each is aligned."""

    words: Words
    numbers: Yes
    left: Numbers | None = None

    @property
    def aligned(self) -> Numbers:
        """The boxes of the words as they are aligned."""
        return self.words.boxes if self.left is None else self.words.boxes - self.left[:, None] * [1, 0, 1, 0]

    def where(self, chosen: Yes | Places) -> Anchored:
        """Those of the words."""
        left = None if self.left is None else self.left[chosen]
        return Anchored(self.words.where(chosen), self.numbers[chosen], left)


@dataclass(frozen=True)
class _Number:
    """A number as known, and the words that spell it, in their order."""

    text: str
    words: tuple[int, ...]


def anchored(pages: Sequence[Page], known: Known) -> Anchored:
    """The words of pages; parcels' numbers are the anchors, or those of orders where there are none."""
    words = _with_currencies(read_in_order(pages))
    for numbers in (known.numbers, known.orders):
        found = [*_found(words, numbers)]
        if found:
            given = _with_numbers(words, found)
            return replace(given, numbers=given.numbers | _like(given))
    return Anchored(words, np.zeros(len(words), dtype=bool))


def _with_currencies(words: Words) -> Words:
    """The words with a currency or a sign beside an amount in the amount's word."""
    part, boxes = words.part, words.boxes
    signs = np.array([SIGN.fullmatch(str(text)) is not None for text in words.texts], dtype=bool)
    gap = np.append(boxes[1:, X0] - boxes[:-1, X1], np.inf)
    behind = np.append((part[1:] == part[:-1]) & signs[:-1] & words.money[1:], np.zeros(1, bool))
    before = np.append((part[1:] == part[:-1]) & words.money[:-1] & signs[1:], np.zeros(1, bool))
    # A sign between two amounts is the nearer one's.
    behind[1:] &= ~(before[:-1] & (gap[:-1] <= gap[1:]))
    before[:-1] &= ~behind[1:]
    of = np.cumsum(~np.concatenate([[False], (behind | before)[:-1]])) if len(words) else part
    starts = np.flatnonzero(np.diff(of, prepend=-1))
    texts = np.array([text for _, text in joined(words.texts, of)], dtype=object)
    money = np.bincount(of - 1, words.money, minlength=len(starts)) > 0 if len(words) else words.money
    return replace(words.where(starts), texts=texts, boxes=around_each(boxes, starts), money=money)


def _like(given: Anchored) -> Yes:
    """Words made as known numbers are, that begin where such do, in lines without one: parcels in no record."""
    words, known = given.words, given.numbers
    makes = {_make(str(text)) for text in words.texts[known]}
    begins = np.unique(np.round(words.boxes[known, X0]))
    alike = np.array([_make(str(text)) in makes for text in words.texts], dtype=bool)
    return alike & np.isin(np.round(words.boxes[:, X0]), begins) & ~np.isin(words.line, words.line[known])


def _make(text: str) -> str:
    """What signs a text is made of: 'NP44' → 'AA99'."""
    return LETTER.sub("A", FIGURE.sub("9", text))


def _found(words: Words, numbers: Mapping[str, int]) -> Iterator[_Number]:
    begins = {number[:length] for number in numbers for length in range(1, len(number) + 1)}
    texts = [bare(str(text).rpartition(":")[2]) for text in words.texts]
    line = words.line.tolist()
    taken: set[int] = set()
    for at, text in enumerate(texts):
        if not text or at in taken or text not in begins:
            continue
        run = _run(at, texts, line, numbers, begins)
        if run is None:
            run = _going_on_below(at, texts, words, numbers)
        if run is not None:
            taken.update(run.words)
            yield run


def _run(at: int, texts: list[str], line: list[int], numbers: Mapping[str, int], begins: set[str]) -> _Number | None:
    """A number that begins at a word and ends in its line."""
    so_far = ""
    for end in range(at, min(at + MOST_GROUPS, len(texts))):
        so_far += texts[end]
        if line[end] != line[at] or so_far not in begins:
            return None
        if so_far in numbers:
            return _Number(so_far, tuple(range(at, end + 1)))
    return None


def _going_on_below(at: int, texts: list[str], words: Words, numbers: Mapping[str, int]) -> _Number | None:
    """A number of which the rest stands below its beginning."""
    begin = texts[at]
    if len(begin) < LEAST_FIGURES:
        return None
    first = int(np.searchsorted(words.line, words.line[at] + 1))
    for other in range(first, int(np.searchsorted(words.line, words.line[at] + LINES_BELOW, side="right"))):
        over = min(words.boxes[at, X1], words.boxes[other, X1]) - max(words.boxes[at, X0], words.boxes[other, X0])
        if over > 0 and texts[other] and begin + texts[other] in numbers:
            return _Number(begin + texts[other], (at, other))
    return None


def _with_numbers(words: Words, found: list[_Number]) -> Anchored:
    texts, boxes = words.texts.copy(), words.boxes.copy()
    kept, is_number = np.ones(len(words), dtype=bool), np.zeros(len(words), dtype=bool)
    for number in found:
        first, *others = number.words
        texts[first], is_number[first] = number.text, True
        them = boxes[[*number.words]]
        boxes[first] = [*them[:, :X1].min(axis=0), *them[:, X1:].max(axis=0)]
        # The number belongs to its first line alone: a box over two would stand between them.
        boxes[first, TOP] = words.boxes[first, TOP]
        kept[others] = False
    return Anchored(replace(words, texts=texts, boxes=boxes), is_number).where(kept)
