"""The cautions of cutting: one text, wherever a cut is advised, and in the page that says so."""

from __future__ import annotations

from pathlib import Path

import lxml.html
import pandas as pd
import pytest

from auditor.core.schemas import HABIT_ADVICE, conform
from auditor.habits.advice import cautions
from auditor.habits.advice.cautions import CUTTING, LIFTING, LIFTING_PG
from auditor.report.html.page import report_html
from tests.cli.test_cli import run
from tests.read_once import read_once, sample
from tests.run.test_month import SAMPLE
from tests.written_docs import DOCS


@pytest.fixture(autouse=True)
def _read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The sample month is read once for all of these."""
    read_once(monkeypatch)


def in_one_line(text: str) -> str:
    """Without the breaks that a page or a terminal puts between words."""
    return " ".join(text.split())


@pytest.mark.parametrize(
    "arguments",
    [
        ["whatif", str(SAMPLE), "--cut", "guitar box", "47.5in"],
        ["cartons", str(SAMPLE)],
        ["precheck", "49 x 20 x 8 in", "14 lb", "--history", str(SAMPLE), "--service", "Ground", "--zone", "5"],
    ],
    ids=lambda arguments: arguments[0],
)
def test_every_answer_that_advises_a_cut_gives_all_cautions(arguments: list[str]) -> None:
    """Word for word, whatever command gives it."""
    said = in_one_line(run(*arguments).stdout)
    assert [caution for caution in CUTTING if caution not in said] == []


def test_the_report_gives_them_where_it_advises_a_cut() -> None:
    """Under what to change."""
    page = lxml.html.fromstring(report_html(sample()))
    said = in_one_line(page.get_element_by_id("cartons").text_content())
    assert [caution for caution in CUTTING if caution not in said] == []


def test_the_documentation_has_the_same_words() -> None:
    """So that they are changed in one place, and there too."""
    page = in_one_line(Path(DOCS / "what-if.md").read_text(encoding="utf-8"))
    assert [caution for caution in CUTTING if caution not in page] == []


@pytest.mark.parametrize(
    "words",
    [
        "half an inch of air",
        "strength and size limits that its maker printed on it hold no more",
        "weaken a claim for damage",
        "Wear cut-resistant gloves",
        "Local rules for such work come first",
        "measure again and declare what you then measure, never less",
    ],
)
def test_a_cut_carton_is_said_to_be(words: str) -> None:
    """What can hurt someone, or cost them their claim."""
    assert any(words in caution for caution in CUTTING)


def test_another_change_of_habit_gives_no_cautions_of_cutting() -> None:
    """A default weight cuts nothing; a parcel over 51 lb is heavy all the same."""
    advice = conform(pd.DataFrame({"carton": ["box"], "about": ["weight_pg"], "then": [1]}), HABIT_ADVICE)
    assert cautions.of_advice(advice, pd.Series([LIFTING_PG])) == ()
    assert cautions.of_advice(advice, pd.Series([LIFTING_PG + 1])) == (LIFTING,)
    cut = advice.assign(about=pd.array(["length_nm"], dtype="str"))
    assert cautions.of_advice(cut, pd.Series([LIFTING_PG])) == CUTTING
