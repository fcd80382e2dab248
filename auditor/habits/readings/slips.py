"""Parcels that were sent otherwise than declared by mistake: read far longer than all others of their carton can be.

A carton left uncut for once, another carton, another parcel's label. How a carton is read otherwise is told by the
other parcels, so the excess is fitted to those, and slips are counted beside it.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.core.units import NM_PER_INCH

GAP_NM = 2 * NM_PER_INCH
"""No scanner reads parcels of one carton as so much longer than all others (common practice, no source)."""

MOST = 0.25
"""Where a larger share of a carton's parcels is read so, it is how the carton is used, and no slip
(chosen; measured with one slip in twenty: docs/evaluation.md, "Intervals of habits")."""


def slips(excess: pd.DataFrame) -> pd.Series:
    """Whether each parcel is a slip.

    Args:
        excess: of the longest side, between which figures each reading less the declared figure lies: carton, low and
            high (nm; low is -inf where only the upper end is known, high inf where none is), see `Parcels.excess`.
    """
    ordered = excess.sort_values(["carton", "low"], kind="stable")
    carton = ordered["carton"]
    # What all parcels before may have been read as at the most. One without a correction is taken to have been read
    # less than a gap longer than declared, since it is rare that none of such would have been corrected.
    most = ordered["high"].clip(lower=0.0)
    known = most.where(np.isfinite(ordered["low"]), most.clip(upper=GAP_NM))
    before = known.groupby(carton).cummax().groupby(carton).shift(fill_value=0.0)
    apart = (ordered["low"] - before >= GAP_NM).groupby(carton).cummax()
    few = apart.groupby(carton).transform("mean") <= MOST
    return (apart & few).reindex(excess.index)
