"""Whether the book is whole, and each dispute in it stands as its history says."""

from __future__ import annotations

from dataclasses import replace

from auditor.book.ledger import Book, reading_out, recording
from auditor.book.ledger.check import Health, check
from auditor.core.schemas import rows
from auditor.disputes.history import KEY
from auditor.disputes.states import states_of


def health_of(book: Book) -> Health:
    """`ledger.check`, and whether each dispute stands as its history says."""
    health = check(book)
    if health.damaged:
        return health
    with book.reading() as connection:
        states = states_of(recording.history(connection))
        written = reading_out.table(connection, "SELECT * FROM dispute", recording.BALANCE)
    columns = [column.name for column in recording.BALANCE]
    both = written.merge(states[columns], on=columns, how="outer", indicator=True)
    differing = both[both["_merge"] != "both"].drop_duplicates(KEY)
    faults = [
        f"the dispute about {row['about']} on statement {row['statement']} does not stand as its history says"
        for row in rows(differing)
    ]
    return replace(health, faults=(*health.faults, *faults))
