"""A month behind a statement: parcels, their prices, what is billed for them and what is corrected later."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from random import Random

from tests.months import plainly

LABEL, CORRECTION, BACK, ANEW, CREDIT, FEE, ACCOUNT = KINDS = (
    "label",
    "correction",
    "back",
    "anew",
    "credit",
    "fee",
    "account",
)
"""What a statement has to do with a parcel: its label, a correction of it as differences, or as the old label
taken back and another one charged, money given back, a fee of its own, and what is about no parcel."""

CHARGES = (
    *plainly.FUELLED,
    "fuel",
    "address correction",
    "correction fee",
    "pickup service",
    "tax",
)
SERVICES = (("Ground", "Swift"), ("Road", "Air"), ("Saver", "Express"), ("Ground", "Express"), ("Home", "Swift"))
CARTONS: Mapping[str, tuple[tuple[int, int, int], int]] = {
    "flat 10": ((10, 8, 4), 2),
    "cube 12": ((12, 12, 12), 6),
    "book 14": ((14, 11, 6), 9),
    "tall 20": ((20, 14, 10), 13),
    "long 36": ((36, 8, 6), 8),
    "tube 47": ((47, 6, 6), 5),
    "wide 24": ((24, 18, 16), 21),
    "chair 44": ((44, 20, 9), 27),
    "frame 50": ((50, 30, 5), 19),
    "rack 76": ((76, 16, 12), 41),
}
"""Each carton's sides in inches and usual weight in pounds."""


@dataclass(frozen=True)
class Shipment:
    """A parcel as the shop recorded it: inches, pounds, cents; `weight` is whole ounces."""

    tracking: str
    order: str
    shipped_on: date
    service: str
    zone: int
    residential: bool
    carton: str
    sides: tuple[int, ...]
    weight: Fraction
    postcode: str
    label_cents: int = 0

    @property
    def declared(self) -> plainly.Parcel:
        """The figures on the label."""
        sides = tuple(Fraction(side) for side in self.sides)
        return plainly.Parcel(self.service, str(self.zone), self.shipped_on, sides, self.weight, self.residential)


@dataclass(frozen=True)
class Line:
    """A planted charge: its class in the words of the rules, its state as LINES has it, cents."""

    charge: str
    state: str
    cents: int


@dataclass(frozen=True)
class Event:
    """One thing that the carrier bills: lines of different charges, with the weight and sides that it goes by.

    `about` is None where it is about no parcel; `weight` whole pounds, `sides` whole inches in falling order.
    """

    kind: str
    about: Shipment | None
    billed_on: date
    lines: tuple[Line, ...]
    weight: int = 0
    sides: tuple[int, ...] = ()

    @property
    def cents(self) -> int:
        """The sum of its lines."""
        return sum(line.cents for line in self.lines)


@dataclass(frozen=True)
class Month:
    """All of it, in the order of the days on which it was billed."""

    shipments: tuple[Shipment, ...]
    events: tuple[Event, ...]
    prices: plainly.Prices
    cartons: tuple[str, ...]
    first_day: date


def month(chance: Random) -> Month:
    """A month drawn at random."""
    first_day = date(2026, chance.randint(2, 10), 1)
    services, cartons = chance.choice(SERVICES), tuple(chance.sample(sorted(CARTONS), chance.randint(3, 5)))
    prices = _prices(chance, services, first_day)
    shipments = tuple(_shipments(chance, services, cartons, first_day, prices))
    events = list(_events(chance, shipments, prices))
    events += _about_no_parcel(chance, first_day, prices)
    tax = Decimal(chance.choice((5, 7, "8.25", 19, 20))) if chance.random() < 0.15 else Decimal(0)
    events = [_taxed(event, tax) for event in sorted(events, key=lambda event: event.billed_on)]
    recorded = _with_tax_paid(shipments, events) if chance.random() < 0.5 else shipments
    return Month(recorded, tuple(events), prices, cartons, first_day)


def _with_tax_paid(shipments: Sequence[Shipment], events: Sequence[Event]) -> tuple[Shipment, ...]:
    """The label's cost as one who records what was paid has it, tax included."""
    paid = {event.about.tracking: event.cents for event in events if event.about and event.kind == LABEL}
    return tuple(replace(shipment, label_cents=paid[shipment.tracking]) for shipment in shipments)


def _prices(chance: Random, services: Sequence[str], first_day: date) -> plainly.Prices:
    since = first_day.replace(year=first_day.year - 1, month=1)
    rates = {}
    for service in services:
        start, by_zone, slope = chance.randint(480, 990), chance.randint(22, 95), chance.randint(160, 460)
        for zone in range(2, 9):
            far = zone - 2
            listed = [(Decimal(w), start + by_zone * far + w * (slope + slope * far // 5) // 10) for w in range(1, 161)]
            rates[service, str(zone)] = {since: listed}
    fees = {(charge, ""): {since: cents} for charge, cents in _flat_fees(chance)}
    for charge, low, step in (("additional handling", 1890, 171), ("large parcel", 11_950, 1315)):
        start, more = low + chance.randint(0, 900), step + chance.randint(0, 60)
        fees |= {(charge, str(zone)): {since: start + more * (zone - 2)} for zone in range(2, 9)}
    quarter = chance.randint(40, 70)
    weeks = {first_day - timedelta(days=7 - 7 * n): Decimal(quarter + chance.randint(0, 5)) / 4 for n in range(6)}
    return plainly.Prices(rates, fees, weeks)


def _flat_fees(chance: Random) -> Iterator[tuple[str, int]]:
    yield "residential", chance.randint(380, 690)
    yield "address correction", chance.randint(1200, 2400)
    yield "correction fee", chance.randint(100, 260)
    yield "pickup service", chance.randint(900, 2600)


def _shipments(
    chance: Random, services: Sequence[str], cartons: Sequence[str], first_day: date, prices: plainly.Prices
) -> Iterator[Shipment]:
    numbers, orders, count = _numbers(chance), _orders(chance), chance.randint(40, 120)
    days = sorted(first_day + timedelta(days=chance.randrange(28)) for _ in range(count))
    at_home, mostly = chance.uniform(0.25, 0.75), chance.uniform(0.4, 0.8)
    for day in days:
        carton = chance.choice(cartons)
        sides, usual = CARTONS[carton]
        shipment = Shipment(
            tracking=next(numbers),
            order=next(orders),
            shipped_on=day,
            service=services[chance.random() > mostly],
            zone=chance.randint(2, 8),
            residential=chance.random() < at_home,
            carton=carton,
            sides=sides,
            weight=Fraction(chance.randint(usual * 10, usual * 22), 16),
            postcode=f"{chance.randint(10_000, 99_999)}",
        )
        yield replace(shipment, label_cents=sum(plainly.charges(shipment.declared, prices).values()))


def _numbers(chance: Random) -> Iterator[str]:
    """Numbers of one shape, each another."""
    prefix = chance.choice(("", "", "1Q", "TK", "8812", "94", "PKX0"))
    length, seen = chance.randint(9, 16), set[str]()
    while True:
        number = prefix + str(chance.randint(10 ** (length - 1), 10**length - 1))
        if number not in seen:
            seen.add(number)
            yield number


def _orders(chance: Random) -> Iterator[str]:
    prefix, order = chance.choice(("", "#", "SO-", "W", "A/")), chance.randint(1000, 80_000)
    while True:
        order += chance.randint(1, 9)
        yield f"{prefix}{order}"


def _events(chance: Random, shipments: Sequence[Shipment], prices: plainly.Prices) -> Iterator[Event]:
    """Labels, and what follows on some of them."""
    anew, fee, often = chance.random() < 0.3, chance.random() < 0.5, chance.uniform(0.06, 0.25)
    for place, shipment in enumerate(shipments):
        label = _label(shipment, prices)
        yield label
        if place in (3, 11) or chance.random() < often:
            yield from _corrected(chance, label, prices, anew=anew, fee=fee)
        if place == 5 or chance.random() < 0.03:
            due = prices.fee("address correction", str(shipment.zone), shipment.shipped_on)
            yield replace(
                label, kind=FEE, billed_on=_later(chance, label), lines=(Line("address correction", "fee", due),)
            )
        if place in (8, 21) and chance.random() < 0.6:
            lines = label.lines if chance.random() < 0.5 else label.lines[-1:]
            back = tuple(replace(line, state="credit", cents=-line.cents) for line in lines)
            yield replace(label, kind=CREDIT, billed_on=_later(chance, label), lines=back)


def _later(chance: Random, label: Event) -> date:
    return label.billed_on + timedelta(days=chance.randint(2, 12))


def _label(shipment: Shipment, prices: plainly.Prices) -> Event:
    lines = _lines(plainly.charges(shipment.declared, prices), "label charge")
    return _measured_as(shipment.declared, Event(LABEL, shipment, shipment.shipped_on, lines))


def _lines(cents: Mapping[str, int], state: str) -> tuple[Line, ...]:
    return tuple(Line(charge, state, cents[charge]) for charge in CHARGES if cents.get(charge))


def _measured_as(parcel: plainly.Parcel, event: Event) -> Event:
    return replace(
        event, weight=plainly.billable_weight(parcel.sides, parcel.weight), sides=plainly.whole(parcel.sides)
    )


def _corrected(chance: Random, label: Event, prices: plainly.Prices, *, anew: bool, fee: bool) -> Iterator[Event]:
    """The label billed again by what was measured, as differences or in full; nothing where that costs the same."""
    assert label.about
    declared = label.about.declared
    measured = _measured(chance, declared)
    before, after = plainly.charges(declared, prices), plainly.charges(measured, prices)
    due = {charge: after.get(charge, 0) - before.get(charge, 0) for charge in {**before, **after}}
    if not any(due.values()):
        return
    day, zone = _later(chance, label), declared.zone
    fees = [Line("correction fee", "fee", prices.fee("correction fee", zone, declared.shipped_on))] if fee else []
    if anew:
        back = tuple(replace(line, state="adjustment", cents=-line.cents) for line in label.lines)
        yield replace(label, kind=BACK, billed_on=day, lines=back)
        lines = (*_lines(after, "adjustment"), *fees)
        yield _measured_as(measured, replace(label, kind=ANEW, billed_on=day, lines=lines))
    else:
        lines = (*_lines(due, "adjustment"), *fees)
        yield _measured_as(measured, replace(label, kind=CORRECTION, billed_on=day, lines=lines))


def _measured(chance: Random, declared: plainly.Parcel) -> plainly.Parcel:
    longest, *others = declared.sides
    way = chance.randrange(4)
    if way == 0:
        return replace(declared, weight=declared.weight + Fraction(chance.randint(20, 110), 16))
    if way == 1:
        return replace(declared, sides=(longest + chance.randint(1, 4), *others))
    return replace(declared, sides=(longest, *(side + chance.randint(1, 3) for side in others)))


def _about_no_parcel(chance: Random, first_day: date, prices: plainly.Prices) -> Iterator[Event]:
    due = prices.fee("pickup service", "2", first_day)
    for week in range(chance.choice((0, 0, 1, 4))):
        yield Event(ACCOUNT, None, first_day + timedelta(days=7 * week + 4), (Line("pickup service", "fee", due),))


def _taxed(event: Event, percent: Decimal) -> Event:
    cents = int((event.cents * percent / 100).quantize(Decimal(1), ROUND_HALF_UP))
    return replace(event, lines=(*event.lines, Line("tax", "tax", cents))) if cents else event
