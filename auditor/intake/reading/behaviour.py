"""How a charge behaves where its price is not known: which parcels it falls on, and what its amounts go with."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.core.arrays import Floats, Places, Whole, Yes
from auditor.intake.reading.known import Known

FALLS, STRAYS = 0.9, 0.1
"""How many of the parcels that a charge is due on have it, and how many of the others: those corrected (chosen)."""
FEWEST = 8
"""Fewer pairs of equal parcels tell nothing (chosen)."""
AGREES = 0.9


def falls_on(has: Yes, due: Yes) -> float:
    """The log odds that a name's lines fall on the parcels that a charge is due on, against falling anywhere.

    Args:
        has: for each parcel of the statement whether it has a line of the name.
        due: whether the charge is due on it.
    """
    if due.all() or not due.any():
        return 0.0
    rate = np.clip(has.mean(), 0.01, 0.99)
    given = np.where(due, np.where(has, FALLS, 1 - FALLS), np.where(has, STRAYS, 1 - STRAYS))
    anywhere = np.where(has, rate, 1 - rate)
    return float(np.log(given / anywhere).sum())


def by_figures(parcel: Places, cents: Whole, known: Known) -> float:
    """The log odds that amounts go with service, zone and billable weight, as freight does: agreement against chance.

    Two parcels of one service, zone and weight should cost the same; chance is how often any two do.
    """
    keys = pd.DataFrame(
        {
            "service": known.shipments["service"].iloc[parcel].fillna("").to_numpy(),
            "zone": known.shipments["zone"].iloc[parcel].fillna("").to_numpy(),
            "weight": known.expected["billable_pg"].iloc[parcel].to_numpy(),
            "cents": cents,
        }
    ).dropna()
    keys = keys[keys["cents"] > 0].sort_values(["service", "zone", "weight"], kind="stable")
    if len(keys) < FEWEST:
        return 0.0
    same = (keys[["service", "zone", "weight"]] == keys[["service", "zone", "weight"]].shift()).all(axis=1)
    agrees = (keys["cents"] == keys["cents"].shift())[same].to_numpy(dtype=bool)
    if len(agrees) < FEWEST:
        return 0.0
    shares = keys["cents"].value_counts(normalize=True)
    chance = float(np.clip((shares**2).sum(), 0.01, 0.99))
    return float(_log_odds(agrees, AGREES, chance).sum())


def _log_odds(agrees: Yes, likely: float, chance: float) -> Floats:
    return np.asarray(np.where(agrees, np.log(likely / chance), np.log((1 - likely) / (1 - chance))), dtype=np.float64)
