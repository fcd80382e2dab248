"""What a document of several pages prints beside its lines, held against them: balances, sums of pages, counts.

A sum may be that of its page, of its parcel, of all since the last sum of that name, or of everything above it; which
it is, no word says for sure. It is in order when it is one of these.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

import pandas as pd

from auditor.intake.recognise import Sheet
from auditor.intake.tidy import shown
from auditor.money import dollars
from auditor.tables import Problem

OPENING = re.compile(r".*\b(?:brought|previous|opening)\b", re.IGNORECASE)
COUNTS = re.compile(
    r"(?<![\d.,$-])(\d{1,3}(?:,\d{3})+|\d{1,9}) "
    r"(?:(charges|lines|line items|items billed)|(parcels|packages|shipments|consignments))\b",
    re.IGNORECASE,
)


def sums_at(sheet: Sheet, cents: pd.Series, said: pd.Series) -> dict[int, set[int]]:
    """For each row that is a sum, what the lines above it come to since where such a sum may begin.

    Args:
        sheet: a recognised statement.
        cents: the amount of each row of it that is a line, 0 for the others.
        said: the words beside each sum, over its rows only.
    """
    above = cents.cumsum()
    before = above - cents
    page = sheet.places.str.extract(r"page (\d+)")[0].fillna("")
    parcel = sheet.cells["tracking"].where(sheet.cells["tracking"] != "").ffill().fillna("")
    firsts = [before.groupby((of != of.shift()).cumsum()).transform("first") for of in (page, parcel)]
    last: dict[str, int] = {}
    found: dict[int, set[int]] = {}
    for at, words in zip(said.index.tolist(), said, strict=True):
        name = re.sub(r"\W|\d", "", words.casefold())
        found[at] = {int(above[at]) - start for start in (*(int(first[at]) for first in firsts), last.get(name, 0))}
        last[name] = int(above[at])
    return found


def balances_apart(sheet: Sheet, printed: pd.Series, cents: pd.Series, said: pd.Series) -> Iterator[Problem]:
    """Balances carried from page to page that are not what all lines up to them come to: the first of each difference.

    Args:
        sheet: a recognised statement.
        printed: the amount of each row.
        cents: the same for lines, 0 for the others.
        said: the words beside each balance, over its rows only.
    """
    above = cents.cumsum()
    opening, apart = 0, 0
    for row, words in zip(said.index.tolist(), said, strict=True):
        if pd.isna(printed[row]):
            continue
        balance, read = int(printed[row]), int(above[row])
        if OPENING.match(words) and not (cents.loc[:row] != 0).any():
            opening = balance
        if balance - read - opening not in {apart, -opening}:
            apart = balance - read - opening
            message = (
                f"{shown(words)} says {dollars(balance)}, but the lines up to it come to {dollars(read + opening)}. "
                "Look whether a line of this page is missing or was misread."
            )
            yield Problem(sheet.file, sheet.places[row], message)


def counts_apart(file: str, texts: Iterable[str], lines: pd.DataFrame) -> Iterator[Problem]:
    """Counts within a text, such as '213 charges', that are not how many lines or parcels were read."""
    read = (len(lines), lines["tracking"].nunique())
    for text in dict.fromkeys(texts):
        for printed, of_lines, _ in COUNTS.findall(text):
            count, there = int(printed.replace(",", "")), read[0 if of_lines else 1]
            if count != there:
                what = "charges" if of_lines else "parcels"
                message = f"{shown(text)} is printed, but {there:,} {what} were read. Look what is missing."
                yield Problem(file, "", message)
