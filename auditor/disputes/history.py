"""The history of disputes (EVENTS), to which is only added: how a dispute stands follows from it."""

from __future__ import annotations

from typing import Any

import pandas as pd

from auditor.core.schemas import EVENTS, conform, joined

KEY = ["statement", "about"]
"""What tells one dispute from another."""

BY_HAND = ("sent", "answered", "refused", "given up", "taken up again")
"""What only somebody can know, and so marks; a credit may be marked or stand on a statement."""


def added(events: pd.DataFrame, *more: pd.DataFrame) -> pd.DataFrame:
    """The history with events added at its end."""
    return joined((events, *more), EVENTS)


def events_of(happenings: list[dict[str, Any]]) -> pd.DataFrame:
    """Happenings as rows of the history (EVENTS)."""
    return conform(pd.DataFrame(happenings, columns=[column.name for column in EVENTS]), EVENTS)


def by_hand(events: pd.DataFrame) -> pd.Series:
    """Which events somebody marked."""
    return events["what"].isin(BY_HAND) | ((events["what"] == "credited") & events["by_statement"].isna())


def not_mine(events: pd.DataFrame) -> frozenset[str]:
    """The numbers of parcels of which the seller said that they are none of theirs."""
    return frozenset(events.loc[events["what"] == "not mine", "about"])


def on_statements(events: pd.DataFrame) -> pd.Series:
    """Which events are credits that a statement shows."""
    return (events["what"] == "credited") & events["by_statement"].notna()


def came_from(events: pd.DataFrame) -> dict[str, str]:
    """For each statement with which disputes of another went on, that other one."""
    gone_on = events[(events["what"] == "opened") & events["by_statement"].notna()]
    return dict(zip(gone_on["statement"], gone_on["by_statement"], strict=True))
