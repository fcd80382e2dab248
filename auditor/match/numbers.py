"""Numbers as they stand: which of the billed ones are which of the recorded ones, blanks, hyphens and case aside.

Both sides are hashed once, together; all that follows works on whole-number codes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.core.arrays import Places, Yes

BLANKS = (" ", "-", "\t", "\u00a0", "\u2007", "\u2009", "\u202f", "\u2010", "\u2011")
"""Blanks and hyphens of every width that people and printers use."""


@dataclass(frozen=True)
class Numbers:
    """The distinct billed numbers, in the order of the lines, beside the recorded ones.

    `billed`: the distinct numbers, numbered from 0; `of_line`: the place of each line's number in it, -1 where a line
    has none; `first_line`: where each number stands first. `text`, `recorded_text`: both sides as they are compared
    (see `normalised`). `same`: for each billed number the place of a shipment with that text, -1 where there is none;
    `identical`: whether it stands there character by character. `code`, `recorded_code`: equal where texts are; -1
    where a shipment has no number.
    """

    billed: pd.Series
    of_line: Places
    first_line: Places
    text: pd.Series
    recorded_text: pd.Series
    same: Places
    identical: Yes
    code: Places
    recorded_code: Places

    @property
    def twice(self) -> Yes:
        """Which billed numbers stand on more than one shipment."""
        count = np.bincount(self.recorded_code + 1, minlength=int(self.code.max(initial=-1)) + 2)
        return np.asarray(count[self.code + 1] > 1)


def numbers(billed: pd.Series, recorded: pd.Series) -> Numbers:
    """Both columns of numbers, hashed together."""
    text, recorded_text = normalised(billed), normalised(recorded)
    codes, _ = pd.factorize(pd.concat([recorded_text, text]))
    recorded_code, line_code = codes[: len(recorded)], codes[len(recorded) :]
    firsts, of_line = _distinct(billed, line_code)
    code = line_code[firsts]
    same = _first_of(recorded_code, int(codes.max(initial=-1)) + 1)[code]
    hit = np.flatnonzero(same >= 0)
    identical = np.zeros(len(code), dtype=bool)
    identical[hit] = _equal(billed, firsts[hit], recorded, same[hit])
    return Numbers(
        billed=billed.iloc[firsts].reset_index(drop=True),
        of_line=of_line,
        first_line=firsts,
        text=text.iloc[firsts].reset_index(drop=True),
        recorded_text=recorded_text.reset_index(drop=True),
        same=same,
        identical=identical,
        code=code,
        recorded_code=recorded_code,
    )


def normalised(tracking: pd.Series) -> pd.Series:
    """Tracking numbers as they are compared: without blanks and hyphens, in capitals."""
    capitals = tracking.str.upper()
    plain = capitals.str.isalnum().fillna(value=True).to_numpy(dtype=bool)
    if plain.all():
        return capitals
    marked = capitals[~plain]
    for mark in BLANKS:
        marked = marked.str.replace(mark, "", regex=False)
    # Written by place, since labels may be there twice.
    every = pd.concat([capitals[plain], marked])
    return every.iloc[np.argsort(np.concatenate([np.flatnonzero(plain), np.flatnonzero(~plain)]))]


def _distinct(billed: pd.Series, code: Places) -> tuple[Places, Places]:
    """The lines where a number stands for the first time, and for each line the place of its number among those.

    A number is distinct as printed: those that differ by blanks only share a code and are told apart here.
    """
    first = _first_of(code, int(code.max(initial=-1)) + 1)
    there = np.flatnonzero(code >= 0)
    leader = np.full(len(code), -1, dtype=np.intp)
    leader[there] = first[code[there]]
    follows = there[leader[there] != there]
    other = follows[~_equal(billed, follows, billed, leader[follows])]
    if len(other):
        printed = pd.MultiIndex.from_arrays([code[other], billed.iloc[other]])
        group, _ = pd.factorize(printed)
        leader[other] = other[_first_of(group, int(group.max()) + 1)[group]]
    firsts = np.flatnonzero(leader == np.arange(len(code)))
    place = np.full(len(code) + 1, -1, dtype=np.intp)
    place[firsts] = np.arange(len(firsts))
    return firsts, place[leader]


def _first_of(codes: Places, count: int) -> Places:
    """For each code up to `count` the first place it stands at, -1 where nowhere; asked for code -1 it says -1."""
    first = np.full(count + 1, -1, dtype=np.intp)
    first[codes[::-1]] = np.arange(len(codes) - 1, -1, -1)
    first[-1] = -1
    return first


def _equal(left: pd.Series, left_places: Places, right: pd.Series, right_places: Places) -> Yes:
    same = left.iloc[left_places].reset_index(drop=True) == right.iloc[right_places].reset_index(drop=True)
    return same.to_numpy(dtype=bool)
