"""How far to cut a carton: held against hand-worked chances and prices."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm

from auditor.habits.advice.best import about_length, on_tape, saved
from auditor.habits.advice.trims import cuts, safe, some_of, worthwhile
from auditor.habits.readings.excess import Excess
from auditor.habits.readings.lot import Lot
from auditor.tariff import opened, price
from tests.habits.test_outlook import excess
from tests.parcels import inches, parcel, prices, table

BOOK = opened("us-ground-common")
OF = excess((0.5, 0.25), (-0.6, 0.1), (-0.6, 0.2))


def cut(
    parcels: pd.DataFrame, of: dict[str, Excess], a_month: int, side: str = "length_nm", unit: str = "in"
) -> pd.DataFrame:
    """HABIT_CUTS of some parcels."""
    return cuts(Lot.of(parcels, BOOK, prices())[0], of, side, int(parcels[side].mode().iloc[0]), unit, a_month)


def of_length(sides: str, weight: int = 14, parcels: int = 3, of: dict[str, Excess] = OF) -> pd.DataFrame:
    """HABIT_CUTS of some equal parcels a month."""
    return cut(table(*[parcel(sides, weight)] * parcels), of, parcels)


def test_the_chance_at_each_length_is_that_of_a_reading_over_the_next_step() -> None:
    """By hand: cut to 47½ in, the next step begins at 48 in: Φ((0.5 − 0.5) / 0.25) of readings lie over it."""
    found = of_length("48 x 20 x 8").set_index("cut_to_nm")
    for length, room in ((48, 0), (47.75, 0.25), (47.5, 0.5), (47.25, 0.75), (47, 0)):
        row = found.loc[round(length * inches(1))]
        assert row["any_chance"] == pytest.approx(norm.sf((room - 0.5) / 0.25), abs=1e-6)


def test_the_chance_that_counts_is_that_of_a_costly_back_charge() -> None:
    """A pound more costs about a dollar, handling over 48 in more than thirty: from 47 in there is an inch to that."""
    found = of_length("48 x 20 x 8").set_index("cut_to_nm")["chance"]
    for length in (48, 47.75, 47, 46.5):
        assert found[round(length * inches(1))] == pytest.approx(norm.sf((48 - length - 0.5) / 0.25), abs=1e-6)


def test_the_longest_length_under_the_chosen_chance_is_safe() -> None:
    """With 0.9 in to spare of a mean of 0.5 and a spread of 0.25 it would be 5.5 %; the tape has quarter inches."""
    found = of_length("48 x 20 x 8", of=excess((0.1, 0.25), (-0.6, 0.1), (-0.6, 0.2)))
    row = safe(found, 0.02)
    assert row is not None
    assert int(row["cut_to_nm"]) == round(47.25 * inches(1))
    assert row["chance"] == pytest.approx(norm.sf(0.65 / 0.25), abs=1e-6)
    assert safe(found.assign(chance=0.5), 0.02) is None


def test_a_parcel_costs_its_declared_charge_and_its_back_charges() -> None:
    """At 47 in nothing else can happen but that it is read at 48 in: its charge and the chance of the difference."""
    of = excess((0.5, 0.0001), (-0.6, 0.0001), (-0.6, 0.0001))
    row = of_length("47 x 20 x 8", of=of).iloc[0]
    at_47, at_48 = (
        int(price(table(parcel(f"{length} x 20 x 8", 14)), BOOK, prices())["total_cents"].iloc[0])
        for length in (47, 48)
    )
    assert row["any_chance"] == pytest.approx(1)
    assert row["parcel_cents"] == at_47 + (at_48 - at_47) + 125


def test_savings_are_of_a_month() -> None:
    """Three parcels a month save thrice what one does."""
    one, three = (of_length("48 x 20 x 8", parcels=number) for number in (1, 3))
    np.testing.assert_allclose(three["saving_cents"].astype(float), 3 * one["saving_cents"].astype(float), atol=3)


def test_a_parcel_shorter_already_is_not_cut() -> None:
    """Cut to 47 in, a parcel of 46 in stays one of 46 in."""
    mixed = table(*[parcel("48 x 20 x 8", 14)] * 2, parcel("46 x 20 x 8", 14))
    found = cut(mixed, OF, 3)
    least = found[found["cut_to_nm"] == inches(46)]["lighter"].iloc[0]
    assert least == pytest.approx(2 / 3)


def test_half_an_inch_off_the_height_that_saves_a_pound_is_found() -> None:
    """12 × 10 × 8½ in is billed as 9 in high: 8 lb by size; at 8 in 7 lb, and both are more than it weighs."""
    of = excess((-0.6, 0.1), (-0.3, 0.05), (-0.6, 0.2))
    of |= {"width_nm": Excess(np.array([-0.6 * inches(1)]), np.array([0.1 * inches(1)]), 0, 0, "own history")}
    found = cut(table(*[parcel("12 x 10 x 8.5", 3)] * 4), of, 4, side="height_nm")
    row = worthwhile(found)
    assert row is not None
    assert int(row["cut_to_nm"]) == inches(8)
    assert row["lighter"] == 1


def test_metric_cuts_go_by_half_centimetres() -> None:
    """From 118.3 cm down: 118 cm, 117.5 cm, and so on."""
    parcels = table(parcel("48 x 20 x 8", 14)).assign(length_nm=1_183_000_000)
    found = cut(parcels, OF, 1, unit="cm")["cut_to_nm"].tolist()
    assert found[:3] == [1_183_000_000, 1_180_000_000, 1_175_000_000]


def test_the_sentence_about_a_cut() -> None:
    """It has the length on the tape, the condition, the dollars with their interval, and the chance."""
    said = about_length(of_length("48 x 20 x 8", of=excess((0.1, 0.25), (-0.6, 0.1), (-0.6, 0.2))), "in", 0.02)
    assert str(said["sentence"]).startswith("cut to 47¼ in, if what you pack leaves half an inch of air: about $")
    assert "that side then costs over $5 in back-charges next to never instead of 66% of the time" in str(
        said["sentence"]
    )


def test_the_sentence_where_no_cut_is_needed() -> None:
    """Then no cut is advised."""
    said = about_length(of_length("48 x 20 x 8", of=excess((-0.6, 0.1), (-0.6, 0.1), (-0.6, 0.2))), "in", 0.02)
    assert said["sentence"] == "no need to cut: at 48 in its length costs over $5 in back-charges next to never"


def test_amounts_and_lengths_in_words() -> None:
    """Quarter inches as people write them; estimates in whole dollars above ten of them."""
    assert on_tape(round(46.5 * inches(1)), "in") == "46½ in"
    assert on_tape(inches("46.3"), "in") == "46.3 in"
    assert on_tape(1_180_000_000, "cm") == "118 cm"
    assert saved(3_120, 1_180, 5_530) == "about $31 a month less (range $12 to $55)"
    assert saved(-460, -1_250, 120) == "about $4.60 a month more (range −$1.20 to $12)"


def test_a_sample_stands_for_all_of_a_carton_evenly_over_time() -> None:
    """Every parcel where there are few."""
    days = pd.date_range("2026-01-01", periods=100)
    parcels = pd.DataFrame({"shipped_on": days})
    assert len(some_of(parcels.head(7))) == 7
    picked = some_of(parcels)["shipped_on"]
    assert (picked.min(), picked.max()) == (days[0], days[-1])
