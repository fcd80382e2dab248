"""How a number is misread: in which ways, how often in each, and in words.

The share of misread numbers misread in each way is common practice, no source, before anything is seen; what a
statement's own numbers say then moves it (see `evidence`).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import prod

import numpy as np
import pandas as pd
from rapidfuzz.distance import Levenshtein

from auditor.core.arrays import Floats, Places

Shares = Floats

KINDS = ("look-alike", "changed", "swapped", "dropped or doubled", "cut off", "two", "same", "order", "figures")
LOOK_ALIKE, CHANGED, SWAPPED, LENGTH, CUT, TWO, SAME, ORDER, FIGURES = range(len(KINDS))
"""How a billed number and a recorded one are brought together; the last two not by the number at all."""

BY_TEXT = -1
"""The kind is not known yet: the two texts tell it."""

USUAL = np.array((0.45, 0.1, 0.1, 0.15, 0.08, 0.07, 0.0, 0.02, 0.03))
"""Of misread numbers, the share of each kind beforehand: common practice, no source."""

LOOK_ALIKES = tuple(
    frozenset(pair)
    for pair in ("0O", "0D", "0Q", "1I", "1L", "IL", "17", "2Z", "5S", "6G", "8B", "38", "69", "49", "89")
)
"""Characters that are often taken for one another: common practice, no source."""


def kinds_and_chances(pairs: pd.DataFrame, seen: pd.Series, recorded: pd.Series) -> tuple[Places, Shares]:
    """The kind of each pair, and how likely, of numbers misread in that way, it reads just so.

    Args:
        pairs: columns kind (SAME, ORDER, FIGURES, CUT, or -1 where the texts tell) and edits.
        seen: the text of each pair as billed.
        recorded: the text of each as recorded.
    """
    texts = zip(seen.tolist(), recorded.tolist(), pairs["kind"].tolist(), pairs["edits"].tolist(), strict=True)
    kinds, chances = zip(*(_kind_and_chance(*row) for row in texts), strict=True) if len(pairs) else ((), ())
    return np.array(kinds, dtype=np.intp), np.array(chances, dtype=float)


def _kind_and_chance(seen: str, recorded: str, kind: int, edits: int) -> tuple[int, float]:
    """Kind and chance of one pair: each place, and each character that could stand there, is as likely as another.

    A character has nine others, or two that look like it; two misreadings come in forty ways: about so many (chosen).
    """
    places = max(len(recorded), 1)
    if kind in (SAME, ORDER, FIGURES):
        return kind, 1.0
    if kind == CUT:
        return CUT, 1 / places
    if edits > 1:
        return TWO, 1 / (40 * places * places)
    if len(seen) != len(recorded):
        return LENGTH, 1 / (2 * places)
    changed = [place for place, (character, right) in enumerate(zip(seen, recorded, strict=True)) if character != right]
    if len(changed) > 1:
        return SWAPPED, 1 / places
    pair = frozenset((seen[changed[0]], recorded[changed[0]]))
    return (LOOK_ALIKE, 1 / (2 * places)) if pair in LOOK_ALIKES else (CHANGED, 1 / (9 * places))


def of_any(text: str, allowed: Sequence[frozenset[str]]) -> Shares:
    """How likely, of numbers misread in each way, one of all numbers of a form reads just so, summed over those.

    Args:
        text: as billed, not of that form.
        allowed: the characters that numbers of the form have at each place.
    """
    ways, places = np.zeros(len(KINDS)), len(allowed)
    shorter = places - len(text)
    if shorter == 0:
        wrong = [place for place, character in enumerate(text) if character not in allowed[place]]
        here = [len(allowed[place]) for place in wrong]
        if len(wrong) == 1:
            alike = sum(frozenset((text[wrong[0]], character)) in LOOK_ALIKES for character in allowed[wrong[0]])
            ways[LOOK_ALIKE], ways[CHANGED] = alike / (2 * places), (here[0] - alike) / (9 * places)
        elif len(wrong) == TWICE:
            ways[TWO] = here[0] * here[1] / (40 * places * places)
    elif abs(shorter) == 1:
        ways[LENGTH] = _put_right(text, allowed, shorter) / (2 * places)
    elif abs(shorter) == TWICE:
        ways[TWO] = 1.0
    elif shorter > 0 and _fits(text, allowed[: len(text)]):
        ways[CUT] = prod(len(characters) for characters in allowed[len(text) :]) / places
    return ways


TWICE = 2


def _fits(text: str, allowed: Sequence[frozenset[str]]) -> bool:
    return _fitting(text, allowed) == len(text)


def _fitting(text: Sequence[str], allowed: Sequence[frozenset[str]]) -> int:
    """How many characters from the beginning on are of the form."""
    count = 0
    for character, here in zip(text, allowed, strict=False):
        if character not in here:
            break
        count += 1
    return count


def _put_right(text: str, allowed: Sequence[frozenset[str]], shorter: int) -> int:
    """How many numbers of the form come of the text by one character more (shorter 1) or less (-1)."""
    first = len(text) - _fitting(text[::-1], allowed[::-1]) + min(shorter, 0)
    last = _fitting(text, allowed)
    return (
        sum(len(here) for here in allowed[first : last + 1])
        if shorter > 0
        else max(min(last, len(text) - 1) + 1 - first, 0)
    )


def in_words(seen: str, recorded: str) -> str:
    """How the number seen differs from the recorded one, in words."""
    if len(seen) + 2 < len(recorded):
        return f"the number is cut off: {len(recorded) - len(seen)} characters are missing"
    steps = Levenshtein.editops(seen, recorded)
    replaced = [f"{seen[step.src_pos]} for {recorded[step.dest_pos]}" for step in steps if step.tag == "replace"]
    other = len(steps) - len(replaced)
    words = [f"reads {' and '.join(replaced)}"] if replaced else []
    words += [
        f"has {other} characters too many or too few" if other > 1 else "has a character too many or too few"
    ] * bool(other)
    return f"the number {' and '.join(words)}" if words else "the number is the same"
