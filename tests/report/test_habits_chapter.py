"""The report's chapter on cartons, made of the sample month."""

from __future__ import annotations

from dataclasses import replace

import lxml.html
import pandas as pd
import pytest

from auditor.report.html.chart import Chart
from auditor.report.html.habits_chapter import chapter
from auditor.report.html.page import report_html
from auditor.report.plain import Row
from tests.read_once import sample


@pytest.fixture(scope="module")
def told() -> Row:
    """What the chapter's template is given."""
    return chapter(sample())


def test_every_picture_has_words_and_a_table_behind_it(told: Row) -> None:
    """Rulers have readings, chances have cuts, weights have weights seen."""
    assert {picture["carton"] for picture in told["pictures"]} >= {"guitar box", "stand tube", "keyboard box, cut"}
    for picture in told["pictures"]:
        for drawn, table in (("ruler", "readings"), ("chance", "cuts"), ("weights", "seen")):
            if picture[drawn]:
                assert picture[drawn].title.startswith(picture["carton"])
                assert picture[drawn].words
                assert picture[table]


def test_a_chart_of_chances_stands_between_its_ends(told: Row) -> None:
    """The band holds the curve, and the length as it is stands at the right end."""
    [chart] = [picture["chance"] for picture in told["pictures"] if picture["carton"] == "guitar box"]
    assert isinstance(chart, Chart)
    line = [float(pair.split(",")[1]) for pair in chart.curves[0].points.split()]
    around = [float(pair.split(",")[1]) for pair in chart.curves[0].around.split()]
    low, high = around[: len(line)], around[len(line) :][::-1]
    assert all(top <= middle <= foot for foot, middle, top in zip(low, line, high, strict=True))
    assert (chart.uprights[0].across, chart.uprights[0].text) == (100, "now 48 in")


def test_months_add_up_to_the_back_charges_of_the_study(told: Row) -> None:
    """And each part is one of the causes with a column of its own."""
    columns = ["box_length_cents", "box_girth_cents", "declared_weight_cents", "rounding_cents", "other_cents"]
    whole = int(sample().habits.by_month[columns].to_numpy().sum())
    assert sum(bar.amount_cents for bar in told["months"]) == whole
    assert told["months"][0].name == "March 2026"


def test_what_buyers_paid_stands_by_carton_zone_and_month(told: Row) -> None:
    """Each kind of group adds up to all, and a zone that loses money is named."""
    groups = dict(told["paid"]["groups"])
    assert list(groups) == ["All parcels", "By carton", "By zone", "By month of shipping"]
    [whole] = groups["All parcels"]
    for rows in groups.values():
        assert sum(row["left_cents"] for row in rows) == whole["left_cents"]
        assert all(row["break_even_cents"] is not None for row in rows)
    assert told["paid"]["sentences"][1].startswith("Every zone loses money: $477.08 in zone 6, $255.43 in zone 5, ")


def test_without_what_buyers_paid_one_sentence_says_what_is_needed() -> None:
    """And no table."""
    unpaid = sample().shipments.assign(buyer_paid_cents=pd.array([pd.NA] * len(sample().shipments), dtype="Int64"))
    audit = replace(sample(), shipments=unpaid)
    vars(audit)["habits"] = sample().habits  # payments change nothing of it
    found = chapter(audit)["paid"]
    assert found["groups"] == []
    [sentence] = found["sentences"]
    assert sentence.endswith("Add a column 'Shipping paid' to your shipping records and run again.")


def test_the_page_says_what_to_change_with_its_cautions() -> None:
    """And what cannot be said yet."""
    page = lxml.html.fromstring(report_html(sample()))
    cartons = page.get_element_by_id("cartons").text_content()
    for said in (
        "What to change",
        "if what you pack leaves half an inch of air",
        "declare what you then measure, never less",
        "There is one month only",
        "away from hand and body",
        "What buyers paid for shipping",
    ):
        assert said in cartons
    names = list(page.xpath("//@id"))
    assert len(names) == len(set(names))
