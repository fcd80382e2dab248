"""The book: one SQLite file that holds all months, and beside it a folder with the original documents.

    opening.py      make, open, upgrade; one write, whole or not at all; steps/ holds its form, step by step
    documents.py    the originals, kept by content
    taking_in.py    what a file gave → rows
    reading_out.py  rows → tables of the schemas in `auditor.core.schemas`
    recording.py    what was reckoned: statements, findings, disputes and their history
    closing.py      a month's figures as they stood, and what has changed since
    balances.py     the sums that must hold after every write
    whereabouts.py  where it lies, and whether that is a safe place
    check.py        whether the book and its documents are whole
    copies.py       backup, export, import

What came from files is kept file by file and never mixed: what they say together is reckoned anew each time, so the
order in which they came changes nothing.
"""

from auditor.book.ledger.opening import Book, BookError, opened

__all__ = ["Book", "BookError", "opened"]
