"""Which limits parcels pass, and a limit in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache, cached_property, reduce
from math import ceil, floor
from typing import Any

import numpy as np

from auditor.core import money, units
from auditor.core.arrays import Whole, Yes
from auditor.core.sides import SIDES
from auditor.tariff.figures import Figures
from auditor.tariff.prices import plain
from auditor.tariff.rules import KIND_OF_MEASURE, Charge, Measure, Rounding, Rules, Threshold


@dataclass(frozen=True)
class Measured:
    """The measures of some parcels, each in whole steps of a size in small units, made when first asked for."""

    rules: Rules
    parcels: Figures

    @cached_property
    def falling(self) -> tuple[Whole, Whole, Whole]:
        """Longest, second and shortest side in steps of the rule's rounding, which comes before everything else."""
        return _falling(self.rules.side_rounding.steps(self.parcels.sides))

    @cached_property
    def girth(self) -> Whole:
        """Length plus girth: the longest side and twice the sum of the others."""
        longest, second, shortest = self.falling
        return longest + 2 * (second + shortest)

    @cached_property
    def volume(self) -> Whole:
        """In cubic steps."""
        return money.product(*self.falling)

    @cached_property
    def exact(self) -> Measured:
        """The same by unrounded sides."""
        return Measured(_unrounded(self.rules), self.parcels)

    def of(self, limit: Threshold, billable: Whole | None = None) -> tuple[Whole, int]:
        """What is held against a limit in whole steps, and the size of one step in nm, nm³ or pg."""
        measure, step = limit.measure, self.rules.side_rounding.step
        if KIND_OF_MEASURE[measure] == "weight":
            return self.parcels.weight if measure == "actual weight" or billable is None else billable, 1
        if limit.measured:
            return self.exact.of(replace(limit, measured=False))
        if measure == "volume":
            return self.volume, step**3
        sides = dict(zip(("longest side", "second side", "shortest side"), self.falling, strict=True))
        return (self.girth if measure == "length plus girth" else sides[measure]), step

    def passes(self, limit: Threshold, billable: Whole | None = None) -> Yes:
        """Which parcels pass a limit, its scope left aside."""
        if limit.measure == "density":
            return self._denser(limit)
        steps, size = self.of(limit, billable)
        return np.asarray(steps >= _least_steps(limit, size), dtype=bool)

    def _denser(self, limit: Threshold) -> Yes:
        per_step = limit.limit * self.rules.side_rounding.step**3
        weight = self.parcels.weight.astype(object) * per_step.denominator
        least = self.volume.astype(object) * per_step.numerator
        return np.asarray(weight >= least if limit.inclusive else weight > least, dtype=bool)


@cache
def _least_steps(limit: Threshold, size: int) -> int:
    """The least whole steps of a size that pass a limit: over it are those over the whole steps that fit in it."""
    edge = limit.limit / size
    return ceil(edge) if limit.inclusive else floor(edge) + 1


def either(*hold: Yes) -> Yes:
    """Where any of them holds."""
    return reduce(np.logical_or, hold) if hold else np.zeros((), bool)


def _unrounded(rules: Rules) -> Rules:
    return replace(rules, side_rounding=Rounding("none", 1))


def _falling(sides: Whole) -> tuple[Whole, Whole, Whole]:
    one, two, three = sides
    longest = np.maximum(np.maximum(one, two), three)
    shortest = np.minimum(np.minimum(one, two), three)
    return longest, one + two + three - longest - shortest, shortest


def limits_passed(parcel: Mapping[str, Any], priced: Mapping[str, Any], rules: Rules) -> list[tuple[Charge, Threshold]]:
    """Every limit that one parcel passes, with its charge; `priced` is its row of `price`."""
    sides = np.array([[int(parcel[side])] for side in SIDES])
    measured = Measured(rules, Figures(sides, np.array([int(parcel["weight_pg"])]), {}, None, np.zeros(1, np.intp)))
    billable = np.array([int(priced["billable_pg"])])
    where = plain(parcel["service"]), plain(parcel["zone"])
    return [
        (charge, limit)
        for charge in rules.charges
        for limit in charge.limits
        if limit.scope.covers(*where) and measured.passes(limit, billable)[0]
    ]


def limit_words(limit: Threshold, rules: Rules) -> str:
    """A limit in words and the tariff's units: 'longest side over 48 in', 'volume over 10,368 in³'."""
    edge = "at least" if limit.inclusive else "over"
    return f"{limit.measure} {edge} {measure_words(limit.measure, limit.limit, rules)}"


def measure_words(measure: Measure, amount: Fraction, rules: Rules) -> str:
    """An amount of a measure (nm, nm³, pg or pg per nm³) in the tariff's units: '48 in', '10,368 in³'."""
    length, weight = (units.factor(rules.length_unit, "length"), units.factor(rules.weight_unit, "weight"))
    of, unit = {
        "length": (length, rules.length_unit),
        "volume": (length**3, f"{rules.length_unit}³"),
        "weight": (weight, rules.weight_unit),
        "density": (weight / length**3, f"{rules.weight_unit}/{rules.length_unit}³"),
    }[KIND_OF_MEASURE[measure]]
    return f"{_number(amount / of)} {unit}"


def _number(value: Fraction) -> str:
    plain = f"{float(value):,.4f}"
    return plain.rstrip("0").rstrip(".")
