"""What stands beside a number, alike for what is billed and what is recorded, so that the two can be held together."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.core.sides import SIDES
from auditor.core.units import NM_PER_INCH, PG_PER_POUND

FIGURES = ("shipped_on", "service", "zone", "label_cents", "size", "weight", "order")
"""Columns of the tables made here: a day, words, the label's cents, sides in whole inches, whole pounds, words."""

_DTYPES: Any = dict(zip(FIGURES, ("datetime64[s]", "str", "str", "Int64", "Int64", "Int64", "str"), strict=True))


def recorded_figures(shipments: pd.DataFrame) -> pd.DataFrame:
    """The FIGURES of those shipments, by their index."""
    size, weight = _size(shipments, ""), _pounds(shipments["weight_pg"])
    return shipments.rename(columns={"label_cost_cents": "label_cents"}).assign(size=size, weight=weight)[[*FIGURES]]


def billed_figures(lines: pd.DataFrame, number: pd.Series) -> pd.DataFrame:
    """The FIGURES of each number, from its lines: the first that is printed, and what its label was billed in all.

    Args:
        lines: LINES, or NOTICES with the columns it has.
        number: which number each of the lines has.
    """
    fields = [field for field in ("shipped_on", "service", "zone", "order") if field in lines]
    first = lines[fields].groupby(number).first()
    if "state" in lines:
        label = lines[(lines["state"] == "label charge").to_numpy(dtype=bool)]
        of_label = label.groupby(number.loc[label.index])
        printed = of_label[[*(f"billed_{side}" for side in SIDES), "billed_weight_pg"]].first()
        first["label_cents"] = of_label["amount_cents"].sum()
        first["size"] = _size(printed, "billed_")
        first["weight"] = _pounds(printed["billed_weight_pg"])
    return first.reindex(columns=list(FIGURES)).astype(_DTYPES)


def _size(table: pd.DataFrame, prefix: str) -> pd.Series:
    """A size in whole inches, each side rounded up, as one number."""
    inches = [-(-table[f"{prefix}{side}"] // NM_PER_INCH) for side in SIDES]
    return (inches[0] * 1_000_000 + inches[1] * 1_000 + inches[2]).astype("Int64")


def _pounds(weight: pd.Series) -> pd.Series:
    return (-(-weight // PG_PER_POUND)).astype("Int64")


MISSING, DIFFERS, AGREES = range(3)
"""How a figure of one parcel stands to that of another."""

States = npt.NDArray[np.int8]


def held_together(billed: pd.DataFrame, shipments: pd.DataFrame) -> States:
    """For each row of two tables of FIGURES with as many rows, and each figure: missing, differs or agrees."""
    columns = [_held(billed[figure], shipments[figure]) for figure in FIGURES]
    return np.stack(columns, axis=1) if len(billed) else np.zeros((0, len(FIGURES)), np.int8)


def _held(billed: pd.Series, recorded: pd.Series) -> States:
    there = billed.notna().to_numpy() & recorded.notna().to_numpy()
    same = (billed.reset_index(drop=True) == recorded.reset_index(drop=True)).fillna(value=False).to_numpy(dtype=bool)
    return np.where(there, np.where(same, AGREES, DIFFERS), MISSING).astype(np.int8)
