"""Invented lines of a statement, and how many cells of them were read right."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

import pandas as pd

from auditor.core import units
from auditor.intake.check_digits import s10_digit

STATEMENT, STATEMENT_ON = "QM-40817", date(2026, 4, 2)
CARTONS = ((44, 6, 6), (28, 12, 6), (48, 20, 8), (46, 18, 8), (12, 10, 8), (38, 16, 14))
CHARGES = ("freight", "fuel", "residential", "additional handling", "address correction")
CHANCE = {"freight": 1.0, "fuel": 1.0, "residential": 0.5, "additional handling": 0.25, "address correction": 0.1}
FIELDS = (
    "statement",
    "tracking",
    "charge",
    "amount_cents",
    "shipped_on",
    "service",
    "zone",
    "order",
    "billed_weight_pg",
    "billed_length_nm",
    "billed_width_nm",
    "billed_height_nm",
)
"""The cells of a line that count, where its layout prints them."""


@dataclass(frozen=True)
class Line:
    """One charge for one parcel; `weight_g` and `sides_mm` are what layouts print in their own units."""

    tracking: str
    order: str
    shipped_on: date
    service: str
    zone: str
    weight_g: int
    sides_mm: tuple[int, int, int]
    charge: str
    amount_cents: int


def lines(count: int, seed: int, *, metric: bool, numbers: str = "own") -> list[Line]:
    """The lines of `count` parcels, a parcel's lines below one another; inches and pounds unless metric.

    `numbers` "postal" makes tracking numbers with the check digit of UPU S10, "own" those of a carrier's own shape.
    """
    chance = random.Random(seed)
    made: list[Line] = []
    for place in range(count):
        pounds = chance.randint(2, 60)
        sides = chance.choice(CARTONS)
        length, width, height = (round(side * 25.4 / 10) * 10 for side in sides) if metric else sides
        line = Line(
            tracking=_number(numbers, chance.randint(10_000_000, 99_999_999)),
            order=f"Q-{20_000 + place}",
            shipped_on=date(2026, 3, 1) + timedelta(days=chance.randint(0, 30)),
            service=chance.choice(("Ground", "Parcel")),
            zone=str(chance.randint(2, 8)),
            weight_g=chance.randint(20, 550) * 50 if metric else pounds,
            sides_mm=(length, width, height),
            charge="freight",
            amount_cents=chance.randint(900, 240_000 if place % 17 == 0 else 9_000),
        )
        for charge in CHARGES:
            if chance.random() < CHANCE[charge]:
                amount = line.amount_cents if charge == "freight" else chance.randint(101, 4_999)
                sign = -1 if charge == "fuel" and place % 19 == 7 else 1
                made.append(replace(line, charge=charge, amount_cents=sign * amount))
    return made


def _number(numbers: str, serial: int) -> str:
    if numbers == "postal":
        return f"LK{serial}{s10_digit(str(serial))}QM"
    return f"NP44100260{serial}"


def total(them: Sequence[Line]) -> int:
    """The sum of the lines in cents."""
    return sum(line.amount_cents for line in them)


def decimal(cents: int) -> str:
    """-3496 → '-34.96'."""
    return f"{Decimal(cents) / 100:.2f}"


def comma(cents: int) -> str:
    """123456 → '1.234,56'."""
    return f"{Decimal(cents) / 100:,.2f}".translate({ord(","): ".", ord("."): ","})


def truth(them: Sequence[Line], fields: Sequence[str], *, metric: bool) -> pd.DataFrame:
    """The lines as the package should read them, in the fields that the layout prints."""
    length, weight = ("mm", "g") if metric else ("in", "lb")
    rows = [
        {
            "statement": STATEMENT,
            "tracking": line.tracking,
            "charge": line.charge,
            "amount_cents": line.amount_cents,
            "shipped_on": pd.Timestamp(line.shipped_on),
            "service": line.service,
            "zone": line.zone,
            "order": line.order,
            "billed_weight_pg": units.small(line.weight_g, weight, "weight"),
            **{
                f"billed_{name}_nm": units.small(side, length, "length")
                for name, side in zip(("length", "width", "height"), sorted(line.sides_mm)[::-1], strict=True)
            },
        }
        for line in them
    ]
    return pd.DataFrame(rows)[list(fields)]


def cells_right(read: pd.DataFrame, planted: pd.DataFrame) -> tuple[int, int]:
    """How many cells of the planted lines were read right, and how many there are.

    Lines are held against one another in the order of the document; a line too many counts as one of wrong cells.
    """
    count = max(len(read), len(planted))
    of = count * planted.shape[1]
    right = 0
    for name in planted:
        found, wanted = (list(frame[name].astype(object)) for frame in (read, planted))
        right += sum(not pd.isna(one) and one == other for one, other in zip(found, wanted, strict=False))
    return right, of
