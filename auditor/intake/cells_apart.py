"""Cells that hold several particulars of a parcel → a column for each: 'Ground Zone 8' → Ground, and 8.

What the particulars are is told by what they look like, in nearly every cell of the column: weights and sizes by their
units, zones by their word, a parcel's number by its length and an order's by its shape.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np

from auditor.intake.block_figures import SIZE, WEIGHT
from auditor.intake.documents import Grid
from auditor.intake.evidence import is_code
from auditor.intake.words import canonical

ZONE = re.compile(r"\b(?:zone|band|zn)\.?\s*:?\s*(?:[A-Z]?\d{1,3}|[A-Z])\b", re.IGNORECASE)
REFERENCE = re.compile(r"#\d{3,12}|[A-Z]{1,4}[-/]\d{3,10}")
FIGURE = re.compile(r"\d")
BETWEEN = " ,;|/·•()–—-"
SAMPLE = 200
"""So many cells of a column are looked at."""
LONGEST = 100
OFTEN, FITTING = 0.2, 0.8
"""The share of cells that must hold all such particulars, and that which must hold some, in the same order."""
WHOLE_NUMBER = 10
"""A number in one piece is so long at least; one in groups of fewer stays together."""

NAMES = {"size": "size", "weight": "weight", "zone": "zone", "reference": "order reference"}
"""What columns of those particulars are called here. The other particulars keep the heading they stood under."""
WORDS_OF = {"size": {"size"}, "weight": {"weight"}, "zone": {"zone"}, "reference": {"order", "reference", "customer"}}
LABELS = {"order", "reference", "number", "customer", "billed", "measured", "size", "weight", "zone"}
"""Words beside a number or a reference that say what it or the next figure is."""
WHOSE = ("billed", "measured", "declared")

Piece = tuple[str, str]
"""What a particular is, and its text."""


@dataclass(frozen=True)
class _Several:
    """A column of cells with several particulars: which they are in order, and the heading above."""

    position: int
    kinds: tuple[str, ...]
    heading: str

    def cells(self, text: str) -> list[str]:
        """What stands in each of the new columns for a cell of the old one."""
        if text and text == self.heading:
            return [self._name(kind) for kind in self.kinds]
        found = _pieces(text)
        if not _is_within([kind for kind, _ in found], self.kinds):
            return [text, *[""] * (len(self.kinds) - 1)]
        return [dict(found).get(kind, "") for kind in self.kinds]

    def _name(self, kind: str) -> str:
        if kind in NAMES:
            whose = next((word for word in WHOSE if word in canonical(self.heading)), "")
            return f"{whose} {NAMES[kind]}".strip() if kind in {"size", "weight"} else NAMES[kind]
        others = set().union(*(WORDS_OF.get(one, set()) for one in self.kinds))
        own = [word for word in self.heading.split() if not others.intersection(canonical(word))]
        return " ".join(own).strip(BETWEEN) or self.heading


def apart(grid: Grid) -> Grid:
    """The grid with a column for each particular, where the cells of a column hold several."""
    width = max((len(row) for row in islice(grid.rows, SAMPLE)), default=0)
    several = {at: one for at in range(width) if (one := _several(grid.rows, at))}
    if not several:
        return grid
    rows = [list(_spread(row, several)) for row in grid.rows]
    return replace(grid, rows=rows, cell_boxes=_moved(grid.cell_boxes, several))


def _spread(row: Sequence[str], several: dict[int, _Several]) -> Iterator[str]:
    for at, cell in enumerate(row):
        if at in several:
            yield from several[at].cells(" ".join(cell.split()))
        else:
            yield cell


def _moved(boxes: np.ndarray | None, several: dict[int, _Several]) -> np.ndarray | None:
    """The boxes of cells with the columns as they are counted now: a parted cell's is that of its first particular."""
    if boxes is None:
        return None
    moved = boxes.copy()
    for at, one in several.items():
        moved[boxes[:, 1] > at, 1] += len(one.kinds) - 1
    return moved


def _several(rows: Sequence[Sequence[str]], position: int) -> _Several | None:
    """The particulars in a column of a table, None where it has cells of one. Words alone, as of sums, say nothing."""
    cells = [(at, " ".join(row[position].split())) for at, row in enumerate(rows[:SAMPLE]) if len(row) > position]
    filled = [(at, text) for at, text in cells if text]
    of_text = {text: tuple(kind for kind, _ in _pieces(text)) for text in {text for _, text in filled}}
    shapes = {at: of_text[text] for at, text in filled}
    counts = Counter(shape for shape in shapes.values() if _is_of_several(shape))
    if not counts:
        return None
    kinds, count = counts.most_common(1)[0]
    first = next(at for at, shape in shapes.items() if shape == kinds)
    above = [text for at, text in filled if at < first]
    below = [(at, text) for at, text in filled if at >= first and text != (above or [""])[-1]]
    fits = [_is_within(shapes[at], kinds) for at, text in below if _is_within(shapes[at], kinds) or FIGURE.search(text)]
    if not above or count < OFTEN * len(below) or sum(fits) < FITTING * len(fits):
        return None
    return _Several(position, kinds, above[-1])


def _is_of_several(shape: Sequence[str]) -> bool:
    """Whether the particulars are different ones, of which words come first and stand before none but figures."""
    if len(shape) < 2 or len(set(shape)) < len(shape):  # noqa: PLR2004 - several
        return False
    return "words" not in shape[1:] and not {"words", "code"} <= {*shape} and {"words", "reference"} != {*shape}


def _is_within(shape: Sequence[str], kinds: Sequence[str]) -> bool:
    """Whether a cell has no other particulars than those, in the same order."""
    rest = iter(kinds)
    return bool(shape) and all(kind in rest for kind in shape)


def _pieces(text: str) -> list[Piece]:
    """The particulars in a text, in order."""
    if len(text) > LONGEST:
        return [("words", text)]
    found: list[tuple[int, int, str]] = []
    for kind, pattern in (("size", SIZE), ("weight", WEIGHT), ("zone", ZONE)):
        for one in pattern.finditer(text):
            if not any(start < one.end() and one.start() < end for start, end, _ in found):
                found.append((one.start(), one.end(), kind))
    pieces: list[Piece] = []
    begin = 0
    for start, end, kind in [*sorted(found), (len(text), len(text), "")]:
        pieces += _plain(text[begin:start].strip(BETWEEN))
        pieces += [(kind, text[start:end])] if kind else []
        begin = end
    return pieces


def _plain(text: str) -> list[Piece]:
    """The particulars in a text without figures of a parcel: words, or a number and a reference."""
    if not text:
        return []
    parts = [part for word in text.split() if (part := word.strip(BETWEEN))]
    kinds = [_kind(part) for part in parts]
    if {*kinds} > {"words"}:
        named = [kind == "words" and {*canonical(part)} <= LABELS for kind, part in zip(kinds, parts, strict=True)]
        parts = [part for part, is_label in zip(parts, named, strict=True) if not is_label]
        kinds = [kind for kind, is_label in zip(kinds, named, strict=True) if not is_label]
    return list(zip(kinds, parts, strict=True)) if "words" not in kinds else [("words", text)]


def _kind(word: str) -> str:
    if REFERENCE.fullmatch(word):
        return "reference"
    return "code" if len(word) >= WHOLE_NUMBER and is_code(word) else "words"
