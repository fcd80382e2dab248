"""Before shipping: published weights, distances, chances worked by hand, trims, and what the command says."""

from __future__ import annotations

import csv
import re
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm

from auditor.core.schemas import CARTONS, FEES, FUEL, PARCELS, RATES, conform, empty, rows
from auditor.habits.bench.precheck import Checked, check, everywhere, reckonable
from auditor.habits.bench.prices import carried_on, prices_learned
from auditor.habits.known_cartons import completed, known_cartons
from auditor.habits.readings.excess import Excess
from auditor.tariff import Prices, Rulebook, load, opened, price
from auditor.tariff.prices import LEARNED
from tests.cli.test_cli import run
from tests.parcels import FEE_CENTS, inches, parcel, pounds, prices, table
from tests.pasts import known
from tests.read_once import read_once
from tests.run.test_month import SAMPLE


@pytest.fixture(autouse=True)
def _read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """The sample month is read once for all of these."""
    read_once(monkeypatch)


BOOK = opened("us-ground-common")
NO_PRICES = Prices(empty(RATES), empty(FEES), empty(FUEL))


def parcels(*own: Mapping[str, Any]) -> pd.DataFrame:
    """PARCELS of rows as `tests.parcels.parcel` makes them."""
    return conform(pd.DataFrame([{"parcel": f"parcel {at}", **row} for at, row in enumerate(own)]), PARCELS)


def nothing_known(_: str | None) -> dict[str, Excess]:
    """A shop without a past."""
    return {}


def checked(*own: Mapping[str, Any], of: Mapping[str, Excess] | None = None, prices_: Prices | None = None) -> Checked:
    """The parcels checked by the common ground rules; `of` is the excess of every carton."""
    return check(parcels(*own), BOOK, prices_ or prices(), lambda _: dict(of or {}))


def first(what: Checked) -> pd.Series:
    """The check of the first parcel."""
    return what.checks.iloc[0]


@pytest.mark.parametrize(
    ("sides", "weight", "on", "billable_lb", "source"),
    [
        ("12.2 x 12 x 12", 2, "2026-07-12", 14, "trade press 2026: 12.2 → 13 in; 1,872 / 139 = 13.5 → 14 lb"),
        ("20.25 x 12 x 12", 2, "2008-06-01", 15, "Advisory 2006: 20-1/4 → 20 in; 2,880 / 194 = 14.8 → 15 lb"),
        ("11.1 x 10 x 6", 3, "2025-11-03", 3, "a trade magazine, 2025: under 1 ft³ → 3 lb"),
    ],
)
def test_published_billable_weights_come_out_without_any_price(
    sides: str, weight: int, on: str, billable_lb: int, source: str
) -> None:
    """The examples of tests/test_published_examples.py, each with its source, for a shop without a price list."""
    assert source
    own = parcels(parcel(sides, weight, on, service="Priority Mail", zone="6"))
    found = first(check(own, Rulebook(load("us-postal")), NO_PRICES, nothing_known))
    assert found["billable_pg"] == pounds(billable_lb)
    assert pd.isna(found["total_cents"])


def test_the_expected_charge_is_that_of_price() -> None:
    """As for a label."""
    own = parcel("47.5 x 6 x 6", 3)
    assert first(checked(own))["total_cents"] == price(table(own), BOOK, prices())["total_cents"].iloc[0]


def test_a_parcel_over_a_limit_is_over_and_one_at_it_is_not() -> None:
    """Over 48 in: 48 is not over it, 48.01 is rounded up to 49."""
    assert checked(parcel("48 x 6 x 6", 3), parcel("48.01 x 6 x 6", 3)).checks["over"].tolist() == [False, True]


def test_each_limit_is_told_once_with_the_side_that_is_nearest_to_it() -> None:
    """2 in too long for 48 in; 1 in of height until a volume of 10,368 in³ (50 x 20 x 10 = 10,000, x 11 = 11,000)."""
    rooms = checked(parcel("50 x 20 x 9", 14)).rooms
    assert not rooms.duplicated(["charge", "limit"]).any()
    by_limit = {(row["charge"], row["limit"]): row for row in rows(rooms)}
    longest = by_limit["additional handling", "longest side over 48 in"]
    assert [longest[name] for name in ("passed", "side", "room_nm")] == [True, "length", -inches(2)]
    volume = by_limit["additional handling", "volume over 10,368 in³"]
    assert [volume[name] for name in ("passed", "side", "room_nm")] == [False, "height", inches(1)]


def test_without_a_past_the_chance_is_that_of_the_device_alone() -> None:
    """A quarter inch is two standard deviations: 47.8 in is over 48 in from 0.2 / 0.125 = 1.6 of them on.

    The other sides lie half an inch below a whole inch, four deviations away, and the weight is far from deciding.
    """
    found = first(checked(parcel("47.8 x 5.5 x 5.5", 3)))
    assert found["basis"] == "device tolerance"
    assert found["chance"] == pytest.approx(norm.sf(0.2 / 0.125), abs=3e-4)
    assert found["chance_low"] == found["chance_high"] == found["chance"]


def test_the_chance_is_the_same_without_prices_and_its_amount_is_not_known() -> None:
    """A higher billable weight or a limit passed is what costs, whatever it costs."""
    with_prices, without = (first(checked(parcel("47.8 x 5.5 x 5.5", 3), prices_=of)) for of in (None, NO_PRICES))
    assert without["chance"] == pytest.approx(with_prices["chance"])
    assert pd.isna(without["back_charge_cents"])


def test_a_chance_is_told_apart_by_what_is_at_stake() -> None:
    """Half the draws read the width one inch longer, a tenth the length over 48 in as well: a pound, or handling."""
    draws = known(length=[-0.01] * 18 + [0.5] * 2, width=[-0.01] * 10 + [0.5] * 10)
    found = first(checked(parcel("48 x 12 x 6", 3), of=draws))
    assert found["chance"] == pytest.approx(0.5, abs=0.02)
    assert found["costly_chance"] == pytest.approx(0.1, abs=0.02)
    handling = FEE_CENTS["additional handling"]
    assert found["costly_cents"] > 0.1 * handling
    assert found["back_charge_cents"] - found["costly_cents"] < 0.4 * 500


def test_without_prices_a_limit_passed_is_told_from_a_heavier_billed_weight() -> None:
    """The chance of each is the same as with prices; only the dollars are not known."""
    own, of = parcel("48 x 12 x 6", 3), known(length=[-0.01] * 18 + [0.5] * 2, width=[-0.01] * 10 + [0.5] * 10)
    with_prices, without = (first(checked(own, of=of, prices_=some)) for some in (None, NO_PRICES))
    assert without["chance"] == pytest.approx(with_prices["chance"], abs=0.01)
    assert without["costly_chance"] == pytest.approx(with_prices["costly_chance"], abs=0.01)
    assert pd.isna(without["costly_cents"])


def test_a_sure_reading_over_the_limit_costs_handling_and_the_fee() -> None:
    """48 x 5.9 x 5.9 in read half an inch beyond: 49 in, handling, at least 40 lb, and 1.25 for correcting."""
    found = first(checked(parcel("48 x 5.9 x 5.9", 3), of=known(length=0.5)))
    over = price(table(parcel("49 x 6 x 6", 3)), BOOK, prices())["total_cents"].iloc[0]
    assert found["chance"] == pytest.approx(1)
    assert found["back_charge_cents"] == over - found["total_cents"] + FEE_CENTS["correction fee"]


def test_the_interval_of_the_chance_is_that_of_the_draws() -> None:
    """Nine draws of ten say never, one says always."""
    found = first(checked(parcel("48 x 5.9 x 5.9", 3), of=known(length=[-0.01] * 18 + [0.5] * 2)))
    assert [found["chance"], found["chance_low"], found["chance_high"]] == pytest.approx([0.1, 0, 1])
    assert [found["basis"], found["basis_parcels"], found["basis_read"]] == ["own history", 40, 9]


def test_a_trim_under_a_limit_leaves_the_devices_tolerance_as_well() -> None:
    """50 in: to 48 in and a quarter less; it saves handling and its least weight of 40 lb."""
    what = checked(parcel("50 x 5.5 x 5.5", 3), of=known())
    trim = what.trims[what.trims["reason"] == "additional handling"].iloc[0]
    assert trim[["side", "to_nm", "cut_nm"]].tolist() == ["length", inches("47.75"), inches("2.25")]
    after = price(table(parcel("47.75 x 5.5 x 5.5", 3)), BOOK, prices())["total_cents"].iloc[0]
    assert trim["saves_cents"] == first(what)["total_cents"] - after


def test_no_trim_clears_a_charge_that_the_weight_calls_for_as_well() -> None:
    """60 lb is over 50 lb, however short the carton."""
    trims = checked(parcel("50 x 6 x 6", 60)).trims
    assert "additional handling" not in set(trims["reason"])


def test_half_an_inch_off_the_height_can_save_pounds() -> None:
    """20 x 12 x 8.5 in counts as 9 in high, 2,160 / 139 = 15.5, 16 lb; 8 in high it is 13.8, 14 lb."""
    what = checked(parcel("20 x 12 x 8.5", 3), of=known())
    height = what.trims[what.trims["side"] == "height"]
    assert {"billable weight"} == set(height["reason"])
    assert (height["billable_pg"] <= pounds(14)).all()
    assert (height["to_nm"] <= inches(8)).all()


def test_a_trim_never_makes_a_parcel_longer_and_always_saves() -> None:
    """Of any kind, also under a limit; what is left of a side is above zero."""
    what = checked(*(parcel(f"{50 - at / 3:.2f} x {20 - at} x {9 - at / 2}", 5) for at in range(12)))
    assert (what.trims["cut_nm"] > 0).all()
    assert (what.trims["to_nm"] > 0).all()
    assert (what.trims["saves_cents"] + what.trims["saves_back_charge_cents"] >= 50).all()


def test_no_trim_under_a_limit_is_offered_where_that_saves_nothing() -> None:
    """Where the charge costs nothing and 45 lb are billed whatever the length; with the fee it is offered."""
    free = Prices(prices().rates, prices().fees.assign(amount_cents=0), prices().fuel)
    assert not len(checked(parcel("50 x 5.5 x 5.5", 45), of=known(), prices_=free).trims)
    assert len(checked(parcel("50 x 5.5 x 5.5", 45), of=known()).trims)


def test_a_parcel_without_a_zone_is_offered_in_every_zone_of_the_price_list() -> None:
    """And one with a service that is not in it stays as it is."""
    own = parcels(parcel("12 x 10 x 8", 5, zone=None), parcel("12 x 10 x 8", 5, service="Lunar"))
    offered = everywhere(own, prices())
    assert offered["zone"].tolist() == [*"2345678", "5"]
    assert everywhere(own, NO_PRICES)["parcel"].tolist() == ["parcel 0", "parcel 1"]


def test_a_parcel_of_a_day_without_rules_is_told_and_the_others_are_kept() -> None:
    """A date before the rules begin is one of them."""
    own = parcels(parcel("12 x 10 x 8", 5, "2021-12-31"), parcel("12 x 10 x 8", 5))
    kept, problems = reckonable(own, BOOK)
    assert kept["parcel"].tolist() == ["parcel 1"]
    assert [problem.message for problem in problems] == [
        "The rules us-ground-common are known from 2022-01-01 on, not for 2021-12-31. Choose another day with --on."
    ]


def test_after_the_rules_were_last_looked_at_the_check_is_by_the_last_and_that_is_told() -> None:
    """A day on which they are known is taken as it is."""
    own = parcels(parcel("12 x 10 x 8", 5, "2027-03-01"), parcel("12 x 10 x 8", 5, "2027-03-02"))
    kept, [problem] = reckonable(own, BOOK)
    assert len(kept) == 2
    assert problem.note
    assert problem.message == (
        "The rules us-ground-common were last looked at on 2026-11-25, so the check is by the last that this version "
        "knows; what has changed since is not in it."
    )
    assert reckonable(parcels(parcel("12 x 10 x 8", 5, "2026-11-25")), BOOK)[1] == []


def fuel(*weeks: tuple[str, int]) -> pd.DataFrame:
    """FUEL of days and percentages in millionths."""
    days = [day for day, _ in weeks]
    return conform(pd.DataFrame({"effective_on": pd.to_datetime(days), "fuel_ppm": [ppm for _, ppm in weeks]}), FUEL)


def test_the_last_fuel_percentage_serves_at_the_bench_after_its_table_and_is_told() -> None:
    """It changes every week, so an audit would not know it on the 24th; a day that the table reaches is left alone."""
    weekly = Prices(
        prices().rates, prices().fees, fuel(("2026-03-02", 150000), ("2026-03-09", 160000), ("2026-03-16", 155000))
    )
    day = pd.Timestamp("2026-05-24")
    assert weekly.fuel_ppm("", int(day.to_datetime64().astype("datetime64[D]").astype(int))) is None
    later, [told] = carried_on(weekly, day)
    own = parcel("12 x 10 x 8", 5, "2026-05-24")
    assert first(checked(own, prices_=later))["total_cents"] > 0
    assert pd.isna(first(checked(own, prices_=weekly))["total_cents"])
    assert told.note
    assert told.message == (
        "The last fuel percentage known, 15.5 % from 2026-03-16 on, was taken. Look up today's: the charge moves with "
        "it."
    )
    assert carried_on(weekly, pd.Timestamp("2026-03-20")) == (weekly, [])
    assert carried_on(NO_PRICES, day) == (NO_PRICES, [])


def test_prices_learned_from_labels_are_told_as_an_estimate_with_their_last_day() -> None:
    """And the check is marked; prices of a list are not."""
    own = Prices(prices().rates.assign(source_file=LEARNED), prices().fees, prices().fuel)
    labels = pd.DataFrame({"state": ["label charge"], "shipped_on": [pd.Timestamp("2026-03-31")]})
    assert first(checked(parcel("12 x 10 x 8", 5), prices_=own))["price_basis"] == "learned"
    assert first(checked(parcel("12 x 10 x 8", 5)))["price_basis"] == "table"
    [problem] = prices_learned(own, labels)
    assert problem.message == (
        "The prices were learned from your own labels, the last of 2026-03-31, so the charge is an estimate, and what "
        "has changed since is not in it. A price list given with --history makes it exact."
    )
    assert list(prices_learned(prices(), labels)) == []


@pytest.mark.parametrize("size", ["44 x 6 x 6", "46 x 18 x 8", "38.25 x 16 x 14", "12 x 10 x 8"])
@pytest.mark.parametrize("known_prices", [True, False])
def test_no_trim_to_a_lower_weight_makes_a_back_charge_likelier(size: str, *, known_prices: bool) -> None:
    """Cut to just a whole inch, a side is read as the next one half of the time."""
    found = checked(parcel(size, 3), prices_=None if known_prices else NO_PRICES)
    before = float(found.checks["chance"].iloc[0])
    others = found.trims[~found.trims["reason"].isin(BOOK.charges)]
    assert (others["chance"] <= before).all()
    assert len(found.trims) > 0


def test_a_service_is_never_guessed_where_the_rules_differ_by_it() -> None:
    """The postal rules have other limits by service."""
    own = parcels(parcel("12 x 10 x 8", 5, service=None))
    _, problems = reckonable(own, Rulebook(load("us-postal")))
    assert problems[0].message == "The rules us-postal differ by service. Add --service."


def test_a_named_carton_gives_its_size_and_its_usual_weight_and_says_so() -> None:
    """A weight that is given goes before the usual one, and a size that is given before the carton's."""
    known_ = known_cartons(listed(), shipped())
    own = pd.DataFrame(
        [
            {"parcel": "a", "carton": "Stand Tube"},
            {"parcel": "b", "carton": "stand tube", "weight_pg": pounds(7)},
            {"parcel": "c", "carton": "stand tube", **parcel("40 x 6 x 6", 2)},
        ]
    )
    whole, problems = completed(conform(own, PARCELS), known_)
    assert whole["length_nm"].tolist() == [inches(44), inches(44), inches(40)]
    assert whole["weight_pg"].tolist() == [pounds(5), pounds(7), pounds(2)]
    assert [problem.message for problem in problems if problem.note] == [
        "No weight was given for 'stand tube', so its usual one was taken, 5 lb. Weigh the parcel."
    ]


def test_a_size_that_one_of_the_shops_cartons_has_is_taken_for_it() -> None:
    """For the sake of its history; its weight is never taken from there."""
    own = pd.DataFrame([{"parcel": "a", **parcel("44 x 6 x 6", 2)}, {"parcel": "b", **parcel("44 x 6 x 6", 2)}])
    own.loc[1, "weight_pg"] = None
    whole, problems = completed(conform(own, PARCELS), known_cartons(listed(), shipped()))
    assert whole["carton"].tolist() == ["stand tube"]
    assert [problem.message for problem in problems] == [
        "'b' has no weight, so it was not checked. Weigh it and add that, as in '3 lb 4 oz'.",
        "A parcel of this size was taken for your carton 'stand tube'.",
    ]


def test_a_carton_that_is_in_no_list_is_known_from_the_shipping_records() -> None:
    """By what it was declared most often."""
    found = rows(known_cartons(listed(), shipped()).loc[["uke box"]])[0]
    assert list(found.values()) == ["uke box", inches(28), inches(12), inches(6), pounds(4)]


def listed() -> pd.DataFrame:
    """A list of one carton."""
    sides = {"length_nm": inches(44), "width_nm": inches(6), "height_nm": inches(6)}
    return conform(pd.DataFrame([{"carton": "stand tube", "usual_weight_pg": pounds(5), **sides}]), CARTONS)


def shipped() -> pd.DataFrame:
    """Three recorded parcels of a carton that is not in the list."""
    own = [{"carton": "uke box", **parcel("28 x 12 x 6", weight)} for weight in (4, 4, 9)]
    return conform(pd.DataFrame(own).assign(tracking=["a", "b", "c"]), PARCELS)


def words(*arguments: str | Path) -> str:
    """What the command prints, in one line."""
    return " ".join(run("precheck", *arguments).output.split())


def test_the_command_tells_limits_chance_and_trims_without_any_file() -> None:
    """47 1/2 in: half an inch is left, 13 lb are billed, and what is not known is said."""
    result = run("precheck", "47 1/2 x 6 x 6 in", "3 lb", "--on", "2026-03-04")
    assert result.exit_code == 0
    said = result.stdout
    assert "47 1/2 × 6 × 6 in, 3 lb, shipped 2026-03-04" in said
    assert "Counted as 48 × 6 × 6 in, dimensional weight 13 lb; billed by 13 lb." in said
    assert "Expected charge: not known; no price list given with --history has its service and zone." in said
    assert (
        "ok    additional handling    longest side over 48 in          counted 48 in       1/2 in of length left"
        in said
    )
    assert "it rests on nothing but the tolerance of the carrier's device" in said
    assert "After a cut, measure again and declare what you then measure, never less." in said
    assert "^ the most without additional handling" in said


def test_the_command_weighs_chances_in_dollars_and_says_what_a_trim_brings() -> None:
    """On the sample month: what is billed heavier, and what passes a limit, each with what it comes to."""
    said = words(
        "48 x 20 x 8 in", "14 lb", "--history", SAMPLE, "--zone", "5", "--service", "Ground", "--on", "2026-03-20"
    )
    chance = re.search(
        r"Chance of a back-charge: \d+ % \(.*?\); over all such parcels, \$\d+\.\d\d each\. "
        r"(?:(?:under )?\d+ % of \$5\.00 or less: \$\d\.\d\d each time )?"
        r"(?:under )?\d+ % of more than \$5\.00: \$\d+\.\d\d each time from 31 recorded parcels",
        said,
    )
    assert chance
    assert re.search(r"Trim: .*?; saves \$\d+\.\d\d a parcel, chances of back-charges counted\.", said)


def test_the_command_says_what_is_at_stake_in_words_where_prices_are_not_known() -> None:
    """75 % of what? Of a heavier billed weight, mostly."""
    said = words("47 3/4 x 6 x 6 in", "3 lb", "--on", "2026-03-04")
    assert (
        "; what that comes to is not known without prices (--history). 73 % of a heavier billed weight 2 % of a limit "
        in said
    )


def test_prices_learned_serve_at_the_bench_long_after_the_last_statement(tmp_path: Path) -> None:
    """Without any price list, two months later, and marked so."""
    month = Path(shutil.copytree(SAMPLE, tmp_path / "month"))
    for name in ("rates.csv", "fees.csv", "fuel.csv"):
        (month / name).unlink()
    said = words("guitar box", "--history", month, "--zone", "5", "--service", "Ground", "--on", "2026-05-29")
    assert re.search(r"Ground: zone 5 \$\d+\.\d\d \(an estimate, by prices learned from your own labels\)\.", said)
    assert "were learned from your own labels, the last of 2026-03-31" in said


def test_the_command_exits_with_1_over_a_limit_and_cautions_about_lifting() -> None:
    """60 lb is more than the 51 lb (23 kg) of the NIOSH lifting equation, Publication No. 94-110."""
    result = run("precheck", "50 x 20 x 8 in", "60 lb", "--on", "2026-03-04")
    assert result.exit_code == 1
    assert "OVER  additional handling    longest side over 48 in          counted 50 in       2 in too much length" in (
        result.stdout
    )
    assert "Heavy: 51 lb (23 kg) is the most that is recommended for one person to lift" in result.stdout
    assert "Local rules come first." in result.stdout
    assert "Heavy" not in run("precheck", "20 x 20 x 8 in", "51 lb", "--on", "2026-03-04").stdout


def test_a_carton_by_name_is_checked_by_the_shops_own_past() -> None:
    """Size and usual weight from the list, prices from the tables, the chance from the month."""
    result = run(
        "precheck", "guitar box", "--history", SAMPLE, "--zone", "5", "--service", "Ground", "--on", "2026-03-20"
    )
    assert result.exit_code == 0
    assert "guitar box: 48 × 20 × 8 in, 14 lb, shipped 2026-03-20" in result.stdout
    assert "Expected charge, Ground: zone 5 $28.56." in result.stdout
    assert "from 31 recorded parcels of this carton, 2 of them with a reading." in result.stdout
    assert "Note: No weight was given for 'guitar box', so its usual one was taken, 14 lb." in result.stderr


def test_a_file_of_parcels_is_checked_row_by_row_and_a_bad_row_stops_none(tmp_path: Path) -> None:
    """As CSV: a row a parcel, safe for a spreadsheet; the bad row is named on stderr, and the exit code is 1."""
    file = tmp_path / "tonight.csv"
    file.write_text(
        "Item,Carton,Size,Weight (lb),Zone\n=1+1,,47 1/2 x 6 x 6 in,3,5\nb,stand tube,,,4\nc,,44 x 6,5,4\nd,,,,4\n",
        encoding="utf-8",
    )
    result = run("precheck", file, "--history", SAMPLE, "--service", "Ground", "--on", "2026-03-20", "--format", "csv")
    assert result.exit_code == 1
    listed_ = list(csv.DictReader(result.stdout.splitlines()))
    assert [row["parcel"] for row in listed_] == ["'=1+1", "b"]
    assert [row["over"] for row in listed_] == ["no", "no"]
    assert [row["billable_lb"] for row in listed_] == ["13", "12"]
    assert "tonight.csv, row 4: '44 x 6' in column 'Size' has 2 sides, needs three" in result.stderr
    assert "tonight.csv, row 5: 'd' has no size that could be read and names no carton" in result.stderr


def test_three_parcels_of_past_are_no_history_of_a_carton(tmp_path: Path) -> None:
    """The chance then rests on all cartons together, or on the device, and says so."""
    month = Path(shutil.copytree(SAMPLE, tmp_path / "month"))
    records = (month / "shipments.csv").read_text(encoding="utf-8").splitlines()
    kept = [row for row in records if "stand tube" not in row] + [row for row in records if "stand tube" in row][:3]
    (month / "shipments.csv").write_text("\n".join(kept), encoding="utf-8")
    said = words("stand tube", "--history", month, "--zone", "5", "--service", "Ground", "--on", "2026-03-20")
    assert "recorded parcels of your cartons, " in said


def test_centimetres_and_grams_are_told_in_the_tariffs_own_units() -> None:
    """By the air rules in cm and kg."""
    said = words("120 x 15 x 15 cm", "1500 g", "--rules", "air-iata", "--on", "2026-03-04")
    assert "120 × 15 × 15 cm, 1.5 kg, shipped 2026-03-04 Counted as 120 × 15 × 15 cm, dimensional weight 4.5 kg" in said


@pytest.mark.parametrize(
    ("arguments", "wanted"),
    [
        (("44 x 6 in", "3 lb"), "'44 x 6 in' has 2 sides, needs three"),
        (("44 x 6 x 6 in", "5"), "'5' has a number without a unit; write it such as 3 lb 4 oz or 1.5 kg."),
        (("44 x 6 x 6 in",), "'44 x 6 x 6 in' has no weight, so it was not checked. Weigh it and add that"),
        (("44 x 6 x 6 in", "-3 lb"), "'-3 lb' is below zero. Measure it again."),
        (("1,000 ft x 6 x 6 in", "3 lb"), "'1,000 ft x 6 x 6 in' is more than any parcel's length."),
        (("stand tub", "--history", SAMPLE), "No carton is called 'stand tub'. Did you mean 'stand tube'? Known are:"),
        (("stand tube",), "'stand tube' is neither a size nor a weight, and no carton is known by that name"),
        (
            ("47", "1/2", "x", "6", "x", "6", "in", "3", "lb"),
            'name and weight goes in quotation marks, like this: auditor precheck "47 1/2 x 6 x 6 in" "3 lb"',
        ),
        (("stand", "tube", "--history", SAMPLE), 'like this: auditor precheck "stand tube"'),
        (("44x6x6 in", "3 lb", "--on", "2021-12-31"), "known from 2022-01-01 on, not for 2021-12-31."),
        (("44x6x6 in", "3 lb", "--rules", "us-postal"), "The rules us-postal differ by service. Add --service."),
        (("44x6x6 in", "3 lb", "--rules", "lunar"), "There are no rules named lunar."),
        (("tonight.csv",), "There is no file tonight.csv."),
        (("44x6x6 in", "3 lb", "--on", "tomorrow"), "'tomorrow' does not match the format"),
    ],
)
def test_wrong_use_of_the_command_exits_with_2(arguments: tuple[str | Path, ...], wanted: str) -> None:
    """In a sentence that says what to do."""
    result = run("precheck", *arguments)
    assert result.exit_code == 2
    assert wanted in " ".join(result.output.split())


def test_a_past_that_is_not_there_is_named_and_exits_with_2(tmp_path: Path) -> None:
    """So that nobody takes what is said for what the shop's own months say."""
    result = run("precheck", "44 x 6 x 6 in", "3 lb", "--on", "2026-03-04", "--history", tmp_path / "nowhere")
    assert result.exit_code == 2
    assert "nowhere: There is no such file or folder." in result.stderr
    assert "billed by" not in result.stdout


def test_a_list_without_sizes_and_cartons_says_what_it_needs(tmp_path: Path) -> None:
    """Nothing is checked."""
    file = tmp_path / "tonight.csv"
    file.write_text("foo,bar\n47.5,6\n", encoding="utf-8")
    result = run("precheck", file)
    assert result.exit_code == 1
    assert "This looks like a list of parcels, but has no column for the size." in result.stderr


def test_the_draws_of_a_chance_are_averaged() -> None:
    """A third of the draws read over: one in three."""
    found = first(checked(parcel("48 x 5.9 x 5.9", 3), of=known(length=np.tile([-0.01, -0.01, 0.5], 10).tolist())))
    assert found["chance"] == pytest.approx(1 / 3)
