"""Charges' names are told by what their amounts do, though every one of them is a meaningless string."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path

import pandas as pd
import pytest

from auditor import intake
from auditor.core.schemas import FEES, FUEL, RATES, empty
from auditor.intake.reading.charges import Named, named
from auditor.intake.reading.known import Known
from auditor.intake.reading.naming import with_charges
from auditor.tariff import expecting, opened

SAMPLE = Path(__file__).parents[2] / "sample_statements" / "2026-03"
NORRHAVEN = "norrhaven-2026-03.csv"


@cache
def taken() -> intake.Intake:
    """The sample's records, prices and one of its statements."""
    return intake.read([SAMPLE / name for name in (NORRHAVEN, "shipments.csv", "rates.csv", "fees.csv", "fuel.csv")])


def known(*, prices: bool = True) -> Known:
    """What the sample makes known, with its prices or without any."""
    read = taken()
    rates, fees, fuel = (read.rates, read.fees, read.fuel) if prices else (empty(RATES), empty(FEES), empty(FUEL))
    due = expecting(opened("us-ground-common"))(read.shipments, rates, fees, fuel)
    return Known(read.shipments, rates, fees, fuel, due)


def meaningless(lines: pd.DataFrame) -> tuple[pd.DataFrame, Mapping[str, str]]:
    """The lines with their charges' names replaced, and each name's own."""
    own = {f"qx{chr(97 + at)}vzu": str(name) for at, name in enumerate(lines["description"].unique())}
    given = {name: nonsense for nonsense, name in own.items()}
    return lines.assign(description=lines["description"].map(given)), own


@cache
def told(*, prices: bool) -> Mapping[str, tuple[str | None, str]]:
    """What each of the sample's names means when it is meaningless, and what that rests on."""
    lines, own = meaningless(taken().lines)
    found: Named = named(lines, known(prices=prices))
    return {own[name]: (charge, found.shown[name]) for name, charge in found.of.items()}


@pytest.mark.parametrize("prices", [True, False])
@pytest.mark.parametrize(
    ("name", "charge"),
    [("Freight", "freight"), ("Fuel surcharge", "fuel"), ("Residential delivery", "residential")],
)
def test_labels_charges_are_told_by_their_amounts_with_prices_and_without(
    name: str, charge: str, *, prices: bool
) -> None:
    """Freight goes with service, zone and weight; fuel is a percentage; residential falls on homes."""
    assert told(prices=prices)[name][0] == charge


@pytest.mark.parametrize(
    ("name", "charge"),
    [
        ("Freight adjustment", "freight"),
        ("Additional handling adjustment", "additional handling"),
        ("Correction fee", "correction fee"),
        ("Large parcel", "large parcel"),
    ],
)
def test_later_charges_are_told_by_the_steps_that_prices_allow(name: str, charge: str) -> None:
    """A correction is the difference of two prices, or a fee that was not due before."""
    assert told(prices=True)[name] == (charge, "amounts")


def test_what_nothing_explains_stays_unclear() -> None:
    """A charge that is in no table and behaves like none is not given a name."""
    assert told(prices=True)["Network balancing"] == (None, "nothing")


def test_a_word_is_overruled_only_where_amounts_are_sure() -> None:
    """Fuel called residential is fuel; a name of one line that agrees with nothing is what it says."""
    lines = taken().lines.copy()
    called = {"Fuel surcharge": "Residential delivery", "Residential delivery": "Fuel surcharge"}
    lines["description"] = lines["description"].map(lambda name: called.get(name, name))
    found = named(lines, known())
    assert (found.of["Residential delivery"], found.of["Fuel surcharge"]) == ("fuel", "residential")
    assert found.of["Sales tax"] == "tax"


def test_lines_of_meaningless_names_are_labels_first_and_corrections_after() -> None:
    """By the order in which a parcel's charges stand, and what its label cost."""
    lines, own = meaningless(taken().lines)
    read, _, _ = with_charges(lines, known())
    state = read.groupby(read["description"].map(own))["state"].agg(lambda states: states.value_counts().index[0])
    assert state["Freight"] == state["Fuel surcharge"] == state["Residential delivery"] == "label charge"
    assert state["Freight adjustment"] == state["Fuel surcharge adjustment"] == "adjustment"
    assert state["Correction fee"] == "fee"


def test_without_records_words_alone_count() -> None:
    """And nothing is said of what they rest on."""
    read, names, _ = with_charges(taken().lines, Known())
    assert names == {}
    assert set(read.loc[read["description"] == "Freight", "charge"]) == {"freight"}
