"""The sums of a report have names of their own, and hang together to the cent."""

from __future__ import annotations

import re
from dataclasses import replace

import lxml.html
import pandas as pd

from auditor.report.html import page
from auditor.report.html.habits_chapter import chapter
from auditor.report.html.page import contents, report_html
from auditor.report.sums import Sum, sums
from tests import audits
from tests.read_once import sample

MONTH = audits.month()
PAGE = lxml.html.fromstring(report_html(sample()))


def amounts(words: str) -> list[int]:
    """The dollars in some words, in cents, with the signs before them."""
    found = re.findall(r"(− ?)?\$([\d,]+\.\d\d)", words)
    return [(-1 if sign else 1) * int(re.sub(r"\D", "", digits)) for sign, digits in found]


def test_every_sum_is_what_its_parts_come_to() -> None:
    """As it stands on the page."""
    told = [item.text_content() for item in PAGE.xpath("//details[@class='sums']//li")]
    assert len(told) == 4
    for words in told[:-1]:
        whole, *parts = amounts(words)
        assert whole == sum(parts), words


def test_three_sums_have_three_names() -> None:
    """What is over expected, what of it counts in the study of cartons, and corrections as the carrier made them."""
    found = list(sums(sample(), chapter(sample())["paid"]["corrections_cents"]))
    assert [(one.name, one.cents) for one in found] == [
        ("over expected", 108_433),
        ("over expected in the study of cartons", 99_801),
        ("corrections less credits of parcels that buyers paid for", 50_241),
    ]
    assert found[1].words == (
        "$998.01 over expected in the study of cartons = $1,084.33 over expected − $62.64 of parcels not in your "
        "records − $23.68 of labels you cancelled."
    )
    assert not PAGE.xpath("//*[self::th or self::dt][.='Back-charged' and @class='amount']")[1:]


def test_the_sums_are_those_that_the_tables_show() -> None:
    """Found again on the page, under those names."""
    text = PAGE.text_content()
    assert "the longest bar is $998.01" in text
    paid = PAGE.xpath("//table[@id='paid-table']")[0]
    assert paid.xpath(".//thead//th")[-1].text_content() == "Corrections"
    assert paid.xpath(".//tbody/tr")[0].xpath("./td")[-1].text_content() == "$502.41"


def test_lines_that_were_not_audited_are_in_no_sum() -> None:
    """The adjustment of a parcel that was not priced is neither over expected nor expected."""
    lines = MONTH.lines.assign(finding=MONTH.lines["finding"].mask(MONTH.lines["state"] == "adjustment", "F011"))
    unpriced = replace(MONTH, lines=lines)
    vars(unpriced)["habits"] = MONTH.habits
    first = next(sums(unpriced, None))
    assert first.cents == MONTH.difference_cents
    assert all(not (what == "corrections of labels" and cents) for cents, what in first.parts)


def test_parts_that_are_nothing_are_not_told() -> None:
    """And a sum of nothing is."""
    assert Sum("over", ((500, "billed"), (0, "credits"), (-200, "expected"))).words == (
        "$3.00 over = $5.00 billed − $2.00 expected."
    )
    assert Sum("over", ((0, "billed"),)).words == "$0.00 over = $0.00 billed."


def test_worth_disputing_is_what_the_list_of_findings_adds_up_to() -> None:
    """Each finding with the part that a dispute asks for; the last row has the sum."""
    table = PAGE.xpath("//table[@id='findings-table']")[0]
    place = [heading.text_content() for heading in table.xpath(".//thead//th")].index("Worth disputing")
    shown = [amounts(row.xpath("./*")[place].text_content()) for row in table.xpath(".//tbody/tr")]
    assert sum(cents for found in shown for cents in found) == sample().disputable_cents
    assert table.xpath(".//tfoot/tr/td")[1].text_content() == "$676.66"


def test_a_list_cut_short_sums_what_it_shows_and_what_there_is() -> None:
    """With more findings than a page shows."""
    some = contents(MONTH)["findings"][:5]
    these, whole = page._totals(some, MONTH)  # noqa: SLF001 - five hundred findings would take long
    assert these["name"] == "these 5"
    assert these["difference_cents"] == sum(row["difference_cents"] or 0 for row in some)
    assert whole["disputable_cents"] == int(MONTH.findings["disputable_cents"].sum())


def test_causes_stand_by_amount_everywhere() -> None:
    """In the list of causes, in what it cost by month, and in each finding."""
    causes = PAGE.xpath("//table[@id='causes-table']/tbody/tr/td[2]")
    order = [amounts(cell.text_content())[0] for cell in causes]
    assert order == sorted(order, reverse=True)
    row = PAGE.xpath("//table[@id='months-table']/tbody/tr")[0]
    parts = [amounts(cell.text_content())[0] for cell in row.xpath("./td")][:-1]
    assert parts == sorted(parts, reverse=True)
    for shares in PAGE.xpath("//p[@class='shares'][strong]"):
        found = [abs(amounts(share.text_content())[0]) for share in shares.xpath("./strong")]
        assert found == sorted(found, reverse=True)


def test_a_carton_list_adds_up_to_the_same_sums() -> None:
    """Over expected and worth disputing."""
    together = PAGE.xpath("//table[@id='cartons-table']/tfoot/tr/td")
    assert [cell.text_content() for cell in together[1:]] == ["$1,084.33", "$676.66"]
    assert pd.notna(sample().difference_cents)
