"""Cells that say what each of their texts is, beside or over a parcel's charges → a column for each label.

'Tracking #: NP44100260 Shipped: Mar 24, 2026 Zone: 5' in a bar over the charges, whose rows get all of it; 'Ref: Q-7'
under a parcel's number, whose row gets it.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import islice, pairwise

from auditor.intake import vocabulary
from auditor.intake.documents import Grid
from auditor.intake.evidence import CENTS, is_code
from auditor.intake.wording import SUM

LEAST = 3
"""So many parcels at least have such cells."""
SHARE = 0.5
"""Of all parcels so many have a label that is one of theirs."""
ROWS = 400
"""So many rows are looked at for labels."""
LONGEST, MOST_WORDS = 500, 3
LIKE = 0.75
"""How like a field's name a label must be, from 0 to 1."""
COLON = re.compile(r":(?=\s|$)")


def with_labels_apart(grid: Grid) -> Grid:
    """The grid with a column for each label; as it is where its cells have none."""
    likely = _labels(grid.rows)
    if not likely:
        return grid
    rows = [[" ".join(cell.split()) for cell in row] for row in grid.rows]
    said = [[_pairs(cell, likely) for cell in row] for row in rows]
    number = next((one for one in likely if _field(one)[0] == "tracking"), None)
    starts = _starts(rows, said, number)
    parcels = list(pairwise([*starts, len(rows)]))
    counts = Counter(label for first, end in parcels for label in _of_rows(said[first:end]))
    labels = [label for label in likely if counts[label] >= max(LEAST, SHARE * len(starts))]
    ours = [[at for at in range(*them) if _is_charge(rows[at])] if number else [them[0]] for them in parcels]
    head = max((at for at in range(min(starts, default=0)) if _is_filled(rows[at], said[at])), default=None)
    if head is None or not labels or sum(map(bool, ours)) < SHARE * len(starts):
        return grid
    width = max(map(len, rows))
    apart = [_without(row, of, width + len(labels)) for row, of in zip(rows, said, strict=True)]
    for at in (at for at, row in enumerate(rows) if row == rows[head]):
        apart[at][width:] = labels
    for (first, end), them in zip(parcels, ours, strict=True):
        values = _of_rows(said[first:end])
        for at in them:
            apart[at][width:] = [values.get(label, "") for label in labels]
    kept = [at for at, row in enumerate(apart) if any(row) or not any(rows[at])]
    return replace(
        grid,
        rows=[apart[at] for at in kept],
        places=[grid.places[at] for at in kept],
        boxes=[grid.boxes[at] for at in kept] if grid.boxes else (),
        cell_boxes=None,
    )


def _labels(rows: Sequence[Sequence[str]]) -> list[str]:
    """The labels, in order, that begin cells or stand within such cells, each several times."""
    cells = [" ".join(cell.split()) for row in islice(rows, ROWS) for cell in row if ":" in cell[:LONGEST]]
    cells = [cell for cell in cells if len(cell) <= LONGEST and COLON.search(cell)]
    begun = [cell for cell in cells if len(COLON.split(cell, maxsplit=1)[0].split()) <= MOST_WORDS]
    before = [part.split()[-MOST_WORDS:] for cell in begun for part in COLON.split(cell)[:-1]]
    ends = [" ".join(words[at:]) for words in before for at in range(len(words))]
    often = {text for text, count in Counter(ends).items() if count >= LEAST and not text[0].isdigit()}
    of_each = [[" ".join(words[at:]) for at in range(len(words)) if " ".join(words[at:]) in often] for words in before]
    found = [max(one, key=lambda text: (_field(text)[1], len(text))) for one in of_each if one]
    return [text for text in dict.fromkeys(found) if _field(text)[1] >= LIKE]


def _field(label: str) -> tuple[str, float]:
    """The field of a statement that a label is most like, and how much."""
    found = vocabulary.likeness(label, "statement")
    best = max(found, key=lambda name: found[name][0], default="")
    return best, found[best][0] if best else 0.0


def _pairs(cell: str, labels: Sequence[str]) -> dict[str, str]:
    """What a cell says by label; nothing where it does not begin with one of them."""
    if len(cell) > LONGEST or not COLON.search(cell):
        return {}
    named = "|".join(re.escape(label) for label in sorted(labels, key=len, reverse=True))
    parts = re.split(rf"(?:^|(?<=\s))({named}):(?:\s+|$)", cell)
    return {} if parts[0] else {label: value.strip() for label, value in zip(parts[1::2], parts[2::2], strict=True)}


def _starts(rows: Sequence[Sequence[str]], said: Sequence[Sequence[dict[str, str]]], number: str | None) -> list[int]:
    """Where parcels begin: at the label of their number, or at a number in the column in which others have labels."""
    if number:
        return [at for at, row in enumerate(said) if any(number in of and is_code(of[number]) for of in row)]
    counts = Counter(at for row in said for at, of in enumerate(row) if of)
    place = max(counts, key=counts.__getitem__, default=0)
    return [at for at, row in enumerate(rows) if len(row) > place and is_code(row[place])]


def _is_filled(row: Sequence[str], said: Sequence[dict[str, str]]) -> bool:
    """Whether a row may be that of the headings: it has several texts, and none with a label."""
    return sum(map(bool, row)) > 1 and not any(said)


def _of_rows(said: Sequence[Sequence[dict[str, str]]]) -> dict[str, str]:
    """What the cells of some rows say, the first of each label."""
    found: dict[str, str] = {}
    for of in (of for row in said for of in row):
        found = of | found
    return found


def _without(row: Sequence[str], said: Sequence[dict[str, str]], width: int) -> list[str]:
    """The row without its cells of labels, as wide as that."""
    left = ["" if of else cell for cell, of in zip(row, said, strict=True)]
    return [*left, *[""] * (width - len(row))]


def _is_charge(row: Sequence[str]) -> bool:
    """Whether a row has words and an amount, and is no sum."""
    lead = next(filter(None, row), "")
    return any(map(CENTS.fullmatch, row)) and not CENTS.fullmatch(lead) and not SUM.match(lead)
