"""Take the picture of the sample month's report that README shows: python -m tests.screenshot."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from playwright.sync_api import sync_playwright

import auditor
from auditor import report

ROOT = Path(__file__).parents[1]
CHROMIUM = "/usr/bin/chromium"
QUIET = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update"]


def main() -> None:
    """Write docs/report.png."""
    with TemporaryDirectory() as folder, sync_playwright() as playwright:
        page_file = report.write(auditor.reconcile([ROOT / "sample_statements" / "2026-03"]), Path(folder))[0]
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        page = browser.new_page(viewport={"width": 1180, "height": 1500})
        page.goto(page_file.as_uri())
        page.screenshot(path=ROOT / "docs" / "report.png")
        browser.close()


if __name__ == "__main__":
    main()
