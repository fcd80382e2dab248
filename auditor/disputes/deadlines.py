"""Until when something can be disputed: a reminder in words, and a calendar file (RFC 5545)."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import pandas as pd

from auditor.audit import Audit
from auditor.core.money import dollars
from auditor.core.schemas import DISPUTES, conform, looked_up

if TYPE_CHECKING:
    from icalendar import Event

SOON_DAYS = 10
"""So many days before its last day a dispute is reminded of."""

MOST_LISTED = 40
"""So many parcels are listed in a calendar entry; calendars cut longer texts."""

WAITING = ("open",)
"""States in which the carrier has not been written to yet."""


def proposed(audit: Audit) -> pd.DataFrame:
    """What an Audit without a book finds worth disputing, as DISPUTES that are all open."""
    worth = audit.findings["disputable_cents"]
    days = audit.statements.drop_duplicates("statement").set_index("statement")["statement_on"]
    found = audit.findings.assign(
        state="open",
        amount_cents=worth,
        open_cents=worth,
        about=audit.findings["tracking"].fillna(audit.findings["charges"]),
        statement_on=looked_up(audit.findings["statement"], days),
    )
    return conform(found[worth.fillna(0) > 0], DISPUTES)


LEFT = {
    "refused": "the carrier refused it; to ask once more, take it up again: auditor disputes take-up-again",
    "given up": "you gave it up",
}
"""Why a dispute that stands so is not worth disputing now."""


TOO_LATE = "too late"
"""How the reason begins why something past its last day is not worth disputing."""


def as_of(audit: Audit, today: date, states: Mapping[str, str]) -> Audit:
    """The Audit as it stands on a day: what can be disputed no longer is told so, and is not worth disputing.

    How strong a case it was stays: a contract may give more days than the rules do.

    Args:
        audit: of any statements.
        today: the day.
        states: how the disputes stand, by the finding's number; what was sent in time goes on.
    """
    table = audit.findings
    state = pd.Series([states.get(name, "open") for name in table["finding"]], index=table.index, dtype="str")
    worth = (table["disputable_cents"] > 0).fillna(value=False)
    late = worth & (state == "open") & (table["dispute_by"] < pd.Timestamp(today)).fillna(value=False)
    out = worth & state.isin(list(LEFT))
    until = table["dispute_by"].dt.strftime("%Y-%m-%d").astype("str")
    reason = table["dispute_reason"].mask(late, f"{TOO_LATE}, since it could be disputed until " + until + ": ")
    reason = reason.where(~late, reason + table["dispute_reason"])
    for how, why in LEFT.items():
        reason = reason.mask(out & (state == how), why)
    closed = late | out
    nothing = {name: table[name].mask(closed, 0) for name in ("disputable_cents", "strong_cents")}
    findings = table.assign(dispute=table["dispute"].mask(out, "none"), dispute_reason=reason, **nothing)
    return replace(audit, findings=findings, disputable_cents=int(findings["disputable_cents"].sum()))


def too_late(before: Audit, now: Audit) -> Iterator[str]:
    """A sentence on what an Audit found worth disputing but can no longer be disputed, if there is anything."""
    late = now.findings["dispute_reason"].str.startswith(TOO_LATE).fillna(value=False)
    cents = int(before.findings.loc[late, "disputable_cents"].sum())
    if late.any():
        yield (
            f"{_counted(int(late.sum()))} worth {dollars(cents)} can no longer be disputed: the last day has passed, "
            "by the days that the rules give. Your contract decides; look there before you give them up."
        )


def waiting(disputes: pd.DataFrame, today: date) -> pd.DataFrame:
    """The disputes not sent yet whose last day is still to come, by that day and then by amount, largest first."""
    in_time = (disputes["dispute_by"] >= pd.Timestamp(today)).fillna(value=False)
    open_ = disputes[disputes["state"].isin(WAITING) & in_time & (disputes["open_cents"] > 0)]
    return open_.sort_values(["dispute_by", "open_cents", "statement", "about"], ascending=[True, False, True, True])


def reminders(disputes: pd.DataFrame, today: date) -> Iterator[str]:
    """A sentence on what can be disputed for SOON_DAYS more days at most, if there is anything."""
    open_ = waiting(disputes, today)
    soon = open_[open_["dispute_by"].dt.date <= today + timedelta(days=SOON_DAYS)]
    if len(soon):
        first = soon["dispute_by"].iloc[0].date()
        left = (first - today).days
        when = "today" if left == 0 else f"on {first}, in {left} day{'' if left == 1 else 's'}"
        yield (
            f"{_counted(len(soon))} worth {dollars(int(soon['open_cents'].sum()))} can be disputed for {SOON_DAYS} "
            f"more days at most; the first ends {when}."
        )


def calendar(disputes: pd.DataFrame, today: date) -> bytes:
    """An entry for each statement and last day to come, all day long, with a reminder SOON_DAYS before (RFC 5545).

    Where that day has passed already, the reminder is for tomorrow; there is none for what ends today.

    The same disputes give the same bytes: an entry is stamped with the day on which its disputes were found, and known
    again by its statement and day, so that a file imported again does not double it.
    """
    from icalendar import Calendar

    made = Calendar()
    made.add("prodid", "-//auditor//disputes//EN")
    made.add("version", "2.0")
    for (_, statement), part in waiting(disputes, today).groupby(["dispute_by", "statement"]):
        made.add_component(_entry(str(statement), part["dispute_by"].iloc[0].date(), part, today))
    return bytes(made.to_ical())


def _entry(statement: str, last: date, disputes: pd.DataFrame, today: date) -> Event:
    from icalendar import Alarm, Event

    total = dollars(int(disputes["open_cents"].sum()))
    found = disputes["opened_on"].fillna(disputes["statement_on"]).max()
    stamp = datetime.combine(last if pd.isna(found) else found.date(), datetime.min.time(), UTC)
    entry = Event()
    entry.add("uid", hashlib.sha256(f"{statement}\n{last}".encode()).hexdigest()[:32] + "@auditor.invalid")
    entry.add("dtstamp", stamp)
    entry.add("dtstart", last)
    entry.add("dtend", last + timedelta(days=1))
    entry.add("transp", "TRANSPARENT")
    entry.add("summary", f"Last day to dispute {_counted(len(disputes))} of statement {statement} ({total})")
    entry.add("description", "\n".join(_listed(disputes)))
    ahead = min(SOON_DAYS, (last - today).days - 1)
    if ahead >= 0:
        left = f"{ahead} day{'' if ahead == 1 else 's'} left" if ahead else "the last day"
        reminder = Alarm()
        reminder.add("action", "DISPLAY")
        reminder.add("trigger", timedelta(days=-ahead))
        reminder.add("description", f"{left} to dispute {total} of statement {statement}")
        entry.add_component(reminder)
    return entry


def _listed(disputes: pd.DataFrame) -> Iterator[str]:
    largest = disputes.sort_values(["open_cents", "about"], ascending=[False, True])
    for about, charges, cents in largest[["about", "charges", "open_cents"]].head(MOST_LISTED).to_numpy().tolist():
        yield f"{about}: {dollars(int(cents))}, {charges}"
    if len(disputes) > MOST_LISTED:
        yield f"and {_counted(len(disputes) - MOST_LISTED)} more: auditor disputes"


def _counted(count: int) -> str:
    return f"{count:,} charge{'' if count == 1 else 's'}"
