"""What a paper about prepaid labels and a statement both tell is counted once, and only that."""

from __future__ import annotations

import pandas as pd
import pytest

from auditor.core.schemas import LINES, MOVES, conform
from auditor.intake.reading.prepaid.lines import billed_elsewhere

BILLED = {
    "statement": "S-1",
    "tracking": ["NP00000001", "NP00000001", "NP00000002"],
    "state": ["adjustment", "fee", "label charge"],
    "amount_cents": [100, 15, 900],
    "source_file": "statement.csv",
    "source_place": ["row 2", "row 3", "row 4"],
}


@pytest.mark.parametrize(
    ("tracking", "cents", "told"),
    [
        ("NP00000001", 115, True),
        ("NP00000001", 100, True),
        ("NP00000001", 114, False),
        ("NP00000002", 50, False),
        ("NP00000003", 100, False),
    ],
)
def test_a_correction_counts_once_where_a_statement_bills_as_much_of_the_parcel(
    tracking: str, cents: int, *, told: bool
) -> None:
    """By one of its lines or by those that correct the label together; another amount is money of its own."""
    move = {"kind": ["correction"], "tracking": [tracking], "amount_cents": [cents], "source_file": ["list.csv"]}
    moves = conform(pd.DataFrame({**move, "source_place": ["row 2"]}), MOVES)
    assert billed_elsewhere(conform(pd.DataFrame(BILLED), LINES), moves).tolist() == [told]
