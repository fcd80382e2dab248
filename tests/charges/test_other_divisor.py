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
    [asked] = found.findings.to_dict("records")
    assert asked["explanation"].startswith(
        "By what the labels on your statements show, 12 of 12 labels are billed by another weight than yours come to, "
        "12 of them just as if the volume were divided by 115, where the rules say 139. The 12 labels on this "
        "statement that this concerns come to $"
    )
    assert "Look whether your agreement says so" in asked["explanation"]
    assert (asked["dispute"], asked["disputable_cents"]) == ("none", 0)
    assert asked["difference_cents"] == found.difference_cents > 0


def test_a_divisor_in_the_shops_favour_is_one_question_too(tmp_path: Path) -> None:
    """No parcel is told to have saved something."""
    [asked] = audit(tmp_path, 166).findings.to_dict("records")
    assert "divided by a number from 164 to 167, where the rules say 139" in asked["explanation"]
    assert asked["difference_cents"] < 0


@pytest.mark.parametrize("divisor", [139])
def test_the_rules_divisor_is_no_question(tmp_path: Path, divisor: int) -> None:
    """Nothing is off, so nothing is asked."""
    found = audit(tmp_path, divisor)
    assert found.findings.empty
