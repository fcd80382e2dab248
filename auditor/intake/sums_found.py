"""Rows that are sums of the rows above them by what they come to, whatever words stand beside them.

One row that equals those above may do so by chance. Rows of the same words that do so through a whole statement do not.
"""

from __future__ import annotations

import re

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.intake import evidence, vocabulary
from auditor.intake.arrangement import amounts
from auditor.intake.recognise import Sheet
from auditor.intake.texts import by_code, coded

LEAST = 3
"""So many rows of the same words, and of different amounts, show them to be sums."""
NEARLY_ALL, HALF = 0.9, 0.5
SEVERAL = 2
MOST_WORDINGS = 50
FEW = 50
"""Of so many distinct texts it is looked whether any row has them: a column's heading is none of a row's."""
AMOUNT = "amount_cents"
FIGURE = re.compile(r"\d")


def by_arithmetic(sheet: Sheet, known: pd.Series) -> pd.Series:
    """For each row of a recognised statement whether its amount shows it to be a sum of rows above it.

    Args:
        sheet: the statement.
        known: for each row whether its words tell that already.
    """
    found = pd.Series(data=False, index=sheet.cells.index)
    if AMOUNT not in sheet.cells or len(found) <= LEAST:
        return found
    no_line = known.to_numpy(dtype=bool, copy=True)
    codes, wordings = _wordings(sheet, no_line)
    if not wordings:
        return found
    cents = amounts(sheet.cells[AMOUNT]).fillna(0).to_numpy(dtype=np.int64)
    codes = np.where(no_line | (cents == 0), -1, codes)
    counts = pd.Series(codes).value_counts()
    often = counts.index[(counts >= LEAST) & (counts.index >= 0)]
    for code in often[:MOST_WORDINGS]:
        rows = np.flatnonzero(codes == code)
        if _are_sums(rows, np.where(no_line, 0, cents), cents):
            no_line[rows] = True
            found.iloc[rows] = True
    return found


def _wordings(sheet: Sheet, known: npt.NDArray[np.bool_]) -> tuple[npt.NDArray[np.int64], list[str]]:
    """What stands beside each amount, as a code a row, figures in it aside; -1 for a charge, a number or nothing.

    That is its description, or the first text of the row. Of rows that are known no first text is looked at.
    """
    codes, texts = coded(sheet.cells.get("description", sheet.leads))
    wordings = [_wording(text) for text in texts]
    blank = [at for at, text in enumerate(texts) if not text]
    rows = np.flatnonzero(np.logical_or.reduce([codes == at for at in blank]) & ~known) if blank else np.array([], int)
    others = [at for at, text in enumerate(wordings) if text]
    if not len(rows) and len(others) <= FEW and not any((codes == at).any() for at in others):
        return codes, []
    own, leads = coded(sheet.leads.iloc[rows].astype(object))
    codes = codes.astype(np.int32)
    codes[rows] = own + len(texts)
    alike, distinct_ones = pd.factorize(np.array([*wordings, *map(_wording, leads), None], dtype=object))
    return by_code(alike, codes), distinct_ones.tolist()


def _wording(text: str) -> str | None:
    """A text with its figures alike; None for a number of a parcel, and for a charge that is known."""
    alike = " ".join("…" if FIGURE.search(word) else word for word in text.split())
    return None if not text or evidence.is_code(text) or _is_known(alike) else alike


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
