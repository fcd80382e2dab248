"""How far the carrier's readings lie beyond the declared figures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from auditor.habits.alike import FIGURES
from auditor.tariff import Rules

Floats = npt.NDArray[np.float64]
Basis = Literal["own history", "shop's history", "device tolerance"]


@dataclass(frozen=True)
class Excess:
    """Reading less declared figure, for one carton and figure: normal, with a mean and spread that are not quite known.

    `mean` and `spread` (standard deviation), in nm or pg, are equally likely draws of what they may be, so a result is
    the mean of the draws' results and its interval their quantiles. `parcels` and `read` count the parcels this rests
    on and those of them with a reading. `basis`: the carton's own history, the shop's other cartons', or nothing but
    the tolerance of the carrier's device.
    """

    mean: Floats
    spread: Floats
    parcels: int
    read: int
    basis: Basis


def by_tolerance(rules: Rules) -> dict[str, Excess]:
    """What to expect of each figure where there is no history: no excess, and a spread of half the device's tolerance.

    A tolerance is taken to be two standard deviations (JCGM 100:2008, 4.3.4: a limit quoted at about 95 %).
    """
    spread = [*[rules.side_tolerance_nm] * 3, rules.weight_tolerance_pg]
    return {
        figure: Excess(np.zeros(1), np.full(1, max(tolerance, 1) / 2), 0, 0, "device tolerance")
        for figure, tolerance in zip(FIGURES, spread, strict=True)
    }
