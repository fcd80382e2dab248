"""What the program finds, held against what is known to be true, parcel by parcel; and rates with their intervals."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from os import cpu_count
from typing import TypeVar

import pandas as pd
from scipy.stats import binomtest

from auditor.audit import Audit
from tests.months.billing import Truth
from tests.months.write import SHARES

COLUMNS = [f"{cause.replace(' ', '_')}_cents" for cause in SHARES]

Given = TypeVar("Given")
Made = TypeVar("Made")


def spread(work: Callable[[Given], Made], given: Iterable[Given], workers: int | None = None) -> list[Made]:
    """The work done on each of the given, on every processor; the results in the order of the given."""
    count = workers or cpu_count() or 1
    if count == 1:
        return [work(one) for one in given]
    with ProcessPoolExecutor(count) as pool:
        return list(pool.map(work, given))


def by_name(
    names: Iterable[str], jobs: Sequence[tuple[str, int, int]], made: Sequence[pd.DataFrame]
) -> dict[str, pd.DataFrame]:
    """What was made of jobs (name, seed, size), by their name, one below the other; empty where nothing was."""
    parts = [(job[0], table) for job, table in zip(jobs, made, strict=True)]
    return {name: pd.concat([table for of, table in parts if of == name] or [NOTHING]) for name in names}


def held(audit: Audit, truths: Mapping[str, Truth]) -> pd.DataFrame:
    """A row for each parcel with a truth or a finding, by its number.

    Returns:
        Columns planted (there is a truth), found, cause (its own, where planted), told (the cause found), cause_right,
        cents_right (the difference and each of its shares to the cent), probability (of an inferred reading; else
        missing).
    """
    findings = audit.findings
    number = findings["shipment_tracking"].fillna(findings["tracking"])
    told = findings.assign(number=number).dropna(subset=["number", "cause"]).drop_duplicates("number")
    told = told.set_index("number")
    readings = audit.readings.dropna(subset="finding").set_index("finding")["inferred"]
    planted = {number: truth for number, truth in truths.items() if truth.shares is not None}
    table = pd.DataFrame(index=told.index.union(pd.Index(list(planted), dtype="str")))
    table["planted"] = table.index.isin(list(planted))
    table["found"] = table.index.isin(told.index)
    table["cause"] = pd.Series({number: truth.cause for number, truth in planted.items()}, dtype="str")
    table["told"] = told["cause"]
    table["cause_right"] = (table["cause"] == table["told"]).fillna(value=False)
    table["cents_right"] = [
        number in planted and number in told.index and _same_cents(told.loc[number], planted[number])
        for number in table.index
    ]
    table["probability"] = told["finding"].map(readings[~readings.index.duplicated()])
    return table


def _same_cents(finding: pd.Series, truth: Truth) -> bool:
    shares = truth.shares or {}
    told = [None if pd.isna(finding[column]) else int(finding[column]) for column in ("difference_cents", *COLUMNS)]
    return told == [truth.billed - truth.expected, *(shares.get(cause, 0) for cause in SHARES)]


NOTHING = pd.DataFrame(
    {
        "planted": pd.Series(dtype=bool),
        "found": pd.Series(dtype=bool),
        "cause": pd.Series(dtype="str"),
        "told": pd.Series(dtype="str"),
        "cause_right": pd.Series(dtype=bool),
        "cents_right": pd.Series(dtype=bool),
        "probability": pd.Series(dtype="Float64"),
    }
)
"""`held` of no parcel."""

NAMES = ("planted", "found", "right cause", "right cents", "false")


def scores(table: pd.DataFrame) -> tuple[str, ...]:
    """The NAMES as cells of a table: how many are planted, the shares of them, and how many findings are false."""
    planted = table[table["planted"]]
    rates = [percent(planted[column].mean()) for column in ("found", "cause_right", "cents_right")]
    return (f"{len(planted):,}", *rates, f"{int((~table['planted']).sum())}")


def percent(share: float, places: int = 1) -> str:
    """0.9876 → '98.8 %'; a missing one is a dash."""
    return "–" if pd.isna(share) else f"{100 * share:.{places}f} %"


BINS = (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.87, 0.93, 0.97, 0.99, 1.0)
"""What was said to be likely is counted by these ranges; those around 0.9 are narrow."""


def reliability(said: pd.Series, right: pd.Series) -> pd.DataFrame:
    """Of what was said with a probability in each of the BINS: how many, what was said on average, and what is right.

    Returns:
        A row for each range: low, high, count, said, right, and the 95 % interval of right after Wilson, from and to.
    """
    said, right = said.astype(float).reset_index(drop=True), right.astype(bool).reset_index(drop=True)
    bins = pd.cut(said, BINS)
    table = pd.DataFrame({"low": BINS[:-1], "high": BINS[1:]}, index=bins.cat.categories)
    table["count"] = bins.value_counts(sort=False)
    table["said"] = said.groupby(bins, observed=False).mean()
    table["right"] = right.groupby(bins, observed=False).mean()
    hits = right.groupby(bins, observed=False).sum()
    intervals = [
        binomtest(int(hit), int(count)).proportion_ci(method="wilson") if count else (float("nan"), float("nan"))
        for hit, count in zip(hits, table["count"], strict=True)
    ]
    table[["from", "to"]] = [tuple(interval) for interval in intervals]
    return table.reset_index(drop=True)


def markdown(headings: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """A table: the first column is words, the others are figures."""
    headings = list(headings)
    marks = ["---", *["---:"] * (len(headings) - 1)]
    return "\n".join(f"| {' | '.join(row)} |" for row in (headings, marks, *rows))


def reliability_rows(table: pd.DataFrame) -> str:
    """The table of `reliability` for a page."""
    rows = [
        (f"{low:.2f} to {high:.2f}", f"{int(count):,}", *(_figures(said, right, least, most) if count else ("–",) * 3))
        for low, high, count, said, right, least, most in table.itertuples(index=False, name=None)
    ]
    return markdown(("said to be right", "how many", "said on average", "right", "95 % interval"), rows)


def _figures(said: float, right: float, least: float, most: float) -> tuple[str, str, str]:
    return f"{said:.3f}", f"{right:.3f}", f"{least:.3f} to {most:.3f}"
