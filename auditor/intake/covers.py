"""What a small table says about the tables beside it: a banner, a card of labels and values, a cover."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice, pairwise

ROWS, CELLS = 15, 3
"""So many rows at the head of a table may be about the whole of it, if they have so few cells."""
COVER_ROWS = 30
"""A cover has no more rows, of which some may have several labels, each before its value."""
CARD_ROWS, MOST_LABELS = 2, 12
"""A card has a name over what it stands for, or several such beside one another."""


def said(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """Texts of a small table: 'Statement date Apr 2, 2026'; nothing of what is wide and long, which is a table itself.

    Args:
        rows: of texts, of any length.
    """
    filled = [[" ".join(cell.split()) for cell in row] for row in islice(rows, ROWS)]
    for row in filled:
        cells = list(filter(None, row))
        if cells and (len(cells) <= CELLS or len(rows) == 1):
            yield " ".join(cells)
        elif len(rows) <= COVER_ROWS and _are_pairs(cells):
            yield from map(" ".join, zip(cells[::2], cells[1::2], strict=True))
    for at, (above, below) in enumerate(pairwise(filled) if len(rows) <= ROWS else ()):
        if _is_card(above, below) and not _goes_on(below, filled[at + 2 :]):
            yield from (" ".join(pair) for pair in zip(above, below, strict=False) if all(pair))


def _are_pairs(cells: Sequence[str]) -> bool:
    """Whether several labels stand in a row, each before its value: 'Bill to', a name, 'Invoice no', 'S-7'."""
    labels, values = cells[::2], cells[1::2]
    wordy = not any(any(map(str.isdigit, label)) for label in labels)
    return len(labels) == len(values) <= MOST_LABELS and wordy and any(any(map(str.isdigit, one)) for one in values)


def _is_card(above: Sequence[str], below: Sequence[str]) -> bool:
    """Whether a row has labels, without figures, over the values of a row below."""
    labels = list(filter(None, above))
    wordy = not any(any(map(str.isdigit, label)) for label in labels)
    return CARD_ROWS <= len(labels) <= MOST_LABELS and wordy and any(any(map(str.isdigit, cell)) for cell in below)


def _goes_on(values: Sequence[str], after: Sequence[Sequence[str]]) -> bool:
    """Whether the row after those values has figures where they have, as in a table with a row a product."""
    figures = [[any(map(str.isdigit, cell)) for cell in row] for row in (values, *after[:1])]
    return len(figures) > 1 and figures[0] == figures[1]
