"""Tables whose every heading and charge name is a meaningless string, made of the sample month's statement."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import Any

import pandas as pd

from auditor import intake
from auditor.core.schemas import FEES, FUEL, RATES, empty
from auditor.core.units import NM_PER_INCH, PG_PER_POUND
from auditor.intake.documents import Grid
from auditor.intake.reading.known import Known
from auditor.tariff import Prices, opened
from auditor.tariff.expected import expected_charges

MONTH = Path(__file__).parents[1] / "sample_statements" / "2026-03"
FIELDS = ("order", "day", "zone", "weight", "length", "width", "height")
ROLES = {"order", "shipped_on", "zone", "billed_weight_pg"} | {
    f"billed_{side}_nm" for side in ("length", "width", "height")
}
Row = list[str]


@dataclass(frozen=True)
class Drawn:
    """A table, and the lines in it: the parcel's number or None, cents, name."""

    grid: Grid
    planted: list[tuple[str | None, int, str]]

    @property
    def total(self) -> int:
        """The sum of all lines."""
        return sum(cents for _, cents, _ in self.planted)


@cache
def month() -> intake.Intake:
    """The sample month as it is read."""
    return intake.read([MONTH], charges=opened("us-ground-common").charges)


@cache
def known(what: str = "all") -> Known:
    """What is known of that month: all, half of the parcels, no prices, or nothing but the records without costs."""
    read, book = month(), opened("us-ground-common")
    shipments = read.shipments.iloc[:: 2 if what == "half" else 1].reset_index(drop=True)
    if what == "records":
        shipments = shipments.assign(label_cost_cents=pd.Series(pd.NA, index=shipments.index, dtype="Int64"))
    priced = what in {"all", "half"}
    tables = (read.rates, read.fees, read.fuel) if priced else (empty(RATES), empty(FEES), empty(FUEL))
    return Known(shipments, *tables, expected_charges(shipments, book, Prices(*tables)))


class Maker:
    """Lines of the month and meaningless words, drawn by a seed."""

    def __init__(self, seed: int) -> None:
        """`seed`: of the words and of the order of columns."""
        self.chance = random.Random(seed)
        self.words: dict[str, str] = {}
        lines = month().lines
        self.lines: list[Any] = [one for one in lines.itertuples() if str(one.source_file).startswith("norrhaven")]
        self.fields = self.chance.sample(FIELDS, len(FIELDS))
        self.place = self.chance.randint(0, len(FIELDS))
        self.planted: list[tuple[str | None, int, str]] = []

    def word(self, meaning: str) -> str:
        """A string that means nothing, the same each time."""
        while meaning not in self.words:
            made = "".join(self.chance.choice("bdfgklmnprstvz") + self.chance.choice("aeiou") for _ in range(3)).title()
            if made not in self.words.values():
                self.words[meaning] = made
        return self.words[meaning]

    def told(self, line: Any) -> Row:
        """The parcel's number and figures, in the drawn order."""
        cells = [_cell(line, field) for field in self.fields]
        return [*cells[: self.place], number(line) or "", *cells[self.place :]]

    def heads(self) -> Row:
        """Headings of these."""
        words = [self.word(field) for field in self.fields]
        return [*words[: self.place], self.word("number"), *words[self.place :]]

    def name(self, line: Any) -> str:
        """The charge's meaningless name, put down as a line."""
        self.planted.append((number(line), int(line.amount_cents), self.word(line.description)))
        return self.planted[-1][2]

    def parcels(self) -> Iterator[list[Any]]:
        """The lines parcel by parcel, each by itself where it is about none."""
        for _, them in groupby(self.lines, key=lambda line: number(line) or line.description):
            yield list(them)

    def drawn(self, rows: Sequence[Row], *, foot: Row | None = None) -> Drawn:
        """The table, with the sum of all in its last column."""
        width = max(map(len, rows))
        total = money(sum(cents for _, cents, _ in self.planted))
        last = foot if foot is not None else [self.word("total"), *[""] * (width - 2), total]
        whole = [*rows, last]
        return Drawn(Grid(whole, [f"row {at}" for at in range(1, len(whole) + 1)]), self.planted)


def number(line: Any) -> str | None:
    """The parcel's number, None for a line about none."""
    return line.tracking if isinstance(line.tracking, str) else None


def money(cents: int) -> str:
    """-3496 → '-34.96'."""
    return f"{'-' if cents < 0 else ''}{abs(cents) // 100}.{abs(cents) % 100:02d}"


def _cell(line: Any, field: str) -> str:
    if number(line) is None:
        return ""
    if field in {"order", "zone"}:
        return str(getattr(line, field))
    if field == "day":
        return f"{line.shipped_on:%d.%m.%Y}"
    small, of = (
        (line.billed_weight_pg, PG_PER_POUND)
        if field == "weight"
        else (getattr(line, f"billed_{field}_nm"), NM_PER_INCH)
    )
    return "" if pd.isna(small) else f"{small / of:g}"


def row_a_charge(seed: int, *, decoys: bool = False) -> Drawn:
    """Everything on every row; with a running balance, and a weight with two decimals, where asked for."""
    made, balance = Maker(seed), 12_345
    rows = [
        [*made.heads(), made.word("name"), made.word("amount"), *([made.word("x"), made.word("y")] if decoys else [])]
    ]
    for line in made.lines:
        balance += line.amount_cents
        beside = [money(balance), f"{len(rows) % 37 * 0.83:.2f}"] if decoys else []
        rows.append([*made.told(line), made.name(line), money(line.amount_cents), *beside])
    total = money(sum(cents for _, cents, _ in made.planted))
    blank = [""] * (len(FIELDS) + 1)
    return made.drawn(rows, foot=[made.word("total"), *blank, total, *(["", ""] if decoys else [])])


def number_once(seed: int) -> Drawn:
    """The parcel's figures on its first row only."""
    made = Maker(seed)
    rows = [[*made.heads(), made.word("name"), made.word("amount")]]
    for parcel in made.parcels():
        for place, line in enumerate(parcel):
            told = made.told(line) if not place else [""] * (len(FIELDS) + 1)
            rows.append([*told, made.name(line), money(line.amount_cents)])
    return made.drawn(rows)


def column_a_charge(seed: int, *, summed: bool = False) -> Drawn:
    """A row a parcel, a column a charge, with the row's sum where asked for."""
    made = Maker(seed)
    charges = list(dict.fromkeys(line.description for line in made.lines))
    rows = [[*made.heads(), *map(made.word, charges), *([made.word("sum")] if summed else [])]]
    for parcel in made.parcels():
        cents = {
            line.description: line.amount_cents
            for line in sorted(parcel, key=lambda line: charges.index(line.description))
        }
        for charge, amount in cents.items():
            made.planted.append((number(parcel[0]), int(amount), made.word(charge)))
        cells = [money(cents[charge]) if charge in cents else "0.00" for charge in charges]
        rows.append([*made.told(parcel[0]), *cells, *([money(sum(cents.values()))] if summed else [])])
    return made.drawn(rows)


def slots(seed: int) -> Drawn:
    """Name, amount, name, amount and so on."""
    made = Maker(seed)
    most = max(map(len, made.parcels()))
    rows = [[*made.heads(), *(f"{made.word(one)} {slot}" for slot in range(most) for one in ("name", "amount"))]]
    for parcel in made.parcels():
        pairs = [cell for line in parcel for cell in (made.name(line), money(line.amount_cents))]
        rows.append([*made.told(parcel[0]), *pairs, *[""] * (2 * most - len(pairs))])
    return made.drawn(rows)


def stacked(seed: int) -> Drawn:
    """All names of a parcel in one cell, all amounts in another."""
    made = Maker(seed)
    rows = [[*made.heads(), made.word("name"), made.word("amount")]]
    for parcel in made.parcels():
        names, cents = map(made.name, parcel), (money(line.amount_cents) for line in parcel)
        rows.append([*made.told(parcel[0]), "\n".join(names), "\n".join(cents)])
    return made.drawn(rows)


def in_one_cell(seed: int) -> Drawn:
    """All names and amounts of a parcel in one cell."""
    made = Maker(seed)
    rows = [[*made.heads(), made.word("name")]]
    rows += [
        [*made.told(parcel[0]), "; ".join(f"{made.name(line)} {money(line.amount_cents)}" for line in parcel)]
        for parcel in made.parcels()
    ]
    return made.drawn(rows)


def records(seed: int) -> Drawn:
    """Records of two types, told by a code."""
    made = Maker(seed)
    rows = [[made.word("type"), *made.heads()], [made.word("type"), made.word("name"), made.word("amount")]]
    for parcel in made.parcels():
        rows.append(["10", *made.told(parcel[0])])
        rows += [["20", made.name(line), money(line.amount_cents)] for line in parcel]
    return made.drawn(rows)


STRUCTURES: dict[str, Callable[[int], Drawn]] = {
    "a row a charge": row_a_charge,
    "a row a charge, with decoys": lambda seed: row_a_charge(seed, decoys=True),
    "a number given once": number_once,
    "a column a charge": column_a_charge,
    "a column a charge and a sum": lambda seed: column_a_charge(seed, summed=True),
    "slots": slots,
    "stacked": stacked,
    "in one cell": in_one_cell,
    "records of two types": records,
}
