"""How far readings lie beyond the declared figure: held against a second library, published data and planted truth."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import CensoredData, norm

from auditor.habits.readings.excess import Seen, fitted
from auditor.habits.readings.likelihoods import Silence

INCH = 25_400_000.0

TOBIN = (0, 0.7, 0, 0, 0, 0, 0, 3.7, 0, 3.0, 10.4, 0, 0, 0, 1.5, 0, 0, 3.5, 6.1, 0)
"""Spending on durable goods, 13 of 20 censored at nothing: J. Tobin, Econometrica 26 (1958), 24-36, as it stands in the
data set tobin of R's package survival (data/tobin.txt)."""


def bounds(low: np.ndarray, high: np.ndarray, carton: str = "guitar box") -> pd.DataFrame:
    """Excesses of one carton between ends given in inches."""
    return pd.DataFrame({"carton": carton, "low": low * INCH, "high": high * INCH})


def likeliest(table: pd.DataFrame) -> tuple[float, float]:
    """Mean and spread by scipy's own censored fit, inches."""
    low, high = (table[end].to_numpy() / INCH for end in ("low", "high"))
    exact, below = low == high, np.isneginf(low)
    between = np.stack([low, high], axis=1)[~exact & ~below]
    data = CensoredData(uncensored=low[exact], left=high[below], interval=between if len(between) else None)
    mean, spread = norm.fit(data)
    return float(mean), float(spread)


def test_published_data_are_fitted_as_published() -> None:
    """R's survreg prints "Loglik(intercept only)= -29.5" for them (example of ?survreg); that is scipy's maximum too.

    With each value forty times over, the fit stands at that maximum.
    """
    values = np.array(TOBIN, dtype=float)
    low, high = np.where(values > 0, values, -np.inf), values
    mean, spread = likeliest(bounds(low, high))
    said = norm.logpdf(values[values > 0], mean, spread).sum() + 13 * norm.logcdf(0, mean, spread)
    assert round(said, 1) == -29.5
    many = fitted(bounds(np.tile(low, 40), np.tile(high, 40)), INCH)
    assert many is not None
    one = many.of_carton["guitar box"]
    assert one.mean.mean() / INCH == pytest.approx(mean, abs=0.5)
    assert one.spread.mean() / INCH == pytest.approx(spread, rel=0.05)


@pytest.mark.parametrize("seed", range(3))
def test_many_parcels_are_fitted_as_by_the_second_library(seed: int) -> None:
    """Exact, rounded and unseen readings together; the prior no longer matters."""
    beyond = np.random.default_rng(seed).normal(0.4, 0.5, 3000)
    seen, exact = beyond > 0, np.arange(3000) % 3 == 0
    high = np.where(seen, np.where(exact, beyond, np.ceil(beyond)), 0.0)
    low = np.where(seen, np.where(exact, beyond, np.ceil(beyond) - 1), -np.inf)
    fit = fitted(bounds(low, high), INCH)
    assert fit is not None
    one, (mean, spread) = fit.of_carton["guitar box"], likeliest(bounds(low, high))
    assert one.mean.mean() / INCH == pytest.approx(mean, abs=0.02)
    assert one.spread.mean() / INCH == pytest.approx(spread, abs=0.02)
    assert (one.parcels, one.measured, one.basis) == (3000, int(seen.sum()), "own history")


def test_the_average_of_the_readings_seen_would_mislead() -> None:
    """Only readings over the step are seen: their mean is 0.7 in though the scanner reads 0.1 in more."""
    beyond = np.random.default_rng(4).normal(0.1, 0.5, 400)
    seen = beyond > 0.25
    assert beyond[seen].mean() > 0.5
    fit = fitted(bounds(np.where(seen, beyond, -np.inf), np.where(seen, beyond, 0.25)), INCH)
    assert fit is not None
    low, high = np.quantile(fit.of_carton["guitar box"].mean / INCH, [0.05, 0.95])
    assert low < 0.1 < high


def test_a_carton_with_few_parcels_leans_on_the_others() -> None:
    """Three parcels read 1 in over, in a shop that is read 0.3 in over, are no carton read 1 in over for sure."""
    rng = np.random.default_rng(5)
    others = [bounds(beyond := rng.normal(0.3, 0.3, 200), beyond, f"carton {n}") for n in range(6)]
    few = bounds(np.full(3, 1.0), np.full(3, 1.0), "new carton")
    fit = fitted(pd.concat([*others, few]), INCH)
    alone = fitted(few, INCH)
    assert fit is not None
    assert alone is not None
    assert 0.4 < fit.of_carton["new carton"].mean.mean() / INCH < 0.98
    assert fit.of_carton["new carton"].basis == "shop's history"
    assert fit.shop.mean.mean() / INCH == pytest.approx(0.3, abs=0.12)


def test_without_any_reading_only_an_upper_bound_is_known() -> None:
    """The interval reaches far down, but not above what would have been seen."""
    fit = fitted(bounds(np.full(60, -np.inf), np.zeros(60)), INCH)
    assert fit is not None
    one = fit.of_carton["guitar box"]
    low, high = np.quantile(one.mean / INCH, [0.05, 0.95])
    assert one.measured == 0
    assert low < -1
    assert high < 0


def test_nothing_known_is_nothing_fitted() -> None:
    """Parcels whose charge no reading would raise say nothing."""
    assert fitted(bounds(np.full(9, -np.inf), np.full(9, np.inf)), INCH) is None


def test_a_silence_that_is_certain_is_the_same_as_a_bound() -> None:
    """No correction below a step for sure, and always above it: as if the reading were bounded by it."""
    rng = np.random.default_rng(6)
    beyond = rng.normal(0.2, 0.4, 300)
    seen = beyond > 0
    table = bounds(np.where(seen, np.ceil(beyond) - 1, -np.inf), np.where(seen, np.ceil(beyond), 0.0))
    quiet = Silence(np.array([[0.0]]), np.array([[[1.0], [0.0]]]), np.array([float((~seen).sum())]))
    told = Seen.of(table, INCH)
    assert told is not None
    one, other = told.fit(seed=1), told.fit({"guitar box": [quiet]}, seed=1)
    assert other.of_carton["guitar box"].mean.mean() == pytest.approx(one.of_carton["guitar box"].mean.mean(), rel=0.05)


def test_the_same_data_give_the_same_draws() -> None:
    """Draws are seeded."""
    table = bounds(np.array([0.0, -np.inf, 1.0]), np.array([1.0, 0.0, 2.0]))
    one, other = fitted(table, INCH), fitted(table, INCH)
    assert one is not None
    assert other is not None
    np.testing.assert_array_equal(one.of_carton["guitar box"].mean, other.of_carton["guitar box"].mean)
