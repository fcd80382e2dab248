"""What findings open, change or leave nothing of."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd

from auditor.core.schemas import EVENTS, conform
from auditor.disputes.history import KEY


def from_findings(findings: pd.DataFrame, before: pd.DataFrame, statements: pd.Series, day: date) -> pd.DataFrame:
    """What findings open, change or leave nothing of (EVENTS). A dispute marked by hand keeps its amount.

    Args:
        findings: statement, about, worth_cents.
        before: STATES.
        statements: the statements that were reckoned; disputes of others stay as they are.
        day: the day of the run.
    """
    worth = findings.loc[findings["worth_cents"] > 0, [*KEY, "worth_cents"]]
    known = before[before["statement"].isin(statements)]
    both = worth.merge(known[[*KEY, "amount_cents", "touched"]], on=KEY, how="outer").sort_values(KEY)
    now = both["worth_cents"].astype("Int64").fillna(0)
    is_new = both["amount_cents"].isna()
    changed = ~is_new & ~both["touched"].fillna(value=False) & (now != both["amount_cents"]).fillna(value=False)
    events = both.assign(
        amount_cents=now, happened_on=pd.Timestamp(day), what=np.where(is_new, "opened", "changed")
    ).astype({"what": "str"})
    return conform(events[is_new | changed], EVENTS).reset_index(drop=True)
