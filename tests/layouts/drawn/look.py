"""What one carrier's statements look like, whatever their structure: words, style, which figures it prints."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from random import Random
from typing import TypeVar

from tests.layouts.drawn.month import KINDS, LABEL, Event, Line, Month
from tests.layouts.drawn.page import BLANK, Cell
from tests.layouts.drawn.style import Style, style
from tests.layouts.drawn.words import Words, words

FIELDS = ("order", "shipped_on", "service", "zone", "weight", "sides")
"""Figures of a parcel that a statement may print."""
SHARES = {"order": 0.6, "shipped_on": 0.85, "service": 0.8, "zone": 0.8, "weight": 0.8, "sides": 0.4}
MARKS = ("column", "column", "prefix", "suffix", "none")
TOTALS = ("foot", "foot", "before", "row", "none")

DIGITS = 15
"""A workbook keeps so many digits of a figure (ECMA-376 stores IEEE 754 doubles; from memory)."""

Any = TypeVar("Any")


@dataclass(frozen=True)
class Column:
    """A column of a table; `cell` is given the event of a row and its one line, None where the row is of all lines."""

    role: str
    heading: str
    cell: Callable[[Event, Line | None], Cell]


@dataclass(frozen=True)
class Look:
    """The choices that every structure is drawn by; further ones are drawn by name, so that none hangs on another's."""

    seed: int
    words: Words
    style: Style
    services: Mapping[str, str]
    fields: tuple[str, ...]
    mark: str
    totals: str
    spaced: bool
    statement: str
    statement_on: date
    account_named: bool

    def drawn(self, what: str) -> Random:
        """The chance for one choice."""
        return Random(f"{self.seed} {what}")

    def whether(self, what: str, share: float = 0.5) -> bool:
        """Whether it is so, in that share of all looks."""
        return self.drawn(what).random() < share

    def choice(self, what: str, among: Sequence[Any]) -> Any:
        """One of them."""
        return self.drawn(what).choice(among)

    def without_headings(self) -> Look:
        """The same where no heading says what a figure is: its unit beside it, the sides in one."""
        if self.style.units_at == "none":
            return self
        size = self.style.size if self.style.size != "columns" else "{} x {} x {}"
        return replace(self, style=replace(self.style, units_at="cell", size=size))

    def with_account_named(self) -> Look:
        """The same where a blank number would mean the parcel above."""
        return replace(self, account_named=True)

    def number(self, event: Event) -> Cell:
        """The parcel's number as printed; what is about no parcel has none, or the account's word in its place."""
        if event.about is None:
            return Cell(self.words["kind account"]) if self.account_named else BLANK
        number = event.about.tracking
        spaced = " ".join(number[start : start + 4] for start in range(0, len(number), 4))
        if self.spaced:
            return Cell(spaced)
        figure = number.isdigit() and len(number) <= DIGITS and self.whether("numbers as figures", 0.3)
        return Cell(number, int(number) if figure else None)

    def kind(self, event: Event) -> str:
        """The word for what the carrier bills there."""
        return self.words[f"kind {event.kind}"]

    def name(self, event: Event, line: Line) -> str:
        """The charge's name, with the mark of a correction or a credit where names carry that."""
        name = self.words[line.charge]
        if self.mark not in {"prefix", "suffix"} or event.kind == LABEL or line.state in {"fee", "tax"}:
            return name
        form = self.choice("mark", ("{} {}", "{} - {}", "{}: {}"))
        return str(
            form.format(self.kind(event), name) if self.mark == "prefix" else form.format(name, self.kind(event))
        )

    def code(self, line: Line) -> str:
        """A short code of the charge."""
        return f"{self.drawn(f'code {line.charge}').randint(100, 999)}"

    def service(self, name: str) -> str:
        """What this statement calls a service."""
        return self.services[name]

    def headed(self, key: str, unit: str = "") -> str:
        """A heading, with its unit where headings say it."""
        if not unit or self.style.units_at != "heading":
            return self.words[key]
        return self.words[key] + self.choice("unit", (" ({})", " {}", " [{}]")).format(unit)

    def arranged(self, parcel: Sequence[Column], charge: Sequence[Column]) -> list[Column]:
        """The columns in an order: the parcel's and the charge's, or all mixed; sides and units stay together."""
        chance, first, then = self.drawn("order"), _together(parcel), _together(charge)
        if chance.random() < 0.6:
            first = first[:1] + chance.sample(first[1:], len(first) - 1)
        if chance.random() < 0.15:
            first, then = chance.sample(first + then, len(first + then)), []
        return [column for group in first + then for column in group]


def _together(columns: Sequence[Column]) -> list[list[Column]]:
    groups: list[list[Column]] = []
    for column in columns:
        if column.role in {"width", "height", "unit"}:
            groups[-1].append(column)
        else:
            groups.append([column])
    return groups


def look(seed: int, pool: str, month: Month) -> Look:
    """A look drawn at random; of one seed the pools differ in words and in where units stand, not in figures."""
    chance = Random(f"look {seed}")
    chosen = words(pool, Random(f"words {seed} {pool}"))
    names = sorted({shipment.service for shipment in month.shipments})
    renamed = chance.random() < (0.5 if pool != "plain" else 0.25)
    services = {name: chosen[f"service {place}"] if renamed else name for place, name in enumerate(names, 1)}
    return Look(
        seed=seed,
        words=chosen,
        style=style(chance, words=pool != "nonsense"),
        services=services,
        fields=tuple(field for field in FIELDS if chance.random() < SHARES[field]),
        mark=chance.choice(MARKS),
        totals=chance.choice(TOTALS),
        spaced=chance.random() < 0.1,
        statement=chance.choice(("", "ST-", "R")) + str(chance.randint(10_000, 9_999_999)),
        account_named=chance.random() < 0.3,
        statement_on=month.first_day + timedelta(days=chance.randint(33, 40)),
    )


def in_order(events: Sequence[Event], look: Look) -> list[Event]:
    """The events as the statement has them: each parcel's below one another, labels first, or day by day."""
    way = look.choice("events", ("parcel", "parcel", "labels first", "day"))
    if way == "day":
        return list(events)
    if way == "labels first":
        return sorted(events, key=lambda event: event.kind != LABEL)
    place: dict[str, int] = {}
    for event in events:
        place.setdefault(event.about.tracking if event.about else "", len(place))
    place[""] = look.choice("account", (-1, len(place)))
    return sorted(
        events, key=lambda event: (place[event.about.tracking if event.about else ""], KINDS.index(event.kind))
    )
