"""Cells that say a parcel's figures with labels, beside or over its charges → a column for each figure.

'Tracking #: NP44100260 Shipped: Mar 24, 2026 Zone: 5' in a bar over the charges, whose rows get all of it; 'Ref: Q-7'
under a parcel's number, whose row gets it.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from itertools import islice, pairwise

from auditor.intake import vocabulary
from auditor.intake.block_figures import GUESSED, LABEL, NUMBERED, figures
from auditor.intake.documents import Grid, with_rows
from auditor.intake.evidence import CENTS, is_code
from auditor.intake.wording import SUM

LEAST = 3
"""So many parcels at least have such cells."""
SHARE = 0.5
"""Of all parcels so many have a figure that is one of theirs."""
ROWS = 400
"""So many rows are looked at for such cells; where there are none, no others are."""
LONGEST, MOST_WORDS = 500, 3
LIKE = 0.75
"""How like a tracking number's name the label of a number must be, from 0 to 1."""
NUMBER = re.compile(rf"({LABEL})(?:\s?#)?\s?:\s*(\S+)")

Said = list[dict[str, str]]
"""What each cell of a row says, by the headings of block_figures.py."""


def with_labels_apart(grid: Grid) -> Grid:
    """The grid with a column for each figure; as it is where its cells have no labels."""
    if sum(any(map(_figures, row)) for row in islice(grid.rows, ROWS)) < LEAST:
        return grid
    rows = [[" ".join(cell.split()) for cell in row] for row in grid.rows]
    said = [list(map(_figures, row)) for row in rows]
    in_bars = any(NUMBERED in of for row in said for of in row)
    parcels = list(pairwise([*_starts(rows, said, in_bars=in_bars), len(rows)]))
    ours = [[at for at in range(*them) if _is_charge(rows[at])] if in_bars else [them[0]] for them in parcels]
    counts = Counter(name for first, end in parcels for name in _of_rows(said[first:end]))
    names = [name for name, count in counts.items() if count >= max(LEAST, SHARE * len(parcels))]
    above = range(parcels[0][0] if parcels else 0)
    head = max((at for at in above if sum(map(bool, rows[at])) > 1 and not any(said[at])), default=None)
    if head is None or not names or sum(map(bool, ours)) < SHARE * len(parcels):
        return grid
    width = max(map(len, rows))
    apart = [_without(row, of, width + len(names)) for row, of in zip(rows, said, strict=True)]
    for at in (at for at, row in enumerate(rows) if row == rows[head]):
        apart[at][width:] = names
    for (first, end), them in zip(parcels, ours, strict=True):
        found = _of_rows(said[first:end])
        for at in them:
            apart[at][width:] = [found.get(name, "") for name in names]
    return with_rows(grid, [(at, row) for at, row in enumerate(apart) if any(row) or not any(rows[at])])


def _figures(cell: str) -> dict[str, str]:
    """What a cell says that begins with a label; nothing of any other."""
    label, colon, _ = cell[:LONGEST].partition(":")
    if not colon or len(cell) > LONGEST or len(label.split()) > MOST_WORDS:
        return {}
    text = " ".join(cell.split())
    numbers = (one for one in NUMBER.finditer(text) if is_code(one[2]) and _is_of_a_parcel(one[1]))
    number = next(numbers, None)
    found = figures(text if number is None else text[: number.start()] + text[number.end() :])
    found.pop(GUESSED, None)
    return found if number is None else {NUMBERED: number[2], **found}


def _is_of_a_parcel(label: str) -> bool:
    return vocabulary.likeness(label, "statement").get("tracking", (0.0, None))[0] >= LIKE


def _starts(rows: Sequence[Sequence[str]], said: Sequence[Said], *, in_bars: bool) -> list[int]:
    """Where parcels begin: at a bar with their number, or at a number in the column in which others have labels."""
    if in_bars:
        return [at for at, row in enumerate(said) if any(NUMBERED in of for of in row)]
    counts = Counter(at for row in said for at, of in enumerate(row) if of)
    place = max(counts, key=counts.__getitem__, default=0)
    return [at for at, row in enumerate(rows) if len(row) > place and is_code(row[place])]


def _of_rows(said: Sequence[Said]) -> dict[str, str]:
    """What the cells of some rows say, the first of each figure."""
    found: dict[str, str] = {}
    for of in (of for row in said for of in row):
        found = of | found
    return found


def _without(row: Sequence[str], said: Said, width: int) -> list[str]:
    """The row without its cells of labels, as wide as that."""
    left = ["" if of else cell for cell, of in zip(row, said, strict=True)]
    return [*left, *[""] * (width - len(row))]


def _is_charge(row: Sequence[str]) -> bool:
    """Whether a row has words and an amount, and is no sum."""
    lead = next(filter(None, row), "")
    return any(map(CENTS.fullmatch, row)) and not CENTS.fullmatch(lead) and not SUM.match(lead)
