"""Shops whose every charge is right, with prices of which the shop has no table, or an older one.

What a machine reads is drawn as in `tests.evaluation.measured`. The carrier's prices may rise by a percentage on a day,
all services, zones and weights alike, rounded to the cent.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from random import Random

from tests.evaluation.measured import MISREAD, billed_by, drawn, habits, listed
from tests.months.billing import Billed
from tests.months.faults import HARMLESS, Fault
from tests.months.make import STATEMENT_OF, STATEMENT_ON
from tests.months.plainly import Prices, in_force
from tests.months.scenario import ship
from tests.months.write import write_cartons, write_prices, write_shipments, write_statement


@dataclass(frozen=True)
class Rise:
    """From `on` every price is higher by so many percent."""

    on: date
    percent: str

    def raised(self, cents: int) -> int:
        """A price after the rise, to the cent, half a cent up."""
        return int((cents * (1 + Decimal(self.percent) / 100)).quantize(Decimal(1), ROUND_HALF_UP))


def risen(prices: Prices, rise: Rise) -> Prices:
    """The prices with those after the rise beside them."""
    rates = {
        place: {**lists, rise.on: [(up_to, rise.raised(cents)) for up_to, cents in in_force(lists, rise.on)]}
        for place, lists in prices.rates.items()
    }
    return replace(prices, rates=rates)


def month(
    seed: int,
    parcels: int,
    *,
    rise: Rise | None = None,
    fuel: Mapping[date, str] | None = None,
    at_once: bool = False,
) -> list[Billed]:
    """The parcels of March 2026, every charge right; `fuel` in the place of the scenario's weekly percentages."""
    random = Random(seed)
    own, prices = habits(random), listed()
    prices = risen(prices, rise) if rise else prices
    prices = replace(prices, fuel={day: Decimal(percent) for day, percent in fuel.items()}) if fuel else prices
    made = []
    for shipped in ship(random, parcels):
        shipment = replace(shipped, packed_size="", packed_weight="", photo="")
        fault = Fault(HARMLESS, shipment.service)
        if random.random() < MISREAD:
            fault = drawn(shipment, own[shipment.carton], random)
            fault = replace(fault, at_once=at_once, scale=not at_once, fee=not at_once and random.random() < 0.3)
        made.append(billed_by(shipment, fault, prices))
    return made


def write(folder: Path, billed: Sequence[Billed], *, tables: Sequence[str] = ()) -> Path:
    """The shop's files: its records, one statement a carrier, and of the price tables those named."""
    folder.mkdir(parents=True, exist_ok=True)
    write_prices(folder)
    for name in {"rates.csv", "fees.csv", "fuel.csv"} - set(tables):
        (folder / name).unlink()
    write_cartons(folder)
    write_shipments(folder, [one.shipment for one in billed])
    for service, statement in STATEMENT_OF.items():
        lines = [line for one in billed if one.shipment.service == service for line in one.lines]
        write_statement(folder / f"{statement}.csv", statement, STATEMENT_ON[statement], lines)
    return folder
