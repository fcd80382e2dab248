"""Texts that name a group of rows by what these have in common: 'Sunday, 1 March 2026', 'Service: Ground', 'Zone 5'."""

from __future__ import annotations

import re

from auditor.intake import vocabulary
from auditor.intake.wording import ANY_DAY

FIELDS = {"shipped_on": "ship date", "service": "service", "zone": "zone"}
"""What a group may have in common."""
LONGEST = 60
BEFORE_DAY = re.compile(r"(?:[^\W\d]+[,.:]?\s*){0,3}\W*")
"""A weekday, or words for it being the day of posting."""
LABELLED = re.compile(r"([^\W\d][^\d:]{1,30}?)\s*:\s*(\S.{0,40})")
ZONE = re.compile(r"([^\W\d]{2,10})\s+([A-Z]?\d{1,2}|[A-Z])")


def said(text: str) -> tuple[str, str] | None:
    """The field that a text gives for the rows below it, and its value; None where it gives none."""
    if len(text) > LONGEST:
        return None
    day = ANY_DAY.search(text)
    if day and BEFORE_DAY.fullmatch(text[: day.start()]) and not text[day.end() :].strip(" .,:"):
        return "shipped_on", day[0]
    found = LABELLED.fullmatch(text) or ZONE.fullmatch(text)
    meant = vocabulary.meaning(found[1], "statement") if found else None
    return (meant[0], found[2].strip()) if found and meant and meant[0] in FIELDS else None
