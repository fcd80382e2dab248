"""Charts beside the ruler: curves over a scale, columns over a scale, and bars in parts.

Here is where everything stands; `chart.svg.j2` draws it. Places are percents of the width and height (0 is the foot),
so that it fits a phone and a desk without shrinking its words.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

from auditor.report.html.ruler import Mark

MOST_NUMBERS = 8
STEPS = (1, 2, 2.5, 5, 10)
FULL = 100.0


@dataclass(frozen=True)
class Scale:
    """From `first` at 0 to `last` at 100 percent, numbered in steps that people count in."""

    first: float
    last: float

    def at(self, value: float) -> float:
        """Where a value stands, in percent; values beyond an end stand at that end."""
        part = (value - self.first) / ((self.last - self.first) or 1)
        return round(FULL * min(1.0, max(0.0, part)), 2)

    def numbered(self, ending: str = "", least: float = 0) -> tuple[Mark, ...]:
        """Its round numbers, at most MOST_NUMBERS, at least so far apart."""
        step = max(_round_step((self.last - self.first) or 1), least)
        numbers = range(ceil(self.first / step - 1e-9), floor(self.last / step + 1e-9) + 1)
        return tuple(Mark(self.at(number * step), f"{number * step:g}{ending}") for number in numbers)


def _round_step(span: float) -> float:
    least = span / MOST_NUMBERS
    power = 10.0 ** floor(log10(least))
    return next(step * power for step in STEPS if step * power >= least - 1e-12)


@dataclass(frozen=True)
class Curve:
    """A line through `points` ('x,y x,y …'), and where its value is not certain the area around it (closed)."""

    points: str
    around: str = ""


@dataclass(frozen=True)
class Column:
    """An upright bar from the foot; `kind` names its look, `text` stands above it."""

    start: float
    width: float
    height: float
    text: str
    kind: str = ""


@dataclass(frozen=True)
class Chart:
    """A drawing over two scales. `uprights` are values on the lower scale with a word, `level` one on the upper."""

    title: str
    words: str
    lower: tuple[Mark, ...]
    upper: tuple[Mark, ...]
    lower_name: str
    upper_name: str
    curves: tuple[Curve, ...] = ()
    columns: tuple[Column, ...] = ()
    uprights: tuple[Mark, ...] = ()
    level: Mark | None = None


def curve(across: Scale, up: Scale, places: Sequence[float], values: Sequence[float]) -> str:
    """The points of a line, as SVG takes them: x from the left, y from the top."""
    pairs = zip(places, values, strict=True)
    return " ".join(f"{across.at(place):g},{FULL - up.at(value):g}" for place, value in pairs)


def band(across: Scale, up: Scale, places: Sequence[float], low: Sequence[float], high: Sequence[float]) -> str:
    """The outline of the area between two lines."""
    return curve(across, up, places, low) + " " + curve(across, up, [*reversed(places)], [*reversed(high)])


@dataclass(frozen=True)
class Part:
    """One part of a bar in percents of the longest bar; `look` is the number of its pattern."""

    start: float
    width: float
    name: str
    amount_cents: int
    look: int


@dataclass(frozen=True)
class Bar:
    """A bar in parts, with its name and whole amount."""

    name: str
    amount_cents: int
    amounts: Mapping[str, int]
    parts: tuple[Part, ...]


def bars(amounts: Iterable[tuple[str, Sequence[tuple[str, int]]]], looks: Sequence[str]) -> tuple[Bar, ...]:
    """Bars in parts: for each name, amounts in cents by part. Amounts below zero are in the table, not in the bar.

    Args:
        amounts: a name and its (part, cents) in order.
        looks: the parts' names in the order of the patterns they have.
    """
    rows = [(name, list(parts)) for name, parts in amounts]
    longest = max((sum(max(cents, 0) for _, cents in parts) for _, parts in rows), default=0) or 1
    return tuple(
        Bar(name, sum(dict(parts).values()), dict(parts), tuple(_parts(parts, longest, looks))) for name, parts in rows
    )


def _parts(parts: Iterable[tuple[str, int]], longest: int, looks: Sequence[str]) -> Iterable[Part]:
    start = 0.0
    for name, cents in parts:
        width = FULL * max(cents, 0) / longest
        if width:
            yield Part(round(start, 2), round(width, 2), name, cents, looks.index(name))
        start += width
