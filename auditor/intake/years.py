"""Days without a year, '26-Mar', in a statement's lines: the year is that of the statement's day, or the one before."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pandas as pd

from auditor.core.schemas import Problem
from auditor.intake import parsing
from auditor.intake.recognise import Sheet
from auditor.intake.texts import distinct

MOSTLY = 0.5
"""The share of days in a column that have no year where it is one of such days."""


def with_years(sheet: Sheet, until: Any, *, day_first: bool) -> tuple[Sheet, list[Problem]]:
    """The statement with a year on each day of shipping that has none, and a note that says so.

    Args:
        sheet: a recognised statement.
        until: its own day; no parcel on it was shipped later. NaT where it is not known: then nothing is done.
        day_first: whether 3/4 is the third of April.
    """
    column = sheet.cells.get("shipped_on")
    if column is None or pd.isna(until):
        return sheet, []
    texts = [text for text in distinct(column) if text]
    days = {text: day for text in texts if (day := _last(text, until.date(), day_first=day_first))}
    if not texts or len(days) < MOSTLY * len(texts):
        return sheet, []
    whole = column.astype(object).map(lambda text: days.get(text, text))
    heading = sheet.headings["shipped_on"].text
    message = (
        f"Column '{heading}' has days without a year. Each was taken for the last such day before {until:%Y-%m-%d}."
    )
    return replace(sheet, cells=sheet.cells.assign(shipped_on=whole)), [Problem(sheet.file, "", message, note=True)]


def _last(text: str, until: date, *, day_first: bool) -> str | None:
    """The last such day up to another, as 2026-03-26; None where the text is no day without a year."""
    found = parsing.month_and_day(text, day_first=day_first)
    for year in (until.year, until.year - 1) if found else ():
        try:
            day = date(year, *found)  # type: ignore[misc]
        except ValueError:
            continue
        if day <= until:
            return day.isoformat()
    return None
