"""The months of `tests.months`, with every fault of their plan: all statements as CSV, and one of them as PDF."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

import pandas as pd

import auditor
from tests.evaluation.held import NAMES, by_name, held, markdown, scores, spread
from tests.months.make import make_month

LAYOUTS = {"two CSV files": False, "a CSV file and a ruled PDF": True}

Job = tuple[str, int, int]
"""Name of the layout, seed and number of parcels."""


def outcomes(job: Job) -> pd.DataFrame:
    """See `held.held`."""
    name, seed, parcels = job
    with TemporaryDirectory() as folder:
        out = Path(folder) / "2026-03"
        made = make_month(seed, parcels, out=out, pdf=LAYOUTS[name])
        return held(auditor.reconcile([out]), {truth.tracking: truth for _, truth in made.truths})


def run(seeds: range, parcels: int) -> dict[str, pd.DataFrame]:
    """The outcomes of each layout, by its name."""
    jobs = [(name, seed, parcels) for name in LAYOUTS for seed in seeds]
    return by_name(LAYOUTS, jobs, spread(outcomes, jobs))


def table(outcome: dict[str, pd.DataFrame]) -> str:
    """A row for each layout."""
    return markdown(("statements", *NAMES), [(name, *scores(them)) for name, them in outcome.items()])
