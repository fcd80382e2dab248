"""Charges and their attribution once more, slowly and plainly, one parcel at a time; nothing of the package is used.

It holds for parcels shipped from 26 January 2026, under the rules common among private ground carriers of the United
States ("common practice, no source", but for the divisor and the rounding up, which trade publications of 2025 give).
Inches and pounds are fractions, money is whole cents, and a Shapley value is what its definition says: what a player
adds, averaged over every order in which the players can join.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Collection, Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from itertools import permutations
from math import ceil, floor
from pathlib import Path
from typing import TypeVar

ROUNDING, LONGEST, OTHER_SIDES, WEIGHT, ADDRESS, SERVICE = PLAYERS = (
    "rounding",
    "longest side",
    "other sides",
    "weight",
    "address",
    "service or zone",
)
SIDE_PLAYERS = (LONGEST, OTHER_SIDES, OTHER_SIDES)
SIDE_TOLERANCE = Fraction(1, 4)
WEIGHT_TOLERANCE = Fraction(1, 10)
FUELLED = ("freight", "additional handling", "large parcel", "residential")
DIVISOR = 139

Player = TypeVar("Player", bound=Hashable)


@dataclass(frozen=True)
class Parcel:
    """The figures a price depends on: sides in inches, in any order, and weight in pounds."""

    service: str
    zone: str
    shipped_on: date
    sides: tuple[Fraction, ...]
    weight: Fraction
    residential: bool


@dataclass(frozen=True)
class Prices:
    """Cents by service, zone and first day, then weight; cents by charge, zone and first day; percent by first day."""

    rates: Mapping[tuple[str, str], Mapping[date, Sequence[tuple[Decimal, int]]]]
    fees: Mapping[tuple[str, str], Mapping[date, int]]
    fuel: Mapping[date, Decimal]

    def freight(self, service: str, zone: str, day: date, pounds: int) -> int:
        """The price of the lowest weight listed that is not below `pounds`."""
        for up_to, cents in in_force(self.rates[service, zone], day):
            if up_to >= pounds:
                return cents
        raise ValueError(f"no price for {pounds} lb by {service} to zone {zone}")

    def fee(self, charge: str, zone: str, day: date) -> int:
        """A charge's amount, by zone where it differs by zone."""
        by_day = self.fees[charge, zone] if (charge, zone) in self.fees else self.fees[charge, ""]
        return in_force(by_day, day)

    def percent(self, day: date) -> Decimal:
        """The fuel percentage of the week."""
        return in_force(self.fuel, day)


Value = TypeVar("Value")


def in_force(by_day: Mapping[date, Value], day: date) -> Value:
    """What began last of all that began by that day."""
    return by_day[max(start for start in by_day if start <= day)]


def falling(sides: tuple[Fraction, ...]) -> tuple[Fraction, ...]:
    """Longest side first."""
    return tuple(sorted(sides, reverse=True))


def whole(sides: tuple[Fraction, ...]) -> tuple[int, ...]:
    """Each side rounded up to the whole inch, longest first."""
    return tuple(sorted((ceil(side) for side in sides), reverse=True))


def dimensional_weight(sides: tuple[Fraction, ...]) -> int:
    """Cubic inches over the divisor, any fraction of a pound up."""
    length, width, height = whole(sides)
    return ceil(Fraction(length * width * height, DIVISOR))


def size_surcharge(sides: tuple[Fraction, ...], weight: Fraction) -> tuple[str, int]:
    """The charge for an awkward size or weight, "" for none, and the least billable weight that comes with it."""
    length, width, height = whole(sides)
    around = length + 2 * (width + height)
    volume = length * width * height
    if length > 108 or around > 165 or weight > 150:
        raise ValueError(f"{length} x {width} x {height} in at {weight} lb is not accepted")
    if length > 96 or around > 130 or volume > 17_280 or weight > 110:
        return "large parcel", 90
    if length > 48 or width > 30 or around > 105:
        return "additional handling", 40
    if volume > 10_368 or weight > 50:
        return "additional handling", 0
    return "", 0


def billable_weight(sides: tuple[Fraction, ...], weight: Fraction) -> int:
    """The greatest of the actual, the dimensional and the least billable weight, in whole pounds."""
    return max(ceil(weight), dimensional_weight(sides), size_surcharge(sides, weight)[1])


def fuel(charges: Mapping[str, int], percent: Decimal) -> int:
    """The percentage of all charges it applies to together, half a cent up."""
    base = sum(charges.get(charge, 0) for charge in FUELLED)
    return int((base * percent / 100).quantize(Decimal(1), ROUND_HALF_UP))


def charges(parcel: Parcel, prices: Prices) -> dict[str, int]:
    """Every charge of a parcel in cents, by name; those that do not apply are absent."""
    pounds = billable_weight(parcel.sides, parcel.weight)
    due = {"freight": prices.freight(parcel.service, parcel.zone, parcel.shipped_on, pounds)}
    surcharge, _ = size_surcharge(parcel.sides, parcel.weight)
    if surcharge:
        due[surcharge] = prices.fee(surcharge, parcel.zone, parcel.shipped_on)
    if parcel.residential:
        due["residential"] = prices.fee("residential", parcel.zone, parcel.shipped_on)
    due["fuel"] = fuel(due, prices.percent(parcel.shipped_on))
    return due


# Attribution


def shapley(
    players: Collection[Player], value: Callable[[frozenset[Player]], int | Fraction]
) -> dict[Player, Fraction]:
    """Each player's mean gain over all orders of joining (L. S. Shapley, "A Value for n-Person Games", 1953)."""
    known: dict[frozenset[Player], Fraction] = {}
    gained = dict.fromkeys(players, Fraction(0))
    orders = list(permutations(players))
    for order in orders:
        joined: frozenset[Player] = frozenset()
        for player in order:
            for coalition in (joined, joined | {player}):
                if coalition not in known:
                    known[coalition] = Fraction(value(coalition))
            gained[player] += known[joined | {player}] - known[joined]
            joined |= {player}
    return {player: gain / len(orders) for player, gain in gained.items()}


def to_whole_cents(exact: Mapping[Player, Fraction]) -> dict[Player, int]:
    """Shares in whole cents with the same sum: largest remainder first, ties to the earlier player."""
    rounded = {player: floor(share) for player, share in exact.items()}
    left = int(sum(exact.values())) - sum(rounded.values())
    by_remainder = sorted(exact, key=lambda player: exact[player] - rounded[player], reverse=True)
    for player in by_remainder[:left]:
        rounded[player] += 1
    return rounded


def scaled(shares: Mapping[Player, int], left: int) -> dict[Player, int]:
    """Shares lessened in proportion, in whole cents that add up to what is left."""
    whole = sum(shares.values())
    return to_whole_cents({player: Fraction(share * left, whole) for player, share in shares.items()}) if whole else {}


@dataclass(frozen=True)
class Seen:
    """What can be seen of the carrier's figures; None where it shows none of its own.

    `read_sides` and `read_weight` are raw readings; `billed_sides` and `billed_weight` are whole inches and pounds.
    `corrected`: a correction fee was billed.
    """

    service: str
    zone: str
    residential: bool
    read_sides: tuple[Fraction, ...] | None = None
    billed_sides: tuple[int, ...] | None = None
    read_weight: Fraction | None = None
    billed_weight: int | None = None
    address_corrected: bool = False
    corrected: bool = False


def least_excess(declared: Fraction, reading: Fraction, *, raw: bool) -> Fraction:
    """How far the reading is from the declared figure, at the least where only its rounded figure is known."""
    if raw or reading < declared:
        return abs(reading - declared)
    return max(reading - 1 - declared, Fraction(0))


def side_moves(declared: Parcel, seen: Seen) -> list[tuple[Fraction, str]]:
    """For each side, longest first, the carrier's figure and the player that moves it; "" where it is the same."""
    own = falling(declared.sides)
    raw = seen.read_sides is not None
    readings = falling(tuple(Fraction(side) for side in seen.read_sides or seen.billed_sides or own))
    moves = []
    for mine, theirs, player in zip(own, readings, SIDE_PLAYERS, strict=True):
        if ceil(mine) == ceil(theirs):
            moves.append((mine, ""))
        elif least_excess(mine, theirs, raw=raw) <= SIDE_TOLERANCE:
            moves.append((theirs, ROUNDING))
        else:
            moves.append((theirs, player))
    return moves


def weight_move(declared: Parcel, sides: tuple[Fraction, ...], seen: Seen) -> tuple[Fraction, str]:
    """The same for the weight, given the carrier's sides."""
    reading, raw = seen.read_weight, seen.read_weight is not None
    if reading is None and seen.billed_weight is not None:
        by_sides = max(dimensional_weight(sides), size_surcharge(sides, declared.weight)[1])
        explained = seen.billed_weight in (by_sides, billable_weight(sides, declared.weight))
        if not explained and seen.billed_weight > by_sides:
            reading = Fraction(seen.billed_weight)
    if reading is None or ceil(reading) == ceil(declared.weight):
        return declared.weight, ""
    near = least_excess(declared.weight, reading, raw=raw) <= WEIGHT_TOLERANCE
    return reading, ROUNDING if near else WEIGHT


def attribute(declared: Parcel, seen: Seen, prices: Prices) -> dict[str, int]:
    """What each player has to do with what the carrier's figures cost more than the declared ones, in cents."""
    sides = side_moves(declared, seen)
    weight, weigher = weight_move(declared, tuple(side for side, _ in sides), seen)
    moving = {player for _, player in sides} | {weigher}
    if seen.residential != declared.residential or seen.address_corrected:
        moving.add(ADDRESS)
    if (seen.service, seen.zone) != (declared.service, declared.zone):
        moving.add(SERVICE)
    if moving == {""}:
        return {}
    nobody = sum(charges(declared, prices).values())

    def value(joined: frozenset[str]) -> int:
        chosen = zip(sides, falling(declared.sides), strict=True)
        parcel = replace(
            declared,
            sides=tuple(theirs if player in joined else mine for (theirs, player), mine in chosen),
            weight=weight if weigher in joined else declared.weight,
        )
        if ADDRESS in joined:
            parcel = replace(parcel, residential=seen.residential)
        if SERVICE in joined:
            parcel = replace(parcel, service=seen.service, zone=seen.zone)
        cost = sum(charges(parcel, prices).values())
        fee = prices.fee("correction fee", parcel.zone, parcel.shipped_on) if seen.corrected and cost > nobody else 0
        if seen.address_corrected and ADDRESS in joined:
            fee += prices.fee("address correction", parcel.zone, parcel.shipped_on)
        return cost + fee

    return to_whole_cents(shapley([player for player in PLAYERS if player in moving], value))


# The month's files


def cents(text: str) -> int:
    """'14.37' → 1437."""
    return int(Decimal(text) * 100)


def inches(text: str) -> tuple[Fraction, ...]:
    """'44 x 6 x 6 in' → 44, 6, 6."""
    return tuple(Fraction(side) for side in text.removesuffix(" in").split(" x "))


def pounds(text: str) -> Fraction:
    """'3 lb 4 oz' → 3 1/4."""
    words = text.split()
    parts = {unit: Fraction(number) for number, unit in zip(words[::2], words[1::2], strict=True)}
    return parts.get("lb", Fraction(0)) + parts.get("oz", Fraction(0)) / 16


def read_rows(path: Path) -> list[dict[str, str]]:
    """A CSV file's rows by heading."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def read_prices(folder: Path) -> Prices:
    """rates.csv, fees.csv and fuel.csv of a folder."""
    rates: dict[tuple[str, str], dict[date, list[tuple[Decimal, int]]]] = {}
    for row in read_rows(folder / "rates.csv"):
        by_day = rates.setdefault((row["Service"], row["Zone"]), {})
        by_weight = by_day.setdefault(date.fromisoformat(row["Effective date"]), [])
        by_weight.append((Decimal(row["Weight up to (lb)"]), cents(row["Price"])))
    for by_day in rates.values():
        for by_weight in by_day.values():
            by_weight.sort()
    fees: dict[tuple[str, str], dict[date, int]] = {}
    for row in read_rows(folder / "fees.csv"):
        amounts = fees.setdefault((row["Charge"], row["Zone"]), {})
        amounts[date.fromisoformat(row["Effective date"])] = cents(row["Amount"])
    weeks = read_rows(folder / "fuel.csv")
    return Prices(rates, fees, {date.fromisoformat(row["Effective date"]): Decimal(row["Percent"]) for row in weeks})


def read_parcel(row: Mapping[str, str]) -> Parcel:
    """A row of shipments.csv as it was declared."""
    return Parcel(
        service=row["Service"],
        zone=row["Zone"],
        shipped_on=date.fromisoformat(row["Ship date"]),
        sides=inches(row["Size"]),
        weight=pounds(row["Weight"]),
        residential=row["Residential"] == "yes",
    )
