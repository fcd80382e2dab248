"""Recorded months repriced with one change: every step worked by hand from the prices of tests/parcels.py.

Ground, zone 5: freight is 9.00 + 0.71 a pound + 1.85 dollars, additional handling 31.50, fuel 15.25 % of both, and a
correction costs 1.25. Sides are rounded up to the inch, the volume is divided by 139.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from auditor.core.schemas import CARTONS, LINES, READINGS, Column, conform, empty
from auditor.habits import what_if
from auditor.habits.what_if import RefusedError, Scene, as_recorded, compared
from auditor.tariff import opened
from tests.cli.test_cli import run
from tests.parcels import FEE_CENTS, inches, pounds, prices
from tests.pasts import known, past, shipments, shipped
from tests.read_once import read_once
from tests.run.test_month import SAMPLE


@pytest.fixture(autouse=True)
def _read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The sample month is read once for all of these."""
    read_once(monkeypatch)


BOOK = opened("us-ground-common")
NO_LINES = empty((*LINES, Column("shipment", "Int64", "row of the shipments")))


def total(pounds_: int, handling: int = 0) -> int:
    """Freight, additional handling and fuel, half up to the cent."""
    carried = 900 + 71 * pounds_ + 37 * 5 + handling
    return carried + int(carried * 0.1525 + 0.5)


def scene(table: pd.DataFrame, **of_carton: object) -> Scene:
    """The recorded months of those shipments, with the excess of cartons by name, '_' for a blank."""
    named = {name.replace("_", " "): of for name, of in of_carton.items()}
    return as_recorded(table, NO_LINES, past(table, named), BOOK, prices())  # type: ignore[arg-type]


def whole(changed: tuple[Scene, Scene]) -> pd.Series:
    """The row over all cartons and months."""
    table = compared(*changed)
    return table[(table["carton"] == "all") & (table["month"] == "all")].iloc[0]


CENTS = [
    "label_before_cents",
    "label_after_cents",
    "back_charge_before_cents",
    "back_charge_after_cents",
    "other_cents",
    "difference_cents",
]


def test_a_cut_under_the_limit_saves_handling_and_its_least_weight() -> None:
    """Two long tubes of 49 x 6 x 6 in are cut to 46 in; the scanner reads half an inch beyond, for sure.

    Before: 49 in is over 48 in, so additional handling and at least 40 lb. A reading of 49.5, rounded to 50 in, changes
    nothing: no back-charge. After: 46 x 6 x 6 / 139 = 11.9, 12 lb. A reading of 46.5 is rounded to 47 in: 12.2, 13 lb,
    which is one pound more, and the correction fee.
    """
    before, after = total(40, FEE_CENTS["additional handling"]), total(12)
    back = total(13) - total(12) + FEE_CENTS["correction fee"]
    assert (before, after, back) == (8154, 2232, 207)
    table = shipments(*[shipped("long tube", "49 x 6 x 6", 5)] * 2, shipped("uke box", "28 x 12 x 6", 5))
    row = whole(what_if.cut(scene(table, long_tube=known(length=0.5)), "Long-Tube", inches(46)))
    assert row["parcels"] == 2
    assert row[CENTS].tolist() == [2 * before, 2 * after, 0, 2 * back, 0, 2 * (after + back - before)]


def test_the_interval_is_that_of_the_difference_over_the_same_draws() -> None:
    """Half of the draws read as declared, half half an inch beyond: the back-charge of a cut tube is 0 or 2.07.

    On average 1.035; the 90 % interval of the difference spans both. What is in both scenes is left out of it.
    """
    table = shipments(shipped("long tube", "49 x 6 x 6", 5))
    draws = known(length=[-0.01] * 10 + [0.5] * 10)
    row = whole(what_if.cut(scene(table, long_tube=draws), "long tube", inches(46)))
    saved = total(12) - total(40, FEE_CENTS["additional handling"])
    assert row["difference_cents"] == round(saved + 103.5)
    assert row[["difference_low_cents", "difference_high_cents"]].tolist() == [saved, saved + 207]


def test_parcels_of_another_length_or_carton_are_left_as_they_are() -> None:
    """One tube is shorter already."""
    table = shipments(shipped("long tube", "49 x 6 x 6", 5), shipped("long tube", "45 x 6 x 6", 5))
    before, after = what_if.cut(scene(table), "long tube", inches(46))
    assert before.parcels["length_nm"].tolist() == [inches(49)]
    assert after.parcels["length_nm"].tolist() == [inches(46)]


def test_rows_add_up_by_carton_and_month() -> None:
    """Two months and two cartons, as if all were shipped on one day."""
    table = shipments(
        shipped("long tube", "49 x 6 x 6", 5, "2026-02-03"),
        shipped("long tube", "49 x 6 x 6", 5, "2026-03-03"),
        shipped("uke box", "28 x 12 x 6", 5, "2026-03-03"),
    )
    recorded = scene(table)
    found = compared(*what_if.priced_otherwise(recorded, BOOK, prices(fuel_ppm=0), None))
    fuel_off = found.set_index(["carton", "month"])["difference_cents"]
    assert fuel_off["all", "all"] == fuel_off["all", "2026-02"] + fuel_off["all", "2026-03"]
    assert fuel_off["all", "2026-03"] == fuel_off["long tube", "2026-03"] + fuel_off["uke box", "2026-03"]
    assert fuel_off["uke box", "all"] == -(total(15) - 900 - 71 * 15 - 185), "28 x 12 x 6 / 139 = 14.5, 15 lb"


def test_a_day_under_other_rules_is_priced_by_them() -> None:
    """48.4 x 6 x 6 in: up to 49 in in 2026, to the nearest, 48 in, in March 2025: 1,728 / 139 = 12.4, 13 lb."""
    table = shipments(shipped("long tube", "48.4 x 5.9 x 5.9", 5))
    row = whole(what_if.priced_otherwise(scene(table), BOOK, prices(), pd.Timestamp("2025-03-04")))
    assert row["label_before_cents"] == total(40, FEE_CENTS["additional handling"])
    assert row["label_after_cents"] == total(13)


def test_a_default_weight_that_covers_the_true_one_ends_the_back_charges() -> None:
    """8 x 6 x 5 in, typed 5 lb, truly 6.5 lb: back-charged to 7 lb and 1.25; typed 7 lb, that is paid at once.

    What is saved is the correction fee alone.
    """
    table = shipments(shipped("horn box", "8 x 6 x 5", 5), shipped("horn box", "8 x 6 x 5", 9))
    changed = what_if.default_weight(scene(table, horn_box=known(weight=1.5)), "horn box", pounds(7), measured())
    back = total(7) - total(5) + FEE_CENTS["correction fee"]
    row = whole(changed)
    assert row["parcels"] == 1, "the one typed 9 lb is not at the default"
    assert row[CENTS].tolist() == [total(5), total(7), back, 0, 0, -FEE_CENTS["correction fee"]]


def measured(*weights: str) -> pd.Series:
    """Measured weights of the first parcels."""
    return pd.Series([pounds(weight) for weight in weights], dtype="Int64")


@pytest.mark.parametrize(
    ("weight", "weights", "words"),
    [
        (
            "4",
            ("4.5", "3"),
            "A default of 4 lb for 'horn box' is refused: 1 of 2 measured parcels weighed more, the heaviest 4.5 lb.",
        ),
        (
            "4",
            (),
            "is refused: none of these parcels was weighed, so nothing shows that they are lighter. Weigh some",
        ),
        ("5", (), "5 lb is what is declared for 'horn box' now, so nothing changes."),
    ],
)
def test_a_weight_below_what_was_measured_is_refused(weight: str, weights: tuple[str, ...], words: str) -> None:
    """The tool never helps to declare less."""
    table = shipments(*[shipped("horn box", "8 x 6 x 5", 5)] * 2)
    with pytest.raises(RefusedError, match=re.escape(words)):
        what_if.default_weight(scene(table), "horn box", pounds(weight), measured(*weights))


def test_a_lower_default_that_covers_all_that_was_measured_is_reckoned() -> None:
    """5 lb typed, 3.2 and 3.5 lb measured: at 4 lb a pound less is paid for each."""
    table = shipments(*[shipped("horn box", "8 x 6 x 5", 5)] * 2)
    of = known(weight=-1.6)
    row = whole(what_if.default_weight(scene(table, horn_box=of), "horn box", pounds(4), measured("3.2", "3.5")))
    assert row["difference_cents"] == 2 * (total(4) - total(5))


def test_measured_weights_are_those_of_packing_and_of_the_carriers_scale() -> None:
    """The greater of the two; a reading that is as declared, or only inferred, is none."""
    table = shipments(shipped("a", "8 x 6 x 5", 5, packed_weight_pg=pounds("4.5")), *[shipped("a", "8 x 6 x 5", 5)] * 3)
    read = [
        {
            "shipment_tracking": f"NP{at}",
            "declared_weight_pg": pounds(5),
            "measured_weight_pg": pounds(weight),
            "inferred": of,
        }
        for at, weight, of in ((0, 6, None), (1, 5, None), (2, 7, 0.8))
    ]
    found = what_if.measured_weights(table, conform(pd.DataFrame(read), READINGS))
    assert found.fillna(0).tolist() == [pounds(6), 0, 0, 0]


def cartons(**more: object) -> pd.DataFrame:
    """A list of two cartons with prices and empty weights."""
    rows = [
        {"carton": "long tube", "unit_cost_cents": 385, "empty_weight_pg": pounds("1.5"), **sides("49", "6", "6")},
        {"carton": "short box", "unit_cost_cents": 640, "empty_weight_pg": pounds("2.5"), **sides("40", "8", "8")}
        | more,
    ]
    return conform(pd.DataFrame(rows), CARTONS)


def sides(length: str, width: str, height: str) -> dict[str, Any]:
    """Three sides in inches."""
    return {"length_nm": inches(length), "width_nm": inches(width), "height_nm": inches(height)}


def test_another_carton_changes_size_weight_and_cost() -> None:
    """49 x 6 x 6 in at 5 lb in a box of 40 x 8 x 8 in, a pound heavier and 2.55 dearer: 2,560 / 139 = 18.4, 19 lb."""
    table = shipments(shipped("long tube", "49 x 6 x 6", 5), shipped("short box", "40 x 8 x 8", 6))
    changed = what_if.other_carton(scene(table), "long tube", "short box", cartons(), table)
    assert changed[1].parcels["weight_pg"].tolist() == [pounds(6)]
    before, after = total(40, FEE_CENTS["additional handling"]), total(19)
    assert whole(changed)[CENTS].tolist() == [before, after, 0, 0, 255, after + 255 - before]
    assert "they have to fit" in changed[1].assumed[0]


def test_a_carton_without_its_weight_or_price_is_reckoned_and_what_is_missing_is_said() -> None:
    """Declared weights stay, and the cost is not counted."""
    table = shipments(shipped("long tube", "49 x 6 x 6", 5))
    listed = cartons(unit_cost_cents=None, empty_weight_pg=None)
    _, after = what_if.other_carton(scene(table), "long tube", "short box", listed, table)
    assert after.parcels["weight_pg"].tolist() == [pounds(5)]
    assert "Empty weights are not in your list of cartons, so declared weights stay as they are." in after.assumed
    assert "Prices of the cartons are not in your list, so they are not counted." in after.assumed


def test_a_list_that_makes_a_carton_smaller_than_it_was_measured_is_refused() -> None:
    """The list says 40 in, at packing it was mostly 41 in."""
    packed = {f"packed_{side}": value for side, value in sides("41", "8", "8").items()}
    table = shipments(shipped("long tube", "49 x 6 x 6", 5), shipped("short box", "40 x 8 x 8", 6, **packed))
    with pytest.raises(RefusedError, match="gives 'short box' 40 in, but at packing it was mostly measured 41 in"):
        what_if.other_carton(scene(table), "long tube", "short box", cartons(), table)


def test_cutting_to_more_than_it_is_and_unknown_cartons_are_refused() -> None:
    """In a sentence, with the nearest name."""
    table = shipments(shipped("long tube", "49 x 6 x 6", 5))
    with pytest.raises(RefusedError, match="takes nothing off: its parcels are declared 49 in"):
        what_if.cut(scene(table), "long tube", inches(50))
    with pytest.raises(RefusedError, match=re.escape("No carton is called 'lung tubes'. Did you mean 'long tube'?")):
        what_if.cut(scene(table), "lung tubes", inches(40))
    with pytest.raises(RefusedError, match="No carton is called 'crate'"):
        what_if.other_carton(scene(table), "long tube", "crate", cartons(), table)


def test_nothing_recorded_is_refused_with_what_is_needed() -> None:
    """A day before the first rules: nothing to reprice."""
    with pytest.raises(RefusedError, match="No recorded parcel has a service, a ship date, a size and a weight"):
        scene(shipments(shipped("long tube", "49 x 6 x 6", 5, "2019-01-01")))


def test_parcels_without_a_price_on_either_side_are_counted_and_left_out() -> None:
    """120 in is not accepted; cut to 46 in it would be, but what it cost before is not known."""
    table = shipments(shipped("long tube", "120 x 6 x 6", 5), shipped("long tube", "49 x 6 x 6", 5))
    row = whole(what_if.cut(scene(table), "long tube", inches(46)))
    assert row[["parcels", "unpriced"]].tolist() == [1, 1]


def test_the_command_answers_with_an_interval_and_says_what_it_assumed() -> None:
    """On the sample month."""
    result = run("whatif", SAMPLE, "--cut", "guitar box", "46 1/2 in")
    assert result.exit_code == 0
    assert re.match(r"Over 1 month and 31 parcels this would have saved \$\d+\.\d\d \(range ", result.stdout)
    assert "The 31 parcels of 'guitar box' declared longer are taken to be really cut to 46.5 in" in result.stdout
    assert "Cut only where what you pack leaves half an inch of air (common practice, no source)" in result.stdout
    assert "It says nothing of how many parcels of what kind later months will have." in result.stdout


def test_the_command_shows_what_payments_leave_and_flat_charges() -> None:
    """With the zones that lose money."""
    result = run("whatif", SAMPLE, "--flat-charge", "30", "--cover", "80")
    assert result.exit_code == 0
    assert "Every zone loses money: $477.08 in zone 6, $255.43 in zone 5, " in result.stdout
    assert "A flat charge of $30.00 would have lost $719.82 over 174 parcels" in result.stdout
    assert "covered 80% of them" in result.stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "Ask for one change at a time: --cut, --weight, --swap, --flat (or --flat-charge), or any of"),
        (("--cut", "guitar box", "46in", "--flat"), "Ask for one change at a time"),
        (("--cut", "guitar box", "46"), "'46' has a number without a unit; write it such as 47 1/2 in or 121 cm."),
        (("--cut", "guitar box", "0 in"), "'0 in' is zero."),
        (("--weight", "pedal box", "five"), "'five' is not a weight, such as 3 lb 4 oz or 1.5 kg."),
        (
            ("--weight", "pedal box", "2 lb"),
            "the heaviest 2.88 lb. Nothing is reckoned that declares less than was measured. The least",
        ),
        (("--cut", "gitar box", "46in"), "Did you mean 'guitar box'?"),
        (("--other-rules", "lunar"), "There are no rules named lunar."),
        (("--other-prices", SAMPLE / "shipments.csv"), "No rates, fees or fuel percentages were found in"),
        (("--flat-charge", "lots"), "'lots' is not an amount of money"),
    ],
)
def test_wrong_use_of_the_command_exits_with_2(arguments: tuple[str | Path, ...], words: str) -> None:
    """In a sentence that says what to do."""
    result = run("whatif", SAMPLE, *arguments)
    assert result.exit_code == 2
    assert words in " ".join(result.output.split())
