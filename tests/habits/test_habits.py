"""The whole study, and the command that prints it."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner

from auditor.cli.commands.cartons import command
from auditor.core import schemas
from auditor.core.schemas import LINES, READINGS, conform, joined, names
from auditor.core.units import NM_PER_INCH
from auditor.habits import Aims, Habits, Recorded, study
from auditor.habits.fit_shown import readings_table
from auditor.tariff import Prices
from tests.habit_months import Kind, Shop, shop, usual
from tests.parcels import inches
from tests.read_once import read_once


@pytest.fixture(autouse=True)
def _read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The sample month is read once for all of these."""
    read_once(monkeypatch)


GUITAR = usual((0.3, 0.3))
KINDS = (
    Kind("guitar box", (48, 20, 8), 13.5, 80, GUITAR, since="2026-01-05", days=80),
    Kind("stand tube", (44, 6, 6), 4.8, 60, usual((-0.6, 0.2)), since="2026-01-05", days=80),
    Kind("pedal box", (12, 10, 8), 9.0, 60, usual((-0.6, 0.2), weight=(0.4, 1.0)), since="2026-01-05", days=80),
    Kind("keyboard box", (52, 18, 8), 21.5, 24, usual((-0.6, 0.2)), since="2026-01-05", days=40),
    Kind("keyboard box", (46, 18, 8), 21.5, 24, usual((-0.6, 0.2)), since="2026-02-16", days=38),
)


def studied(made: Shop) -> Habits:
    """The study of a shop."""
    return study(recorded(made))


def recorded(made: Shop) -> Recorded:
    """What a study of a shop is given."""
    tables = (made.shipments, made.cartons, made.lines, made.readings, made.findings)
    return Recorded(*tables, made.book, made.prices)


@cache
def habits() -> Habits:
    """Of three months."""
    return studied(shop(KINDS, 11))


def of_carton(table: pd.DataFrame, carton: str) -> pd.DataFrame:
    """The rows of one carton."""
    return table[table["carton"] == carton]


@pytest.mark.parametrize(
    ("table", "schema"),
    [
        ("cartons", schemas.HABIT_CARTONS),
        ("by_month", schemas.HABIT_MONTHS),
        ("excess", schemas.HABIT_EXCESS),
        ("readings", schemas.HABIT_READINGS),
        ("cuts", schemas.HABIT_CUTS),
        ("weights", schemas.HABIT_WEIGHTS),
        ("weights_seen", schemas.HABIT_WEIGHTS_SEEN),
        ("changes", schemas.HABIT_CHANGES),
        ("advice", schemas.HABIT_ADVICE),
    ],
)
def test_every_table_has_its_schema(table: str, schema: schemas.Schema) -> None:
    """And something in it."""
    found = getattr(habits(), table)
    assert list(found.columns) == names(schema)
    assert {column.name: str(found[column.name].dtype) for column in schema} == {
        column.name: column.dtype for column in schema
    }
    assert len(found)


def test_the_dearest_carton_comes_first_with_what_it_was_back_charged() -> None:
    """Dollars a month by cause add up to the findings over the months."""
    whole, made = habits(), shop(KINDS, 11)
    first = whole.cartons.iloc[0]
    assert first["carton"] == "guitar box"
    cents = made.findings.loc[made.findings["carton"] == "guitar box", "box_length_cents"].sum()
    assert first["box_length_cents"] == round(cents / whole.months)
    assert first["back_charged"] == (made.findings["carton"] == "guitar box").sum()
    assert whole.by_month["box_length_cents"].sum() == made.findings["box_length_cents"].sum()


def test_the_fit_expects_about_what_was_back_charged() -> None:
    """The guitar box's back-charges lie within the interval of those expected of it."""
    first = habits().cartons.iloc[0]
    seen = first[["box_length_cents", "box_girth_cents", "declared_weight_cents", "rounding_cents"]].sum()
    assert first["expected_cents_low"] < seen < first["expected_cents_high"]


def test_the_excess_is_recovered() -> None:
    """0.3 in on the guitar box."""
    row = habits().excess.query("carton == 'guitar box' and figure == 'length_nm'").iloc[0]
    assert row["mean_low"] < 0.3 * inches(1) < row["mean_high"]
    assert row["basis"] == "own history"


def test_the_fit_stands_beside_the_data() -> None:
    """Readings rounded to 49 in: as many as the fit expects, give or take."""
    rows = of_carton(habits().readings, "guitar box")
    row = rows[(rows["figure"] == "length_nm") & (rows["low"] == 0) & (rows["high"] == inches(1))].iloc[0]
    assert row["kind"] == "rounded"
    assert row["fitted_low"] - 8 < row["parcels"] < row["fitted_high"] + 8
    below = rows[(rows["figure"] == "length_nm") & (rows["kind"] == "stayed below")]
    assert below["low"].isna().all()


def test_one_sentence_says_how_to_cut_the_carton_that_crosses_a_limit() -> None:
    """And one whose length is never read into a dearer step is not cut."""
    said = habits().advice.set_index(["carton", "about"])["sentence"]
    assert said["guitar box", "length_nm"].startswith(
        "cut to 46¾ in, if what you pack leaves half an inch of air: about $"
    )
    assert said["stand tube", "length_nm"].startswith("no need to cut: at 44 in")


def test_the_fee_for_a_correction_is_no_part_of_a_label_and_may_be_unknown() -> None:
    """Every parcel was corrected and no fee is known: each still has its price, and what is left out is told."""
    made = shop([Kind("pedal box", (12, 10, 8), 9.0, 20, usual((-0.6, 0.2), weight=(1.5, 0.1)))], 3)
    fees = made.prices.fees
    without, free = (
        studied(replace(made, prices=Prices(made.prices.rates, kept, made.prices.fuel)))
        for kept in (
            fees[fees["charge"] != "correction fee"],
            fees.assign(amount_cents=fees["amount_cents"].mask(fees["charge"] == "correction fee", 0)),
        )
    )
    assert made.readings["measured_weight_pg"].gt(made.readings["declared_weight_pg"]).all()
    for table in ("cuts", "weights"):
        pd.testing.assert_frame_equal(getattr(without, table), getattr(free, table))
    left_out = ", without the fee for a correction, which is not known"
    said, said_free = (
        one.advice.loc[one.advice["about"] == "weight_pg", "sentence"].iloc[0] for one in (without, free)
    )
    assert said == said_free + left_out
    assert without.cuts["parcel_cents"].notna().all()
    told = "No fee for a correction is known, from your fees table or from the statements, so none is counted in what "
    told += "back-charges are expected to cost. If your carrier takes one, put it into your fees table."
    assert told in without.notes
    assert told not in free.notes


def test_a_default_weight_too_low_is_told() -> None:
    """9 lb typed, 9.4 lb read on average."""
    said = habits().advice.set_index(["carton", "about"])["sentence"]
    assert said["pedal box", "weight_pg"].startswith("where you do not weigh, type 1")
    seen = of_carton(habits().weights_seen, "pedal box")
    assert seen.loc[seen["kind"] == "typed", "parcels"].tolist() == [60]
    assert seen.loc[seen["kind"] == "measured", "parcels"].sum() > 0


def test_a_new_cut_is_found_across_the_cut_and_the_uncut_carton() -> None:
    """They are two rows of the table, and one carton that changed."""
    assert {"keyboard box, cut", "keyboard box, uncut"} <= set(habits().cartons["carton"])
    [found] = habits().changes.to_dict("records")
    assert (found["carton"], found["figure"]) == ("keyboard box", "length_nm")
    assert (found["before"], found["after"]) == (inches(52), inches(46))


def test_history_gives_the_excess_of_a_carton_however_it_is_spelled() -> None:
    """And the shop's own for one it does not know; of both ways of a carton the one most used."""
    past = habits().history
    own = past.excess_of("Guitar-Box")["length_nm"]
    assert own.basis == "own history"
    assert past.excess_of("hat box")["length_nm"].basis == "shop's history"
    assert past.excess_of(None)["length_nm"].basis == "shop's history"
    assert past.excess_of("keyboard box")["length_nm"].parcels > 0


def test_three_parcels_say_what_is_needed() -> None:
    """Nothing is advised of them."""
    found = studied(shop([Kind("guitar box", (48, 20, 8), 13.5, 3, GUITAR)], 1))
    assert found.advice.empty
    assert "Too few parcels to advise anything: guitar box (3). Needed: 10 a carton at least." in found.gaps


def test_one_month_says_what_is_needed() -> None:
    """No trend from one month."""
    found = studied(shop([Kind("guitar box", (48, 20, 8), 13.5, 40, GUITAR)], 2))
    assert any(gap.startswith("There is one month only, so no trend") for gap in found.gaps)
    assert found.cartons["trend"].tolist() == [""]


def test_no_readings_at_all_leave_an_upper_bound() -> None:
    """And it is said so."""
    found = studied(shop([Kind("guitar box", (48, 20, 8), 13.5, 40, usual((-0.9, 0.1)))], 2))
    assert any(gap.startswith("The carrier showed no reading of its own") for gap in found.gaps)
    assert found.cartons["excess_nm_high"].iloc[0] < 0


def test_nothing_at_all_says_what_is_needed() -> None:
    """No parcel counts: records without statements."""
    made = shop([Kind("guitar box", (48, 20, 8), 13.5, 5, GUITAR)], 2)
    none = joined([], LINES).assign(shipment=pd.Series([], dtype="Int64"))
    empty = Shop(
        made.shipments,
        made.cartons,
        none,
        conform(pd.DataFrame(index=[]), READINGS),
        made.findings.head(0),
        made.book,
        made.prices,
    )
    found = studied(empty)
    assert found.cartons["parcels"].sum() == 0
    assert any(gap.startswith("Nothing can be said yet: no parcel counts. Needed: ") for gap in found.gaps)
    assert found.history.excess_of("guitar box")["length_nm"].basis == "device tolerance"


def test_parcels_sent_uncut_are_told_and_counted() -> None:
    """Five inches longer than declared, every tenth or so; of a carton read as declared nothing is said."""
    cut = Kind("keyboard box", (46, 18, 8), 13.5, 40, usual((0.2, 0.3)), uncut=(0.1, 5.0))
    found = studied(shop([cut, Kind("guitar box", (48, 20, 8), 13.5, 40, GUITAR)], 5))
    (told,) = found.advice.loc[found.advice["about"] == "slips", "sentence"]
    assert found.advice.loc[found.advice["carton"] == "keyboard box", "about"].iloc[0] == "slips"
    slips = re.search(r"^(\d+) of 40 were read far longer than declared, by 2 in or more beyond all others", told)
    assert slips is not None
    assert 2 <= int(slips[1]) <= 8
    assert re.search(r"for \$\d+\.\d\d in back-charges: measure each before its label is made", told)
    seen = found.readings[(found.readings["carton"] == "keyboard box") & (found.readings["figure"] == "length_nm")]
    assert seen.loc[seen["kind"] == "slip", "parcels"].sum() == int(slips[1])
    assert seen.loc[seen["kind"] == "slip", "fitted"].isna().all()
    spread = found.history.excess_of("keyboard box")["length_nm"].spread / NM_PER_INCH
    assert spread.mean() < 0.6  # as parcels sent as declared scatter, by 0.3 in


def test_a_figure_of_which_nothing_but_slips_was_read_has_no_fit_and_is_shown() -> None:
    """The readings stand in the table, and nothing was expected of them."""
    past = studied(shop([Kind("keyboard box", (46, 18, 8), 13.5, 12, usual((0.2, 0.3)))], 5)).history
    fits = {figure: fit for figure, fit in past.fits.items() if figure != "length_nm"}
    alone = replace(past, slipped=pd.Series(data=True, index=past.slipped.index), fits=fits)
    shown = readings_table(alone)
    lengths = shown[shown["figure"] == "length_nm"]
    assert set(lengths["kind"]) == {"slip"}
    assert lengths["fitted"].isna().all()


def test_a_rising_share_is_told() -> None:
    """Two of 40 in the first months, half of 40 in the last."""
    early = Kind("guitar box", (48, 20, 8), 13.5, 40, usual((-0.6, 0.3)), since="2026-01-05", days=40)
    late = Kind("guitar box", (48, 20, 8), 13.5, 40, usual((0.2, 0.3)), since="2026-02-20", days=38)
    found = studied(shop([early, late], 3)).cartons.iloc[0]
    assert found["trend"] == "rising"
    assert found["later_less_low"] > 0


SAMPLE = Path(__file__).parents[2] / "sample_statements" / "2026-03"


def test_the_command_prints_a_table_and_sentences() -> None:
    """Of the sample month; with what cannot be said yet."""
    done = CliRunner().invoke(command, [str(SAMPLE), "--changed", "pedal box=2026-03-16"])
    assert done.exit_code == 0, done.output
    first, *rest = done.stdout.splitlines()
    assert first.split("  ")[0] == "carton"
    assert any(line.startswith("horn case box ") for line in rest)
    for heading in ("What to change", "Changes of habit", "What cannot be said yet", "What this rests on"):
        assert heading in rest
    assert "guitar box: cut to 47½ in, if what you pack leaves half an inch of air:" in done.stdout
    assert "pedal box, from 2026-03-16 (as you say): back-charged" in done.stdout
    assert "declare what you then measure, never less." in done.stdout
    assert max(map(len, rest)) <= 115


def test_a_change_told_without_a_day_is_refused() -> None:
    """In words that show how to write it."""
    done = CliRunner().invoke(command, [str(SAMPLE), "--changed", "pedal box"])
    assert done.exit_code == 2
    assert "'pedal box' is not CARTON=DATE. Write it like \"keyboard box=2026-03-16\"." in done.output


def test_expected_back_charges_follow_the_parcels_a_month() -> None:
    """Of every carton with enough parcels, and finite."""
    cents = habits().cartons["expected_cents"].dropna().astype("int64").to_numpy()
    assert len(cents) == 5
    assert np.all(cents >= 0)


def test_a_change_told_of_a_carton_that_is_not_there_is_said() -> None:
    """With the names there are; and a day with parcels on one side only."""
    made = shop([Kind("guitar box", (48, 20, 8), 13.5, 20, GUITAR)], 2)
    told = {"hat box": date(2026, 3, 9), "Guitar-Box": date(2027, 1, 1)}
    found = study(recorded(made), Aims(changed_on=told))
    assert found.changes.empty
    assert (
        "There is no carton 'hat box' in the records, so no change of it can be seen. There are: guitar box."
        in found.gaps
    )
    assert (
        "guitar box has no parcels that count both before 2027-01-01 and from then on, so nothing is compared."
        in found.gaps
    )


def test_a_folder_with_nothing_to_read_is_told_and_exits_with_2(tmp_path: Path) -> None:
    """An empty folder."""
    done = CliRunner().invoke(command, [str(tmp_path)])
    assert done.exit_code == 2
    assert "There is no file in this folder." in done.stderr
