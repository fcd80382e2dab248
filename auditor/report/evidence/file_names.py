"""Names of the files of a claim: from its statement and number, and safe on every system."""

from __future__ import annotations

import re
from collections.abc import Iterable

LONGEST = 80
RESERVED = re.compile(r"con|prn|aux|nul|(com|lpt)[0-9]", re.IGNORECASE)
"""Names of devices on Windows, which no file may have, whatever its ending."""


def stem(*texts: str) -> str:
    """The texts joined by '_', with nothing in it but letters and digits of ASCII, '-' and '_'.

    So it names no folder and no device, and begins with neither '-' nor '.'.
    """
    parts = [re.sub(r"[^A-Za-z0-9]+", "-", text).strip("-") for text in texts]
    name = "_".join(part for part in parts if part)[:LONGEST] or "claim"
    return f"claim_{name}" if RESERVED.fullmatch(name) else name


def distinct(names: Iterable[str]) -> list[str]:
    """The names, each that was there before (on systems that take 'A' for 'a' as well) with a number behind it."""
    given: set[str] = set()
    kept = []
    for name in names:
        own, number = name, 1
        while own.casefold() in given:
            number += 1
            own = f"{name}-{number}"
        given.add(own.casefold())
        kept.append(own)
    return kept
