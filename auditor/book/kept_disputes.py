"""The disputes that a book keeps: how they stand, what happened to them, and what is marked of them by hand."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from auditor.audit import Audit
from auditor.book.keys import keyed
from auditor.book.ledger import Book, recording
from auditor.core.schemas import rows
from auditor.disputes.history import KEY, added
from auditor.disputes.marking import ClaimError, Mark, answered_not_mine, marked
from auditor.disputes.states import states_of
from auditor.findings.assembly import NOT_MINE
from auditor.match import normalised

__all__ = ["Mark", "answer_not_mine", "disputes", "history_of", "mark", "state_by_finding"]


def disputes(book: Book) -> pd.DataFrame:
    """Every dispute as it stands, with the finding it is about (`tables.DISPUTES`)."""
    with book.reading() as connection:
        states = states_of(recording.history(connection)).set_index(KEY)
    table = recording.disputes(book).set_index(KEY)
    for column in ("opened_on", "sent_on", "reference", "note"):
        table[column] = states[column].reindex(table.index)
    return table.reset_index()


def state_by_finding(audit: Audit, disputes: pd.DataFrame) -> dict[str, str]:
    """How the disputes about an Audit's findings stand, by the findings' numbers."""
    both = keyed(audit)[1][[*KEY, "finding"]].merge(disputes[[*KEY, "state"]], on=KEY)
    return dict(zip(both["finding"], both["state"], strict=True))


def history_of(book: Book, name: str) -> pd.DataFrame:
    """All that happened to the disputes of that name (EVENTS), in order."""
    with book.reading() as connection:
        events, findings = recording.history(connection), recording.findings(connection)
    happened = events[_called(name, events, findings)]
    if happened.empty:
        raise ClaimError(f"There is no dispute about {name}. 'auditor disputes' lists all.")
    return happened


def mark(
    book: Book, names: Sequence[str], how: Mark, *, today: date, statement: str | None = None
) -> list[dict[str, Any]]:
    """Mark disputes, all of those named or none; how they stand afterwards, a row of `states.STATES` each.

    Args:
        book: the book.
        names: parcels' numbers as billed or recorded, or what a dispute about no parcel is called.
        how: what happened.
        today: the day of the run.
        statement: its number, where a parcel is disputed on several.

    Raises:
        auditor.disputes.marking.ClaimError: there is no such dispute, or it cannot be marked so.
    """
    with book.writing() as connection:
        events, findings = recording.history(connection), recording.findings(connection)
        states = states_of(events)
        chosen = [_chosen(name, statement, states, findings) for name in names]
        new = [marked(dispute, how, today=today) for dispute in chosen]
        after = states_of(added(events, *new))
        recording.write_disputes(connection, added(*new), after)
    wanted = {(dispute["statement"], dispute["about"]) for dispute in chosen}
    return [dispute for dispute in rows(after) if (dispute["statement"], dispute["about"]) in wanted]


def answer_not_mine(
    book: Book, names: Sequence[str], *, today: date, statement: str | None = None
) -> list[dict[str, Any]]:
    """Note that parcels in no record are none of the seller's; how their disputes stand then, as `mark` gives it.

    Raises:
        auditor.disputes.marking.ClaimError: there is nothing found about such a parcel, or it is in the records.
    """
    with book.writing() as connection:
        events, findings = recording.history(connection), recording.findings(connection)
        states = states_of(events)
        wanted = pd.concat([_asked_about(name, statement, findings) for name in names]).drop_duplicates(KEY)
        for finding in rows(wanted):
            its = states[(states[KEY] == [finding[name] for name in KEY]).all(axis=1)]
            answer = answered_not_mine(finding, its, today)
            states = states_of(events := added(events, answer))
            recording.write_answer(connection, finding, answer, states, NOT_MINE)
    keys = set(wanted[KEY].itertuples(index=False, name=None))
    return [dispute for dispute in rows(states) if (dispute["statement"], dispute["about"]) in keys]


def _asked_about(name: str, statement: str | None, findings: pd.DataFrame) -> pd.DataFrame:
    """The findings that a name means, on that statement or on all."""
    found = findings[_called(name, findings, findings)]
    found = found[found["statement"] == statement] if statement else found
    if found.empty:
        where = f" on statement {statement}" if statement else ""
        raise ClaimError(f"The book has nothing to ask about {name}{where}. The report names the parcels in question.")
    return found


def _chosen(name: str, statement: str | None, states: pd.DataFrame, findings: pd.DataFrame) -> dict[str, Any]:
    """The dispute that is meant: of several, the one that is still open."""
    called = states[_called(name, states, findings)]
    called = called[called["statement"] == statement] if statement else called
    open_ = called[called["open_cents"] > 0]
    meant = open_ if len(called) > 1 and len(open_) == 1 else called
    if meant.empty:
        where = f" on statement {statement}" if statement else ""
        raise ClaimError(f"There is no dispute about {name}{where}. 'auditor disputes' lists all.")
    if len(meant) > 1:
        several = ", ".join(sorted(meant["statement"]))
        raise ClaimError(f"{name} is disputed on several statements: {several}. Name one with --statement.")
    return rows(meant)[0]


def _called(name: str, table: pd.DataFrame, findings: pd.DataFrame) -> pd.Series:
    """Which rows (statement, about) a name means: a number as billed or as recorded, or the words of a charge."""
    number = normalised(pd.Series([name], dtype="str"))[0]
    recorded = findings.loc[(normalised(findings["shipment_tracking"]) == number).fillna(value=False), KEY]
    keys = set(recorded.itertuples(index=False, name=None))
    is_recorded = np.array([key in keys for key in zip(*(table[column] for column in KEY), strict=True)], dtype=bool)
    return pd.Series(table["about"].isin([name, number]).to_numpy() | is_recorded, index=table.index, dtype=bool)
