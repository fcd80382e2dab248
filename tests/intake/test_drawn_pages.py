"""`auditor columns FILE.pdf --picture DIR` draws what was found on each page, where it stands."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image
from reportlab.lib.pagesizes import letter
from reportlab.pdfgen.canvas import Canvas

from auditor import intake
from auditor.cli.commands.columns import command as columns
from auditor.intake import drawn_pages, pdf_drawing, picture_file
from tests import bad_files
from tests.intake.test_pictures import drawn, texts
from tests.layouts.pdf_layouts import blocks_with_sentences
from tests.layouts.table_truth import lines
from tests.turned_page import turned_page

ROWS = (
    ("Tracking", "Charge", "Basis", "Amount"),
    ("NP44100261", "Freight", "x", "12.34"),
    ("NP44100262", "Fuel surcharge", "y", "1.88"),
    ("Statement total", "", "", "14.22"),
)
ACROSS = (40, 150, 260, 320)
BLUE, ORANGE = ([0, 114, 178], [213, 94, 0])


def run(*arguments: object) -> Result:
    """The command, with no readings kept."""
    return CliRunner().invoke(columns, [str(argument) for argument in arguments])


def turned(path: Path, turns: int = 0, *, cropped: bool = False) -> Path:
    """A page of those rows as it is shown upright, stored with that many quarter turns and with margins cut off."""
    canvas = turned_page(path, turns, cropped=cropped)
    canvas.setFont("Helvetica", 8)
    for number, row in enumerate(ROWS):
        for at, text in zip(ACROSS, row, strict=True):
            canvas.drawString(at, -60 - 20 * number, text)
    canvas.save()
    return path


def dots(path: Path) -> np.ndarray[Any, np.dtype[np.int64]]:
    """The picture's colours, (height, width, 3)."""
    return np.asarray(Image.open(path).convert("RGB"), dtype=np.int64)


@pytest.mark.parametrize("turns", [0, 1, 2, 3])
@pytest.mark.parametrize("cropped", [False, True])
def test_boxes_lie_around_what_was_read_however_the_page_is_turned(
    tmp_path: Path, turns: int, *, cropped: bool
) -> None:
    """Each row of letters lies in its box, and the box's own lines are where it ends."""
    path = turned(tmp_path / "s.pdf", turns, cropped=cropped)
    shown = run(path, "--picture", tmp_path / "out")
    assert shown.exit_code == 0
    [file] = (tmp_path / "out").glob("*.png")
    taken = intake.read([path])
    boxes = [*taken.lines["source_box"], *taken.printed_totals["source_box"]]
    assert len(boxes) == 3
    picture = dots(file)
    for box, colour in zip(boxes, (BLUE, BLUE, ORANGE), strict=True):
        x0, top, x1, bottom = (round(float(number) * pdf_drawing.DOTS_A_POINT) for number in box.split())
        inside, beyond = picture[top:bottom, x0:x1], picture[top:bottom, x1 + 12 : x1 + 40]
        assert (inside.max(axis=2) < 60).sum() > 100
        assert (beyond.max(axis=2) < 60).sum() == 0
        assert (picture[top - 4 : top + 1, (x0 + x1) // 2] == colour).all(axis=1).any()


def test_the_picture_says_what_its_lines_mean_and_columns_what_they_were_read_as(tmp_path: Path) -> None:
    """What the process is told to draw: rows by what became of them, cells, and words above the columns."""
    found = intake.understood(turned(tmp_path / "s.pdf"))
    pages: dict[int, list[drawn_pages.Mark]] = {1: []}
    rows = {
        "line": {*drawn_pages.places(found.taken.lines)},
        "total": {*drawn_pages.places(found.taken.printed_totals)},
    }
    drawn_pages.put(pages, found.sheets[0], rows)
    marks = pages[1]
    assert [(sort, label) for sort, _, label in marks if sort not in {"cell", "column"}] == [
        ("other", "1"),
        ("line", "2"),
        ("line", "3"),
        ("total", "4"),
    ]
    assert [label for sort, _, label in marks if sort == "column"] == [
        "tracking number",
        "charge",
        "not read",
        "amount",
    ]
    assert sum(sort == "cell" for sort, _, _ in marks) == sum(bool(text) for row in ROWS for text in row)
    assert {sort for sort, _, _ in marks} - {"column"} <= drawn_pages.LEGEND.keys() == pdf_drawing.STYLES.keys()


def test_sorts_of_boxes_are_told_apart_without_colour() -> None:
    """By dashes or by how many lines they have."""
    looks = [(width, dash, times) for _, width, dash, times in pdf_drawing.STYLES.values()]
    assert len(set(looks)) == len(looks)


def test_blocks_are_drawn_by_their_rows(tmp_path: Path) -> None:
    """They have no columns, and headings that stand nowhere on the page."""
    planted = lines(6, 5, metric=False)
    blocks_with_sentences(tmp_path / "s.pdf", planted)
    found = intake.understood(tmp_path / "s.pdf")
    pages: dict[int, list[drawn_pages.Mark]] = {1: []}
    drawn_pages.put(pages, found.sheets[0], {"line": {*drawn_pages.places(found.taken.lines)}})
    assert [sort for sort, _, _ in pages[1]].count("line") == len(planted)


def test_every_page_is_drawn_and_said(tmp_path: Path) -> None:
    """A file a page, named after the statement."""
    path = bad_files.pdf(tmp_path)
    shown = run(path, "--picture", tmp_path / "out")
    names = sorted(file.name for file in (tmp_path / "out").iterdir())
    assert names == [f"statement-page-{number:03d}.png" for number in (1, 2, 3)]
    assert f"Drawn: {tmp_path / 'out' / names[0]} to {names[-1]}" in shown.output


def test_a_table_that_was_not_recognised_is_drawn_as_such(tmp_path: Path) -> None:
    """So that it can be seen what was found of it."""
    rows = [["aa", "bb", "cc", "dd", "ee", "ff", "gg", "hh", "ii"]] * 3
    path = bad_files.pdf(tmp_path, rows=rows)
    found = intake.understood(path, kind="fuel")
    assert (found.sheets, len(found.strange)) == ((), 1)
    assert run(path, "--as", "fuel", "--picture", tmp_path / "out").exit_code == 1
    [file] = (tmp_path / "out").glob("*.png")
    assert (dots(file) == [136, 34, 85]).all(axis=2).sum() > 1000


def test_what_is_not_drawn_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A page without a table, and one that was read from a picture."""
    canvas = Canvas(str(tmp_path / "s.pdf"), pagesize=letter, invariant=True)
    for number, row in enumerate(ROWS):
        for at, text in zip(ACROSS, row, strict=True):
            canvas.drawString(at, 700 - 20 * number, text)
    canvas.showPage()
    canvas.drawString(72, 700, "Thank you.")
    canvas.save()
    shown = run(tmp_path / "s.pdf", "--picture", tmp_path / "out")
    assert "Note: page 2, No table was found here, so no boxes are drawn." in shown.output
    monkeypatch.setattr(picture_file, "find_spec", lambda name: name)
    monkeypatch.setattr(picture_file, "_found", lambda *_: ([drawn(texts())], []))
    shown = run(bad_files.pdf_without_text(tmp_path), "--picture", tmp_path / "out")
    assert "Note: page 1, Read by character recognition, which keeps no places in points, so no boxes are drawn." in (
        shown.output
    )


def test_a_page_that_cannot_be_drawn_costs_only_itself(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another process goes on after it."""
    whole = drawn_pages._said  # noqa: SLF001 - it is made to stop at one page

    def stopping(path: Path, folder: Path, wanted: Any, after: int, until: float) -> tuple[int, list[dict[str, Any]]]:
        count, said = whole(path, folder, wanted, after, until)
        return count, said[:1] if after == 0 else said

    monkeypatch.setattr(drawn_pages, "_said", stopping)
    shown = run(bad_files.pdf(tmp_path), "--picture", tmp_path / "out")
    assert "Problem: page 2, Takes more than 20 seconds or too much memory to draw, so it was left out." in shown.output


def test_a_page_too_large_for_any_printer_is_drawn_small(tmp_path: Path) -> None:
    """No picture has more than 25 million dots, and its legend."""
    canvas = Canvas(str(tmp_path / "s.pdf"), pagesize=(14_000, 14_000), invariant=True)
    for number, row in enumerate(ROWS):
        for at, text in zip(ACROSS, row, strict=True):
            canvas.drawString(at, 700 - 20 * number, text)
    canvas.save()
    run(tmp_path / "s.pdf", "--picture", tmp_path / "out")
    with Image.open(tmp_path / "out" / "s-page-001.png") as picture:
        assert picture.width * picture.height < 1.1 * pdf_drawing.MOST_DOTS


def test_our_own_pictures_are_no_statements(tmp_path: Path) -> None:
    """They may lie in the month's folder."""
    run(turned(tmp_path / "s.pdf"), "--picture", tmp_path)
    taken = intake.read([tmp_path])
    assert len(taken.lines) == 2
    assert [(problem.file, problem.message) for problem in taken.problems if problem.file.endswith("png")] == [
        ("s-page-001.png", "This picture was drawn by 'auditor columns --picture', so it was not read.")
    ]


def test_wrong_use_is_said(tmp_path: Path) -> None:
    """A file without pages, and a folder that cannot be."""
    path = bad_files.write(tmp_path, "s.csv", bad_files.STATEMENT)
    shown = run(path, "--picture", tmp_path / "out")
    assert (shown.exit_code, "is no PDF, so it has no pages to draw." in " ".join(shown.output.split())) == (2, True)
    shown = run(turned(tmp_path / "s.pdf"), "--picture", path / "deeper")
    assert shown.exit_code == 2
    assert "The pictures cannot be written to" in shown.output


def test_a_page_that_fails_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """By what pdfium says."""

    def printed(command: list[str], **_: object) -> Any:
        return subprocess.CompletedProcess(command, 0, b'{"pages": 1}\n{"page": 1, "fault": "PdfiumError"}\n')

    found = intake.understood(turned(tmp_path / "s.pdf"))
    monkeypatch.setattr(subprocess, "run", printed)
    made = drawn_pages.draw(
        tmp_path / "s.pdf",
        tmp_path,
        sheets=found.sheets,
        strange=(),
        rows=[found.taken.lines],
        totals=found.taken.printed_totals,
    )
    assert made.files == ()
    assert made.problems[-1].message == "This page could not be drawn (PdfiumError)."
