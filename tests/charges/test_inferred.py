"""A reading that the carrier does not show is inferred from its bill, weighed by what it read before, and marked."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import auditor
from auditor.charges.measured.inferred import CHANGES, beforehand, inferred, kinds
from auditor.core import units
from auditor.tariff import Rulebook, column_of, load, price
from tests.evaluation.disclosed import NAMED, outcomes, write
from tests.evaluation.measured import month
from tests.parcels import inches, parcel, pounds, prices, table

BOOK = Rulebook(load("us-ground-common"))
COLUMNS = ["freight_cents", *map(column_of, BOOK.charges), "fuel_cents"]
NOTHING = pd.DataFrame({"carton": [], "longer": [], "wider": [], "higher": [], "heavier": []})


def guess(
    declared: str, weight: int, read: str, scale: int, seen: pd.DataFrame = NOTHING, *, lump: bool = False
) -> pd.Series:
    """What is inferred of a parcel that was billed by other figures than declared."""
    one = table(parcel(declared, weight)).assign(carton="box")
    bill = price(table(parcel(read, scale)), BOOK, prices())
    billed = bill[COLUMNS].assign(lump_cents=0, billed_weight_pg=bill["billable_pg"])
    if lump:
        before = price(one, BOOK, prices())
        billed = before[COLUMNS].assign(
            lump_cents=int(bill["total_cents"].iloc[0]) - int(before["total_cents"].iloc[0]), billed_weight_pg=np.nan
        )
    found = inferred(one, billed, seen, BOOK, prices())
    return found.iloc[0] if len(found) else pd.Series(dtype=object)


def test_additional_handling_on_a_box_of_46_in_tells_that_it_was_read_over_48() -> None:
    """Nothing else that is as small a change gives that bill."""
    got = guess("46 x 18 x 8", 22, "49 x 18 x 8", 22)
    assert (got["length_nm"], got["weight_pg"]) == (inches(49), pounds(22))
    assert got["probability"] > 0.7


def test_a_lump_sum_tells_it_too() -> None:
    """By its amount alone."""
    got = guess("46 x 18 x 8", 22, "49 x 18 x 8", 22, lump=True)
    assert got["length_nm"] == inches(49)


def test_what_could_be_either_is_decided_by_what_was_read_before_and_the_other_is_named() -> None:
    """A bill of 10 lb for a light, small box: more weight, or bulging sides."""
    heavy = pd.DataFrame({"carton": ["box"] * 6, "longer": 0, "wider": 0, "higher": 0, "heavier": [4, 5, 5, 6, 4, 5]})
    bulged = pd.DataFrame({"carton": ["box"] * 6, "longer": 0, "wider": 1, "higher": [2, 2, 1, 2, 2, 2], "heavier": 0})
    by_weight = guess("12 x 10 x 8", 5, "12 x 10 x 8", 10, heavy)
    by_sides = guess("12 x 10 x 8", 5, "12 x 10 x 8", 10, bulged)
    assert by_weight["weight_pg"] == pounds(10)
    assert "other sides" in by_weight["others"]
    assert by_sides["weight_pg"] == pounds(5)


def test_a_parcel_recorded_without_a_size_says_nothing_of_the_scanner_and_stops_nothing() -> None:
    """A reading beyond a side that nobody recorded is no number of steps."""
    lacking = pd.DataFrame(
        {"carton": ["box"], "longer": pd.array([None], dtype="Int64"), "wider": 0, "higher": 0, "heavier": 1}
    )
    with_it, without = (guess("46 x 18 x 8", 22, "49 x 18 x 8", 22, seen) for seen in (lacking, NOTHING))
    assert with_it["length_nm"] == without["length_nm"]
    assert with_it["probability"] == without["probability"]


def test_a_bill_that_no_small_change_gives_is_left_unexplained() -> None:
    """Nothing is made up."""
    assert guess("12 x 10 x 8", 5, "80 x 40 x 30", 5).empty


def test_every_change_has_a_chance_and_they_add_up() -> None:
    """Each change once; small ones likelier than large ones of the same kind."""
    likely = beforehand(CHANGES, 5)
    assert likely.sum() == pytest.approx(1)
    assert (likely > 0).all()
    assert len(np.unique(CHANGES, axis=0)) == len(CHANGES)
    alone = kinds(CHANGES) == 1
    assert (np.diff(likely[alone][np.argsort(CHANGES[alone][:, 0])]) < 0).all()


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("shown", "least"),
    [("billed weight, and a notice", 0.9), ("billed weight", 0.75), ("surcharges only", 0.75), ("lump sum", 0.75)],
)
def test_the_cause_is_right_in_most_parcels_whose_readings_are_hidden(shown: str, least: float) -> None:
    """Readings drawn by chance; half of them hidden, the other half seen; the truth known."""
    table = outcomes((shown, 5, 400))
    assert len(table[table["planted"]]) > 30
    assert table.loc[table["planted"], "cause_right"].mean() >= least


def test_a_bill_that_the_declared_figures_give_needs_no_other_reading() -> None:
    """Nothing is inferred, though some change would give the same bill."""
    assert guess("12 x 10 x 8", 5, "12 x 10 x 8", 5).empty


def test_a_side_one_step_longer_is_put_down_to_rounding_and_tolerance() -> None:
    """What is within the measuring tolerance is likelier rounding; the longer side stands beside it."""
    got = guess("28 x 12 x 6", 5, "29 x 12 x 6", 5)
    assert got["length_nm"] == inches(29) or "a longer side" not in got["others"]
    assert got["probability"] <= 1


def test_an_inferred_reading_says_so_wherever_it_is_told(tmp_path: Path) -> None:
    """In the sentence and in the readings."""
    write(tmp_path, month(4, 180), NAMED["lump sum, nothing seen"])
    audit = auditor.reconcile([tmp_path])
    told = audit.findings[audit.findings["explanation"].str.contains("shows no reading, but its bill fits")]
    assert len(told)
    assert told["explanation"].str.contains(r"\(inferred, \d+% likely").all()
    assert audit.readings.dropna(subset="inferred")["inferred"].between(0, 1).all()
    assert set(told["finding"]) <= set(audit.readings.dropna(subset="inferred")["finding"])
    assert int(audit.readings["measured_weight_pg"].iloc[0]) > units.PG_PER_POUND // 16


def test_parcels_recorded_without_a_weight_leave_the_readings_of_the_others_to_be_inferred(tmp_path: Path) -> None:
    """What is not known of them is no habit of the carton."""
    write(tmp_path, month(4, 60), NAMED["lump sum"])
    records = pd.read_csv(tmp_path / "shipments.csv", dtype="str")
    records.loc[::3, "Weight"] = None
    records.to_csv(tmp_path / "shipments.csv", index=False)
    assert auditor.reconcile([tmp_path]).readings["inferred"].notna().any()
