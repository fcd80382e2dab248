"""What is known before a number is looked at, counted in the records and on the numbers that stand in them.

Where there are many records, samples are counted that do not depend on their order.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.core.arrays import Places
from auditor.match.figures import States, held_together, recorded_figures
from auditor.match.nearby import within

LEAST_DENSITY = 1e-9
"""Where no two recorded numbers are near one another (chosen)."""


@dataclass(frozen=True)
class Series:
    """Recorded numbers of one length.

    `density`: the chance that a text of the series' form, one character from a recorded number, is another recorded
    number: next to nothing for random numbers, large where a carrier issues them one after the other, and a likeness
    then says little. `near`: how the figures of parcels with near numbers stand to one another (see `held_together`): a
    carrier that puts the day into its numbers makes the ship dates of near numbers agree, and that then says nothing
    either. `allowed`: for each place the characters that numbers have there.
    """

    density: float
    near: States
    allowed: tuple[frozenset[str], ...]


@dataclass(frozen=True)
class Records:
    """What is known before a number is looked at.

    `count`: recorded shipments. `sample`: the figures of some of them. `right`: how the figures of numbers that stand
    in the records as they are stand to their shipments'. `as_they_stand`: how many such numbers there are. `series`: by
    length of number.
    """

    count: int
    sample: pd.DataFrame
    right: States
    series: Mapping[int, Series]
    as_they_stand: int


def sample(texts: pd.Series) -> Places:
    """Places of some of the recorded numbers: those with certain last characters; all of them where they are few."""
    ends, names = pd.factorize(texts.str[-2:])
    step = -(-len(texts) // SAMPLE)
    kept = np.zeros(len(names) + 1, dtype=bool)
    kept[np.argsort(names)[::step]] = True
    return np.flatnonzero(kept[ends])


SAMPLE = 20_000
"""About so many at the most (chosen, for the time it takes)."""


def series(texts: pd.Series, chosen: Places, shipments: pd.DataFrame) -> dict[int, Series]:
    """The series of numbers, by their length, counted on numbers near some of the chosen ones."""
    near = _near(texts, chosen)
    return _by_length(texts.iloc[near], recorded_figures(shipments.iloc[near]))


ENDS, ANCHORS = (3, 5), 40
"""Numbers alike but for so many characters at their end are near; the second where too few are by the first. Of
the beginnings so many are taken (chosen)."""

FEW, MANY = 1_000, 4_000
"""About so many near numbers are looked at (chosen, for the time it takes)."""


def _near(texts: pd.Series, chosen: Places) -> Places:
    """Recorded numbers near one another, around some of the chosen ones: each once."""
    for last in ENDS:
        beginnings = texts.str[:-last]
        anchors = beginnings.iloc[chosen].drop_duplicates().sort_values()
        anchors = anchors.iloc[:: max(len(anchors) // ANCHORS, 1)]
        near = np.flatnonzero(beginnings.isin(anchors).to_numpy(dtype=bool))
        if len(near) >= FEW:
            break
    group, names = pd.factorize(beginnings.iloc[near])
    order = np.argsort(names)
    upto = np.empty(len(names), dtype=np.intp)
    upto[order] = np.cumsum(np.bincount(group)[order])
    near = near[(upto <= max(MANY, upto.min(initial=0)))[group]]
    in_order = texts.iloc[near].drop_duplicates().sort_values(kind="stable").iloc[:MANY]
    return np.asarray(near[np.isin(near, in_order.index.to_numpy())])


def _by_length(texts: pd.Series, figures: pd.DataFrame) -> dict[int, Series]:
    """The series among numbers, with the figures beside them."""
    texts = texts.reset_index(drop=True)
    by_length = texts.groupby(texts.str.len())
    return {int(str(length)): _one_series(of_length, figures.iloc[of_length.index]) for length, of_length in by_length}


def _one_series(texts: pd.Series, figures: pd.DataFrame) -> Series:
    texts = texts.reset_index(drop=True)
    pairs = within(1, texts, texts)
    pairs = pairs[pairs["edits"] == 1]
    allowed = tuple(_allowed(set(texts.str[place].unique())) for place in range(len(texts.iloc[0])))
    others = sum(len(characters) - 1 for characters in allowed)
    near = held_together(figures.iloc[pairs["seen"].to_numpy()], figures.iloc[pairs["recorded"].to_numpy()])
    return Series(max(len(pairs) / max(len(texts) * others, 1), LEAST_DENSITY), near, allowed)


def _allowed(seen: set[str]) -> frozenset[str]:
    """Characters that may stand at a place: from three different digits on any digit, and letters likewise."""
    digits, letters = set(filter(str.isdecimal, seen)), set(filter(str.isalpha, seen))
    every = (DIGITS if len(digits) >= SEVERAL else set()) | (LETTERS if len(letters) >= SEVERAL else set())
    return frozenset(seen | every)


DIGITS, LETTERS, SEVERAL = set("0123456789"), set("ABCDEFGHIJKLMNOPQRSTUVWXYZ"), 3


def well_formed(text: str, series: Mapping[int, Series]) -> bool:
    """Whether the text could be a number of the series it has the length of."""
    allowed = series[len(text)].allowed if len(text) in series else ()
    return bool(allowed) and all(character in there for character, there in zip(text, allowed, strict=True))
