"""Misread numbers: how many are found, how many wrongly, and whether a confidence of 0.9 is right nine times in ten."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from auditor.match import likeliest, match
from tests.evaluation.misreadings import SETTINGS, Setting, months


def outcomes(setting: Setting, count: int, seeds: range) -> pd.DataFrame:
    """A row for each number billed: the truth, the shipment found, how, the confidence, and whether it is right.

    `guess` and `guessed_right`: the likeliest shipment and whether it is right, whether the join was made or not.
    """
    frames = []
    for seed in seeds:
        month = months(count, setting, seed=seed)
        found = match(month.lines, month.shipments).set_index("tracking")
        table = found.loc[found.index.isin(month.truth.index)]
        frames.append(table.assign(truth=month.truth.reindex(table.index)))
    whole = pd.concat(frames)
    return whole.assign(right=(whole["shipment"] == whole["truth"]).fillna(value=False).astype(bool))


NAMES = ("numbers", "misread", "recall", "precision", "misread recall", "misread precision")


def score(table: pd.DataFrame) -> dict[str, float]:
    """Recall and precision over all numbers, and over those that do not stand in the records as they are."""
    made = table[table["shipment"].notna()]
    ours = table[table["truth"] >= 0]
    hard = ours[~ours["match"].isin(["exact", "spacing"])]
    guessed = made[~made["match"].isin(["exact", "spacing"])]
    rates = [rows["right"].mean() for rows in (ours, made, hard, guessed)]
    values = (len(table), len(hard), *rates)
    return dict(zip(NAMES, map(float, values), strict=True))
