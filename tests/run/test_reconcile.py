"""What is wrong in what was given: each gets a message with file, place, value and what to do; the rest goes on."""

from __future__ import annotations

import shutil
from pathlib import Path

import pandas as pd
import pytest

import auditor
from auditor.audit import Audit
from tests.run.test_month import SAMPLE, found, planted

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


def test_a_parcel_with_an_amount_that_cannot_be_read_is_not_audited(month: Path) -> None:
    """The amount is no $0.00 that would be held against the price."""
    row = first_row(month / STATEMENT)
    edit(month / STATEMENT, row, row.rpartition(",")[0] + ",twelve")
    audit = auditor.reconcile([month])
    finding = audit.findings.set_index("tracking").loc[row.split(",")[2]]
    assert pd.isna(finding["expected_cents"])
    assert pd.isna(finding["difference_cents"])
    assert finding["dispute"] == "none"
    assert finding["explanation"].startswith("Not audited: one of its amounts could not be read.")
    assert audit.difference_cents == auditor.reconcile([SAMPLE]).difference_cents


def test_a_line_of_another_month_is_told_of_as_one(month: Path) -> None:
    """With its one day."""
    (month / "may.csv").write_text(
        "Statement,Tracking number,Ship date,Charge,Amount\nNP-5,NP4410026051000017,2026-05-04,Freight,12.00\n"
    )
    assert (
        "1 line of statement NP-5 ($12.00) is about a parcel shipped 2026-05-04, but your shipping records cover "
        "2026-03-02 to 2026-03-31. It was not audited. Add the shipping records of those days and run again."
    ) in messages(auditor.reconcile([month]))


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


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("file", "name"), [("rates.csv", "prices (rates)"), ("fees.csv", "fees"), ("fuel.csv", "fuel percentages")]
)
def test_a_missing_price_table_is_learned_from_the_labels_and_said(month: Path, file: str, name: str) -> None:
    """Nothing is priced as zero for want of it, and the findings stay; one was billed to a zone never seen before."""
    (month / file).unlink()
    audit = auditor.reconcile([month])
    assert f"There is no table of {name} among the files, so they were learned from the labels" in messages(audit)
    not_audited = audit.findings[audit.findings["expected_cents"].isna()]
    assert not_audited["billed_cents"].tolist() == ([2159] if file == "rates.csv" else [])
    assert not_audited["explanation"].str.startswith("Not audited: no price is known for the carrier's figures").all()
    assert len(audit.findings) >= 40


def test_what_rests_on_learned_prices_says_which(month: Path) -> None:
    """In each finding's sentence, with no gap left for a name."""
    for name in ("rates.csv", "fees.csv", "fuel.csv"):
        (month / name).unlink()
    told = auditor.reconcile([month]).findings["explanation"]
    assert not told.str.contains("[{}]", regex=True).any()
    assert told.str.contains("were learned from your own labels, so amounts that rest on them are estimates.").any()


def test_without_a_statement_no_label_is_called_never_billed(month: Path) -> None:
    """Nothing can be known of that."""
    for file in (month / STATEMENT, month / "larkrise-2026-03.pdf"):
        file.unlink()
    assert auditor.reconcile([month]).never_billed.empty


def test_two_parcels_with_one_number_are_told_and_their_match_is_doubtful(month: Path) -> None:
    """Both rows are named; where nothing printed tells them apart, the confidence is that of a guess between two."""
    row = first_row(month / SHIPMENTS)
    number = row.split(",")[0]
    edit(month / SHIPMENTS, row, row + "\n" + row.replace("keyboard box", "guitar box"))
    audit = auditor.reconcile([month])
    assert f"Tracking number {number} stands on 2 rows" in messages(audit)
    assert set(audit.lines.loc[audit.lines["tracking"] == number, "confidence"]) == {0.5}


def test_a_finding_about_one_of_two_parcels_with_one_number_is_not_to_be_disputed_yet(month: Path) -> None:
    """Two rows that differ in what the buyer paid: which of the two was billed is not known."""
    findings = auditor.reconcile([month]).findings
    number = findings.loc[findings["dispute"] == "strong", "shipment_tracking"].dropna().iloc[0]
    row = next(row for row in (month / SHIPMENTS).read_text(encoding="utf-8").splitlines() if row.startswith(number))
    at = (month / SHIPMENTS).read_text(encoding="utf-8").splitlines()[0].split(",").index("Shipping paid")
    other = [cell if place != at else "1.23" for place, cell in enumerate(row.split(","))]
    edit(month / SHIPMENTS, row, f"{row}\n{','.join(other)}")
    finding = auditor.reconcile([month]).findings.set_index("shipment_tracking").loc[number]
    assert finding["dispute"] == "none"
    words = "two of your shipments have this number; find out which of them was billed before you dispute it"
    assert finding["dispute_reason"] == words


def renumbered(text: str, keep: int) -> str:
    """A statement with the numbers of all parcels but the first few changed to ones that are nobody's here."""
    heading, *rows = text.splitlines()
    numbers = dict.fromkeys(row.split(",")[2] for row in rows if row.split(",")[2] and row.split(",")[-2])
    others = {number: f"ZX{place:06d}77" for place, number in enumerate(numbers) if place >= keep}
    cells = [row.split(",") for row in rows]
    changed = [[*row[:2], others[row[2]], *row[3:-2], "", row[-1]] if row[2] in others else row for row in cells]
    return "\n".join([heading, *(",".join(row) for row in changed)]).replace("NP-2026-03", "ZX-77") + "\n"


@pytest.mark.sample(1)
@pytest.mark.parametrize(("kept", "said"), [(0, "none is in your"), (1, "1 is in your"), (3, "3 are in your")])
def test_a_statement_of_another_account_is_told_as_one_problem(month: Path, kept: int, said: str) -> None:
    """And not as dozens of unknown parcels; what is billed there for the shop's own parcels is audited."""
    text = (month / STATEMENT).read_text(encoding="utf-8")
    (month / "other.csv").write_text(renumbered(text, kept), encoding="utf-8")
    audit = auditor.reconcile([month])
    assert f"parcels on statement ZX-77 {said} shipping records, so it seems to be another account's." in messages(
        audit
    )
    assert "If the account is yours, add the shipping records of its parcels and run again" in messages(audit)
    assert ("was audited." in messages(audit)) == bool(kept)
    of_other = audit.findings[audit.findings["statement"] == "ZX-77"]
    assert not of_other["cause"].isin(["unknown parcel", "unexplained"]).any()
    assert of_other["shipment_tracking"].nunique() == kept
    assert audit.not_audited_cents > 0
    assert audit.billed_cents == audit.expected_cents + audit.difference_cents + audit.not_audited_cents


def test_some_unknown_parcels_do_not_make_a_statement_another_accounts(month: Path) -> None:
    """With half of its numbers recorded, those of parcels that are in no record are unknown parcels."""
    text = (month / STATEMENT).read_text(encoding="utf-8")
    half = renumbered(text, 50).replace("ZX-77", "NP-2026-03")
    (month / STATEMENT).write_text(half, encoding="utf-8")
    for row in (month / SHIPMENTS).read_text(encoding="utf-8").splitlines():
        if (number := row.split(",")[0]) in text and number not in half:
            edit(month / SHIPMENTS, f"{row}\n", "")
    audit = auditor.reconcile([month])
    assert "another account" not in messages(audit)
    assert (audit.findings["cause"] == "unknown parcel").sum() > 20


def test_a_parcel_billed_before_it_was_shipped_is_told_with_both_days(month: Path) -> None:
    """By the statement's date, and by the billed ship date where it lies more than a week before the recorded one."""
    row = first_row(month / SHIPMENTS)
    edit(month / SHIPMENTS, row, row.replace(row.split(",")[3], "2026-03-31"))
    early = (
        f"bills before the day on which you shipped it: {row.split(',')[0]} (recorded as shipped on 2026-03-31). Look"
    )
    assert early in messages(auditor.reconcile([month]))
    text = (month / SHIPMENTS).read_text(encoding="utf-8")
    (month / SHIPMENTS).write_text(text.replace(",2026-03-", ",2026-04-"), encoding="utf-8")
    said = messages(auditor.reconcile([month]))
    assert "Statement NP-2026-03 of 2026-04-01 bills before the day on which you shipped it: " in said
    assert "which date is wrong, and whether the number was used before; what is said of it rests on your date." in said


@pytest.mark.slow
def test_corrections_without_their_first_charge_are_noted(month: Path) -> None:
    """They are held against what the declared figures come to, and found as before."""
    rows = (month / STATEMENT).read_text(encoding="utf-8").splitlines()
    number = next(row.split(",")[2] for row in rows if "adjustment" in row)
    kept = [row for row in rows if number not in row or "adjustment" in row or "Correction fee" in row]
    before = auditor.reconcile([month])
    (month / STATEMENT).write_text("\n".join(kept) + "\n", encoding="utf-8")
    audit = auditor.reconcile([month])
    assert (
        f"Statement NP-2026-03 changes the charge of a parcel whose label no statement among the files bills: {number}."
        " The label was taken to have cost what your declared figures come to."
    ) in messages(audit)
    for name in ("difference", "box_length", "box_girth", "declared_weight", "rounding"):
        one, other = (of.findings.set_index("shipment_tracking")[f"{name}_cents"] for of in (before, audit))
        assert one[number] == other[number]


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


@pytest.mark.slow
def test_rules_can_be_named_by_service(month: Path) -> None:
    """A service with another tariff is priced by it: by postal rules nothing is due for handling."""
    audit = auditor.reconcile([month], rules={"": "us-ground-common", "Parcel": "us-postal"})
    assert audit.rules_name.startswith("us-ground-common, us-postal")
    of_parcel = audit.findings[audit.findings["statement"] == "LP-2026-03"]
    assert (of_parcel["cause"] == "carrier arithmetic").sum() > 1
