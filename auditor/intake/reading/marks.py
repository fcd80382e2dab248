"""Names of charges that differ by a mark alone, as a correction's do: they mean the same unless their amounts deny it.

Which words are the mark is not known beforehand: it may stand before the charge's own words or behind them. The names
that share their last words are taken for one charge each, then those that share their first; the way that the amounts
deny least is kept, and in it two names stay together where they speak for one class nearly as much as for two.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from auditor.core.arrays import Floats
from auditor.intake.reading.cells import LETTER

MARK, LIKE = float(np.log(50.0)), float(np.log(5.0))
"""What it says for one class that two names share words: where what they differ by stands beside other words too, one
of fifty such pairs means two things, otherwise one of five (chosen, as what words weigh)."""

Words = tuple[str, ...]


def shared(names: Sequence[str], odds: Floats) -> Floats:
    """The log odds of each name, with those of the names that are the same but for a mark.

    Args:
        names: as they are compared, all different.
        odds: names × classes, against none of them.
    """
    words = [tuple(word for word in name.split() if LETTER.search(word)) for name in names]
    behind, before = _joined(words, odds), _joined([them[::-1] for them in words], odds)
    best = max(behind, before, key=lambda way: way.odds)
    return np.asarray(best.pooled[best.group])


@dataclass
class _Groups:
    """The group of each name, each group's log odds, and what speaks for telling groups so."""

    group: list[int]
    pooled: Floats
    odds: float = 0.0

    def join(self, one: int, other: int, link: float) -> None:
        """Make one group of those of two names, where one class for both has not much less odds than one for each."""
        first, second = self.group[one], self.group[other]
        if first == second:
            return
        both = self.pooled[first] + self.pooled[second]
        gain = float(both.max()) + link - sum(max(float(self.pooled[at].max()), 0.0) for at in (first, second))
        self.odds += float(np.clip(gain, -MARK, MARK))
        if gain > 0:
            self.pooled[first] = both
            self.group = [first if at == second else at for at in self.group]


def _joined(words: Sequence[Words], odds: Floats) -> _Groups:
    """The names that share their last words, those that share most of them first."""
    by_words: dict[Words, list[int]] = defaultdict(list)
    beside: dict[Words, set[Words]] = defaultdict(set)
    for at, text in enumerate(words):
        for count in range(len(text)):
            by_words[text[count:]].append(at)
            beside[text[:count]].add(text[count:])
    groups = _Groups(list(range(len(words))), odds.copy())
    for end in sorted(by_words, key=len, reverse=True):
        marks = [words[at][: -len(end)] for at in by_words[end]]
        for one, other in zip(range(len(marks)), range(1, len(marks)), strict=False):
            known = all(not mark or len(beside[mark]) > 1 for mark in (marks[one], marks[other]))
            groups.join(by_words[end][one], by_words[end][other], MARK if known else LIKE)
    return groups
