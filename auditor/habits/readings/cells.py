"""The steps in which a reading matters: where rounding changes, and where limits on the unrounded figure stand."""

from __future__ import annotations

import numpy as np

from auditor.core.arrays import Whole
from auditor.core.sides import SIDES
from auditor.core.units import NM_PER_INCH, PG_PER_OUNCE
from auditor.tariff import Rounding, Rules

OF_SIDES = ("longest side", "second side", "shortest side")


def rounding_of(figure: str, rules: Rules) -> Rounding:
    """How a figure is rounded."""
    return rules.side_rounding if figure in SIDES else rules.weight_rounding


def width(figure: str, rules: Rules) -> int:
    """The width of a figure's cells, nm or pg: the rule's step, or the device's tolerance where nothing is rounded."""
    rounding = rounding_of(figure, rules)
    if rounding.way != "none":
        return rounding.step
    if figure in SIDES:
        return max(rules.side_tolerance_nm, NM_PER_INCH // 16)
    return max(int(rules.weight_tolerance.at(0)), PG_PER_OUNCE)


def edges(figure: str, lowest: int, highest: int, rules: Rules) -> Whole:
    """The ends of a figure's cells from at most `lowest` to at least `highest` (nm or pg), rising.

    Within a cell every reading is billed alike, limits on sums and products of unrounded sides left aside.
    """
    step, rounding = width(figure, rules), rounding_of(figure, rules)
    shift = step // 2 if rounding.way == "nearest" else 0
    ends = np.arange((lowest - shift) // step * step + shift, highest + 2 * step, step)
    if rounding.fine_step and lowest < rounding.fine_up_to:
        fine = np.arange(lowest // rounding.fine_step * rounding.fine_step, rounding.fine_up_to + 1, rounding.fine_step)
        ends = np.concatenate([fine, ends[ends > rounding.fine_up_to]])
    limits = [limit for limit in _limits(figure, rules) if ends[0] < limit < ends[-1]]
    return np.unique(np.concatenate([ends, np.array(limits, dtype=np.int64)]))


def _limits(figure: str, rules: Rules) -> list[int]:
    measures = OF_SIDES if figure in SIDES else ("actual weight",)
    limits = [*(limit for charge in rules.charges for limit in charge.limits), *rules.not_accepted]
    return [int(limit.limit) for limit in limits if limit.measure in measures]
