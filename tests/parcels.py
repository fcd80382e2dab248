"""Small price tables and parcels for tests."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pandas as pd

from auditor.core import units
from auditor.core.schemas import FEES, FUEL, RATES, conform
from auditor.tariff import Prices


def inches(value: str | int) -> int:
    """Inches as nanometres."""
    return units.small(Decimal(value), "in", "length")


def pounds(value: str | int) -> int:
    """Pounds as picograms."""
    return units.small(Decimal(value), "lb", "weight")


FEE_CENTS = {
    "additional handling": 3150,
    "large parcel": 24500,
    "residential": 595,
    "address correction": 2125,
    "correction fee": 125,
}


def prices(fuel_ppm: int = 152_500) -> Prices:
    """Ground, zones 2 to 8: 9 dollars + 71 cents a pound + 37 cents a zone; one fuel percentage throughout."""
    rates = [
        {"service": "Ground", "zone": str(zone), "up_to_pg": pounds(lb), "price_cents": 900 + 71 * lb + 37 * zone}
        for zone in range(2, 9)
        for lb in range(1, 151)
    ]
    fees = [{"charge": charge, "amount_cents": cents} for charge, cents in FEE_CENTS.items()]
    return Prices(
        conform(pd.DataFrame(rates), RATES),
        conform(pd.DataFrame(fees), FEES),
        conform(pd.DataFrame([{"fuel_ppm": fuel_ppm}]), FUEL),
    )


def freight(lb: int, zone: int = 5) -> int:
    """The freight of `prices` in cents."""
    return 900 + 71 * lb + 37 * zone


def parcel(sides: str, weight: str | int, on: str = "2026-03-04", **more: Any) -> dict[str, Any]:
    """One row for `price`: sides as '48 x 20 x 8' in inches, weight in pounds."""
    length, width, height = (inches(side.strip()) for side in sides.split("x"))
    row = {"service": "Ground", "zone": "5", "shipped_on": pd.Timestamp(on), "residential": False}
    row |= {"length_nm": length, "width_nm": width, "height_nm": height, "weight_pg": pounds(weight)}
    return row | more


def table(*parcels: dict[str, Any]) -> pd.DataFrame:
    """Parcels below one another, as `price` takes them."""
    whole = ["length_nm", "width_nm", "height_nm", "weight_pg"]
    return pd.DataFrame(parcels).astype(dict.fromkeys(whole, "Int64"))
