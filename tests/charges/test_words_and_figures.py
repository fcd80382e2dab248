"""A right correction is no strong case under any name; one that takes back a charge for another is one finding."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import cycle
from pathlib import Path
from random import Random

import pytest

import auditor
from auditor.audit import Audit
from tests.months import plainly
from tests.months.billing import Line
from tests.months.plainly import Parcel, Prices
from tests.months.scenario import GROUND, Shipment, ship
from tests.months.write import write_cartons, write_prices, write_shipments, write_statement

NAMES = (
    *("weight correction", "dimension adjustment", "audit difference", "re-rate", "size verification charge"),
    *("weight adjustment", "dimensional weight adjustment", "billing correction", "correction", "correction charge"),
    *("correction fee", "shipping charge correction", "audit adjustment", "audit fee", "remeasure difference"),
    *("re-weigh charge", "package dimension correction", "parcel size audit", "scan correction", "rate difference"),
    *("measurement variance", "postage due", "postage correction", "underpaid postage", "price adjustment"),
    *("dim correction", "oversize correction", "incorrect dimensions", "declared size exceeded", "freight correction"),
    *("freight adjustment", "inspection result", "surcharge adjustment", "shipment rebill", "verification difference"),
)
"""Ordinary trade words for one and the same thing, made up here."""


def _read(rng: Random, declared: Parcel) -> Parcel:
    """The parcel as the carrier's machines have it: longer, or wider, or heavier."""
    length, width, height = plainly.falling(declared.sides)
    more = Fraction(rng.choice([1, 2]))
    return rng.choice(
        [
            replace(declared, sides=(length + more, width, height)),
            replace(declared, sides=(length, width + more, height)),
            replace(declared, weight=declared.weight + more),
        ]
    )


def _corrected(
    shipments: Sequence[Shipment], prices: Prices, names: Sequence[str], *, sides: bool, off: int = 0
) -> Iterator[tuple[list[Line], list[Line]]]:
    """The lines of each label, and those of its correction: in one sum by these names, or charge by charge."""
    rng, words = Random(5), cycle(names)
    for one in shipments:
        declared, read = one.declared, _read(rng, one.declared)
        due, after = (plainly.charges(parcel, prices) for parcel in (declared, read))
        plain = Line(one.tracking, one.shipped_on, one.service, one.zone, "", "label", 0, order=one.order)
        shown = replace(plain, sides=plainly.whole(read.sides), weight=plainly.billable_weight(read.sides, read.weight))
        cents = sum(after.values()) - sum(due.values())
        cents += off if cents else 0
        label = [replace(plain, charge=charge, cents=due[charge]) for charge in due]
        more = {charge: after.get(charge, 0) - due.get(charge, 0) for charge in {**due, **after}}
        added = {next(words): cents} if names else more
        line = shown if sides else plain
        yield label, [replace(line, charge=charge, cents=added[charge]) for charge in added if added[charge]]


def _month(folder: Path, names: Sequence[str], *, sides: bool, count: int = 60, off: int = 0) -> Audit:
    """A shop's month with right corrections of these names on a later statement."""
    write_prices(folder)
    write_cartons(folder)
    prices = plainly.read_prices(folder)
    every = [replace(one, packed_size="", packed_weight="", photo="") for one in ship(Random(11), 2 * count)]
    shipments = [one for one in every if one.service == GROUND]
    lines = list(_corrected(shipments, prices, names, sides=sides, off=off))
    write_shipments(folder, shipments)
    for number, day, of in (("N-1", "2026-04-01", 0), ("N-2", "2026-04-15", 1)):
        write_statement(folder / f"{number}.csv", number, day, [line for both in lines for line in both[of]])
    return auditor.reconcile([folder])


def _claims(audit: Audit) -> set[tuple[str, str]]:
    """Causes and standings that a right correction must not come to."""
    found = audit.findings
    wrong = found[(found["strong_cents"] > 0) | found["cause"].isin(["duplicate", "rate", "carrier arithmetic"])]
    return {(str(cause), str(dispute)) for cause, dispute in zip(wrong["cause"], wrong["dispute"], strict=True)}


def test_what_the_printed_figures_explain_is_explained_under_every_name(tmp_path: Path) -> None:
    """Whatever the words are: to the cent, so that nothing is left unexplained."""
    audit = _month(tmp_path, NAMES, sides=True, count=80)
    assert len(audit.findings) > len(NAMES)
    assert _claims(audit) == set()
    assert not audit.findings["cause"].eq("unexplained").any()


@pytest.mark.parametrize("names", [["freight"], []])
def test_a_right_correction_in_the_words_of_the_label_is_no_duplicate(tmp_path: Path, names: list[str]) -> None:
    """In one sum called freight, and charge by charge: the figures beside it give that sum."""
    audit = _month(tmp_path, names, sides=True)
    assert len(audit.findings) > 20
    assert _claims(audit) == set()
    assert not audit.findings["cause"].eq("unexplained").any()


@pytest.mark.parametrize("names", [["freight"], []])
def test_without_figures_a_correction_in_the_words_of_the_label_is_no_duplicate(
    tmp_path: Path, names: list[str]
) -> None:
    """It is inferred, or asked about."""
    assert _claims(_month(tmp_path, names, sides=False)) == set()


@pytest.mark.parametrize(("off", "words"), [(1, "$0.01 more"), (-1, "$0.01 less")])
def test_a_sum_that_is_a_cent_off_is_explained_but_for_that_cent(tmp_path: Path, off: int, words: str) -> None:
    """As where fuel is rounded by itself: the figures have to do with the rest."""
    audit = _month(tmp_path, ["weight correction", "re-rate", "postage due"], sides=True, off=off)
    found = audit.findings
    assert len(found) > 20
    assert _claims(audit) == set()
    assert not found["cause"].eq("unexplained").any()
    assert found["other_cents"].eq(off).all()
    assert (
        found["explanation"]
        .str.contains(
            f"the sum is {words} than these figures come to, as where fuel is rounded another way", regex=False
        )
        .all()
    )
    right = found["dispute_reason"].str.startswith("by all that is recorded the carrier is right")
    assert set(found.loc[right, "dispute"]) == {"none"}
    assert not found["disputable_cents"].eq(1).any()


@pytest.mark.sample(2)
@pytest.mark.parametrize("name", ["weight correction", "postage due", "re-rate", "oversize correction", "audit fee"])
def test_a_right_correction_without_figures_is_no_strong_case(tmp_path: Path, name: str) -> None:
    """Of one name on all parcels, taken for a fee, for freight, for a surcharge, or for nothing."""
    audit = _month(tmp_path, [name], sides=False)
    assert _claims(audit) == set()


def test_a_name_that_is_not_believed_is_told(tmp_path: Path) -> None:
    """Once, with what it was taken for."""
    told = [one.message for one in _month(tmp_path, ["audit fee"], sides=False).problems]
    assert any(
        message.startswith("'audit fee' (")
        and message.endswith(
            "lines) would be correction fee by its words, but its amounts are not those of one. It was read as a "
            "correction that does not say what it is made of, and held against the parcel's whole price."
        )
        for message in told
    )


def _exchange(folder: Path, read: str, *, shown: bool, whole: bool) -> Audit:
    """A parcel billed rightly, and then by another size: the charges that change are taken back and made anew."""
    write_prices(folder)
    write_cartons(folder)
    prices = plainly.read_prices(folder)
    [*others, one] = [one for one in ship(Random(3), 12) if one.service == GROUND]
    one = replace(one, size="60 x 20 x 10 in", weight="30 lb", packed_size="", packed_weight="", photo="")
    write_shipments(folder, [*others, one])
    declared = one.declared
    again = replace(declared, sides=plainly.inches(read))
    due, after = plainly.charges(declared, prices), plainly.charges(again, prices)
    first = [
        Line(of.tracking, of.shipped_on, of.service, of.zone, charge, "label", cents)
        for of in (*others, one)
        for charge, cents in plainly.charges(of.declared, prices).items()
    ]
    plain = Line(one.tracking, one.shipped_on, one.service, one.zone, "", "label", 0)
    plain = replace(plain, sides=plainly.whole(again.sides)) if shown else plain
    changed = [charge for charge in {**due, **after} if whole or due.get(charge) != after.get(charge)]
    back = [replace(plain, charge=charge, cents=-due[charge]) for charge in changed if charge in due]
    made = [replace(plain, charge=charge, cents=after[charge]) for charge in changed if charge in after]
    write_statement(folder / "first.csv", "N-1", "2026-04-01", first)
    write_statement(folder / "second.csv", "N-2", "2026-04-15", [*back, *made])
    return auditor.reconcile([folder])


@pytest.mark.sample(2)
@pytest.mark.parametrize("whole", [False, True])
@pytest.mark.parametrize("shown", [False, True])
def test_a_charge_taken_back_for_another_is_one_finding(tmp_path: Path, *, shown: bool, whole: bool) -> None:
    """Additional handling gives way to large parcel; the label on the earlier statement was right."""
    audit = _exchange(tmp_path, "97 x 20 x 10", shown=shown, whole=whole)
    assert list(audit.findings["statement"]) == ["N-2"]
    [row] = audit.findings.to_dict("records")
    assert row["strong_cents"] == 0
    assert row["cause"] == "box length" if shown else row["cause"] in ("box length", "box girth", "unexplained")
