"""How disputes stand by their history: disputed = open + credited + refused + given up, to the cent, at every time."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.core.schemas import Column, Schema, conform, empty
from auditor.disputes.history import KEY, by_hand

STATES: Schema = (
    *(Column(name, "str", "which dispute") for name in KEY),
    Column("state", "str", "one of DISPUTE_STATES"),
    *(Column(f"{name}_cents", "Int64", name) for name in ("amount", "open", "credited", "refused", "given_up")),
    Column("opened_on", "datetime64[s]", "first found"),
    Column("sent_on", "datetime64[s]", "last sent"),
    Column("reference", "str", "the carrier's number for it, as last marked"),
    Column("note", "str", "the last note"),
    Column("touched", "boolean", "something was marked by hand: its amount no longer follows what is found"),
)
"""How disputes stand, a row each."""

TURNS = ("refused", "given up", "taken up again")


def states_of(events: pd.DataFrame) -> pd.DataFrame:
    """How each dispute stands (STATES), from the whole history of all, in order."""
    if events.empty:
        return empty(STATES)
    # By a plain number for each dispute, since an index of two columns is slow.
    events = events.set_index(events.groupby(KEY, sort=False).ngroup().rename(None))
    first = events.loc[~events.index.duplicated(), KEY]
    amount = _last(events, ("opened", "changed"), "amount_cents", first.index).astype(np.int64)
    marked = by_hand(events)
    credited = np.minimum(amount, _credited(events, marked, first.index))
    rest = amount - credited
    turn = _last(events, TURNS, "what", first.index)
    refused, given_up = rest.where(turn == "refused", 0), rest.where(turn == "given up", 0)
    table = first.assign(
        amount_cents=amount,
        credited_cents=credited,
        refused_cents=refused,
        given_up_cents=given_up,
        open_cents=rest - refused - given_up,
        opened_on=_last(events, ("opened",), "happened_on", first.index),
        sent_on=_last(events, ("sent",), "happened_on", first.index),
        reference=events["reference"].groupby(level=0).last(),
        note=events["note"].groupby(level=0).last(),
        touched=marked.groupby(level=0).any(),
    )
    table["state"] = _state(table, _last(events, ("sent", "answered"), "what", first.index), turn)
    return conform(table, STATES).reset_index(drop=True)


def _last(events: pd.DataFrame, what: tuple[str, ...], column: str, disputes: pd.Index) -> pd.Series:
    """The column's value in the last event of those kinds, for each dispute; missing where there is none."""
    chosen = events.loc[events["what"].isin(what), column]
    return chosen[~chosen.index.duplicated(keep="last")].reindex(disputes)


def _credited(events: pd.DataFrame, marked: pd.Series, disputes: pd.Index) -> pd.Series:
    """What was credited: as marked by hand, or as later statements show. The greater of the two counts."""
    credit = events["what"] == "credited"
    marked_by_hand, on_statements = (_sums(events[credit & by], disputes) for by in (marked, ~marked))
    return marked_by_hand.where(marked_by_hand >= on_statements, on_statements)


def _sums(credits_: pd.DataFrame, disputes: pd.Index) -> pd.Series:
    cents = credits_["amount_cents"].groupby(level=0).sum()
    return cents.reindex(disputes, fill_value=0).astype(np.int64)


def _state(table: pd.DataFrame, stage: pd.Series, turn: pd.Series) -> pd.Series:
    decided = {
        "withdrawn": table["amount_cents"] == 0,
        "credited": table["credited_cents"] == table["amount_cents"],
        "refused": turn == "refused",
        "given up": turn == "given up",
        "answered": stage == "answered",
        "sent": stage == "sent",
    }
    return pd.Series(np.select(list(decided.values()), list(decided), "open"), index=table.index)
