"""Where a price stands in the seller's own files: looked up by column, as one would find it by eye."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from typing import Any

import numpy as np
import pandas as pd
import pytest

from auditor.core.schemas import FEES, FUEL, RATES, conform, rows
from auditor.tariff import Prices
from auditor.tariff.places import fee_place, fuel_place, rate_place

DAYS = [None, "2026-01-05", "2026-02-01", "2026-03-02"]
LOOKED_UP_ON = pd.to_datetime(["2025-12-31", "2026-01-05", "2026-01-31", "2026-02-01", "2026-04-01"])


def _listed(*columns: Sequence[object], names: tuple[str, ...], seed: int) -> pd.DataFrame:
    """Some of all combinations, in no order, with a place each; every fifth without one, as a learned price."""
    every = list(product(*columns))
    chosen = np.random.default_rng(seed).permutation(len(every))[: 2 * len(every) // 3]
    table = pd.DataFrame([every[at] for at in chosen], columns=list(names))
    place = pd.Series([f"row {at}" if at % 5 else None for at in range(len(table))])
    return table.assign(source_file=pd.Series("prices.csv", index=table.index).where(place.notna()), source_place=place)


@pytest.fixture(params=range(5))
def prices(request: pytest.FixtureRequest) -> Prices:
    """Tables with gaps, other spellings, undated rows and prices for all zones."""
    seed, services, zones = request.param, ["Ground", "ground ", "Air", None], ["2", "5", None]
    rates = _listed(
        services[:3], zones[:2], [10, 20, 30], DAYS, names=("service", "zone", "up_to_pg", "effective_on"), seed=seed
    )
    fees = _listed(
        ["residential", "Residential", "address"], zones, DAYS, names=("charge", "zone", "effective_on"), seed=seed
    )
    fuel = _listed(services, DAYS, names=("service", "effective_on"), seed=seed)
    return Prices(
        conform(rates.assign(price_cents=100), RATES),
        conform(fees.assign(amount_cents=100), FEES),
        conform(fuel.assign(fuel_ppm=100), FUEL),
    )


def _by_eye(table: pd.DataFrame, day: pd.Timestamp, *, every: bool = False, **wanted: str) -> str:
    """The first row of the last day begun, of the rows for what is wanted (for all of it, with `every`)."""

    def fits(row: dict[str, Any], last: str) -> bool:
        own = all(str(row[one]).strip().casefold() == text.casefold() for one, text in wanted.items() if one != last)
        return own and (pd.isna(row[last]) if every else str(row[last]).strip().casefold() == wanted[last].casefold())

    found = [row for row in rows(table) if fits(row, list(wanted)[-1])]
    begun = {id(row): pd.Timestamp.min if pd.isna(row["effective_on"]) else row["effective_on"] for row in found}
    found = [row for row in found if begun[id(row)] <= day]
    row = next((row for row in found if begun[id(row)] == max(begun[id(one)] for one in found)), None)
    if row is None or pd.isna(row["source_file"]):
        return ""
    return f"{row['source_file']}, {row['source_place']}"


@pytest.mark.parametrize("day", LOOKED_UP_ON)
def test_a_fees_place_is_its_own_zones_or_that_of_all_zones(prices: Prices, day: pd.Timestamp) -> None:
    """Of the last day that has begun, the first row; none where a price was learned."""
    for charge, zone in product(("residential", "Address"), ("2", "5", "8")):
        own, all_zones = (_by_eye(prices.fees, day, charge=charge, zone=zone, every=every) for every in (False, True))
        assert (own or all_zones) == fee_place(prices, charge, zone, day)


@pytest.mark.parametrize("day", LOOKED_UP_ON)
def test_a_fuel_percentages_place_is_its_own_services_or_that_of_all(prices: Prices, day: pd.Timestamp) -> None:
    """The same for fuel."""
    for service in ("GROUND", "Air", "Sea"):
        own, every = (_by_eye(prices.fuel, day, service=service, every=every) for every in (False, True))
        assert (own or every) == fuel_place(prices, service, day)


@pytest.mark.parametrize("day", LOOKED_UP_ON)
def test_a_rates_place_is_the_next_weight_of_the_services_list_in_force(prices: Prices, day: pd.Timestamp) -> None:
    """The list of the last day begun for the service holds, also where it lacks the zone."""
    for service, zone, weight in product(("ground", "AIR"), ("2", "5"), (1, 10, 11, 25, 31)):
        first = prices.rates["effective_on"].fillna(pd.Timestamp("1970-01-01"))
        lists = prices.rates[prices.rates["service"].str.strip().str.casefold() == service.casefold()]
        begun = first[lists.index][first[lists.index] <= day]
        in_force = lists.loc[begun.index[begun == begun.max()]]
        fitting = in_force[(in_force["zone"] == zone) & (in_force["up_to_pg"] >= weight)]
        row = rows(fitting.sort_values("up_to_pg", kind="stable"))[:1]
        places = [f"{one['source_file']}, {one['source_place']}" for one in row if pd.notna(one["source_file"])]
        assert "".join(places) == rate_place(prices, service, zone, day, weight)


def test_a_price_with_a_source_and_no_row_is_told_by_its_source() -> None:
    """So are percentages and fees that were learned."""
    fuel = {"effective_on": pd.Timestamp("2026-01-05"), "fuel_ppm": 150_000, "source_file": "learned"}
    prices = Prices(conform(pd.DataFrame(), RATES), conform(pd.DataFrame(), FEES), conform(pd.DataFrame([fuel]), FUEL))
    assert fuel_place(prices, "Ground", pd.Timestamp("2026-03-02")) == "learned"
