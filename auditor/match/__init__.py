"""Which recorded shipment a billed number belongs to, with a reason in words and a confidence that means something.

The number as it stands comes first, then the number without blanks, hyphens and case (`numbers`). What is left, and
what stands there but beside quite other figures, is held against the shipments it could be: those whose number could be
misread as this one (`nearby`), that have the same order reference, or the same day, amount and weight; each weighed by
the number and by what else is printed (`weighing`). One shipment is given to one number (`pairing`). Where two could be
meant, neither is picked.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.core.schemas import Column, Schema, conform
from auditor.match.numbers import Numbers, normalised, numbers
from auditor.match.pairing import SURE
from auditor.match.weighing import weighed

__all__ = ["MATCHES", "NOTHING_LIKE_IT", "likeliest", "match", "normalised"]

MATCHES: Schema = (
    Column("tracking", "str", "a distinct number as billed"),
    Column("shipment", "Int64", "row of the shipments table; missing when none fits"),
    Column("match", "str", "exact, spacing, misread, reference or none"),
    Column("confidence", "Float64", "chance that the join is right, 0 to 1"),
    Column("match_reason", "str", "how the two were joined, or which could be meant, in words"),
)

HOW = ("none", "exact", "spacing", "misread", "reference")
NONE, EXACT, SPACING = range(3)
NOTHING_LIKE_IT = "no recorded number is like it"
WORDS = (
    NOTHING_LIKE_IT,
    "the number is the same",
    "the number is the same but for blanks, hyphens or case",
)
CONFIDENCE = (np.nan, 0.9999, 0.999)
"""Of no join, of a number that is the same, and of one that is the same but for blanks or case (chosen)."""

SHARED = 0.5
"""The confidence of a number that two shipments have, where nothing tells which was billed: a guess between two."""


def match(lines: pd.DataFrame, shipments: pd.DataFrame) -> pd.DataFrame:
    """Join each distinct billed number to at most one shipment, and each shipment left to at most one number.

    Args:
        lines: LINES (or NOTICES with the columns it has).
        shipments: SHIPMENTS.

    Returns:
        MATCHES, a row for each distinct number, in the order of the lines. Which shipment a number is joined to does
        not depend on any order.
    """
    known = numbers(lines["tracking"], shipments["tracking"])
    return conform(_table(known, _sure_only(weighed(known, lines, shipments)), shipments.index), MATCHES)


def likeliest(lines: pd.DataFrame, shipments: pd.DataFrame) -> pd.DataFrame:
    """MATCHES with the likeliest shipment of every number, however unlikely, and `could_be`, all near as likely.

    Numbers that stand in the records keep their shipment, unless another one is surely meant.
    """
    known = numbers(lines["tracking"], shipments["tracking"])
    return _table(known, weighed(known, lines, shipments), shipments.index)


def _sure_only(found: pd.DataFrame) -> pd.DataFrame:
    """What was weighed, without guesses that are not sure or shipments that are surely another number's."""
    unlikely, guess = found["confidence"] < SURE, found["match"].notna()
    given = found.loc[guess & ~unlikely, "shipment"]
    unsure = unlikely & (guess | found["shipment"].isin(given))
    words = "it could be a misreading of " + found["could_be"] + ", and nothing tells which or whether"
    return found.assign(
        shipment=found["shipment"].mask(unsure, -1),
        match=found["match"].mask(unsure, HOW[NONE]),
        confidence=found["confidence"].mask(unsure),
        match_reason=found["match_reason"].mask(unsure, words),
    )


def _table(known: Numbers, found: pd.DataFrame, index: pd.Index) -> pd.DataFrame:
    """MATCHES with `could_be`: the numbers as they stand, and those that were found."""
    place = found.index.to_numpy(dtype=np.intp)
    how = np.where(known.same < 0, NONE, np.where(known.identical, EXACT, SPACING))
    confidence, shipment, reason = np.array(CONFIDENCE)[how], known.same.copy(), how.copy()
    shipment[place] = found["shipment"]
    confidence[place] = found["confidence"]
    # A number that stands in the records and keeps its shipment is joined as it stands.
    how[place] = np.where(
        found["match"].isna(), how[place], [HOW.index(word) for word in found["match"].fillna("none").tolist()]
    )
    reason[place] = len(WORDS) + np.arange(len(place))
    could_be = np.zeros(len(how), dtype=np.intp)
    could_be[place] = 1 + np.arange(len(place))
    labels = index.to_numpy(dtype=np.int64)[shipment] if len(index) else shipment
    return pd.DataFrame(
        {
            "tracking": known.billed,
            "shipment": pd.arrays.IntegerArray(labels, shipment < 0),
            "match": pd.array(HOW, dtype="str").take(how),
            "confidence": pd.arrays.FloatingArray(confidence, np.isnan(confidence)),
            "match_reason": pd.array([*WORDS, *found["match_reason"].tolist()], dtype="str").take(reason),
            "could_be": pd.array([None, *found["could_be"].tolist()], dtype="str").take(could_be),
        }
    )
