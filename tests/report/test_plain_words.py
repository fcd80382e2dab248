"""The report is read by a seller: no word in it that only a statistician or a programmer knows, or it is explained."""

from __future__ import annotations

import re

import lxml.html
import pytest

from auditor.habits.fit_shown import readings_table
from auditor.report import wording
from auditor.report.html.page import report_html
from tests.read_once import sample

PAGE = lxml.html.fromstring(report_html(sample()))
TEXT = " ".join(" ".join(PAGE.xpath("//body//text()[not(ancestor::script)]")).split())


@pytest.mark.parametrize(
    "words",
    [
        "drawn towards",
        "fitted",
        "the fit",
        "slip",
        "interval",
        "excess",
        "censored",
        "posterior",
        "shrunk",
        "prior",
        "draws",
    ],
)
def test_the_report_has_no_word_of_the_statistics_behind_it(words: str) -> None:
    """Looked for as a word of its own, in all that is read of the sample month's page."""
    assert not re.search(rf"\b{words}\b", TEXT, re.IGNORECASE), re.findall(rf".{{60}}\b{words}\b.{{30}}", TEXT)


@pytest.mark.parametrize("heading", ["Back-charged", "To expect of a hundred", "To expect a month", "In brackets"])
def test_what_the_table_of_cartons_says_is_explained_below_it(heading: str) -> None:
    """Each of its columns, and what stands in brackets."""
    assert heading in [
        word.text_content() for word in PAGE.xpath("//section[@id='cartons']//ul[@class='words']//strong")
    ]


@pytest.mark.parametrize("word", wording.WORDS)
def test_the_words_of_the_report_are_explained_at_its_end(word: str) -> None:
    """And they are words that it uses."""
    told = {name.text_content(): name.getnext().text_content() for name in PAGE.xpath("//dl[@class='words']/dt")}
    assert told[word] == wording.WORDS[word]
    used = word.split(", ", maxsplit=1)[0].removesuffix(" of a cause").removesuffix("ed")
    assert TEXT.lower().count(used) > 1


def test_how_each_reading_is_known_is_said_in_words() -> None:
    """Every word that the table has."""
    assert set(readings_table(sample().habits.history)["kind"]) <= wording.KINDS.keys()
    kinds = ["exact", "rounded", "inferred", "slip", "stayed below"]
    assert list(wording.KINDS) == kinds


def test_what_can_be_disputed_no_longer_is_called_too_late_and_not_the_carriers_right() -> None:
    """A strong case whose last day has passed is no word for the carrier."""
    finding = {"disputable_cents": 0, "strong_cents": 0, "dispute": "none", "difference_cents": 4550}
    late = {**finding, "dispute_reason": "too late, since it could be disputed until 2026-05-01: charged twice"}
    assert wording.verdict(late) == "Too late"
    assert wording.verdict({**finding, "dispute_reason": "the carrier is right"}) == "No dispute"
    assert wording.verdict({**finding, "dispute_reason": None}) == "No dispute"
    assert "Where it says no dispute, nothing that is recorded speaks against the carrier." in TEXT
