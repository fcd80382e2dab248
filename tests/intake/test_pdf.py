"""Words, lines and boxes of PDFs, what proves that nothing was dropped, and files made to do harm."""

from __future__ import annotations

import json
import subprocess
import sys
import zlib
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pandas as pd
import pdfplumber
import pytest
from reportlab.pdfgen.canvas import Canvas

from auditor import intake
from auditor.core.schemas import Problem
from auditor.intake import block_figures, layout, pdf_file, pdf_pages, placed, rulings
from auditor.intake.documents import Grid
from auditor.intake.pdf_pages import HUNDREDTHS, upright
from tests import bad_files
from tests.layouts.pdf_layouts import (
    CHROMIUM,
    blocks_with_labels,
    blocks_with_sentences,
    columns_with_page_sums,
    lines_between_rows,
    money,
    printed_table,
    ruled_with_wrapped_cells,
    size,
)
from tests.layouts.table_truth import Line, lines, total
from tests.turned_page import turned_page

SAMPLE = Path(__file__).parents[2] / "sample_statements" / "2026-03" / "larkrise-2026-03.pdf"
WRITERS = [
    ruled_with_wrapped_cells,
    columns_with_page_sums,
    lines_between_rows,
    blocks_with_sentences,
    blocks_with_labels,
    pytest.param(
        printed_table, marks=[pytest.mark.browser, pytest.mark.skipif(CHROMIUM is None, reason="no Chromium")]
    ),
]


def pages(path: Path) -> list[layout.Page]:
    """The pages of a PDF, as the reading process prints them."""
    said = pdf_file._pages(path)[0]  # noqa: SLF001 - between the process and the tables stands no other function
    return [pdf_file._page(page) for page in said]  # noqa: SLF001


def words_of(path: Path) -> list[list[tuple[str, float, float, float]]]:
    """Each page's words with their left, right and middle height, sorted."""
    return [
        sorted(
            (word, round(box[0]), round(box[2]), round((box[1] + box[3]) / 2))
            for word, box in zip(page.words, page.boxes.tolist(), strict=True)
        )
        for page in pages(path)
    ]


def words_of_pdfplumber(path: Path) -> list[list[str]]:
    """The same by pdfplumber, in the order of reading, without their places."""
    with pdfplumber.open(path) as pdf:
        return [sorted(word["text"] for word in page.extract_words()) for page in pdf.pages]


# Words


@pytest.mark.parametrize("write", WRITERS)
def test_words_are_those_that_pdfplumber_finds(write: Callable[[Path, Sequence[Line]], None], tmp_path: Path) -> None:
    """All of them, on every page, of every writer."""
    path = tmp_path / "statement.pdf"
    write(path, lines(20, 3, metric=False))
    assert [[word for word, *_ in page] for page in words_of(path)] == words_of_pdfplumber(path)


def test_words_of_the_sample_are_those_that_pdfplumber_finds_and_stand_where_it_says() -> None:
    """To a point."""
    with pdfplumber.open(SAMPLE) as pdf:
        for page, ours in zip(pdf.pages, pages(SAMPLE), strict=True):
            theirs = sorted((word["text"], word["x0"], word["x1"], word["top"]) for word in page.extract_words())
            mine = sorted((word, box[0], box[2], box[1]) for word, box in zip(ours.words, ours.boxes, strict=True))
            assert [one[0] for one in theirs] == [one[0] for one in mine]
            apart = np.array([one[1:3] for one in theirs]) - np.array([one[1:3] for one in mine])
            assert np.abs(apart).max() < 1
            assert np.abs(np.array([one[3] for one in theirs]) - np.array([one[3] for one in mine])).max() < 3


@pytest.mark.parametrize("turns", [0, 1, 2, 3])
@pytest.mark.parametrize("cropped", [False, True])
def test_boxes_are_counted_from_the_top_left_corner_of_what_is_shown(
    tmp_path: Path, turns: int, *, cropped: bool
) -> None:
    """On pages that are turned and cropped too: the word stands 100 points from the left and 50 from the top."""
    path = tmp_path / "turned.pdf"
    canvas = turned_page(path, turns, cropped=cropped)
    canvas.setFont("Helvetica", 10)
    canvas.drawString(100, -50, "Crosswise")
    canvas.line(100, -60, 180, -60)
    canvas.save()
    [page] = pages(path)
    [box] = page.boxes.tolist()
    assert page.words == ["Crosswise"]
    assert box[0] == pytest.approx(100, abs=1)
    assert box[1] < 50 < box[3] + 1
    assert box[2] - box[0] > 3 * (box[3] - box[1])
    assert page.rulings[0].tolist() == pytest.approx([100, 60, 180, 60], abs=1.5)


def test_a_box_is_turned_with_its_page() -> None:
    """One function does it; four quarter turns lead back."""
    seen, box = (10.0, 20.0, 110.0, 220.0), (20.0, 30.0, 40.0, 35.0)
    assert upright(box, seen, 0) == (10, 185, 30, 190)
    assert upright(box, seen, 1) == (10, 10, 15, 30)
    assert upright(box, seen, 2) == (70, 10, 90, 15)
    assert upright(box, seen, 3) == (185, 70, 190, 90)
    assert upright(box, seen, 4) == upright(box, seen, 0)


def test_a_gap_between_letters_parts_words_without_a_blank(tmp_path: Path) -> None:
    """And letters set wide apart evenly stay what pdfium makes of them: nothing is lost."""
    path = tmp_path / "gap.pdf"
    canvas = Canvas(str(path), invariant=1)
    text = canvas.beginText(100, 700)
    text.setFont("Helvetica", 10)
    text.textOut("12.50")
    text.setTextOrigin(140, 700)
    text.textOut("NP1")
    canvas.drawText(text)
    canvas.save()
    assert pages(path)[0].words == ["12.50", "NP1"]


def test_the_sample_is_read_as_before() -> None:
    """218 lines in one grid of nine columns, with the place and the box of each."""
    grids = pdf_file.read("larkrise-2026-03.pdf", SAMPLE).documents
    assert len(grids) == 1
    [grid] = grids
    assert isinstance(grid, Grid)
    assert {len(row) for row in grid.rows} == {9}
    assert len(grid.rows) == len(grid.boxes) == len(grid.places)
    assert grid.places[0] == "page 1, row 1"
    assert grid.boxes[1] == "37.0 125.7 575.0 133.9"


def test_memory_does_not_grow_with_the_pages(tmp_path: Path) -> None:
    """Each page is closed before the next is opened."""
    peaks = []
    for count in (5, 200):
        path = tmp_path / f"{count}.pdf"
        canvas = Canvas(str(path), invariant=1)
        for number in range(count):
            for row in range(45):
                canvas.drawString(40, 750 - 15 * row, f"NP44100260{number:04d}{row:04d} Ground 12.34")
            canvas.showPage()
        canvas.save()
        peaks.append(peak_of_reading(path))
    assert peaks[1] < peaks[0] + 8


def peak_of_reading(path: Path) -> float:
    """The most memory the reading process holds, in megabytes."""
    script = (
        "import resource, subprocess, sys\n"
        "subprocess.run([sys.executable, '-P', *sys.argv[1:]], stdout=subprocess.DEVNULL, check=True)\n"
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024)"
    )
    command = [sys.executable, "-c", script, pdf_pages.__file__, str(path), "2000", "20"]
    return float(subprocess.run(command, capture_output=True, check=True, text=True).stdout)


# Rows and columns


def page_of(*texts: tuple[str, float, float], drawn: Sequence[Sequence[float]] = ()) -> layout.Page:
    """A page of words: text, left and top; a letter is 5 points wide and 10 high."""
    boxes = np.array([(x, y, x + 5 * len(text), y + 10) for text, x, y in texts], dtype=float)
    return layout.Page(1, [text for text, _, _ in texts], boxes, np.array(drawn, dtype=float).reshape(-1, 4))


def test_words_of_a_scan_need_no_fixed_size() -> None:
    """The same page in dots gives the same table."""
    page = page_of(
        *(
            (text, x, 10 + 15 * row)
            for row, texts in enumerate(TABLE)
            for text, x in zip(texts, (10, 120, 200), strict=True)
        )
    )
    scan = layout.Page(1, page.words, page.boxes * 4.17, page.rulings)
    [grid], _ = layout.tables([page])
    [same], _ = layout.tables([scan])
    assert grid.rows == same.rows == [list(row) for row in TABLE]


TABLE = (("Tracking", "Charge", "Amount"), ("NP44100260", "Freight", "12.34"), ("NP44100261", "Fuel", "1.23"))


def test_a_cell_that_is_several_rows_high_counts_for_each() -> None:
    """Its words are repeated, an amount is not."""
    horizontal = [(0, 0, 200, 0), (100, 20, 200, 20), (0, 40, 200, 40)]
    vertical = [(0, 0, 0, 40), (100, 0, 100, 40), (150, 0, 150, 40), (200, 0, 200, 40)]
    words = [("NP1", 10, 15), ("Freight", 101, 5), ("1.00", 155, 5), ("Fuel", 101, 25), ("2.00", 155, 25)]
    [grid], _ = layout.tables([page_of(*words, drawn=[*horizontal, *vertical])])
    assert grid.rows == [["NP1", "Freight", "1.00"], ["NP1", "Fuel", "2.00"]]


def test_rulings_that_do_not_meet_make_no_table() -> None:
    """A line under a title, a bar at the side."""
    assert rulings.frames(np.array([(0, 50, 100, 50), (300, 0, 300, 40)], dtype=float)) == []
    assert rulings.frames(np.zeros((0, 4))) == []


def test_a_page_without_words_has_no_table() -> None:
    """And nothing fails."""
    assert layout.tables([layout.Page(1, [], np.zeros((0, 4)), np.zeros((0, 4)))]) == ([], [])
    assert layout.tables([]) == ([], [])


def test_amounts_are_told_from_other_figures() -> None:
    """With any sign and mark; a weight, a day and a number are none."""
    for text in ("12.34", "-1,234.56", "(12.34)", "$(12.34)", "-$5.00", "12.34-", "12.34CR", "1.234,56", "€9,99"):
        assert placed.is_money(text), text
    for text in ("12", "16.4", "2026-03-04", "NP12.34x", "1.234", "04.03.2026", "$", ""):
        assert not placed.is_money(text), text


@pytest.mark.parametrize(
    ("text", "found"),
    [
        (
            "Audited 49 x 20 x 8 in, 57 lb; entered 48 x 20 x 8 in, 14 lb",
            {"Billed size": "49 x 20 x 8 in", "Billed weight": "57 lb"},
        ),
        (
            "Label said 48 x 20 x 8 in and 14 lb, our scanner read 49 x 20 x 8 in, the scale 16.4 lb, billed 57 lb",
            {"Billed size": "49 x 20 x 8 in", "Billed weight": "57 lb", "Scale weight": "16.4 lb"},
        ),
        ("Zone 5 | 4 Mar 2026 | Ground", {"Zone": "5", "Ship date": "4 Mar 2026", "Service?": "Ground"}),
        ("usługa Ground, strefa 5", {"Zone": "5", "Service": "Ground"}),
        ("Mailed: 2026-03-04  Service: Ground  Zone: 7", {"Ship date": "2026-03-04", "Zone": "7", "Service": "Ground"}),
        ("entered 48 x 20 x 8 in, 14 lb", {}),
        ("thank you for shipping with us", {}),
    ],
)
def test_figures_are_found_in_sentences(text: str, found: dict[str, str]) -> None:
    """What the seller entered is left: the seller's own records have it."""
    assert block_figures.figures(text) == found


# Proof that nothing was dropped


def with_sums(path: Path, *, page_sum: int = 0, carried: int = 0, count: int = 0) -> list[list[Line]]:
    """A statement of three pages; the second page's sum, all balances from there and the count are off by so much."""
    planted = lines(12, 8, metric=False)
    third = -(-len(planted) // 3)
    each = [planted[start : start + third] for start in range(0, len(planted), third)]
    canvas = Canvas(str(path), invariant=1)
    for nth, some in enumerate(each):
        before = total(planted[: nth * third])
        rows = [("Tracking number", "Charge", "Size in", "Amount")]
        rows += [("", "Brought forward", "", money(before + carried * (nth > 1)))] if nth else []
        rows += [(line.tracking, line.charge, size(line), money(line.amount_cents)) for line in some]
        rows.append(("", "Page total", "", money(total(some) + page_sum * (nth == 1))))
        rows.append(("", "Carried forward", "", money(before + total(some) + carried * (nth > 0))))
        if nth == len(each) - 1:
            rows[-1] = ("", "Statement total", "", money(total(planted)))
        canvas.drawString(30, 800, "Statement QM-7, statement date 2026-04-02")
        for at, cells in enumerate(rows):
            for x, text in zip((30, 200, 330), cells[:3], strict=True):
                canvas.drawString(x, 770 - 16 * at, text)
            canvas.drawRightString(500, 770 - 16 * at, cells[3])
        canvas.drawString(30, 40, f"{len(planted) + count} charges")
        canvas.showPage()
    canvas.save()
    return each


def faults(path: Path) -> list[Problem]:
    """What is said of a statement apart from notes."""
    return [problem for problem in intake.read([path]).problems if not problem.note]


def test_sums_and_counts_that_agree_are_not_told_of(tmp_path: Path) -> None:
    """The page's, the balance carried, the number of charges."""
    path = tmp_path / "sums.pdf"
    with_sums(path)
    assert faults(path) == []


def test_a_page_that_does_not_add_up_is_named_with_both_figures(tmp_path: Path) -> None:
    """And nothing else is called wrong."""
    path = tmp_path / "sums.pdf"
    on_page = with_sums(path, page_sum=500)[1]
    [problem] = faults(path)
    assert problem.place == f"page 2, row {len(on_page) + 3}"
    assert f"${money(total(on_page) + 500)}" in problem.message
    assert f"${money(total(on_page))}" in problem.message


def test_a_count_that_does_not_agree_is_told(tmp_path: Path) -> None:
    """With the count that was read."""
    path = tmp_path / "sums.pdf"
    count = sum(map(len, with_sums(path, count=3)))
    [problem] = faults(path)
    assert problem.message == (f"'{count + 3} charges' is printed, but {count} lines were read. Look what is missing.")


def test_a_balance_that_does_not_follow_is_told_once_and_on_its_page(tmp_path: Path) -> None:
    """The pages after it carry the same difference, which is no other fault."""
    path = tmp_path / "carried.pdf"
    first, second, _ = with_sums(path, carried=100)
    [problem] = faults(path)
    read = total(first) + total(second)
    assert problem.place == f"page 2, row {len(second) + 4}"
    assert problem.message == (
        f"'Carried forward' says ${money(read + 100)}, but the lines up to it come to ${money(read)}. Look whether a "
        "line of this page is missing or was misread."
    )


# Files made to do harm


def raw_pdf(path: Path, content: bytes, media: bytes = b"0 0 612 792") -> Path:
    """A PDF of one page with that content, packed."""
    packed = zlib.compress(content, 9)
    bodies = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox ["
        + media
        + b"] /Contents 4 0 R /Resources << /Font << /F 5 0 R >> >> >>",
        b"<< /Length %d /Filter /FlateDecode >>\nstream\n%s\nendstream" % (len(packed), packed),
        b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>",
    ]
    out = b"%PDF-1.4\n"
    starts = []
    for number, body in enumerate(bodies, start=1):
        starts.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    entries = b"".join(b"%010d 00000 n \n" % start for start in starts)
    table = b"xref\n0 6\n0000000000 65535 f \n" + entries
    path.write_bytes(out + table + b"trailer << /Size 6 /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % len(out))
    return path


def test_a_page_of_a_million_rectangles_is_no_table(tmp_path: Path) -> None:
    """They are counted and not looked at; the words beside them are read."""
    text = b"BT /F 10 Tf 50 700 Td (Statement 1) Tj ET\n"
    path = raw_pdf(tmp_path / "rectangles.pdf", text + b"0 0 90 90 re S\n" * 1_000_000)
    [page] = pages(path)
    assert page.words == ["Statement", "1"]
    assert not len(page.rulings)


def test_a_page_of_many_operators_is_read_in_time(tmp_path: Path) -> None:
    """60 MB of saving and restoring, from 60 kB."""
    path = raw_pdf(tmp_path / "operators.pdf", b"BT /F 10 Tf 50 700 Td (Hello) Tj ET\n" + b"q Q " * 15_000_000)
    [page] = pages(path)
    assert page.words == ["Hello"]


def test_a_page_too_wide_for_any_printer_is_read(tmp_path: Path) -> None:
    """Nothing is drawn, so its size costs nothing."""
    path = raw_pdf(tmp_path / "wide.pdf", b"BT /F 10 Tf 250000 700 Td (Far) Tj ET", b"0 0 288000 792")
    assert [page.words for page in pages(path)] == [["Far"]]


def test_a_page_with_more_letters_than_any_statement_is_given_up(tmp_path: Path) -> None:
    """It is named, and the file goes on."""
    path = raw_pdf(
        tmp_path / "letters.pdf", b"BT /F 1 Tf 50 790 Td " + (b"(" + b"x" * 500 + b") Tj 0 -1 Td ") * 600 + b"ET"
    )
    [problem] = intake.read([path]).problems
    assert problem.message == "This page could not be read (OverflowError). Ask for the statement as CSV."


def test_a_pdf_of_ten_thousand_pages_is_refused(tmp_path: Path) -> None:
    """After counting, before reading."""
    path = tmp_path / "pages.pdf"
    canvas = Canvas(str(path), invariant=1)
    for _ in range(10_000):
        canvas.showPage()
    canvas.save()
    [problem] = intake.read([path]).problems
    assert problem.message.startswith("This PDF has more than 2,000 pages")


def test_a_page_that_stops_its_process_costs_only_itself(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another process goes on with the page after it."""
    path = bad_files.pdf(tmp_path)
    monkeypatch.setattr(pdf_file, "PROCESSES", 1)
    whole = pdf_file._printed  # noqa: SLF001 - it is made to fail at one page

    def stopping(
        path: Path, part: pdf_file.Part, after: int, until: float
    ) -> tuple[dict[str, object], list[dict[str, object]]]:
        head, said = whole(path, part, after, until)
        return head, [page for page in said if page["page"] < 2] if after < 2 else said

    monkeypatch.setattr(pdf_file, "_printed", stopping)
    taken = intake.read([path])
    assert taken.lines["source_place"].str[:6].unique().tolist() == ["page 1", "page 3"]
    assert taken.problems[0] == Problem(
        "statement.pdf",
        "page 2",
        "This page takes more than 20 seconds or too much memory to read, so it was not read (1 of 3). Ask for the "
        "statement as CSV.",
        unread=True,
    )


def test_a_small_file_is_read_by_one_process(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A larger one is shared out to two, and the same is read of it."""
    path, whole = bad_files.pdf(tmp_path), pdf_file._printed  # noqa: SLF001 - the shares asked for are noted
    parts: list[pdf_file.Part] = []

    def noted(
        path: Path, part: pdf_file.Part, after: int, until: float
    ) -> tuple[dict[str, object], list[dict[str, object]]]:
        parts.append(part)
        return whole(path, part, after, until)

    monkeypatch.setattr(pdf_file, "_printed", noted)
    small = intake.read([path])
    assert parts == [(0, 1)]
    monkeypatch.setattr(pdf_file, "SMALL", 0)
    large = intake.read([path])
    assert sorted(parts[1:]) == [(0, 2), (1, 2)]
    pd.testing.assert_frame_equal(small.lines, large.lines)


def test_the_process_prints_a_share_of_the_pages(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without those read before."""
    monkeypatch.setattr(pdf_pages, "limit_memory", lambda _: None)
    path = bad_files.pdf(tmp_path)
    pdf_pages.main(path, 10, 60, 1, 2)
    pdf_pages.main(path, 10, 60, 0, 1, 2)
    said = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [one.get("page", (one.get("first"), one.get("last"))) for one in said] == [(2, 3), 2, 3, (3, 3), 3]
    assert said[1]["boxes"][0] == round(said[1]["boxes"][0] / HUNDREDTHS * HUNDREDTHS)


def test_a_summary_beside_the_lines_is_no_table_of_fees(tmp_path: Path) -> None:
    """It looks like one: a charge and an amount in each row."""
    path = tmp_path / "summary.pdf"
    canvas = Canvas(str(path), invariant=1)
    canvas.drawString(30, 800, "Statement QM-7, statement date 2026-04-02")
    for at, cells in enumerate((("Charge", "Count", "Amount"), ("Freight", "2", "30.00"), ("Fuel", "1", "2.00"))):
        for x, text in zip((40, 200, 300), cells, strict=True):
            canvas.drawString(x, 770 - 20 * at, text)
        for x in (35, 190, 290, 400):
            canvas.line(x, 785 - 20 * at, x, 765 - 20 * at)
        canvas.line(35, 785 - 20 * at, 400, 785 - 20 * at)
    canvas.line(35, 725, 400, 725)
    rows = [("Tracking number", "Ship date", "Charge", "Amount")]
    rows += [("NP44100261", "2026-03-04", "Freight", "10.00")]
    rows += [("NP44100262", "2026-03-04", "Freight", "20.00"), ("NP44100262", "2026-03-04", "Fuel", "2.00")]
    for at, row in enumerate([*rows, ("Statement total", "", "", "32.00")]):
        for x, text in zip((40, 200, 300, 450), row, strict=True):
            canvas.drawString(x, 690 - 16 * at, text)
    canvas.save()
    taken = intake.read([path])
    assert taken.fees.empty
    assert taken.lines["charge"].to_list() == ["freight", "freight", "fuel"]
    assert [problem.message for problem in taken.problems] == [
        "A table that sums up this statement by charge or service was not counted."
    ]
