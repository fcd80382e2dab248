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
from auditor.intake.texts import coded, where

LEAST = 3
"""So many rows of the same words, and of different amounts, show them to be sums."""
NEARLY_ALL, HALF = 0.9, 0.5
SEVERAL = 2
MOST_WORDINGS = 50
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
    rows, wordings = _worded(sheet, no_line)
    if len(rows) < LEAST:
        return found
    cents = amounts(sheet.cells[AMOUNT]).fillna(0).to_numpy(dtype=np.int64)
    counts = wordings[cents[rows] != 0].value_counts()
    for wording in counts.index[counts >= LEAST][:MOST_WORDINGS]:
        at = rows[(wordings == wording).to_numpy() & (cents[rows] != 0)]
        if _are_sums(at, np.where(no_line, 0, cents), cents):
            no_line[at] = True
            found.iloc[at] = True
    return found


def _worded(sheet: Sheet, known: npt.NDArray[np.bool_]) -> tuple[npt.NDArray[np.int64], pd.Series]:
    """The rows beside whose amounts there are words that are no charge and no number, and these, figures in them aside.

    The words are the row's description, or its first text. Rows that are known are left out.
    """
    described = sheet.cells.get("description", sheet.leads)
    rows = np.flatnonzero(where(described, lambda text: not text or _wording(text)).to_numpy() & ~known)
    texts = described.iloc[rows].astype(object)
    codes, words = coded(texts.where(texts != "", sheet.leads.iloc[rows].astype(object)))
    wordings = pd.Series([_wording(text) for text in words], dtype=object).take(codes)
    has_words = wordings.notna().to_numpy()
    return rows[has_words], wordings[has_words]


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
