"""Lengths and weights in whole small units, so that no limit is decided by a rounded figure.

A length is whole nanometres, a weight whole picograms: 1/64 in, 0.001 cm, 0.001 oz and 1 g are each a whole number of
them (1 in = 25.4 mm and 1 lb = 453.592 37 g exactly, NIST SP 811, Appendix B.8). An int64 holds up to nine million
kilometres and nine tonnes.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from functools import cache

NM_PER_INCH = 25_400_000
PG_PER_POUND = 453_592_370_000_000
PG_PER_OUNCE = PG_PER_POUND // 16

SPELLINGS = {
    "length": {
        "in": ("in", "ins", "inch", "inches", '"', "″", "”", "''", "zoll", "pouces", "pulgadas", "pollici"),
        "ft": ("ft", "foot", "feet", "'", "′", "’"),
        "mm": (
            *("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
            *("millimètre", "millimètres", "milímetros", "millimetri"),
        ),
        "cm": (
            *("cm", "cms", "centimetre", "centimetres", "centimeter", "centimeters"),
            *("zentimeter", "centimètre", "centimètres", "centímetros", "centimetri"),
        ),
        "m": ("m", "metre", "metres", "meter", "meters"),
    },
    "weight": {
        "lb": ("lb", "lbs", "pound", "pounds", "#"),
        "oz": ("oz", "ozs", "ounce", "ounces"),
        "g": ("g", "gr", "gram", "grams", "gramme", "grammes", "gramm", "gramos", "grammi"),
        "kg": (
            *("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramme", "kilogrammes"),
            *("kilogramm", "kilogramos", "chilogrammi", "chili"),
        ),
    },
}
"""How people write the units they use, by kind; what is not here is an unknown unit."""

FACTORS = {
    "length": {"in": NM_PER_INCH, "ft": 12 * NM_PER_INCH, "mm": 10**6, "cm": 10**7, "m": 10**9},
    "weight": {"lb": PG_PER_POUND, "oz": PG_PER_OUNCE, "g": 10**12, "kg": 10**15},
}
"""Nanometres or picograms of each unit; all are whole."""


@cache
def symbol(text: str, kind: str) -> str | None:
    """The unit meant by how somebody wrote it ("Inches", "lbs."), or None when it is not a known unit of that kind."""
    wanted = text.strip().strip(".").casefold()
    return next((unit for unit, spellings in SPELLINGS[kind].items() if wanted in spellings), None)


@cache
def factor(unit: str, kind: str) -> Fraction:
    """How many nanometres (kind "length") or picograms ("weight") one `unit` is, exactly."""
    return Fraction(FACTORS[kind][unit])


def small(value: Fraction | Decimal | int, unit: str, kind: str) -> int:
    """`value` in `unit` as whole nanometres or picograms; what lies between two of them goes to the nearest."""
    return round(Fraction(value) * factor(unit, kind))


def shown(amount: int, unit: str, kind: str, places: int = 2) -> str:
    """A length or weight for people, in `unit`, without needless zeros: 1219200000 nm → '48'."""
    value = Fraction(amount) / factor(unit, kind)
    plain = f"{Decimal(value.numerator) / Decimal(value.denominator):.{places}f}"
    return plain.rstrip("0").rstrip(".") if "." in plain else plain
