"""The shop's own files, in the plain headings that README.md tells, as far as they are known."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from tests.layouts.drawn.month import CARTONS, Month, Shipment

KNOWN = ("all", "no prices", "no label costs", "half", "nothing")
"""What there is beside the statement."""


def write(month: Month, folder: Path, known: str) -> Iterator[Path]:
    """Records, cartons and prices, without what is not known."""
    if known == "nothing":
        return
    shipments = month.shipments[::2] if known == "half" else month.shipments
    yield _records(folder / "records.csv", shipments, costs=known != "no label costs")
    sides = ((name, *CARTONS[name][0]) for name in month.cartons)
    yield csv_file(folder / "cartons.csv", ("Carton", "Length (in)", "Width (in)", "Height (in)"), sides)
    if known != "no prices":
        yield from _prices(month, folder)


def money(cents: int) -> str:
    """1234 → '12.34'."""
    return f"{cents // 100}.{cents % 100:02d}"


def _records(path: Path, shipments: Sequence[Shipment], *, costs: bool) -> Path:
    headings = (
        *("Tracking number", "Order", "Ship date", "Service", "Zone", "Residential", "Carton", "Size", "Weight"),
        *(("Label cost",) if costs else ()),
    )
    return csv_file(path, headings, (_record(shipment, costs=costs) for shipment in shipments))


def _record(shipment: Shipment, *, costs: bool) -> tuple[object, ...]:
    pounds, ounces = divmod(int(shipment.weight * 16), 16)
    return (
        shipment.tracking,
        shipment.order,
        shipment.shipped_on,
        shipment.service,
        shipment.zone,
        "yes" if shipment.residential else "no",
        shipment.carton,
        " x ".join(map(str, shipment.sides)) + " in",
        f"{pounds} lb {ounces} oz" if ounces else f"{pounds} lb",
        *((money(shipment.label_cents),) if costs else ()),
    )


def _prices(month: Month, folder: Path) -> Iterator[Path]:
    prices = month.prices
    rates = (
        (service, zone, weight, money(cents), day)
        for (service, zone), by_day in prices.rates.items()
        for day, listed in by_day.items()
        for weight, cents in listed
    )
    yield csv_file(folder / "rates.csv", ("Service", "Zone", "Weight up to (lb)", "Price", "Effective date"), rates)
    fees = (
        (charge, money(cents), zone, day) for (charge, zone), on in prices.fees.items() for day, cents in on.items()
    )
    yield csv_file(folder / "fees.csv", ("Charge", "Amount", "Zone", "Effective date"), fees)
    fuel = ((day, percent, "") for day, percent in prices.fuel.items())
    yield csv_file(folder / "fuel.csv", ("Effective date", "Percent", "Service"), fuel)


def csv_file(path: Path, headings: Sequence[str], rows: Iterable[Sequence[object]]) -> Path:
    """The path of a CSV file of those rows."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(headings)
        writer.writerows(rows)
    return path
