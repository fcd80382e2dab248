"""Pages whose every word is meaningless are read by the numbers on them, in whatever way they are laid out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from auditor.core.arrays import Masked
from auditor.core.schemas import LINES, PRINTED_TOTALS, conform
from auditor.intake import pdf_file
from auditor.intake.documents import Page
from auditor.intake.reading.anchored import anchored
from auditor.intake.reading.choice import Printed, Read, by_evidence
from auditor.intake.reading.plumbed import plumbed
from auditor.intake.reading.sums import sum_rows
from tests.nonsense import STRUCTURES, Maker, known, money

LEAST = 2
"""One line and its sum say the same twice."""
WIDTH, HEIGHT, SIZE, GAP, MARGIN = 842.0, 595.0, 7.0, 9.0, 30.0
Planted = Sequence[tuple[str | None, int, str]]
Text = tuple[float, float, str]
"""Left end, how far down, what."""


def _printed(path: Path, pages: Sequence[Sequence[Text]], *, ruled: Sequence[float] = ()) -> Printed:
    canvas = Canvas(str(path), pagesize=(WIDTH, HEIGHT))
    for texts in pages:
        canvas.setFont("Helvetica", SIZE)
        for x, down, text in texts:
            canvas.drawString(x, HEIGHT - down, text)
        downs = sorted({down for _, down, _ in texts})
        for x in ruled:
            canvas.line(x, HEIGHT - downs[0] + 9, x, HEIGHT - downs[-1] - 3)
        for down in (downs[0] - 9, *(one + 3 for one in downs)) if ruled else ():
            canvas.line(ruled[0], HEIGHT - down, ruled[-1], HEIGHT - down)
        canvas.showPage()
    canvas.save()
    return Printed(path, pdf_file.read(path.name, path).pages)


def _ends(rows: Sequence[Sequence[str]]) -> list[float]:
    """Where each column begins, and the end of the last."""
    ends = [MARGIN]
    for at in range(max(map(len, rows))):
        cells = (line for row in rows if at < len(row) for line in row[at].split("\n"))
        ends.append(ends[-1] + max(stringWidth(cell, "Helvetica", SIZE) for cell in cells) + GAP)
    return ends


def _in_columns(rows: Sequence[Sequence[str]]) -> list[list[Text]]:
    """The rows in columns, on as many pages as they need; a cell of several lines is as high as these."""
    pages: list[list[Text]] = [[]]
    ends, down = _ends(rows), MARGIN
    for row in rows:
        lines = max(cell.count("\n") for cell in row) + 1
        if down + lines * 10 > HEIGHT - MARGIN:
            pages, down = [*pages, []], MARGIN
        pages[-1] += [
            (x, down + 10 * nth, text)
            for x, cell in zip(ends, row, strict=False)
            for nth, text in enumerate(cell.split("\n"))
            if text
        ]
        down += lines * 10 + 2
    return pages


def _read(printed: Printed) -> Read:
    found = by_evidence("statement.pdf", (), {}, known(), printed)
    assert found is not None
    return found


def _lines(read: Read) -> Counter[tuple[str | None, int]]:
    lines = read.tables["lines"]
    numbers = (None if pd.isna(one) else str(one) for one in lines["tracking"])
    return Counter(zip(numbers, (int(one) for one in lines["amount_cents"]), strict=True))


def _plainly(planted: Planted) -> Counter[tuple[str | None, int]]:
    return Counter((number, cents) for number, cents, _ in planted)


@pytest.mark.sample(2)
@pytest.mark.parametrize("structure", ["a number given once", "a column a charge", "stacked", "records of two types"])
def test_every_structure_is_read_from_pages(structure: str, tmp_path: Path) -> None:
    """Whatever stands in columns, with no table of them found beforehand."""
    drawn = STRUCTURES[structure](4)
    read = _read(_printed(tmp_path / "s.pdf", _in_columns(drawn.grid.rows)))
    assert _plainly(drawn.planted) == _lines(read)
    assert [drawn.total] == list(read.tables["printed_totals"]["printed_total_cents"])


def _cards(made: Maker, spell: Callable[[str], str] = str) -> Iterator[list[str]]:
    """A card a parcel: its number and figures in a line, a line a charge, the sum of them."""
    for lines in made.parcels():
        whole = sum(line.amount_cents for line in lines)
        if lines[0].tracking not in known().numbers or len(lines) < LEAST or not whole:
            continue
        told = f"{made.word('number')} {spell(lines[0].tracking)} {made.word('zone')} {lines[0].zone}"
        names = [f"{made.name(line)} {money(line.amount_cents)}" for line in lines]
        yield [told, *names, f"{made.word('sum')} {money(whole)}"]


def _with_total(made: Maker, pages: list[list[Text]]) -> list[list[Text]]:
    total = money(sum(cents for _, cents, _ in made.planted))
    return [*pages[:-1], [*pages[-1], (MARGIN, HEIGHT - 20, f"{made.word('total')} {total}")]]


def _side_by_side(cards: Sequence[Sequence[str]], *, sides: int = 2) -> Iterator[list[Text]]:
    """Down the left side of a page, then down its right one where there are two."""
    texts: list[Text] = []
    x, down = MARGIN, MARGIN
    for card in cards:
        if down + 10 * len(card) > HEIGHT - 50:
            whole = sides == 1 or x > MARGIN
            if whole:
                yield texts
                texts = []
            x, down = (MARGIN, MARGIN) if whole else (440.0, MARGIN + 3)
        texts += [(x, down + 10 * nth, text) for nth, text in enumerate(card)]
        down += 10 * len(card) + 8
    yield texts


def test_cards_side_by_side_are_read_one_side_below_the_other(tmp_path: Path) -> None:
    """A line of the page holds lines of two parcels."""
    made = Maker(7)
    pages = [*_side_by_side([*_cards(made)])]
    assert _plainly(made.planted) == _lines(_read(_printed(tmp_path / "s.pdf", _with_total(made, pages))))


def test_numbers_in_groups_are_numbers(tmp_path: Path) -> None:
    """However a number is spaced."""
    made = Maker(8)
    cards = [*_cards(made, lambda number: " ".join(number[at : at + 4] for at in range(0, len(number), 4)))]
    pages = [*_side_by_side(cards, sides=1)]
    assert _plainly(made.planted) == _lines(_read(_printed(tmp_path / "s.pdf", _with_total(made, pages))))


def test_a_number_that_goes_on_below_is_one() -> None:
    """As in a column that is too narrow for it; what stands beside it below is none of it."""
    number = str(known().shipments["tracking"].iloc[0])
    words = [number[:7], "Zumabi", number[7:], "Kolo"]
    boxes = [[30, 10, 60, 18], [80, 10, 110, 18], [30, 20, 60, 28], [80, 20, 110, 28]]
    found = anchored([Page(1, words, pd.DataFrame(boxes).to_numpy(float), pd.DataFrame([]).to_numpy(float))], known())
    assert [number] == list(found.words.texts[found.numbers])
    assert {"Zumabi", "Kolo", number} == {*found.words.texts}


def test_a_table_between_lines_is_found_by_the_other_library(tmp_path: Path) -> None:
    """All of its pages as one grid, with the place of each row."""
    drawn = STRUCTURES["a row a charge"](4)
    rows = drawn.grid.rows[:70]
    printed = _printed(tmp_path / "s.pdf", _in_columns(rows), ruled=[one - 3 for one in _ends(rows)])
    (grid,) = plumbed(printed.path, "lines", printed.pages)
    assert [list(row) for row in rows] == [list(row) for row in grid.rows]
    assert grid.places[0] == "page 1, row 1"
    assert grid.places[-1].startswith("page 2, ")


def test_a_reading_that_leaves_out_parcels_on_the_pages_is_not_settled(tmp_path: Path) -> None:
    """Half of a statement, proven by what labels cost, is read again."""
    drawn = STRUCTURES["a row a charge"](4)
    printed = _printed(tmp_path / "s.pdf", _in_columns(drawn.grid.rows))
    whole = _read(printed).tables["lines"]
    half = conform(whole[whole["tracking"].isin(known().shipments["tracking"].iloc[::2])], LINES)
    tables = {"lines": half, "printed_totals": conform(pd.DataFrame(), PRINTED_TOTALS)}
    read = by_evidence("statement.pdf", (), tables, known(), printed)
    assert read is not None
    assert _plainly(drawn.planted) == _lines(read)


def test_the_sum_of_every_page_is_one_however_many_there_are() -> None:
    """Each is told by the one before it, where rows have their parcels from rows above."""
    pages = [[700 + 13 * page, 251, 37, 988 + 13 * page] for page in range(12)]
    cents = np.array([one for page in pages for one in page])
    key = np.repeat(np.arange(24), 2)
    given, none = np.ones(48, dtype=bool), np.zeros(48, dtype=bool)
    found = sum_rows(Masked(cents, given), key, given, np.zeros(48, dtype=np.intp), none)
    assert [*range(3, 48, 4)] == np.flatnonzero(found).tolist()
