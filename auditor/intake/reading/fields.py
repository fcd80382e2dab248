"""Figures that stand beside a parcel's number in its line of text: each a field, by its label or by its place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from auditor.core.arrays import Places
from auditor.intake.reading.page_lines import Lines

BETWEEN = frozenset({"|", "-", "–", "·", "/", ","})
MOST = 30
"""A line of more fields than this is prose."""
NONE = -1


@dataclass(frozen=True, eq=False)
class Fields:
    """For each word its field, counted from 0 over all lines; −1 for labels, signs between, and all other words."""

    of_word: Places
    count: int

    def without_commas(self, found: Lines) -> Lines:
        """The lines without the commas between their fields."""
        words = found.words
        pairs = zip(words.texts, self.of_word, strict=True)
        texts = np.array([str(text).rstrip(",") if at >= 0 else text for text, at in pairs], dtype=object)
        return Lines(replace(found.given, words=replace(words, texts=texts)))


def fields(found: Lines) -> Fields:
    """The fields of lines with a number; all that stands there is one where they would be too many."""
    keys: dict[tuple[str, int], int] = {}
    of_word = np.full(len(found.words), NONE, dtype=np.intp)
    for line in np.flatnonzero(found.numbered & found.body).tolist():
        for nth, words in enumerate(_parted(found, line)):
            label, values = _labelled(found, words)
            key = (label, NONE if label else nth)
            of_word[values] = keys.setdefault(key, len(keys))
    if len(keys) > MOST:
        return Fields(np.where(found.numbered[found.line], 0, NONE).astype(np.intp), 1)
    return Fields(of_word, len(keys))


def _parted(found: Lines, line: int) -> Iterator[list[int]]:
    """The words of each field of a line, numbers of parcels and amounts apart."""
    words, field = found.words, list[int]()
    end = found.starts[line + 1] if line + 1 < len(found.starts) else len(words)
    for at in range(found.starts[line], end):
        text = str(words.texts[at])
        ends = text in BETWEEN or bool(found.given.numbers[at]) or bool(words.money[at])
        if field and (ends or words.part[at] != words.part[field[-1]]):
            yield field
            field = []
        if not ends:
            field.append(at)
        if field and text.endswith(","):
            yield field
            field = []
    if field:
        yield field


def _labelled(found: Lines, field: list[int]) -> tuple[str, list[int]]:
    """The label of a field, "" for none, and its other words."""
    texts = [str(found.words.texts[at]) for at in field]
    end = next((at for at, text in enumerate(texts, 1) if text.endswith(":")), 0)
    return " ".join(texts[:end]), field[end:]
