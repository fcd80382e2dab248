"""What is thought of readings before many are seen, integrated a second time: other points, scipy's densities."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd
import pytest
from scipy.special import roots_legendre
from scipy.stats import gamma, norm

from auditor.core.units import NM_PER_INCH
from auditor.habits.readings.excess import Excess, Seen, ends, fitted

Floats = npt.NDArray[np.float64]

DRAWS = 20_000
FEW = {"a": ((0.25, 0.25), (0.5, 0.5), (0.0, 1.0)), "b": ((-np.inf, 0.5), (1.0, 2.0))}
"""The bounds of a few parcels of two cartons, inches: so few that what is thought beforehand decides."""


class Points(NamedTuple):
    """Where an integral is taken, and what each point stands for."""

    place: Floats
    weight: Floats

    @classmethod
    def over(cls, low: float, high: float, count: int = 120) -> Points:
        """Gauss and Legendre's points."""
        at, weight = roots_legendre(count)
        return cls((at + 1) / 2 * (high - low) + low, weight * (high - low) / 2)


MEAN, SPREAD = Points.over(-6, 6, 240), Points.over(np.log(0.02), np.log(8))
MIDDLE, DEVIATION, MIDDLE_SPREAD = Points.over(-5, 5), Points.over(0.05, 4, 60), Points.over(-3, 1.5, 60)


@dataclass(frozen=True)
class Plain:
    """The chances of a few cartons' means and log spreads, reckoned point by point.

    The cartons' means are normal about a middle (normal, within a scale of nothing) with a deviation (gamma of shape 2
    and scale 0.2, between 0.05 and 4); the logarithms of their spreads normal about a middle (normal about log 0.4 with
    deviation 1, from -3 to 1.5) with deviation 0.35.
    """

    of_mean: Floats
    of_spread: Floats

    @classmethod
    def beforehand(cls) -> Plain:
        """The density of a carton's mean for each middle and deviation, and of its log spread for each middle."""
        of_mean = norm.pdf(MEAN.place, MIDDLE.place[:, None, None], DEVIATION.place[:, None])
        return cls(of_mean, norm.pdf(SPREAD.place, MIDDLE_SPREAD.place[:, None], 0.35))

    def shop(self, likelihoods: list[Floats]) -> Floats:
        """The chance of each (middle, deviation, middle of log spreads)."""
        chance = np.multiply.outer(
            np.outer(
                norm.pdf(MIDDLE.place) * MIDDLE.weight, gamma.pdf(DEVIATION.place, 2, scale=0.2) * DEVIATION.weight
            ),
            norm.pdf(MIDDLE_SPREAD.place, np.log(0.4)) * MIDDLE_SPREAD.weight,
        )
        for likelihood in likelihoods:
            chance = chance * ((self.of_mean * MEAN.weight) @ likelihood @ (self.of_spread * SPREAD.weight).T)
        return np.asarray(chance / chance.sum())

    def carton(self, likelihood: Floats, shop: Floats) -> Floats:
        """The chance of each mean and log spread of a carton, given what the others say of the shop."""
        flat = self.of_mean.reshape(-1, len(MEAN.place)).T @ shop.reshape(-1, len(MIDDLE_SPREAD.place)) @ self.of_spread
        chance = flat * likelihood * np.outer(MEAN.weight, SPREAD.weight)
        return np.asarray(chance / chance.sum())


def likelihood_of(bounds: tuple[tuple[float, float], ...]) -> Floats:
    """Of a carton's parcels at every mean and spread: densities of exact readings, chances of the others."""
    mean, spread = MEAN.place[:, None], np.exp(SPREAD.place)
    found = np.ones((len(MEAN.place), len(SPREAD.place)))
    for low, high in bounds:
        found = found * (
            norm.pdf(low, mean, spread) if low == high else norm.cdf(high, mean, spread) - norm.cdf(low, mean, spread)
        )
    return found


def table(of: dict[str, tuple[tuple[float, float], ...]]) -> pd.DataFrame:
    """Bounds as `fitted` takes them."""
    rows = [(carton, low * NM_PER_INCH, high * NM_PER_INCH) for carton, own in of.items() for low, high in own]
    return pd.DataFrame(rows, columns=["carton", "low", "high"])


def assert_alike(draws: Floats, at: Floats, chance: Floats) -> None:
    """Of the draws as many lie below each of some points as the chances say, to two in a hundred."""
    upto = np.cumsum(chance)
    for share in (0.05, 0.25, 0.5, 0.75, 0.95):
        value = float(np.interp(share, upto - chance / 2, at))
        assert float((draws < value).mean()) == pytest.approx(share, abs=0.02)


def assert_fits(one: Excess, chance: Floats) -> None:
    """Means and spreads alike."""
    assert_alike(one.mean / NM_PER_INCH, MEAN.place, chance.sum(axis=1))
    assert_alike(np.log(one.spread / NM_PER_INCH), SPREAD.place, chance.sum(axis=0))


def test_few_parcels_of_two_cartons_are_weighed_with_what_is_thought_beforehand() -> None:
    """Each carton's own, and any other carton of that shop, of which nothing is seen."""
    plain, said = Plain.beforehand(), {carton: likelihood_of(bounds) for carton, bounds in FEW.items()}
    fit = fitted(table(FEW), NM_PER_INCH, draws=DRAWS)
    assert fit is not None
    assert_fits(fit.of_carton["a"], plain.carton(said["a"], plain.shop([said["b"]])))
    assert_fits(fit.of_carton["b"], plain.carton(said["b"], plain.shop([said["a"]])))
    assert_fits(fit.shop, plain.carton(np.ones_like(said["a"]), plain.shop([*said.values()])))


def test_a_carton_without_a_reading_is_weighed_so_too() -> None:
    """One parcel that stayed an inch below what was declared."""
    plain, bounds = Plain.beforehand(), ((-np.inf, -1.0),)
    fit = fitted(table({"a": bounds}), NM_PER_INCH, draws=DRAWS)
    assert fit is not None
    assert_fits(fit.of_carton["a"], plain.carton(likelihood_of(bounds), plain.shop([])))


def test_a_carton_read_far_out_is_within_reach() -> None:
    """Thirty inches beyond what was declared, among cartons that are read as they should be."""
    near = {f"carton {number}": tuple((0.01 * n, 0.01 * n) for n in range(20)) for number in range(3)}
    fit = fitted(table(near | {"far": tuple((30 + 0.1 * n, 30 + 0.1 * n) for n in range(-9, 10))}), NM_PER_INCH)
    assert fit is not None
    assert fit.of_carton["far"].mean.mean() / NM_PER_INCH == pytest.approx(30, abs=0.5)
    assert fit.of_carton["carton 1"].mean.mean() / NM_PER_INCH == pytest.approx(0.095, abs=0.05)


def test_a_reading_far_below_is_within_reach_too() -> None:
    """By intervals: all between 20 and 21 inches less."""
    fit = fitted(table({"near": ((0.0, 0.0),) * 40, "far": ((-21.0, -20.0),) * 30}), NM_PER_INCH)
    assert fit is not None
    assert fit.of_carton["far"].mean.mean() / NM_PER_INCH == pytest.approx(-20.5, abs=0.3)


def test_readings_larger_than_thought_raise_the_scale() -> None:
    """To the median of what was read; nothing seen, or less, leaves it."""
    for read, scale in ((5.0, 5.0), (0.5, 1.0)):
        seen = Seen.of(table({"a": ((read, read), (-np.inf, 0.0), (read, read))}), NM_PER_INCH)
        assert seen is not None
        assert seen.scale == pytest.approx(scale * NM_PER_INCH)


def test_bounds_closer_than_a_sixty_fourth_of_an_inch_are_one_kind() -> None:
    """Further apart they are two; one that is narrower than that is no exact reading and keeps some width."""
    for apart, kinds in ((1 / 200, 1), (1 / 50, 2)):
        seen = Seen.of(table({"a": ((0.0, 1.0), (0.0, 1.0 + apart))}), NM_PER_INCH)
        assert seen is not None
        assert len(seen.count) == kinds
    narrow = Seen.of(table({"a": ((0.5, 0.5001), (0.0, 1.0))}), NM_PER_INCH)
    assert narrow is not None
    assert (narrow.high - narrow.low).min() == 1 / 64


def test_from_five_parcels_on_a_carton_has_a_history_of_its_own() -> None:
    """Four lean on the shop's."""
    fit = fitted(table({"four": ((0.1, 0.1),) * 4, "five": ((0.1, 0.1),) * 5}), NM_PER_INCH)
    assert fit is not None
    assert fit.of_carton["four"].basis == "shop's history"
    assert fit.of_carton["five"].basis == "own history"


def test_the_ends_leave_a_twentieth_of_the_truth_on_either_side() -> None:
    """Of 99 draws the fifth and the fifth from the end: between them the truth lies nine times in ten."""
    assert ends(np.arange(1.0, 100.0)).tolist() == pytest.approx([5.0, 95.0])


def test_what_is_next_to_impossible_stays_finite() -> None:
    """Readings forty spreads apart."""
    fit = fitted(table({"a": ((0.0, 0.0),) * 30, "b": ((0.0, 0.01),) * 30 + ((6.0, 7.0),)}), NM_PER_INCH)
    assert fit is not None
    assert all(np.isfinite(one.mean).all() and (one.spread > 0).all() for one in fit.of_carton.values())
