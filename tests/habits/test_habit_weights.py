"""The default weight of a carton: held against a published example, and against every default tried by hand."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm

from auditor.habits.advice.best import about_weight
from auditor.habits.advice.weights import Default, Typed, beyond_default, critical_ratio, default_of, defaults
from auditor.habits.readings.excess import Excess
from auditor.tariff import opened
from auditor.tariff.price import price
from tests.parcels import parcel, pounds, prices, table

BOOK = opened("us-ground-common")
RULES = BOOK.on("Ground", pd.Timestamp("2026-03-04").date())


def known(mean: float, spread: float) -> Excess:
    """Weights beyond the default, pounds, known exactly."""
    return Excess(np.array([mean * pounds(1)]), np.array([spread * pounds(1)]), 50, 20, "own history")


def of_pedal_box(
    mean: float, spread: float, typed: int = 9, packed: list[float] | None = None, cover: float = 0.9
) -> Default:
    """Ten parcels a month typed at `typed` pounds."""
    assert RULES is not None
    parcels = table(*[parcel("12 x 10 x 8", typed)] * 10)
    weighed = pd.Series([round(weight * pounds(1)) for weight in packed or []], dtype="Int64")
    beyond = known(mean, spread)
    return defaults(Typed(parcels, pounds(typed), beyond, weighed, 10), RULES, BOOK, prices(), cover=cover)


def test_the_newsvendors_share() -> None:
    """S. Nahmias, Production and Operations Analysis, the newsstand of the chapter on uncertain demand (from memory).

    Short 50 cents, over 15 cents: a ratio of 0.77; demand is normal, mean 11.73, deviation 4.74: stock 15.24, so 15.
    """
    ratio = critical_ratio(50, 15)
    assert round(ratio, 2) == 0.77
    assert round(11.73 + 4.74 * norm.ppf(ratio)) == 15


def test_the_cost_of_every_default_is_that_of_weights_drawn_one_by_one() -> None:
    """For 9 lb and 11 lb typed, 200,000 weights around 9.3 lb."""
    found = of_pedal_box(0.3, 1.2).table.set_index("weight_pg")["parcel_cents"]
    rng = np.random.default_rng(7)
    read = table(parcel("12 x 10 x 8", 9)).loc[[0] * 200_000].reset_index(drop=True)
    read["weight_pg"] = (rng.normal(9.3, 1.2, 200_000).clip(0.1) * pounds(1)).astype(np.int64)
    charges = price(read, BOOK, prices())["total_cents"].to_numpy(dtype=np.int64)
    for typed in (9, 11):
        declared = int(price(table(parcel("12 x 10 x 8", typed)), BOOK, prices())["total_cents"].iloc[0])
        cost = np.where(charges > declared, charges + 125, declared).mean()
        assert found[pounds(typed)] == pytest.approx(cost, abs=1)


def test_the_default_covers_the_share_chosen() -> None:
    """Of weights around 9.3 lb with a spread of 1.2 lb, 90 % are under 10.84 lb: so 11 lb."""
    found = of_pedal_box(0.3, 1.2)
    assert found.then_pg == pounds(11)
    [sentence, *_] = [said["sentence"] for said in about_weight(found, "in")]
    assert sentence.startswith("where you do not weigh, type 11 lb: it covers 90% of the parcels (9 lb covers 40%)")


def test_no_lighter_default_is_advised_on_what_was_never_weighed() -> None:
    """The carrier shows no weight below the typed one, so 9 lb is kept though 7 lb would seem to do."""
    assert of_pedal_box(-3, 0.5).then_pg == pounds(9)


def test_a_lighter_default_is_advised_where_the_sellers_scale_showed_it() -> None:
    """Twelve parcels of at most 6.4 lb; never below what was measured."""
    packed = [5.2, 5.6, 5.9, 6.1, 6.2, 6.4, 5.5, 5.8, 6.0, 6.3, 6.4, 6.4]
    found = of_pedal_box(-3.0, 0.3, packed=packed)
    assert found.then_pg == pounds(7)
    assert found.over.mean() > 0


def test_weighing_each_parcel_is_told_where_it_beats_any_default() -> None:
    """Weights that vary much: any default wastes postage or is corrected."""
    found = of_pedal_box(0.0, 3.0, typed=14)
    assert found.weighing_saving.mean() > found.saving.mean()
    assert "weighing each parcel beats any default: about $" in [*about_weight(found, "in")][-1]["sentence"]


def test_a_carton_billed_by_its_size_needs_no_other_weight() -> None:
    """A guitar box is billed at 56 lb whatever is typed."""
    assert RULES is not None
    parcels = table(*[parcel("48 x 20 x 8", 14)] * 10)
    none = pd.Series([], dtype="Int64")
    found = defaults(Typed(parcels, pounds(14), known(0.2, 1), none, 10), RULES, BOOK, prices(), cover=0.9)
    [said] = about_weight(found, "in")
    assert said["sentence"] == "its typed weight of 14 lb hardly matters: it is billed by its size"


def test_a_default_is_what_most_parcels_bear() -> None:
    """Half of them at least."""
    assert default_of(pd.DataFrame({"weight_pg": [5, 5, 3]})) == 5
    assert default_of(pd.DataFrame({"weight_pg": [5, 4, 3, 5, 2]})) is None


def test_the_sellers_scale_stands_where_the_carrier_shows_no_weight() -> None:
    """And the carrier's reading goes before it."""
    shown = pd.DataFrame({"carton": "pedal box", "low_weight_pg": [-np.inf, 10.0], "high_weight_pg": [9.0, 11.0]})
    found = beyond_default(shown, pd.Series([8.5, 8.5]), pd.Series([9, 9]))
    assert found[["low", "high"]].to_numpy().tolist() == [[-0.5, -0.5], [1.0, 2.0]]
