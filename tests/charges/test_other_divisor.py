"""A carrier that divides volume by another number than the rules: one question, and no word of a scale."""

from __future__ import annotations

from pathlib import Path

import pytest

import auditor
from auditor.audit import Audit
from tests import small_book

BOXES = [(24 + at, 14, 12) for at in range(12)]


def up(amount: float) -> int:
    """To the next whole."""
    return -int(-amount // 1)


def audit(folder: Path, divisor: int) -> Audit:
    """Twelve labels billed by their volume over that divisor, at the seller's prices."""
    records = "Tracking number,Ship date,Service,Zone,Residential,Size,Weight\n"
    lines = small_book.HEAD.replace("Amount", "L (in),W (in),H (in),Amount")
    for at, (length, width, height) in enumerate(BOXES):
        pounds = up(length * width * height / divisor)
        records += f"NP{at},2026-03-05,Ground,5,no,{length} x {width} x {height} in,9 lb\n"
        billed = f"{pounds},{length},{width},{height},{9 + pounds / 2:.2f}"
        lines += f"NP-2026-03,2026-04-01,NP{at},2026-03-05,Ground,5,Freight,{billed}\n"
    more = (f"Ground,5,{at},{9 + at / 2:.2f},2026-01-05\n" for at in range(41, 80))
    rates = small_book.RATES + "".join(more)
    texts = {"records.csv": records, "rates.csv": rates, "fees.csv": small_book.FEES, "march.csv": lines}
    return auditor.reconcile([small_book.file(folder, name, text) for name, text in texts.items()])


def test_another_divisor_on_most_labels_is_one_question(tmp_path: Path) -> None:
    """With both numbers; no finding speaks of what a scale shows, as none is printed, and none is strong."""
    found = audit(tmp_path, 115)
    [asked] = [problem.message for problem in found.problems if "were divided by" in problem.message]
    assert asked.startswith(
        "12 of 12 labels are billed by another weight than yours come to, 12 of them just as if the volume were "
        "divided by 115 and not by 139, as the rules us-ground-common say. Look whether your agreement says so"
    )
    said = " ".join(found.findings["explanation"])
    assert "typing what a scale shows" not in said
    assert "billed by 36 lb, with no reading of a scale shown" in said
    assert "strong" not in set(found.findings["dispute"])


@pytest.mark.parametrize("divisor", [139])
def test_the_rules_divisor_is_no_question(tmp_path: Path, divisor: int) -> None:
    """Nothing is off, so nothing is asked."""
    found = audit(tmp_path, divisor)
    assert found.findings.empty
    assert not any("were divided by" in problem.message for problem in found.problems)
