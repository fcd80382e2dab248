"""Months whose scanner's excess is known: how often its stated 90 % interval holds the truth.

Four cartons, declared at all sorts of distances from the next costly step, 25 to 120 parcels each, in 200 months.
"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from itertools import repeat

import numpy as np
import pandas as pd

from auditor.core.sides import FIGURES
from auditor.habits import history
from auditor.habits.outlook import outlook
from auditor.habits.readings.excess import Excess, ends
from tests.habit_months import UNIT, Kind, Shop, shop

CARTONS = (
    ("stand tube", (46.5, 6, 6), 14.8),
    ("guitar box", (47.5, 20, 8), 13.6),
    ("pedal box", (11.75, 10, 8), 9.7),
    ("horn case box", (38, 16, 14), 12.8),
)
CHANCE = "chance of a back-charge"


UNCUT, UNCUT_IN = 0.05, 5.0
"""Such a share of parcels sent uncut by mistake, and by how many inches they are longer."""


def month(seed: int, uncut: float = 0.0) -> tuple[Shop, dict[str, dict[str, tuple[float, float]]]]:
    """A month and its truth: by carton and figure the mean and spread of the excess, in inches and pounds.

    `uncut`: the share of parcels sent uncut by mistake.
    """
    rng = np.random.default_rng(seed)
    middle = {"length_nm": 0.35, "width_nm": 0.15, "height_nm": 0.15, "weight_pg": 0.0}
    truth = {
        name: {
            figure: (float(rng.normal(middle[figure], 0.25)), float(0.35 * np.exp(rng.normal(0, 0.3))))
            for figure in FIGURES
        }
        for name, _, _ in CARTONS
    }
    kinds = [
        Kind(name, sides, weight, int(rng.integers(25, 120)), truth[name], uncut=(uncut, UNCUT_IN))
        for name, sides, weight in CARTONS
    ]
    return shop(kinds, seed), truth


def held(seed: int, uncut: float = 0.0) -> pd.DataFrame:
    """For each carton and figure of one month whether the intervals hold the true mean, spread and chance.

    They are those of parcels that are sent as declared.
    """
    made, truth = month(seed, uncut)
    past = history(made.shipments, made.cartons, made.lines, made.readings, made.book, made.prices)
    rows = []
    for carton, figures in truth.items():
        seen = past.excess_of(carton)
        one = made.shipments[made.shipments["carton"] == carton].head(1)
        with_truth = {figure: _and(seen[figure], *figures[figure], UNIT[figure]) for figure in FIGURES}
        chance = outlook(one, with_truth, made.book, made.prices).chance[0]
        rows.append({"what": CHANCE, "held": _holds(chance[:-1], chance[-1])})
        for figure, (mean, spread) in figures.items():
            rows.append({"what": f"mean, {figure[:-3]}", "held": _holds(seen[figure].mean, mean * UNIT[figure])})
            rows.append({"what": f"spread, {figure[:-3]}", "held": _holds(seen[figure].spread, spread * UNIT[figure])})
    return pd.DataFrame(rows)


def _and(seen: Excess, mean: float, spread: float, unit: int) -> Excess:
    """The draws, and the truth as one more."""
    return replace(seen, mean=np.append(seen.mean, mean * unit), spread=np.append(seen.spread, spread * unit))


def _holds(draws: np.ndarray[tuple[int], np.dtype[np.float64]], truth: float) -> bool:
    low, high = ends(draws)
    return bool(low <= truth <= high)


def run(seeds: range, uncut: float = 0.0) -> pd.DataFrame:
    """The same of each month."""
    with ProcessPoolExecutor() as processes:
        return pd.concat(processes.map(held, seeds, repeat(uncut), chunksize=5), ignore_index=True)


def table(found: pd.DataFrame) -> str:
    """How many intervals there are of each kind, and the share that holds the truth."""
    head = ["| interval of | intervals | hold the truth |", "| --- | --: | --: |"]
    kinds = [CHANCE, *(f"{part}, {figure[:-3]}" for part in ("mean", "spread") for figure in FIGURES)]
    return "\n".join([*head, *(_row(kind, found.loc[found["what"] == kind, "held"]) for kind in kinds)])


def _row(kind: str, those: pd.Series) -> str:
    return f"| {kind} | {len(those)} | {those.mean():.3f} |" if len(those) else f"| {kind} | – | – |"
