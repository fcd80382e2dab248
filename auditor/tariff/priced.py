"""One parcel's price as what it is: known, or not known and why. A reader has to tell the two apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NewType

import pandas as pd

Priced = NewType("Priced", Mapping[str, Any])
"""A row of `price` in which every amount is a whole number: cents, nm and pg by column."""


@dataclass(frozen=True)
class Unpriced:
    """No price is known for a parcel; `reason` says why, to go on a sentence: 'its weight is missing or zero'."""

    reason: str


def priced(row: Mapping[str, Any]) -> Priced | Unpriced:
    """What a row of `price` says of its parcel."""
    return Priced(row) if pd.isna(row["unpriced"]) else Unpriced(str(row["unpriced"]))
