"""Statements and notices written by somebody who did not know the reader: what is read of them stays read.

The first readings, before anything was mended, are in docs/reading.md.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.layouts import unseen_tables
from tests.layouts.notice_score import SETS, score
from tests.layouts.table_layouts import Layout
from tests.layouts.table_score import score as table_score
from tests.layouts.unseen_notices import Notice

NOT_WHOLE = {"chatty_fractions", "dutch_letter", "consolidator_list", "carrier_letter"}
"""Notices of which not every cell is read yet."""
AUDITED = "freight audit extract"
"""Prints no total, and calls the weight it bills by the audited one."""


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
