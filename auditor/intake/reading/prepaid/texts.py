"""The other columns of a paper about prepaid labels: the day, the order, and the words for why."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from auditor.core.arrays import Masked, Yes
from auditor.intake.reading.cells import LETTER, Column
from auditor.intake.reading.known import Known
from auditor.intake.reading.prepaid.sheets import Seen
from auditor.intake.reading.roles import plain_roles

MOSTLY = 0.7
AS_RECORDED = 1.0
"""More log odds than this say that a column repeats what the record says."""


def days(seen: Seen, known: Known, moves: Yes) -> tuple[Masked, set[int]]:
    """The day of each movement: of several columns of days the one that is least the day of shipping."""
    found = dict(_days(seen, moves))
    if not found:
        nothing = np.zeros(len(moves), dtype=np.int64)
        return Masked(nothing, nothing > 0), set()
    shipped = known.shipments["shipped_on"].to_numpy().astype("datetime64[D]")
    its = shipped[np.maximum(seen.where.place, 0)]
    dated = ~np.isnat(its) & seen.ours

    def as_shipped(at: int) -> float:
        both = dated & found[at].known
        return float((found[at].numbers == its.astype(np.int64))[both].mean()) if both.any() else 0.0

    best = min(found, key=as_shipped)
    return found[best], set(found)


def _days(seen: Seen, moves: Yes) -> Iterator[tuple[int, Masked]]:
    for at, column in enumerate(seen.table.columns):
        rows = moves & column.filled
        if not rows.any():
            continue
        read = [column.days(day_first=first) for first in (False, True)]
        known = [float(one.known[rows].mean()) for one in read]
        if max(known) >= MOSTLY:
            yield at, read[int(np.argmax(known))]


def words(seen: Seen, known: Known, used: set[int], moves: Yes) -> tuple[pd.Series, pd.Series]:
    """The order and the reason of each row, missing where there is none."""
    order, reason = ["" for _ in moves], [list[str]() for _ in moves]
    for at, column in enumerate(seen.table.columns):
        if at in used or not (column.filled & moves).any():
            continue
        role = _recorded_as(column, seen, known)
        texts = column.text()
        if role == "order":
            order = [str(text) for text in texts]
        elif role is None and _is_words(column):
            reason = [[*said, str(text)] if text else said for said, text in zip(reason, texts, strict=True)]
    told = pd.Series(["; ".join(said) for said in reason], dtype="str")
    return pd.Series(order, dtype="str").replace("", None), told.replace("", None)


def _recorded_as(column: Column, seen: Seen, known: Known) -> str | None:
    """What of the record a column repeats."""
    rows = np.flatnonzero(seen.ours & column.filled)
    if not len(rows):
        return None
    roles = list(plain_roles(column.take(rows), seen.where.place[rows], known))
    best = max(roles, key=lambda role: role.odds, default=None)
    return best.name if best is not None and best.odds > AS_RECORDED else None


def _is_words(column: Column) -> bool:
    used = column.used
    return sum(LETTER.search(text) is not None for text in used) > len(used) / 2
