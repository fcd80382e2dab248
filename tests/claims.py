"""A month for the tests of evidence: statements that name buyers, as CSV and PDF, and packing photographs."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

from PIL import Image
from reportlab.pdfgen.canvas import Canvas

import auditor
from auditor.audit import Audit
from tests.months.billing import Line
from tests.months.make import LARKRISE, NORRHAVEN, STATEMENT_ON, make_month

STREET = "Zugspitzweg"
ROUNDED = "NP4410026032700114"
"""In the sample month: read within the tolerance, measured at packing as declared, with a photograph."""
UNKNOWN = "LK220726031900000161"
"""In no record; the seller says that it is none of theirs."""
SAMPLE = Path(__file__).parents[1] / "sample_statements" / "2026-03"


@dataclass(frozen=True)
class ClaimsMonth:
    """The files by name, the audit of them, and the buyers' words that may be seen nowhere."""

    audit: Audit
    originals: Mapping[str, Path]
    words: frozenset[str]


@cache
def named_month() -> ClaimsMonth:
    """The sample's month, its statements printed with the recipients' names and streets."""
    folder = Path(mkdtemp(prefix="claims-"))
    month = make_month(2026, 180, out=folder, pdf=False)
    (folder / "larkrise-2026-03.csv").unlink()
    buyers = {one.order: one.buyer for one in month.shipments}
    named = [(line, buyers.get(line.order, "Wilhelmina Unbekannt")) for line in month.lines[LARKRISE]]
    write_named_pdf(folder / "larkrise-2026-03.pdf", named)
    _write_named_csv(folder / "norrhaven-2026-03.csv", [(x, buyers.get(x.order, "")) for x in month.lines[NORRHAVEN]])
    for one in month.shipments:
        if one.photo and one.order in {"Q-10158", "Q-10014"}:
            photograph(folder / one.photo, taken="2026:03:02 08:00:00")
    words = {word for one in month.shipments for word in one.buyer.split()} | {STREET, "Unbekannt"}
    paths = sorted(path for path in folder.iterdir() if path.suffix != ".jpg")
    originals = {path.name: path for path in folder.iterdir()}
    return ClaimsMonth(auditor.reconcile(paths, not_mine=[UNKNOWN]), originals, frozenset(words))


def photograph(path: Path, *, taken: str = "", size: tuple[int, int] = (1600, 1200)) -> None:
    """A grey picture with a place and a camera in its Exif, and the day it was taken."""
    exif = Image.Exif()
    exif[0x010F] = "Camera of Nowhere"
    exif.get_ifd(0x8825)[1] = "N"
    if taken:
        exif.get_ifd(0x8769)[0x9003] = taken
    Image.new("RGB", size, "grey").save(path, exif=exif)


HEADINGS = ("Tracking", "Shipped", "Service", "Zone", "Recipient", "Street", "Description", "Weight lb", "Amount")
PLACES = (30, 140, 190, 230, 255, 345, 430, 520, 560)


def write_named_pdf(path: Path, lines: Sequence[tuple[Line, str]], *, strokes: Sequence[float] = ()) -> None:
    """A statement without rulings that prints each line's recipient and street.

    `strokes`: where short upright ones are drawn: left, bottom, how far across, how far apart; the last closes it.
    """
    canvas = Canvas(str(path), pagesize=(620, 792), invariant=1)
    for start in range(0, len(lines), 45):
        canvas.setFont("Helvetica", 7)
        if not start:
            for at, text in enumerate(
                ("Larkrise Post", f"Statement {LARKRISE}", f"Statement date {STATEMENT_ON[LARKRISE]}")
            ):
                canvas.drawString(30, 770 - 10 * at, text)
        _row(canvas, 730, HEADINGS)
        for at, (line, buyer) in enumerate(lines[start : start + 45]):
            _row(canvas, 716 - 14 * at, _cells(line, buyer, f"{STREET} {start + at + 701}"))
        if strokes:
            left, bottom, across, apart = strokes
            for at in range(int(across / apart)):
                canvas.line(left + at * apart, bottom, left + at * apart, bottom + 5)
            canvas.line(left + across, bottom, left + across, bottom + 5)
        canvas.showPage()
    canvas.save()


def _cells(line: Line, buyer: str, street: str) -> tuple[str, ...]:
    words = f"{'Adjusted ' if line.kind == 'adjustment' else 'Credit ' if line.kind == 'credit' else ''}{line.charge}"
    amount = f"{'-' if line.cents < 0 else ''}{abs(line.cents) // 100}.{abs(line.cents) % 100:02d}"
    shipped = line.shipped_on.isoformat()
    return line.number, shipped, line.service, line.zone, buyer, street, words, str(line.weight or ""), amount


def _row(canvas: Canvas, y: float, cells: Sequence[str]) -> None:
    for x, text in zip(PLACES, cells, strict=True):
        canvas.drawString(x, y, text)


def _write_named_csv(path: Path, lines: Sequence[tuple[Line, str]]) -> None:
    """The same as CSV; the recipient stands in a column of its own and behind each correction of an address."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        headings = "Statement,Statement date,Tracking number,Ship date,Service,Zone,Recipient,Charge"
        figures = "Billed weight (lb),Scale weight (lb),Order reference,Amount"
        writer.writerow([*headings.split(","), *figures.split(",")])
        for line, buyer in lines:
            kind = {"adjustment": " adjustment", "credit": " credit"}.get(line.kind, "")
            cells = (line.number, line.shipped_on, line.service, line.zone, buyer, line.charge + kind)
            amount = f"{line.cents / 100:.2f}"
            more = (line.weight or "", line.scale, line.order, amount)
            writer.writerow((NORRHAVEN, STATEMENT_ON[NORRHAVEN], *cells, *more))


def small_pdf(
    path: Path, *, buyer: str, other_amount: int = 1111, own_amount: int = 2222, over: float | None = None
) -> Path:
    """Three parcels on one page, the second of them 'own'; `over` draws strokes so far apart in its cell of a name."""
    day = date(2026, 3, 3)
    lines = [
        Line("LK220726030300000019", day, "Parcel", "4", "freight", "label", other_amount, 5, order="Q-1"),
        Line("LK220726030300000026", day, "Parcel", "5", "freight", "label", own_amount, 7, order="Q-2"),
        Line("LK220726030300000033", day, "Parcel", "6", "freight", "label", other_amount, 9, order="Q-3"),
    ]
    strokes = () if over is None else (260, 703, 39, over)
    write_named_pdf(path, [(line, buyer) for line in lines], strokes=strokes)
    return path
