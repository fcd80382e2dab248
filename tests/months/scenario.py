"""The invented shop, its cartons, its prices, and the parcels it ships in March 2026."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from random import Random

from tests.months.plainly import Parcel, inches, pounds

SHOP = "Quillmoor Instruments"
GROUND, PARCEL, EXPRESS = "Ground", "Parcel", "Express"
"""Services: Ground and Express of Norrhaven Parcel, Parcel of Larkrise Post. The shop buys no Express."""

FIRST_DAY, DAYS = date(2026, 3, 2), 30
SUNDAY = 6
ZONES = range(2, 9)


@dataclass(frozen=True)
class Carton:
    """A carton of the shop: inches, cents, pounds; the weights typed on its labels; what the buyer pays for shipping.

    `share`: how many of a hundred parcels go in it.
    """

    name: str
    sides: tuple[int, int, int]
    unit_cost: int
    empty_weight: str
    usual_weight: str
    usual_trim: int
    weights: tuple[str, ...]
    buyer_pays: int
    share: int

    @property
    def size(self) -> str:
        """'44 x 6 x 6 in'."""
        return size_text(self.sides)


CARTONS = (
    Carton("stand tube", (44, 6, 6), 385, "1.1", "5", 0, ("5 lb", "3 lb 4 oz", "8 lb", "5 lb"), 1800, 22),
    Carton("uke box", (28, 12, 6), 290, "1.4", "5", 0, ("5 lb", "4 lb 8 oz", "6 lb"), 1900, 14),
    Carton("guitar box", (48, 20, 8), 765, "3.6", "14", 0, ("14 lb", "12 lb", "11 lb 8 oz", "14 lb"), 3800, 16),
    Carton("keyboard box", (46, 18, 8), 640, "3.2", "22", 6, ("22 lb", "25 lb", "18 lb"), 3600, 10),
    Carton("pedal box", (12, 10, 8), 115, "0.6", "3", 0, ("3 lb", "4 lb", "6 lb", "2 lb 8 oz"), 1500, 30),
    Carton("horn case box", (38, 16, 14), 820, "3.9", "13", 0, ("13 lb", "15 lb", "12 lb"), 4200, 8),
)
CARTON = {carton.name: carton for carton in CARTONS}


def size_text(sides: tuple[int, ...]) -> str:
    """44, 6, 6 → '44 x 6 x 6 in'."""
    return " x ".join(map(str, sides)) + " in"


# Prices, in cents

OLD, NEW, MID_MARCH = date(2025, 1, 6), date(2025, 12, 29), date(2026, 3, 16)


def price(service: str, zone: int, weight: int) -> int:
    """A smooth price list: it rises with weight and zone, ever more gently with weight."""
    far = zone - 2
    if service == GROUND:
        return 598 + 41 * far + weight * (205 + 46 * far) // 10 - weight * weight * zone // 90
    if service == PARCEL:
        return 561 + 38 * far + weight * (218 + 49 * far) // 10 - weight * weight * zone // 84
    return 989 + 77 * far + weight * (402 + 88 * far) // 10 - weight * weight * zone // 70


def rates() -> Iterator[tuple[str, int, int, int, date]]:
    """Service, zone, weight up to, price, first day; the older list is about 6 % lower."""
    for service in (GROUND, PARCEL, EXPRESS):
        for first_day in (OLD, NEW):
            for zone in ZONES:
                for weight in range(1, 151):
                    now = price(service, zone, weight)
                    yield service, zone, weight, now if first_day == NEW else now * 1000 // 1062, first_day


def fees() -> Iterator[tuple[str, int, str, date]]:
    """Charge, amount, zone ("" for all), first day."""
    for zone in ZONES:
        yield "additional handling", 2815 + 172 * (zone - 2), str(zone), OLD
        yield "additional handling", 2950 + 183 * (zone - 2), str(zone), NEW
    for zone in ZONES:
        yield "large parcel", 21950 + 1845 * (zone - 2), str(zone), NEW
    yield "residential", 562, "", OLD
    yield "residential", 608, "", NEW
    yield "residential", 617, "", MID_MARCH
    yield "address correction", 2125, "", NEW
    yield "correction fee", 135, "", NEW
    yield "pickup service", 1745, "", NEW


FUEL_QUARTERS = (57, 57, 58, 60, 61, 61, 59, 58, 60, 61, 63, 65, 64, 66, 67, 65, 64)
"""Weekly percentages from Monday 5 January 2026, in quarters of a percent."""


def fuel() -> Iterator[tuple[date, str]]:
    """First day and percent, '15.25'."""
    for week, quarters in enumerate(FUEL_QUARTERS):
        yield date(2026, 1, 5) + timedelta(weeks=week), f"{quarters // 4}.{quarters % 4 * 25:02d}"


# Parcels


@dataclass(frozen=True)
class Shipment:
    """A parcel as the shop recorded it; texts as typed, money in cents."""

    tracking: str
    order: str
    buyer: str
    shipped_on: date
    service: str
    zone: str
    postcode: str
    residential: bool
    carton: str
    size: str
    weight: str
    label_cost: int = 0
    packed_size: str = ""
    packed_weight: str = ""
    photo: str = ""
    voided: bool = False

    @property
    def declared(self) -> Parcel:
        """The figures on the label."""
        sides, weight = inches(self.size), pounds(self.weight)
        return Parcel(self.service, self.zone, self.shipped_on, sides, weight, self.residential)


GIVEN_NAMES = ("Maren", "Tobias", "Ilse", "Anselm", "Priya", "Wendell", "Odette", "Kofi", "Linnea", "Rufus", "Mei")
FAMILY_NAMES = ("Oduya", "Fenwick", "Hallam", "Brandvold", "Castellan", "Nakagawa", "Pell", "Sorley", "Quist", "Abara")
POSTCODE_STARTS = {2: "441", 3: "452", 4: "191", 5: "010", 6: "331", 7: "802", 8: "981"}
NORRHAVEN_IN_TEN = 6
AT_HOME_IN_TEN = 6


def ship(rng: Random, parcels: int) -> list[Shipment]:
    """That many parcels of the month, in order of their days."""
    workdays = [day for day in (FIRST_DAY + timedelta(days=n) for n in range(DAYS)) if day.weekday() != SUNDAY]
    days = sorted(rng.choice(workdays) for _ in range(parcels))
    serials: dict[tuple[str, date], int] = {}
    return [_shipment(rng, day, f"Q-{10_000 + number}", serials) for number, day in enumerate(days, 1)]


def _shipment(rng: Random, day: date, order: str, serials: dict[tuple[str, date], int]) -> Shipment:
    service = GROUND if rng.randrange(10) < NORRHAVEN_IN_TEN else PARCEL
    serial = serials[service, day] = serials.get((service, day), 0) + rng.randint(1, 37)
    zone = rng.choice(ZONES)
    carton = rng.choices(CARTONS, [carton.share for carton in CARTONS])[0]
    weight = rng.choice(carton.weights)
    measured = rng.randrange(10) < 3
    return Shipment(
        tracking=_tracking(service, day, serial),
        order=order,
        buyer=f"{rng.choice(GIVEN_NAMES)} {rng.choice(FAMILY_NAMES)}",
        shipped_on=day,
        service=service,
        zone=str(zone),
        postcode=f"{POSTCODE_STARTS[zone]}{rng.randrange(100):02d}",
        residential=rng.randrange(10) < AT_HOME_IN_TEN,
        carton=carton.name,
        size=carton.size,
        weight=weight,
        packed_size=carton.size if measured else "",
        packed_weight=_a_little_less(weight, rng) if measured else "",
        photo=f"{order}.jpg" if measured and rng.randrange(3) else "",
    )


def _tracking(service: str, day: date, serial: int) -> str:
    if service == GROUND:
        return f"NP44100{day:%y%m%d}{serial:05d}"
    return f"LK2207{day:%y%m%d}{serial:08d}"


def _a_little_less(weight: str, rng: Random) -> str:
    """A weight up to half a pound below the typed one, to the ounce."""
    ounces = int(pounds(weight) * 16) - rng.randint(0, 8)
    return f"{ounces // 16} lb {ounces % 16} oz" if ounces % 16 else f"{ounces // 16} lb"


def quantity(value: Fraction) -> str:
    """'48.2' of 241/5; exact, as every reading has at most two decimals."""
    hundredths = int(value * 100)
    return f"{hundredths // 100}.{hundredths % 100:02d}".rstrip("0").rstrip(".")
