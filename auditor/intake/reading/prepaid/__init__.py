"""Papers about prepaid labels, read by figures: lists of corrections, histories of a balance, mails.

sheets.py      a grid as rows: a row each, or two that belong together
money.py       what was paid, what would have been right, what was taken; a balance that runs
kinds.py       what each movement of a balance is
figures.py     which sizes and weights were entered and which were measured
texts.py       days, orders, reasons
letters.py     letters as tables
papers.py      the best of it → MOVES
whole_files.py which files are such papers, with all of them as evidence
balance.py     where a balance does not run
lines.py       MOVES → lines and notices; what several papers tell is counted once
"""
