"""Which currency a statement's amounts are in. They are read as they stand; nothing is converted."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from auditor.core.schemas import Problem
from auditor.intake.by_column import Columns
from auditor.intake.recognise import Column, Sheet
from auditor.intake.tidy import shown

SIGNS = {"$": "$", "US$": "USD", "€": "EUR", "£": "GBP", "¥": "JPY"}
DOLLARS = {"USD", "CAD", "AUD", "NZD", "HKD", "SGD", "MXN"}
"""What a bare $ may stand for."""
SIGN = re.compile(r"US\$|[$€£¥]")
CODE = re.compile(
    r"(?<![A-Za-z])(?:USD|EUR|GBP|CAD|AUD|NZD|MXN|CHF|JPY|CNY|HKD|SGD|INR|BRL|ZAR|SEK|NOK|DKK|PLN|CZK|HUF)(?![A-Za-z])"
)
"""Currencies that parcels are often billed in (ISO 4217); in capitals only, as some of them are words as well."""
AMOUNT = r"\d[\d.,' ]*"
BESIDE_AMOUNT = re.compile(
    rf"({SIGN.pattern}|{CODE.pattern})\s?-?(?={AMOUNT})|(?<=\d)\s?({SIGN.pattern}|{CODE.pattern})"
)
NAMED = re.compile(rf"\b(?:currency|währung|devise|moneda|valuta)\b\W*({CODE.pattern})", re.IGNORECASE)


def currencies(sheet: Sheet) -> Iterator[Problem]:
    """A note where a statement's headings name a currency that is not the dollar; a problem where two stand in it."""
    found = _of(sheet)
    if len(found) > 1:
        named = " and ".join(f"{currency} ({where})" for currency, where in found.items())
        message = (
            f"More than one currency stands in this statement: {named}. Amounts were added as they stand, nothing was "
            "converted, so its sums cannot be right. Ask the carrier for a statement in one currency."
        )
        yield Problem(sheet.file, "", message)
    elif found and not found.keys() & {"USD", "$"}:
        [(currency, where)] = found.items()
        message = (
            f"The amounts are in {currency} ({where}). They were read as they stand, nothing was converted, and they "
            "are shown as if they were dollars."
        )
        yield Problem(sheet.file, "", message, note=True)


def currencies_apart(sheets: Sequence[Sheet]) -> Iterator[Problem]:
    """A problem where statements, or tables of one, are each in one currency and not all in the same."""
    if len(sheets) < 2:  # noqa: PLR2004 - one is told of by itself
        return
    found: dict[str, Sheet] = {}
    for sheet in sheets:
        if len(its := list(_of(sheet))) == 1:
            found.setdefault(its[0], sheet)
    if "$" in found and found.keys() & DOLLARS:
        del found["$"]
    if len(found) > 1:
        named = " and ".join(f"{currency} ({_called(sheet)})" for currency, sheet in found.items())
        message = (
            f"Statements are in more than one currency: {named}. Amounts were added as they stand, nothing was "
            "converted, so sums over them cannot be right. Run the tool for each currency by itself."
        )
        yield Problem(list(found.values())[-1].file, "", message)


def _called(sheet: Sheet) -> str:
    return ", ".join(filter(None, (sheet.file, sheet.grid.part)))


def _of(sheet: Sheet) -> dict[str, str]:
    """The currencies named in a statement, and where each is first; no bare $ beside another dollar."""
    found: dict[str, str] = {}
    for currency, where in _named(sheet):
        found.setdefault(currency, where)
    if "$" in found and found.keys() & DOLLARS:
        del found["$"]
    return found


def _named(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Each currency that is named, and where: in headings and cells of amounts, a column of currencies, above."""
    for position, column in enumerate(sheet.columns):
        if _is_money(column):
            yield from ((one, f"column {shown(column.heading)}") for one in _all_of(column.heading))
            texts = list(_texts(sheet, position))
            if _all_of("\n".join(texts)):
                yield from ((one, shown(text)) for text in texts for one in _beside_amounts(text))
        elif column.field is None and column.samples and all(CODE.fullmatch(text) for text in column.samples):
            named = (text for text in _texts(sheet, position) if CODE.fullmatch(text))
            yield from ((one, f"column {shown(column.heading)}") for one in named)
    for text in sheet.above:
        yield from ((one, shown(text)) for one in (*_beside_amounts(text), *NAMED.findall(text)))


def _is_money(column: Column) -> bool:
    return column.field is not None and (column.field.endswith("_cents") or column.field == "charge")


def _all_of(text: str) -> list[str]:
    return [SIGNS.get(one, one) for pattern in (SIGN, CODE) for one in pattern.findall(text)]


def _beside_amounts(text: str) -> list[str]:
    return [SIGNS.get(one, one) for pair in BESIDE_AMOUNT.findall(text) for one in pair if one]


def _texts(sheet: Sheet, position: int) -> Iterator[str]:
    """The distinct texts of a column of the table, its heading among them."""
    rows = sheet.grid.rows
    if isinstance(rows, Columns):
        yield from rows.coded(position).cat.categories
    else:
        yield from dict.fromkeys(row[position].strip() for row in rows if len(row) > position)
