"""Statements whose every word is meaningless are read whole, in structures that once took what is no charge for one."""

from __future__ import annotations

from pathlib import Path

import pytest

from auditor import intake
from auditor.tariff import expecting, opened
from tests.layouts.drawn import draw
from tests.layouts.drawn.score import score

BOOK = opened("us-ground-common")

STATEMENTS = (
    ("charges under a parcel", "csv", 62012),  # the account's rows under a word in the number's place
    ("number on the first row", "xlsx", 62001),
    ("charges under a parcel", "csv", 62060),  # a sum on each row that charges stand under
    ("record types", "csv", 62046),
    ("two lines a parcel", "csv", 62009),  # a row of one fee under its parcel's
    ("debit and credit", "csv", 62003),  # one amount in the column of credits
    ("slots", "csv", 62023),  # the first charge in a column of its own
    ("slots", "csv", 64001),
    ("column a charge", "csv", 62037),
    ("row a charge", "csv", 64005),  # whole cents beside other figures with decimals
)


@pytest.mark.parametrize(("structure", "writer", "seed"), STATEMENTS)
def test_a_statement_without_a_word_is_read_whole(structure: str, writer: str, seed: int, tmp_path: Path) -> None:
    """Every line, the exact sum, each charge in its class, nearly all figures beside them."""
    drawn = draw(seed, "nonsense", structure=structure, writer=writer, known="all")
    taken = intake.read(drawn.write(tmp_path), charges=BOOK.charges, expecting=expecting(BOOK))
    assert score(drawn, taken).whole
