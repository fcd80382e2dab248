"""The engine held against the plain reference, parcel by parcel."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from auditor.core.schemas import FEES, FUEL, RATES, conform
from auditor.tariff import Prices, load, price
from auditor.tariff.figures import FLAGS
from auditor.tariff.rule_files import folder
from auditor.tariff.surcharges import column_of
from tests import edges, reference

SHIPPED = sorted(folder().glob("*.toml"))
SERVICES = ["Ground", "Priority Mail", "Ground Advantage", "Parcel Select"]
ZONES = ["2", "4", "5", "9"]
POUND = reference.WEIGHTS["lb"]
LISTED = {"residential": 595, "additional handling": 3150, "large parcel": 24_500, "address correction": 2125}
FUEL_PPM = 152_500


def cents_by_weight(service: str, zone: str, billable: int) -> int | None:
    """A price list up to 200 lb: whole pounds, with ounces below one; no zone 9 for Ground."""
    if service.casefold() == "ground" and zone == "9":
        return None
    steps = [POUND // 16 * ounces for ounces in (4, 8, 12)] + [POUND * pounds for pounds in range(1, 201)]
    place = next((number for number, step in enumerate(steps) if billable <= step), None)
    return None if place is None else 400 + 53 * place + 31 * int(zone)


@cache
def prices() -> Prices:
    """The same as tables."""
    weights = [POUND // 16 * ounces for ounces in (4, 8, 12)] + [POUND * pounds for pounds in range(1, 201)]
    rows = [
        {"service": service, "zone": zone, "up_to_pg": weight, "price_cents": cents_by_weight(service, zone, weight)}
        for service in SERVICES
        for zone in ZONES
        for weight in weights
    ]
    fees = [{"charge": charge, "amount_cents": cents} for charge, cents in LISTED.items()]
    return Prices(
        conform(pd.DataFrame(rows).dropna(), RATES),
        conform(pd.DataFrame(fees), FEES),
        conform(pd.DataFrame([{"fuel_ppm": FUEL_PPM}]), FUEL),
    )


def differences(path: Path, count: int, seed: int, most: int = 5) -> list[str]:
    """The first few parcels on which the two do not agree, in words."""
    table = edges.parcels(path, count, SERVICES, ZONES, seed)
    priced = price(table, load(path), prices())
    charges = tuple(reference.written(path).get("charges", {}))
    found = []
    for row, got in zip(table.to_dict("records"), priced.to_dict("records"), strict=True):
        expected = reference.charge(path, _parcel(row), cents_by_weight, LISTED, FUEL_PPM)
        if said := _differs(expected, got, charges):
            found.append(f"{row}: {said}")
        if len(found) == most:
            break
    return found


def _parcel(row: dict[Any, Any]) -> dict[str, Any]:
    return {
        "service": row["service"],
        "zone": row["zone"],
        "day": row["shipped_on"].date(),
        "sides": [int(row[f"{side}_nm"]) for side in ("length", "width", "height")],
        "weight": row["weight_pg"],
        "correction": row["correction_cents"],
    } | {column: bool(row[column]) for column in (*FLAGS.values(), "irregular")}


def _differs(expected: dict[str, int] | None, got: dict[Any, Any], charges: tuple[str, ...]) -> str:
    if expected is None or pd.isna(got["total_cents"]):
        none = expected is None and pd.isna(got["total_cents"])
        return "" if none else f"expected {expected}, got {got['total_cents']} ({got['unpriced']})"
    columns = {"total": "total_cents", "billable": "billable_pg", "freight": "freight_cents", "fuel": "fuel_cents"}
    columns |= {charge: column_of(charge) for charge in charges}
    unlike = {
        name: (expected.get(name, 0), int(got[of])) for name, of in columns.items() if expected.get(name, 0) != got[of]
    }
    return str(unlike) if unlike else ""


def shares_of(path: Path, count: int, seed: int) -> pd.Series:
    """How often each charge is due among such parcels, to see that the edges are really met."""
    priced = price(edges.parcels(path, count, SERVICES, ZONES, seed), load(path), prices())
    amounts = priced[[column for column in priced if str(column).endswith("_cents")]]
    return (amounts.fillna(0).astype(np.int64) > 0).mean()
