"""The nouns of a tariff: facts with dated values, and the rules as they stood on one day.

A tariff is a set of facts, each a list of dated values with their sources. `Tariff.on(day)` gives the facts in force on
that day as plain numbers in whole small units, ready to be applied to columns of parcels. Files are read by `loading`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from functools import cached_property
from typing import Any, Literal, get_args

import numpy as np

Way = Literal["up", "nearest", "down", "none"]
Measure = Literal[
    "longest side",
    "second side",
    "shortest side",
    "length plus girth",
    "volume",
    "actual weight",
    "billable weight",
    "density",
]
Flag = Literal["residential", "address corrected", "corrected", "size missing or wrong"]

NEEDED = ("side_rounding", "weight_rounding")
"""Facts without which nothing can be priced."""

MEASURES: tuple[Measure, ...] = get_args(Measure)
KIND_OF_MEASURE: Mapping[Measure, str] = {
    "longest side": "length",
    "second side": "length",
    "shortest side": "length",
    "length plus girth": "length",
    "volume": "volume",
    "actual weight": "weight",
    "billable weight": "weight",
    "density": "density",
}


@dataclass(frozen=True)
class Rounding:
    """Round to whole multiples of `step` (nm or pg): up, to the nearest (a half goes up), down, or not at all (step 1).

    Amounts of at most `fine_up_to` are rounded to multiples of `fine_step` instead (ounces below a pound).
    """

    way: Way
    step: int
    fine_step: int | None = None
    fine_up_to: int = 0

    def steps(self, amount: Any) -> Any:
        """How many whole steps an amount rounds to; an int, an array or a column, none below zero."""
        if self.way == "up":
            return -(-amount // self.step)
        if self.way == "nearest":
            return (2 * amount + self.step) // (2 * self.step)
        return amount // self.step

    def span(self, rounded: Any) -> tuple[Any, Any]:
        """The ends of the stretch of amounts that round to a whole number of steps."""
        if self.way == "up":
            return rounded - self.step, rounded
        if self.way == "nearest":
            return rounded - self.step // 2, rounded + self.step // 2
        return rounded, rounded + self.step * (self.way == "down")


@dataclass(frozen=True)
class Tolerance:
    """How far a scale may be off by the load it bears, in pg: `steps` of (load up to, within), `beyond` above them."""

    beyond: int
    steps: tuple[tuple[int, int], ...] = ()

    def at(self, load: Any) -> Any:
        """The tolerance of a load in pg; an int, or an array of the shape of one."""
        within = np.array([*(within for _, within in self.steps), self.beyond], dtype=np.int64)
        found = within[np.searchsorted(np.array([up_to for up_to, _ in self.steps], dtype=np.int64), load)]
        return int(found) if np.ndim(load) == 0 else found


@dataclass(frozen=True)
class Scope:
    """The services and zones that something holds for; empty: all."""

    services: frozenset[str] = frozenset()
    zones: frozenset[str] = frozenset()

    def __bool__(self) -> bool:
        return bool(self.services or self.zones)

    def covers(self, service: str, zone: str) -> bool:
        """Whether a service and zone (as compared, see `prices.plain`) are meant."""
        return (not self.services or service in self.services) and (not self.zones or zone in self.zones)


EVERYWHERE = Scope()


@dataclass(frozen=True)
class Threshold:
    """A limit on a measure: passed when the measure is over `limit`, or, if `inclusive`, at least `limit`.

    `limit` is in nm, nm³, pg, or (density) pg per nm³. The measure is of the rounded sides unless `measured` says the
    unrounded ones.
    """

    measure: Measure
    limit: Fraction
    inclusive: bool = False
    measured: bool = False
    scope: Scope = EVERYWHERE


@dataclass(frozen=True)
class Least:
    """A least billable weight, for parcels that pass one of the charge's limits on `measures`."""

    weight_pg: int
    measures: tuple[Measure, ...]


@dataclass(frozen=True)
class Fee:
    """A charge's amount: flat, or by zone, service or weight; or a percentage of other charges, at least the flat one.

    `own` is true when it comes from the seller's own rule file, and so goes before the seller's fees table.
    """

    cents: int = 0
    by_zone: Mapping[str, int] = field(default_factory=dict)
    by_service: Mapping[str, int] = field(default_factory=dict)
    by_weight: tuple[tuple[int, int], ...] = ()
    ppm: int = 0
    of: tuple[str, ...] = ()
    own: bool = False


@dataclass(frozen=True)
class Charge:
    """A surcharge: limits passed or a flag (both, where both are given) call for it; it may exclude other charges.

    Of the charges called in one `group` only the dearest is made. `fee` is missing where the amount is left to the
    seller's fees table, and `fee_ended` gives the day after which the tariff's own amount is not known.
    """

    name: str
    limits: tuple[Threshold, ...] = ()
    least: Least | None = None
    applies_to: Flag | None = None
    excludes: tuple[str, ...] = ()
    group: str | None = None
    scope: Scope = EVERYWHERE
    fee: Fee | None = None
    fee_ended: date | None = None


@dataclass(frozen=True)
class Dimensional:
    """Dimensional weight: volume by `divisor` (nm³ per pg), for volumes over `only_over` nm³, in `scope`.

    Irregular parcels count `irregular` of the volume of their box. More than `at_most_pg` is never billed by dimension.
    """

    divisor: Fraction
    only_over: Fraction = Fraction(0)
    scope: Scope = EVERYWHERE
    irregular: Fraction = Fraction(1)
    at_most_pg: int | None = None


@dataclass(frozen=True)
class Cited:
    """Where a value in force comes from: fact, first day, source, the value as written, and what it replaced."""

    fact: str
    since: date
    source: str
    written: str
    replaced: str = ""


@dataclass(frozen=True)
class Rules:
    """A tariff as it stood from `since`: lengths in nm, weights in pg, volumes in nm³, days in whole days.

    `unknown` names a fact that is no longer known then: nothing can be priced. `last_known` is the day on which the
    tariff was last looked at, where these rules are taken for days after it.
    """

    tariff: str
    since: date
    length_unit: str
    weight_unit: str
    side_rounding: Rounding
    weight_rounding: Rounding
    dimensional: Dimensional | None
    charges: tuple[Charge, ...]
    not_accepted: tuple[Threshold, ...]
    fuel_on: tuple[str, ...]
    fuel_ppm: int | None
    side_tolerance_nm: int
    weight_tolerance: Tolerance
    tape_tolerance_nm: int
    kitchen_scale_tolerance_pg: int
    dispute_days: int
    dispute_days_of: Mapping[str, int]
    cited: Mapping[str, Cited]
    unknown: str = ""
    last_known: date | None = None

    @property
    def differs_by(self) -> tuple[str, ...]:
        """Which of "service" and "zone" some of the rules hold for only in part."""
        limits = [*(limit for charge in self.charges for limit in charge.limits), *self.not_accepted]
        scopes = [limit.scope for limit in limits] + [charge.scope for charge in self.charges]
        scopes += [self.dimensional.scope] if self.dimensional else []
        services, zones = any(scope.services for scope in scopes), any(scope.zones for scope in scopes)
        return ("service",) * services + ("zone",) * zones

    def charge(self, name: str) -> Charge:
        """The charge of that name; StopIteration when the tariff has none."""
        return next(charge for charge in self.charges if charge.name == name)


@dataclass(frozen=True)
class Dated:
    """One value of a fact, in force from `since` to `until` (itself included; None: with no end).

    After `known_until` it may or may not be in force still: not known. `told` is the value as the file has it, by key.
    `own`: from the seller's own file, where it stands in the place of `replaced`.
    """

    since: date
    until: date | None
    known_until: date | None
    value: Any
    source: str
    told: Mapping[str, Any]
    own: bool = False
    replaced: str = ""

    @property
    def written(self) -> str:
        """The value as the file has it, on one line."""
        return ", ".join(f"{key} {in_words(value)}" for key, value in self.told.items())


def in_words(value: Any) -> str:
    """A value of a rule file on one line: lists with commas, tables with semicolons."""
    if isinstance(value, dict):
        return "; ".join(f"{key}: {in_words(one)}" for key, one in value.items())
    if isinstance(value, list):
        return ", ".join(in_words(one) for one in value)
    return str(value)


Answer = Literal["value", "ended", "not known"]


def answer(values: tuple[Dated, ...], day: date) -> tuple[Answer, Dated | None]:
    """What a fact says of a day: a value, that there is none (not begun, or ended), or that it is not known."""
    begun = [value for value in values if value.since <= day]
    if not begun or (begun[-1].until and begun[-1].until < day):
        return "ended", None
    if begun[-1].known_until and begun[-1].known_until < day:
        return "not known", begun[-1]
    return "value", begun[-1]


@dataclass(frozen=True)
class Tariff:
    """A rule file: its facts by name, each a tuple of dated values in order of time.

    `known_until` is the day on which it was last looked at; what it says of later days may have changed. `not_covered`
    names in words what it says nothing of.
    """

    name: str
    title: str
    version: str
    currency: str
    length_unit: str
    weight_unit: str
    known_from: date
    known_until: date
    facts: Mapping[str, tuple[Dated, ...]]
    charges: Mapping[str, Charge]
    not_covered: str = ""

    @cached_property
    def periods(self) -> tuple[date, ...]:
        """The first days of the stretches of time over which no fact changes, and over which they are known or not."""
        days = {self.known_from, self.known_until + timedelta(days=1)}
        for values in self.facts.values():
            for value in values:
                days.add(value.since)
                days.update(end + timedelta(days=1) for end in (value.until, value.known_until) if end)
        return tuple(sorted(day for day in days if self.known_from <= day))

    @cached_property
    def sources(self) -> tuple[str, ...]:
        """Every source its values name, once each, in order."""
        return tuple(dict.fromkeys(value.source for values in self.facts.values() for value in values))

    @property
    def fuel_on(self) -> tuple[str, ...]:
        """The charges that the fuel percentage is taken of; none where the tariff knows no fuel."""
        return tuple(self.facts["fuel_on"][-1].value) if "fuel_on" in self.facts else ()

    def on(self, day: date) -> Rules | None:
        """The rules of that day; None when the tariff does not reach back so far."""
        if day < self.known_from:
            return None
        return self.by_period[max(start for start in self.periods if start <= day)]

    @cached_property
    def by_period(self) -> Mapping[date, Rules]:
        """The rules of each stretch of time, by its first day."""
        return {since: _in_force(self, since) for since in self.periods}


def _in_force(tariff: Tariff, day: date) -> Rules:
    answers = {fact: answer(values, day) for fact, values in tariff.facts.items()}
    now = {fact: value for fact, (kind, value) in answers.items() if value is not None and kind == "value"}
    lost = [fact for fact, (kind, _) in answers.items() if kind == "not known" and not fact.endswith(".fee")]
    lost += [fact for fact in NEEDED if answers[fact][0] == "ended"]

    def one(fact: str, otherwise: Any = None) -> Any:
        return now[fact].value if fact in now else otherwise

    def all_under(prefix: str) -> tuple[Any, ...]:
        return tuple(value.value for fact, value in now.items() if fact.startswith(prefix))

    def charge(name: str, plain: Charge) -> Charge:
        kind, fee = answers.get(f"charges.{name}.fee", ("ended", None))
        ended = fee.known_until if fee and kind == "not known" else None
        return Charge(
            name=name,
            limits=all_under(f"charges.{name}.limits."),
            least=one(f"charges.{name}.least_billable"),
            applies_to=plain.applies_to,
            excludes=plain.excludes,
            group=plain.group,
            scope=one(f"charges.{name}.only", EVERYWHERE),
            fee=one(f"charges.{name}.fee"),
            fee_ended=ended,
        )

    divisor = one("dimensional_weight.divisor")
    return Rules(
        tariff=tariff.name,
        since=day,
        length_unit=tariff.length_unit,
        weight_unit=tariff.weight_unit,
        side_rounding=one("side_rounding", Rounding("none", 1)),
        weight_rounding=one("weight_rounding", Rounding("none", 1)),
        dimensional=divisor
        and Dimensional(
            divisor=divisor,
            only_over=one("dimensional_weight.only_over", Fraction(0)),
            scope=one("dimensional_weight.only", EVERYWHERE),
            irregular=one("dimensional_weight.irregular", Fraction(1)),
            at_most_pg=one("dimensional_weight.at_most"),
        ),
        charges=tuple(
            charge(name, plain)
            for name, plain in tariff.charges.items()
            if all_under(f"charges.{name}.limits.") or _only_flagged(tariff, name)
        ),
        not_accepted=all_under("not_accepted."),
        fuel_on=one("fuel_on", ()),
        fuel_ppm=one("fuel_percent"),
        side_tolerance_nm=one("tolerance.side", 0),
        weight_tolerance=one("tolerance.weight", Tolerance(0)),
        tape_tolerance_nm=one("tolerance.tape", 0),
        kitchen_scale_tolerance_pg=one("tolerance.kitchen_scale", 0),
        dispute_days=one("dispute_window", 0),
        dispute_days_of={
            fact.split(".")[1]: value.value for fact, value in now.items() if fact.endswith(".dispute_window")
        },
        cited={
            fact: Cited(fact, value.since, value.source, value.written, value.replaced) for fact, value in now.items()
        },
        unknown=lost[0] if lost else "",
        last_known=tariff.known_until if day > tariff.known_until else None,
    )


def _only_flagged(tariff: Tariff, name: str) -> bool:
    """A charge that never has limits: its flag alone calls for it, on every day."""
    return not any(fact.startswith(f"charges.{name}.limits.") for fact in tariff.facts)
