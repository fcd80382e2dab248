"""Statements whose every word is meaningless are read whole, in structures that once took what is no charge for one."""

from __future__ import annotations

from pathlib import Path

import pytest

from auditor import intake
from auditor.tariff import expecting, opened
from tests.layouts.drawn import Drawn, draw
from tests.layouts.drawn.score import Score, score

BOOK = opened("us-ground-common")


def scored(drawn: Drawn, folder: Path) -> Score:
    """What is read of a statement, counted."""
    return score(drawn, intake.read(drawn.write(folder), charges=BOOK.charges, expecting=expecting(BOOK)))


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
    ("corrections beside", "html", 62042),  # sums of sixteen columns, most of them blank
    ("corrections beside", "xlsx", 62058),  # no list of cartons
)
WORDS = (
    ("code and name", "html", 63002),  # sides in centimetres that no heading says
    ("stacked", "html", 63008),  # another unit beside them
    ("by group", "xlsx", 63061),  # a second reference that is not the order
    ("charges under a parcel", "csv", 63012),  # charges without a parcel beside their sums
    ("column a charge and sum", "xlsx", 63038),  # sums alone
    ("code and name", "html", 63050),  # a word in the number's place
)


@pytest.mark.sample(5)
@pytest.mark.parametrize(("structure", "writer", "seed"), STATEMENTS)
def test_a_statement_without_a_word_is_read_whole(structure: str, writer: str, seed: int, tmp_path: Path) -> None:
    """Every line, the exact sum, each charge in its class, nearly all figures beside them."""
    assert scored(draw(seed, "nonsense", structure=structure, writer=writer, known="all"), tmp_path).whole


@pytest.mark.sample(2)
@pytest.mark.parametrize(("structure", "writer", "seed"), WORDS)
def test_what_words_say_is_held_against_the_records(structure: str, writer: str, seed: int, tmp_path: Path) -> None:
    """Words that are known tell the lines; a figure beside them that agrees with no record is another column's."""
    assert scored(draw(seed, "plain", structure=structure, writer=writer, known="all"), tmp_path).whole
