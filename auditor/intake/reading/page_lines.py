"""Words on pages, line by line: where the table begins, what its headings are, which lines are its own."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from auditor.core.arrays import Places, Yes
from auditor.intake.placed import TOP, Numbers, Words, around_each, joined
from auditor.intake.reading.anchored import Anchored

SEVERAL = 2
MOST_HEADINGS = 6
"""Lines of headings above the first number at most."""
NEAR = 1.35
"""Lines of headings follow one another at most that much further apart than lines of the table."""


@dataclass(frozen=True, eq=False)
class Lines:
    """Words on pages, line by line, and for each word the number of its line, from 0 on."""

    given: Anchored

    @property
    def words(self) -> Words:
        """The words."""
        return self.given.words

    @cached_property
    def line(self) -> Places:
        """The line of each word."""
        return np.unique(self.words.line, return_inverse=True)[1].astype(np.intp)

    @cached_property
    def starts(self) -> Places:
        """The first word of each line."""
        return np.flatnonzero(np.diff(self.line, prepend=-1))

    @cached_property
    def numbered(self) -> Yes:
        """For each line whether a number of the shop stands in it."""
        return self.of_lines(self.given.numbers)

    @cached_property
    def texts(self) -> list[str]:
        """Each line's text."""
        return [text for _, text in joined(self.words.texts, self.line)]

    @cached_property
    def boxes(self) -> Numbers:
        """The box around each line."""
        return around_each(self.words.boxes, self.starts)

    @cached_property
    def several(self) -> Yes:
        """For each line whether it has several parts."""
        parts = np.bincount(self.line[np.diff(self.words.part, prepend=-1) != 0], minlength=len(self.starts))
        return parts >= SEVERAL

    def of_lines(self, words: Yes) -> Yes:
        """For each line whether that holds of one of its words."""
        return np.bincount(self.line[words], minlength=len(self.starts)) > 0

    @cached_property
    def first(self) -> int:
        """The first line of the table: the first with a number, or those with amounts right above it."""
        at = int(self.numbered.argmax())
        while at and self.of_money[at - 1] and self.several[at - 1] and self._follows(at):
            at -= 1
        return at

    @cached_property
    def headings(self) -> list[int]:
        """The lines right above the first that stand no further apart than those of the table, amounts apart."""
        at = self.first
        while at and self.first - at < MOST_HEADINGS and self._follows(at) and not self.of_money[at - 1]:
            at -= 1
        return [*range(at, self.first)]

    def _follows(self, at: int) -> bool:
        """Whether a line stands below the one before it as lines of the table do."""
        page = self.words.page[self.starts]
        return bool(page[at] == page[at - 1] and self.boxes[at, TOP] - self.boxes[at - 1, TOP] <= self.pitch)

    @cached_property
    def pitch(self) -> float:
        """How far apart lines of the table stand at most."""
        apart = np.diff(self.boxes[:, TOP])
        down = apart[(apart > 0) & (np.arange(len(apart)) >= int(self.numbered.argmax()))]
        return NEAR * float(np.median(down)) + 1 if len(down) else 0.0

    @cached_property
    def of_money(self) -> Yes:
        """For each line whether an amount stands in it."""
        return self.of_lines(self.words.money)

    @cached_property
    def body(self) -> Yes:
        """Lines from the first on; headings that stand there again are left out, and pages' numbers."""
        heads = {self.texts[at] for at in self.headings}
        again = np.array([text in heads for text in self.texts], dtype=bool)
        return np.asarray((np.arange(len(self.starts)) >= self.first) & ~again & ~self._page_numbers, dtype=bool)

    @property
    def _page_numbers(self) -> Yes:
        """The last line of a page, where it has no letter and stands alone."""
        last = np.diff(self.words.page[self.starts], append=-1) != 0
        wordless = np.array([not any(map(str.isalpha, text)) for text in self.texts], dtype=bool)
        return np.asarray(last & wordless & ~self.several & ~self.of_money & ~self.numbered, dtype=bool)

    @cached_property
    def above(self) -> tuple[str, ...]:
        """The text of lines above the headings, and of lines of one part below."""
        top = self.headings[0] if self.headings else self.first
        alone = [text for at, text in enumerate(self.texts) if at < top or not (self.several[at] or self.numbered[at])]
        return tuple(alone)
