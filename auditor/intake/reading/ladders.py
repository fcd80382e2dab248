"""The steps that a later correction of a charge can take from one parcel's label, by the shop's price tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd

from auditor.core.arrays import Floats, Places, Whole
from auditor.core.schemas import FEES, RATES, conform
from auditor.intake.reading.known import Known


def plain_texts(texts: pd.Series) -> np.ndarray[Any, np.dtype[np.object_]]:
    """Texts as they are compared: in lower case, with single blanks."""
    codes, distinct = pd.factorize(texts.fillna(""))
    return np.array([" ".join(str(text).casefold().split()) for text in distinct], dtype=object)[codes]


@dataclass(frozen=True)
class Ladders:
    """Prices by service and zone, and fees by charge."""

    known: Known

    def later(self, charge: str, parcel: Places, cents: Whole) -> Floats:
        """How likely each amount is as a later line of that charge: spread evenly over the steps it can take.

        Args:
            charge: its name.
            parcel: rows of shipments.
            cents: the amounts.
        """
        if charge == "freight" and not self._prices:
            return np.zeros(len(cents))
        if charge == "freight":
            return np.array([self._freight(*pair) for pair in zip(parcel.tolist(), cents.tolist(), strict=True)])
        steps = self._fee_steps(charge)
        return np.isin(np.abs(cents), steps) / max(2 * len(steps), 1)

    def steps(self, charge: str) -> bool:
        """Whether any price of the charge is known."""
        return bool(self._prices) if charge == "freight" else bool(len(self._fee_steps(charge)))

    def _freight(self, parcel: int, cents: int) -> float:
        prices = self._prices.get(self._keys[parcel])
        if prices is None:
            return 0.0
        declared = self._declared[parcel]
        whole = cents in prices or -cents in prices
        step = declared is not None and cents != 0 and (declared + cents in prices or declared - cents in prices)
        return (whole + step) / (4.0 * len(prices))

    @cached_property
    def _keys(self) -> list[tuple[str, str]]:
        shipments = self.known.shipments
        return list(zip(plain_texts(shipments["service"]), plain_texts(shipments["zone"]), strict=True))

    @cached_property
    def _declared(self) -> list[int | None]:
        freight = self.known.expected.get("freight", pd.Series(dtype="Int64")).reindex(self.known.shipments.index)
        return [None if pd.isna(cents) else int(cents) for cents in freight]

    @cached_property
    def _prices(self) -> dict[tuple[str, str], frozenset[int]]:
        rates = self.known.rates
        prices: dict[tuple[str, str], set[int]] = {}
        for service, zone, cents in zip(
            plain_texts(rates["service"]), plain_texts(rates["zone"]), rates["price_cents"].tolist(), strict=True
        ):
            prices.setdefault((service, zone), set()).add(cents)
        return {place: frozenset(listed) for place, listed in prices.items()}

    @cached_property
    def _fees(self) -> tuple[np.ndarray[Any, np.dtype[np.object_]], Whole]:
        """The charge and the amount of each row of the fees."""
        fees = self.known.fees
        return plain_texts(fees["charge"]), fees["amount_cents"].to_numpy(dtype=np.int64)

    def _fee_steps(self, charge: str) -> Whole:
        """The amounts of a fee, and the differences between two of them; fuel is a percentage and has none."""
        if charge == "fuel":
            return np.zeros(0, dtype=np.int64)
        charges, cents = self._fees
        listed = cents[charges == charge]
        due = self.known.expected.get(charge, pd.Series(dtype="Int64")).dropna().to_numpy(dtype=np.int64)
        amounts = np.unique(np.abs(np.concatenate([listed, due])))
        amounts = amounts[amounts > 0][:MOST_STEPS]
        between = np.abs(amounts[:, None] - amounts[None, :]).ravel()
        return np.unique(np.concatenate([amounts, between[between > 0]]))


def with_learned(known: Known, lines: pd.DataFrame, charges: Mapping[str, str]) -> Known:
    """What is known, and beside it what a statement's own labels cost, where no table says so.

    Args:
        known: what is known.
        lines: LINES of a statement.
        charges: name as printed → its charge, of the names that are clear.
    """
    if len(known.fees) and len(known.rates):
        return known
    charge, row = lines["description"].map(charges), known.rows_of(lines["tracking"])
    ours = lines.assign(charge=charge, row=row)[charge.notna() & row.notna() & (lines["amount_cents"] > 0)]
    fees, rates = known.fees, known.rates
    if fees.empty:
        listed = ours[~ours["charge"].isin(["freight", "fuel", "tax"])].drop_duplicates(["charge", "amount_cents"])
        several = ours.groupby(["charge", "amount_cents"])["row"].transform("size") >= SEVERAL
        fees = conform(listed[several.reindex(listed.index, fill_value=False)], FEES)
    if not rates.empty:
        return replace(known, fees=fees)
    freight = ours[ours["charge"] == "freight"].drop_duplicates("row").set_index("row")["amount_cents"]
    places = known.shipments.loc[freight.index.astype(int), ["service", "zone"]]
    learned = conform(places.assign(up_to_pg=1, price_cents=freight.to_numpy()), RATES)
    due = known.expected.get("freight", pd.Series(pd.NA, index=known.expected.index, dtype="Int64"))
    expected = known.expected.assign(freight=due.fillna(freight.reindex(due.index)))
    return replace(known, fees=fees, rates=learned, expected=expected)


SEVERAL = 2
"""An amount that two parcels paid for a charge is what it costs, rather than a slip (chosen)."""
MOST_STEPS = 50
"""A fee by zone and weight has no more amounts (a charge with more is no fee, and has no steps)."""
