"""Statements and notices written by somebody who did not know the reader: what is read of them stays read.

The first readings, before anything was mended, are in docs/reading.md.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from auditor import intake
from tests.layouts import unseen_pdfs, unseen_tables
from tests.layouts.notice_score import SETS, score
from tests.layouts.pdf_layouts import Layout as PdfLayout
from tests.layouts.pdf_layouts import as_parameters
from tests.layouts.table_layouts import Layout
from tests.layouts.table_score import score as table_score
from tests.layouts.table_truth import cells_right, lines, total, truth
from tests.layouts.unseen_notices import Notice

NOT_WHOLE = {"chatty_fractions", "dutch_letter", "consolidator_list", "carrier_letter"}
"""Notices of which not every cell is read yet."""
AUDITED = "freight audit extract"
"""Prints no total, and calls the weight it bills by the audited one."""

LEAST = {"columns by position": 0.91, "details by day": 0.56}
"""Cells right of PDFs that are not read whole yet; "mainframe print-out" is not held to anything."""
PRINTED = as_parameters(layout for layout in unseen_pdfs.LAYOUTS if layout.name != "mainframe print-out")


@pytest.mark.parametrize("notice", [one for them in SETS.values() for one in them], ids=lambda notice: notice.name)
def test_a_notice_is_read_without_a_wrong_figure(notice: Notice, tmp_path: Path) -> None:
    """What cannot be told is left out; all but four are read whole."""
    right, of, wrong = score(notice, tmp_path)
    assert wrong == 0
    assert right == of or (notice.name in NOT_WHOLE and right < of)


@pytest.mark.parametrize("layout", unseen_tables.LAYOUTS, ids=lambda layout: layout.name)
def test_a_table_ties_out_with_its_cells_right(layout: Layout, tmp_path: Path) -> None:
    """Its printed total to the cent, and 99.5 % of its cells."""
    right, of, ties = table_score(layout, tmp_path)
    assert ties == (layout.name != AUDITED)
    assert right / of >= (0.91 if layout.name == AUDITED else 0.995)


@pytest.mark.parametrize("layout", PRINTED)
def test_a_pdf_ties_out_with_its_cells_right(layout: PdfLayout, tmp_path: Path) -> None:
    """Its printed total to the cent; where parcels may be mixed up, that is told."""
    planted = sorted(lines(60, 5, metric=False), key=lambda line: line.shipped_on if "day" in layout.name else 0)
    layout.write(tmp_path / "statement.pdf", planted)
    taken = intake.read([tmp_path / "statement.pdf"])
    assert int(taken.lines["amount_cents"].sum()) == total(planted)
    assert set(taken.printed_totals["printed_total_cents"]) == {total(planted)}
    right, of = cells_right(taken.lines, truth(planted, layout.fields, metric=False))
    assert right / of >= LEAST.get(layout.name, 0.995)
    told = any("may have been given to the wrong parcel" in problem.message for problem in taken.problems)
    assert told == (layout.name == "details by day")
