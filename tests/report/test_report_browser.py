"""report.html in a browser: no complaint, no request, and it works by keyboard, on a phone and on paper."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pdfplumber
import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from auditor.report import write
from tests import audits

CHROMIUM = shutil.which("chromium", path="/usr/bin")

pytestmark = [pytest.mark.browser, pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium")]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One Chromium for all tests."""
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        yield chromium
        chromium.close()


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The month's report."""
    return write(audits.month(), tmp_path_factory.mktemp("report"))[0]


@pytest.fixture
def page(browser: Browser, report: Path) -> Iterator[Page]:
    """The report, opened; the test fails on any complaint of the browser and on any request but the file's own."""
    opened = browser.new_page(viewport={"width": 1280, "height": 900})
    complaints: list[str] = []
    requests: list[str] = []
    opened.on("console", lambda message: complaints.append(message.text))
    opened.on("pageerror", lambda error: complaints.append(str(error)))
    opened.on("dialog", lambda dialog: complaints.append(dialog.message))
    opened.on("request", lambda request: requests.append(request.url))
    opened.goto(report.as_uri())
    yield opened
    opened.close()
    assert (complaints, requests) == ([], [report.as_uri()])


def numbers(page: Page) -> list[str]:
    """The findings in the order of the table, those that are shown."""
    rows = page.locator("#findings-table tbody tr")
    return [row.get_attribute("data-finding") or "" for row in rows.all() if row.is_visible()]


@pytest.mark.sample(1)
@pytest.mark.parametrize("width", [1280, 390, 320])
def test_nothing_is_wider_than_the_screen(page: Page, width: int) -> None:
    """Wide tables scroll by themselves; also with every working unfolded."""
    page.set_viewport_size({"width": width, "height": 800})
    for summary in page.locator("summary").all():
        summary.click()
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_words_of_a_ruler_stay_inside_it(page: Page) -> None:
    """At a phone's width."""
    page.set_viewport_size({"width": 390, "height": 800})
    for text in page.locator("svg.ruler text").all():
        box = text.bounding_box()
        assert box is not None
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= 390


def test_the_first_stop_of_the_keyboard_leads_to_the_answer(page: Page) -> None:
    """Past the heading of the page."""
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the answer"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "answer"


def test_focus_can_be_seen(page: Page) -> None:
    """On a link, a heading's button and a fold."""
    for selector in ("nav a", "#findings-table th button", "summary", "#filter"):
        page.keyboard.press("Tab")
        page.locator(selector).first.focus()
        assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"


def test_the_table_sorts_by_keyboard_and_says_so(page: Page) -> None:
    """Enter sorts, Enter again turns it round; what is missing stays last."""
    page.get_by_role("button", name="Billed", exact=True).focus()
    page.keyboard.press("Enter")
    assert numbers(page)[:2] == ["F001", "F002"]
    assert page.locator("#filter-status").text_content() == "Sorted by Billed, falling."
    page.keyboard.press("Enter")
    assert numbers(page)[:2] == ["F007", "F010"]
    assert page.locator("#findings-table th[aria-sort]").get_attribute("aria-sort") == "ascending"


def test_amounts_dates_and_verdicts_sort_by_what_they_mean(page: Page) -> None:
    """Not by their letters: −$0.42 is the least amount, 10 April comes before 2 May, a strong case before none."""
    page.get_by_role("button", name="Over expected", exact=True).click(click_count=2)
    assert numbers(page)[0] == "F010"
    assert numbers(page)[-1] == "F011"
    page.get_by_role("button", name="Dispute by", exact=True).click()
    assert (numbers(page)[0], numbers(page)[4]) == ("F005", "F008")
    page.get_by_role("button", name="Dispute", exact=True).click()
    assert set(numbers(page)[:4]) == {"F005", "F006", "F008", "F012"}


def test_the_filter_shows_only_findings_with_all_the_words(page: Page) -> None:
    """In the table and below it, and it says how many."""
    page.get_by_label("Show only findings with these words").fill("GUITAR rounding")
    assert numbers(page) == ["F001", "F002"]
    assert page.locator("article:visible").count() == 2
    assert page.locator("#filter-status").text_content() == "2 of 12 findings shown."
    page.get_by_label("Show only findings with these words").fill("")
    assert len(numbers(page)) == 12


def test_a_working_unfolds_by_keyboard(page: Page) -> None:
    """With Enter on its fold."""
    step = page.get_by_text("49 in is over 48 in: additional handling")
    assert not step.is_visible()
    page.locator("#finding-F001 summary").focus()
    page.keyboard.press("Enter")
    assert step.is_visible()


def test_one_button_unfolds_every_working_and_folds_them_again(page: Page) -> None:
    """And tells which it will do."""
    button = page.get_by_role("button", name="Unfold every working")
    button.click()
    assert page.locator("details.working[open]").count() == 12
    assert button.get_attribute("aria-pressed") == "true"
    button.click()
    assert page.locator("details.working[open]").count() == 0


def test_paper_shows_every_working(page: Page, tmp_path: Path) -> None:
    """Unfolded for printing, and folded again afterwards."""
    page.pdf(path=tmp_path / "report.pdf", format="Letter")
    with pdfplumber.open(tmp_path / "report.pdf") as printed:
        text = " ".join(sheet.extract_text() for sheet in printed.pages)
    assert "49 in is over 48 in: additional handling" in text
    assert "Unfold every working" not in text
    assert page.locator("details[open]").count() == 0


def test_without_its_script_the_page_says_the_same(browser: Browser, report: Path) -> None:
    """Only sorting, filtering and the button are missing, and nothing promises them."""
    plain = browser.new_context(java_script_enabled=False).new_page()
    plain.goto(report.as_uri())
    assert plain.locator("article:visible").count() == 12
    assert not plain.locator(".tools").is_visible()
    plain.emulate_media(media="print")
    assert plain.get_by_text("49 in is over 48 in: additional handling").is_visible()
    plain.close()
