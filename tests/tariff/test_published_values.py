"""Each published value of the rules, written out here again with its source: a wrong one in a rule file fails.

`test_edges` makes its parcels from the rule files themselves and so agrees with whatever stands there.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import numpy as np
import pandas as pd
import pytest

from auditor.core import units
from auditor.tariff import Rules, load, price
from tests.parcels import parcel, pounds, prices, table
from tests.tariff.test_published_examples import metric, postal, postal_prices

GROUND_2026, BEFORE_VOLUME = "2026-03-04", "2025-12-01"
NO_SOURCE = "common practice, no source"


def rules_on(name: str, day: str) -> Rules:
    """The rules of a shipped tariff on a day that it knows."""
    rules = load(name).on(date.fromisoformat(day))
    assert rules is not None
    return rules


@pytest.mark.parametrize(
    ("on", "within", "beyond", "source"),
    [
        ("2008-06-01", ("22 x 12 x 11", 15), ("16 x 14 x 13", 16), "194: DMM 423 (2008), 1.3: 14.97 and 15.01"),
        ("2019-06-22", ("22 x 12 x 11", 15), ("16 x 14 x 13", 16), "194 until 22 June 2019: PB 22509 (2018)"),
        ("2019-06-23", ("29 x 19 x 6", 20), ("41 x 9 x 9", 21), "166: PB 22509 (2018): 19.92 and 20.01"),
        ("2026-07-11", ("29 x 19 x 6", 20), ("41 x 9 x 9", 21), "166 until 11 July 2026: trade press 2026"),
        ("2026-07-12", ("71 x 13 x 3", 20), ("23 x 11 x 11", 21), "139: trade press 2026: 19.92 and 20.02"),
    ],
)
def test_postal_divisors_are_the_published_ones(
    on: str, within: tuple[str, int], beyond: tuple[str, int], source: str
) -> None:
    """Volumes that a divisor greater or smaller by one would bill as another pound."""
    assert source
    got = [postal(sides, 1, on)["billable_pg"] // units.PG_PER_POUND for sides, _ in (within, beyond)]
    assert got == [within[1], beyond[1]]


@pytest.mark.parametrize(
    ("name", "within", "beyond", "source"),
    [
        ("air-iata", ("124", "82", "59"), ("113", "90", "59"), "6,000 cm³/kg: IATA TACT rules, on forwarders' pages"),
        ("express-volumetric", ("107", "73", "64"), ("106", "89", "53"), f"5,000 cm³/kg: {NO_SOURCE}"),
    ],
)
def test_metric_divisors_are_the_published_ones(
    name: str, within: tuple[str, str, str], beyond: tuple[str, str, str], source: str
) -> None:
    """599,912 and 600,030 cm³, 499,904 and 500,002 cm³: just under and just over 100 kg."""
    assert source
    assert [metric(name, sides, "1") for sides in (within, beyond)] == [100.0, 100.5]


def ground(sides: str, weight: str | int, on: str, charge: str) -> bool:
    """Whether the common ground rules make that charge."""
    got = price(table(parcel(sides, weight, on)), load("us-ground-common"), prices()).iloc[0]
    return bool(got[charge] > 0)


@pytest.mark.parametrize(
    ("charge", "on", "at", "beyond"),
    [
        ("additional_handling_cents", GROUND_2026, ("48 x 6 x 6", 5), ("48.01 x 6 x 6", 5)),
        ("additional_handling_cents", GROUND_2026, ("40 x 30 x 1", 5), ("40 x 30.01 x 1", 5)),
        ("additional_handling_cents", BEFORE_VOLUME, ("45 x 18 x 12", 5), ("45.01 x 18 x 12", 5)),
        ("additional_handling_cents", GROUND_2026, ("36 x 18 x 16", 5), ("39 x 19 x 14", 5)),
        ("additional_handling_cents", GROUND_2026, ("12 x 12 x 12", 50), ("12 x 12 x 12", "50.01")),
        ("large_parcel_cents", GROUND_2026, ("96 x 6 x 6", 5), ("96.01 x 6 x 6", 5)),
        ("large_parcel_cents", GROUND_2026, ("90 x 10 x 10", 5), ("90.01 x 10 x 10", 5)),
        ("large_parcel_cents", GROUND_2026, ("40 x 24 x 18", 5), ("35 x 26 x 19", 5)),
        ("large_parcel_cents", GROUND_2026, ("12 x 12 x 12", 110), ("12 x 12 x 12", "110.01")),
    ],
    ids=["48 in", "30 in", "105 in", "10,368 in³", "50 lb", "96 in", "130 in", "17,280 in³", "110 lb"],
)
def test_common_ground_charges_begin_just_over_their_limits(
    charge: str, on: str, at: tuple[str, int], beyond: tuple[str, int | str]
) -> None:
    """Common practice, no source: each limit itself is still free, a little more is not."""
    assert [ground(sides, weight, on, charge) for sides, weight in (at, beyond)] == [False, True]


def test_volumes_count_from_12_january_2026_on() -> None:
    """Common practice, no source: 12 January 2026 at one carrier, 26 January 2026 at another."""
    days = ("2026-01-11", "2026-01-12")
    assert [ground("39 x 19 x 14", 5, on, "additional_handling_cents") for on in days] == [False, True]
    assert [ground("35 x 26 x 19", 5, on, "large_parcel_cents") for on in days] == [False, True]


@pytest.mark.parametrize(
    ("at", "beyond", "service", "on", "reason", "source"),
    [
        (
            ("60 x 14 x 10", 5),
            ("60.01 x 14 x 10", 5),
            "Priority Mail",
            "2012-02-01",
            "length plus girth over 108 in",
            "DMM 401 (2005, 2012), 1.3",
        ),
        (
            ("70 x 15 x 15", 5),
            ("70.01 x 15 x 15", 5),
            "Parcel Select",
            "2012-02-01",
            "length plus girth over 130 in",
            "DMM 401 (2012), 1.3",
        ),
        (
            ("12 x 12 x 12", 70),
            ("12 x 12 x 12", "70.01"),
            "Parcel Select",
            "2012-02-01",
            "actual weight over 70 lb",
            "DMM 401 (2005, 2012), 1.3",
        ),
    ],
    ids=["108 in", "130 in", "70 lb"],
)
def test_postal_parcels_are_refused_just_over_their_greatest_size_and_weight(
    at: tuple[str, int], beyond: tuple[str, Any], service: str, on: str, reason: str, source: str
) -> None:
    """As measured: no text seen says that sides are rounded for it."""
    assert source
    fees = {"oversized": 9000}
    assert pd.isna(postal(*at, on, service, fees=fees)["unpriced"])
    assert postal(*beyond, on, service, fees=fees)["unpriced"] == f"not accepted: {reason}"


def test_the_oversized_price_begins_just_over_108_in() -> None:
    """DMM C700 (2003), 1.0c; QSG 201e (2016), 253.1.0: over 108 and up to 130 in, for Parcel Select."""
    fees = {"oversized": 9000}
    sizes = ("60 x 14 x 10", "60.01 x 14 x 10")
    got = [postal(sides, 5, "2016-06-06", "Parcel Select", fees=fees)["oversized_cents"] for sides in sizes]
    assert got == [0, 9000]


def test_the_balloon_price_begins_just_over_84_in_and_below_20_lb() -> None:
    """DMM 423 (2008), 1.2: Priority Mail in zones 1 to 4."""
    sizes = (("40 x 12 x 10", 5), ("40.01 x 12 x 10", 5), ("40.01 x 12 x 10", 21))
    got = [postal(sides, lb, "2008-06-02", zone="4")["billable_pg"] // units.PG_PER_POUND for sides, lb in sizes]
    assert got == [5, 20, 21]
    elsewhere = postal("40.01 x 12 x 10", 5, "2008-06-02", "Parcel Select", zone="4")
    assert elsewhere["billable_pg"] // units.PG_PER_POUND == 5


def test_between_the_two_days_told_for_its_end_the_balloon_price_is_not_known() -> None:
    """27 January 2019 (PB 22509 of 2018, broken off; trade press) or 22 June 2019 (trade press): not settled here.

    Before the first and after the second all agree; parcels that it is not about have their price throughout.
    """
    days = ("2019-01-26", "2019-01-27", "2019-06-22", "2019-06-23")
    got = [postal("40.01 x 10 x 13", 5, on, zone="2") for on in days]
    reason = "the amount of balloon is not known after 2019-01-26; put it into your fees table"
    assert [one["unpriced"] if pd.notna(one["unpriced"]) else "" for one in got] == ["", reason, reason, ""]
    assert got[0]["billable_pg"] == 20 * units.PG_PER_POUND
    assert got[-1]["balloon_cents"] == 0
    assert pd.isna(postal("20 x 10 x 8", 5, "2019-03-04", zone="2")["unpriced"])


def test_the_volume_fee_begins_just_over_3456_cubic_inches() -> None:
    """Trade press 2021 and 2022: over 2 cubic feet; as measured."""
    sizes = ("24 x 12 x 12", "24.0001 x 12 x 12")
    assert [postal(sides, 5, "2022-05-02")["nonstandard_volume_cents"] for sides in sizes] == [0, 1500]


def test_a_wrong_size_costs_something_just_over_1728_cubic_inches_or_22_in() -> None:
    """PB 22700 (2026): over 1 cubic foot or over 22 in long; as measured."""
    sizes = ("12 x 12 x 12", "12.0001 x 12 x 12", "22 x 6 x 6", "22.01 x 6 x 6")
    got = [postal(sides, 5, "2022-05-02", size_wrong=True)["dimension_noncompliance_cents"] for sides in sizes]
    assert got == [0, 150, 0, 150]


HANDBOOK_44 = [
    ("24.9", "0.05", "0 to 500 divisions: 1"),
    ("25", "0.05", "500 divisions: 1"),
    ("25.01", "0.1", "501 to 2,000 divisions: 2"),
    ("100", "0.1", "2,000 divisions: 2"),
    ("100.01", "0.15", "2,001 to 4,000 divisions: 3"),
    ("200", "0.15", "4,000 divisions: 3"),
    ("200.01", "0.25", "more than 4,000 divisions: 5"),
    ("500", "0.25", "10,000 divisions of a 500-lb scale: 5, 0.25 lb, as worked out on a quality forum"),
]


@pytest.mark.parametrize("name", ["us-ground-common", "us-postal"])
@pytest.mark.parametrize(("load_lb", "within_lb", "row"), HANDBOOK_44)
def test_a_scale_may_be_off_by_the_steps_of_handbook_44(name: str, load_lb: str, within_lb: str, row: str) -> None:
    """NIST Handbook 44, 2.20, Table 6, Class III, maintenance, at a division of 0.05 lb."""
    assert row
    tolerance = rules_on(name, "2026-03-04").weight_tolerance
    assert tolerance.at(pounds(load_lb)) == pounds(within_lb)
    assert tolerance.at(np.array([pounds(load_lb)])).tolist() == [pounds(within_lb)]


@pytest.mark.parametrize("name", ["air-iata", "express-volumetric"])
def test_a_metric_scale_may_be_off_by_the_steps_of_its_class(name: str) -> None:
    """From memory: OIML R 76, Class III in service, at a division of 0.05 kg: 1 up to 500, 2 up to 2,000, 3 above."""
    tolerance = rules_on(name, "2026-03-04").weight_tolerance
    kilo = Decimal(10**15)
    loads = [int(Decimal(kg) * kilo) for kg in ("25", "25.01", "100", "100.01")]
    assert [Decimal(tolerance.at(load)) / kilo for load in loads] == [
        Decimal(kg) for kg in ("0.05", "0.1", "0.1", "0.15")
    ]


def test_dimensional_weight_reached_all_zones_and_services_on_their_days() -> None:
    """PB 22509 (2018): zones 1 to 4, and Priority Mail Express, from 23 June 2019; zones 5 to 9 before."""
    sides, days = "12 x 12 x 14", ("2019-06-22", "2019-06-23")
    near = [postal(sides, 2, on, zone="1")["billable_pg"] // units.PG_PER_POUND for on in days]
    express = [postal(sides, 2, on, "Priority Mail Express")["billable_pg"] // units.PG_PER_POUND for on in days]
    assert near == express == [2, 13]
    assert load("us-postal").facts["dimensional_weight.only"][0].told["zones"] == ["5", "6", "7", "8", "9"]


def test_a_fees_table_still_goes_before_an_amount_that_is_not_known() -> None:
    """So a shop that knows what its balloon parcels paid gets its price."""
    parcels = table(parcel("40.01 x 10 x 13", 5, "2019-03-04", service="Priority Mail", zone="2"))
    priced = price(parcels, load("us-postal"), postal_prices(balloon=0)).iloc[0]
    assert priced["billable_pg"] == 20 * units.PG_PER_POUND
