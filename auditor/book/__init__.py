"""The book of all months, and the run with it.

ledger/        one SQLite file, and the original documents beside it
accounting.py  files taken in, all months reckoned together, disputes kept
kept_audit.py  what the book holds reckoned again, and not written
"""
