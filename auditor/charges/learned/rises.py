"""Prices that rise on a day by one percentage: all labels from then on, whatever their zone and weight.

A step is two prices for the same service, zone and weight, an earlier and a later one: two labels, or the price in the
seller's table and that of a label. A rise is a day and a percentage that explain, to the cent, nearly every step which
spans that day.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.core.arrays import Whole, Yes
from auditor.core.money import half_up

UNIT = 1_000_000
TENTH_PPM, HUNDREDTH_PPM = 1_000, 100
"""Announced percentages are tenths of a percent, or else hundredths (common practice, no source)."""

LONG_AGO = pd.Timestamp("1900-01-01")

MOST_CENTS = 10**10
"""More than any label costs."""

LEAST_STEPS = 5
"""So few steps are told from a few wrong prices (chosen)."""

MOST = 0.8
"""A rise explains so large a share of the steps that span its day (chosen: one in five may be something else)."""

MOST_TRIED = 40
"""So many percentages are tried, those that are seen most."""

MOST_RISES = 8
"""So many rises are looked for, one within what another leaves."""

STEPS = ("service", "before_cents", "after_cents", "before_on", "after_on")


@dataclass(frozen=True)
class Rise:
    """From `since` on prices are `ppm` millionths of those before: of one service, or of all ("")."""

    since: pd.Timestamp
    ppm: int
    service: str = ""

    def of(self, cents: Whole) -> Whole:
        """Prices after the rise, to the cent, half a cent up."""
        return half_up(cents * self.ppm, UNIT)

    def covers(self, services: pd.Series) -> pd.Series:
        """Which of some services, as they are compared, it concerns."""
        return services == self.service if self.service else services.notna()

    @property
    def percent(self) -> str:
        """In words: 'rose by 5.9 %'."""
        return f"{'rose' if self.ppm > UNIT else 'fell'} by {abs(self.ppm - UNIT) / 10_000:g} %"


def rises(steps: pd.DataFrame) -> tuple[Rise, ...]:
    """The rises that the steps show, the first day first.

    Args:
        steps: STEPS: cents; `before_on` is missing where the earlier price is a table's, which held always.
    """
    known = steps[steps["before_cents"].between(1, MOST_CENTS) & steps["after_cents"].between(1, MOST_CENTS)]
    return tuple(sorted(_within(known, MOST_RISES), key=lambda rise: (rise.since, rise.service)))


def _within(steps: pd.DataFrame, most: int) -> Iterator[Rise]:
    """The rise that explains most, and those of the time before it and after it; each service alone if they differ."""
    rise = _foremost(steps) if most else None
    if rise is None or not _alike(steps, rise):
        by_service = steps.groupby("service")
        if most and by_service.ngroups > 1:
            for service, steps_of in by_service:
                yield from (replace(rise, service=str(service)) for rise in _within(steps_of, most))
        return
    yield rise
    yield from _within(steps[steps["after_on"] < rise.since], most - 1)
    later = steps[(steps["after_on"] >= rise.since) & ~(steps["before_on"] < rise.since)]
    raised = rise.of(later["before_cents"].to_numpy(dtype=np.int64))
    of_table = later["before_on"].isna()
    yield from _within(later.assign(before_cents=later["before_cents"].mask(of_table, raised)), most - 1)


def _alike(steps: pd.DataFrame, rise: Rise) -> bool:
    """Whether the rise explains most steps of every service."""
    spans = (steps["after_on"] >= rise.since) & ~(steps["before_on"] >= rise.since)
    agrees = pd.Series(_agrees(steps, rise.ppm), index=steps.index)[spans]
    return bool((agrees.groupby(steps["service"]).mean() > 0.5).all())  # noqa: PLR2004 (most)


def _foremost(steps: pd.DataFrame) -> Rise | None:
    """The rise that explains the most steps, of those that explain nearly all that span their day."""
    changed = steps[steps["before_cents"] != steps["after_cents"]]
    if len(changed) < LEAST_STEPS:
        return None
    days = np.unique(steps["after_on"].to_numpy(dtype="datetime64[D]"))
    tried = [
        (*_on_day(_agrees(steps, ppm), steps["before_on"], steps["after_on"], days), ppm)
        for ppm in _candidates(changed)
    ]
    explained, on, ppm = max(tried, default=(0, 0, UNIT))
    return Rise(pd.Timestamp(days[on]), _plainest(changed, ppm)) if explained >= LEAST_STEPS else None


def _candidates(changed: pd.DataFrame) -> list[int]:
    """The percentages seen most, as ratios in millionths."""
    ratio = changed["after_cents"].astype(float) / changed["before_cents"].astype(float)
    rounded = (ratio * UNIT / TENTH_PPM).round().astype(np.int64) * TENTH_PPM
    return [int(ppm) for ppm in rounded[rounded != UNIT].value_counts().index[:MOST_TRIED]]


def _agrees(steps: pd.DataFrame, ppm: int) -> Yes:
    """Which steps are of that ratio, within a cent, and nearer to it than to no change."""
    before, after = (steps[column].to_numpy(dtype=np.int64) for column in ("before_cents", "after_cents"))
    off = np.abs(half_up(before * ppm, UNIT) - after)
    return np.asarray((off <= 1) & (off < np.abs(before - after)), dtype=bool)


def since_when(agrees: pd.Series, on: pd.Series) -> pd.Timestamp | None:
    """The day from which nearly all labels agree with something else than a table; None where there is none.

    Args:
        agrees: whether each label does.
        on: the day of each.
    """
    days = np.unique(on.to_numpy(dtype="datetime64[D]"))
    always = pd.Series(pd.NaT, index=on.index, dtype="datetime64[s]")
    count, at = _on_day(agrees.to_numpy(dtype=bool), always, on, days) if len(days) else (0, 0)
    return pd.Timestamp(days[at]) if count >= LEAST_STEPS else None


def _on_day(
    agrees: Yes, before_on: pd.Series, after_on: pd.Series, days: npt.NDArray[np.datetime64]
) -> tuple[int, int]:
    """How many steps agree that span a day, and the place of that day in `days`; 0 where too many speak against it.

    The day is the one for which most speaks. A step speaks of every day after its earlier price up to its later one.
    """
    after = np.searchsorted(days, after_on.to_numpy(dtype="datetime64[D]"))
    before = np.searchsorted(days, before_on.fillna(LONG_AGO).to_numpy(dtype="datetime64[D]"), side="right")
    yes, no = (
        np.cumsum(
            np.bincount(before[counted], minlength=len(days) + 1)
            - np.bincount(after[counted] + 1, minlength=len(days) + 1)
        )[:-1]
        for counted in (agrees, ~agrees)
    )
    best = len(days) - 1 - int(np.argmax((yes - no)[::-1]))
    return (int(yes[best]), best) if yes[best] >= MOST * (yes[best] + no[best]) else (0, best)


def _plainest(changed: pd.DataFrame, ppm: int) -> int:
    """The ratio near `ppm` that gives most prices to the cent; a tenth of a percent before a hundredth."""
    near = range(ppm - TENTH_PPM, ppm + TENTH_PPM + 1, HUNDREDTH_PPM)
    before, after = (changed[column].to_numpy(dtype=np.int64) for column in ("before_cents", "after_cents"))
    exact = {tried: int((half_up(before * tried, UNIT) == after).sum()) for tried in near}
    return max(near, key=lambda tried: (exact[tried], tried % TENTH_PPM == 0, -abs(tried - ppm)))
