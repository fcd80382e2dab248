"""Parcels shipped after the rules were last looked at: priced by the last rules, and marked so wherever it is said."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from auditor import Audit, reconcile
from auditor.cli import group
from auditor.report import write
from tests import small_book

LAST_DAY = """\
extends = "us-ground-common"
name = "last-looked-at"
version = "2026-03-06"
known_until = 2026-03-06
"""
MARK = "It was priced by the rules of 2026-03-06, the last that this version knows."
NOTE = (
    "1 parcel was shipped after 2026-03-06, when the rules last-looked-at were last looked at. It is priced by the "
    "rules of that day, the last that this version knows; each finding about it says so. Look for a newer version of "
    "the program, or write what your carrier changed into a rule file of your own (docs/rules.md)."
)
LATER = """\
NP-2026-04,2026-05-01,NP4,2026-03-31,Ground,5,Freight,7,13.70
NP-2026-04,2026-05-01,NP4,2026-03-31,Ground,5,Freight,7,13.70
"""
"""A pedal box that comes to 7 lb and 12.50 by the shop's own table, at another price, and twice."""


@pytest.fixture(scope="module")
def month(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small shop whose parcels of 4 and 5 March the rules know, and that of the 31st not."""
    folder = tmp_path_factory.mktemp("aged") / "month"
    small_book.march(folder)
    small_book.file(folder, "march.csv", small_book.HEAD + "".join(small_book.MARCH.splitlines(keepends=True)[1:4]))
    small_book.file(folder, "april.csv", small_book.HEAD + LATER)
    (folder.parent / "mine.toml").write_text(LAST_DAY, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def audit(month: Path) -> Audit:
    """The month by rules that end on 6 March."""
    return reconcile([month], rules=month.parent / "mine.toml")


def test_such_a_parcel_has_the_price_of_the_last_rules(month: Path, audit: Audit) -> None:
    """The same as by the shipped rules, which know its day."""
    known = reconcile([month])
    assert audit.not_audited_cents == known.not_audited_cents == 0
    assert audit.expected_cents == known.expected_cents
    assert audit.findings["difference_cents"].tolist() == known.findings["difference_cents"].tolist()


def test_each_finding_about_it_says_so_and_no_other(audit: Audit) -> None:
    """At the end of its explanation."""
    marked = audit.findings["explanation"].str.contains(MARK, regex=False)
    assert set(audit.findings.loc[marked, "tracking"]) == {"NP4"}
    assert "NP2" in set(audit.findings.loc[~marked, "tracking"])


def test_rules_that_may_have_changed_make_no_strong_dispute(month: Path, audit: Audit) -> None:
    """Another price than the table's is strong by rules that are known, and arguable by these; a duplicate stands."""
    (month.parent / "once").mkdir()
    once = month.parent / "once"
    for name in ("shipments.csv", "rates.csv", "fees.csv"):
        (once / name).write_bytes((month / name).read_bytes())
    small_book.file(once, "april.csv", small_book.HEAD + LATER.splitlines(keepends=True)[0])
    by = {rules: reconcile([once], rules=rules) for rules in ("us-ground-common", month.parent / "mine.toml")}
    known, aged = (found.findings.iloc[0] for found in by.values())
    assert (known["cause"], known["dispute"]) == ("rate", "strong")
    assert (aged["cause"], aged["dispute"]) == ("rate", "arguable")
    assert str(aged["dispute_reason"]).endswith(
        "; but the rules are those of 2026-03-06, so look first whether they have changed"
    )
    assert "strong" in set(audit.findings.loc[audit.findings["cause"] == "duplicate", "dispute"])


def test_the_run_the_report_and_the_summary_say_how_old_the_rules_are(month: Path, audit: Audit) -> None:
    """One note, one sentence among the rules, one key."""
    notes = [problem.message for problem in audit.problems if problem.note]
    assert NOTE in notes
    out = month.parent / "out"
    write(audit, out)
    page = (out / "report.html").read_text(encoding="utf-8")
    assert (
        "The rules last-looked-at were last looked at on 6 March 2026, 25 days before the last parcel on these "
        "statements was shipped. What the carrier changed in between is not in them, and what rests on them is marked."
    ) in page
    assert MARK in page
    summary = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    assert summary["rules"]["known_until"] == "2026-03-06"


def test_rules_that_are_younger_than_every_parcel_say_so(month: Path) -> None:
    """Then nothing is marked."""
    known = reconcile([month])
    assert not known.findings["explanation"].str.contains("the last that this version knows", regex=False).any()
    out = month.parent / "known"
    write(known, out)
    page = (out / "report.html").read_text(encoding="utf-8")
    assert (
        "The rules us-ground-common were last looked at on 25 November 2026, after the last parcel on these statements "
        "was shipped."
    ) in page


def test_the_terminal_says_it_too(month: Path) -> None:
    """As a note, which makes no fault of it."""
    rules, out = str(month.parent / "mine.toml"), str(month.parent / "shown")
    done = CliRunner().invoke(group, ["reconcile", str(month), "--rules", rules, "--no-book", "--out", out])
    assert NOTE in done.output.replace("\n", " ")
