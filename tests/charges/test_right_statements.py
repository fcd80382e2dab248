"""Statements on which everything is right are no strong case, whatever the seller's tables or records lack."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from random import Random

import pytest

import auditor
from auditor.audit import Audit
from auditor.report.evidence.reasons import Ground, reason
from tests.months import plainly
from tests.months.billing import Line
from tests.months.scenario import GROUND, Shipment, ship
from tests.months.write import write_cartons, write_prices, write_shipments, write_statement

Labels = Callable[[int, Shipment, dict[str, int]], dict[str, int]]


def _month(folder: Path, labels: Labels, *, two: bool = False, size: Sequence[int] = ()) -> Audit:
    """A month of ground parcels, each billed as `labels` has it of what is due; of `two` statements by turns."""
    write_prices(folder)
    write_cartons(folder)
    prices = plainly.read_prices(folder)
    every = [replace(one, packed_size="", packed_weight="", photo="") for one in ship(Random(11), 120)]
    shipments = [one for one in every if one.service == GROUND]
    write_shipments(folder, shipments)
    lines: list[list[Line]] = [[], []]
    for place, one in enumerate(shipments):
        due = labels(place, one, dict(plainly.charges(one.declared, prices)))
        plain = Line(one.tracking, one.shipped_on, one.service, one.zone, "", "label", 0, order=one.order)
        lines[place % 2 if two else 0] += [replace(plain, charge=charge, cents=due[charge]) for charge in due]
    if size:
        odd = Line("", date(2026, 3, 9), GROUND, "5", "freight", "label", 7000, weight=40, sides=tuple(size))
        lines[0] += [replace(odd, number=f"QQ99{number:08d}X") for number in range(11, 89, 13)]
    for number, of in enumerate(lines):
        if of:
            write_statement(folder / f"N-{number}.csv", f"N-{number}", "2026-04-01", of)
    return auditor.reconcile([folder])


def _strong(audit: Audit) -> list[str]:
    return list(audit.findings.loc[audit.findings["strong_cents"] > 0, "explanation"])


def _dearer(due: dict[str, int], ppm: int, percent: Decimal) -> dict[str, int]:
    """All but fuel dearer, and fuel on that."""
    more = {charge: (cents * ppm + 500_000) // 1_000_000 for charge, cents in due.items() if charge != "fuel"}
    return more | {"fuel": plainly.fuel(more, percent)}


def test_another_senders_prices_are_no_rise_and_no_wrong_rate(tmp_path: Path) -> None:
    """Two statements by turns, one of which is 13 % dearer from its first day: the table is not of that one."""
    audit = _month(tmp_path, lambda place, _, due: _dearer(due, 1_130_000, Decimal(21)) if place % 2 else due, two=True)
    assert _strong(audit) == []
    [told] = [one.message for one in audit.problems if "does not hold" in one.message]
    assert told == (
        "All labels of statement N-1 have prices 13 % higher than your price table says, from its first day on, and "
        "those of other statements follow that table: it does not hold for this one. Give the prices of its sender "
        "under a service name of their own; until then no difference from the table is called strong."
    )
    assert not audit.findings["explanation"].str.contains("your table is older").any()
    assert not audit.findings.loc[audit.findings["statement"] == "N-0", "difference_cents"].any()


def test_a_price_that_the_program_raised_is_no_strong_case_for_a_cent(tmp_path: Path) -> None:
    """All prices are 5.9 % higher from the 16th on; one is rounded another way, by a cent or a few."""
    day = date(2026, 3, 16)
    write_prices(tmp_path)
    prices = plainly.read_prices(tmp_path)

    def labels(place: int, one: Shipment, due: dict[str, int]) -> dict[str, int]:
        raised = _dearer(due, 1_059_000, prices.percent(one.shipped_on)) if one.shipped_on >= day else due
        return raised | ({"freight": raised["freight"] + 3} if one.shipped_on > day and not place % 9 else {})

    audit = _month(tmp_path, labels)
    assert audit.findings["explanation"].str.contains("your table is older").any()
    assert _strong(audit) == []
    assert not audit.findings["dispute_reason"].str.contains("your price table").any()
    told = next(one.facts for one in audit.workings.findings.values() if one.facts and "rates" in one.facts.learned)
    letter = reason("rate", Ground({}, told, rounded=False, photographed=False, places=()))
    assert "what your other labels show comes to" in letter
    assert "our price list" not in letter


def test_several_unrecorded_parcels_alike_are_a_question_first(tmp_path: Path) -> None:
    """A new carton and a new range of numbers: rather a batch that was not written down than another's."""
    audit = _month(tmp_path, lambda _place, _one, due: due, size=(31, 17, 9))
    unknown = audit.findings[audit.findings["cause"] == "unknown parcel"]
    assert set(unknown["dispute"]) == {"none"}
    assert unknown["dispute_reason"].str.startswith("a question first").all()
    assert unknown["explanation"].str.contains("it is one of 6 alike on this statement").all()


def test_tax_on_each_parcel_leaves_its_figures_as_they_were_read(tmp_path: Path) -> None:
    """The tax stands below the correction, with the figures of the label."""
    write_prices(tmp_path)
    prices = plainly.read_prices(tmp_path)
    shipments = [
        replace(one, packed_size="", packed_weight="", photo="")
        for one in ship(Random(11), 60)
        if one.service == GROUND
    ]
    write_shipments(tmp_path, shipments)
    lines: list[Line] = []
    for one in shipments:
        length, *others = plainly.falling(one.declared.sides)
        read = replace(one.declared, sides=(length + 2, *others))
        due, after = (plainly.charges(parcel, prices) for parcel in (one.declared, read))
        plain = Line(one.tracking, one.shipped_on, one.service, one.zone, "", "label", 0, order=one.order)
        label, shown = (replace(plain, sides=plainly.whole(parcel.sides)) for parcel in (one.declared, read))
        added = sum(after.values()) - sum(due.values())
        mine = [replace(label, charge=charge, cents=due[charge]) for charge in due]
        mine += [replace(shown, charge="re-rate after audit", cents=added)] if added else []
        lines += [*mine, replace(label, charge="sales tax", kind="tax", cents=sum(after.values()) * 725 // 10_000)]
    write_statement(tmp_path / "N-1.csv", "N-1", "2026-04-01", lines)
    audit = auditor.reconcile([tmp_path])
    assert len(audit.findings) > 5
    assert not audit.findings["cause"].eq("unexplained").any()


@pytest.mark.parametrize("percent", [6])
def test_a_fee_that_is_older_in_the_table_is_still_that_fee(tmp_path: Path, percent: int) -> None:
    """Its amount differs from the table by the same for all: one finding, and no word that is not believed."""

    def labels(_place: int, _one: Shipment, due: dict[str, int]) -> dict[str, int]:
        if "residential" not in due:
            return due
        more = due["residential"] * percent // 100
        return due | {"residential": due["residential"] + more}

    audit = _month(tmp_path, labels)
    assert not any("would be residential by its words" in one.message for one in audit.problems)
    assert audit.findings["explanation"].str.contains("the amount of residential rose by").any()


def test_one_sum_a_parcel_that_is_its_whole_price_is_right(tmp_path: Path) -> None:
    """Freight, surcharges and fuel in one line: nothing is said of fuel, of tables or of a rate."""
    audit = _month(tmp_path, lambda _place, _one, due: {"Shipment charge": sum(due.values())})
    assert audit.findings.empty
    assert audit.difference_cents == 0
    assert not any("price table" in one.message for one in audit.problems)
