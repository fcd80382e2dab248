"""A shop that buys labels one by one, each at one price, and what is corrected of them weeks later."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from random import Random

from tests.layouts.drawn.month import CARTONS, SERVICES
from tests.months import plainly

FIRST_DAY = date(2026, 2, 2)
CAUSES = ("length", "girth", "weight", "rounding", "wrong", "twice", "returned")
"""Why a correction is made: by what was measured; not following from that; made already; given back later."""


@dataclass(frozen=True)
class Label:
    """A label as the shop bought it: whole inches, whole ounces, cents."""

    tracking: str
    order: str
    bought_on: date
    service: str
    zone: int
    carton: str
    sides: tuple[int, ...]
    ounces: int
    cents: int = 0
    voided: bool = False

    @property
    def parcel(self) -> plainly.Parcel:
        """The figures typed on it."""
        sides = tuple(Fraction(side) for side in self.sides)
        weight = Fraction(self.ounces, 16)
        return plainly.Parcel(self.service, str(self.zone), self.bought_on, sides, weight, residential=False)


@dataclass(frozen=True)
class Correction:
    """A correction of a label: what was measured (sides in tenths of an inch, ounces) and what was taken for it.

    `theirs`: cents of it that do not follow from what was measured.
    """

    label: Label
    on: date
    cause: str
    tenths: tuple[int, ...]
    ounces: int
    right: int
    fee: int = 0
    theirs: int = 0

    @property
    def difference(self) -> int:
        """What was taken: what is right less what was paid; the other way round where it is given back."""
        more = self.right - self.label.cents
        return -more if self.cause == "returned" else more


@dataclass(frozen=True)
class Shop:
    """All of it, corrections in the order of their days; `rates` as a list of the seller's own prices."""

    labels: tuple[Label, ...]
    corrections: tuple[Correction, ...]
    prices: plainly.Prices
    cartons: tuple[str, ...]


def shop(chance: Random) -> Shop:
    """A shop drawn at random."""
    services, cartons = chance.choice(SERVICES), tuple(chance.sample(sorted(CARTONS), chance.randint(3, 5)))
    prices = _prices(chance, services)
    labels = tuple(_labels(chance, services, cartons, prices))
    corrections = sorted(_corrections(chance, labels, prices), key=lambda one: (one.on, one.label.tracking))
    return Shop(labels, tuple(corrections), prices, cartons)


def price(parcel: plainly.Parcel, prices: plainly.Prices) -> int:
    """What a label costs, as one amount."""
    return sum(plainly.charges(parcel, prices).values())


def _prices(chance: Random, services: Sequence[str]) -> plainly.Prices:
    since = FIRST_DAY.replace(month=1, day=1)
    rates = {}
    for service in services:
        start, by_zone, slope = chance.randint(380, 790), chance.randint(22, 95), chance.randint(90, 260)
        for zone in range(2, 9):
            far = zone - 2
            listed = [(Decimal(w), start + by_zone * far + w * (slope + slope * far // 5) // 10) for w in range(1, 161)]
            rates[service, str(zone)] = {since: listed}
    fees = {("additional handling", ""): chance.randint(890, 2450), ("large parcel", ""): chance.randint(4950, 9900)}
    return plainly.Prices(rates, {key: {since: cents} for key, cents in fees.items()}, {since: Decimal(0)})


def _labels(chance: Random, services: Sequence[str], cartons: Sequence[str], prices: plainly.Prices) -> Iterator[Label]:
    """The same size and nearly always the same round weight for each carton, as they are typed in the evening."""
    digits, prefix, order = (
        chance.randint(10, 14),
        chance.choice(("", "", "LB", "9200", "QT0")),
        chance.randint(100, 9000),
    )
    zones = chance.sample(range(2, 9), chance.randint(3, 7))
    for day in sorted(chance.randrange(40) for _ in range(chance.randint(70, 200))):
        carton = chance.choice(cartons)
        sides, usual = CARTONS[carton]
        order += chance.randint(1, 5)
        label = Label(
            tracking=f"{prefix}{chance.randint(10 ** (digits - 1), 10**digits - 1)}",
            order=f"Q-{order}",
            bought_on=FIRST_DAY + timedelta(days=day),
            service=services[chance.random() > 0.7],
            zone=chance.choice(zones),
            carton=carton,
            sides=sides,
            ounces=16 * (usual + (chance.random() < 0.2)),
        )
        yield replace(label, cents=price(label.parcel, prices), voided=chance.random() < 0.02)


def _corrections(chance: Random, labels: Sequence[Label], prices: plainly.Prices) -> Iterator[Correction]:
    fee = chance.choice((0, 0, 0, 75, 120))
    used = [label for label in labels if not label.voided]
    for label in chance.sample(used, max(8, int(len(used) * chance.uniform(0.1, 0.3)))):
        made = _measured(chance, label, prices, fee)
        if made is None:
            continue
        if chance.random() < 0.06:
            wrong = chance.randint(90, 900)
            yield replace(made, cause="wrong", right=made.right + wrong, theirs=wrong)
            continue
        yield made
        if chance.random() < 0.04:
            yield replace(
                made, cause="twice", on=made.on + timedelta(days=chance.randint(1, 6)), theirs=made.difference
            )
        elif chance.random() < 0.04:
            yield replace(made, cause="returned", on=made.on + timedelta(days=chance.randint(2, 9)), fee=0)


def _measured(chance: Random, label: Label, prices: plainly.Prices, fee: int) -> Correction | None:
    cause = chance.choice(("length", "length", "girth", "weight", "weight", "rounding"))
    tenths, ounces = [10 * side for side in label.sides], label.ounces
    if cause == "length":
        tenths[0] += chance.randint(4, 38)
    elif cause == "girth":
        tenths = [tenths[0], *(side + chance.randint(4, 28) for side in tenths[1:])]
    elif cause == "rounding":
        tenths[0] += chance.randint(1, 2)
    else:
        ounces += chance.randint(5, 90)
    sides = tuple(Fraction(side, 10) for side in tenths)
    right = price(replace(label.parcel, sides=sides, weight=Fraction(ounces, 16)), prices)
    if right == label.cents:
        return None
    on = label.bought_on + timedelta(days=chance.randint(4, 25))
    return Correction(label, on, cause, tuple(sorted(tenths, reverse=True)), ounces, right, fee)
