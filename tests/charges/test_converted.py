"""Figures printed in another system of units are known to half a last digit: what was meant by them is what counts."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

import auditor
from auditor.charges.measured.converted import as_meant
from auditor.core.sides import SIDES
from auditor.core.units import NM_PER_INCH, PG_PER_POUND
from auditor.tariff import opened
from tests import small_book

CM, KG = 10**7, 10**15


def meant(side_nm: int, weight_pg: int, declared_in: float = 24.0, rules: str = "us-ground-common") -> tuple[int, int]:
    """What a printed longest side and billed weight are taken for, of a parcel so long and of 26.3 lb."""
    lines = pd.DataFrame({"shipment": [0], "service": ["Ground"], "shipped_on": pd.to_datetime(["2026-03-05"])})
    lines["statement"] = "NP-2026-03"
    shipments = lines.assign(weight_pg=int(26.3 * PG_PER_POUND))
    for side in SIDES:
        shipments[side] = pd.array([int(declared_in * NM_PER_INCH)], dtype="Int64")
        lines[f"billed_{side}"] = side_nm
    lines = lines.assign(billed_weight_pg=weight_pg, measured_weight_pg=pd.array([None], dtype="Int64"))
    found = as_meant(lines, shipments, opened(rules)).iloc[0]
    return int(found["billed_length_nm"]), int(found["billed_weight_pg"])


@pytest.mark.parametrize(
    ("side", "declared", "inches"),
    [
        (61 * CM, 24.0, 24.0),  # 24 in are 60.96 cm, printed as 61.0
        (61 * CM, 20.0, 24.0),  # a whole step that was not declared
        (1207 * CM // 10, 47.5, 47.5),  # 47.5 in are 120.65 cm, printed as 120.7; no whole step is as near
        (611 * CM // 10, 24.0, None),  # 24.06 in are none of them
        (int(24.02 * NM_PER_INCH), 24.0, 24.02),  # printed in inches: never converted
    ],
)
def test_a_side_in_centimetres_is_what_it_was_in_inches(side: int, declared: float, inches: float | None) -> None:
    """The declared figure, or the whole inch; one that was printed in inches is what it says."""
    expected = side if inches is None else int(inches * NM_PER_INCH)
    assert meant(side, PG_PER_POUND, declared)[0] == expected


def test_a_weight_in_kilograms_is_what_it_was_in_pounds() -> None:
    """27 lb are 12.247 kg, printed as 12.25, which is 27.007 lb and no 28."""
    assert meant(CM, 1225 * KG // 100)[1] == 27 * PG_PER_POUND
    assert meant(CM, 1229 * KG // 100)[1] == 1229 * KG // 100


def test_readings_that_were_never_rounded_are_no_whole_inches() -> None:
    """111.8 cm beside 114.6 cm may be a little over 44 in, and is then billed as 45."""
    lines = pd.DataFrame(
        {
            "shipment": [0, 1],
            "service": "Ground",
            "shipped_on": pd.to_datetime(["2026-03-05"] * 2),
            "statement": "NP-2026-03",
            "billed_weight_pg": pd.array([None] * 2, dtype="Int64"),
            "measured_weight_pg": pd.array([None] * 2, dtype="Int64"),
        }
    )
    shipments = lines.assign(weight_pg=PG_PER_POUND, **dict.fromkeys(SIDES, 40 * NM_PER_INCH))
    for side in SIDES:
        lines[f"billed_{side}"] = pd.array([1118 * CM // 10, 1146 * CM // 10], dtype="Int64")
    found = as_meant(lines, shipments, opened("us-ground-common"))
    assert found["billed_length_nm"].tolist() == [1118 * CM // 10, 1146 * CM // 10]


def test_a_right_statement_in_metric_units_is_right(tmp_path: Path) -> None:
    """28 × 12 × 6 in as 71.1 × 30.5 × 15.2 cm and 15 lb as 6.80 kg: nothing is over what is expected."""
    folder = small_book.march(tmp_path / "march")
    head = (
        "Statement,Statement date,Tracking number,Ship date,Service,Zone,Charge,Billed weight (kg),L (cm),W (cm),H (cm)"
    )
    line = "NP-2026-03,2026-04-01,NP2,2026-03-05,Ground,5,Freight,6.80,71.1,30.5,15.2,16.50"
    small_book.file(folder, "march.csv", f"{head},Amount\n{line}\n")
    assert auditor.reconcile([folder]).findings.empty
