"""The schema of every table that flows through the program.

A table is a pandas DataFrame. Its schema says, for each column, the dtype, the unit and the meaning; `docs/tables.md`
is written from here. Lengths are whole nanometres (`_nm`) and weights whole picograms (`_pg`), because every 1/64 in,
0.001 cm, 0.001 oz and gram is a whole number of those: no limit is ever decided by a rounded figure (see `units.py`).
Money is whole cents (`_cents`). Shares of a whole are whole millionths (`_ppm`). Dates end in `_on`.

columns.py     what a schema is made of
records.py     what the seller gives: shipments, cartons, prices
statements.py  what the carrier sends: statements and notices
prepaid.py     what whoever sells labels sends: corrections of them, movements of a balance
findings.py    what an audit says
costs.py       what parcels brought and cost, and what-ifs
habits.py      what cartons cost and how they are read
prechecks.py   the check before shipping
disputes.py    the life of disputes, and corrections of closed months
problem.py     what is wrong in what the user gave
conforming.py  tables made to fit a schema
"""

from auditor.core.schemas.columns import DATE, FLAG, SHARE, TEXT, WHOLE, Column, Schema
from auditor.core.schemas.conforming import conform, empty, joined, looked_up, names, rows
from auditor.core.schemas.costs import FLAT_CHARGES, LEFT_OVER, PARCEL_COSTS, WHAT_IF
from auditor.core.schemas.disputes import CORRECTIONS, DISPUTE_STATES, DISPUTES, EVENTS, HAPPENINGS
from auditor.core.schemas.findings import CAUSES, FINDINGS, READINGS, SHARES
from auditor.core.schemas.habits import (
    HABIT_ADVICE,
    HABIT_CARTONS,
    HABIT_CHANGES,
    HABIT_CUTS,
    HABIT_EXCESS,
    HABIT_MONTHS,
    HABIT_READINGS,
    HABIT_WEIGHTS,
    HABIT_WEIGHTS_SEEN,
)
from auditor.core.schemas.prechecks import CHECKS, PARCELS, ROOMS, TRIMS
from auditor.core.schemas.prepaid import MOVE_KINDS, MOVES
from auditor.core.schemas.problem import Problem
from auditor.core.schemas.records import CARTONS, FEES, FUEL, RATES, SHIPMENTS
from auditor.core.schemas.statements import LINES, NOTICES, PRINTED_TOTALS, REISSUES, REPLACED, STATEMENTS, STATES

__all__ = [
    "CARTONS",
    "CAUSES",
    "CHECKS",
    "CORRECTIONS",
    "DATE",
    "DISPUTES",
    "DISPUTE_STATES",
    "EVENTS",
    "FEES",
    "FINDINGS",
    "FLAG",
    "FLAT_CHARGES",
    "FUEL",
    "HABIT_ADVICE",
    "HABIT_CARTONS",
    "HABIT_CHANGES",
    "HABIT_CUTS",
    "HABIT_EXCESS",
    "HABIT_MONTHS",
    "HABIT_READINGS",
    "HABIT_WEIGHTS",
    "HABIT_WEIGHTS_SEEN",
    "HAPPENINGS",
    "LEFT_OVER",
    "LINES",
    "MOVES",
    "MOVE_KINDS",
    "NOTICES",
    "PARCELS",
    "PARCEL_COSTS",
    "PRINTED_TOTALS",
    "RATES",
    "READINGS",
    "REISSUES",
    "REPLACED",
    "ROOMS",
    "SHARE",
    "SHARES",
    "SHIPMENTS",
    "STATEMENTS",
    "STATES",
    "TEXT",
    "TRIMS",
    "WHAT_IF",
    "WHOLE",
    "Column",
    "Problem",
    "Schema",
    "conform",
    "empty",
    "joined",
    "looked_up",
    "names",
    "rows",
]
