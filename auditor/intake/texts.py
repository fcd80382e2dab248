"""Columns of texts, plain or categorical (distinct texts, and a code a row): each distinct text is looked at once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd


def coded(column: pd.Series) -> tuple[npt.NDArray[Any], list[str]]:
    """A code a row, and the distinct texts that the codes stand for."""
    if isinstance(column.dtype, pd.CategoricalDtype):
        return column.cat.codes.to_numpy(), list(column.cat.categories)
    codes, distinct = pd.factorize(column)
    return codes, list(distinct)


def distinct(column: pd.Series) -> list[str]:
    """The distinct texts of a column; of a categorical one, also those that no row has any more."""
    return coded(column)[1]


def where(column: pd.Series, holds: Callable[[str], object]) -> pd.Series:
    """For each row whether something holds of its text."""
    codes, texts = coded(column)
    answers = np.fromiter((bool(holds(text)) for text in texts), dtype=bool, count=len(texts))
    return pd.Series(answers[codes], index=column.index, dtype=bool)


def blanked(column: pd.Series, rows: pd.Series) -> pd.Series:
    """The column with nothing in those rows."""
    if isinstance(column.dtype, pd.CategoricalDtype) and "" not in column.cat.categories:
        column = column.cat.add_categories([""])
    return column.mask(rows, "")


def carried(column: pd.Series, rows: pd.Series) -> pd.Series:
    """The column with what the row above has in those rows, or the first other row; nothing where there is no other."""
    others = ~rows.to_numpy()
    if not others.any():
        return blanked(column, rows)
    last = np.maximum.accumulate(np.where(others, np.arange(len(column)), -1))
    return column.take(np.where(last < 0, others.argmax(), last)).set_axis(column.index)


def first_filled(columns: list[pd.Series]) -> pd.Series:
    """The first text of each row that is not blank, over categorical columns."""
    found = columns[0]
    for column in columns[1:]:
        blank = (found == "").to_numpy()
        if not blank.any():
            break
        plain: Any = found.astype(object).to_numpy().copy()
        plain[blank] = column[blank].astype(object)
        found = pd.Series(plain, index=found.index).astype("category")
    return found


def kept(table: pd.DataFrame, rows: pd.Series) -> pd.DataFrame:
    """Those rows of a table; without copying where they are its first."""
    count = int(rows.sum())
    return table.iloc[:count] if bool(rows.iloc[:count].all()) else table[rows]
