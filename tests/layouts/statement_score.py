"""How statements written without knowledge of the reader are read: cells right, sums, printed totals.

Run: python -m tests.layouts.statement_score [part of a layout's name]
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from auditor import intake
from tests.layouts import (
    eighth_pdfs,
    eighth_tables,
    fifth_pdfs,
    fifth_tables,
    fourth_pdfs,
    fourth_tables,
    ninth_pdfs,
    ninth_tables,
    second_pdfs,
    second_tables,
    seventh_pdfs,
    seventh_tables,
    sixth_pdfs,
    sixth_tables,
    third_pdfs,
    third_tables,
    unseen_pdfs,
    unseen_tables,
)
from tests.layouts.pdf_layouts import Layout as PdfLayout
from tests.layouts.table_layouts import Layout
from tests.layouts.table_truth import Line, cells_right, lines, total, truth

SETS: dict[str, tuple[Layout | PdfLayout, ...]] = {
    "first": (*unseen_tables.LAYOUTS, *unseen_pdfs.LAYOUTS),
    "second": (*second_tables.LAYOUTS, *second_pdfs.LAYOUTS),
    "third": (*third_tables.LAYOUTS, *third_pdfs.LAYOUTS),
    "fourth": (*fourth_tables.LAYOUTS, *fourth_pdfs.LAYOUTS),
    "fifth": (*fifth_tables.LAYOUTS, *fifth_pdfs.LAYOUTS),
    "sixth": (*sixth_tables.LAYOUTS, *sixth_pdfs.LAYOUTS),
    "seventh": (*seventh_tables.LAYOUTS, *seventh_pdfs.LAYOUTS),
    "eighth": (*eighth_tables.LAYOUTS, *eighth_pdfs.LAYOUTS),
    "ninth": (*ninth_tables.LAYOUTS, *ninth_pdfs.LAYOUTS),
}


@dataclass(frozen=True)
class Score:
    """What was read of one statement, beside what it has."""

    right: int
    of: int
    read_cents: int
    planted_cents: int
    tax_cents: int
    printed: tuple[int, ...]
    taken: intake.Intake

    @property
    def ties_out(self) -> bool:
        """Whether lines and printed total are both those of the document, with a tax that it adds or without."""
        with_tax = self.planted_cents + self.tax_cents
        return self.printed in {(self.planted_cents,), (with_tax,)} and self.read_cents == self.planted_cents


def planted(layout: Layout | PdfLayout) -> list[Line]:
    """The lines that a layout is given."""
    if isinstance(layout, PdfLayout):
        by_day = "day" in layout.name
        return sorted(lines(60, 5, metric=layout.metric), key=lambda line: line.shipped_on if by_day else 0)
    return lines(60, 4, metric=layout.metric, numbers=layout.numbers)


def score(layout: Layout | PdfLayout, folder: Path) -> Score:
    """What is read of a layout, written into that folder."""
    them: Sequence[Line] = planted(layout)
    if isinstance(layout, PdfLayout):
        path = folder / "statement.pdf"
        layout.write(path, them)
    else:
        path = layout.write(folder, them)
    taken = intake.read([path])
    taxed = taken.lines["state"] == "tax"
    lines_read = taken.lines[~taxed]
    right, of = cells_right(lines_read, truth(them, layout.fields, metric=layout.metric))
    printed = tuple(int(cents) for cents in taken.printed_totals["printed_total_cents"].dropna())
    read, tax = (int(taken.lines["amount_cents"][ours].sum()) for ours in (~taxed, taxed))
    return Score(right, of, read, total(them), tax, printed, taken)


def table(part: str = "") -> str:
    """A row for each layout whose name has that part."""
    rows = ["| set | layout | cells | right | sum | total |", "| --- | --- | --- | --- | --- | --- |"]
    for called, layouts in SETS.items():
        for layout in layouts:
            if part not in layout.name:
                continue
            with tempfile.TemporaryDirectory() as folder:
                got = score(layout, Path(folder))
            share = f"{100 * got.right / got.of:.1f} %"
            read = "right" if got.read_cents == got.planted_cents else f"{got.read_cents} for {got.planted_cents}"
            rows.append(
                f"| {called} | {layout.name} | {got.of:,} | {share} | {read} | "
                f"{'ties out' if got.ties_out else 'not found' if not got.printed else 'does not tie'} |"
            )
    return "\n".join(rows)


if __name__ == "__main__":
    print(table(*sys.argv[1:2]))
