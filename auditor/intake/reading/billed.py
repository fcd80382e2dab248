"""What statements say of each parcel, as the evidence by which the shop's own records are read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.core.arrays import Masked, Places, Yes
from auditor.core.schemas import SHIPMENTS, conform
from auditor.core.sides import SIDES
from auditor.intake import vocabulary
from auditor.intake.reading.known import Known, bare

OF_LINES = {"billed_weight_pg": "weight_pg", **{f"billed_{side}": side for side in SIDES}}
OF_PARCEL = ("order", "shipped_on", "service", "zone", *OF_LINES)


@dataclass(frozen=True, eq=False)
class Billed:
    """The parcels that statements bill, in the order of `known.shipments`, with billed weights and sides there.

    `sums`: pairs of a parcel's place and what its first lines come to, one, two or all of them. `homes`: whether a
    charge for a delivery to a home stands among its lines.
    """

    known: Known
    sums: frozenset[tuple[int, int]]
    homes: Yes

    def costs(self, cents: Masked) -> Callable[[Places], Yes]:
        """Whether amounts are what the first lines of parcels come to."""
        amounts = cents.numbers.tolist()

        def agrees(places: Places) -> Yes:
            pairs = zip(places.tolist(), amounts, strict=True)
            return np.array([pair in self.sums for pair in pairs], dtype=bool) & cents.known

        return agrees


def billed_of(lines: pd.DataFrame) -> Billed:
    """What LINES say of each parcel with a number."""
    lines = lines[lines["tracking"].notna()].reset_index(drop=True)
    texts = lines["tracking"].map({text: bare(str(text)) for text in lines["tracking"].unique()})
    places, numbers = pd.factorize(texts)
    found = lines.groupby(places)[["tracking", *OF_PARCEL]].first().rename(columns=OF_LINES)
    amounts = lines["amount_cents"].fillna(0).astype("int64")
    sums = amounts.groupby(places).cumsum()
    home = lines["description"].map({text: _is_home(text) for text in lines["description"].unique()})
    homes = np.zeros(len(numbers), dtype=bool)
    homes[places[home.fillna(value=False).to_numpy(dtype=bool)]] = True
    pairs = frozenset(zip(places.tolist(), sums.tolist(), strict=True))
    return Billed(Known(conform(found.reset_index(drop=True), SHIPMENTS)), pairs, homes)


def _is_home(text: object) -> bool:
    return isinstance(text, str) and vocabulary.charge(text)[0] == "residential"
