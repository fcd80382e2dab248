"""A carrier that bills by other rules than those given: told once, and no parcel is called wrong for it."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import pytest

import auditor
from auditor.audit import Audit
from tests import small_book

RESIDENTIAL, DEAR = 500, 2950


def _share(cents: int, percent: str) -> int:
    return int((Decimal(cents) * Decimal(percent) / 100).quantize(Decimal(1), ROUND_HALF_UP))


def month(folder: Path, *, fuel_on: tuple[str, ...], off: str = "", tables: bool = True) -> Audit:
    """Forty labels: two in five to homes, one in five too long; fuel at 15.5 % of some charges, freight at a price."""
    records = "Tracking number,Ship date,Service,Zone,Residential,Size,Weight\n"
    lines = small_book.HEAD
    for at in range(40):
        home, long = at % 5 < 2, at % 5 == 4
        pounds = 40 if long else 3 + at % 20
        freight = 900 + 50 * pounds
        charges = {"Freight": freight}
        charges |= {"Contract price reduction": -_share(freight, off)} if off else {}
        charges |= {"Additional handling": DEAR} if long else {}
        charges |= {"Residential": RESIDENTIAL} if home else {}
        carried = sum(cents for name, cents in charges.items() if name in fuel_on)
        charges["Fuel surcharge"] = _share(carried, "15.5")
        day = f"2026-03-{2 + at % 19:02d}"
        homes, size = ("yes" if home else "no"), ("49 x 6 x 6 in" if long else "12 x 6 x 4 in")
        records += f"NP44{at:04d},{day},Ground,5,{homes},{size},{3 + at % 20} lb\n"
        for name, cents in charges.items():
            lines += f"NP-2026-03,2026-04-01,NP44{at:04d},{day},Ground,5,{name},{pounds},{cents / 100:.2f}\n"
    texts = {"records.csv": records, "march.csv": lines}
    if tables:
        texts |= {"rates.csv": small_book.RATES, "fuel.csv": "Effective date,Percent\n2026-01-05,15.5\n"}
        texts |= {"fees.csv": "Charge,Amount\nadditional handling,29.50\nresidential,5.00\n"}
    return auditor.reconcile([small_book.file(folder, name, text) for name, text in texts.items()])


@pytest.mark.sample(2)
@pytest.mark.parametrize("tables", [True, False], ids=["with tables", "without"])
@pytest.mark.parametrize(
    ("fuel_on", "words", "labels", "cents"),
    [
        (("Freight",), "fuel is taken of freight alone, where the rules say of freight, additional", 24, -4896),
        (
            ("Freight", "Additional handling"),
            "fuel is taken of freight and additional handling, where the rules say of freight, additional",
            16,
            -1240,
        ),
    ],
)
def test_fuel_on_fewer_charges_throughout_is_told_once(
    tmp_path: Path, fuel_on: tuple[str, ...], words: str, labels: int, cents: int, *, tables: bool
) -> None:
    """With its count and dollars, as a question; no parcel has a finding."""
    [found] = month(tmp_path, fuel_on=fuel_on, tables=tables).findings.to_dict("records")
    assert words in found["explanation"]
    assert f"The {labels} labels on this statement" in found["explanation"]
    assert (found["difference_cents"], found["disputable_cents"], found["dispute"]) == (cents, 0, "none")
    assert found["dispute_reason"].startswith("a question first")


@pytest.mark.sample(3)
@pytest.mark.parametrize("tables", [True, False], ids=["with tables", "without"])
@pytest.mark.parametrize("fuel_on", [("Freight",), ("Freight", "Contract price reduction")], ids=["gross", "net"])
@pytest.mark.parametrize("off", ["20", "12.5"])
def test_a_percentage_off_each_label_is_told_once(
    tmp_path: Path, off: str, fuel_on: tuple[str, ...], *, tables: bool
) -> None:
    """A negative line on every label is a part of its price; fuel may be on what is left."""
    audit = month(tmp_path, fuel_on=(*fuel_on, "Additional handling", "Residential"), off=off, tables=tables)
    assert audit.findings.empty
    [told] = [one.message for one in audit.problems if "Contract price reduction" in one.message]
    assert told.startswith(f"'Contract price reduction' takes {off} % off the freight of 40 labels, $")
    assert audit.billed_cents == audit.expected_cents


def test_money_back_on_a_few_labels_is_no_percentage_off(tmp_path: Path) -> None:
    """Only what nearly every label has is a part of the price."""
    folder = tmp_path / "march"
    month(folder, fuel_on=("Freight", "Additional handling", "Residential"))
    text = (folder / "march.csv").read_text()
    text += "".join(f"NP-2026-03,2026-04-01,NP44{at:04d},,Ground,5,Goodwill,,-2.00\n" for at in range(10))
    (folder / "march.csv").write_text(text)
    assert (auditor.reconcile([folder]).findings["cause"] == "unexplained").sum() == 10
