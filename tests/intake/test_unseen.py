"""Statements and notices written by somebody who did not know the reader: what is read of them stays read.

The first readings, before anything was mended, are in docs/reading.md.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.layouts.notice_score import SETS, score
from tests.layouts.pdf_layouts import CHROMIUM
from tests.layouts.pdf_layouts import Layout as PdfLayout
from tests.layouts.statement_score import SETS as SCORED
from tests.layouts.statement_score import score as statement_score
from tests.layouts.table_layouts import Layout
from tests.layouts.unseen_notices import Notice

NOT_WHOLE = {"chatty_fractions", "dutch_letter", "consolidator_list", "carrier_letter"}
"""Notices of which not every cell is read yet."""
WITHOUT_TOTAL = {"freight audit extract", "fourth_settlement", "fifth_carrier_export"}
"""They print no total, so that nothing can tie out."""
WHOLE = 0.995
LEAST = {"fourth_returns_mail": 0.96, "fifth_island_freight": 0.91, "ninth_label_receipts": 0.56}
"""The first one's 'return carriage' is taken for a charge of its own, as that of a parcel sent back is. The next
calls its number an account's, which is none of a statement. The last has a parcel's figures on a second line of its
first charge, the service behind that charge's name; as its other lines have days of their own, their gaps are
left."""
WITHOUT = [pytest.mark.browser, pytest.mark.skipif(CHROMIUM is None, reason="no Chromium")]
STATEMENTS = [
    pytest.param(layout, id=layout.name, marks=WITHOUT if getattr(layout, "browser", False) else [])
    for them in SCORED.values()
    for layout in them
]


@pytest.mark.parametrize("notice", [one for them in SETS.values() for one in them], ids=lambda notice: notice.name)
def test_a_notice_is_read_without_a_wrong_figure(notice: Notice, tmp_path: Path) -> None:
    """What cannot be told is left out; all but four are read whole."""
    right, of, wrong = score(notice, tmp_path)
    assert wrong == 0
    assert right == of or (notice.name in NOT_WHOLE and right < of)


@pytest.mark.sample(24)
@pytest.mark.parametrize("layout", STATEMENTS)
def test_a_statement_ties_out_with_its_cells_right(layout: PdfLayout | Layout, tmp_path: Path) -> None:
    """Its printed total to the cent, and 99.5 % of its cells, without a false alarm."""
    got = statement_score(layout, tmp_path)
    assert got.ties_out == (layout.name not in WITHOUT_TOTAL)
    assert got.read_cents == got.planted_cents
    assert got.right / got.of >= LEAST.get(layout.name, WHOLE)
    assert [problem.message for problem in got.taken.problems if not problem.note] == []
