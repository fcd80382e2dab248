"""A stranger's file by evidence: figures decide, words lean, arithmetic proves.

known.py       what the shop's own files and the book say before a carrier's file is read
agreement.py   evidence as log odds, chance counted in the document
cells.py       a grid's columns, each distinct text typed in the ways it can be read
tables.py      a way to see a grid, and where in it the parcels' numbers stand
structures.py  the ways to see a grid as a row a charge or a row a parcel
sums.py        which row or column is a sum of which, by arithmetic alone
amounts.py     which columns may be amounts
lines.py       amounts with their parcels, and what records and prices say of them
names.py       which text the amounts go with
measures.py    weights and sides, in the unit that agrees
roles.py       what the other columns are
lines_apart.py rows that are no lines of a parcel's: sums of others, the account's own
weighing.py    each way to read a grid, with what speaks for it
values.py      what was understood, as LINES and PRINTED_TOTALS
pages.py       pages as grids in several ways, by the numbers on them: anchored.py, halves.py, page_lines.py, bands.py
interpret.py   the way for which most speaks
plumbed.py     pages as pdfplumber's tables; fields.py: figures beside a number on a page
choice.py      by words or by evidence: whichever is proven better; beside.py the figures beside lines that both tell
charges.py     what each charge's name means by what its amounts do: ladders.py the steps that prices allow, percents.py
               fuel and taxes, behaviour.py where no price is known, marks.py names that differ by a mark alone
naming.py      each line's charge and state by that
proof.py       what proves the reading of a statement, and how far

The shop's own files, with the statements as their evidence:

own_files.py   which tables of all files are records, lists of cartons
billed.py      what statements say of each parcel
records.py     a table as records: record_rows.py a row a parcel, record_roles.py, record_measures.py its columns
carton_list.py lists of cartons in any form, and parcels that name a carton alone
"""
