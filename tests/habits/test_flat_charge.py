"""What buyers' payments leave, and flat charges: hand-worked, and the quantile's interval against a library."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import quantile_test

from auditor.core.schemas import CARTONS, FLAT_CHARGES, LINES, SHIPMENTS, Column, conform, empty, rows
from auditor.habits.flat_charge import (
    flat_charges,
    left_over,
    parcel_costs,
    parcels_needed,
    quantile,
    sentences,
    with_charge,
)
from tests.parcels import inches, pounds


def shipment(
    number: int, paid: int | None, *, zone: str = "5", carton: str = "stand tube", **more: object
) -> dict[str, object]:
    """A recorded parcel, 44 x 6 x 6 in."""
    sides = {"length_nm": inches(44), "width_nm": inches(6), "height_nm": inches(6), "weight_pg": pounds(5)}
    row = {
        "tracking": f"NP{number}",
        "carton": carton,
        "zone": zone,
        "shipped_on": "2026-03-02",
        "buyer_paid_cents": paid,
    }
    return {**row, **sides, **more}


def line(of: int, state: str, cents: int) -> dict[str, object]:
    """A statement line of the parcel in that row."""
    return {"shipment": of, "state": state, "amount_cents": cents}


def costs(
    shipments: list[dict[str, object]], lines: list[dict[str, object]], unit_cost: int | None = 385
) -> pd.DataFrame:
    """The costs of parcels of a carton of that price."""
    joined = (*LINES, Column("shipment", "Int64", "row of the shipments"))
    cartons = pd.DataFrame([shipment(0, None) | {"carton": "Stand  Tube", "unit_cost_cents": unit_cost}])
    return parcel_costs(
        conform(pd.DataFrame(shipments), SHIPMENTS), conform(pd.DataFrame(lines), joined), conform(cartons, CARTONS)
    )


SOLD = [
    shipment(1, 1800),
    shipment(2, 1800, zone="8", carton="stand-tube"),
    shipment(3, 1800, label_cost_cents=1400, shipped_on="2026-04-01"),
    shipment(4, 1800, voided=True),
    shipment(5, None),
    shipment(6, 1800),
]
BILLED = [
    line(0, "label charge", 1200),
    line(0, "label charge", 180),
    line(1, "label charge", 1600),
    line(1, "adjustment", 900),
    line(1, "credit", -100),
    line(1, "fee", 125),
    line(4, "label charge", 1200),
]


def test_what_is_left_is_the_payment_less_label_carton_fees_and_back_charges() -> None:
    """1,800 − (1,200 + 180) − 385 = 35; 1,800 − 1,600 − 385 − 125 − (900 − 100) = −1,110; 1,800 − 1,400 − 385 = 15.

    The voided label and the parcel without a payment are left out; the one without any label cost has no result.
    """
    found = costs(SOLD, BILLED)
    assert found["tracking"].tolist() == ["NP1", "NP2", "NP3", "NP6"]
    assert found["left_cents"].fillna(99).tolist() == [35, -1110, 15, 99]
    assert found["back_charge_cents"].tolist() == [0, 800, 0, 0]


def test_left_over_adds_up_by_carton_zone_and_month() -> None:
    """35 − 1,110 + 15 = −1,060 over three parcels, one at a loss; zone 8 has that one."""
    left = left_over(costs(SOLD, BILLED))
    by = {(row["by"], row["group"]): row for row in rows(left)}
    assert by["all", "all"]["left_cents"] == -1060
    assert [by["zone", "8"][name] for name in ("parcels", "left_cents", "losing")] == [1, -1110, 1]
    assert by["month", "2026-04"]["left_cents"] == 15
    assert set(left.groupby("by")["left_cents"].sum()) == {-1060}
    assert ("carton", "Stand  Tube") in by, "two spellings, one carton, called as in the list"


def test_a_carton_without_a_price_counts_as_nothing_and_is_counted() -> None:
    """And is told."""
    left = left_over(costs(SOLD, BILLED, unit_cost=None))
    assert [rows(left)[0][name] for name in ("left_cents", "carton_unknown")] == [-1060 + 3 * 385, 3]
    told = list(sentences(left, empty(FLAT_CHARGES)))
    assert "The carton's price is not known for 3 of them and counts as nothing." in told


@pytest.mark.filterwarnings("error")
def test_parcels_without_a_size_are_known_by_the_carton_that_is_recorded() -> None:
    """So that none is in a group of its size; a carton that is not recorded either stays missing."""
    unsized: dict[str, object] = dict.fromkeys(["length_nm", "width_nm", "height_nm"])
    found = costs([shipment(1, 2500) | unsized, shipment(2, 2500) | unsized | {"carton": None}], [])
    assert found["carton"].isna().tolist() == [False, True]
    assert found["carton_cents"].tolist() == [385, pd.NA]


def test_flat_charges_are_hand_worked() -> None:
    """Costs 1,765, 2,910 and 1,785: 2,910 covers 90 % of three; 6,460 / 3 = 2,153.33, so 2,154 breaks even.

    At 2,910 each 2,270 is left; with label and carton paid as they came, −(125 + 800).
    """
    flat = flat_charges(costs(SOLD, BILLED), 0.9).set_index("by").loc["all"]
    assert [flat["covers_cents"], flat["break_even_cents"]] == [2910, 2154]
    assert [flat["left_now_cents"], flat["left_flat_cents"], flat["left_calculated_cents"]] == [-1060, 2270, -925]
    assert pd.isna(flat["covers_high_cents"])
    assert flat["needed"] == 29


def test_flat_charges_stand_by_carton_zone_and_month_too() -> None:
    """Zone 8 has the parcel that cost 2,910, April the one that cost 1,785."""
    flat = flat_charges(costs(SOLD, BILLED), 0.9).set_index(["by", "group"])
    assert flat.loc[("zone", "8"), "break_even_cents"] == 2910
    assert flat.loc[("month", "2026-04"), "covers_cents"] == 1785
    assert flat.groupby("by")["parcels"].sum().to_dict() == {"all": 3, "carton": 3, "zone": 3, "month": 3}


def test_a_flat_charge_of_ones_own_is_held_against_the_costs() -> None:
    """3 × 2,000 − 6,460 = −460; it covers the two that cost less."""
    words = with_charge(costs(SOLD, BILLED), 2000)
    assert words == "A flat charge of $20.00 would have lost $4.60 over 3 parcels, and covered 2 of them (67%)."


def test_what_cannot_be_said_with_three_parcels_is_said() -> None:
    """How many it takes."""
    found = costs(SOLD, BILLED)
    told = " ".join(sentences(left_over(found), flat_charges(found, 0.9)))
    assert "These zones lose money: $11.10 in zone 8." in told
    assert "a flat charge of $29.10 covered 90% of them (how much higher it should be cannot be said yet" in told
    assert "that takes 29 parcels" in told
    assert "do not say how many buyers a higher charge would turn away" in told


def test_without_any_payment_the_missing_column_is_named() -> None:
    """Not a table of nothing."""
    found = costs([shipment(1, None)], [])
    (words,) = sentences(left_over(found), flat_charges(found, 0.9))
    assert "Add a column 'Shipping paid' to your shipping records and run again." in words
    assert with_charge(found, 2000).startswith("No parcel has both a payment and a label cost")


RADIO_TUBES = (469, 472, 491, 565, 568, 592, 599, 632, 633, 634, 637, 641, 671, 677, 733, 785)


def test_the_interval_of_a_quantile_never_covers_less_than_it_says() -> None:
    """Conover's sixteen tubes and their upper quartile (data as in the documentation of R's rcompanion, quantileCI).

    Of the ranks 9 and 15, 63.3 and 73.3 h, the lower end leaves out 2.7 %
    and the upper one 6.4 % (binomial, 16 and 0.75): more than 5 %, so the upper end here is rank 16, 78.5 h.
    """
    assert quantile(np.array(RADIO_TUBES), 0.75)[1:] == (633, 785)


@pytest.mark.parametrize("share", [0.5, 0.75, 0.8, 0.9, 0.95])
@pytest.mark.parametrize("count", [1, 5, 16, 28, 29, 59, 300])
def test_the_interval_of_a_quantile_is_that_of_scipy(count: int, share: float) -> None:
    """`scipy.stats.quantile_test`, an implementation of its own, gives the same order statistics."""
    values = np.random.default_rng(count).integers(0, 10_000, count)
    theirs = quantile_test(values, p=share).confidence_interval(0.9)
    expected = tuple(None if np.isnan(end) else int(end) for end in theirs)
    assert quantile(values, share)[1:] == expected


@given(st.lists(st.integers(0, 10**6), min_size=1, max_size=60), st.sampled_from([0.1, 0.5, 0.8, 0.9, 0.95]))
@settings(max_examples=50)
def test_the_quantile_is_the_least_that_covers_the_share(values: list[int], share: float) -> None:
    """Counted one by one."""
    middle, low, high = quantile(np.array(values), share)
    assert sum(value <= middle for value in values) >= share * len(values) - 1e-9
    assert sum(value < middle for value in values) < share * len(values)
    assert (low is None or low <= middle) and (high is None or middle <= high)  # noqa: PT018 - one statement


def test_the_interval_covers_the_true_quantile_nine_times_in_ten() -> None:
    """Of an exponential distribution, whose 0.9 quantile is ln 10: at least 90 % of 500 samples of 60."""
    rng = np.random.default_rng(7)
    true = np.log(10) * 1000
    covered = 0
    for _ in range(500):
        _, low, high = quantile((rng.exponential(size=60) * 1000).astype(np.int64), 0.9)
        covered += bool(low is not None and high is not None and low <= true <= high)
    assert 0.89 <= covered / 500 <= 0.99


def test_so_many_parcels_are_needed_for_an_upper_end() -> None:
    """0.9^28 = 0.0523 is over 5 %, 0.9^29 = 0.0471 is not; 0.95^59 = 0.0485."""
    assert [parcels_needed(0.9), parcels_needed(0.95)] == [29, 59]
