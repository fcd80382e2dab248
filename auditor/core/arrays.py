"""The types of arrays, each under one name in the whole program."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    import pandas as pd

Whole = npt.NDArray[np.int64]
"""Whole numbers: cents, nanometres, picograms, millionths."""
Places = npt.NDArray[np.intp]
"""Places of rows or columns."""
Yes = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Masked:
    """Whole numbers of which some are not known: where `known` is false, what stands in `numbers` says nothing."""

    numbers: Whole
    known: Yes

    @classmethod
    def of(cls, found: Iterable[int | None]) -> Masked:
        """Those found one by one; None is not known."""
        listed = list(found)
        values = np.array([value or 0 for value in listed], dtype=np.int64)
        return cls(values, np.array([value is not None for value in listed], dtype=bool))

    @classmethod
    def of_column(cls, column: pd.Series) -> Masked:
        """Those of an Int64 column."""
        return cls(column.to_numpy(dtype=np.int64, na_value=0), column.notna().to_numpy(dtype=bool))

    def __getitem__(self, rows: Places) -> Masked:
        return Masked(self.numbers[rows], self.known[rows])

    def otherwise(self, other: Masked) -> Masked:
        """Those of another where these are not known."""
        return Masked(np.where(self.known, self.numbers, other.numbers), self.known | other.known)
