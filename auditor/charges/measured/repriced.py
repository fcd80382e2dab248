"""A parcel priced by the carrier's figures, with the fee for a correction only where they raise the charge."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.tariff import Prices, Rulebook, column_of, price


def repriced(measured: pd.DataFrame, by_before: pd.DataFrame, book: Rulebook, prices: Prices) -> pd.DataFrame:
    """`price` of the figures read, in detail; the correction fee only where they raise the charge.

    Args:
        measured: the carrier's figures, as `price` takes them.
        by_before: `price` of the figures before, over the same index.
        book: the rules.
        prices: the prices.
    """
    fees, addresses = (list(map(column_of, book.called_by(flag))) for flag in ("corrected", "address corrected"))
    priced = price(measured, book, prices, detail=True)
    by_figures = priced["total_cents"] - sum(priced[column] for column in (*fees, *addresses))
    raised = (by_figures - by_before["total_cents"]).clip(lower=0).fillna(0).astype(np.int64)
    if book.takes_of_correction:
        priced = price(measured.assign(correction_cents=raised), book, prices, detail=True)
    unfounded = sum(priced[column].where(raised == 0, 0) for column in fees)
    due = {column: priced[column].where(raised > 0, 0) for column in fees}
    return priced.assign(total_cents=priced["total_cents"] - unfounded, **due)
