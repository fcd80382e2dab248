"""Disputes of a statement that is issued again: they go on with the one in its place, for what that bills."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

import pandas as pd

from auditor.core.money import dollars
from auditor.core.schemas import rows
from auditor.disputes.history import KEY, by_hand, events_of, on_statements
from auditor.disputes.states import states_of

AS_WAS = "it is billed again as it was"


def moved(events: pd.DataFrame, to: Mapping[str, str], day: date) -> pd.DataFrame:
    """The events (EVENTS) by which disputes marked by hand go on with the statement in whose place theirs was issued.

    What was written to the carrier, and what came of it, is put down again for the new one; the old one is left with
    nothing open. One that was marked on both stays with the new one as it is.

    Args:
        events: the history so far.
        to: for each statement that is not counted any more, the one in its place.
        day: the day of the run.
    """
    states = states_of(events)
    marked = states[states["touched"] & (states["amount_cents"] > 0)]
    known = set(zip(marked["statement"], marked["about"], strict=True))
    happenings: list[dict[str, Any]] = []
    for dispute in rows(marked[marked["statement"].isin(list(to))]):
        about, new = dispute["about"], to[str(dispute["statement"])]
        before = _happened_to(dispute, events)
        if (new, about) not in known:
            happenings += _gone_on(dispute, new, before, _happened_to({"statement": new, "about": about}, events))
        happenings += _left_behind(dispute, new, before, day)
    return events_of(happenings)


def _happened_to(dispute: Mapping[str, Any], events: pd.DataFrame) -> pd.DataFrame:
    """What happened to one dispute."""
    statement, about = dispute["statement"], dispute["about"]
    happened: pd.DataFrame = events[(events["statement"] == statement) & (events["about"] == about)]
    return happened


def _gone_on(dispute: dict[str, Any], new: str, events: pd.DataFrame, known: pd.DataFrame) -> Iterator[dict[str, Any]]:
    """What happened to a dispute, put down for the statement with which it goes on; nothing of it twice."""
    about, old = dispute["about"], dispute["statement"]
    yield {
        "statement": new,
        "about": about,
        "happened_on": dispute["opened_on"],
        "what": "opened",
        "amount_cents": dispute["amount_cents"],
        "by_statement": old,
        "note": f"goes on from statement {old}, in the place of which this one was issued",
    }
    kept = ["happened_on", "what", "amount_cents", "reference", "note"]
    seen = {tuple(map(str, row)) for row in known[kept].itertuples(index=False, name=None)}
    for row in rows(events.loc[by_hand(events), kept]):
        if tuple(map(str, row.values())) not in seen:
            yield row | {"statement": new, "about": about}


def _left_behind(dispute: dict[str, Any], new: str, events: pd.DataFrame, day: date) -> Iterator[dict[str, Any]]:
    """What leaves nothing of a dispute that goes on with another statement, nor of what was credited of it."""
    base = {name: dispute[name] for name in KEY} | {"happened_on": pd.Timestamp(day)}
    note = f"goes on with statement {new}, which was issued in the place of this one"
    yield base | {"what": "changed", "amount_cents": 0, "by_statement": new, "note": note}
    for by, cents in events[on_statements(events)].groupby("by_statement")["amount_cents"].sum().items():
        if cents:
            yield base | {"what": "credited", "amount_cents": -int(cents), "by_statement": by, "note": note}


def lowered(
    events: pd.DataFrame, less: Mapping[tuple[str, str], int], worth: Mapping[tuple[str, str], int], day: date
) -> pd.DataFrame:
    """The events (EVENTS) of what a statement, issued again, bills less for what was claimed; or bills again after all.

    What is billed less for the parcel need not be of what was claimed: what is found still to be wrong stays claimed.

    Args:
        events: the history so far.
        less: cents by statement and what a dispute is about, of statements that are counted.
        worth: what is worth disputing by what is found now, by the same.
        day: the day of the run.
    """
    states = states_of(events)
    undecided = states[states["touched"] & states["state"].isin(["open", "sent", "answered", "withdrawn"])]
    own = events[(events["what"] == "opened") | ((events["what"] == "changed") & events["by_statement"].isna())]
    claimed = own.drop_duplicates(KEY, keep="last").set_index(KEY)["amount_cents"]
    happenings: list[dict[str, Any]] = []
    for dispute in rows(undecided):
        key = dispute["statement"], dispute["about"]
        claim = int(claimed[key])
        rest = max(claim - less.get(key, 0), min(worth.get(key, 0), claim))
        if rest != dispute["amount_cents"] and _is_here(_happened_to(dispute, events), dispute["statement"]):
            happenings.append(_lowered(dispute, claim - rest, rest, day))
    return events_of(happenings)


def _lowered(dispute: dict[str, Any], cents: int, rest: int, day: date) -> dict[str, Any]:
    note = f"{dollars(cents)} of it is no longer billed, as the statement was issued again" if cents else AS_WAS
    base = {name: dispute[name] for name in KEY} | {"happened_on": pd.Timestamp(day), "what": "changed"}
    return base | {"amount_cents": rest, "by_statement": dispute["statement"], "note": note}


def _is_here(events: pd.DataFrame, statement: str) -> bool:
    """Whether a dispute has not gone on with another statement, by the last that was opened or changed of it."""
    last = events[events["what"].isin(["opened", "changed"])].iloc[-1]
    return bool(last["what"] == "opened" or pd.isna(last["by_statement"]) or last["by_statement"] == statement)
