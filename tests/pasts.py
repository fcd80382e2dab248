"""A shop's past with a known excess, for tests of what is expected of its parcels."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, cast

import numpy as np
import pandas as pd

from auditor.core.schemas import CARTONS, SHIPMENTS, conform, empty
from auditor.habits.bench.precheck import WORD
from auditor.habits.history import History
from auditor.habits.readings.bounds import Parcels
from auditor.habits.readings.excess import Excess, Fitted
from auditor.habits.same_carton import of_shipments
from tests.parcels import inches, parcel, pounds

SURE = 1_000
"""A spread so small, in nm or pg, that a reading is sure."""


def excess(mean: float | Sequence[float], figure: str, spread: int = SURE) -> Excess:
    """Readings so many inches or pounds beyond the declared figure, for sure, in each draw."""
    unit = pounds(1) if figure == "weight_pg" else inches(1)
    means = np.atleast_1d(np.asarray(mean, dtype=np.float64)) * unit
    return Excess(means, np.full(len(means), float(spread)), 40, 9, "own history")


def known(**beyond: float | Sequence[float]) -> dict[str, Excess]:
    """Each figure's excess by its word, as in length=0.5; the others are read a hair less than declared."""
    return {figure: excess(beyond.get(word, -0.01), figure) for figure, word in WORD.items()}


def past(shipments: pd.DataFrame, of_carton: Mapping[str, Mapping[str, Excess]]) -> History:
    """A history in which cartons have that excess, and other cartons none."""
    fits = {
        figure: Fitted({carton: of[figure] for carton, of in of_carton.items()}, known()[figure]) for figure in WORD
    }
    return History(
        of_shipments(shipments, empty(CARTONS)), cast("Parcels", None), pd.Series(dtype=bool), fits, known(), "in"
    )


def shipped(carton: str, sides: str, weight: str | int, on: str = "2026-03-04", **more: Any) -> dict[str, object]:
    """A row of SHIPMENTS."""
    return {"tracking": "NP", "carton": carton, **parcel(sides, weight, on), **more}


def shipments(*rows: Mapping[str, object]) -> pd.DataFrame:
    """SHIPMENTS, each with a number of its own."""
    table = pd.DataFrame([{**row, "tracking": f"NP{at}"} for at, row in enumerate(rows)])
    return conform(table, SHIPMENTS)
