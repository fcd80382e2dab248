"""The book of all months, and the run with it.

In go files, or none, and the book's file. Out comes an Audit of the statements given, by all that the book knows; and
the book, in which all is written down: files, findings, disputes and their history.

Read in this order:

ledger/           one SQLite file, and the original documents beside it
filing.py         files → the book, each once; what each gave out of it again
keys.py           what tells lines, findings and disputes apart from run to run
all_months.py     all months reckoned together → what is to be written
excerpt.py        an Audit of everything → the part that a run shows
kept_disputes.py  how the disputes stand; marking them
accounting.py     the run: files taken in, all reckoned together, written down, shown
kept_audit.py     what the book holds reckoned again, and not written
health.py         whether the book is whole, and each dispute stands as its history says
"""
