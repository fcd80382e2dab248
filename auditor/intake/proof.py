"""What a document of several pages prints beside its lines, held against them: balances, sums of pages, counts.

A sum may be that of its page, of its parcel, of all since the last sum of that name, or of everything above it; which
it is, no word says for sure. It is in order when it is one of these.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

import pandas as pd

from auditor.core.money import dollars
from auditor.core.schemas import Problem
from auditor.intake import wording
from auditor.intake.recognise import Sheet
from auditor.intake.tidy import shown
from auditor.intake.words import canonical

OPENING = re.compile(r".*\b(?:brought|previous|opening|b/f\w*|vienen?|anterior)\b", re.IGNORECASE)
COUNT_FIRST = re.compile(
    r"(?<![\d.,$-])(\d{1,3}(?:,\d{3})+|\d{1,9}) "
    r"(?:(?:line )?items(?: billed)?|charges|lines|parcels|packages|shipments|consignments|zeilen|positionen|pakete|"
    r"sendungen|lignes|colis|envois|l[ií]neas|paquetes|env[ií]os|righe|pacchi|colli|regels|pakketten|zendingen)\b",
    re.IGNORECASE,
)
"""A printed count, such as '213 charges', wherever it stands in a text."""
COUNT_LAST = re.compile(
    r"(?:(?:number|no\.?|count) of|total|anzahl|nombre de|número de|numero di|aantal)?\s*"
    r"([^\W\d]+)\s*:?\s*(\d{1,3}(?:,\d{3})+|\d{1,9})\W*",
    re.IGNORECASE,
)
"""A printed count that is the whole of a text: 'Number of parcels: 40', 'Lines 112'."""
COUNTED = {"line": "lines", "charge": "lines", "description": "lines", "parcel": "parcels", "tracking": "parcels"}
"""What words of the trade count."""
SEVERAL = 2
EITHER = re.compile(r"\b(?:items?|positionen|posten|posizioni|postes)\b", re.IGNORECASE)
"""What may count the one or the other."""


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


def total_of_all(sheets: Sequence[Sheet], lines: pd.DataFrame, printed: pd.DataFrame) -> pd.DataFrame:
    """The printed totals of a file's tables, with one for each statement that stands in several of them.

    That is the one that all its lines come to, or an amount so called around the tables, as on a cover; else what the
    tables' own totals come to together, where each is that of its table. Where none of these is right they are left.

    Args:
        sheets: the statement's tables, with the texts around them.
        lines: what was read of all of them (LINES), with the number of its table in a column `table`.
        printed: their printed totals (PRINTED_TOTALS), with the same.
    """
    said = dict(wording.totals_in([text for sheet in sheets for text in sheet.above]))
    kept = {str(statement): totals for statement, totals in printed.groupby("statement", sort=False)}
    for statement, totals in kept.items():
        of_each = lines[lines["statement"] == statement].groupby("table")["amount_cents"].sum()
        cents = int(of_each.sum())
        if len(of_each) < SEVERAL:
            continue
        if (totals["printed_total_cents"] == cents).any():
            kept[statement] = totals[totals["printed_total_cents"] == cents].head(1)
        elif cents in said:
            kept[statement] = totals.head(1).assign(printed_total_cents=cents, source_place=said[cents])
        elif totals.set_index("table")["printed_total_cents"].to_dict() == of_each.to_dict():
            places = " and ".join(totals["source_place"].astype(str))
            kept[statement] = totals.head(1).assign(printed_total_cents=cents, source_place=places)
    return pd.concat([printed[:0], *kept.values()])


def counts_apart(file: str, sheets: Sequence[Sheet], lines: Sequence[pd.DataFrame]) -> Iterator[Problem]:
    """Printed counts of lines or parcels that are neither how many of a table nor how many of the file were read.

    A count beside another amount than that of all lines is of a part of them: 'Ground 37 parcels $5,060.75'.

    Args:
        file: its name.
        sheets: the statement's tables in it, with the texts around them.
        lines: what was read of each (LINES).
    """
    cents = sum(int(them["amount_cents"].sum()) for them in lines)
    for text in dict.fromkeys(text.strip() for sheet in sheets for text in sheet.above):
        printed = {amount for amount, _ in wording.amounts_in([text])}
        if printed and cents not in printed:
            continue
        for count, counted in printed_counts(text):
            whole, parts = _read(counted, sheets, lines)
            others = _read("parcels", sheets, lines) if EITHER.search(text) else (whole, parts)
            if count not in {whole, *parts, others[0], *others[1]}:
                message = f"{shown(text)} is printed, but {whole:,} {counted} were read. Look what is missing."
                yield Problem(file, "", message)


def printed_counts(text: str) -> Iterator[tuple[int, str]]:
    """The counts that a text prints, and whether they count "lines" or "parcels"."""
    last = COUNT_LAST.fullmatch(text)
    found = [(last[2], last[1])] if last else [(one[1], one[0]) for one in COUNT_FIRST.finditer(text)]
    for number, words in found:
        counted = next((COUNTED[word] for word in canonical(words) if word in COUNTED), None)
        if counted:
            yield int(number.replace(",", "")), counted


def _read(counted: str, sheets: Sequence[Sheet], lines: Sequence[pd.DataFrame]) -> tuple[int, list[int]]:
    """How many were read of the file, and of each table; rows of a table count as its lines too."""
    if counted == "lines":
        return sum(map(len, lines)), [*map(len, lines), *(len(sheet.cells) for sheet in sheets)]
    numbers = [set(them["tracking"].dropna()) for them in lines]
    return len(set().union(*numbers)), [*map(len, numbers)]
