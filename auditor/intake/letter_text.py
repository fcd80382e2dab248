"""A letter's text → the lines with a label and the paragraphs in it, and the day it was written."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from auditor.intake import parsing
from auditor.intake.documents import Letter

LONGEST_TEXT = 2_000_000
QUOTED, LISTED = " >\t", " >\t*•·|–-"
"""What may stand before a line: marks of quotation, and of lists as well."""
LONGEST_LABEL = 60
GAP = re.compile(r"\s?\.{4,}\s?|\s{2,}|\t|\s\|\s")
"""What parts a label and its value that stand in columns."""
PASSED_ON = re.compile(
    r"^[ >]{0,9}(?:from|von|de|van|da)[ ]?:.*\n(?:[ >]{0,9}\w[^\n:]{0,20}:.*\n){1,5}", re.IGNORECASE | re.MULTILINE
)
"""The lines that stand above a letter that is passed on."""
SENT = re.compile(
    r"^[ >]{0,9}(?:sent|date|gesendet|datum|envoyé|verzonden|enviado|inviato|data)[ ]?:(?P<day>.*)$",
    re.IGNORECASE | re.MULTILINE,
)
DAY = re.compile(rf"{parsing.NAMED.pattern}|(?<!\d)\d{{4}}-\d\d-\d\d(?!\d)", re.IGNORECASE)
WRITTEN = re.compile(
    r"\b(?:date|dated|posted|issued|datum|wrote|written|sent|geschrieben|vom|fecha|data)\b", re.IGNORECASE
)
FIRST_LINES, LONGEST_DATED = 40, 200
"""Where a day is looked for: in so many lines, and in so many letters of each."""
LONGEST_TOWN = 25
"""Letters beside a day on a line that dates a letter: 'Quillmoor, 31 March 2026'."""


@dataclass(frozen=True)
class Unit:
    """A line 'label: value', or a paragraph of sentences, and the number of its first line."""

    line: int
    text: str


def carriers_own(letter: Letter) -> tuple[str, date | None]:
    """The text and its day; of a letter passed on, what stands below the lines that say who wrote it."""
    text = letter.text[:LONGEST_TEXT]
    if passed_on := PASSED_ON.search(text):
        sent = SENT.search(passed_on[0])
        above = re.sub(r"[^\n]", "", text[: passed_on.end()])
        return above + text[passed_on.end() :], (day_in(sent["day"]) if sent else None) or letter.written_on
    return text, letter.written_on or _written_on(text)


def _written_on(text: str) -> date | None:
    """The day that stands on a line of its own, or behind 'Date' or the like."""
    for line in text.splitlines()[:FIRST_LINES]:
        found = DAY.search(_plain(line))
        beside = len(" ".join(line.split())) - len(found[0]) if found else 0
        if found and (beside <= LONGEST_TOWN or WRITTEN.search(line[: found.start()])) and (day := day_in(line)):
            return day
    return None


def day_in(text: str) -> date | None:
    """The first day with a year that stands in a line."""
    found = DAY.search(_plain(text))
    try:
        return parsing.date(found[0]) if found else None
    except ValueError:
        return None


def _plain(line: str) -> str:
    """Its first letters, with days as numbers: '17th March' → '17 March'."""
    return re.sub(r"(?<=\d)(?:st|nd|rd|th)\b", "", line[:LONGEST_DATED])


def units(text: str) -> Iterator[Unit]:
    """Its lines with a label, and its paragraphs, each on one line."""
    first, paragraph = 1, ""
    for number, line in enumerate([*text.splitlines(), ""], start=1):
        labelled, plain = _labelled(line.lstrip(LISTED)), line.strip(QUOTED)
        if paragraph and (labelled or not plain or line.lstrip(QUOTED).startswith(("* ", "- ", "• "))):
            yield Unit(first, paragraph)
            paragraph = ""
        if labelled:
            yield Unit(number, labelled)
        elif plain:
            first, paragraph = (first, f"{paragraph} {plain}") if paragraph else (number, plain)


def _labelled(line: str) -> str:
    """'label: value' of a line that has both, with a colon or a gap between; "" of another."""
    label, colon, value = line.partition(":")
    if not (colon and value[:1].isspace()):
        label, *rest = GAP.split(line, maxsplit=1)
        value = rest[0] if rest and not label.endswith((".", ";", "!", "?", ",")) else ""
    label, value = label.strip(), value.strip()
    return f"{label}: {value}" if value and 0 < len(label) <= LONGEST_LABEL else ""
