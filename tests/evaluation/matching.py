"""Misread numbers: how many are found, how many wrongly, and whether a confidence of 0.9 is right nine times in ten."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from auditor.match import match
from tests.evaluation.misreadings import SERIES, months

BINS = (0.0, 0.85, 0.87, 0.93, 0.97, 0.99, 1.0)


def outcomes(count: int, series: str, misread: float, seeds: range, *, scanty: bool = False) -> pd.DataFrame:
    """A row for each number billed: the truth, the shipment found, how, the confidence, and whether it is right."""
    frames = []
    for seed in seeds:
        month = months(count, series, misread=misread, seed=seed, scanty=scanty)
        found = match(month.lines, month.shipments).set_index("tracking")
        table = found.loc[found.index.isin(month.truth.index)]
        frames.append(table.assign(truth=month.truth.reindex(table.index), series=series))
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


def calibration(table: pd.DataFrame) -> pd.DataFrame:
    """Of the matches with a confidence in each range, how many were made and the share that is right."""
    made = table[table["shipment"].notna() & ~table["match"].isin(["exact", "spacing"])]
    bins = pd.cut(made["confidence"].astype(float), BINS, include_lowest=True)
    grouped = made.groupby(bins, observed=True)
    return grouped.agg(matches=("right", "size"), said=("confidence", "mean"), right=("right", "mean"))


def tables(count: int = 20_000, seeds: range = range(3)) -> Iterator[str]:
    """Both tables as text."""
    every = []
    yield f"{'series':<12}" + "".join(f"{name:>18}" for name in NAMES)
    for series in SERIES:
        table = outcomes(count, series, 0.05, seeds)
        every.append(table)
        yield f"{series:<12}" + "".join(f"{value:>18,.5g}" for value in score(table).values())
    yield ""
    yield calibration(pd.concat(every)).to_string()
