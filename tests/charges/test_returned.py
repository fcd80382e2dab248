"""A parcel that went back is charged once more: that is another carriage, and no correction made twice."""

from __future__ import annotations

from pathlib import Path

import pytest

import auditor
from tests import small_book

SIDES = "L (in),W (in),H (in),Amount"
DECLARED, MEASURED = "24,14,12", "26,14,12"


@pytest.mark.sample(3)
@pytest.mark.parametrize("words", ["Return freight", "Freight", "Returned to sender"])
@pytest.mark.parametrize("back", [DECLARED, MEASURED, "27,15,12"])
def test_a_return_is_never_a_strong_duplicate(tmp_path: Path, words: str, back: str) -> None:
    """The label, a correction a month later, and then the way back, by the label's figures or by others."""
    head = small_book.HEAD.replace("Amount", SIDES)
    label = "".join(
        f"NP-2026-03,2026-04-01,NP{at},2026-03-05,Ground,5,Freight,30,{DECLARED},24.00\n" for at in range(6)
    )
    corrected = f"NP-2026-04,2026-05-01,NP1,2026-03-05,Ground,5,Freight correction,32,{MEASURED},1.00\n"
    returned = f"NP-2026-05,2026-06-01,NP1,2026-05-12,Ground,5,{words},30,{back},24.50\n"
    records = "Tracking number,Ship date,Service,Zone,Residential,Size,Weight\n" + "".join(
        f"NP{at},2026-03-05,Ground,5,no,24 x 14 x 12 in,9 lb\n" for at in range(6)
    )
    texts = {"records.csv": records, "rates.csv": small_book.RATES, "march.csv": head + label}
    texts |= {"april.csv": head + corrected, "may.csv": head + returned}
    found = auditor.reconcile([small_book.file(tmp_path, name, text) for name, text in texts.items()]).findings
    assert "strong" not in set(found["dispute"])
    [asked] = found[found["statement"] == "NP-2026-05"].to_dict("records")
    assert (asked["cause"], asked["difference_cents"]) == ("unexplained", 2450)
    assert asked["strong_cents"] == 0
    assert "charged again" not in asked["explanation"]
