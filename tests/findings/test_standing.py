"""How a finding stands: as its weakest needed part, and for which dollars."""

from __future__ import annotations

import pytest

from auditor.findings.standing import Back, Standing, standing
from auditor.report.wording import verdict

DUPLICATE = "the same charge for the same parcel stands on the statement before"
UNEXPLAINED = "neither the rules nor the carrier's figures explain it; ask what it is for"


def test_a_finding_is_as_strong_as_the_weakest_part_that_is_asked_for() -> None:
    """The strong dollars are said beside it; they do not make the whole strong."""
    assert standing({"duplicate": 421, "unexplained": 4129}, {}, None) == Standing(
        "arguable", f"{UNEXPLAINED}; besides, strong for $4.21: {DUPLICATE}", 4550, 421
    )


def test_what_is_not_asked_for_does_not_weaken_what_is() -> None:
    """An address correction is the carrier's to know; the duplicate beside it is as strong as it was."""
    assert standing({"duplicate": 421, "address": 4129}, {}, None) == Standing("strong", DUPLICATE, 421, 421)


def test_no_more_is_asked_for_than_the_difference() -> None:
    """What was charged too little counts against what was charged too much, the weaker part first."""
    assert standing({"duplicate": 421, "unexplained": 500, "rate": -300}, {}, None).cents == 621
    mostly = standing({"duplicate": 421, "unexplained": 500, "rate": -600}, {}, None)
    assert (mostly.strength, mostly.cents, mostly.strong_cents) == ("strong", 321, 321)


def test_nothing_is_asked_for_where_the_whole_is_in_the_sellers_favour() -> None:
    """However strong a part of it is."""
    assert standing({"duplicate": 421, "rate": -900}, {}, None).cents == 0


def test_money_back_is_taken_for_the_strong_part() -> None:
    """What is left is called no stronger than it is."""
    left = standing({"duplicate": 421, "unexplained": 500}, {}, None, Back(421, "NP-2026-04"))
    assert (left.strength, left.cents, left.strong_cents) == ("arguable", 500, 0)


@pytest.mark.parametrize(
    ("dispute", "asked", "strong", "words"),
    [
        ("strong", 4550, 4550, "Strong case"),
        ("arguable", 4550, 0, "Arguable"),
        ("none", 0, 0, "No dispute"),
        ("strong", 421, 421, "Strong case for $4.21 of $45.50"),
        ("arguable", 421, 0, "Arguable for $4.21 of $45.50"),
        ("arguable", 4550, 421, "Arguable for $41.29 and a strong case for $4.21 of $45.50"),
    ],
)
def test_a_tag_says_of_which_dollars_it_speaks(dispute: str, asked: int, strong: int, words: str) -> None:
    """Unless it speaks of the whole difference."""
    row = {"dispute": dispute, "dispute_reason": "", "difference_cents": 4550}
    row |= {"disputable_cents": asked, "strong_cents": strong}
    assert verdict(row) == words
