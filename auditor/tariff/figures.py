"""Parcels as arrays of their figures and flags, ready to be priced."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.core.arrays import Places, Whole, Yes
from auditor.core.sides import SIDES
from auditor.tariff.rules import Flag

FLAGS: Mapping[Flag, str] = {
    "residential": "residential",
    "address corrected": "address_corrected",
    "corrected": "corrected",
    "size missing or wrong": "size_wrong",
}
"""The rules' word for a flag → the column of parcels that holds it; a column that is not there counts as no."""


def whole(column: pd.Series) -> Whole:
    """The column as int64, 0 where missing."""
    return column.to_numpy(dtype=np.int64, na_value=0) if column.dtype != object else whole(column.astype("Int64"))


@dataclass(frozen=True)
class Figures:
    """Parcels as arrays: sides (3, n) in nm, weight in pg, flags by the rules' word; `of`, their lines of a sheet.

    `correction`: the cents by which a correction raised the charge, where some fee is a percentage of it.

    Arrays may have more axes behind the first, along which a figure that is the same has a length of one: so what
    depends on the sides alone is reckoned once for however many weights. `of` is the same along all but the first.
    """

    sides: Whole
    weight: Whole
    flags: Mapping[Flag, Yes]
    irregular: Yes | None
    of: Places
    correction: Whole | None = None

    @classmethod
    def of_table(cls, parcels: pd.DataFrame, of: Places) -> Figures:
        """The figures of a table of parcels, see `price`."""
        return cls(
            sides=np.stack([whole(parcels[side]) for side in SIDES]),
            weight=whole(parcels["weight_pg"]),
            flags={word: _flag(parcels[column]) for word, column in FLAGS.items() if column in parcels},
            irregular=_flag(parcels["irregular"]) if "irregular" in parcels else None,
            of=of,
            correction=whole(parcels["correction_cents"]) if "correction_cents" in parcels else None,
        )

    def rows(self, rows: Places | slice) -> Figures:
        """Some of the parcels."""
        irregular = None if self.irregular is None else self.irregular[rows]
        flags = {word: flag[rows] for word, flag in self.flags.items()}
        correction = None if self.correction is None else self.correction[rows]
        return Figures(self.sides[:, rows], self.weight[rows], flags, irregular, self.of[rows], correction)


def _flag(column: pd.Series) -> Yes:
    return (
        column.to_numpy(dtype=bool) if column.dtype == bool else column.astype("boolean").to_numpy(bool, na_value=False)
    )
