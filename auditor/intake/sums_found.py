"""Rows that are sums of the rows above them by what they come to, whatever words stand beside them.

One row that equals those above may do so by chance. Rows of the same words that do so through a whole statement do not.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.intake import evidence, vocabulary
from auditor.intake.arrangement import amounts
from auditor.intake.by_column import Columns
from auditor.intake.recognise import Sheet
from auditor.intake.texts import distinct

LEAST = 3
"""So many rows of the same words, and of different amounts, show them to be sums."""
NEARLY_ALL, HALF = 0.9, 0.5
SEVERAL = 2
MOST_WORDINGS = 50
AMOUNT = "amount_cents"


def by_arithmetic(sheet: Sheet, known: pd.Series) -> pd.Series:
    """For each row of a recognised statement whether its amount shows it to be a sum of rows above it.

    Not of one that is read by column, as that takes a look at each row.

    Args:
        sheet: the statement.
        known: for each row whether its words tell that already.
    """
    found = pd.Series(data=False, index=sheet.cells.index)
    if AMOUNT not in sheet.cells or len(found) <= LEAST or isinstance(sheet.grid.rows, Columns):
        return found
    cents = amounts(sheet.cells[AMOUNT]).fillna(0).to_numpy(dtype=np.int64)
    words = _words(sheet)
    no_line = known.to_numpy(dtype=bool, copy=True)
    for _, rows in _repeated(words, ~no_line & (cents != 0)):
        if _are_sums(rows, np.where(no_line, 0, cents), cents):
            no_line[rows] = True
            found.iloc[rows] = True
    return found


def _words(sheet: Sheet) -> pd.Series:
    """What stands beside each amount: its description, or the first text of the row; no number of a parcel."""
    described = sheet.cells.get("description", sheet.leads).astype(object)
    words = described.where(described != "", sheet.leads.astype(object))
    return words.where(~words.isin([text for text in distinct(words) if evidence.is_code(text)]), "")


def _repeated(words: pd.Series, priced: npt.NDArray[np.bool_]) -> list[tuple[str, npt.NDArray[np.int64]]]:
    """The wordings, figures in them aside, that stand beside several amounts and are no charge, with their rows."""
    alike = words.str.replace(r"\S*\d\S*", "…", regex=True)
    counts = alike[priced].value_counts()
    often = [text for text in counts.index[counts >= LEAST][:MOST_WORDINGS] if text and not _is_known(text)]
    return [(text, np.flatnonzero((alike == text).to_numpy() & priced)) for text in often]


def _is_known(text: str) -> bool:
    return vocabulary.charge(text)[0] is not None


def _are_sums(rows: npt.NDArray[np.int64], lines: npt.NDArray[np.int64], cents: npt.NDArray[np.int64]) -> bool:
    """Whether nearly each of the rows comes to the lines since the one before, and mostly to several of them."""
    others = lines.copy()
    others[rows] = 0
    above, count = np.cumsum(others)[rows], np.cumsum(others != 0)[rows]
    since, of = np.diff(above, prepend=0), np.diff(count, prepend=0)
    right = since == cents[rows]
    enough = right.sum() >= LEAST and len(set(cents[rows][right].tolist())) >= LEAST
    return bool(enough and right.mean() >= NEARLY_ALL and (of[right] >= SEVERAL).mean() >= HALF)
