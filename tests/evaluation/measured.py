"""Months of parcels that the carrier's machines read otherwise than declared, by chance.

Whereas `tests.months` plants a plan of faults, here every reading is drawn: how often a carton is read longer, wider or
heavier, and by how much, differs from carton to carton and from seed to seed. The shapes of what is drawn are not those
that the package thinks likely beforehand.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from tests.months import plainly
from tests.months.billing import Billed, Line, Truth, bill, prepared
from tests.months.faults import HARMLESS, Fault
from tests.months.scenario import CARTONS, Shipment, quantity, ship
from tests.months.write import write_cartons, write_prices, write_shipments

CAUSES = (HARMLESS, "box length", "box girth", "declared weight", "rounding")
MISREAD = 0.35
"""The share of parcels that are read otherwise. Most change no charge, as on real scanners."""


@dataclass(frozen=True)
class Habit:
    """How a carton is read otherwise: weights of a longer side, other sides, more weight, and two of them at once."""

    kinds: tuple[float, float, float, float]
    inches: float
    pounds: float


def habits(random: Random) -> dict[str, Habit]:
    """A habit for each carton."""
    return {
        carton.name: Habit(
            kinds=tuple(random.gammavariate(0.7, 1) + 0.02 for _ in range(4)),  # type: ignore[arg-type]
            inches=random.uniform(0.5, 1.6),
            pounds=random.uniform(1.0, 5.0),
        )
        for carton in CARTONS
    }


def month(seed: int, parcels: int, *, at_once: bool = False, notices: bool = False) -> list[Billed]:
    """The parcels of a month, each with its lines and, where something must be found, the truth.

    `at_once`: the label itself is billed by the carrier's figures; otherwise adjustments follow, which show the sides
    as billed and the scale's weight. `notices`: the raw readings come by e-mail instead.
    """
    random = Random(seed)
    own = habits(random)
    prices = listed()
    made = []
    for number, shipment in enumerate(ship(random, parcels), 1):
        fault = Fault(HARMLESS, shipment.service)
        if random.random() < MISREAD:
            fault = drawn(shipment, own[shipment.carton], random)
            fault = replace(fault, at_once=at_once, scale=not at_once, fee=not at_once and random.random() < 0.3)
            fault = replace(fault, notice=number if notices else 0, reason="Size or weight above the declared figures")
        made.append(billed_by(shipment, fault, prices))
    return made


def listed() -> plainly.Prices:
    """The prices that every month goes by."""
    with TemporaryDirectory() as folder:
        write_prices(Path(folder))
        return plainly.read_prices(Path(folder))


def drawn(shipment: Shipment, habit: Habit, random: Random) -> Fault:
    """The figures that the machines read, by chance: sides to the hundredth of an inch, weight to that of a pound."""
    length, width, height = plainly.falling(plainly.inches(shipment.size))
    weight = plainly.pounds(shipment.weight)
    (kind,) = random.choices(("length", "girth", "weight", "both"), habit.kinds)
    if kind in ("length", "both"):
        length += _excess(habit.inches, random)
    if kind == "girth":
        width += _excess(habit.inches, random)
        height += _excess(habit.inches, random)
    if kind in ("weight", "both"):
        weight += _excess(habit.pounds, random)
    sides = " x ".join(map(quantity, (length, width, height)))
    return Fault(HARMLESS, shipment.service, sides=sides, weight=quantity(weight))


def _excess(mean: float, random: Random) -> Fraction:
    return Fraction(min(round(random.gammavariate(1.5, mean / 1.5) * 100), 900), 100)


def billed_by(shipment: Shipment, fault: Fault, prices: plainly.Prices) -> Billed:
    """The bill with the cause that comes out of it; a parcel that no carrier would take is read as declared."""
    for cause in CAUSES:
        try:
            return bill(prepared(shipment, fault), replace(fault, cause=cause), prices)
        except ValueError:
            continue
    as_declared = Fault(HARMLESS, shipment.service)
    return bill(prepared(shipment, as_declared), as_declared, prices)


def truths(billed: Sequence[Billed]) -> dict[str, Truth]:
    """What must be found, by the parcel's number."""
    return {one.truth.tracking: one.truth for one in billed if one.truth}


def write_records(folder: Path, billed: Sequence[Billed]) -> None:
    """The shop's records and price tables."""
    write_prices(folder)
    write_cartons(folder)
    write_shipments(folder, [one.shipment for one in billed])


# What a carrier may disclose of its figures


def full(lines: Sequence[Line]) -> Iterator[Line]:
    """Everything."""
    yield from lines


def billed_weight(lines: Sequence[Line]) -> Iterator[Line]:
    """Adjustments keep their billed weight, but show no side and no scale weight."""
    for line in lines:
        yield replace(line, sides=None, scale="") if line.kind == "adjustment" else line


def surcharges(lines: Sequence[Line]) -> Iterator[Line]:
    """Adjustments show their charges and no figure at all."""
    for line in lines:
        yield replace(line, sides=None, scale="", weight=None) if line.kind == "adjustment" else line


def lump(lines: Sequence[Line]) -> Iterator[Line]:
    """All adjustments of a parcel in one sum, without any figure."""
    adjusted = [line for line in lines if line.kind == "adjustment"]
    yield from (line for line in lines if line.kind != "adjustment")
    if adjusted:
        cents = sum(line.cents for line in adjusted)
        yield replace(adjusted[0], charge="Adjustment", kind="odd", cents=cents, sides=None, scale="", weight=None)
