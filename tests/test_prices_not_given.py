"""Shops without price tables, or with older ones, whose every charge is right: no charge is called wrong."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

import auditor
from auditor.audit import Audit
from tests.shops import Rise, month, write

RISE = Rise(date(2026, 3, 16), "5.9")
ALL = ("rates.csv", "fees.csv", "fuel.csv")
MEASURED = {"box length", "box girth", "declared weight", "rounding"}


def audit(folder: Path, *, tables: tuple[str, ...] = (), rise: Rise | None = None, at_once: bool = False) -> Audit:
    """A month of 160 parcels."""
    return auditor.reconcile([write(folder, month(7, 160, rise=rise, at_once=at_once), tables=tables)])


@pytest.mark.parametrize("at_once", [False, True], ids=["corrected later", "billed at once"])
@pytest.mark.parametrize("rise", [None, RISE], ids=["one price", "a rise in mid month"])
def test_without_tables_right_charges_are_put_down_to_what_was_measured_and_none_is_strong(
    tmp_path: Path, rise: Rise | None, *, at_once: bool
) -> None:
    """Learned prices say nothing against a charge that is right, a rise within the month or not."""
    found = audit(tmp_path, rise=rise, at_once=at_once).findings
    assert len(found) > 20
    assert set(found["cause"]) <= MEASURED
    assert "strong" not in set(found["dispute"])
    assert set(found["price_basis"]) == {"learned"}
    assert not found["explanation"].str.contains("your table|your price", regex=True).any()


@pytest.mark.parametrize("tables", [ALL, ("rates.csv",)], ids=["all tables", "rates alone"])
def test_a_rise_beyond_the_table_is_one_finding_of_each_statement_and_no_dispute(
    tmp_path: Path, tables: tuple[str, ...]
) -> None:
    """The day, the percentage and the dollars are told once; no parcel is called wrong for it."""
    found = audit(tmp_path, tables=tables, rise=RISE).findings
    rates = found[found["cause"] == "rate"]
    assert sorted(rates["statement"]) == ["LP-2026-03", "NP-2026-03"]
    assert set(rates["dispute"]) == {"none"}
    assert rates["tracking"].isna().all()
    assert rates["explanation"].str.contains("prices rose by 5.9 % on 2026-03-16, for all zones and weights").all()
    assert "strong" not in set(found["dispute"])
    assert set(found.loc[found["tracking"].notna(), "cause"]) <= MEASURED


OLDER = {
    "fuel.csv": (
        "fuel.csv",
        "Effective date,Percent,Service\n2025-01-01,14.5,\n",
        r"fuel is \S+ % from 2026-03-0\d on",
    ),
    "fees.csv": (
        "fees.csv",
        "Charge,Amount,Effective date\nresidential,6.08,2025-12-29\ncorrection fee,1.35,2025-12-29\n",
        "the amount of residential rose by 1.5 % on 2026-03-16",
    ),
}


@pytest.mark.parametrize("older", list(OLDER))
def test_an_older_table_of_fuel_or_fees_is_told_once_a_statement_and_no_charge_is_called_wrong_for_it(
    tmp_path: Path, older: str
) -> None:
    """A constant percentage where it moves every week, a fee that has gone up."""
    name, text, words = OLDER[older]
    folder = write(tmp_path, month(7, 160), tables=[one for one in ALL if one != "fees.csv"])
    (folder / name).write_text(text, encoding="utf-8")
    found = auditor.reconcile([folder]).findings
    told = found[found["tracking"].isna()]
    assert len(told) == 2
    assert told["explanation"].str.contains(words).all()
    assert set(told["dispute"]) == {"none"}
    assert set(found.loc[found["tracking"].notna(), "cause"].dropna()) <= MEASURED


def test_a_table_that_most_labels_do_not_follow_makes_no_strong_rate(tmp_path: Path) -> None:
    """Another carrier's list: told as a problem, and what is off it is at most arguable."""
    folder = write(tmp_path, month(7, 160), tables=["rates.csv"])
    rows = (folder / "rates.csv").read_text(encoding="utf-8").splitlines()
    others = [_cheaper(row, number) for number, row in enumerate(rows)]
    (folder / "rates.csv").write_text("\n".join(others) + "\n", encoding="utf-8")
    audit = auditor.reconcile([folder])
    told = [problem.message for problem in audit.problems if problem.message.startswith("Most labels")]
    assert told[0] == (
        "Most labels of service Ground cost something else than your price table says, and not by one percentage. Look "
        "whether it is that carrier's table, and of that time; until then no difference from it is called strong."
    )
    assert set(audit.findings["dispute"]) <= {"arguable", "none"}


def _cheaper(row: str, number: int) -> str:
    """A row of the table with its price a little lower, by no one percentage."""
    cells = row.split(",")
    return row if not number else ",".join([*cells[:3], f"{float(cells[3]) - 0.37 - number % 7 / 10:.2f}", *cells[4:]])
