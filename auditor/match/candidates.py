"""Pairs of billed numbers and shipments that are worth weighing.

Tables of the columns seen, recorded (their places), edits and kind (see `misreading`; BY_TEXT where the texts will
tell).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.match.figures import recorded_figures
from auditor.match.misreading import BY_TEXT, CUT, FIGURES, ORDER, SAME
from auditor.match.nearby import MOST_ALIKE, cut_off, within
from auditor.match.numbers import Numbers


def near_number(seen: pd.DataFrame, texts: pd.Series, most: int) -> pd.DataFrame:
    """Numbers with the shipments whose number is at most so many edits away."""
    near = within(most, seen["text"], texts)
    return near[near["edits"] > 0].assign(kind=BY_TEXT)  # those that are the same stand in the records, and are doubted


def cut_number(seen: pd.DataFrame, texts: pd.Series) -> pd.DataFrame:
    """Numbers with the shipments from whose number they are cut off."""
    pairs = cut_off(seen["text"], texts)
    return _pairs(pairs["seen"], pairs["recorded"], CUT)


def _pairs(seen: npt.ArrayLike, recorded: npt.ArrayLike, kind: int) -> pd.DataFrame:
    return pd.DataFrame({"seen": seen, "recorded": recorded, "edits": 0, "kind": kind}, dtype="int64")


def same_number(seen: pd.DataFrame, known: Numbers) -> pd.DataFrame:
    """Doubted numbers with every shipment that has them."""
    doubted = seen.index[seen["doubted"]].to_numpy(dtype=np.intp)
    recorded = np.flatnonzero(np.isin(known.recorded_code, known.code[doubted]))
    left = pd.DataFrame({"seen": doubted, "code": known.code[doubted]})
    both = left.merge(pd.DataFrame({"recorded": recorded, "code": known.recorded_code[recorded]}), on="code")
    return _pairs(both["seen"], both["recorded"], SAME)


def same_order(seen: pd.DataFrame, orders: pd.Series) -> pd.DataFrame:
    """Numbers and shipments with the same order reference, where one shipment only has it."""
    billed = seen["order"].dropna()
    orders = orders[orders.isin(billed)] if len(billed) else orders.iloc[:0]
    once = orders[~orders.duplicated(keep=False)]
    both = billed.rename_axis("seen").reset_index().merge(once.rename_axis("recorded").reset_index(), on="order")
    return _pairs(both["seen"], both["recorded"], ORDER)


TOGETHER = (("shipped_on", "label_cents"), ("shipped_on", "zone", "weight", "size"))
"""Figures by which a number that is like none is brought together with shipments."""


def same_figures(seen: pd.DataFrame, shipments: pd.DataFrame, free: pd.Index) -> pd.DataFrame:
    """Numbers that no carrier could have printed, with the few shipments of the same day that have the same figures."""
    days = shipments["shipped_on"].iloc[free].isin(seen["shipped_on"].dropna()).to_numpy(dtype=bool)
    recorded = recorded_figures(shipments.iloc[free[days]].set_axis(free[days])).rename_axis("recorded").reset_index()
    found = [_pairs([], [], FIGURES)]
    for columns in TOGETHER:
        billed = seen.dropna(subset=list(columns)).rename_axis("seen").reset_index()
        both = billed[["seen", *columns]].merge(recorded[["recorded", *columns]], on=list(columns))
        few = both.groupby("seen")["recorded"].transform("size") <= MOST_ALIKE
        found.append(_pairs(both.loc[few, "seen"], both.loc[few, "recorded"], FIGURES))
    return pd.concat(found)
