"""Misread numbers: how many are found, how many wrongly, and whether a confidence of 0.9 is right nine times in ten."""

from __future__ import annotations

import pandas as pd

from auditor.match import likeliest, match
from tests.evaluation.held import markdown, percent, reliability, spread
from tests.evaluation.misreadings import NAMED, SETTINGS, Setting, months

Job = tuple[str, int, int]
"""Name of the setting, seed and number of shipments."""


def outcomes(job: Job) -> pd.DataFrame:
    """A row for each number billed whose truth is known.

    Returns:
        Columns truth (the shipment, -1 for none of them), misread (it does not stand in the records as billed),
        shipment and match (of the join made), right; and of numbers that were weighed, said, the confidence of the
        likeliest shipment, whether the join was made or not, and said_right; by setting.
    """
    name, seed, count = job
    month = months(count, NAMED[name], seed=seed)
    made = match(month.lines, month.shipments).set_index("tracking")
    guessed = likeliest(month.lines, month.shipments).set_index("tracking")
    table = made.loc[made.index.isin(month.truth.index), ["shipment", "match"]]
    truth, guessed = month.truth.reindex(table.index), guessed.reindex(table.index)
    recorded = month.shipments["tracking"].reindex(truth.where(truth >= 0)).to_numpy()
    return table.assign(
        setting=name,
        truth=truth,
        misread=(truth >= 0) & (recorded != table.index.to_numpy()),
        right=_same(table["shipment"], truth),
        said=guessed["confidence"].where(guessed["could_be"].notna()),
        said_right=_same(guessed["shipment"], truth),
    )


def _same(shipment: pd.Series, truth: pd.Series) -> pd.Series:
    return (shipment == truth).fillna(value=False).astype(bool)


def run(seeds: range, count: int, settings: tuple[Setting, ...] = SETTINGS) -> pd.DataFrame:
    """The outcomes of every setting and seed, one below the other."""
    return pd.concat(spread(outcomes, [(setting.name, seed, count) for setting in settings for seed in seeds]))


def score(table: pd.DataFrame) -> dict[str, float]:
    """Recall of all numbers and of misread ones, and the precision of all joins and of those that were weighed."""
    made, ours = table[table["shipment"].notna()], table[table["truth"] >= 0]
    return {
        "recall": ours["right"].mean(),
        "precision": made["right"].mean(),
        "misread recall": ours.loc[ours["misread"], "right"].mean(),
        "misread precision": made.loc[made["said"].notna(), "right"].mean(),
    }


def table(outcome: pd.DataFrame) -> str:
    """A row for each setting."""
    rows = [
        (name, f"{len(them):,}", f"{them['misread'].sum():,}", *(percent(share, 2) for share in score(them).values()))
        for name in NAMED
        for them in [outcome[outcome["setting"] == name]]
    ]
    return markdown(("month", "numbers", "misread", "recall", "precision", "of misread: recall", "precision"), rows)


def calibration(outcome: pd.DataFrame) -> pd.DataFrame:
    """The reliability of every confidence that was weighed, see `held.reliability`."""
    weighed = outcome.dropna(subset="said")
    return reliability(weighed["said"], weighed["said_right"])
