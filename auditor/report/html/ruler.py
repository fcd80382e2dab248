"""The picture of one carton: a ruler with the declared length, the carrier's readings and the nearest limit.

Here is where everything stands; `ruler.svg.j2` draws it. Places across are percents of the picture's width, so that it
fits a phone and a desk without shrinking its words.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

import numpy as np
import pandas as pd

from auditor.audit import Limit
from auditor.core.arrays import Floats
from auditor.core.units import NM_PER_INCH
from auditor.report.wording import counted, inches

REACH_IN = 12
"""A limit further than this from everything else is told in words, not drawn: the readings would shrink to a point."""

FAR_IN = 60
"""A reading further than this from the declared length is told and not drawn: a slip would hide the others."""

LEAST_SPAN_IN = 4
MIDDLE_PERCENT = 50
DOT_PERCENT = 2.6
"""How wide a dot is, in percent of the narrowest picture (a phone's)."""

MOST_LEVELS = 8
MARGIN_PERCENT = 3
TICKS = ((5, 8), (8, 4), (16, 2))
"""Up to so many inches across, so many ticks an inch; one an inch beyond."""

NUMBERED = (1, 2, 4, 6, 12, 24, 48)
MOST_NUMBERS = 12


CURVE_POINTS = 121

Density = Callable[[Floats], Floats]
"""How often a reading lies at each length (nm), in any unit."""


@dataclass(frozen=True)
class Mark:
    """A point on the ruler with words beside it."""

    across: float
    text: str

    @property
    def anchor(self) -> str:
        """Which end of the words stands at the mark, as SVG names it, so that they stay inside the picture."""
        return "end" if self.across > MIDDLE_PERCENT else "start"


@dataclass(frozen=True)
class Bracket:
    """The inch in which readings lie that the carrier prints rounded up, and how many there are."""

    start: float
    end: float
    text: str


@dataclass(frozen=True)
class Dot:
    """One exact reading; level 0 is next to the ruler."""

    across: float
    level: int


@dataclass(frozen=True)
class Ruler:
    """All that is drawn and said of one carton."""

    title: str
    words: str
    ticks: tuple[Mark, ...]
    dots: tuple[Dot, ...]
    undrawn: int
    brackets: tuple[Bracket, ...]
    declared: Mark
    limits: tuple[Mark, ...]
    fitted: str = ""
    """The curve of how often readings lie at each length, as points of SVG in a square of 100; none without a fit."""

    @property
    def levels(self) -> int:
        """How many dots stand on one another at the highest."""
        return max((dot.level + 1 for dot in self.dots), default=0)


@dataclass(frozen=True)
class _Window:
    first_in: int
    last_in: int

    @property
    def span_in(self) -> int:
        return self.last_in - self.first_in

    def across(self, nanometres: int | Fraction) -> float:
        part = (Fraction(nanometres) / NM_PER_INCH - self.first_in) / self.span_in
        return round(MARGIN_PERCENT + float(part) * (100 - 2 * MARGIN_PERCENT), 2)


def own_readings(readings: pd.DataFrame) -> pd.DataFrame:
    """The readings whose length is the carrier's own, each parcel's once however many statements show it.

    Where the length equals the declared one, the carrier billed by that and shows none of its own. `measured_rounded`
    holds in them only of whole inches, as what is rounded up must be.
    """
    declared, measured = readings["declared_length_nm"], readings["measured_length_nm"]
    rounded = readings["measured_rounded"].fillna(value=False) & (measured % NM_PER_INCH == 0)
    own = readings.assign(measured_rounded=rounded)[(declared != measured).fillna(value=False)]
    return own.drop_duplicates(["shipment_tracking", "declared_length_nm", "measured_length_nm", "measured_rounded"])


def _billed_as_declared(readings: pd.DataFrame, own: pd.DataFrame) -> int:
    """How many parcels the carrier never billed by another length than the declared one."""
    same = (readings["declared_length_nm"] == readings["measured_length_nm"]).fillna(value=False)
    parcels = readings.loc[same, "shipment_tracking"]
    return int(parcels[~parcels.isin(own["shipment_tracking"])].nunique())


def ruler(carton: str, readings: pd.DataFrame, limits: Iterable[Limit], density: Density | None = None) -> Ruler | None:
    """The picture of a carton, or None when the carrier shows no length of its own for it.

    Args:
        carton: the carton's name.
        readings: the rows of `tables.READINGS` about it.
        limits: the tariff's limits on the longest side.
        density: how often a reading lies at each length, of all parcels, as fitted; drawn where it is given.
    """
    own = own_readings(readings)
    if own.empty:
        return None
    declared = int(readings["declared_length_nm"].mode().iloc[0])
    ordered = sorted(limits, key=lambda limit: limit.over_nm)
    nearest = _nearest(ordered, declared)
    near = own[(own["measured_length_nm"] - declared).abs() <= FAR_IN * NM_PER_INCH]
    rounded, exact = _lengths(near)
    window = _window(_ends(declared, rounded, exact), nearest)
    dots, crowded = _stack([window.across(int(value)) for value in exact.sort_values()])
    return Ruler(
        title=f"{carton}: declared {inches(declared)}, read up to {inches(int(own['measured_length_nm'].max()))}",
        words=" ".join(_words(declared, _billed_as_declared(readings, own), *_lengths(own), nearest)),
        ticks=tuple(_ticks(window)),
        dots=dots,
        undrawn=crowded + len(own) - len(near),
        brackets=tuple(_brackets(rounded, window)),
        declared=Mark(window.across(declared), f"declared {inches(declared)}"),
        limits=tuple(_limit_marks(ordered, window)),
        fitted=_curve(density, window) if density else "",
    )


def _curve(density: Density, window: _Window) -> str:
    """The density over the window, its top at 10 of 100 from above."""
    places = np.linspace(window.first_in * NM_PER_INCH, window.last_in * NM_PER_INCH, CURVE_POINTS)
    heights = density(places)
    tops = 100 - 90 * heights / (heights.max() or 1)
    return " ".join(f"{window.across(int(place)):g},{top:.1f}" for place, top in zip(places, tops, strict=True))


def _lengths(own: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    """The lengths that are rounded up to whole inches, and the exact ones."""
    rounded = own["measured_rounded"].astype(bool)
    return own.loc[rounded, "measured_length_nm"], own.loc[~rounded, "measured_length_nm"]


def _nearest(ordered: list[Limit], declared: int) -> Limit | None:
    above = [limit for limit in ordered if limit.over_nm >= declared]
    return above[0] if above else ordered[-1] if ordered else None


def _ends(declared: int, rounded: pd.Series, exact: pd.Series) -> tuple[int, int]:
    values = [declared, *exact.astype(int), *rounded.astype(int), *(rounded.astype(int) - NM_PER_INCH)]
    return min(values), max(values)


def _window(ends: tuple[int, int], nearest: Limit | None) -> _Window:
    first, last = ends
    reach = REACH_IN * NM_PER_INCH
    if nearest is not None and first - reach <= nearest.over_nm <= last + reach:
        first, last = min(first, nearest.over_nm), max(last, nearest.over_nm)
    first_in = max(0, ceil(Fraction(first, NM_PER_INCH)) - 1)
    last_in = floor(Fraction(last, NM_PER_INCH)) + 1
    return _Window(first_in, max(last_in, first_in + LEAST_SPAN_IN))


def _ticks(window: _Window) -> Iterable[Mark]:
    an_inch = next((ticks for span, ticks in TICKS if window.span_in <= span), 1)
    step = next((step for step in NUMBERED if window.span_in <= step * MOST_NUMBERS), NUMBERED[-1])
    for tick in range(window.span_in * an_inch + 1):
        place = window.first_in + Fraction(tick, an_inch)
        yield Mark(window.across(place * NM_PER_INCH), str(place) if place % step == 0 else "")


def _stack(places: list[float]) -> tuple[tuple[Dot, ...], int]:
    """Dots for places in rising order, each on the lowest level with room for it, and how many found none."""
    dots: list[Dot] = []
    last_at: list[float] = []
    for place in places:
        free = (level for level, last in enumerate(last_at) if place - last >= DOT_PERCENT)
        level = next(free, len(last_at))
        if level < MOST_LEVELS:
            last_at[level : level + 1] = [place]
            dots.append(Dot(place, level))
    return tuple(dots), len(places) - len(dots)


def _brackets(rounded: pd.Series, window: _Window) -> Iterable[Bracket]:
    for value, count in rounded.astype(int).value_counts().sort_index().items():
        end = int(str(value))
        yield Bracket(window.across(end - NM_PER_INCH), window.across(end), f"{count}×")


def _limit_marks(ordered: list[Limit], window: _Window) -> Iterable[Mark]:
    for limit in ordered:
        if window.first_in * NM_PER_INCH <= limit.over_nm <= window.last_in * NM_PER_INCH:
            yield Mark(window.across(limit.over_nm), limit.charge)


def _words(
    declared: int, as_declared: int, rounded: pd.Series, exact: pd.Series, nearest: Limit | None
) -> Iterable[str]:
    yield f"Declared {inches(declared)}."
    if as_declared:
        yield f"{counted(as_declared, 'parcel')} billed by the declared length."
    if len(exact):
        yield f"The carrier shows {counted(len(exact), 'exact reading')}, {_range(exact)}."
    if len(rounded):
        yield f"The carrier shows {counted(len(rounded), 'length')} rounded up to whole inches, {_range(rounded)}."
    if nearest is not None:
        over = int((rounded > nearest.over_nm).sum() + (exact > nearest.over_nm).sum())
        limit = f"over {inches(nearest.over_nm)}, {nearest.charge}"
        yield f"The nearest limit: {limit}. Over it: {over} of {len(rounded) + len(exact)} shown."


def _range(lengths: pd.Series) -> str:
    least, greatest = inches(int(lengths.min())), inches(int(lengths.max()))
    return least if least == greatest else f"{least} to {greatest}"
