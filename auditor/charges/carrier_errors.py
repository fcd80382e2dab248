"""Charges that are wrong and can be named: the price of another zone or date, or a charge beside its better."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from itertools import islice
from typing import Any

import numpy as np
import pandas as pd

from auditor.core.money import dollars, half_up
from auditor.tariff import Priced, Prices, Rules, Tariff, column_of
from auditor.tariff.places import fee_place, fuel_place, rate_place
from auditor.tariff.prices import ALWAYS, plain
from auditor.tariff.rules import Fee

Row = Mapping[str, Any]
Source = Callable[[], str]
"""Looks up where a price stands; done only for a working, since it searches the tables."""

EPOCH = pd.Timestamp("1970-01-01")

MOST_NAMED = 3
"""So many other places of a price are named."""


@dataclass(frozen=True)
class Named:
    """What a wrong charge is: its column of cents, the words, the amount billed, and what tells where that stands."""

    column: str
    words: str
    cents: int
    source: Source = str


@dataclass(frozen=True)
class Charged:
    """A parcel's charges up to a statement: the carrier's figures, priced, and the cents charged in their place.

    `parcel` and `due` are rows of `Cases.measured` and of its price, `before` that of the figures before (None where
    the statement bills the label itself), `cents` what has been charged by column.
    """

    parcel: Row
    due: Priced
    before: Priced | None
    cents: Mapping[str, int]
    rules: Rules
    tariff: Tariff

    @property
    def day(self) -> int:
        """The ship date, in days since 1970."""
        return int((self.parcel["shipped_on"] - EPOCH).days)

    @property
    def place(self) -> tuple[str, str]:
        """Service and zone as they are compared."""
        return plain(self.parcel["service"]), plain(self.parcel["zone"])

    def fuelled(self, amounts: Row) -> int:
        """What carries fuel, of amounts by column."""
        return sum(int(amounts.get(column_of(charge), 0)) for charge in self.rules.fuel_on)


def named(charged: Charged, prices: Prices) -> tuple[Named, ...]:
    """The wrong charges that stand elsewhere in the prices, or beside a better one of their group.

    Only prices that differ in one thing (zone, date or service) from the one due are looked for: with two, some price
    of a long list is soon the same by chance.
    """
    wrong = [column for column, cents in charged.cents.items() if cents > 0 and cents != charged.due[column]]
    return tuple(found for column in wrong for found in _named(column, charged, prices))


def _named(column: str, charged: Charged, prices: Prices) -> Iterable[Named]:
    cents = charged.cents[column]
    if column == "fuel_cents":
        return islice(_fuel(charged, prices), 1)
    if column == "freight_cents":
        found = list(_freight(charged, prices, cents))
    else:
        charge = next((charge.name for charge in charged.rules.charges if column_of(charge.name) == column), None)
        if charge is None:
            return ()
        found = list(_fee(charge, charged, prices, cents) if charged.due[column] else _beside(charge, charged))
    words = " or ".join(dict.fromkeys(words for words, _ in found[:MOST_NAMED]))
    return (Named(column, words, cents, found[0][1]),) if found else ()


def _freight(charged: Charged, prices: Prices, cents: int) -> Iterator[tuple[str, Source]]:
    """The other zones, dates or services with this price for the parcel's billable weight, and where it stands."""
    (service, zone), day, weight = charged.place, charged.day, int(charged.due["billable_pg"])
    due = _begun(prices.rate_days.get(service, []), day)
    for its_service, first_day, its_zone in sorted(prices.lists_with(weight, cents), key=lambda key: key[0] != service):
        days = prices.rate_days[its_service]
        in_force = first_day == (due if its_service == service else _begun(days, day))
        unlike = (its_service != service, its_zone != zone, not in_force)
        if sum(unlike) == 1:
            place = partial(rate_place, prices, its_service, its_zone, _timestamp(first_day), weight)
            yield _other_price(unlike, its_service, its_zone, _spell(days, first_day), prices), place


def _other_price(unlike: tuple[bool, ...], service: str, zone: str, spell: str, prices: Prices) -> str:
    """The price of another service or zone, or the seller's own of another time."""
    if unlike[0]:
        return f"the price of {next(name for name in prices.rates['service'].unique() if plain(name) == service)}"
    return f"the price of zone {zone}" if unlike[1] else f"your price {spell}"


def _fee(charge: str, charged: Charged, prices: Prices, cents: int) -> Iterator[tuple[str, Source]]:
    """The other zones or dates at which the fees table, or else the tariff, has this amount for the charge."""
    (service, zone), day = charged.place, charged.day
    by_zone = {key[1]: amounts for key, amounts in prices.fees_by_day.items() if key[0] == plain(charge)}
    own = by_zone.get(zone) or by_zone.get("", [])
    for first_day, amount in own:
        if amount == cents:
            words = f"your amount {_spell([start for start, _ in own], first_day)}"
            yield words, partial(fee_place, prices, charge, zone, _timestamp(first_day))
    for its_zone in by_zone:
        if its_zone not in (zone, "") and cents == prices.fee(charge, its_zone, day):
            place = partial(fee_place, prices, charge, its_zone, charged.parcel["shipped_on"])
            yield f"the amount of zone {its_zone}", place
    for value in () if by_zone else charged.tariff.facts.get(f"charges.{charge}.fee", ()):
        if cents == _flat(value.value, service, zone):
            last = value.until or value.known_until
            yield f"the amount from {value.since}{f' to {last}' if last else ''}", partial(str, value.source)


def _flat(fee: Fee, service: str, zone: str) -> int:
    return fee.by_zone.get(zone, fee.by_service.get(service, fee.cents))


def _fuel(charged: Charged, prices: Prices) -> Iterator[Named]:
    """The other weeks whose percentage gives the fuel billed, of all charges or of what the correction added."""
    cents, due_ppm = charged.cents["fuel_cents"], charged.due["fuel_ppm"]
    weeks = list(_weeks(charged, prices))
    base = charged.fuelled(charged.cents)
    added = base - charged.fuelled(charged.before) if charged.before else base
    for first_day, ppm, source in sorted(weeks, key=lambda week: abs(week[0] - charged.day)):
        of_all, of_added = (
            int(half_up(np.array([amount * ppm], dtype=object), 1_000_000)[0]) for amount in (base, added)
        )
        gives = cents in (of_all, of_added + _fuel_before(charged))
        if gives and ppm != due_ppm:
            amount, spell = base if cents == of_all else added, _spell((start for start, *_ in weeks), first_day)
            words = (
                f"{_percent(ppm)} of {dollars(amount)}, the percentage {spell}; on its ship date, "
                f"{charged.parcel['shipped_on']:%Y-%m-%d}, it is {_percent(due_ppm)}"
            )
            yield Named("fuel_cents", words, cents, source)


def _weeks(charged: Charged, prices: Prices) -> Iterator[tuple[int, int, Source]]:
    """The fuel percentages by first day, in millionths, and where they stand: the tariff's own, or the seller's."""
    if charged.rules.fuel_ppm is not None:
        for value in charged.tariff.facts["fuel_percent"]:
            yield (value.since - EPOCH.date()).days, value.value, partial(str, value.source)
        return
    service = charged.place[0]
    for first_day, ppm in prices.fuel_by_day.get((service,)) or prices.fuel_by_day.get(("",), []):
        yield first_day, ppm, partial(fuel_place, prices, service, _timestamp(first_day))


def _fuel_before(charged: Charged) -> int:
    return int(charged.before["fuel_cents"]) if charged.before else 0


def _percent(ppm: int) -> str:
    return f"{ppm / 10_000:g} %"


def _beside(charge: str, charged: Charged) -> Iterator[tuple[str, Source]]:
    """The charge that is due in the place of this one, which is not due: of the two only that one is made."""
    group = charged.rules.charge(charge).group
    for better in charged.rules.charges:
        column = column_of(better.name)
        if better.name == charge or not charged.due[column] or not charged.cents[column]:
            continue
        if charge in better.excludes or (group and better.group == group):
            amount = dollars(charged.cents[column])
            yield f"it is billed beside {better.name}, {amount}, and of the two only {better.name} is due", str


def _begun(days: Iterable[int], day: int) -> int | None:
    """The first day of the list in force."""
    return max((start for start in days if start <= day), default=None)


def _spell(days: Iterable[int], first_day: int) -> str:
    """How long a list or amount holds: 'from 2025-01-06 to 2025-12-28'."""
    after = min((start for start in days if start > first_day), default=None)
    since = f"from {_timestamp(first_day):%Y-%m-%d}" if first_day != ALWAYS else ""
    until = f"to {_timestamp(after - 1):%Y-%m-%d}" if after is not None else "on"
    return f"{since} {until}".strip()


def _timestamp(day: int) -> pd.Timestamp:
    return pd.Timestamp(np.datetime64(int(day), "D").astype("datetime64[s]"))
