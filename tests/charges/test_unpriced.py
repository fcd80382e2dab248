"""A price that is not known: told as such by everything that reads it, and never a number."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner, Result

import auditor
from auditor.cli import group
from tests import small_book

BILLED = "NP1,2026-03-04,Ground,5,Freight,12,15.00"
NOT_KNOWN = "the rates have no price for its service and zone on its ship date"


@pytest.fixture
def month(tmp_path: Path) -> Path:
    """March, with a parcel billed to a zone that the price table does not have."""
    folder = small_book.march(tmp_path / "march")
    otherwise = small_book.MARCH.replace(BILLED, "NP1,2026-03-04,Ground,7,Freight,12,16.50").replace("87.00", "88.50")
    small_book.file(folder, "march.csv", otherwise)
    return folder


def run(*arguments: str | Path) -> Result:
    """One call of the command line, which must not end in an exception."""
    return CliRunner().invoke(group, [str(argument) for argument in arguments], catch_exceptions=False)


def test_a_parcel_with_a_price_by_the_declared_figures_only_is_not_audited(month: Path) -> None:
    """No difference, no cause and no dispute; both sums that are known are told."""
    audit = auditor.reconcile([month])
    finding = audit.findings.set_index("tracking").loc["NP1"]
    assert finding["explanation"] == (
        f"Not audited: no price is known for the carrier's figures ({NOT_KNOWN}). By what you declared the parcel "
        "comes to $15.00; what this statement bills for it comes to $16.50. The charge may be right or wrong; this "
        "tool cannot say."
    )
    assert finding[["expected_cents", "difference_cents", "cause"]].isna().all()
    assert finding["dispute"] == "none"
    assert audit.not_audited_cents == 1650
    assert audit.billed_cents == audit.expected_cents + audit.difference_cents + audit.not_audited_cents
    assert audit.difference_cents == audit.findings["difference_cents"].sum()


def test_without_a_table_of_fees_it_is_said_that_none_was_given(month: Path) -> None:
    """And what to give; a table that lacks a day is told otherwise."""
    (month / "fees.csv").unlink()
    records = small_book.SHIPMENTS.replace("44 x 6 x 6", "54 x 6 x 6")
    small_book.file(month, "shipments.csv", records)
    small_book.file(month, "march.csv", small_book.MARCH)
    said = " ".join(problem.message for problem in auditor.reconcile([month]).problems)
    assert (
        "no table of fees was given, and the amount of additional handling is not known; give a table of fees with its "
        "amount and the day from which that holds" in said
    )
    assert "the fees have no amount" not in said


def test_a_bill_that_is_as_expected_needs_no_price_of_the_carriers_figures(tmp_path: Path) -> None:
    """Nothing is off, so nothing is left unaudited."""
    folder = small_book.march(tmp_path / "march")
    otherwise = small_book.MARCH.replace(BILLED, BILLED.replace("Ground,5", "Ground,7"))
    small_book.file(folder, "march.csv", otherwise)
    audit = auditor.reconcile([folder])
    assert "NP1" not in set(audit.findings["tracking"])
    assert audit.not_audited_cents == 0
    assert f"No price is known, so this is not audited: {NOT_KNOWN}" in run("explain", "NP1", folder).stdout


def test_explain_shows_the_price_that_is_known_and_says_which_is_not(month: Path) -> None:
    """The declared figures step by step, the carrier's with the reason."""
    shown = run("explain", "NP1", month)
    assert shown.exit_code == 0
    declared, _, read = shown.stdout.partition("By the carrier's figures")
    assert "Total" in declared
    assert "$15.00" in declared
    assert f"No price is known, so this is not audited: {NOT_KNOWN}" in read
    assert "Total" not in read


@pytest.mark.sample(3)
@pytest.mark.parametrize("rates", ["kept", "left out"])
@pytest.mark.parametrize(
    "command",
    [
        ["cartons"],
        ["whatif", "--cut", "stand tube", "43 in"],
        ["reconcile", "--no-book", "--out", "OUT"],
        ["evidence", "--out", "OUT"],
    ],
    ids=lambda command: str(command[0]),
)
def test_every_command_goes_on_where_prices_are_not_known(
    month: Path, tmp_path: Path, command: list[str], rates: str
) -> None:
    """With a table that lacks one, and with none at all."""
    if rates == "left out":
        (month / "rates.csv").unlink()
    options = [str(tmp_path / "out") if word == "OUT" else word for word in command]
    assert run(options[0], month, *options[1:]).exit_code == 0


def test_the_report_says_that_it_is_not_audited(month: Path, tmp_path: Path) -> None:
    """In the table of findings and in the page."""
    run("reconcile", month, "--no-book", "--out", tmp_path / "out")
    table = pd.read_csv(tmp_path / "out" / "findings.csv", dtype="str").set_index("tracking")
    assert table["expected"].isna()["NP1"]
    assert "No price is known, so this is not audited" in (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
