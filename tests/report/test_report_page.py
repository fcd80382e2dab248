"""report.html: what it says, that it is whole by itself, and that it can be read without seeing it."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import lxml.html
import pandas as pd
import pytest
from lxml.html import HtmlElement

from auditor.audit import Audit
from auditor.core import schemas
from auditor.report import wording
from auditor.report.html import page as page_module
from auditor.report.html.page import report_html
from tests import audits

MONTH = audits.month()
HTML = report_html(MONTH)
DOCUMENT = lxml.html.document_fromstring(HTML)


def found(path: str, within: HtmlElement = DOCUMENT) -> list[HtmlElement]:
    """The elements at an XPath."""
    return [element for element in within.xpath(path) if isinstance(element, HtmlElement)]


def said(path: str, within: HtmlElement = DOCUMENT) -> str:
    """The words of the first element at an XPath, with single blanks."""
    return " ".join(found(path, within)[0].text_content().split())


def many(count: int) -> Audit:
    """A month with that many findings, the first in the table the smallest."""
    rows = [
        audits.finding(number, f"NP{number:06d}", "rounding", 1000 + number, 1000) for number in range(1, count + 1)
    ]
    return replace(MONTH, findings=audits.table(rows, schemas.FINDINGS))


def test_the_title_is_the_month_the_parcels_were_shipped_in() -> None:
    """Not the month the statement was printed in."""
    assert said("//h1") == "March 2026"
    assert said("//title") == "March 2026: what the carriers billed"


def test_a_statement_that_is_out_comes_before_the_answer_and_says_by_how_much() -> None:
    """Loudly, and first."""
    first = found("//main/section")[0]
    assert said(".//h2", first) == "A statement does not add up"
    assert said(".//p", first) == (
        "LP-2026-03 is out by $8.90. The lines that were read come to $16.50; the statement prints $25.40, $8.90 more."
    )


def test_there_is_no_alarm_when_every_statement_adds_up() -> None:
    """The answer comes first then."""
    calm = replace(MONTH, statements=MONTH.statements.iloc[:1])
    assert said("//main/section[1]//h2", lxml.html.document_fromstring(report_html(calm))) == "The answer"


def test_a_line_that_could_not_be_read_is_told_even_when_the_totals_agree() -> None:
    """The statement is untied then, though its difference is nothing."""
    statements = MONTH.statements.iloc[:1].assign(ties=pd.array([False], dtype="boolean"))
    alarm = lxml.html.document_fromstring(report_html(replace(MONTH, statements=statements)))
    assert said("//section[@class='alarm']/p[1]", alarm) == (
        "NP-2026-03 has a line that could not be read. The lines that were read come to $148.05, which is what the "
        "statement prints."
    )


def test_the_answer_is_a_sentence_and_four_figures() -> None:
    """Billed, expected, over expected, worth disputing."""
    assert said("//p[@class='lede']") == (
        "You were billed $136.75 more than your own figures come to by the rules and prices used here. "
        "$89.39 is worth disputing, in 6 claims; the first is due by 10 April 2026."
    )
    figures = [part.text_content() for part in found("//dl[@class='figures']//*[self::dt or self::dd]")]
    assert figures == [
        *("Billed", "$326.07", "Expected", "$145.57"),
        *("Over expected", "$136.75", "Worth disputing", "$89.39"),
    ]


def test_the_figures_are_shown_to_add_up() -> None:
    """With what was not audited, which is in none of the others."""
    assert said("//p[@class='sum']").startswith(
        "$326.07 billed = $145.57 expected + $136.75 over expected + $43.75 not audited"
    )


@pytest.mark.parametrize(
    ("difference", "words"),
    [
        (0, "You were billed just what your own figures come to by the rules and prices used here."),
        (-500, "You were billed $5.00 less than your own figures come to by the rules and prices used here."),
    ],
)
def test_the_answer_says_when_nothing_or_too_little_was_billed(difference: int, words: str) -> None:
    """Each in a sentence of its own."""
    other = replace(MONTH, difference_cents=difference, findings=schemas.empty(schemas.FINDINGS))
    lede = said("//p[@class='lede']", lxml.html.document_fromstring(report_html(other)))
    assert lede == f"{words} Nothing is worth disputing."


def test_parts_stand_in_the_order_of_the_sellers_questions() -> None:
    """The answer, then what it rests on, then each finding, then labels and rules."""
    parts = [section.get("id") for section in found("//main/section")][1:]
    assert parts == ["answer", "statements", "problems", "causes", "cartons", "findings", "labels", "rules"]


def test_problems_name_file_and_place_and_notes_stand_apart() -> None:
    """A choice the program made is no fault."""
    problems = [" ".join(item.text_content().split()) for item in found("//*[@class='problems']/li")]
    assert problems[0].startswith("notice-4.eml (not read at all): This file ends in the middle")
    assert problems[1].startswith("larkrise-2026-03.pdf, page 3, row 2: The amount reads '8,9O'")
    assert said("//h3[.='Choices the program made']/following-sibling::ul[1]").startswith("shipments.csv, column Size")


def test_a_finding_says_all_that_the_seller_needs() -> None:
    """Number, carton, cause, amounts, the sentence, the shares, the dispute and its last day."""
    finding = found("//article[@id='finding-F001']")[0]
    assert said("h3", finding) == "F001 NP4410026031700123"
    assert said("p[@class='facts']", finding) == (
        "guitar box · box length · order Q-10231 · freight; additional handling; fuel"
    )
    assert said(".//dl", finding) == "Billed$53.12 Expected$22.16 Over expected$30.96"
    assert said(".//p[@class='explanation']", finding) == audits.FINDINGS[0]["explanation"]
    assert said(".//p[@class='shares']", finding) == "Of the difference: box length $29.41, rounding $1.55."
    assert said(".//div[@class='said']/p[last()]", finding) == (
        "Arguable until 14 April 2026: the reading is a quarter inch from the limit; a photograph with a tape would "
        "decide it."
    )


def test_shares_are_told_where_they_say_more_than_the_main_cause() -> None:
    """One cause with a column of its own is named; other causes stand in the working."""
    assert said("//article[@id='finding-F002']//p[@class='shares']") == (
        "All of the difference is put down to rounding."
    )
    assert not found("//article[@id='finding-F005']//p[@class='shares']")


def test_a_working_is_folded_beneath_its_finding_with_rule_version_and_source() -> None:
    """Step by step, and where the line stands."""
    working = found("//article[@id='finding-F001']/details")[0]
    assert working.get("open") is None
    assert said("p", working) == (
        "Billed on statement NP-2026-03, first line concerned: norrhaven-2026-03.csv, row 10. Joined to your records "
        "by the same number (chance that this is right: over 99 %). Expected price from your rate table."
    )
    assert [heading.text for heading in found("h4", working)] == ["By your figures", "By the carrier's figures"]
    assert said("ol[2]/li[2]", working) == (
        "49 in is over 48 in: additional handling $26.50 us-ground-common, additional handling, version 2026-01: "
        "common practice, no source"
    )


def test_a_finding_without_a_price_says_so() -> None:
    """Instead of an amount."""
    assert said("//article[@id='finding-F011']//dl") == "Billed$18.75 Expectednot priced Over expectednot priced"


def test_findings_stand_largest_first_and_those_without_a_price_last() -> None:
    """By size, whatever the sign."""
    order = [row.get("data-finding") for row in found("//table[@id='findings-table']/tbody/tr")]
    assert (order[:3], order[-2:]) == (["F001", "F002", "F006"], ["F010", "F011"])


def test_of_very_many_findings_the_largest_are_shown() -> None:
    """And the page points to the file that has them all."""
    document = lxml.html.document_fromstring(report_html(many(501)))
    assert len(found("//article", document)) == page_module.MOST_FINDINGS == 500
    assert said("//section[@id='findings']/p[@class='caution']", document) == (
        "These are the largest 500 of 501 findings. findings.csv has them all."
    )
    assert not found("//article[@id='finding-F001']", document)


def test_labels_never_billed_and_cancelled_labels_billed_are_listed() -> None:
    """With where they were recorded."""
    assert said("//table[@id='never-billed-table']/tbody/tr[1]") == (
        "NP4410026031700888 9 March 2026 stand tube $14.37 shipments.csv, row 88"
    ).replace(" 9 March 2026 stand tube $14.37 ", "9 March 2026stand tube$14.37")
    assert said("//table[@id='voided-billed-table']/tbody/tr/th") == "NP4410026031700777"


def test_long_lists_are_cut_and_say_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """The file that has the rest is named."""
    monkeypatch.setattr(page_module, "MOST_ROWS", 1)
    labels = said("//section[@id='labels']", lxml.html.document_fromstring(report_html(MONTH)))
    assert "And 1 more row: summary.json has them all." in labels


def test_rules_sources_and_limits_are_named_and_cautions_given() -> None:
    """What the figures rest on, and what they cannot tell."""
    rules = said("//section[@id='rules']")
    assert "the rules us-ground-common, version 2026-01" in rules
    assert "common practice, no source" in rules
    assert "over 48 in, additional handling; over 96 in, large parcel; over 108 in, not accepted" in rules
    assert "A cause found from such figures is inferred" in rules
    assert "1 finding rests on a price that was learned" in rules
    assert "This is not legal advice." in rules
    assert "never declare less than you measured" in said("//section[@id='cartons']")


def test_texts_from_files_stay_text() -> None:
    """A tracking number that is a script makes no element."""
    assert audits.HOSTILE not in HTML
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in HTML
    assert len(found("//script")) == 1
    assert not found("//a[starts-with(@href, 'http')]")


def test_the_page_is_whole_by_itself() -> None:
    """No address of anything else, and a policy that would forbid it."""
    policy = found("//meta[@http-equiv='Content-Security-Policy']")[0].get("content")
    assert policy == ("default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:")
    assert not DOCUMENT.xpath("//@src | //link | //*[local-name()='image' or local-name()='use']")
    assert not re.search(r"url\(|@import|https?://(?!evil\.example)", HTML)


def test_every_table_has_a_caption_and_every_heading_a_scope() -> None:
    """So that a screen reader can say what a cell is about."""
    for table in found("//table"):
        assert said("caption", table)
        assert {heading.get("scope") for heading in found(".//thead//th", table)} == {"col"}
        assert all(said("th[@scope='row']", row) for row in found("tbody/tr", table))


def test_ids_are_unique_and_every_reference_leads_somewhere() -> None:
    """Also those inside the pictures."""
    ids = [str(name) for name in DOCUMENT.xpath("//@id")]
    assert len(ids) == len(set(ids))
    references = {name for names in DOCUMENT.xpath("//@aria-labelledby | //@for") for name in str(names).split()}
    references |= {str(link).removeprefix("#") for link in DOCUMENT.xpath("//a/@href")}
    assert references <= set(ids)


def test_headings_go_down_one_level_at_a_time() -> None:
    """One h1, and no level left out."""
    levels = [int(str(element.tag)[1]) for element in found("//*[self::h1 or self::h2 or self::h3 or self::h4]")]
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_every_picture_says_in_words_what_it_shows() -> None:
    """A title and a description, of its own carton."""
    pictures = found("//*[local-name()='svg'][@role='img']")
    titles = [said("*[local-name()='title']", picture) for picture in pictures]
    assert titles == [
        "guitar box: declared 48 in, read up to 50 in",
        "stand tube: declared 44 in, read up to 45 in",
        "uke box: declared 28 in, read up to 29 in",
        "oversize × case: declared 107 in, read up to 109 in",
    ]
    assert said("*[local-name()='desc']", pictures[1]) == (
        "Declared 44 in. 20 parcels billed by the declared length. The carrier shows 3 exact readings, 43.9 in to "
        "44.2 in. The carrier shows 1 length rounded up to whole inches, 45 in. The nearest limit: over 48 in, "
        "additional handling. Over it: 0 of 4 shown."
    )
    others = found("//*[local-name()='svg'][not(@role)][not(ancestor::*[local-name()='svg'])]")
    assert {picture.get("aria-hidden") for picture in others} == {"true"}


def test_a_picture_is_followed_by_its_figures() -> None:
    """As a table, folded."""
    rows = [row.text_content() for row in found("//table[@id='carton-1-readings']/tbody/tr")]
    assert rows[-2:] == ["48 in49 inrounded up to whole inches9", "48 in50 inrounded up to whole inches2"]
    assert len(rows) == 8


def test_every_part_that_scrolls_can_be_reached_and_is_named() -> None:
    """By keyboard, and to a screen reader."""
    regions = found("//div[@class='scroll']")
    assert {(region.get("role"), region.get("tabindex")) for region in regions} == {("region", "0")}
    assert all(region.get("aria-labelledby") for region in regions)


def test_a_run_that_read_nothing_gives_a_page_that_says_so() -> None:
    """And no empty tables."""
    document = lxml.html.document_fromstring(report_html(audits.nothing()))
    assert said("//h1", document) == "Your statements"
    assert said("//section[@id='statements']/p", document) == "No statement was read."
    assert said("//section[@id='problems']/p", document) == "None: every file and every row could be read."
    assert not found("//table", document)


@pytest.mark.parametrize(
    ("days", "words"),
    [
        ([], ""),
        (["2026-03-31"], "March 2026"),
        (["2026-03-02", None, "2026-03-31"], "March 2026"),
        (["2026-02-27", "2026-03-04"], "February to March 2026"),
        (["2025-12-30", "2026-01-02"], "December 2025 to January 2026"),
    ],
)
def test_the_period_is_told_in_months(days: list[str | None], words: str) -> None:
    """As short as it can be said."""
    assert wording.period(pd.Series(days, dtype=schemas.DATE)) == words


def test_every_cause_is_explained() -> None:
    """In words for the seller."""
    assert set(schemas.CAUSES) <= set(wording.CAUSES)
    assert set(wording.SHARES) == {f"{share}_cents" for share in schemas.SHARES}
