"""The month's CSV files: the shop's records and prices, a statement, and the list of what was planted."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path

from tests.months.billing import Line, Truth
from tests.months.scenario import CARTON, CARTONS, Shipment, fees, fuel, rates

WORDS = {
    "freight": "Freight",
    "additional handling": "Additional handling",
    "large parcel": "Large parcel",
    "residential": "Residential delivery",
    "fuel": "Fuel surcharge",
    "address correction": "Address correction",
    "correction fee": "Correction fee",
    "pickup service": "Pickup service",
    "tax": "Sales tax",
}
"""Norrhaven Parcel's words for the charges; unknown words stand as they are."""


def money(cents: int) -> str:
    """1234 → '12.34', -5 → '-0.05'."""
    return f"{'-' if cents < 0 else ''}{abs(cents) // 100}.{abs(cents) % 100:02d}"


def write_csv(path: Path, headings: str, rows: Iterable[Sequence[object]]) -> None:
    """A CSV file; `headings` are parted by commas."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(headings.split(", "))
        writer.writerows(rows)


def write_prices(folder: Path) -> None:
    """rates.csv, fees.csv and fuel.csv."""
    write_csv(
        folder / "rates.csv",
        "Service, Zone, Weight up to (lb), Price, Effective date",
        ((service, zone, weight, money(cents), day) for service, zone, weight, cents, day in rates()),
    )
    write_csv(
        folder / "fees.csv",
        "Charge, Amount, Zone, Effective date",
        ((charge, money(cents), zone, day) for charge, cents, zone, day in fees()),
    )
    write_csv(folder / "fuel.csv", "Effective date, Percent, Service", ((day, percent, "") for day, percent in fuel()))


def write_cartons(folder: Path) -> None:
    """cartons.csv."""
    headings = "Carton, Length (in), Width (in), Height (in)"
    headings += ", Unit cost, Empty weight (lb), Usual weight (lb), Usual trim (in)"
    rows = ((c.name, *c.sides, money(c.unit_cost), c.empty_weight, c.usual_weight, c.usual_trim or "") for c in CARTONS)
    write_csv(folder / "cartons.csv", headings, rows)


def write_shipments(folder: Path, shipments: Iterable[Shipment]) -> None:
    """shipments.csv, with the buyers' names that must go no further."""
    headings = "Tracking number, Order, Buyer, Ship date, Service, Zone, Postcode, Residential, Carton, Size, Weight"
    headings += ", Label cost, Shipping paid, Packed size, Packed weight, Photo, Voided"
    rows = (
        (
            s.tracking,
            s.order,
            s.buyer,
            s.shipped_on,
            s.service,
            s.zone,
            s.postcode,
            "yes" if s.residential else "no",
            s.carton,
            s.size,
            s.weight,
            money(s.label_cost),
            money(CARTON[s.carton].buyer_pays),
            s.packed_size,
            s.packed_weight,
            s.photo,
            "yes" if s.voided else "",
        )
        for s in shipments
    )
    write_csv(folder / "shipments.csv", headings, rows)


def write_statement(path: Path, statement: str, day: str, lines: Sequence[Line]) -> None:
    """A statement as CSV, a row a charge, with its total below."""
    headings = "Statement, Statement date, Tracking number, Ship date, Service, Zone, Charge, Billed weight (lb)"
    headings += (
        ", Billed length (in), Billed width (in), Billed height (in), Scale weight (lb), Order reference, Amount"
    )
    rows: list[tuple[object, ...]] = [
        (
            statement,
            day,
            line.number,
            line.shipped_on,
            line.service,
            line.zone,
            _words(line),
            line.weight or "",
            *(line.sides or ("", "", "")),
            line.scale,
            line.order,
            money(line.cents),
        )
        for line in lines
    ]
    total = ("Statement total", *[""] * 12, money(sum(line.cents for line in lines)))
    write_csv(path, headings, [*rows, total])


def _words(line: Line) -> str:
    words = WORDS.get(line.charge, line.charge)
    if line.kind == "credit":
        return f"Credit - {words.lower()}"
    return f"{words} adjustment" if line.kind == "adjustment" else words


SHARES = ("box length", "box girth", "declared weight", "rounding")


def write_planted(path: Path, planted: Iterable[tuple[str, Truth]]) -> None:
    """What must be found, by statement; a label never billed has neither a statement nor amounts."""
    headings = "statement, tracking, cause, billed, expected, difference"
    headings += ", box_length, box_girth, declared_weight, rounding, other"
    write_csv(path, headings, (_planted(statement, truth) for statement, truth in planted))


def _planted(statement: str, truth: Truth) -> tuple[str, ...]:
    if truth.shares is None:
        return "", truth.tracking, truth.cause, *[""] * 8
    own = [truth.shares.get(cause, 0) for cause in SHARES]
    difference = truth.billed - truth.expected
    amounts = [truth.billed, truth.expected, difference, *own, difference - sum(own)]
    return statement, truth.tracking, truth.cause, *map(money, amounts)
