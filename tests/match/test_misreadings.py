"""How likely a number is misread as another, held against every number of a small form counted out."""

from __future__ import annotations

from itertools import product

import numpy as np
import pandas as pd
import pytest
from rapidfuzz.distance import OSA

from auditor.match.misreading import (
    BY_TEXT,
    CHANGED,
    CUT,
    FIGURES,
    LENGTH,
    LOOK_ALIKE,
    ORDER,
    SAME,
    SWAPPED,
    TWO,
    USUAL,
    in_words,
    kinds_and_chances,
    of_any,
)

ALLOWED = tuple(map(frozenset, ("A", "01", "0123456789", "89", "XYZ")))
"""A form of five characters; 120 numbers have it."""

FORM = ["".join(characters) for characters in product(*ALLOWED)]


def kind_and_chance(seen: str, recorded: str, kind: int = BY_TEXT, edits: int = 1) -> tuple[int, float]:
    """Of one pair."""
    pairs = pd.DataFrame({"kind": [kind], "edits": [edits]})
    kinds, chances = kinds_and_chances(pairs, pd.Series([seen]), pd.Series([recorded]))
    return int(kinds[0]), float(chances[0])


@pytest.mark.parametrize(
    ("seen", "kind", "chance"),
    [
        ("A0580X", LENGTH, 1 / 10),
        ("A08X", LENGTH, 1 / 10),
        ("AO58X", LOOK_ALIKE, 1 / 10),
        ("A05BX", LOOK_ALIKE, 1 / 10),
        ("A0S8X", LOOK_ALIKE, 1 / 10),
        ("A078X", CHANGED, 1 / 45),
        ("A508X", SWAPPED, 1 / 5),
    ],
)
def test_a_text_tells_how_it_was_misread(seen: str, kind: int, chance: float) -> None:
    """Each place is as likely as another, and each of nine other characters to stand there."""
    assert kind_and_chance(seen, "A058X") == pytest.approx((kind, chance))


def test_what_was_not_told_by_text_keeps_its_kind() -> None:
    """Two edits, a cut, and joins by other things than the number."""
    assert kind_and_chance("A1Z", "A058X", edits=2) == pytest.approx((TWO, 1 / 1000))
    assert kind_and_chance("A0", "A058X", CUT, 0) == pytest.approx((CUT, 1 / 5))
    assert kind_and_chance("??", "A058X", ORDER, 0) == (ORDER, 1.0)
    assert kind_and_chance("??", "A058X", FIGURES, 0) == (FIGURES, 1.0)
    assert kind_and_chance("A058X", "A058X", SAME, 0) == (SAME, 1.0)
    assert kind_and_chance("??", "", CUT, 0) == (CUT, 1.0)


def test_no_pairs_have_no_kinds() -> None:
    """Nor chances."""
    kinds, chances = kinds_and_chances(pd.DataFrame({"kind": [], "edits": []}), pd.Series([]), pd.Series([]))
    assert (len(kinds), len(chances)) == (0, 0)


@pytest.mark.parametrize("text", ["AO58X", "A0B8X", "A0588", "A0S9Z", "A1?8X", "B058X", "A05BX", "?058X", "A055X"])
def test_one_wrong_character_may_come_of_any_number_of_the_form(text: str) -> None:
    """Summed over the form, pair by pair, as `kinds_and_chances` has each."""
    expected = np.zeros(len(USUAL))
    for number in FORM:
        if sum(one != other for one, other in zip(text, number, strict=True)) == 1:
            kind, chance = kind_and_chance(text, number)
            expected[kind] += chance
    np.testing.assert_allclose(of_any(text, ALLOWED), expected)
    assert expected.sum() > 0


@pytest.mark.parametrize(
    "text", ["A058", "A08X", "058X", "A18Z", "A158XX", "AA058X", "A0588X", "A05?8X", "XA058X", "AX8X", "?0588?", "?05?"]
)
def test_a_character_too_many_or_too_few_may_come_of_any_number_of_the_form(text: str) -> None:
    """For a longer text each place it can be taken from is one way, for a shorter one each number it can come of."""
    if len(text) < len(ALLOWED):
        ways = {
            (place, one)
            for place in range(len(text) + 1)
            for one in ALLOWED[place]
            if text[:place] + one + text[place:] in FORM
        }
    else:
        ways = {(place, "") for place in range(len(text)) if text[:place] + text[place + 1 :] in FORM}
    assert of_any(text, ALLOWED)[LENGTH] == pytest.approx(len(ways) / 10)
    assert of_any(text, ALLOWED).sum() == of_any(text, ALLOWED)[LENGTH]


def test_a_cut_number_may_be_any_that_begins_so() -> None:
    """Three characters or more are missing."""
    assert of_any("A0", ALLOWED)[CUT] == pytest.approx(10 * 2 * 3 / 5)
    assert of_any("A", ALLOWED)[CUT] == pytest.approx(2 * 10 * 2 * 3 / 5)
    assert of_any("AZ", ALLOWED).sum() == 0
    assert of_any("A0580000", ALLOWED).sum() == 0


def test_two_characters_wrong_or_apart_are_two_misreadings() -> None:
    """Of two wrong ones, any two of the form at their places; of two missing or too many, hardly told: one."""
    assert of_any("A?5?X", ALLOWED)[TWO] == pytest.approx(2 * 2 / 1000)
    assert of_any("?05??", ALLOWED).sum() == 0
    assert of_any("A05", ALLOWED)[TWO] == of_any("A0580XX", ALLOWED)[TWO] == 1.0


def test_ways_of_misreading_make_up_the_whole_beforehand() -> None:
    """A misread number is misread in one of them; a look-alike is the commonest, and one that is the same is none."""
    assert USUAL.sum() == pytest.approx(1)
    assert USUAL.argmax() == LOOK_ALIKE
    assert USUAL[SAME] == 0


@pytest.mark.parametrize(
    ("seen", "recorded", "words"),
    [
        ("AB12", "AB1234", "the number has 2 characters too many or too few"),
        ("AB1", "AB1234", "the number is cut off: 3 characters are missing"),
        ("AB123", "AB1234", "the number has a character too many or too few"),
        ("AB1235", "AB1234", "the number reads 5 for 4"),
        ("AC1235", "AB1234", "the number reads C for B and 5 for 4"),
        ("AC12345", "AB1234", "the number reads C for B and has a character too many or too few"),
    ],
)
def test_a_misreading_in_words(seen: str, recorded: str, words: str) -> None:
    """What is read for what, and what is missing."""
    assert in_words(seen, recorded) == words
    assert OSA.distance(seen, recorded) > 0
