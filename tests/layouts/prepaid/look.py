"""How a paper writes things: its words, which figures it shows, its units, signs and days."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from random import Random

from tests.layouts.drawn.words import string
from tests.layouts.prepaid.shop import Correction, Label

POOLS = ("plain", "unheard", "nonsense")
DAYS = ("%Y-%m-%d", "%m/%d/%Y", "%b %d, %Y", "%d %b %Y")
SIGNS = ("plain", "plain", "minus", "brackets", "dollar")
SIZES = (" x ", "x", " x ", "*")


@cache
def pools() -> Mapping[str, Mapping[str, list[str]]]:
    """The words by pool and key."""
    read: Mapping[str, Mapping[str, list[str]]] = tomllib.loads(
        Path(__file__).with_name("pools.toml").read_text(encoding="utf-8")
    )
    return read


@dataclass(frozen=True)
class Look:
    """Words by key, and how figures are written; `shows` are the figures that stand there."""

    words: Mapping[str, str]
    shows: frozenset[str]
    day: str
    sign: str
    by: str
    unit_in: str
    ounces: bool
    apart: bool
    total: bool
    title: bool

    def __getitem__(self, key: str) -> str:
        """What the paper calls it."""
        return self.words[key]

    def money(self, cents: int) -> str:
        """An amount: below zero with a minus."""
        sign, text = "-" if cents < 0 else "", f"{abs(cents) // 100:,}.{abs(cents) % 100:02d}"
        return f"{sign}{'$' if self.sign == 'dollar' else ''}{text}"

    def taken(self, cents: int) -> str:
        """An amount that is taken: as such, or below zero as it leaves a balance."""
        if self.sign == "brackets":
            return f"({self.money(cents)})" if cents >= 0 else self.money(-cents)
        return self.money(-cents) if self.sign == "minus" else self.money(cents)

    def on(self, day: date) -> str:
        """A day."""
        return day.strftime(self.day)

    def heading(self, key: str) -> str:
        """A heading, with the unit where figures stand bare."""
        unit = {"size": "in", "weight": "oz" if self.ounces else "lb"}.get(key.rsplit(maxsplit=1)[-1])
        return f"{self[key]} ({unit})" if unit and self.unit_in == "heading" else self[key]

    def size(self, tenths: Sequence[int]) -> str:
        """Three sides in one text."""
        text = self.by.join(self.side(side) for side in tenths)
        return f"{text} in" if self.unit_in == "cell" else text

    def side(self, tenths: int) -> str:
        """Inches, with a decimal where there is one."""
        return f"{tenths / 10:g}"

    def weight(self, ounces: int) -> str:
        """Pounds or ounces."""
        unit = "oz" if self.ounces else "lb"
        text = str(ounces) if self.ounces else f"{ounces / 16:.4f}".rstrip("0").rstrip(".")
        return f"{text} {unit}" if self.unit_in == "cell" else text

    def reason(self, one: Correction) -> str:
        """The sender's words for why."""
        if one.cause == "returned":
            return self["back"]
        if one.ounces > one.label.ounces:
            return self["heavier"]
        return self["girth"] if one.tenths[1] > 10 * sorted(one.label.sides)[1] else self["length"]


def look(chance: Random, pool: str) -> Look:
    """A look drawn at random."""
    chosen = {key: chance.choice(choices) for key, choices in pools()["plain" if pool == "nonsense" else pool].items()}
    if pool == "nonsense":
        seen = {word.casefold() for word in chosen.values()}
        chosen = {key: string(chance, seen).capitalize() for key in chosen}
    figures = [one for one in ("size", "weight") if chance.random() < 0.9]
    shows = {f"{whose} {one}" for one in figures for whose in ("entered", "measured")}
    shows |= {one for one, often in (("order", 0.4), ("reason", 0.7), ("service", 0.3)) if chance.random() < often}
    shows |= set(chance.choice((("paid", "right", "difference"),) * 3 + (("paid", "difference"), ("difference",))))
    return Look(
        chosen,
        frozenset(shows),
        chance.choice(DAYS),
        chance.choice(SIGNS),
        chance.choice(SIZES),
        chance.choice(("cell", "heading")),
        chance.random() < 0.3,
        chance.random() < 0.3,
        chance.random() < 0.5,
        chance.random() < 0.4,
    )


def declared(label: Label) -> tuple[int, ...]:
    """The sides typed, in tenths, longest first."""
    return tuple(sorted((10 * side for side in label.sides), reverse=True))
