"""Months of a small invented shop, as tables of text: its records and price tables, and its carriers' statements."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

Rows = tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Sheet:
    """A table as it is written: headings and rows of cells, the sign between cells, the character set."""

    headings: tuple[str, ...]
    rows: Rows
    delimiter: str = ","
    encoding: str = "utf-8"
    headed: bool = True


Files = Mapping[str, "Sheet | str"]
"""Tables and plain texts by file name."""

CARTONS = {
    "stand tube": ((44, 6, 6), 4),
    "guitar box": ((48, 20, 8), 14),
    "uke box": ((28, 12, 6), 5),
    "pedal box": ((12, 10, 8), 6),
}
FIRST_DAY = date(2025, 10, 1)
FUEL_PERCENT = 15
DIVISOR = 139


@dataclass(frozen=True)
class Parcel:
    """A parcel as recorded, and how many inches and pounds more the carrier read."""

    tracking: str
    order: str
    shipped_on: date
    service: str
    zone: int
    home: bool
    carton: str
    longer: float
    heavier: float

    @property
    def sides(self) -> tuple[int, int, int]:
        """As declared, in."""
        return CARTONS[self.carton][0]

    @property
    def pounds(self) -> int:
        """As declared."""
        return CARTONS[self.carton][1]

    def charges(self, *, read: bool) -> dict[str, int]:
        """Cents by charge, by the carrier's figures or the declared ones."""
        length = self.sides[0] + (self.longer if read else 0)
        found = {"Freight": freight(self.billable(read=read), self.zone)}
        found |= {"Residential": 595} if self.home else {}
        found |= {"Additional handling": 2950} if math.ceil(length) > 48 else {}
        return {**found, "Fuel surcharge": (sum(found.values()) * FUEL_PERCENT + 50) // 100}

    def billable(self, *, read: bool) -> int:
        """Pounds."""
        longer, heavier = (self.longer, self.heavier) if read else (0, 0)
        length, width, height = self.sides
        by_size = math.ceil(length + longer) * width * height / DIVISOR
        return max(math.ceil(self.pounds + heavier), math.ceil(by_size))


def freight(pounds: int, zone: int) -> int:
    """Cents."""
    return 900 + 50 * pounds + 37 * zone


def shop(seed: int, *, months: int, parcels: int, carriers: int, prefix: str = "4410") -> Files:
    """The files of a shop.

    Args:
        seed: everything follows from it.
        months: how many, from October 2025 on.
        parcels: in all.
        carriers: 1 or 2.
        prefix: of its tracking numbers.
    """
    rng = Random(seed)
    recorded = sorted(_parcels(rng, months, parcels, carriers, prefix), key=lambda parcel: parcel.shipped_on)
    files: dict[str, Sheet | str] = {"shipments.csv": _shipments(recorded)}
    files["cartons.csv"] = _sheet(
        "Carton,Length (in),Width (in),Height (in),Unit cost,Usual weight (lb)",
        ((name, *map(str, sides), "2.90", str(pounds)) for name, (sides, pounds) in CARTONS.items()),
    )
    files |= _prices()
    layouts = {"NP": rng.choice([_account, _by_column]), "LK": rng.choice([_corrections, _account])}
    for carrier, layout in layouts.items():
        for month in sorted({(one.shipped_on.year, one.shipped_on.month) for one in recorded}):
            mine = [one for one in recorded if one.tracking.startswith(carrier) and _month(one) == month]
            if mine:
                name = f"{carrier}-{month[0]}-{month[1]:02d}"
                files[f"{name}.csv"] = layout(name, mine, rng)
    files["notice.eml"] = _notice(rng.choice(recorded))
    return files


def trackings(files: Files) -> list[str]:
    """The numbers in the records, as far as they have a first column."""
    records = [sheet for name, sheet in files.items() if name.startswith("shipments.") and isinstance(sheet, Sheet)]
    return [row[0] for sheet in records for row in sheet.rows if row]


def _month(parcel: Parcel) -> tuple[int, int]:
    return parcel.shipped_on.year, parcel.shipped_on.month


def _parcels(rng: Random, months: int, count: int, carriers: int, prefix: str) -> Iterator[Parcel]:
    favourites = rng.sample(sorted(CARTONS), rng.randint(1, len(CARTONS)))
    for number in range(count):
        carrier = rng.choice(["NP", "LK"][:carriers])
        yield Parcel(
            tracking=f"{carrier}{prefix}{number:06d}",
            order=f"Q-{prefix}{number}",
            shipped_on=FIRST_DAY + timedelta(days=rng.randrange(30 * months)),
            service="Ground" if carrier == "NP" else "Parcel",
            zone=rng.randint(2, 8),
            home=rng.random() < 0.3,
            carton=rng.choice(favourites),
            longer=rng.choice([0, 0, 0, 0.2, 0.5, 1, 6]),
            heavier=rng.choice([0, 0, 0, 0.3, 1.2, 4]),
        )


def _sheet(headings: str, rows: Iterator[tuple[str, ...]] | Sequence[tuple[str, ...]]) -> Sheet:
    return Sheet(tuple(headings.split(",")), tuple(rows))


def _dollars(cents: int) -> str:
    return f"{'-' if cents < 0 else ''}{abs(cents) // 100}.{abs(cents) % 100:02d}"


def _size(sides: Sequence[float]) -> str:
    return " x ".join(f"{side:g}" for side in sides) + " in"


def _read_size(one: Parcel) -> str:
    length, width, height = one.sides
    return _size((length + one.longer, width, height))


def _shipments(parcels: Sequence[Parcel]) -> Sheet:
    return _sheet(
        "Tracking number,Order,Ship date,Service,Zone,Residential,Carton,Size,Weight,Label cost,Shipping paid,"
        "Packed size,Packed weight,Voided",
        [
            (
                *(
                    one.tracking,
                    one.order,
                    f"{one.shipped_on}",
                    one.service,
                    str(one.zone),
                    "yes" if one.home else "no",
                ),
                *(one.carton, _size(one.sides), f"{one.pounds} lb"),
                *(_dollars(sum(one.charges(read=False).values())), "25.00"),
                *((_read_size(one), f"{one.pounds + one.heavier:g} lb") if number % 4 == 0 else ("", "")),
                "yes" if number % 17 == 16 else "",
            )
            for number, one in enumerate(parcels)
        ],
    )


def _prices() -> dict[str, Sheet]:
    weights = [*range(1, 31), 70, 150]
    rates = [
        (service, str(zone), str(pounds), _dollars(freight(pounds, zone)), "2025-01-06")
        for service in ("Ground", "Parcel")
        for zone in range(2, 9)
        for pounds in weights
    ]
    fees = [("additional handling", "29.50"), ("residential", "5.95"), ("correction fee", "1.25")]
    return {
        "rates.csv": _sheet("Service,Zone,Weight up to (lb),Price,Effective date", rates),
        "fees.csv": _sheet("Charge,Amount,Effective date", [(*fee, "2025-01-06") for fee in fees]),
        "fuel.csv": _sheet("Effective date,Percent", [("2025-01-06", str(FUEL_PERCENT))]),
    }


def _billed_on(parcels: Sequence[Parcel]) -> str:
    return f"{max(one.shipped_on for one in parcels) + timedelta(days=5)}"


def _account(name: str, parcels: Sequence[Parcel], rng: Random) -> Sheet:
    """A line for each charge, with corrections, a credit, a charge about no parcel and a total."""
    day = _billed_on(parcels)
    rows = [(name, day, *line) for one in parcels for line in _lines(one, rng)]
    rows.append((name, day, "", "", "", "", "Pickup service", "", "12.00"))
    total = sum(round(100 * float(row[-1])) for row in rows)
    rows.append(("Statement total", *[""] * 7, _dollars(total)))
    return _sheet(
        "Statement,Statement date,Tracking number,Ship date,Service,Zone,Charge,Billed weight (lb),Amount", rows
    )


def _lines(one: Parcel, rng: Random) -> Iterator[tuple[str, ...]]:
    """What is billed of a parcel; with a little of what carriers get wrong."""
    about = (one.tracking, f"{one.shipped_on}", one.service, str(one.zone + (rng.random() < 0.05)))
    declared, read = one.charges(read=False), one.charges(read=True)
    for charge, cents in declared.items():
        yield *about, charge, str(one.billable(read=False)), _dollars(cents + 100 * (rng.random() < 0.03))
    if sum(read.values()) > sum(declared.values()):
        for charge, cents in read.items():
            if more := cents - declared.get(charge, 0):
                yield *about, f"{charge} adjustment", str(one.billable(read=True)), _dollars(more)
        yield *about, "Correction fee", "", "1.25"
    if rng.random() < 0.06:
        yield *about, "Freight", str(one.billable(read=False)), _dollars(declared["Freight"])
    if rng.random() < 0.06:
        yield *about, "Credit - freight", "", _dollars(-declared["Freight"] // 2)


def _by_column(name: str, parcels: Sequence[Parcel], rng: Random) -> Sheet:
    """A row for each parcel and a column for each charge."""
    columns = ("Freight", "Residential", "Additional handling", "Fuel surcharge")
    rows = []
    for one in parcels:
        charges = one.charges(read=rng.random() < 0.7)
        cents = [charges.get(column, 0) for column in columns]
        about = (name, one.tracking, f"{one.shipped_on}", one.service, str(one.zone), _read_size(one))
        rows.append((*about, str(one.billable(read=True)), *map(_dollars, cents), _dollars(sum(cents))))
    sums = [_dollars(sum(round(100 * float(row[column])) for row in rows)) for column in range(-5, 0)]
    rows.append(("Total", *[""] * 6, *sums))
    headings = "Invoice,Tracking,Ship date,Service,Zone,Billed size,Billed weight (lb)"
    return _sheet(f"{headings},{','.join(columns)},Total", rows)


def _corrections(name: str, parcels: Sequence[Parcel], rng: Random) -> Sheet:
    """Only parcels that cost more than what was paid for their labels."""
    rows = []
    for one in parcels:
        paid, due = (sum(one.charges(read=read).values()) for read in (False, True))
        if due > paid or rng.random() < 0.1:
            entered, measured = _size(one.sides), _read_size(one)
            weights = f"{one.pounds} lb", f"{one.pounds + one.heavier:g} lb"
            amounts = _dollars(paid), _dollars(due), _dollars(due - paid)
            rows.append((one.tracking, f"{one.shipped_on}", entered, measured, *weights, *amounts, f"{name} size"))
    headings = "Tracking number,Ship date,Entered size,Measured size,Entered weight,Measured weight,Paid,Correct amount"
    return _sheet(f"{headings},Adjustment,Reason", rows)


def _notice(one: Parcel) -> str:
    return (
        "From: Norrhaven Parcel <billing@norrhaven.example>\nTo: Quillmoor Instruments <workshop@quillmoor.example>\n"
        "Subject: Notice of adjustment\nDate: Wed, 01 Apr 2026 09:30:00 +0000\nMIME-Version: 1.0\n"
        'Content-Type: text/plain; charset="utf-8"\n\nWe measured the following at our sorting centre.\n\n'
        f"Tracking number: {one.tracking}\nDeclared size: {_size(one.sides)}\nMeasured size: {_read_size(one)}\n"
        f"Declared weight: {one.pounds} lb\nMeasured weight: {one.pounds + one.heavier:g} lb\nAdjustment: $43.18\n"
    )
