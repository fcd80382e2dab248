"""The reminder in words, and the calendar file as an iCalendar library and RFC 5545 read it."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import icalendar
import pandas as pd
import pytest

from auditor.core.schemas import DISPUTES, conform
from auditor.disputes import deadlines
from tests.run.test_month import audit

APRIL, LAST, JUNE = date(2026, 4, 2), date(2026, 5, 1), date(2026, 6, 1)


def disputes(*rows: tuple[str, str, int, date | None]) -> pd.DataFrame:
    """Disputes as (about, state, cents, last day)."""
    table = pd.DataFrame(rows, columns=["about", "state", "open_cents", "dispute_by"])
    return conform(
        table.assign(
            statement="S; 1",
            charges="additional handling, fuel",
            opened_on=pd.Timestamp("2026-04-02"),
            dispute_by=pd.to_datetime(table["dispute_by"]),
        ),
        DISPUTES,
    )


def entries(table: pd.DataFrame, today: date = APRIL) -> list[Any]:
    """The calendar's entries, as the library reads them."""
    return icalendar.Calendar.from_ical(deadlines.calendar(table, today)).walk("VEVENT")


TWO = disputes(("NP1", "open", 800, LAST), ("NPø2", "open", 1234, LAST), ("NP3", "sent", 900, LAST))


@pytest.mark.parametrize(("days", "when"), [(0, "today"), (1, "on 2026-05-01, in 1 day"), (10, "in 10 days")])
def test_what_expires_within_ten_days_is_said(days: int, when: str) -> None:
    """With how many, how much, and when the first ends; what was sent is not counted."""
    [said] = deadlines.reminders(TWO, LAST - timedelta(days=days))
    assert said.startswith("2 charges worth $20.34 can be disputed for 10 more days at most; the first ends ")
    assert said.endswith(f"{when}.")


@pytest.mark.parametrize("today", [LAST - timedelta(days=11), LAST + timedelta(days=1)])
def test_nothing_is_said_before_and_after(today: date) -> None:
    """Nor of what has no last day."""
    assert list(deadlines.reminders(TWO, today)) == []
    assert list(deadlines.reminders(disputes(("NP1", "open", 800, None)), today)) == []


def test_a_calendar_has_an_entry_for_each_statement_and_day() -> None:
    """Read back by the library; with a reminder ten days before."""
    [entry] = entries(TWO)
    assert entry["SUMMARY"] == "Last day to dispute 2 charges of statement S; 1 ($20.34)"
    assert (entry["DTSTART"].dt, entry["DTEND"].dt) == (LAST, LAST + timedelta(days=1))
    assert entry["DESCRIPTION"] == "NPø2: $12.34, additional handling, fuel\nNP1: $8.00, additional handling, fuel"
    assert entry["DTSTAMP"].dt.date() == date(2026, 4, 2)
    [alarm] = entry.walk("VALARM")
    assert alarm["TRIGGER"].dt == timedelta(days=-10)


@pytest.mark.parametrize(("left", "ahead"), [(11, 10), (10, 9), (5, 4), (1, 0), (0, None)])
def test_no_reminder_lies_in_the_past(left: int, ahead: int | None) -> None:
    """Tomorrow is the first day for one; what ends today has none, and what ended before has no entry."""
    [entry] = entries(TWO, LAST - timedelta(days=left))
    triggers = [alarm["TRIGGER"].dt for alarm in entry.walk("VALARM")]
    assert triggers == ([] if ahead is None else [timedelta(days=-ahead)])
    assert entries(TWO, LAST + timedelta(days=1)) == []


def test_past_its_last_day_nothing_is_worth_disputing_and_that_is_said() -> None:
    """With what it was, how strong and how much; on the day itself it still is."""
    whole = audit()
    assert deadlines.as_of(whole, LAST, {}).disputable_cents == whole.disputable_cents
    assert list(deadlines.too_late(whole, deadlines.as_of(whole, LAST, {}))) == []
    late = deadlines.as_of(whole, JUNE, {})
    assert late.disputable_cents == int(late.findings["disputable_cents"].sum()) == 0
    assert late.difference_cents == whole.difference_cents
    assert late.findings["dispute"].equals(whole.findings["dispute"])
    reasons = late.findings.loc[(whole.findings["disputable_cents"] > 0).fillna(value=False), "dispute_reason"]
    assert reasons.str.startswith("too late, since it could be disputed until 2026-05-0").all()
    [said] = deadlines.too_late(whole, late)
    assert said == (
        "26 charges worth $676.66 can no longer be disputed: the last day has passed, by the days that the rules give. "
        "Your contract decides; look there before you give them up."
    )


def test_what_was_sent_in_time_goes_on_and_what_was_refused_is_over() -> None:
    """By how the disputes of the book stand."""
    whole = audit()
    worth = whole.findings.loc[(whole.findings["disputable_cents"] > 0).fillna(value=False)]
    sent, refused = worth["finding"].iloc[0], worth["finding"].iloc[1]
    cents = int(worth["disputable_cents"].iloc[0])
    late = deadlines.as_of(whole, JUNE, {sent: "sent", refused: "refused"})
    assert late.disputable_cents == cents
    in_time = deadlines.as_of(whole, APRIL, {refused: "refused"})
    assert in_time.disputable_cents == whole.disputable_cents - int(worth["disputable_cents"].iloc[1])
    reason = in_time.findings.set_index("finding").loc[refused, "dispute_reason"]
    assert str(reason).startswith("the carrier refused it; to ask once more, take it up again")


def test_lines_end_and_are_folded_as_the_standard_says() -> None:
    """RFC 5545, section 3.1: CRLF, and no line over 75 octets; 3.3.11: commas and semicolons are escaped."""
    content = deadlines.calendar(TWO, APRIL)
    lines = content.split(b"\r\n")
    assert lines[-1] == b""
    assert b"\n" not in b"".join(lines)
    assert max(map(len, lines)) <= 75
    assert rb"statement S\; 1" in content.replace(b"\r\n ", b"")


def test_the_same_disputes_give_the_same_bytes_and_names() -> None:
    """So that a file imported again doubles no entry; another day is another entry."""
    assert deadlines.calendar(TWO, APRIL) == deadlines.calendar(TWO.iloc[::-1], APRIL)
    later = disputes(("NP1", "open", 800, LAST + timedelta(days=1)))
    assert entries(TWO)[0]["UID"] != entries(later)[0]["UID"]


def test_many_parcels_are_cut_short_and_counted() -> None:
    """A calendar is no list."""
    many = disputes(*((f"NP{number:03d}", "open", 100, LAST) for number in range(45)))
    [entry] = entries(many)
    assert entry["DESCRIPTION"].splitlines()[-1] == "and 5 charges more: auditor disputes"


def test_without_a_book_the_findings_are_reminded_of() -> None:
    """As much as the run says is worth disputing."""
    proposed = deadlines.proposed(audit())
    assert int(proposed["open_cents"].sum()) == audit().disputable_cents
    assert "26 charges worth $676.66" in next(iter(deadlines.reminders(proposed, date(2026, 4, 25))))
