"""What is wrong in what was given: each gets a message with file, place, value and what to do; the rest goes on."""

from __future__ import annotations

import shutil
from pathlib import Path

import pandas as pd
import pytest

import auditor
from auditor.audit import Audit
from tests.test_month import SAMPLE, found, planted

SHIPMENTS, STATEMENT = "shipments.csv", "norrhaven-2026-03.csv"


@pytest.fixture
def month(tmp_path: Path) -> Path:
    """A copy of the sample month that a test may spoil."""
    return Path(shutil.copytree(SAMPLE, tmp_path / "2026-03"))


def edit(file: Path, before: str, after: str) -> None:
    """Replace the first of a text in a file."""
    text = file.read_text(encoding="utf-8")
    assert before in text
    file.write_text(text.replace(before, after, 1), encoding="utf-8")


def messages(audit: Audit) -> str:
    """Every problem on a line, with file and place."""
    return "\n".join(f"{problem.file}, {problem.place}: {problem.message}" for problem in audit.problems)


def first_row(file: Path) -> str:
    """The first row below the headings."""
    return file.read_text(encoding="utf-8").splitlines()[1]


def test_a_statement_that_does_not_tie_out_is_told_with_both_figures(month: Path) -> None:
    """One line lost: the sum no longer meets the printed total."""
    edit(month / STATEMENT, first_row(month / STATEMENT) + "\n", "")
    audit = auditor.reconcile([month])
    statement = audit.statements.set_index("statement").loc["NP-2026-03"]
    assert statement["ties"] == False  # noqa: E712 - not missing, but no
    assert statement["difference_cents"] == statement["lines_total_cents"] - statement["printed_total_cents"] != 0
    assert not audit.complete


def test_a_line_whose_amount_cannot_be_read_is_kept_and_leaves_its_statement_untied(month: Path) -> None:
    """Its state says so; the other lines are audited."""
    row = first_row(month / STATEMENT)
    edit(month / STATEMENT, row, row.rpartition(",")[0] + ",twelve")
    audit = auditor.reconcile([month])
    assert "'twelve' in column 'Amount'" in messages(audit)
    assert audit.lines["state"].eq("not read").sum() == 1
    assert not audit.complete
    assert len(audit.lines) == len(auditor.reconcile([SAMPLE]).lines)


def test_a_statement_of_another_month_is_not_audited_and_names_the_days(month: Path) -> None:
    """Its parcels are not called unknown: the records do not reach them."""
    text = (month / STATEMENT).read_text(encoding="utf-8")
    for march, january in (("2026-03", "2026-01"), ("2026-04-01", "2026-02-01"), ("NP4410", "NP4399"), ("Q-1", "Q-0")):
        text = text.replace(march, january)
    (month / "january.csv").write_text(text, encoding="utf-8")
    audit = auditor.reconcile([month])
    assert (
        "are about parcels shipped 2026-01-02 to 2026-01-31, but your shipping records cover 2026-03-02 to 2026-03-31"
        in (messages(audit))
    )
    assert "Add the shipping records of those days and run again." in messages(audit)
    assert audit.not_audited_cents > 0
    assert audit.billed_cents == audit.expected_cents + audit.difference_cents + audit.not_audited_cents
    assert not (audit.findings["statement"] == "NP-2026-01").any()
    assert found(audit) == planted(SAMPLE)


def test_missing_shipping_records_are_named_with_what_they_are_for(month: Path) -> None:
    """Nothing is called an unknown parcel for want of them."""
    (month / SHIPMENTS).unlink()
    audit = auditor.reconcile([month])
    words = "What is missing among the files: your shipping records, so no line can be matched to a parcel of yours."
    assert words in messages(audit)
    assert audit.findings.empty or not audit.findings["cause"].eq("unknown parcel").any()
    assert audit.billed_cents == audit.expected_cents + audit.difference_cents + audit.not_audited_cents


@pytest.mark.parametrize(
    ("file", "name"), [("rates.csv", "prices (rates)"), ("fees.csv", "fees"), ("fuel.csv", "fuel percentages")]
)
def test_a_missing_price_table_is_learned_from_the_labels_and_said(month: Path, file: str, name: str) -> None:
    """Nothing is priced as zero for want of it, and the findings stay."""
    (month / file).unlink()
    audit = auditor.reconcile([month])
    assert f"There is no table of {name} among the files, so they were learned from the labels" in messages(audit)
    assert audit.not_audited_cents == 0
    assert len(audit.findings) >= 40


def test_two_parcels_with_one_number_are_told_and_their_match_is_doubtful(month: Path) -> None:
    """Both rows are named; where nothing printed tells them apart, the confidence is that of a guess between two."""
    row = first_row(month / SHIPMENTS)
    number = row.split(",")[0]
    edit(month / SHIPMENTS, row, row + "\n" + row.replace("keyboard box", "guitar box"))
    audit = auditor.reconcile([month])
    assert f"Tracking number {number} stands on 2 rows" in messages(audit)
    assert set(audit.lines.loc[audit.lines["tracking"] == number, "confidence"]) == {0.5}


def test_a_parcel_with_an_unreadable_size_is_not_audited_and_the_rest_is(month: Path) -> None:
    """Its finding has no expected amount, and says why."""
    row = first_row(month / SHIPMENTS)
    edit(month / SHIPMENTS, row, row.replace("46 x 18 x 8 in", "46x18"))
    audit = auditor.reconcile([month])
    assert "'46x18' in column 'Size' has 2 sides, needs three" in messages(audit)
    finding = audit.findings.set_index("shipment_tracking").loc[row.split(",")[0]]
    assert pd.isna(finding["expected_cents"])
    assert finding["explanation"].startswith("Not audited: a side is missing or zero.")
    assert [one for one in found(audit) if one[1] != row.split(",")[0]] == planted(SAMPLE)


def test_a_notice_about_nobody_is_told(month: Path) -> None:
    """It names the parcel and says that it is not in the records."""
    file = month / "notice-1.eml"
    text = file.read_text(encoding="utf-8")
    number = next(line.split(": ")[1] for line in text.splitlines() if line.startswith("Tracking number: "))
    file.write_text(text.replace(number, "NP9999999999999999"), encoding="utf-8")
    words = "This notice is about parcel NP9999999999999999, which is not in your records."
    assert words in messages(auditor.reconcile([month]))


def test_nothing_given_is_changed(month: Path) -> None:
    """Byte for byte."""
    before = {file.name: file.read_bytes() for file in month.iterdir()}
    auditor.reconcile([month])
    assert {file.name: file.read_bytes() for file in month.iterdir()} == before


def test_rules_can_be_named_by_service(month: Path) -> None:
    """A service with another tariff is priced by it: by postal rules nothing is due for handling."""
    audit = auditor.reconcile([month], rules={"": "us-ground-common", "Parcel": "us-postal"})
    assert audit.rules_name == "us-ground-common, us-postal"
    of_parcel = audit.findings[audit.findings["statement"] == "LP-2026-03"]
    assert (of_parcel["cause"] == "carrier arithmetic").sum() > 1
