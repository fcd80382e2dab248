"""PDFs in layouts nobody has seen before are read whole: they tie out, and next to every cell is right."""

from pathlib import Path

import pytest

from auditor import intake
from tests.layouts.pdf_layouts import LAYOUTS, Layout, as_parameters
from tests.layouts.table_truth import cells_right, lines, total, truth

AIM = 0.995
PARAMETERS = as_parameters(LAYOUTS)


@pytest.mark.sample(4)
@pytest.mark.parametrize("layout", PARAMETERS)
def test_a_layout_ties_out_and_its_cells_are_right(layout: Layout, tmp_path: Path) -> None:
    """Without a layout file; every line once, and no sum among them; only notes are told."""
    planted = lines(60, 5, metric=False)
    path = tmp_path / "statement.pdf"
    layout.write(path, planted)
    taken = intake.read([path])
    assert taken.lines["amount_cents"].to_list() == [line.amount_cents for line in planted]
    assert set(taken.printed_totals["printed_total_cents"]) == {total(planted)}
    right, count = cells_right(taken.lines, truth(planted, layout.fields, metric=False))
    assert right >= AIM * count
    assert [problem for problem in taken.problems if not problem.note] == []


@pytest.mark.sample(4)
@pytest.mark.parametrize("layout", PARAMETERS)
def test_each_line_has_its_place_and_box(layout: Layout, tmp_path: Path) -> None:
    """No two lines share one, and a box lies on its page: letters stand upright, wider than high as a row."""
    path = tmp_path / "statement.pdf"
    layout.write(path, lines(30, 6, metric=False))
    read = intake.read([path]).lines
    assert read["source_place"].str.fullmatch(r"page \d+, row \d+").all()
    assert not read.duplicated(["source_place"]).any()
    x0, top, x1, bottom = (read["source_box"].str.split().str[at].astype(float) for at in range(4))
    assert ((x0 >= 0) & (x1 <= 842) & (top >= 0) & (bottom <= 842)).all()
    assert ((x1 - x0) > (bottom - top)).all()
