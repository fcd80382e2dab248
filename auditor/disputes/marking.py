"""What somebody marks by hand: that a dispute was sent, answered, credited, refused, given up or taken up again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import pandas as pd

from auditor.core.money import dollars
from auditor.disputes.history import KEY, added, events_of
from auditor.disputes.opening import from_findings


class ClaimError(Exception):
    """A dispute cannot be marked so; why, and what to do, in words for the user."""


@dataclass(frozen=True)
class Mark:
    """What is to be marked of a dispute.

    `what`: sent, answered, credited, refused, given up or taken up again; `on`: the day it happened. `amount_cents`:
    what was credited, all that is open where it is not given. `reference`: the carrier's number for it. `note`:
    anything worth remembering.
    """

    what: str
    on: date
    amount_cents: int | None = None
    reference: str | None = None
    note: str | None = None


def marked(dispute: dict[str, Any], mark: Mark, *, today: date) -> pd.DataFrame:
    """The event (EVENTS, one row) of marking a dispute by hand.

    Args:
        dispute: its row of STATES.
        mark: what happened.
        today: the day it is marked.

    Raises:
        ClaimError: it cannot be marked so.
    """
    name = f"The dispute about {dispute['about']} on statement {dispute['statement']}"
    if why := _impossible(dispute, mark.what, mark.on, today):
        raise ClaimError(f"{name} cannot be marked as {mark.what}: {why}.")
    open_cents = int(dispute["open_cents"])
    amount_cents = None
    if mark.what == "credited":
        amount_cents = open_cents if mark.amount_cents is None else mark.amount_cents
        if not 0 < amount_cents <= open_cents:
            raise ClaimError(
                f"{name}: {dollars(amount_cents)} cannot be credited, since {dollars(open_cents)} of it is open. Give "
                "an amount up to that."
            )
    happening = {name: dispute[name] for name in KEY} | {
        "happened_on": pd.Timestamp(mark.on),
        "what": mark.what,
        "amount_cents": amount_cents,
        "reference": mark.reference,
        "note": mark.note,
    }
    return events_of([happening])


def answered_not_mine(finding: dict[str, Any], before: pd.DataFrame, today: date) -> pd.DataFrame:
    """The events (EVENTS) of the answer that a parcel in no record is none of the seller's: what it costs is disputed.

    Args:
        finding: statement, about, cause and difference_cents of what was found.
        before: the dispute's row of STATES; none where there is none yet.
        today: the day of the answer.

    Raises:
        ClaimError: it is no parcel in no record.
    """
    key = {name: finding[name] for name in KEY}
    if finding["cause"] != "unknown parcel":
        raise ClaimError(
            f"{finding['about']} on statement {finding['statement']} is no parcel that is missing in your records, so "
            "there is nothing to answer. If a record is wrong, mend that and run again."
        )
    answer = events_of([key | {"happened_on": pd.Timestamp(today), "what": "not mine"}])
    worth = pd.DataFrame([key | {"worth_cents": max(int(finding["difference_cents"]), 0)}])
    return added(answer, from_findings(worth, before, pd.Series([key["statement"]]), today))


def _impossible(dispute: dict[str, Any], what: str, on: date, today: date) -> str:
    """Why a dispute cannot be marked so; "" when it can."""
    state = dispute["state"]
    closed = state in {"credited", "refused", "given up", "withdrawn"}
    if on > today:
        return f"{on} is still to come. Give the day on which it happened"
    if what == "taken up again":
        return "" if state in {"refused", "given up"} else f"it is {state}, not refused or given up"
    if closed and not (what == "answered" and state == "refused"):
        again = ". Take it up again first" if state in {"refused", "given up"} else ""
        return f"it is {state} already{again}"
    if what in {"answered", "refused"} and state == "open":
        return "it was never marked as sent. Mark it as sent first"
    return ""
