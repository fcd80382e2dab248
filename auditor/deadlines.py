"""Until when something can be disputed: a reminder in words, and a calendar file (RFC 5545)."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import pandas as pd

from auditor.audit import Audit
from auditor.money import dollars
from auditor.tables import DISPUTES, conform, looked_up

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


def waiting(disputes: pd.DataFrame) -> pd.DataFrame:
    """The disputes not sent yet that have a last day, by that day and then by amount, largest first."""
    open_ = disputes[disputes["state"].isin(WAITING) & disputes["dispute_by"].notna() & (disputes["open_cents"] > 0)]
    return open_.sort_values(["dispute_by", "open_cents", "statement", "about"], ascending=[True, False, True, True])


def reminders(disputes: pd.DataFrame, today: date) -> Iterator[str]:
    """A sentence on what can be disputed for SOON_DAYS more days at most, if there is anything."""
    open_ = waiting(disputes)
    last = open_["dispute_by"].dt.date
    soon = open_[(last >= today) & (last <= today + timedelta(days=SOON_DAYS))]
    if len(soon):
        first = soon["dispute_by"].iloc[0].date()
        left = (first - today).days
        when = "today" if left == 0 else f"on {first}, in {left} day{'' if left == 1 else 's'}"
        yield (
            f"{_counted(len(soon))} worth {dollars(int(soon['open_cents'].sum()))} can be disputed for {SOON_DAYS} "
            f"more days at most; the first ends {when}."
        )


def calendar(disputes: pd.DataFrame) -> bytes:
    """An entry for each statement and last day, all day long, with a reminder SOON_DAYS before (RFC 5545).

    The same disputes give the same bytes: an entry is stamped with the day on which its disputes were found, and known
    again by its statement and day, so that a file imported again does not double it.
    """
    from icalendar import Calendar

    made = Calendar()
    made.add("prodid", "-//auditor//disputes//EN")
    made.add("version", "2.0")
    for (_, statement), them in waiting(disputes).groupby(["dispute_by", "statement"]):
        made.add_component(_entry(str(statement), them["dispute_by"].iloc[0].date(), them))
    return bytes(made.to_ical())


def _entry(statement: str, last: date, disputes: pd.DataFrame) -> Event:
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
    reminder = Alarm()
    reminder.add("action", "DISPLAY")
    reminder.add("trigger", timedelta(days=-SOON_DAYS))
    reminder.add("description", f"{SOON_DAYS} days left to dispute {total} of statement {statement}")
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
