"""What every room stands on, and nothing of ours below it.

schemas/        the schema of every table that flows, and how a table is made to fit one
sides.py        the figures of a parcel, by the names of their columns
arrays.py       the types of arrays, and whole numbers of which some are not known
units.py        lengths in whole nanometres, weights in whole picograms
money.py        whole cents, and every way of splitting them
sandbox.py      work on a stranger's file in a process of its own, with bounded memory and time
progress.py     how far a run has come, told to whoever listens
whole_files.py  files that are there whole or not at all
characters.py   which characters are not seen, and texts without them
csv_cells.py    cells that no spreadsheet runs
"""
