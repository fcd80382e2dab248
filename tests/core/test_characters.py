"""Which characters are not seen, and what a text becomes without them."""

import sys
import unicodedata

import pytest

from auditor.core.characters import harmless, is_blank, is_unseen, seen


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("NP-1", "NP-1"),
        ("étui 48 × 20 ½ ″", "étui 48 × 20 ½ ″"),
        ("1\u00a0234", "1\u00a0234"),
        ("a\r\nb\tc", "a b c"),
        ("\x1b[31m", "\\u001b[31m"),
        ("\u202etxt.exe", "\\u202etxt.exe"),
        ("caf\udce9", "caf\\udce9"),
    ],
)
def test_what_steers_is_shown_as_its_code(text: str, shown: str) -> None:
    """Breaks of lines are blanks; letters, signs and blanks of any writing stay."""
    assert harmless(text) == shown


def test_a_character_is_printed_unless_it_is_unseen_or_a_blank() -> None:
    """So says also Python's own table, which counts every blank but the plain one as not to be printed."""
    letters = list(map(chr, range(sys.maxunicode + 1)))
    printed = [letter for letter in letters if not is_unseen(letter) and (letter == " " or not is_blank(letter))]
    assert printed == list(filter(str.isprintable, letters))


@pytest.mark.parametrize("letter", ["\x1b", "\u202e", "\u200b", "\ue000", "\udce9", "\u0378"])
def test_what_is_not_seen_is_left_out_of_a_narrow_column(letter: str) -> None:
    """Controls, marks of direction, private use, halves of pairs, and codes without a character."""
    assert unicodedata.category(letter).startswith("C")
    assert seen(f"uke{letter} box") == "uke box"


def test_a_text_that_is_all_seen_stays() -> None:
    """Also a blank that is not to be broken at."""
    assert seen("étui\u00a048 × 20") == "étui\u00a048 × 20"
