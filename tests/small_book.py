"""A small shop's files for the tests of the book: March, and a statement of May that credits some. All invented."""

from __future__ import annotations

from pathlib import Path

SHIPMENTS = """\
Tracking number,Order,Ship date,Service,Zone,Residential,Carton,Size,Weight,Label cost,Shipping paid,Photo,Voided
NP1,Q-1,2026-03-04,Ground,5,no,stand tube,44 x 6 x 6 in,3 lb 4 oz,14.37,16.00,,
NP2,Q-2,2026-03-05,Ground,5,no,uke box,28 x 12 x 6 in,5 lb,15.10,30.00,p2.jpg,
NP3,Q-3,2026-03-09,Ground,5,no,pedal box,12 x 10 x 8 in,4 lb,12.10,12.00,,yes
NP4,Q-4,2026-03-31,Ground,5,no,pedal box,12 x 10 x 8 in,4 lb,12.10,12.00,,
"""
RATES = "Service,Zone,Weight up to (lb),Price,Effective date\n" + "".join(
    f"Ground,5,{pounds},{9 + pounds / 2:.2f},2026-01-05\n" for pounds in range(1, 41)
)
FEES = "Charge,Amount,Effective date\nadditional handling,29.50,2026-01-05\nPickup service,12.00,2026-01-05\n"
HEAD = "Statement,Statement date,Tracking number,Ship date,Service,Zone,Charge,Billed weight (lb),Amount\n"
MARCH = (
    HEAD
    + """\
NP-2026-03,2026-04-01,NP1,2026-03-04,Ground,5,Freight,12,15.00
NP-2026-03,2026-04-01,NP2,2026-03-05,Ground,5,Freight,15,16.50
NP-2026-03,2026-04-01,NP2,2026-03-05,Ground,5,Freight,15,16.50
NP-2026-03,2026-04-01,NP3,2026-03-09,Ground,5,Freight,7,12.50
NP-2026-03,2026-04-01,NP9,2026-03-09,Ground,5,Freight,7,12.50
NP-2026-03,2026-04-01,,,,,Pickup service,,14.00
Statement total,,,,,,,,87.00
"""
)
"""NP2 is billed twice, NP3 was voided, NP9 is nobody's, and the pickup costs 2.00 more than listed."""

MAY = (
    HEAD
    + """\
NP-2026-05,2026-06-01,NP2,2026-03-05,Ground,5,Freight credit,,-16.50
NP-2026-05,2026-06-01,NP3,2026-03-09,Ground,5,Freight credit,,-10.00
NP-2026-05,2026-06-01,NP4,2026-03-31,Ground,5,Freight,7,12.50
Statement total,,,,,,,,-14.00
"""
)
FILES = {"shipments.csv": SHIPMENTS, "rates.csv": RATES, "fees.csv": FEES, "march.csv": MARCH}


def march(folder: Path) -> Path:
    """A folder with March's files."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def file(folder: Path, name: str, text: str) -> Path:
    """One more file."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_text(text, encoding="utf-8")
    return folder / name
