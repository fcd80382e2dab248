"""Months without a price table: how near learned prices come to the true ones, and what they change in findings."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pandas as pd

import auditor
from auditor.audit import Audit
from tests.months.make import make_month

PRICES = ("rates.csv", "fees.csv", "fuel.csv")


def both(seed: int, parcels: int) -> tuple[Audit, Audit]:
    """The same month with its price tables and without."""
    with TemporaryDirectory() as folder:
        month = Path(folder) / "2026-03"
        make_month(seed, parcels, out=month, pdf=False)
        known = auditor.reconcile([month])
        for name in PRICES:
            (month / name).unlink()
        return known, auditor.reconcile([month])


def errors(known: Audit, learned: Audit) -> pd.Series:
    """For each finding of both runs the error of its expected amount, as a share of it."""
    one, other = (
        audit.findings.dropna(subset=["shipment_tracking", "expected_cents"]).set_index("shipment_tracking")
        for audit in (known, learned)
    )
    common = one.index.intersection(other.index)
    true, guess = (table["expected_cents"].reindex(common).astype(float) for table in (one, other))
    true = true[true > 0]
    return (guess.reindex(true.index) / true - 1).abs()


def causes(known: Audit, learned: Audit) -> pd.DataFrame:
    """The cause of each parcel told with the price tables, and without them."""
    told = {
        name: audit.findings.dropna(subset="shipment_tracking").set_index("shipment_tracking")["cause"]
        for name, audit in (("known", known), ("learned", learned))
    }
    return pd.DataFrame(told)


def tables(seeds: range = range(2), parcels: int = 1500) -> Iterator[str]:
    """The median error of expected amounts, and the share of findings whose cause changes or that come or go."""
    runs = [both(seed, parcels) for seed in seeds]
    wrong = pd.concat([errors(*run) for run in runs])
    told = pd.concat([causes(*run) for run in runs])
    found = told.dropna(subset="known")
    changed = (found["known"] != found["learned"]).mean()
    yield f"median error {wrong.median():.4%}, nine in ten below {wrong.quantile(0.9):.3%}"
    yield f"{len(found)} findings with tables: {changed:.1%} change or go; {told['known'].isna().sum()} come"
