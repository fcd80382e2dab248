"""Worked examples published about the postal, air and express rules, and days on both sides of their changes."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pandas as pd
import pytest

from auditor.core import units
from auditor.core.schemas import FEES, FUEL, RATES, conform
from auditor.tariff import Prices, load, price
from tests.parcels import parcel, pounds, table

POUNDS = [Decimal(weight) for weight in ("0.25", "0.5", "0.75")] + [Decimal(weight) for weight in range(1, 151)]
SERVICES = ("Priority Mail", "Priority Mail Express", "Ground Advantage", "Parcel Select")


def postal_prices(**fees: int) -> Prices:
    """A flat price list, so that what matters is the billable weight and the fees."""
    rates = [
        {"service": service, "zone": str(zone), "up_to_pg": pounds(str(lb)), "price_cents": int(lb * 100)}
        for service in SERVICES
        for zone in range(1, 10)
        for lb in POUNDS
    ]
    named = [{"charge": charge.replace("_", " "), "amount_cents": cents} for charge, cents in fees.items()]
    empty = conform(pd.DataFrame(index=[]), FUEL)
    return Prices(
        conform(pd.DataFrame(rates), RATES),
        conform(pd.DataFrame(named, columns=["charge", "amount_cents"]), FEES),
        empty,
    )


def postal(sides: str, weight: str | int, on: str, service: str = "Priority Mail", zone: str = "6", **more: Any) -> Any:
    """One parcel by the postal rules."""
    fees = more.pop("fees", {})
    parcels = table(parcel(sides, weight, on, service=service, zone=zone, **more))
    return price(parcels, load("us-postal"), postal_prices(**fees)).iloc[0]


@pytest.mark.parametrize(
    ("sides", "weight", "on", "billable_lb", "source"),
    [
        ("12 x 12 x 14", 2, "2019-06-22", 11, "a shop's page: 2,016 in³ / 194 = 10.39 → 11 lb, zones 5 to 8"),
        ("15 x 15 x 22", 2, "2019-06-23", 30, "common practice, no source: 4,950 in³ / 166 = 29.82 → 30 lb"),
        ("12 x 12 x 8", 7, "2024-03-04", 7, "common practice, no source: 1,152 in³ is under 1 ft³, so actual weight"),
        ("11.1 x 10 x 6", 3, "2025-11-03", 3, "a trade magazine, 2025: under 1 ft³ → 3 lb"),
        ("12 x 12 x 12", 2, "2026-07-11", 2, "DMM 423, 1.3.1b: exactly 1,728 in³ is not over it"),
        ("12.2 x 12 x 12", 2, "2026-07-12", 14, "trade press 2026: 12.2 → 13 in; 1,872 / 139 = 13.5 → 14 lb"),
        ("12.2 x 12 x 12", 2, "2026-07-11", 2, "the day before: 12.2 → 12 in, 1,728 in³"),
        ("20.25 x 12 x 12", 2, "2008-06-01", 15, "Advisory 2006: 20-1/4 → 20 in; 2,880 / 194 = 14.8 → 15 lb"),
        ("20.75 x 12 x 12", 2, "2008-06-01", 16, "Advisory 2006: 20-3/4 → 21 in; 3,024 / 194 = 15.6 → 16 lb"),
        ("10 x 8 x 6", "1.2", "2008-06-01", 2, "DMM 423, 1.1: 1.2 lb → 2 lb"),
        ("28 x 28 x 25", 10, "2026-08-03", 70, "Advisory 2006: a dimensional weight over 70 lb pays the 70-lb price"),
    ],
)
def test_postal_billable_weight_is_that_of_the_example(
    sides: str, weight: str | int, on: str, billable_lb: int, source: str
) -> None:
    """Each with its source."""
    assert source
    assert billable_lb * units.PG_PER_POUND == postal(sides, weight, on)["billable_pg"]


def test_dimensional_weight_counted_only_in_far_zones_until_2019() -> None:
    """DMM 423, 1.3: zones 5 to 8."""
    near, far = (postal("12 x 12 x 14", 2, "2019-06-22", zone=zone)["billable_pg"] for zone in ("4", "5"))
    assert [near // units.PG_PER_POUND, far // units.PG_PER_POUND] == [2, 11]


def test_a_light_balloon_pays_the_20_lb_price_in_near_zones() -> None:
    """DMM 423, 1.2: over 84 in of length plus girth, zones 1 to 4."""
    assert postal("30 x 15 x 13", 5, "2008-06-02", zone="2")["billable_pg"] == 20 * units.PG_PER_POUND
    assert postal("28 x 15 x 13", 5, "2008-06-02", zone="2")["billable_pg"] == 5 * units.PG_PER_POUND


def test_an_irregular_parcel_counts_785_thousandths_of_its_box() -> None:
    """Advisory 2006: 15 x 15 x 15 x 0.785 = 2,649 in³; / 166 = 15.96 → 16 lb."""
    got = postal("15 x 15 x 15", 2, "2020-03-02", irregular=True)
    assert got["billable_pg"] == 16 * units.PG_PER_POUND


def test_31_in_and_over_2_cubic_feet_in_2022_is_15_and_15_dollars() -> None:
    """Common practice, no source: 15 + 15 = 30 dollars; only one length fee applies."""
    got = postal("31 x 12 x 10", 5, "2022-05-02")
    fees = ("nonstandard_length_over_22_in_cents", "nonstandard_length_over_30_in_cents", "nonstandard_volume_cents")
    assert [got[fee] for fee in fees] == [0, 1500, 1500]


@pytest.mark.parametrize(
    ("length", "fees"),
    [("22", (0, 0)), ("22.01", (400, 0)), ("30", (400, 0)), ("30.01", (0, 1500))],
)
def test_length_fees_begin_just_over_22_and_30_in(length: str, fees: tuple[int, int]) -> None:
    """Trade press 2022: over 22 in and at most 30 in, 4.00; over 30 in, 15.00."""
    got = postal(f"{length} x 6 x 6", 5, "2022-05-02")
    columns = ("nonstandard_length_over_22_in_cents", "nonstandard_length_over_30_in_cents")
    assert fees == tuple(int(got[column]) for column in columns)


def test_a_fee_that_is_no_longer_known_leaves_the_parcel_unpriced_with_its_reason() -> None:
    """Never priced as zero, nor at the last known amount; a fees table mends it; other parcels are not touched."""
    unknown = postal("31 x 6 x 6", 5, "2025-03-03")
    assert pd.isna(unknown["total_cents"])
    assert unknown["unpriced"] == (
        "the amount of nonstandard length over 22 in is not known after 2024-06-30; put it into your fees table"
    )
    fees = {"nonstandard_length_over_22_in": 400, "nonstandard_length_over_30_in": 1900}
    assert postal("31 x 6 x 6", 5, "2025-03-03", fees=fees)["nonstandard_length_over_30_in_cents"] == 1900
    assert postal("20 x 6 x 6", 5, "2025-03-03")["total_cents"] == 500


def test_a_wrong_size_costs_150_cents_over_22_in_or_a_cubic_foot() -> None:
    """PB 22700; trade press 2022 for the amount."""
    sizes = ("22.5 x 6 x 6", "12 x 12 x 12")
    got = [postal(sides, 5, "2022-05-02", size_wrong=True)["dimension_noncompliance_cents"] for sides in sizes]
    assert got == [150, 0]


@pytest.mark.parametrize(
    ("sides", "weight", "service", "reason"),
    [
        ("60 x 12 x 12.5", 5, "Priority Mail", "not accepted: length plus girth over 108 in"),
        ("70 x 15 x 16", 5, "Ground Advantage", "not accepted: length plus girth over 130 in"),
        ("20 x 12 x 12", "70.1", "Ground Advantage", "not accepted: actual weight over 70 lb"),
    ],
)
def test_over_its_greatest_size_or_weight_a_parcel_is_not_mailable(
    sides: str, weight: str | int, service: str, reason: str
) -> None:
    """DMM 401, 1.3; QSG 201e."""
    assert reason == postal(sides, weight, "2024-03-04", service)["unpriced"]


def test_over_108_in_the_oversized_price_takes_the_place_of_freight() -> None:
    """QSG 201e (253.1.0): by zone, whatever the weight; the amount is the seller's."""
    fees = {
        "oversized": 9000,
        "nonstandard_length_over_30_in": 1900,
        "nonstandard_length_over_22_in": 400,
        "nonstandard_volume": 1800,
    }
    light, heavy = (postal("60 x 13 x 12", lb, "2024-03-04", "Ground Advantage", fees=fees) for lb in (5, 60))
    assert light["total_cents"] == heavy["total_cents"] == 9000 + 1900 + 1800
    assert light["freight_cents"] == 0


def test_ounces_round_up_below_a_pound() -> None:
    """From memory: 4, 8, 12 and 15.999 oz steps, any fraction of an ounce up."""
    got = [
        postal("8 x 6 x 4", str(Decimal(oz) / 16), "2024-03-04", "Ground Advantage")["freight_cents"]
        for oz in ("3.9", "4", "4.1", "15.9")
    ]
    assert got == [25, 25, 50, 100]


def test_length_plus_girth_is_that_of_the_quick_service_guide() -> None:
    """QSG 201e: 10, 8, 5 has girth 26, together 36 in. 30, 10, 10: 70 in (common practice, no source)."""
    parcels = table(parcel("10 x 8 x 5", 2, "2016-06-06"), parcel("30 x 10 x 10", 2, "2016-06-06"))
    parcels["service"] = "Parcel Select"
    priced = price(parcels, load("us-postal"), postal_prices(), detail=True)
    assert [nm // units.NM_PER_INCH for nm in priced["length_plus_girth_nm"]] == [36, 70]


KILO = 10**15
CM = 10_000_000


def metric(name: str, sides: tuple[str, str, str], weight: str) -> float:
    """The billable weight in kg by a metric tariff."""
    rates = [
        {"service": "Air", "zone": "1", "up_to_pg": half * KILO // 2, "price_cents": 100 * half}
        for half in range(1, 301)
    ]
    of = Prices(
        conform(pd.DataFrame(rates), RATES),
        conform(pd.DataFrame(index=[]), FEES),
        conform(pd.DataFrame(index=[]), FUEL),
    )
    row = {"service": "Air", "zone": "1", "shipped_on": pd.Timestamp("2026-03-04")}
    row |= dict(zip(("length_nm", "width_nm", "height_nm"), (int(Decimal(side) * CM) for side in sides), strict=True))
    got = price(pd.DataFrame([row | {"weight_pg": int(Decimal(weight) * KILO)}]), load(name), of)
    return float(got["billable_pg"].iloc[0]) / KILO


@pytest.mark.parametrize(
    ("name", "sides", "weight", "kilograms", "source"),
    [
        ("air-iata", ("30", "45", "65"), "14", 15.0, "pengellys.co.nz fact sheet: 87,750 / 6000 = 14.625 → 15 kg"),
        ("air-iata", ("30.4", "45.4", "65.4"), "14", 15.0, "a cargo forwarder's page: less than 0.5 cm down"),
        ("air-iata", ("30.5", "45", "65"), "14", 15.5, "the same: 0.5 cm up; 31 x 45 x 65 / 6000 = 15.11 → 15.5 kg"),
        ("express-volumetric", ("30", "50", "50"), "10", 15.0, "common practice, no source: 75,000 / 5000 = 15 kg"),
        ("express-volumetric", ("25", "30", "15"), "8", 8.0, "common practice, no source: 2.25 kg, so 8 kg"),
        (
            "express-volumetric",
            ("30", "50", "50.1"),
            "10",
            15.5,
            "common practice, no source: each side up to the whole cm",
        ),
    ],
)
def test_metric_tariffs_come_to_the_published_weights(
    name: str, sides: tuple[str, str, str], weight: str, kilograms: float, source: str
) -> None:
    """Each with its source."""
    assert source
    assert kilograms == metric(name, sides, weight)


def test_the_printed_inch_divisors_are_rounded_forms_of_the_metric_ones() -> None:
    """5,000 cm³/kg is 138.40 in³/lb and 6,000 is 166.08: computed from the exact factors (NIST SP 811, App. B.8)."""
    cubic_inch = Decimal(units.NM_PER_INCH) ** 3 / Decimal(CM) ** 3
    for divisor, printed in ((5000, "138.400"), (6000, "166.079")):
        in_pounds = divisor / cubic_inch * units.PG_PER_POUND / KILO
        assert f"{in_pounds:.3f}" == printed


def test_a_nominal_foot_of_corrugated_is_over_a_cubic_foot_outside() -> None:
    """12 x 12 x 12 inside, C flute: 12-5/16 x 12-5/16 x 12-5/8 outside (pack-design.com, how to measure a box).

    To the nearest inch 12 x 12 x 13 = 1,872 in³, / 166 = 12 lb; rounded up 13 x 13 x 13 = 2,197 in³, / 139 = 16 lb.
    """
    outside = "12.3125 x 12.3125 x 12.625"
    before, after = (postal(outside, 2, on)["billable_pg"] // units.PG_PER_POUND for on in ("2026-07-11", "2026-07-12"))
    assert (before, after) == (12, 16)
