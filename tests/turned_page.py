"""A page that is stored turned and cropped, and drawn on as it is shown."""

from __future__ import annotations

from pathlib import Path

from reportlab.pdfgen.canvas import Canvas


def turned_page(path: Path, turns: int = 0, *, cropped: bool = False) -> Canvas:
    """A canvas whose origin is the corner shown at the top left, with y upwards; stored with so many quarter turns."""
    canvas = Canvas(str(path), pagesize=(400, 600), invariant=True)
    # reportlab's size is that of the page as it is shown.
    wide, high = (600, 400) if turns % 2 else (400, 600)
    left, bottom, right, top = crop = (20, 30, wide - 10, high - 40) if cropped else (0, 0, wide, high)
    if cropped:
        canvas.setCropBox(crop)
    canvas.setPageRotation(90 * turns)
    # Where that corner stands, and the way in which a line runs from there.
    x, y = ((left, top), (left, bottom), (right, bottom), (right, top))[turns]
    canvas.translate(x, y)
    canvas.rotate(90 * turns)
    return canvas
