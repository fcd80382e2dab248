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
