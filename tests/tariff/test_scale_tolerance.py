"""A scale is held to what it may be off by under the load it bears, not to one number."""

from __future__ import annotations

from pathlib import Path

from auditor import reconcile

SHIPMENTS = """\
Tracking number,Ship date,Service,Zone,Size,Weight
NP1,2026-03-04,Ground,5,9 x 9 x 9 in,10 lb
NP2,2026-03-04,Ground,5,9 x 9 x 9 in,30 lb
"""
RATES = "Service,Zone,Weight up to (lb),Price,Effective date\n" + "".join(
    f"Ground,5,{pounds},{9 + pounds}.00,2026-01-05\n" for pounds in range(1, 41)
)
STATEMENT = """\
Statement,Statement date,Tracking number,Ship date,Service,Zone,Charge,Actual weight (lb),Billed weight (lb),Amount
NP-2026-03,2026-04-01,NP1,2026-03-04,Ground,5,Freight,10.08,11,20.00
NP-2026-03,2026-04-01,NP2,2026-03-04,Ground,5,Freight,30.08,31,40.00
"""


def test_the_same_0_08_lb_is_too_much_at_10_lb_and_within_tolerance_at_30_lb(tmp_path: Path) -> None:
    """NIST Handbook 44, 2.20, Table 6, Class III at 0.05 lb: 1 division (0.05 lb) up to 25 lb, 2 up to 100 lb."""
    for name, text in {"shipments.csv": SHIPMENTS, "rates.csv": RATES, "statement.csv": STATEMENT}.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    found = reconcile([tmp_path]).findings.set_index("tracking")
    assert found["difference_cents"].to_dict() == {"NP1": 100, "NP2": 100}
    assert found["cause"].to_dict() == {"NP1": "declared weight", "NP2": "rounding"}
    assert "the scale's tolerance, 0.1 lb," in str(found.loc["NP2", "dispute_reason"])
