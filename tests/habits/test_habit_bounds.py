"""Between which figures a reading lies, and which parcels count."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from auditor.core.schemas import LINES, READINGS, SHIPMENTS, conform
from auditor.habits.readings.bounds import Parcels, bounded
from auditor.tariff import opened
from tests.habit_months import Kind, Shop, shop, usual
from tests.parcels import inches, parcel, pounds, prices

BOOK = opened("us-ground-common")


def of_one(
    sides: str,
    weight: str,
    *,
    read: dict[str, int] | None = None,
    rounded: bool = True,
    lines: list[dict[str, object]] | None = None,
    shipment: dict[str, object] | None = None,
) -> Parcels:
    """One parcel billed on 1 April, its reading, and further lines."""
    row = parcel(sides, weight) | {"tracking": "NP1"} | (shipment or {})
    figures = ("length_nm", "width_nm", "height_nm", "weight_pg")
    reading = {f"declared_{figure}": row[figure] for figure in figures} | {
        f"measured_{figure}": row[figure] for figure in figures
    }
    reading |= {"shipment_tracking": "NP1", "measured_rounded": rounded} | (read or {})
    label = {"shipment": 0, "state": "label charge", "statement_on": pd.Timestamp("2026-04-01")}
    billed = pd.DataFrame([label, *(lines or [])])
    table = conform(billed, LINES).assign(shipment=billed["shipment"].astype("Int64"))
    readings = conform(pd.DataFrame([reading]), READINGS)
    return bounded(conform(pd.DataFrame([row]), SHIPMENTS), table, readings, BOOK, prices())


def ends(found: Parcels, figure: str) -> tuple[float, float]:
    """Low and high of the one parcel, in inches or pounds."""
    unit = inches(1) if figure.endswith("nm") else pounds(1)
    low, high = (float(found.table[f"{end}_{figure}"].iloc[0]) / unit for end in ("low", "high"))
    return low, high


CORRECTION = {"shipment": 0, "state": "adjustment", "statement_on": pd.Timestamp("2026-04-01"), "billed_length_nm": 1}


@pytest.mark.parametrize(
    ("sides", "weight", "figure", "high"),
    [
        ("48 x 20 x 8", "14", "length_nm", 48),  # over 48 in the handling charge is due
        ("47.5 x 20 x 8", "14", "length_nm", 48),
        (
            "12 x 10 x 8",
            "9",
            "length_nm",
            15,
        ),  # 15 x 10 x 8 weighs 8.6 lb by size, 16 x 10 x 8 9.2 lb: over the 9 lb typed
        ("12 x 10 x 8", "9", "weight_pg", 9),
        ("12 x 10 x 8", "2.5", "weight_pg", 7),  # by its size it is billed 7 lb anyway
        ("44 x 6 x 6", "5", "length_nm", 46),  # 12 lb by size up to 46 in
    ],
)
def test_no_correction_says_that_the_reading_stayed_below_the_next_costly_figure(
    sides: str, weight: str, figure: str, high: float
) -> None:
    """Worked by hand: sides rounded up to inches, volume by 139, weights rounded up to pounds."""
    assert ends(of_one(sides, weight), figure) == (-np.inf, high)


def test_a_billed_side_stands_for_every_reading_that_rounds_to_it() -> None:
    """And the sides that were not changed lie in the declared one's step."""
    found = of_one("46 x 18 x 8", "22", read={"measured_length_nm": inches(49)}, lines=[CORRECTION])
    assert ends(found, "length_nm") == (48, 49)
    assert ends(found, "width_nm") == (17, 18)
    assert found.table["reading_shown"].tolist() == [True]


def test_a_notice_gives_the_reading_itself() -> None:
    """Unrounded; the weight likewise."""
    read = {"measured_length_nm": inches("48.6"), "measured_weight_pg": pounds("23.4")}
    found = of_one("46 x 18 x 8", "22", read=read, rounded=False, lines=[CORRECTION])
    assert ends(found, "length_nm") == pytest.approx((48.6, 48.6))
    assert ends(found, "weight_pg") == pytest.approx((23.4, 23.4))


def test_a_weight_that_decides_the_bill_is_known_to_the_pound() -> None:
    """As read, or as typed where the correction shows that same weight; not where the sides decide."""
    heavier = {**CORRECTION, "billed_weight_pg": pounds(11)}
    found = of_one("12 x 10 x 8", "9", read={"measured_weight_pg": pounds(11)}, lines=[heavier])
    assert ends(found, "weight_pg") == (10, 11)
    longer = {**CORRECTION, "billed_weight_pg": pounds(9)}
    found = of_one("12 x 10 x 8", "9", read={"measured_length_nm": inches(13)}, lines=[longer])
    assert ends(found, "weight_pg") == (8, 9)
    larger = {**CORRECTION, "billed_weight_pg": pounds(16)}
    found = of_one("12 x 10 x 8", "9", read={"measured_height_nm": inches(18)}, lines=[larger])
    assert ends(found, "weight_pg") == (-np.inf, 16)


@pytest.mark.parametrize(
    ("shipment", "reason"),
    [
        ({"voided": True}, "cancelled before use"),
        ({"shipped_on": pd.NaT}, "without a ship date"),
        ({"shipped_on": pd.Timestamp("2026-04-09")}, "is the date right?"),
        ({"shipped_on": pd.Timestamp("2062-03-04")}, "is the date right?"),
        ({"height_nm": pd.NA}, "without a side or the weight"),
        ({"zone": "44"}, "without rules or prices for their day, service and zone"),
    ],
)
def test_parcels_that_say_nothing_are_left_out_and_told_of(shipment: dict[str, object], reason: str) -> None:
    """Each with the reason."""
    found = of_one("12 x 10 x 8", "9", shipment=shipment)
    assert found.table.empty
    [(said, count)] = found.left_out.items()
    assert reason in said
    assert count == 1


def late(made: Shop) -> Parcels:
    """Bounds of a shop's month."""
    return bounded(made.shipments, made.lines, made.readings, made.book, made.prices)


def test_a_month_without_its_corrections_is_no_evidence() -> None:
    """Corrections come 31 days after the labels: parcels billed since count only when theirs can have come."""
    kind = Kind("guitar box", (48, 20, 8), 13.5, 40, usual((0.4, 0.3)))
    made = shop([kind], 3, corrected_on="2026-05-31")
    new = made.shipments.assign(tracking=made.shipments["tracking"] + "-new", shipped_on=pd.Timestamp("2026-05-20"))
    label = made.lines[made.lines["state"] == "label charge"]
    more = label.assign(shipment=label["shipment"] + len(new), statement_on=pd.Timestamp("2026-05-31"))
    whole = Shop(
        pd.concat([made.shipments, new], ignore_index=True),
        made.cartons,
        pd.concat([made.lines, more], ignore_index=True),
        made.readings,
        made.findings,
        made.book,
        made.prices,
    )
    found = late(whole)
    assert found.delay_days == 31
    assert len(found.table) == 40
    assert found.left_out == {"billed in the last 31 days, so that a correction may still come": 40}


def test_labels_paid_elsewhere_count_from_the_next_statement_on() -> None:
    """Where statements hold corrections only, a parcel without one was still shipped and not corrected."""
    made = shop([Kind("guitar box", (48, 20, 8), 13.5, 40, usual((0.0, 0.3)))], 4)
    corrections = made.lines[made.lines["state"] != "label charge"]
    found = bounded(made.shipments, corrections, made.readings, made.book, made.prices)
    assert 0 < found.table["reading_shown"].sum() < len(found.table)
    assert len(found.table) == 40


def test_every_reading_lies_between_its_bounds() -> None:
    """Of a month of the sort, the longest side: exactly, as no other figure moves the charge."""
    kind = Kind("guitar box", (47.5, 20, 8), 13.5, 300, usual((0.4, 0.4)))
    made = shop([kind], 8)
    table = late(made).table
    excess = np.random.default_rng(8)
    excess.integers(0, 28, 300)
    excess.integers(2, 9, 300)
    read = table["length_nm"].astype("float64") + excess.normal(0.4, 0.4, 300) * inches(1)
    assert ((table["low_length_nm"] < read) & (read <= table["high_length_nm"])).all()
