"""Statements drawn at random: structure × columns × words × style × totals × writer, each with its planted truth.

A month of parcels and charges (`month`) is given a look (words, style, which figures), put into rows by a structure,
framed (titles, totals, decoys), and written by a writer; the shop's own files are written beside it as far as they are
known. The same seed draws the same bytes.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache
from pathlib import Path
from random import Random

import pandas as pd

from auditor.core.units import NM_PER_INCH, PG_PER_OUNCE, PG_PER_POUND
from tests.layouts.drawn import files
from tests.layouts.drawn.columns import zone
from tests.layouts.drawn.files import KNOWN
from tests.layouts.drawn.frame import framed, printed_total
from tests.layouts.drawn.look import Look, in_order, look
from tests.layouts.drawn.month import Month, Shipment, month
from tests.layouts.drawn.page import Document, Planted, Sheet
from tests.layouts.drawn.structures import STRUCTURES
from tests.layouts.drawn.words import POOLS
from tests.layouts.drawn.writers import WRITERS

__all__ = ["KNOWN", "POOLS", "STRUCTURES", "WRITERS", "Drawn", "draw"]

PG = {"lb": PG_PER_POUND, "oz": PG_PER_OUNCE, "kg": 10**15}
NM = {"in": NM_PER_INCH, "cm": 10**7}
SIDES = ("billed_length_nm", "billed_width_nm", "billed_height_nm")


@dataclass(frozen=True)
class Drawn:
    """A month, how its statement looks, and what is known beside it."""

    seed: int
    pool: str
    structure: str
    writer: str
    known: str
    month: Month
    look: Look

    @property
    def pdf(self) -> bool:
        """Whether the statement is pages, not a table."""
        return self.writer.startswith("pdf")

    @property
    def tables(self) -> bool:
        """Whether it is one."""
        return not self.pdf

    @cached_property
    def sheet(self) -> Sheet:
        """The rows."""
        return STRUCTURES[self.structure](in_order(self.month.events, self.look), self.look)

    @cached_property
    def document(self) -> Document:
        """The whole statement."""
        return framed(self.sheet, self.look)

    @cached_property
    def truth(self) -> pd.DataFrame:
        """A row a planted line: tracking, charge, state, amount_cents, figures as LINES calls them."""
        return pd.DataFrame([_truth(one, self.look) for one in self.sheet.planted], dtype=object)

    @property
    def total_cents(self) -> int:
        """The sum of the lines."""
        return sum(one.line.cents for one in self.sheet.planted)

    @property
    def prints_total(self) -> bool:
        """Whether the statement says it."""
        return printed_total(self.look, self.document)

    def write(self, folder: Path) -> list[Path]:
        """All files of the month; the statement is the last."""
        statement = WRITERS[self.writer](self.document, folder, self.look.drawn("writer"))
        return [*files.write(self.month, folder, self.known), statement]


def draw(
    seed: int, pool: str, *, structure: str | None = None, writer: str | None = None, known: str | None = None
) -> Drawn:
    """A statement of that seed and pool of words (`POOLS`); what is not given is drawn too.

    Args:
        seed: the same gives the same month whatever else is given.
        pool: "plain", "unheard" or "nonsense".
        structure: one of `STRUCTURES`.
        writer: one of `WRITERS`.
        known: one of `KNOWN`.
    """
    chance = Random(f"drawn {seed}")
    drawn = [chance.choice(tuple(among)) for among in (STRUCTURES, WRITERS, KNOWN)]
    its_month = _month(seed)
    structure, writer, known = (
        given or by_chance for given, by_chance in zip((structure, writer, known), drawn, strict=True)
    )
    return Drawn(seed, pool, structure, writer, known, its_month, look(seed, pool, its_month))


@lru_cache(maxsize=16)
def _month(seed: int) -> Month:
    return month(Random(f"month {seed}"))


def _truth(one: Planted, look: Look) -> dict[str, object]:
    about = one.event.about
    figures: dict[str, object] = _figures(one, about, look) if about else {}
    return {
        "tracking": about.tracking if about else None,
        "charge": one.line.charge,
        "state": one.line.state,
        "amount_cents": one.line.cents,
        **figures,
    }


def _figures(one: Planted, about: Shipment, look: Look) -> dict[str, object]:
    """What the statement prints beside the line."""
    style, event = look.style, one.event
    weight = int(Fraction(style.weight(event.weight)) * PG[style.weight_unit])
    sides = [int(Fraction(style.side(side)) * NM[style.side_unit]) for side in event.sides]
    printed: dict[str, dict[str, object]] = {
        "order": {"order": about.order},
        "shipped_on": {"shipped_on": pd.Timestamp(about.shipped_on)},
        "service": {"service": look.service(about.service)},
        "zone": {"zone": zone(look, about)},
        "weight": {"billed_weight_pg": weight},
        "sides": dict(zip(SIDES, sides, strict=True)),
    }
    return {name: value for field in one.fields for name, value in printed[field].items()}
