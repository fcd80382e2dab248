"""A recognised statement → its lines and the totals it prints."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import partial
from pathlib import PurePath

import pandas as pd

from auditor.intake import parsing, vocabulary
from auditor.intake.parsing import parsed
from auditor.intake.recognise import Sheet
from auditor.intake.tidy import shown, tidied
from auditor.tables import LINES, PRINTED_TOTALS, Problem, conform

TOTAL = re.compile(
    r"(?:statement |invoice |grand |account )?total(?: due| amount| charges| to pay)?:?|amount due:?", re.IGNORECASE
)
SUM = re.compile(
    r"(?:sub-?total|(?:statement |invoice |grand |account |page )?total|amount due|carried)\b", re.IGNORECASE
)
NUMBER = re.compile(r"\b(?:statement|invoice)\s*(?:number|no\.?|#)?\s*:?\s*((?=\S*\d)[\w./-]+)", re.IGNORECASE)
DATED = re.compile(r"\b(?:statement|invoice) date\s*:?\s*(\S+)(?: (\S+) (\S+))?", re.IGNORECASE)
ABOUT_LINE = ("tracking", "description", "amount_cents")


def read(sheet: Sheet) -> tuple[pd.DataFrame, pd.DataFrame, list[Problem]]:
    """The lines (LINES, still without charge and state), the printed totals and what could not be read.

    A row without a tracking number that begins with 'Statement total' or the like, or describes itself so, is a total
    and no line. A line whose amount cannot be read is kept.
    """
    tracking = sheet.cells["tracking"]
    said = sheet.leads.where(sheet.leads.str.match(SUM), sheet.cells["description"])
    sums = said.str.match(SUM) & ((tracking == "") | (tracking == said))
    words = ~sums & (sheet.cells[list(ABOUT_LINE)] == "").all(axis=1)
    frame, problems = tidied(_amounts_alone(sheet, sums | words))
    frame["statement"], notes = _numbers(frame["statement"], sheet)
    frame["statement_on"] = _days(frame, sheet)
    lines = frame[~sums & ~words]
    totals = frame[sums & said.str.fullmatch(TOTAL)]
    problems += [
        *notes,
        *_without_amount(sheet, lines),
        *_beside(sheet, words),
        *_other_sums(sheet, said[sums], totals.index),
    ]
    printed = totals.rename(columns={"amount_cents": "printed_total_cents"}).dropna(subset="printed_total_cents")
    return conform(lines, LINES), conform(printed, PRINTED_TOTALS), problems


def _amounts_alone(sheet: Sheet, rows: pd.Series) -> Sheet:
    """The sheet with nothing but the amount in those rows, whose words stand in columns of other things."""
    cells = sheet.cells.copy()
    cells.loc[rows, [field for field in cells if field != "amount_cents"]] = ""
    return Sheet(sheet.file, sheet.kind, cells, sheet.headings, sheet.places, sheet.leads, sheet.above)


def _numbers(column: pd.Series, sheet: Sheet) -> tuple[pd.Series, list[Problem]]:
    """Each row's statement: as printed in or above it, otherwise from the text above the table, or the file's name."""
    if column.notna().any():
        return column.ffill().bfill(), []
    if found := NUMBER.search("\n".join(sheet.above)):
        return column.fillna(found[1]), []
    name = PurePath(sheet.file).stem
    message = f"No statement number was found in this file, so the statement is called '{name}', after the file."
    return column.fillna(name), [Problem(sheet.file, "", message, note=True)]


def _days(frame: pd.DataFrame, sheet: Sheet) -> pd.Series:
    """Each row's statement date: that of its statement, in a column or in the text above the table."""
    days = frame["statement_on"].fillna(frame.groupby("statement")["statement_on"].transform("first"))
    return days if days.notna().any() else days.fillna(_day_above(sheet.above))


def _day_above(above: tuple[str, ...]) -> pd.Timestamp:
    found = DATED.search(" ".join(above))
    texts = (found[1], " ".join(filter(None, found.groups()))) if found else ()
    days, _ = parsed(pd.Series(texts, dtype="str").str.strip(",;"), parsing.date)
    return pd.to_datetime(days.dropna()).max()


def named(lines: pd.DataFrame, own: tuple[str, ...]) -> pd.DataFrame:
    """The lines with each charge in the rules' words, and its state; `own` are names that count as known words."""
    said, _ = parsed(lines["description"].fillna(""), partial(vocabulary.charge, own=own))
    charge = said.map(lambda found: found[0], na_action="ignore")
    state = said.map(lambda found: found[1], na_action="ignore").fillna("fee")
    state = state.mask((state == "label charge") & lines["tracking"].isna(), "fee")
    back = (lines["amount_cents"] < 0).fillna(value=False) & state.isin(["label charge", "fee"])
    state = state.mask(back, "credit").mask(lines["amount_cents"].isna(), "not read")
    return conform(lines.assign(charge=charge, state=state), LINES)


def _without_amount(sheet: Sheet, lines: pd.DataFrame) -> Iterator[Problem]:
    heading = sheet.headings["amount_cents"].text
    for row in lines.index[sheet.cells.loc[lines.index, "amount_cents"] == ""]:
        message = f"Column '{heading}' is empty, so this line was not read and its statement cannot tie out."
        yield Problem(sheet.file, sheet.places[row], message)


def _beside(sheet: Sheet, words: pd.Series) -> Iterator[Problem]:
    for row in sheet.cells.index[words]:
        message = f"{shown(sheet.leads[row])} was taken for a remark: the row has no tracking number, charge or amount."
        yield Problem(sheet.file, sheet.places[row], message, note=True)


def _other_sums(sheet: Sheet, sums: pd.Series, totals: pd.Index) -> Iterator[Problem]:
    """Sums that are not the statement's total, and totals without an amount."""
    for row, words in zip(sums.index, sums, strict=True):
        if row not in totals:
            message = f"{shown(words)} was taken for a sum of other lines and not counted."
            yield Problem(sheet.file, sheet.places[row], message, note=True)
        elif sheet.cells["amount_cents"][row] == "":
            message = (
                f"{shown(words)} has no amount in column '{sheet.headings['amount_cents'].text}', so it says nothing."
            )
            yield Problem(sheet.file, sheet.places[row], message)
