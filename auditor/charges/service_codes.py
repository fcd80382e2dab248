"""A carrier's own codes of services → the names that the shop records them by."""

from __future__ import annotations

import pandas as pd

LEAST, MOSTLY = 2, 0.9
"""A code stands for the service of so many parcels, and of so large a share of them, or it is left (chosen)."""


def in_recorded_names(lines: pd.DataFrame, shipments: pd.DataFrame) -> pd.Series:
    """The service of each line by the name recorded for it, where what the statement prints is no recorded name.

    A code is taken for a service only where nearly all parcels that it stands on were recorded with that one and with
    no other code of the same statement, nor by its own name: a service billed by mistake keeps its own.

    Args:
        lines: LINES with `shipment`, each line's row of shipments.
        shipments: SHIPMENTS.
    """
    printed, recorded = lines["service"], lines["shipment"].map(shipments["service"])
    foreign = printed.notna() & ~printed.isin(shipments["service"].dropna())
    pairs = pd.DataFrame({"statement": lines["statement"], "code": printed, "name": recorded})[
        foreign & recorded.notna()
    ]
    pairs = pairs.assign(shipment=lines["shipment"]).drop_duplicates()
    if pairs.empty:
        return printed
    counts = pairs.groupby(["statement", "code", "name"]).size().rename("count").reset_index()
    counts["share"] = counts["count"] / counts.groupby(["statement", "code"])["count"].transform("sum")
    meant = counts[(counts["count"] >= LEAST) & (counts["share"] >= MOSTLY)]
    meant = meant[~meant.duplicated(["statement", "name"], keep=False)]
    used = pd.MultiIndex.from_arrays([lines["statement"], printed])
    meant = meant[~pd.MultiIndex.from_frame(meant[["statement", "name"]]).isin(used)]
    names = dict(zip(zip(meant["statement"], meant["code"], strict=True), meant["name"], strict=True))
    found = [names.get(key, key[1]) for key in zip(lines["statement"], printed, strict=True)]
    return pd.Series(found, index=lines.index, dtype="str")
