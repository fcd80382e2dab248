"""How figures are printed: money, days, zones, weights and sides, in the ways of the trade."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from random import Random

from tests.layouts.drawn.page import Cell

POUND, INCH = (
    {"lb": Decimal(1), "oz": Decimal(16), "kg": Decimal("0.45359237")},
    {"in": Decimal(1), "cm": Decimal("2.54")},
)
"""How many of a unit a pound and an inch are (NIST SP 811, Appendix B.8)."""

PARTS = ((".", ","), (".", ""), (".", ""), (",", "."), (",", ""), (",", " "))
SIGNS = ("-{}", "-{}", "-{}", "{}-", "({})", "- {}")
CURRENCIES = ("{}", "{}", "{}", "${}", "€{}", "{} €", "USD {}", "{} EUR", "£{}")
DAYS = (
    "%Y-%m-%d",
    "%Y-%m-%d",
    "%m/%d/%Y",
    "%d.%m.%Y",
    "%d/%m/%Y",
    "%Y%m%d",
    "%m/%d/%y",
    "%d.%m.%y",
    "d Mon yyyy",
    "Mon d, yyyy",
)
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
ZONES = ("{}", "{}", "0{}", "00{}", "word {}")
UNITS_AT = ("heading", "heading", "cell", "column")
SIZES = ("columns", "columns", "{} x {} x {}", "{}x{}x{}", "{}/{}/{}", "{}*{}*{}")


@dataclass(frozen=True)
class Style:
    """One way to print figures; `units_at` heading, cell, column or none, `size` "columns" or the form of a cell."""

    decimal: str = "."
    thousands: str = ""
    sign: str = "-{}"
    currency: str = "{}"
    whole_cents: bool = False
    days: str = "%Y-%m-%d"
    zones: str = "{}"
    weight_unit: str = "lb"
    side_unit: str = "in"
    units_at: str = "heading"
    size: str = "columns"

    def money(self, cents: int) -> Cell:
        """An amount."""
        if self.whole_cents:
            return Cell(self.sign.format(abs(cents)) if cents < 0 else str(cents), cents, right=True)
        whole = f"{abs(cents) // 100:,}".replace(",", self.thousands)
        text = self.currency.format(f"{whole}{self.decimal}{abs(cents) % 100:02d}")
        return Cell(self.sign.format(text) if cents < 0 else text, cents / 100, right=True)

    def number(self, figure: Decimal) -> str:
        """A figure that is no money."""
        return f"{figure:f}".replace(".", self.decimal)

    def day(self, day: date) -> Cell:
        """A day."""
        named = MONTHS[day.month - 1]
        forms = {"d Mon yyyy": f"{day.day} {named} {day.year}", "Mon d, yyyy": f"{named} {day.day}, {day.year}"}
        return Cell(forms.get(self.days) or f"{day:{self.days}}", day)

    def weight(self, pounds: int) -> Decimal:
        """A weight in the style's unit, as exact as it is printed."""
        return _printed(pounds * POUND[self.weight_unit], "0.01")

    def side(self, inches: int) -> Decimal:
        """A side in the style's unit, as exact as it is printed."""
        return _printed(inches * INCH[self.side_unit], "0.1")


def _printed(figure: Decimal, step: str) -> Decimal:
    whole = figure.quantize(Decimal(1), ROUND_HALF_UP)
    return whole if whole == figure else figure.quantize(Decimal(step), ROUND_HALF_UP)


def style(chance: Random, *, words: bool) -> Style:
    """A style drawn at random; where there are no words to say the unit, it is in the cell, beside it or nowhere."""
    decimal, thousands = chance.choice(PARTS)
    metric = chance.random() < 0.2
    return Style(
        decimal=decimal,
        thousands=thousands,
        sign=chance.choice(SIGNS),
        currency=chance.choice(CURRENCIES),
        whole_cents=chance.random() < 0.05,
        days=chance.choice(DAYS),
        zones=chance.choice(ZONES),
        weight_unit="kg" if metric else chance.choice(("lb", "lb", "lb", "oz")),
        side_unit="cm" if metric else "in",
        units_at=chance.choice(UNITS_AT if words else ("none", "none", "cell", "column")),
        size=chance.choice(SIZES),
    )
