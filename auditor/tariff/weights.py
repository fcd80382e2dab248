"""The billable weight: the rounded weight, the dimensional one and the least that charges call for."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from math import floor

import numpy as np

from auditor.core import money
from auditor.core.arrays import Whole, Yes
from auditor.tariff.limits import Measured, either
from auditor.tariff.rules import Dimensional, Rounding, Rules


def rounded_weight(weight: Whole, rounding: Rounding) -> Whole:
    """Weights (pg) by the rule's rounding, in pg."""
    coarse: Whole = rounding.steps(weight) * rounding.step
    if rounding.fine_step is None:
        return coarse
    fine: Whole = Rounding(rounding.way, rounding.fine_step).steps(weight) * rounding.fine_step
    return np.where(weight <= rounding.fine_up_to, fine, coarse)


def dimensional_weight(measured: Measured) -> Whole:
    """Dimensional weight in pg, its scope left aside; 0 where the volume is too small for it to count."""
    dimensional, rounding = measured.rules.dimensional, measured.rules.weight_rounding
    if dimensional is None:
        return np.zeros(measured.parcels.of.shape, np.int64)
    volume, cubic = _counted_volume(measured, dimensional)
    per_step = cubic / (dimensional.divisor * rounding.step)
    scaled = money.product(volume, np.array([per_step.numerator]))
    steps = Rounding(rounding.way, per_step.denominator).steps(scaled)
    weight = np.asarray(steps * rounding.step, dtype=np.int64)
    if dimensional.at_most_pg is not None:
        weight = np.minimum(weight, dimensional.at_most_pg)
    return np.where(volume > floor(dimensional.only_over / cubic), weight, 0) if dimensional.only_over else weight


def _counted_volume(measured: Measured, dimensional: Dimensional) -> tuple[Whole, Fraction]:
    """The volume that counts, of irregular parcels a part of the box's, and the size of one of its steps in nm³."""
    cubic, irregular = Fraction(measured.rules.side_rounding.step) ** 3, measured.parcels.irregular
    if irregular is None or not irregular.any():
        return measured.volume, cubic
    part = dimensional.irregular
    counted = money.product(measured.volume, np.where(irregular, part.numerator, part.denominator))
    return counted, cubic / part.denominator


def least_weight(rules: Rules, called: Mapping[str, Yes], measured: Measured) -> Whole:
    """The least billable weight in pg by the charges that are called for; 0 where none sets one."""
    least = np.zeros(measured.parcels.of.shape, np.int64)
    for charge in rules.charges:
        if charge.least:
            hits = [measured.passes(limit) for limit in charge.limits if limit.measure in charge.least.measures]
            hit = called[charge.name] & either(*hits)
            least = np.where(hit, np.maximum(least, charge.least.weight_pg), least)
    return least
