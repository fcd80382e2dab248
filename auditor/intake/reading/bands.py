"""Where the columns of lines stand: between the gaps that all of the lines leave, counted over the document."""

from __future__ import annotations

import numpy as np

from auditor.core.arrays import Places, Yes
from auditor.intake.placed import X0, X1, Numbers

STEP = 0.25
"""Points: places across the page are told apart so finely."""
FEW = 0.03
"""Of the lines so few may have words where others have a gap, as the words before a total do."""


def bands(boxes: Numbers, lines: int) -> Numbers:
    """The columns (left and right ends) of the boxes of cells in so many lines; what lies across two makes none."""
    if not len(boxes):
        return np.zeros((0, 2))
    ends = np.round(boxes[:, [X0, X1]] / STEP).astype(np.intp)
    ends -= (low := int(ends.min()))
    dense = _runs(_ink(ends) > max(FEW * lines, 1))
    across = np.searchsorted(dense[:, 1], ends[:, 0], side="right") < np.searchsorted(dense[:, 0], ends[:, 1]) - 1
    kept = ends[~across] if not across.all() else ends
    return np.asarray((_runs(_ink(kept) > 0) + low) * STEP, dtype=np.float64)


def _ink(ends: Places) -> Places:
    """How many boxes stand over each place."""
    size = int(ends.max(initial=0)) + 2
    begins = np.bincount(ends[:, 0], minlength=size)
    stops = np.bincount(np.maximum(ends[:, 1], ends[:, 0] + 1), minlength=size)
    return np.asarray(np.cumsum(begins - stops), dtype=np.intp)


def _runs(there: Yes) -> Places:
    """Begin and end of each run of what is there."""
    change = np.diff(np.concatenate([[0], there.astype(np.int8), [0]]))
    return np.column_stack([np.flatnonzero(change == 1), np.flatnonzero(change == -1)])


def band_of(boxes: Numbers, columns: Numbers) -> Places:
    """The column of each box: the one that most of it stands over, or the nearest."""
    over = np.minimum(boxes[:, X1][:, None], columns[:, 1]) - np.maximum(boxes[:, X0][:, None], columns[:, 0])
    return np.asarray(over.argmax(axis=1), dtype=np.intp)


def crossed(boxes: Numbers, columns: Numbers) -> Places:
    """Over how many columns each box stands."""
    over = np.minimum(boxes[:, X1][:, None], columns[:, 1]) - np.maximum(boxes[:, X0][:, None], columns[:, 0])
    return np.asarray((over > 0).sum(axis=1), dtype=np.intp)
