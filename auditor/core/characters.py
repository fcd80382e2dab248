"""Which characters show nothing or steer what shows them, and how a text without them is made."""

from __future__ import annotations

import json
import re
import unicodedata

UNSEEN = {"Cc", "Cf", "Cn", "Co", "Cs"}
"""Categories of what shows nothing, or changes how others are shown: controls, marks of direction, private use."""
BLANK = {"Zs", "Zl", "Zp"}

BREAK = re.compile(r"[\t-\r\x1c-\x1f\x85\u2028\u2029]+")
"""What begins a line of its own, or moves on in one."""


def is_unseen(character: str) -> bool:
    """Whether a character shows nothing, or changes how others are shown; a blank is seen."""
    return unicodedata.category(character) in UNSEEN


def is_blank(character: str) -> bool:
    """Whether a character is a blank of any kind, or parts lines or paragraphs."""
    return unicodedata.category(character) in BLANK


def seen(text: str) -> str:
    """The text without what is not seen."""
    return text if text.isprintable() else "".join(letter for letter in text if not is_unseen(letter))


def harmless(text: str) -> str:
    r"""The text on one line, with nothing in it that steers a terminal.

    Breaks of lines become blanks. What is unseen is shown as its code, as JSON writes it: ESC as \u001b.
    """
    return text if text.isprintable() else "".join(map(_shown, BREAK.sub(" ", text)))


def _shown(letter: str) -> str:
    return json.dumps(letter)[1:-1] if is_unseen(letter) else letter
