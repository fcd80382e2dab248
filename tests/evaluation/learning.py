"""Months without a price table: how near learned prices come to the true ones, and what they change in findings."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

import pandas as pd

import auditor
from auditor.audit import Audit
from auditor.core.units import PG_PER_POUND
from tests.evaluation.held import markdown, percent, spread
from tests.evaluation.measured import month, write_records
from tests.months.make import STATEMENT_OF, STATEMENT_ON, make_month
from tests.months.write import write_statement

PRICES = ("rates.csv", "fees.csv", "fuel.csv")

MONTHS = {"faults of every kind": True, "readings by chance": False}
"""Names of months, and whether they are those of `tests.months`."""

Job = tuple[str, int, int]
"""Name of the months, seed and number of parcels."""


def both(job: Job) -> tuple[Audit, Audit]:
    """The same month with its price tables and without."""
    name, seed, parcels = job
    with TemporaryDirectory() as folder:
        out = Path(folder) / "2026-03"
        if MONTHS[name]:
            make_month(seed, parcels, out=out, pdf=False)
        else:
            out.mkdir()
            billed = month(seed, parcels)
            write_records(out, billed)
            for service, statement in STATEMENT_OF.items():
                lines = [line for one in billed if one.shipment.service == service for line in one.lines]
                write_statement(out / f"{statement}.csv", statement, STATEMENT_ON[statement], lines)
        known = auditor.reconcile([out])
        for file in PRICES:
            (out / file).unlink()
        return known, auditor.reconcile([out])


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


UP_TO = 70 * PG_PER_POUND


def price_errors(known: Audit, learned: Audit) -> pd.Series:
    """The error of every learned price up to 70 lb, seen on a label or carried from those seen, as a share of it."""
    keys = ["service", "zone", "up_to_pg"]
    true = known.prices.rates.sort_values("effective_on").drop_duplicates(keys, keep="last").set_index(keys)
    guess = learned.prices.rates.set_index(keys)["price_cents"]
    both_known = guess.index.intersection(true.index[true.index.get_level_values("up_to_pg") <= UP_TO])
    return (guess[both_known].astype(float) / true["price_cents"][both_known].astype(float) - 1).abs()


def causes(known: Audit, learned: Audit) -> pd.DataFrame:
    """The cause of each parcel told with the price tables, and without them."""
    told = {
        name: audit.findings.dropna(subset="shipment_tracking").set_index("shipment_tracking")["cause"]
        for name, audit in (("known", known), ("learned", learned))
    }
    return pd.DataFrame(told)


def _measured(job: Job) -> Measured:
    runs = both(job)
    return errors(*runs), price_errors(*runs), causes(*runs)


Measured = tuple[pd.Series, pd.Series, pd.DataFrame]
"""Errors of expected amounts and of prices, and the causes."""


def run(seeds: range, parcels: int) -> dict[str, Measured]:
    """What was measured, by name of the months."""
    jobs = [(name, seed, parcels) for name in MONTHS for seed in seeds]
    made = spread(_measured, jobs)
    return {name: joined([them for job, them in zip(jobs, made, strict=True) if job[0] == name]) for name in MONTHS}


def joined(measured: Sequence[Measured]) -> Measured:
    """What was measured in several months."""
    expected, prices, told = zip(*measured, strict=True)
    return pd.concat(expected), pd.concat(prices), pd.concat(told)


def table(outcome: dict[str, Measured]) -> str:
    """A row for each kind of months."""
    rows = []
    for name, (expected, prices, told) in outcome.items():
        found = told.dropna(subset="known")
        rows.append(
            (
                name,
                f"{len(found):,}",
                percent(float(expected.median()), 3),
                percent(float(expected.quantile(0.9)), 3),
                percent(float(prices.median()), 3),
                percent(float(prices.quantile(0.9)), 3),
                percent((found["known"] != found["learned"]).mean()),
                str(int(told["known"].isna().sum())),
            )
        )
    headings = ("month", "findings", "expected: median error", "9 in 10 below", "price to 70 lb: median error")
    return markdown((*headings, "9 in 10 below", "cause changes or goes", "findings that come"), rows)
