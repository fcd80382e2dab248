"""How many cells of each layout of tables are read right, without a saved reading.

Run: python -m tests.layouts.table_score
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from auditor import intake
from tests.layouts.table_layouts import LAYOUTS, Layout
from tests.layouts.table_truth import cells_right, lines, total, truth

PARCELS, SEED = 60, 4


def score(layout: Layout, folder: Path) -> tuple[int, int, bool]:
    """Cells read right, cells in all, and whether the lines come to the total that the document prints."""
    planted = lines(PARCELS, SEED, metric=layout.metric, numbers=layout.numbers)
    taken = intake.read([layout.write(folder, planted)])
    right, of = cells_right(taken.lines, truth(planted, layout.fields, metric=layout.metric))
    printed = taken.printed_totals["printed_total_cents"].to_list()
    read = int(taken.lines["amount_cents"].sum())
    return right, of, printed == [read] == [total(planted)]


def table() -> str:
    """The rows of the table in docs/reading.md."""
    rows = ["| layout | written with | cells | right | ties out |", "| --- | --- | --- | --- | --- |"]
    for layout in LAYOUTS:
        with tempfile.TemporaryDirectory() as folder:
            right, of, ties = score(layout, Path(folder))
        share = f"{100 * right / of:.1f} %"
        rows.append(f"| {layout.name} | {layout.writer} | {of:,} | {share} | {'yes' if ties else 'no'} |")
    return "\n".join(rows)


if __name__ == "__main__":
    print(table())
