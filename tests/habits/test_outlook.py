"""What to expect of parcels: held against readings drawn one by one, and against hand-worked chances."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm

from auditor.habits.outlook import Outlook, outlook
from auditor.habits.readings.excess import Excess, ends
from auditor.habits.readings.tolerance import by_tolerance
from auditor.tariff import Rulebook, load, opened, price
from tests.parcels import inches, parcel, pounds, prices, table

BOOK = opened("us-ground-common")
FEE_CENTS = 125


def excess(length: tuple[float, float], other: tuple[float, float], weight: tuple[float, float]) -> dict[str, Excess]:
    """Mean and spread of each figure's excess, in inches and pounds, known exactly."""
    by_figure = {"length_nm": length, "width_nm": other, "height_nm": other}
    made = {figure: _one(*known, unit=inches(1)) for figure, known in by_figure.items()}
    return made | {"weight_pg": _one(*weight, unit=pounds(1))}


def _one(mean: float, spread: float, unit: int) -> Excess:
    return Excess(np.array([mean * unit]), np.array([spread * unit]), 0, 0, "own history")


def drawn(
    declared: pd.DataFrame, of: Mapping[str, Excess], readings: int, book: Rulebook = BOOK
) -> tuple[float, float]:
    """Share back-charged and mean back-charge of a parcel, from so many readings drawn one by one."""
    rng = np.random.default_rng(20260704)
    read = declared.loc[declared.index.repeat(readings)].reset_index(drop=True)
    for figure, one in of.items():
        beyond = rng.normal(one.mean[0], one.spread[0], readings).astype(np.int64)
        read[figure] = (read[figure].astype("int64") + beyond).clip(lower=1)
    before = int(price(declared, book, prices())["total_cents"].iloc[0])
    more = price(read, book, prices())["total_cents"].to_numpy(dtype=np.int64) - before
    fee = FEE_CENTS if book is BOOK else 0
    return float((more > 0).mean()), float(np.where(more > 0, more + fee, 0).mean())


@pytest.mark.parametrize(
    ("sides", "weight", "of"),
    [
        ("48 x 20 x 8", "14", excess((0.3, 0.4), (0.0, 0.2), (-0.5, 0.4))),
        ("47.5 x 6 x 6", "4.9", excess((0.2, 0.3), (0.1, 0.3), (0.0, 0.3))),
        ("28 x 12 x 6", "5", excess((0.0, 0.125), (0.6, 0.5), (0.0, 1.5))),
        ("12 x 10 x 8", "49.5", excess((0.0, 0.1), (0.0, 0.1), (0.2, 0.6))),
    ],
)
def test_chance_and_cents_are_those_of_readings_drawn_one_by_one(
    sides: str, weight: str, of: dict[str, Excess]
) -> None:
    """Within four standard errors of 60,000 readings."""
    declared = table(parcel(sides, weight))
    seen = outlook(declared, of, BOOK, prices()).table(declared.index).iloc[0]
    share, cents = drawn(declared, of, 60_000)
    assert seen["chance"] == pytest.approx(share, abs=4 * (0.25 / 60_000) ** 0.5)
    assert seen["cents"] == pytest.approx(cents, rel=0.02, abs=0.5)


def test_a_parcel_at_a_limit_is_back_charged_as_often_as_it_is_read_longer() -> None:
    """48 in over a limit of 48 in with sides rounded up: any excess at all passes it; by hand Φ(0.3/0.4)."""
    of = excess((0.3, 0.4), (0.0, 0.0001), (-0.5, 0.0001))
    seen = outlook(table(parcel("48 x 19.5 x 7.5", 14)), of, BOOK, prices())
    assert float(seen.chance[0, 0]) == pytest.approx(norm.cdf(0.75), abs=1e-6)


def test_the_interval_is_that_of_the_draws() -> None:
    """Two draws of a mean give two chances, and the mean of both."""
    of = excess((0.3, 0.4), (0.0, 0.0001), (-0.5, 0.0001))
    of |= {"length_nm": Excess(np.array([-0.3, 0.3]) * inches(1), np.full(2, 0.4) * inches(1), 9, 4, "own history")}
    seen = outlook(table(parcel("48 x 19.5 x 7.5", 14)), of, BOOK, prices())
    chances = norm.cdf([-0.75, 0.75])
    np.testing.assert_allclose(seen.chance[0], chances, atol=1e-6)
    row = seen.table(pd.RangeIndex(1)).iloc[0]
    assert row["chance"] == pytest.approx(0.5, abs=1e-6)
    assert row["chance_low"] == pytest.approx(chances[0], abs=1e-6)


def test_the_ends_of_an_interval_leave_a_tenth_of_what_may_come_outside() -> None:
    """Of 99 draws the 5th and the 95th: the i-th of n stands for i / (n + 1)."""
    low, high = ends(np.arange(1.0, 100.0))
    assert (low, high) == pytest.approx((5, 95))


def test_device_tolerance_alone_says_that_nothing_is_known_of_the_carton() -> None:
    """And counts a tolerance as two standard deviations."""
    rules = BOOK.on("Ground", pd.Timestamp("2026-03-04").date())
    assert rules is not None
    declared = table(parcel("47.75 x 19.5 x 7.5", "13.8"))
    of = by_tolerance(rules, declared["weight_pg"])
    assert {one.basis for one in of.values()} == {"device tolerance"}
    assert of["length_nm"].spread[0] == inches("0.125")
    seen = outlook(declared, of, BOOK, prices())
    over_length, over_others = norm.sf(0.25 / 0.125), norm.sf(0.5 / 0.125)
    assert float(seen.chance[0, 0]) == pytest.approx(1 - (1 - over_length) * (1 - over_others) ** 2, abs=1e-6)


def test_equal_parcels_are_reckoned_once_and_told_of_each() -> None:
    """Days under the same rules, fees and fuel percentage are equal too."""
    declared = table(*[parcel("48 x 20 x 8", 14, on=day) for day in ("2026-03-04", "2026-03-05", "2026-03-04")])
    seen = outlook(declared, excess((0.3, 0.4), (0.0, 0.1), (0.0, 0.1)), BOOK, prices())
    assert len(seen.cents) == 1
    assert len(seen.table(declared.index)) == len(declared)
    assert seen.total_cents()[0] == pytest.approx(3 * seen.cents[0, 0])


def test_a_parcel_without_a_price_has_no_outlook() -> None:
    """And is left out of sums."""
    declared = table(parcel("48 x 20 x 8", 14), parcel("48 x 20 x 8", 14, zone="44"))
    seen: Outlook = outlook(declared, excess((0.3, 0.4), (0.0, 0.1), (0.0, 0.1)), BOOK, prices())
    shown = seen.table(declared.index)
    assert shown["chance"].isna().tolist() == [False, True]
    assert seen.total_cents()[0] == pytest.approx(shown["cents"].iloc[0])


def test_a_reading_that_would_not_have_been_taken_counts_as_a_back_charge() -> None:
    """Of 108 in, over which a parcel is not accepted; its amount is at least the dearest other one."""
    of = excess((0.5, 0.1), (0.0, 0.0001), (-0.5, 0.0001))
    seen = outlook(table(parcel("108 x 9.5 x 9.5", 14)), of, BOOK, prices())
    assert float(seen.chance[0, 0]) == pytest.approx(1, abs=1e-4)


@pytest.mark.parametrize("name", ["us-postal", "air-iata", "express-volumetric"])
def test_every_kind_of_rounding_is_reckoned_with(name: str) -> None:
    """Sides up or to the nearest, inches and centimetres; weights in ounces below a pound, in half kilograms."""
    book = Rulebook(load(name))
    of = excess((0.3, 0.4), (0.1, 0.3), (0.0, 0.3))
    for sides, weight in (("18 x 10 x 8", 9), ("10 x 8 x 4", "0.8")):
        declared = table(parcel(sides, weight))
        seen = outlook(declared, of, book, prices())
        share, cents = drawn(declared, of, 60_000, book)
        assert float(seen.chance[0, 0]) == pytest.approx(share, abs=4 * (0.25 / 60_000) ** 0.5)
        assert float(seen.cents[0, 0]) == pytest.approx(cents, rel=0.02, abs=0.5)
