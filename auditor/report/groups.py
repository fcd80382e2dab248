"""Findings counted and added up, by cause and by carton."""

from __future__ import annotations

import pandas as pd

NO_CAUSE = "not priced"
NO_CARTON = "no carton recorded"


def by(findings: pd.DataFrame, column: str, missing: str) -> pd.DataFrame:
    """Findings counted and added up by a text column.

    Args:
        findings: a table of `tables.FINDINGS`.
        column: "cause" or "carton".
        missing: the name for findings without one.

    Returns:
        Columns `name`, `count`, `amount_cents` (the whole difference of those findings; one that could not be priced
        adds nothing) and `disputable_cents` (what of it is worth disputing), largest amount first and by name where
        amounts are equal. The amounts add up to those of all findings.
    """
    groups = findings.groupby(findings[column].fillna(missing).rename("name"))
    columns = {"amount_cents": "difference_cents", "disputable_cents": "disputable_cents"}
    sums = {name: groups[column].sum() for name, column in columns.items()}
    table = pd.DataFrame({"count": groups.size(), **sums}).reset_index()
    return table.sort_values(["amount_cents", "name"], ascending=[False, True], ignore_index=True)


def by_cause(findings: pd.DataFrame) -> pd.DataFrame:
    """Findings by their main cause, see `by`."""
    return by(findings, "cause", NO_CAUSE)


def by_carton(findings: pd.DataFrame) -> pd.DataFrame:
    """Findings by the carton used, see `by`."""
    return by(findings, "carton", NO_CARTON)
