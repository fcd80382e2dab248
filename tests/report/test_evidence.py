"""The papers of a dispute, read back by other libraries: what stands in them, and what may not."""

from __future__ import annotations

import csv
import io
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pdfplumber
import pypdf
import pytest

from auditor.core.money import dollars
from auditor.report import evidence
from auditor.report.evidence.claim import Claim, Refused, claim
from auditor.report.evidence.claims_csv import claims_csv
from auditor.report.evidence.masking import Masking
from auditor.report.evidence.papers import letter_names
from auditor.report.evidence.shop import Carrier
from tests.claims import ROUNDED, named_month

WANTED = (ROUNDED, "LK220726031700000061", "LK220726031900000161", "NP4410026031400048", "NP4410026031900044")
SHOP = evidence.Shop(name="Quillmoor Instruments", signed="Ruth Quillmoor")
WITH_PHOTOGRAPHS = evidence.Photographs(embed=True)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> evidence.Written:
    """Five parcels asked for by number, one of which has no case."""
    month = named_month()
    folder = tmp_path_factory.mktemp("evidence")
    return evidence.write(
        month.audit, month.originals, folder, wanted=WANTED, sender=evidence.Sender(SHOP), photographs=WITH_PHOTOGRAPHS
    )


@pytest.fixture(scope="module")
def papers(written: evidence.Written) -> dict[str, Path]:
    """The PDFs of the claims by parcel."""
    return {
        one.tracking: path
        for one in written.claims
        for path in written.paths
        if path.name.endswith(f"{one.tracking}.pdf")
    }


def text_of(path: Path) -> str:
    """A PDF's text as one library reads it, blanks made plain."""
    with pdfplumber.open(path) as pdf:
        return " ".join(" ".join((page.extract_text() or "").split()) for page in pdf.pages)


def other_text_of(path: Path) -> str:
    """The same by another."""
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


def all_texts(written: evidence.Written) -> Iterator[str]:
    """The texts of every file, of PDFs by both libraries."""
    for path in written.paths:
        if path.suffix == ".pdf":
            yield from (text_of(path), other_text_of(path))
        else:
            yield path.read_text(encoding="utf-8")


def test_the_claim_stands_on_the_first_page_in_one_sentence_with_its_amount(papers: dict[str, Path]) -> None:
    """And the other library reads the same."""
    wanted = (
        "We dispute $44.53 of the $83.45 that statement NP-2026-03 of 1 April 2026 bills for parcel "
        f"{ROUNDED}, and ask you to credit it."
    )
    with pdfplumber.open(papers[ROUNDED]) as pdf:
        assert wanted in " ".join((pdf.pages[0].extract_text() or "").split())
    assert wanted in " ".join(pypdf.PdfReader(papers[ROUNDED]).pages[0].extract_text().split())


@pytest.mark.parametrize(
    "wanted",
    [
        "We declared 48 × 20 × 8 in and measured the same at packing, with a photograph of it; your reading is 48.2",
        "By the figures we declared",
        "By your figures",
        "us-ground-common: side_rounding",
        "Tolerance of the measuring devices",
        "NIST Handbook 44",
        "How this carton is read otherwise",
        "additional handling",
        "norrhaven-2026-03.csv SHA-256",
        "row 317",
        "Taken on 2 March 2026, by the camera's clock. The parcel was shipped on 27 March 2026.",
        "Made by a program from the statement and the shop's own records.",
    ],
)
def test_all_that_a_claim_needs_is_in_it(papers: dict[str, Path], wanted: str) -> None:
    """Figures, rules, sources, tolerance, readings, digests, dates and who made it."""
    assert wanted in text_of(papers[ROUNDED]).replace("’", "'")


def test_no_paper_holds_a_note_meant_for_the_sender(written: evidence.Written) -> None:
    """What to do before sending is said at the terminal."""
    for path in written.paths:
        text = text_of(path) if path.suffix == ".pdf" else path.read_text(encoding="utf-8")
        assert not {words for words in ("For the sender", "before it goes out", "legal advice") if words in text}


def test_no_buyer_and_no_other_parcel_is_named(written: evidence.Written) -> None:
    """Neither in PDFs nor in plain texts; the statements print every recipient and street."""
    month = named_month()
    asked = {one.tracking for one in written.claims}
    others = set(month.audit.lines["tracking"].dropna()) - asked
    for text in all_texts(written):
        assert not [word for word in month.words if word in text]
        assert not [number for number in others if number in text]


def test_the_statements_lines_are_a_picture_where_they_stand_on_a_page(papers: dict[str, Path]) -> None:
    """And rows of a CSV file are text alone; the photograph is a picture too."""
    pictures = {name: sum(len(page.images) for page in pypdf.PdfReader(path).pages) for name, path in papers.items()}
    assert pictures == {ROUNDED: 1, "LK220726031700000061": 1, "LK220726031900000161": 1, "NP4410026031900044": 0}


def test_the_papers_have_few_pages_and_every_font_in_them(papers: dict[str, Path]) -> None:
    """So that they look the same everywhere."""
    for path in papers.values():
        pages = pypdf.PdfReader(path).pages
        assert 2 <= len(pages) <= 6
        resources: list[Any] = [page["/Resources"] for page in pages]
        fonts = [font.get_object() for one in resources for font in one["/Font"].values()]
        below = [font["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object() for font in fonts]
        assert all({"/FontFile2", "/FontFile3"} & set(descriptor) for descriptor in below)


def test_the_papers_are_tagged_for_screen_readers(papers: dict[str, Path]) -> None:
    """PDF/UA-1 (ISO 14289-1): marked, with a language and a title, and it says so."""
    root: Any = pypdf.PdfReader(papers[ROUNDED]).root_object
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()


def test_a_finding_in_which_the_carrier_is_right_has_no_papers(written: evidence.Written) -> None:
    """It says why, and the others are made."""
    assert written.refused == (
        Refused(
            "NP4410026031400048 (F016, statement NP-2026-03)",
            "by all that is recorded the carrier is right: it delivered to a home or corrected the address, and your "
            "record does not show otherwise",
        ),
    )
    assert len(written.claims) == 4


def test_a_record_that_supports_the_carrier_has_no_papers(tmp_path: Path) -> None:
    """The seller measured 48.5 in at packing and declared 46: the carrier's 49 was due."""
    month = named_month()
    done = evidence.write(month.audit, month.originals, tmp_path, wanted=["NP4410026031700075"])
    assert (done.claims, done.paths) == ((), ())
    assert list(tmp_path.iterdir()) == []
    assert done.refused[0].why == "the carrier is right: your own measurement at packing supports its reading"


def test_what_is_not_disputed_is_said(papers: dict[str, Path]) -> None:
    """A box that was read rightly and then billed twice: only the second time is asked back."""
    text = text_of(papers["LK220726031700000061"])
    assert "We dispute $2.60 of the $48.47" in text
    assert "The remaining $3.95 between the bill and what we expected we do not dispute." in text


def test_the_figures_of_every_claim_add_up() -> None:
    """Shares asked to the amount asked; charges to the bill and to what was expected; all of it for every dispute."""
    claims = [one for one in _claims().values() if isinstance(one, Claim)]
    assert len(claims) > 25
    for one in claims:
        assert one.asked_cents == sum(share.asked_cents for share in one.shares) > 0
        assert one.billed_cents - one.expected_cents == sum(share.cents for share in one.shares)
        if one.charged:
            assert one.billed_cents == sum(charge.billed for charge in one.charged)
            assert one.expected_cents == sum(charge.expected for charge in one.charged)


def test_no_more_is_asked_than_the_report_calls_worth_disputing() -> None:
    """The same cents, finding by finding."""
    found = named_month().audit.workings.findings
    asked = {name: one.asked_cents for name, one in _claims().items() if isinstance(one, Claim)}
    assert asked == {name: one.standing.cents for name, one in found.items() if one.standing.cents}


def test_the_letter_is_there_as_plain_text_with_the_same_words(written: evidence.Written) -> None:
    """To be put into a form."""
    path = next(path for path in written.paths if path.name == f"NP-2026-03_{ROUNDED}.txt")
    assert path.read_text(encoding="utf-8").startswith("Dear Sir or Madam,\n\nWe dispute $44.53 of the $83.45")
    assert path.read_text(encoding="utf-8").endswith("Kind regards,\nRuth Quillmoor\nQuillmoor Instruments\n")


def test_the_table_has_every_claim_with_its_files(written: evidence.Written) -> None:
    """Amounts as plain decimals, days as ISO dates, and the names of files that are there."""
    table = next(path for path in written.paths if path.name == "claims.csv")
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8"))))
    assert [row["tracking"] for row in rows] == [one.tracking for one in written.claims]
    own = next(row for row in rows if row["tracking"] == ROUNDED)
    assert (own["asked"], own["billed"], own["statement_on"], own["dispute"]) == (
        "44.53",
        "83.45",
        "2026-04-01",
        "arguable",
    )
    assert all((table.parent / row[kind]).is_file() for row in rows for kind in ("pdf", "text"))


def test_a_statement_with_several_claims_has_a_sheet_on_top(written: evidence.Written) -> None:
    """With their sum, and with no other carrier's claims."""
    cover = next(path for path in written.paths if path.name == "NP-2026-03_cover.pdf")
    text = text_of(cover)
    asked = sum(one.asked_cents for one in written.claims if one.statement == "NP-2026-03")
    assert f"we dispute {dollars(asked)} in 2 claims" in text
    assert "LK2207" not in text


PROGRAM = """
import sys
from pathlib import Path
from typing import Any
from auditor.report import evidence
from tests import claims
month = claims.named_month()
shop = evidence.Shop(name="Quillmoor Instruments", signed="Ruth Quillmoor")
sender, photographs = evidence.Sender(shop), evidence.Photographs(embed=True)
folder, wanted = Path(sys.argv[1]), sys.argv[2:]
evidence.write(month.audit, month.originals, folder, wanted=wanted, sender=sender, photographs=photographs)
"""


def test_the_same_input_gives_the_same_bytes(written: evidence.Written, tmp_path: Path) -> None:
    """In another process, at another moment, in another time zone, in another order of hashing."""
    settings = os.environ | {"TZ": "Pacific/Kiritimati", "PYTHONHASHSEED": "77", "LC_ALL": "C"}
    subprocess.run([sys.executable, "-c", PROGRAM, str(tmp_path), *reversed(WANTED)], env=settings, check=True)
    assert {path.name: path.read_bytes() for path in written.paths} == {
        path.name: path.read_bytes() for path in tmp_path.iterdir()
    }
    assert len(written.paths) == 2 * len(written.claims) + 3


def test_papers_of_an_earlier_run_are_named(tmp_path: Path) -> None:
    """A claim that a corrected statement has settled may still lie in the folder."""
    (tmp_path / "NP-2026-02_OLD.pdf").write_bytes(b"%PDF-")
    month = named_month()
    done = evidence.write(month.audit, month.originals, tmp_path, wanted=["LK220726031900000161"])
    assert done.left_over == ("NP-2026-02_OLD.pdf",)
    assert (tmp_path / "NP-2026-02_OLD.pdf").is_file()


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ("NP4410026032700115", "The nearest that has a finding is NP4410026032700114"),
        ("NP4410026030200036", "everything billed for this parcel is as expected, so there is nothing to dispute"),
        ("NP4410026032400041", "it is in your records, but no statement among these files bills it"),
        ("F999", "The numbers of findings (F001 …) hold for one run only"),
    ],
)
def test_a_parcel_without_a_finding_says_why(tmp_path: Path, asked: str, why: str) -> None:
    """Misspelled, settled by a corrected statement, never billed, or a number of another run."""
    month = named_month()
    done = evidence.write(month.audit, month.originals, tmp_path, wanted=[asked])
    assert done.refused[0].what == asked
    assert why in done.refused[0].why


def test_a_parcel_may_be_asked_for_as_it_is_recorded_or_billed_or_by_its_finding(tmp_path: Path) -> None:
    """Blanks, hyphens and case do not matter, and it is made once."""
    month = named_month()
    asked = ["lk22 0726 0317 0000 0061", "LK220726031700000061", "f022"]
    done = evidence.write(month.audit, month.originals, tmp_path, wanted=asked)
    assert [one.tracking for one in done.claims] == ["LK220726031700000061"]
    assert not done.refused


def test_a_missing_original_leaves_the_row_as_text(tmp_path: Path) -> None:
    """Without the PDF there is no picture and no digest, and the claim is made all the same."""
    month = named_month()
    evidence.write(month.audit, {}, tmp_path, wanted=["LK220726031900000161"])
    path = tmp_path / "LP-2026-03_LK220726031900000161.pdf"
    assert "SHA-256" not in text_of(path)
    assert not [picture for page in pypdf.PdfReader(path).pages for picture in page.images]
    assert re.search(r"page \d+, row \d+ freight 2026-03-19", text_of(path))


DOCS = Path(__file__).parents[2] / "docs" / "evidence.md"


def test_the_page_about_evidence_tells_of_every_column_and_name() -> None:
    """The columns of claims.csv and the names that a letter's template may use; its shop file loads."""
    page, table = DOCS.read_text(encoding="utf-8"), claims_csv([], SHOP, [])
    one = next(one for one in _claims().values() if isinstance(one, Claim))
    names = [*table.strip().split(","), *letter_names(one, SHOP, Carrier(), None)]
    assert [name for name in names if f"`{name}`" not in page] == []
    assert evidence.EXAMPLE in page


@cache
def _claims() -> dict[str, Claim | Refused]:
    """What is made of each finding."""
    month = named_month()
    masked = Masking(month.audit, month.originals).text
    return {name: claim(name, month.audit, masked, bool) for name in month.audit.findings["finding"]}
