"""The expected charge, against published examples and at every edge."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pandas as pd
import pytest

from auditor.core import units
from auditor.core.schemas import FUEL, conform, rows
from auditor.tariff import load, price
from tests.parcels import FEE_CENTS, freight, parcel, prices, table

GROUND = load("us-ground-common")


def priced(*parcels: dict[str, Any], fuel_ppm: int = 0) -> pd.DataFrame:
    """The parcels priced by the shipped ground rules."""
    return price(table(*parcels), GROUND, prices(fuel_ppm))


def one(sides: str, weight: str | int, on: str = "2026-03-04", fuel_ppm: int = 0, **more: Any) -> dict[str, Any]:
    """One parcel priced."""
    return rows(priced(parcel(sides, weight, on, **more), fuel_ppm=fuel_ppm))[0]


@pytest.mark.parametrize(
    ("sides", "weight", "on", "billable_lb", "source"),
    [
        ("11.1 x 8.1 x 4.1", 1, "2025-08-18", 4, "a packaging distributor's note, 2025: 12x9x5 = 540, 3.88 → 4 lb"),
        ("11.1 x 8.1 x 4.1", 1, "2025-08-17", 3, "the same by the rule before: 11x8x4 = 352 → 3 lb"),
        ("11.1 x 8.5 x 6.2", 1, "2025-08-18", 6, "a trade magazine, 2025: 12x9x7 = 756, 5.44 → 6 lb"),
        ("11.1 x 8.5 x 6.2", 1, "2025-08-17", 5, "the same by the rule before: 11x9x6 = 594, 4.27 → 5 lb"),
        ("11 x 10 x 9", 1, "2026-03-04", 8, "a trade magazine, 2025: 990, 7.12 → 8 lb"),
        ("12 x 9 x 7", "4.2", "2026-03-04", 6, "common practice, no source: dimensional weight wins"),
        ("12 x 9 x 7", "7.0", "2026-03-04", 7, "common practice, no source: actual weight wins"),
        ("10 x 10 x 10", "5.4", "2026-03-04", 8, "common practice, no source: 7.2 → 8, 5.4 → 6, billable 8"),
        ("49 x 10 x 6", 15, "2026-03-04", 40, "common practice, no source: 22 lb, least billable 40"),
        ("49 x 10 x 6", 15, "2024-10-20", 22, "the same the day before the least billable weight came in"),
        ("49 x 10 x 6", 15, "2024-10-21", 40, "the same on its first day"),
    ],
)
def test_billable_weight_is_that_of_the_worked_example(
    sides: str, weight: str | int, on: str, billable_lb: int, source: str
) -> None:
    """Each with its source."""
    assert source
    assert billable_lb * units.PG_PER_POUND == one(sides, weight, on)["billable_pg"]


def test_freight_residential_and_fuel_come_to_the_worked_example() -> None:
    """Transport 10.97 + residential 5.50, fuel 15.25 % = 2.51, total 18.98: common practice, no source."""
    table_of = prices(152_500)
    table_of.rates["price_cents"] = 1097
    table_of.fees.loc[table_of.fees["charge"] == "residential", "amount_cents"] = 550
    got = price(table(parcel("10 x 10 x 10", 5, residential=True)), GROUND, table_of).iloc[0]
    assert (
        got["freight_cents"],
        got["residential_cents"],
        got["fuel_cents"],
        got["total_cents"],
    ) == (1097, 550, 251, 1898)


@pytest.mark.parametrize(
    ("sides", "weight", "on", "handled"),
    [
        ("48 x 6 x 6", 5, "2026-03-04", False),
        ("48.01 x 6 x 6", 5, "2026-03-04", True),
        ("48.01 x 6 x 6", 5, "2025-08-17", False),
        ("48.49 x 6 x 6", 5, "2025-08-17", False),
        ("48.5 x 6 x 6", 5, "2025-08-17", True),
        ("40 x 30 x 2", 5, "2026-03-04", False),
        ("40 x 30.01 x 1", 5, "2026-03-04", True),
        ("47 x 19 x 10", 5, "2026-03-04", False),
        ("47 x 19 x 10.1", 5, "2026-03-04", True),
        ("36 x 18 x 16", 5, "2026-03-04", False),
        ("36.01 x 18 x 16", 5, "2026-03-04", True),
        ("36.01 x 18 x 16", 5, "2026-01-11", False),
        ("36.01 x 18 x 16", 5, "2026-01-12", True),
        ("20 x 10 x 10", 50, "2026-03-04", False),
        ("20 x 10 x 10", "50.01", "2026-03-04", True),
    ],
)
def test_additional_handling_begins_just_over_each_limit(
    sides: str, weight: str | int, on: str, *, handled: bool
) -> None:
    """The limit itself is not over it; sides are rounded first."""
    assert (FEE_CENTS["additional handling"] if handled else 0) == one(sides, weight, on)["additional_handling_cents"]


@pytest.mark.parametrize(
    ("sides", "weight", "on", "large"),
    [
        ("96 x 6 x 6", 5, "2026-03-04", False),
        ("96.01 x 6 x 6", 5, "2026-03-04", True),
        ("70 x 20 x 10", 5, "2026-03-04", False),
        ("70 x 20 x 10.01", 5, "2026-03-04", True),
        ("40 x 24 x 18", 5, "2026-03-04", False),
        ("40.01 x 24 x 18", 5, "2026-03-04", True),
        ("40.01 x 24 x 18", 5, "2026-01-11", False),
        ("20 x 20 x 10", 110, "2026-03-04", False),
        ("20 x 20 x 10", "110.01", "2026-03-04", True),
        ("20 x 20 x 10", "110.01", "2026-01-11", False),
    ],
)
def test_a_large_parcel_begins_just_over_each_limit_and_pays_no_additional_handling(
    sides: str, weight: str | int, on: str, *, large: bool
) -> None:
    """Large parcel is charged instead of additional handling, with its own least billable weight."""
    got = one(sides, weight, on)
    assert (FEE_CENTS["large parcel"] if large else 0) == got["large_parcel_cents"]
    if large:
        assert got["additional_handling_cents"] == 0
        assert got["billable_pg"] >= 90 * units.PG_PER_POUND


@pytest.mark.parametrize(
    ("sides", "weight", "reason"),
    [
        ("108.01 x 6 x 6", 5, "not accepted: longest side over 108 in"),
        ("100 x 20 x 12.6", 5, "not accepted: length plus girth over 165 in"),
        ("20 x 20 x 20", "150.01", "not accepted: actual weight over 150 lb"),
        ("0 x 20 x 20", 5, "a side is missing or zero"),
        ("10 x 20 x 20", 0, "its weight is missing or zero"),
    ],
)
def test_a_parcel_that_cannot_be_priced_says_why_and_has_no_total(sides: str, weight: str | int, reason: str) -> None:
    """Never priced as zero."""
    got = one(sides, weight)
    assert reason == got["unpriced"]
    assert pd.isna(got["total_cents"])


@pytest.mark.parametrize(("sides", "weight"), [("108 x 6 x 6", 5), ("107 x 20 x 9", 5), ("20 x 20 x 20", 150)])
def test_the_greatest_accepted_size_and_weight_are_accepted(sides: str, weight: int) -> None:
    """The limits are inclusive."""
    assert pd.isna(one(sides, weight)["unpriced"])


@pytest.mark.parametrize(
    ("more", "reason"),
    [
        ({"zone": "9"}, "the rates have no price for its service and zone on its ship date"),
        ({"service": "Air"}, "the rates have no price for its service and zone on its ship date"),
        ({"shipped_on": pd.NaT}, "it has no ship date"),
        (
            {"shipped_on": pd.Timestamp("2021-12-31")},
            "the rules us-ground-common are known only from 2022-01-01 on",
        ),
    ],
)
def test_a_parcel_outside_the_prices_or_the_rules_dates_says_why(more: dict[str, Any], reason: str) -> None:
    """Each reason in words."""
    assert reason == one("10 x 10 x 10", 5, **more)["unpriced"]


def test_the_order_in_which_sides_are_given_does_not_matter() -> None:
    """Sides are put in order before anything else."""
    got = priced(parcel("49 x 20 x 8", 14), parcel("8 x 49 x 20", 14), parcel("20 x 8 x 49", 14))
    assert len(set(got["total_cents"])) == 1


def test_sides_typed_in_centimetres_meet_the_limit_exactly() -> None:
    """48.0 in typed as 121.92 cm is 48 in and not over it."""
    side = units.small(Decimal("121.92"), "cm", "length")
    assert one("1 x 6 x 6", 5, length_nm=side)["additional_handling_cents"] == 0
    assert one("1 x 6 x 6", 5, length_nm=side + 1)["additional_handling_cents"] == FEE_CENTS["additional handling"]


def test_parcels_of_several_dates_are_priced_in_one_call() -> None:
    """Each by the rules of its own ship date."""
    got = priced(parcel("49 x 10 x 6", 15, "2024-10-20"), parcel("49 x 10 x 6", 15, "2026-03-04"))
    assert got["billable_pg"].tolist() == [22 * units.PG_PER_POUND, 40 * units.PG_PER_POUND]


def test_the_total_is_the_sum_of_its_charges() -> None:
    """Address correction and correction fee carry no fuel."""
    got = one("49 x 10 x 6", 15, fuel_ppm=100_000, residential=True, address_corrected=True, corrected=True)
    carried = freight(40) + FEE_CENTS["additional handling"] + FEE_CENTS["residential"]
    fuel = (carried + 5) // 10
    assert carried + fuel + FEE_CENTS["address correction"] + FEE_CENTS["correction fee"] == got["total_cents"]


def test_a_price_list_holds_from_its_effective_date() -> None:
    """The latest list begun by the ship date, by service."""
    table_of = prices(0)
    later = table_of.rates.assign(
        price_cents=table_of.rates["price_cents"] + 1000, effective_on=pd.Timestamp("2026-03-10")
    )
    table_of = type(table_of)(pd.concat([table_of.rates, later]), table_of.fees, table_of.fuel)
    got = price(table(parcel("9 x 9 x 9", 6, "2026-03-09"), parcel("9 x 9 x 9", 6, "2026-03-10")), GROUND, table_of)
    assert [freight(6), freight(6) + 1000] == got["freight_cents"].tolist()


def test_no_rows_are_priced_to_no_rows() -> None:
    """An empty month is no error."""
    assert len(price(table(parcel("9 x 9 x 9", 6)).iloc[:0], GROUND, prices())) == 0


def test_the_last_fuel_percentage_is_not_reused_for_ever() -> None:
    """A weekly table ends a week after its last date; the parcel is then not priced, and says why."""
    table_of = prices(0)
    weeks = pd.to_datetime(["2026-03-02", "2026-03-09", "2026-03-16"])
    fuel = pd.DataFrame({"effective_on": weeks, "fuel_ppm": [150_000, 152_500, 155_000], "service": pd.NA})
    table_of = type(table_of)(table_of.rates, table_of.fees, conform(fuel, FUEL))
    days = ("2026-03-01", "2026-03-02", "2026-03-15", "2026-03-22", "2026-03-23")
    got = price(table(*(parcel("9 x 9 x 9", 6, day) for day in days)), GROUND, table_of, detail=True)
    assert got["unpriced"].notna().tolist() == [True, False, False, False, True]
    assert set(got["unpriced"].dropna()) == {"the fuel table does not reach its ship date"}
    assert got["fuel_ppm"].tolist()[1:4] == [150_000, 152_500, 155_000]
