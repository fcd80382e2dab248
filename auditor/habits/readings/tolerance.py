"""What to expect of the carrier's readings where nothing has been seen of them."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.core.sides import FIGURES
from auditor.habits.readings.excess import Excess
from auditor.tariff import Rules


def by_tolerance(rules: Rules, weights: pd.Series) -> dict[str, Excess]:
    """What to expect of each figure where there is no history: no excess, and a spread of half the device's tolerance.

    A scale's tolerance goes by its load, for which the median of `weights` (pg) stands. A tolerance is taken to be two
    standard deviations (JCGM 100:2008, 4.3.4: a limit quoted at about 95 %).
    """
    load = 0 if weights.dropna().empty else int(weights.median())
    spread = [*[rules.side_tolerance_nm] * 3, rules.weight_tolerance.at(load)]
    return {
        figure: Excess(np.zeros(1), np.full(1, max(tolerance, 1) / 2), 0, 0, "device tolerance")
        for figure, tolerance in zip(FIGURES, spread, strict=True)
    }
