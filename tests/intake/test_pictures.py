"""Scans and photographs of statements come out as lines, and their money counts only where the total proves it."""

import json
import re
import subprocess
from collections.abc import Sequence
from email.message import EmailMessage
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont
from reportlab.lib.pagesizes import letter
from reportlab.pdfgen.canvas import Canvas

from auditor import intake
from auditor.core.schemas import LINES, PRINTED_TOTALS, Problem, conform
from auditor.intake import pdf_file, picture_file
from auditor.intake.check_digits import gs1_digit
from auditor.intake.documents import Unreadable, WithoutText
from tests import bad_files
from tests.parcels import pounds

recognising = pytest.mark.skipif(
    not (find_spec("rapidocr") and find_spec("onnxruntime")), reason="the extra [ocr] is not installed"
)
TITLES = ("Norrhaven Parcel", "Statement number: NP-2026-03", "Statement date: 2026-04-01")
HEADINGS = ("Tracking number", "Ship date", "Charge", "Billed weight", "Amount")
ACROSS = (80, 430, 620, 930, 1110)
CHARGES = ("Freight", "Fuel surcharge", "Additional handling", "Residential")
CENTS = (1234, 188, 2950, 610, 100995, -300)


def number(serial: int) -> str:
    """A parcel number of 22 digits with its check digit (GS1 General Specifications, 7.9.1)."""
    digits = f"94001112062064062{serial:04d}"
    return f"{digits}{gs1_digit(digits)}"


ROWS = [
    (number(8130 + at // 2), f"2026-03-{at + 4:02d}", CHARGES[at % 4], f"{12 + at} lb", f"{cents / 100:,.2f}")
    for at, cents in enumerate(CENTS)
]


Placed = tuple[int, int, str]


def texts(rows: Sequence[tuple[str, ...]] = ROWS, total: str = f"{sum(CENTS) / 100:,.2f}") -> list[Placed]:
    """What stands on a statement, and where its letters begin."""
    above = [(80, 50 + 36 * row, title) for row, title in enumerate(TITLES)]
    table = (HEADINGS, *rows, ("Statement total", "", "", "", total))
    cells = [(x, 200 + 44 * row, text) for row, them in enumerate(table) for x, text in zip(ACROSS, them, strict=True)]
    return [*above, *(cell for cell in cells if cell[2])]


def page(placed: Sequence[Placed]) -> Image.Image:
    """The statement as a printer would draw it, 150 dots an inch."""
    picture = Image.new("L", (1275, 700), 255)
    draw = ImageDraw.Draw(picture)
    for x, y, text in placed:
        draw.text((x, y), text, font=ImageFont.load_default(22), fill=0)
    return picture


def photographed(picture: Image.Image) -> Image.Image:
    """The page on a table, a little askew and seen at a slant, in uneven light, with noise."""
    table = Image.new("L", (picture.width + 200, picture.height + 200), 120)
    table.paste(picture, (100, 100))
    wide, high = table.size
    slant = (20, 10, -30, high + 20, wide + 20, high - 10, wide - 40, 30)
    seen = table.transform(table.size, Image.Transform.QUAD, slant, Image.Resampling.BICUBIC)
    dots = np.asarray(seen, dtype=float) * np.linspace(0.75, 1.0, seen.width)
    noise = np.random.default_rng(7).normal(0, 10, dots.shape)
    return Image.fromarray(np.clip(dots + noise, 0, 255).astype(np.uint8))


@pytest.fixture(scope="module")
def photograph(tmp_path_factory: pytest.TempPathFactory) -> intake.Intake:
    """What is read from a photograph of the page."""
    path = tmp_path_factory.mktemp("picture") / "statement.jpg"
    photographed(page(texts())).save(path, quality=60)
    return intake.read([path])


@recognising
def test_a_photographed_statement_is_read_row_by_row(photograph: intake.Intake) -> None:
    """Every number, day, charge, weight and amount."""
    lines = photograph.lines
    assert lines["tracking"].to_list() == [row[0] for row in ROWS]
    assert lines["shipped_on"].dt.strftime("%Y-%m-%d").to_list() == [row[1] for row in ROWS]
    assert lines["description"].to_list() == [row[2] for row in ROWS]
    assert lines["billed_weight_pg"].to_list() == [pounds(12 + at) for at in range(len(ROWS))]
    assert lines["amount_cents"].to_list() == list(CENTS)
    assert set(lines["statement"]) == {"NP-2026-03"}
    assert photograph.printed_totals["printed_total_cents"].to_list() == [sum(CENTS)]


@recognising
def test_each_line_says_where_on_the_page_it_stands(photograph: intake.Intake) -> None:
    """By page and row of the table."""
    assert photograph.lines["source_place"].to_list() == [f"page 1, row {row}" for row in range(2, len(ROWS) + 2)]


@recognising
def test_what_is_read_from_a_picture_says_so(photograph: intake.Intake) -> None:
    """In a note; there is no fault."""
    assert [problem for problem in photograph.problems if not problem.note] == []
    assert photograph.problems[0] == Problem(
        "statement.jpg",
        "",
        "This was read from a picture by character recognition, which can take one character for another. Compare what "
        "matters with the paper.",
        note=True,
    )


def scanned_with_text(folder: Path, total: str, mode: int) -> Path:
    """A scan over which a scanner's program has laid the text it recognised, seen (0) or not (3)."""
    placed = texts(ROWS, total)
    page(placed).save(folder / "page.png")
    path = folder / "laid.pdf"
    canvas = Canvas(str(path), pagesize=letter, invariant=True)
    canvas.drawImage(str(folder / "page.png"), 0, 400, width=612, height=336)
    for x, y, text in placed:
        laid = canvas.beginText(x * 0.48, 730 - y * 0.48)
        laid.setFont("Helvetica", 8)
        laid.setTextRenderMode(mode)
        laid.textOut(text)
        canvas.drawText(laid)
    canvas.save()
    (folder / "page.png").unlink()
    return path


def test_text_laid_over_a_scan_is_taken_as_recognised(tmp_path: Path) -> None:
    """Its money counts where the printed total proves it, and nowhere else; text that is seen is text."""
    right = intake.read([scanned_with_text(tmp_path, f"{sum(CENTS) / 100:,.2f}", 3)])
    assert right.lines["amount_cents"].to_list() == list(CENTS)
    assert [(problem.place, problem.message, problem.note) for problem in right.problems] == [
        (
            "page 1",
            (
                "The text here was laid over a picture of the page by character recognition, which can take one "
                "character for another. Compare what matters with the picture."
            ),
            True,
        )
    ]
    wrong = intake.read([scanned_with_text(tmp_path, "900.00", 3)])
    assert set(wrong.lines["state"]) == {"not read"}
    assert any("read from a picture in whole or in part, add up to" in problem.message for problem in wrong.problems)
    seen = intake.read([scanned_with_text(tmp_path, "900.00", 0)])
    assert seen.lines["amount_cents"].to_list() == list(CENTS)
    assert not any("character recognition" in problem.message for problem in seen.problems)


@recognising
def test_a_scanned_pdf_whose_total_does_not_agree_counts_no_money(tmp_path: Path) -> None:
    """Its lines stand as not read, and both figures are told."""
    page(texts(ROWS[:3], "900.00")).save(tmp_path / "page.png")
    canvas = Canvas(str(tmp_path / "scan.pdf"), pagesize=letter, invariant=True)
    canvas.drawImage(str(tmp_path / "page.png"), 0, 400, width=612, height=336)
    canvas.save()
    (tmp_path / "page.png").unlink()
    taken = intake.read([tmp_path])
    assert len(taken.lines) == 3
    assert set(taken.lines["state"]) == {"not read"}
    assert [problem for problem in taken.problems if problem.unread] == [
        Problem(
            "scan.pdf",
            "",
            "The lines of statement NP-2026-03, read from a picture in whole or in part, add up to $43.72, but its "
            "printed total is $900.00, so a figure was misread or missed and no amount read from the picture was "
            "counted. Take the picture again: flat, in good light, all of it; or ask the carrier for the statement as "
            "CSV.",
            unread=True,
        )
    ]


# A PDF of which some pages are pictures

LOGO = (480.0, 700.0, 100.0, 60.0)


def mixed(folder: Path, pictured: Sequence[int] = (2,), total: int = sum(CENTS)) -> Path:
    """A statement of three pages of two lines each, with a logo on every one; some are pictures, the others text."""
    path = folder / "mixed.pdf"
    canvas = Canvas(str(path), pagesize=letter, invariant=True)
    page(texts()[:1]).save(folder / "logo.png")
    for number in (1, 2, 3):
        rows = ROWS[2 * number - 2 : 2 * number]
        placed = [one for one in texts(rows, f"{total / 100:,.2f}") if number == 3 or one[1] < 200 + 44 * 3]
        if number in pictured:
            page(placed).save(folder / "page.png")
            canvas.drawImage(str(folder / "page.png"), 0, 400, width=612, height=336)
            canvas.drawString(280, 30, f"Page {number} of 3")
        else:
            for x, y, text in placed:
                canvas.setFont("Helvetica", 8)
                canvas.drawString(x * 0.48, 700 - y * 0.48, text)
            canvas.drawImage(str(folder / "logo.png"), *LOGO)
        canvas.showPage()
    canvas.save()
    for picture in folder.glob("*.png"):
        picture.unlink()
    return path


@recognising
def test_pages_that_are_pictures_are_read_beside_those_of_text(tmp_path: Path) -> None:
    """In the order of the pages, and only they are said to be recognised."""
    taken = intake.read([mixed(tmp_path)])
    lines = taken.lines.sort_values("source_place", kind="stable")
    assert lines["tracking"].to_list() == [row[0] for row in ROWS]
    assert lines["amount_cents"].to_list() == list(CENTS)
    assert set(lines["statement"]) == {"NP-2026-03"}
    assert lines["source_place"].str.slice(0, 6).to_list() == [f"page {number}" for number in (1, 1, 2, 2, 3, 3)]
    recognised = [problem for problem in taken.problems if problem.message == picture_file.RECOGNISED]
    assert [problem.place for problem in recognised] == ["page 2"]
    assert [problem for problem in taken.problems if not problem.note] == []


def test_without_the_extra_each_page_that_is_a_picture_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And the others are read; a page of text with a logo is one of them."""
    monkeypatch.setattr(picture_file, "find_spec", lambda _: None)
    taken = intake.read([mixed(tmp_path, pictured=(1, 2))])
    assert taken.lines["tracking"].to_list() == [row[0] for row in ROWS[4:]]
    assert [problem for problem in taken.problems if problem.unread] == [
        Problem(
            "mixed.pdf",
            place,
            "This page is a picture, as from a scanner, and what reads pictures is not installed, so it was not read. "
            "In the project's folder, run: pip install '.[ocr]'. Then run again. Or ask the carrier for the statement "
            "as CSV.",
            unread=True,
        )
        for place in ("page 1", "page 2")
    ]


def test_a_page_of_text_with_a_logo_is_no_picture(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """So nothing is said of it, and nothing is to be installed."""
    monkeypatch.setattr(picture_file, "find_spec", lambda _: None)
    taken = intake.read([mixed(tmp_path, pictured=())])
    assert taken.lines["amount_cents"].to_list() == list(CENTS)
    assert taken.problems == ()


def test_many_pages_of_pictures_are_named_in_few_words() -> None:
    """Twenty one by one, the rest together."""
    problems = list(picture_file.not_installed("scan.pdf", [*range(1, 31), 40]))
    assert len(problems) == 21
    assert problems[-1] == Problem(
        "scan.pdf",
        "pages 21 to 30 and 40",
        "11 more pages are pictures, and were not read for the same reason.",
        unread=True,
    )


def test_where_the_total_differs_only_what_was_read_from_the_picture_is_not_counted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The pages of text keep their amounts."""
    monkeypatch.setattr(picture_file, "find_spec", lambda name: name)
    monkeypatch.setattr(picture_file, "_found", lambda *_: ([drawn(texts(ROWS[2:4])[: 3 + 5 * 3])], []))
    taken = intake.read([mixed(tmp_path, total=90000)])
    states = dict(zip(taken.lines["tracking"] + taken.lines["description"], taken.lines["state"], strict=True))
    assert [key for key, state in states.items() if state == "not read"] == [row[0] + row[2] for row in ROWS[2:4]]
    assert "no amount read from the picture was counted" in taken.problems[-1].message


def test_a_picture_beside_text_is_told_of(tmp_path: Path) -> None:
    """One behind the text is not, as a mark on the paper is none."""
    page(texts()[:1]).save(tmp_path / "picture.png")
    canvas = Canvas(str(tmp_path / "half.pdf"), pagesize=letter, invariant=True)
    for bottom in (0, 396):
        canvas.drawImage(str(tmp_path / "picture.png"), 0, bottom, width=612, height=396)
        for row in range(25):
            canvas.drawString(72, 760 - 12 * row, f"NP44100{row:03d}")
        if bottom:
            canvas.drawImage(str(tmp_path / "picture.png"), 0, 0, width=612, height=396)
        canvas.showPage()
    canvas.save()
    problems = pdf_file.read("half.pdf", tmp_path / "half.pdf").problems
    assert problems == (
        Problem(
            "half.pdf",
            "page 1",
            "A picture takes up 50% of this page, and what stands in it was not read. If it shows lines of the "
            "statement, ask for the statement as CSV.",
            note=True,
        ),
    )


def test_letters_that_are_drawn_are_a_picture(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A page without a word on which much is drawn."""
    monkeypatch.setattr(picture_file, "find_spec", lambda _: None)
    canvas = Canvas(str(tmp_path / "drawn.pdf"), pagesize=letter, invariant=True)
    canvas.drawString(72, 700, "Tracking number: NP44100261")
    canvas.showPage()
    for shape in range(200):
        canvas.circle(72 + shape, 700, 2)
    canvas.save()
    problems = pdf_file.read("drawn.pdf", tmp_path / "drawn.pdf").problems
    assert [problem.place for problem in problems] == ["page 2"]


def test_a_picture_without_text_beside_pages_of_text_is_only_told_of(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It may be an advertisement."""

    def nothing(*_: object) -> None:
        raise WithoutText(picture_file.NOTHING)

    monkeypatch.setattr(picture_file, "find_spec", lambda name: name)
    monkeypatch.setattr(picture_file, "read", nothing)
    problems = pdf_file.read("mixed.pdf", mixed(tmp_path)).problems
    assert problems == (Problem("mixed.pdf", "page 2", picture_file.NOTHING, note=True),)


@recognising
def test_a_picture_without_text_is_refused(tmp_path: Path) -> None:
    """A photograph of something else."""
    assert intake.read([bad_files.picture(tmp_path)]).problems == (
        Problem(
            "photo.png",
            "",
            "No text was found in this picture. If it is a statement, take it again: flat, in good light, filling the "
            "picture. Otherwise leave it out.",
            unread=True,
        ),
    )


@recognising
def test_a_damaged_picture_is_refused(tmp_path: Path) -> None:
    """One that begins like a PNG and goes on like nothing."""
    path = bad_files.write(tmp_path, "photo.png", b"\x89PNG\r\n\x1a\n" + bytes(range(200)))
    assert [problem.message for problem in intake.read([path]).problems] == [
        "This picture is damaged or cut off, or of a kind that is not known. Save it anew as PNG or JPEG."
    ]


@recognising
def test_a_picture_of_too_many_dots_is_refused_unopened(tmp_path: Path) -> None:
    """By the size it claims; white packs to next to nothing."""
    Image.new("1", (20_000, 5_000)).save(tmp_path / "huge.png")
    assert [problem.message for problem in intake.read([tmp_path]).problems] == [
        (
            "This picture has more than 80 million dots, which is more than are read. Save it smaller; 200 dots an "
            "inch are enough."
        )
    ]


@pytest.mark.parametrize("make", [bad_files.picture, bad_files.pdf_without_text])
def test_without_the_extra_it_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, make: Any) -> None:
    """For pictures and for PDFs of pictures."""
    monkeypatch.setattr(picture_file, "find_spec", lambda _: None)
    assert [problem.message for problem in intake.read([make(tmp_path)]).problems] == [
        (
            "This is a picture, or a PDF of pictures as from a scanner, and what reads pictures is not installed. In "
            "the project's folder, run: pip install '.[ocr]'. Then run again. Or ask the carrier for the statement as "
            "CSV, or as the PDF it was printed from."
        )
    ]


def said(texts: list[str], sure: list[float]) -> dict[str, Any]:
    """A page on which each text stands in a line of its own."""
    corners = [[[10, y], [90, y], [90, y + 20], [10, y + 20]] for y in range(10, 30 * len(texts), 30)]
    return {"size": [100, 30 * len(texts)], "texts": texts, "sure": sure, "corners": corners}


def drawn(placed: Sequence[Placed], doubtful: str = "") -> dict[str, Any]:
    """The page as recognition would find it, unsure of one text."""
    corners = [
        [[x + right * 12 * len(text), y + down * 30] for right, down in ((0, 0), (1, 0), (1, 1), (0, 1))]
        for x, y, text in placed
    ]
    sure = [0.8 if text == doubtful else 1.0 for _, _, text in placed]
    return {"size": [1275, 700], "texts": [text for _, _, text in placed], "sure": sure, "corners": corners}


@pytest.fixture
def found(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """Stands for what recognition finds: its lines of JSON, and whether it came to its end."""
    stands: dict[str, Any] = {"pages": [], "ended": True}

    def run(command: list[str], **_: object) -> Any:
        printed = "".join(f"{json.dumps(page)}\n" for page in stands["pages"]).encode()
        return subprocess.CompletedProcess(command, 0 if stands["ended"] else 1, printed)

    monkeypatch.setattr(picture_file, "find_spec", lambda name: name)
    monkeypatch.setattr("auditor.core.sandbox.subprocess.run", run)
    return stands


def test_a_text_with_digits_in_doubt_is_named_with_its_place(tmp_path: Path, found: dict[str, Any]) -> None:
    """One without digits, or one that is sure, is not."""
    found["pages"] = [said(["Dear seller", "parcel NP1", "12.34"], [0.5, 0.85, 0.99])]
    opened = picture_file.read("photo.png", bad_files.picture(tmp_path))
    assert [(problem.place, problem.message) for problem in opened.problems[1:]] == [
        ("page 1", "'parcel NP1' may be misread (recognition is sure to 85%). Compare it with the paper.")
    ]


def test_a_row_in_doubt_is_named_by_its_place_in_the_table(tmp_path: Path, found: dict[str, Any]) -> None:
    """The amount of the second row, which is row 3 with the headings."""
    found["pages"] = [drawn(texts(), doubtful=ROWS[1][-1])]
    taken = intake.read([bad_files.picture(tmp_path)])
    assert taken.lines["amount_cents"].to_list() == list(CENTS)
    assert [(problem.place, problem.message) for problem in taken.problems[1:]] == [
        ("page 1, row 3", "'1.88' may be misread (recognition is sure to 80%). Compare it with the paper.")
    ]


def test_doubts_beyond_twenty_are_counted(tmp_path: Path, found: dict[str, Any]) -> None:
    """So that a bad photograph does not fill the screen."""
    found["pages"] = [said([f"Dear seller {at}" for at in range(25)], [0.5] * 25)]
    opened = picture_file.read("photo.png", bad_files.picture(tmp_path))
    assert len(opened.problems) == 22
    assert opened.problems[-1].message == "5 more texts with digits may be misread."


def test_a_letter_in_a_picture_is_a_letter(tmp_path: Path, found: dict[str, Any]) -> None:
    """A notice that was printed and photographed."""
    found["pages"] = [said(["Tracking number: NP1", "Measured weight: 14 lb"], [1, 1])]
    taken = intake.read([bad_files.picture(tmp_path)])
    assert taken.notices[["tracking", "measured_weight_pg"]].to_numpy().tolist() == [["NP1", pounds(14)]]


@pytest.mark.parametrize(
    ("pages", "ended", "message"),
    [
        (
            [{"hindrance": "pages"}],
            True,
            (
                "This page and those after it were not read. Of pictures and scans up to 60 pages are read. Split it "
                "into smaller files."
            ),
        ),
        (
            [],
            False,
            (
                "This page and those after it were not read. This picture takes more than 120 seconds or too much "
                "memory to read. Save it smaller; 200 dots an inch are enough."
            ),
        ),
    ],
)
def test_pages_that_were_not_read_are_told_of(
    tmp_path: Path, found: dict[str, Any], pages: list[Any], ended: object, message: str
) -> None:
    """And those before them are read."""
    found["pages"], found["ended"] = [said(["Dear seller"], [1]), *pages], ended
    opened = picture_file.read("photo.png", bad_files.picture(tmp_path))
    assert opened.problems[1:] == (Problem("photo.png", "page 2", message, unread=True),)


def test_a_picture_that_stops_its_reader_is_refused(tmp_path: Path, found: dict[str, Any]) -> None:
    """Before anything of it was read."""
    found["ended"] = False
    with pytest.raises(Unreadable, match="takes more than 120 seconds or too much memory"):
        picture_file.read("photo.png", bad_files.picture(tmp_path))


def test_photographs_that_the_records_name_are_not_even_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Recognition takes seconds a picture, and they are no statements."""
    folder = bad_files.month(tmp_path / "month")
    bad_files.picture(folder).rename(folder / "p2.jpg")
    monkeypatch.setattr(picture_file, "read", lambda name, _: pytest.fail(f"{name} was opened"))
    assert intake.read([folder]).problems == ()


def lines_of(amounts: dict[str, list[int]]) -> pd.DataFrame:
    """Lines of statements by their numbers."""
    rows = [{"statement": name, "amount_cents": cents} for name, them in amounts.items() for cents in them]
    return conform(pd.DataFrame(rows), LINES)


def totals_of(amounts: dict[str, int]) -> pd.DataFrame:
    """Printed totals of statements by their numbers."""
    rows = [{"statement": name, "printed_total_cents": cents} for name, cents in amounts.items()]
    return conform(pd.DataFrame(rows, columns=["statement", "printed_total_cents"]), PRINTED_TOTALS)


def test_money_counts_by_statement() -> None:
    """One that agrees keeps its amounts beside one that does not."""
    lines = lines_of({"A": [100, 200], "B": [100], "C": [7]})
    wrong, problems = picture_file.unproved("photo.png", lines, totals_of({"A": 300}), pd.Series(["A", "B"]))
    assert wrong == ["B"]
    assert [re.sub(r", so.*", "", problem.message) for problem in problems] == [
        (
            "The lines of statement B, read from a picture in whole or in part, add up to $1.00, but no total was "
            "found on it"
        )
    ]


@given(st.floats(-0.08, 0.08), st.floats(-1e-4, 1e-4), st.integers(0, 2**32))
def test_a_page_askew_is_put_straight(angle: float, slant: float, seed: int) -> None:
    """The middles of a row's texts come to lie on one height, turned by up to 4.6 degrees and seen at a slant."""
    chance = np.random.default_rng(seed)
    x, y = (axis.ravel() for axis in np.meshgrid(np.arange(5) * 250.0, np.arange(12) * 44.0))
    width = chance.uniform(60, 190, len(x))
    sides = ((0, 0), (1, 0), (1, 1), (0, 1))
    corners = np.stack([np.stack([x + right * width, y + down * 30], axis=1) for right, down in sides], axis=1)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    corners[:, :, 1] *= 1 + slant * corners[:, :, 0]
    boxes = picture_file.upright(corners @ turn + chance.uniform(-1, 1, corners.shape))
    middles = ((boxes[:, 1] + boxes[:, 3]) / 2).reshape(12, 5)
    assert np.ptp(middles, axis=1).max() < 0.35 * picture_file.LETTER
    assert np.diff(middles.mean(axis=1)).min() > 1.2 * picture_file.LETTER


def test_one_text_alone_stays_where_it_is() -> None:
    """There is nothing to straighten it by; and a page without any has no boxes."""
    corners = np.array([[[10.0, 10], [90, 10], [90, 30], [10, 30]]])
    left, top, right, bottom = picture_file.upright(corners)[0]
    assert (right - left > 5 * (bottom - top), bottom - top) == (True, picture_file.LETTER)
    assert picture_file.upright(corners[:0]).shape == (0, 4)


def test_a_picture_in_an_email_must_prove_its_money_too(tmp_path: Path, found: dict[str, Any]) -> None:
    """Only the picture: a table attached beside it counts by itself."""
    message = EmailMessage()
    message["From"], message["Subject"] = "billing@norrhaven.example", "Your statement"
    message.set_content("See the attachments.")
    message.add_attachment(bad_files.picture(tmp_path).read_bytes(), "image", "png", filename="photo.png")
    table = "Statement,Tracking,Charge,Amount\nLP-1,NP1,Freight,2.00\n"
    message.add_attachment(table.encode(), "text", "csv", filename="lines.csv")
    (tmp_path / "photo.png").unlink()
    found["pages"] = [drawn(texts(total="900.00"))]
    taken = intake.read([bad_files.write(tmp_path, "mail.eml", message.as_bytes())])
    counted = taken.lines.groupby("statement")["amount_cents"].sum().to_dict()
    assert counted == {"NP-2026-03": 0, "LP-1": 200}
