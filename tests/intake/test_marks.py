"""A correction's name is its charge's, with a mark before it or behind; a fee of no parcel is told by the list."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from auditor import intake
from auditor.intake.reading.marks import shared
from auditor.tariff import expecting, opened
from tests.layouts.drawn import Drawn, draw
from tests.layouts.drawn.score import Score, score

BOOK = opened("us-ground-common")


def scored(drawn: Drawn, folder: Path) -> Score:
    """What is read of a statement, counted."""
    return score(drawn, intake.read(drawn.write(folder), charges=BOOK.charges, expecting=expecting(BOOK)))


@pytest.mark.parametrize("form", ["{} {}", "{1} {0}"])
def test_a_charge_under_a_mark_is_the_charge(form: str) -> None:
    """Whichever side it stands on; two charges under one mark stay two."""
    odds = np.array([[90.0, -90], [-90, 90], [-1, -1], [0, 0]])
    names = ["wuzo", "kelt", form.format("brim", "wuzo"), form.format("brim", "kelt")]
    assert shared(names, odds).argmax(axis=1).tolist() == [0, 1, 0, 1]


def test_names_that_share_a_word_are_two_where_their_amounts_say_so() -> None:
    """A word that both have is no charge."""
    odds = np.array([[90.0, -90], [-90, 90]])
    assert (odds == shared(["wuzo kelt", "brim kelt"], odds)).all()


@pytest.mark.parametrize("seed", [64000, 64001, 64004, 64007])
def test_corrections_and_fees_under_words_without_meaning_are_told(seed: int, tmp_path: Path) -> None:
    """Fuel of a correction, too few to be told by its percentage; a weekly fee that is about no parcel."""
    assert scored(draw(seed, "nonsense", structure="row a charge", writer="csv", known="all"), tmp_path).whole
