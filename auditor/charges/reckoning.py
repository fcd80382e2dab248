"""The cases, and the prices they are reckoned by: each tells of the other, as prices are learned from what was read."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pandas as pd

from auditor.charges.attribution import CAUSE_OF_PLAYER, attribute
from auditor.charges.gathering import build
from auditor.charges.learned.older_tables import Raised, raised
from auditor.charges.learned.rates import corrected_labels, learned
from auditor.charges.schema import Cases
from auditor.core.schemas import FUEL, conform
from auditor.tariff import Prices, Rulebook, price
from auditor.tariff.prices import LEARNED

LEAST_CORRECTIONS, MOST = 3, 0.8
"""So many corrections, and so large a share of them, tell that prices have the fuel in them (chosen)."""


@dataclass(frozen=True)
class Found:
    """Lines, records and notices, as `gather.build` takes them."""

    lines: pd.DataFrame
    shipments: pd.DataFrame
    notices: pd.DataFrame
    book: Rulebook

    def cases(self, prices: Prices) -> Cases:
        """The cases by some prices."""
        return build(self.lines, self.shipments, self.notices, self.book, prices)


def reckoned(found: Found, given: Prices) -> tuple[Cases, Raised]:
    """The cases, and the prices: given, learned where they were not, and raised where all labels show a change."""
    shipments, book = found.shipments, found.book
    is_price = _whole_prices(found.lines, shipments, given, book)
    lines = found.lines.assign(charge=found.lines["charge"].mask(is_price))
    found = replace(found, lines=lines)
    lines = lines[~lines["shipment"].isin(lines.loc[lines["amount_cents"].isna(), "shipment"])]  # tells only a part
    held = raised(learned(lines, shipments, given, book), lines, shipments, book)
    cases = found.cases(held.prices)
    if held.prices.fuel.empty:
        cases, held = _with_fuel_in_prices(found, cases, held)
    if "rates" in held.prices.learned:
        corrected = corrected_labels(cases, held.prices, book)
        rates = learned(lines, shipments, given, book, corrected=corrected).rates
        held = replace(held, prices=Prices(rates, held.prices.fees, held.prices.fuel))
    return cases, held


def _whole_prices(lines: pd.DataFrame, shipments: pd.DataFrame, given: Prices, book: Rulebook) -> pd.Series:
    """Which lines, the only one of their label, come to its whole price by the seller's tables: they are no freight."""
    label = lines[(lines["state"] == "label charge") & lines["amount_cents"].notna()]
    alone = label[~label["shipment"].duplicated(keep=False) & label["charge"].fillna("freight").eq("freight")]
    is_price = pd.Series(data=False, index=lines.index)
    if alone.empty or given.rates.empty or given.fuel.empty:
        return is_price
    parcels = shipments.loc[alone["shipment"].astype(int)].set_axis(alone.index)
    facts = {column: parcels[column].fillna(alone[column]) for column in ("service", "zone", "shipped_on")}
    due = price(parcels.assign(residential=parcels["residential"].fillna(value=False), **facts), book, given)
    equal = (due["total_cents"] == alone["amount_cents"]) & (due["total_cents"] != due["freight_cents"])
    is_price.loc[alone.index] = equal.fillna(value=False).to_numpy(dtype=bool)
    return is_price


def _with_fuel_in_prices(found: Found, cases: Cases, held: Raised) -> tuple[Cases, Raised]:
    """The same at 0 % fuel, if nearly all corrections come to the cent to what the prices give without any."""
    none = conform(pd.DataFrame({"fuel_ppm": [0], "source_file": [LEARNED]}), FUEL)
    prices = Prices(held.prices.rates, held.prices.fees, none)
    tried = found.cases(prices)
    attribution = attribute(tried, found.book, prices)
    corrected = (tried.players["active"] != 0) & ~attribution.unpriced
    over = attribution.shares.drop(columns=list(CAUSE_OF_PLAYER.values())).sum(axis=1)[corrected]
    enough = len(over) >= LEAST_CORRECTIONS and bool((over == 0).mean() >= MOST)
    return (tried, replace(held, prices=prices)) if enough else (cases, held)
