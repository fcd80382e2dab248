"""A currency that is not the dollar is told of, and two in one statement are a fault; nothing is converted."""

from __future__ import annotations

from pathlib import Path

import pytest

from auditor import intake
from auditor.core.schemas import Problem
from auditor.intake import csv_file
from tests import bad_files


def told(folder: Path, content: str) -> list[Problem]:
    """What is said of a statement about its currency; its amounts are read whatever it is."""
    taken = intake.read([bad_files.write(folder, "s.csv", content)])
    assert taken.lines["amount_cents"].to_list() == [200, 1300]
    return [problem for problem in taken.problems if "urrenc" in problem.message or "converted" in problem.message]


def statement(heading: str = "Amount", first: str = "2.00", second: str = "13.00", above: str = "") -> str:
    """Two lines."""
    return f"{above}Statement,Tracking,Charge,{heading}\nS1,NP44100261,Freight,{first}\nS1,NP44100261,Fuel,{second}\n"


@pytest.mark.parametrize(
    ("content", "currency", "where"),
    [
        (statement("Amount (EUR)"), "EUR", "column 'Amount (EUR)'"),
        (statement("Amount GBP"), "GBP", "column 'Amount GBP'"),
        (statement("Amount", "€2.00", "€13.00"), "EUR", "'€2.00'"),
        (statement("Amount", "2.00 CHF", "13.00 CHF"), "CHF", "'2.00 CHF'"),
        (statement(above="Currency: CAD\n\n"), "CAD", "'Currency: CAD'"),
        (statement("Amount,Cur", "2.00,EUR", "13.00,EUR"), "EUR", "column 'Cur'"),
        (statement("Amount (CAD)", "$2.00", "$13.00"), "CAD", "column 'Amount (CAD)'"),
    ],
)
def test_another_currency_than_the_dollar_is_noted(tmp_path: Path, content: str, currency: str, where: str) -> None:
    """In a heading, beside amounts, in a column of its own or above the table; a $ may be Canada's."""
    assert told(tmp_path, content) == [
        Problem(
            "s.csv",
            "",
            f"The amounts are in {currency} ({where}). They were read as they stand, nothing was converted, and they "
            "are shown as if they were dollars.",
            note=True,
        )
    ]


@pytest.mark.parametrize("content", [statement(), statement("Amount (USD)", "$2.00"), statement("Amount", "US$2.00")])
def test_dollars_are_not_told_of(tmp_path: Path, content: str) -> None:
    """However they are written."""
    assert told(tmp_path, content) == []


@pytest.mark.parametrize(
    ("content", "both"),
    [
        (statement("Amount (EUR)", "2.00", "$13.00"), "EUR (column 'Amount (EUR)') and $ ('$13.00')"),
        (statement("Amount,Cur", "2.00,EUR", "13.00,USD"), "EUR (column 'Cur') and USD (column 'Cur')"),
        (statement(above="Amount due: £15.00\n\n", heading="Amount (EUR)"), "EUR (column 'Amount (EUR)') and GBP"),
    ],
)
def test_two_currencies_in_a_statement_are_a_problem_that_names_both(tmp_path: Path, content: str, both: str) -> None:
    """As their sum is no sum."""
    [problem] = told(tmp_path, content)
    assert not problem.note
    assert problem.message.startswith(f"More than one currency stands in this statement: {both}")
    assert problem.message.endswith(
        "Amounts were added as they stand, nothing was converted, so its sums cannot be right. Ask the carrier for a "
        "statement in one currency."
    )


def test_a_big_file_is_looked_through_as_well(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One that is read by column."""
    pytest.importorskip("pyarrow")
    monkeypatch.setattr(csv_file, "BY_COLUMN_FROM", 0)
    [problem] = told(tmp_path, statement("Amount,Cur", "2.00,EUR", "13.00,USD"))
    assert "EUR (column 'Cur') and USD (column 'Cur')" in problem.message


@pytest.mark.parametrize(
    ("one", "other", "currencies"),
    [
        (statement("Amount (EUR)"), statement("Amount (GBP)"), "EUR (a.csv) and GBP (b.csv)"),
        (statement("Amount", "$2.00", "$13.00"), statement("Amount", "€2.00", "€13.00"), "$ (a.csv) and EUR (b.csv)"),
        (statement("Amount", "$2.00", "$13.00"), statement("Amount (CAD)"), None),
        (statement("Amount (EUR)"), statement("Amount (EUR)"), None),
        (statement(), statement("Amount (EUR)"), None),
    ],
)
def test_statements_in_two_currencies_are_told_of(tmp_path: Path, one: str, other: str, currencies: str | None) -> None:
    """Where both name theirs; a bare $ may be the other's."""
    files = [bad_files.write(tmp_path, "a.csv", one), bad_files.write(tmp_path, "b.csv", other.replace("S1", "S2"))]
    found = [problem for problem in intake.read(files).problems if "more than one currency" in problem.message]
    assert [(problem.file, problem.note) for problem in found] == ([("b.csv", False)] if currencies else [])
    assert all(f"currency: {currencies}." in problem.message for problem in found)
