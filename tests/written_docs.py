"""Pages of docs/ that are written from the code. `python -m tests.written_docs` writes them anew."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from auditor import tables

DOCS = Path(__file__).parents[1] / "docs"

SHOWN = {
    "Shipments": (tables.SHIPMENTS, "The seller's record, `Audit.shipments`."),
    "Cartons": (tables.CARTONS, "`Audit.cartons`."),
    "Statement lines": (tables.LINES, "`Audit.lines`, with four columns more: see there."),
    "Statements": (tables.STATEMENTS, "`Audit.statements`."),
    "Notices": (tables.NOTICES, "Letters and e-mails about adjustments."),
    "Readings": (tables.READINGS, "`Audit.readings`: declared and read figures side by side."),
    "Findings": (tables.FINDINGS, "`Audit.findings`."),
    "Disputes": (tables.DISPUTES, "`booked.Booked.disputes`: all of the book, as they stand."),
    "History of disputes": (tables.EVENTS, "What happened to each, in order; only added to."),
    "Later corrections": (tables.CORRECTIONS, "`booked.Booked.corrections`: what changed of closed months."),
    "Parcels to check": (tables.PARCELS, "What `auditor precheck` is given."),
    "Checks": (tables.CHECKS, "What it expects of each parcel, for each service and zone."),
    "Room to limits": (tables.ROOMS, "Each limit with the distance to it."),
    "Trims": (tables.TRIMS, "What can be cut off."),
    "Costs of parcels": (tables.PARCEL_COSTS, "What each sold parcel brought and cost."),
    "Left over": (tables.LEFT_OVER, "What is left of what buyers paid."),
    "Flat charges": (tables.FLAT_CHARGES, "The flat charge that covers a share of parcels."),
    "What if": (tables.WHAT_IF, "Recorded months repriced with a change."),
    "Cartons' habits": (
        tables.HABIT_CARTONS,
        "`Habits.cartons`, of `auditor.habits.study`; see [habits.md](habits.md).",
    ),
    "Cartons by month": (tables.HABIT_MONTHS, "`Habits.by_month`."),
    "Excess of readings": (
        tables.HABIT_EXCESS,
        "`Habits.excess`: how far the carrier reads beyond the declared figure.",
    ),
    "Readings and fit": (
        tables.HABIT_READINGS,
        "`Habits.readings`: what is known of readings, and what the fit expects.",
    ),
    "Cuts": (tables.HABIT_CUTS, "`Habits.cuts`: what each length of each side would bring."),
    "Default weights": (tables.HABIT_WEIGHTS, "`Habits.weights`."),
    "Weights seen": (tables.HABIT_WEIGHTS_SEEN, "`Habits.weights_seen`."),
    "Changes of habit": (tables.HABIT_CHANGES, "`Habits.changes`."),
    "Advice": (tables.HABIT_ADVICE, "`Habits.advice`: in sentences."),
    "Rates": (tables.RATES, "The seller's price list."),
    "Fees": (tables.FEES, "The amounts of surcharges."),
    "Fuel": (tables.FUEL, "Fuel percentages by week."),
}

HEAD = """# Tables

What `auditor.reconcile([...])` gives a notebook, and what every part of the program hands to the next. This page is
written from `auditor/tables.py` (`python -m tests.written_docs`).

A column's name carries its unit: `_nm` whole nanometres (25,400,000 to the inch), `_pg` whole picograms
(453,592,370,000,000 to the pound), `_cents` whole cents, `_ppm` whole millionths, `_on` a day. `auditor.units.shown`
writes lengths and weights for people. **Bold** columns are needed: a row without one is of no use.
"""


def tables_page() -> str:
    """docs/tables.md."""
    return HEAD + "".join(f"\n## {name}\n\n{about}\n\n{_table(schema)}" for name, (schema, about) in SHOWN.items())


def _table(schema: tables.Schema) -> str:
    return "| column | dtype | meaning |\n| --- | --- | --- |\n" + "".join(_rows(schema))


def _rows(schema: tables.Schema) -> Iterator[str]:
    for column in schema:
        name = f"**`{column.name}`**" if column.needed else f"`{column.name}`"
        yield f"| {name} | {column.dtype} | {column.meaning} |\n"


PAGES = {"tables.md": tables_page}


def main() -> None:
    """Write every page."""
    for name, page in PAGES.items():
        (DOCS / name).write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main()
