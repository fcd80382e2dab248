"""Papers about prepaid labels drawn at random: form × words × figures × writer, each with its planted truth.

A shop that buys labels one by one (`shop`), with some of them corrected; how a paper writes things (`look`); the forms
in which it says so (`papers`); beside it the shop's own records, which name cartons alone, and a list of cartons.
"""

from __future__ import annotations

from dataclasses import dataclass
from email.message import EmailMessage
from functools import cached_property
from pathlib import Path
from random import Random

from tests.layouts.drawn.files import csv_file, money
from tests.layouts.drawn.month import CARTONS
from tests.layouts.drawn.page import Document
from tests.layouts.drawn.writers import WRITERS
from tests.layouts.prepaid.look import POOLS, Look, look
from tests.layouts.prepaid.papers import FORMS, Planted
from tests.layouts.prepaid.shop import Shop, shop

__all__ = ["FORMS", "POOLS", "WRITERS", "Paper", "draw"]


@dataclass(frozen=True)
class Paper:
    """A shop, and one paper about its labels. `tables`: whether the seller's prices lie beside it."""

    seed: int
    pool: str
    form: str
    writer: str
    tables: bool
    shop: Shop
    look: Look
    document: Document
    planted: tuple[Planted, ...]

    @cached_property
    def corrections(self) -> tuple[Planted, ...]:
        """What is planted of corrections, and of what is given back of them."""
        return tuple(one for one in self.planted if one.kind in {"correction", "returned"})

    def write(self, folder: Path) -> list[Path]:
        """The shop's own files and the paper."""
        chance = Random(f"{self.seed} written")
        own = [_records(folder / "records.csv", self.shop), _cartons(folder / "cartons.csv", self.shop)]
        own += _prices(folder, self.shop) if self.tables else []
        if self.form == "mail":
            return [*own, _mail(folder / "mail.eml", self.document)]
        written = WRITERS[self.writer](self.document, folder, chance)
        return [*own, written.rename(folder / f"paper{written.suffix}")]


def draw(
    seed: int, pool: str, *, form: str | None = None, writer: str | None = None, tables: bool | None = None
) -> Paper:
    """The paper of a seed."""
    chance = Random(f"{seed} {pool} prepaid")
    bought, looks = shop(chance), look(chance, pool)
    drawn_form, drawn_writer = chance.choice(sorted(FORMS)), chance.choice(("csv", "csv", *sorted(WRITERS)))
    drawn_tables = chance.random() < 0.25
    form = form or drawn_form
    document, planted = FORMS[form](bought, looks, chance)
    return Paper(
        seed,
        pool,
        form,
        "mail" if form == "mail" else writer or drawn_writer,
        drawn_tables if tables is None else tables,
        bought,
        looks,
        document,
        planted,
    )


def _records(path: Path, shop: Shop) -> Path:
    headings = ("Order", "Ship date", "Tracking number", "Service", "Zone", "Carton", "Weight", "Label cost", "Voided")
    rows = (
        (
            *(label.order, label.bought_on, label.tracking, label.service, label.zone, label.carton),
            *(f"{label.ounces // 16} lb", money(label.cents), "yes" if label.voided else ""),
        )
        for label in shop.labels
    )
    return csv_file(path, headings, rows)


def _cartons(path: Path, shop: Shop) -> Path:
    sides = ((name, *CARTONS[name][0]) for name in shop.cartons)
    return csv_file(path, ("Carton", "Length (in)", "Width (in)", "Height (in)"), sides)


def _prices(folder: Path, shop: Shop) -> list[Path]:
    rates = (
        (service, zone, weight, money(cents))
        for (service, zone), by_day in shop.prices.rates.items()
        for listed in by_day.values()
        for weight, cents in listed
    )
    fees = ((charge, money(cents)) for (charge, _), on in shop.prices.fees.items() for cents in on.values())
    return [
        csv_file(folder / "rates.csv", ("Service", "Zone", "Weight up to (lb)", "Price"), rates),
        csv_file(folder / "fees.csv", ("Charge", "Amount"), fees),
        csv_file(folder / "fuel.csv", ("Effective date", "Percent", "Service"), (("2026-01-01", 0, ""),)),
    ]


def _mail(path: Path, document: Document) -> Path:
    message = EmailMessage()
    message["From"], message["To"] = "labels@seller-of-labels.example", "shop@shop.example"
    message["Subject"], message["Date"] = document.title, "Mon, 06 Apr 2026 08:00:00 +0000"
    message.set_content("\n".join(" ".join(cell.text for cell in row.cells) for row in document.rows))
    path.write_bytes(message.as_bytes())
    return path
