"""Pages of docs/ that are written from the code. `python -m tests.written_docs` writes them anew."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from auditor.core import schemas

DOCS = Path(__file__).parents[1] / "docs"

SHOWN = {
    "Shipments": (schemas.SHIPMENTS, "The seller's record, `Audit.shipments`."),
    "Cartons": (schemas.CARTONS, "`Audit.cartons`."),
    "Statement lines": (schemas.LINES, "`Audit.lines`, with four columns more: see there."),
    "Statements": (schemas.STATEMENTS, "`Audit.statements`."),
    "Notices": (schemas.NOTICES, "Letters and e-mails about adjustments."),
    "Movements of prepaid labels": (schemas.MOVES, "`Audit.moves`: corrections, and what moved a balance."),
    "Readings": (schemas.READINGS, "`Audit.readings`: declared and read figures side by side."),
    "Findings": (schemas.FINDINGS, "`Audit.findings`."),
    "Disputes": (schemas.DISPUTES, "`booked.Booked.disputes`: all of the book, as they stand."),
    "History of disputes": (schemas.EVENTS, "What happened to each, in order; only added to."),
    "Later corrections": (schemas.CORRECTIONS, "`booked.Booked.corrections`: what changed of closed months."),
    "Parcels to check": (schemas.PARCELS, "What `auditor precheck` is given."),
    "Checks": (schemas.CHECKS, "What it expects of each parcel, for each service and zone."),
    "Room to limits": (schemas.ROOMS, "Each limit with the distance to it."),
    "Trims": (schemas.TRIMS, "What can be cut off."),
    "Costs of parcels": (schemas.PARCEL_COSTS, "What each sold parcel brought and cost."),
    "Left over": (schemas.LEFT_OVER, "What is left of what buyers paid."),
    "Flat charges": (schemas.FLAT_CHARGES, "The flat charge that covers a share of parcels."),
    "What if": (schemas.WHAT_IF, "Recorded months repriced with a change."),
    "Cartons' habits": (
        schemas.HABIT_CARTONS,
        "`Habits.cartons`, of `auditor.habits.study`; see [habits.md](habits.md).",
    ),
    "Cartons by month": (schemas.HABIT_MONTHS, "`Habits.by_month`."),
    "Excess of readings": (
        schemas.HABIT_EXCESS,
        "`Habits.excess`: how far the carrier reads beyond the declared figure.",
    ),
    "Readings and fit": (
        schemas.HABIT_READINGS,
        "`Habits.readings`: what is known of readings, and what the fit expects.",
    ),
    "Cuts": (schemas.HABIT_CUTS, "`Habits.cuts`: what each length of each side would bring."),
    "Default weights": (schemas.HABIT_WEIGHTS, "`Habits.weights`."),
    "Weights seen": (schemas.HABIT_WEIGHTS_SEEN, "`Habits.weights_seen`."),
    "Changes of habit": (schemas.HABIT_CHANGES, "`Habits.changes`."),
    "Advice": (schemas.HABIT_ADVICE, "`Habits.advice`: in sentences."),
    "Rates": (schemas.RATES, "The seller's price list."),
    "Fees": (schemas.FEES, "The amounts of surcharges."),
    "Fuel": (schemas.FUEL, "Fuel percentages by week."),
}

HEAD = """# Tables

What `auditor.reconcile([...])` gives a notebook, and what every part of the program hands to the next. This page is
written from `auditor/core/schemas/` (`python -m tests.written_docs`).

A column's name carries its unit: `_nm` whole nanometres (25,400,000 to the inch), `_pg` whole picograms
(453,592,370,000,000 to the pound), `_cents` whole cents, `_ppm` whole millionths, `_on` a day.
`auditor.core.units.shown` writes lengths and weights for people. **Bold** columns are needed: a row without one is of
no use.
"""


def tables_page() -> str:
    """docs/tables.md."""
    return HEAD + "".join(f"\n## {name}\n\n{about}\n\n{_table(schema)}" for name, (schema, about) in SHOWN.items())


def _table(schema: schemas.Schema) -> str:
    return "| column | dtype | meaning |\n| --- | --- | --- |\n" + "".join(_rows(schema))


def _rows(schema: schemas.Schema) -> Iterator[str]:
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
