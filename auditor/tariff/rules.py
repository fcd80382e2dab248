"""Rule files: read, checked at the door, and laid out as they stood on one day.

A tariff is a set of facts, each a list of dated values with their sources. `Tariff.on(day)` gives the facts in force on
that day as plain numbers in whole small units, ready to be applied to columns of parcels.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from pathlib import Path
from typing import Any, Literal, get_args

from auditor import units

Way = Literal["up", "nearest", "down"]
Measure = Literal["longest side", "second side", "length plus girth", "volume", "actual weight"]
Flag = Literal["residential", "address corrected", "corrected"]

MEASURES: tuple[Measure, ...] = get_args(Measure)
KIND_OF_MEASURE = {
    "longest side": "length",
    "second side": "length",
    "length plus girth": "length",
    "volume": "volume",
    "actual weight": "weight",
}


class RuleError(ValueError):
    """A rule file that cannot be used: says the file, the place in it, the value found and what was expected."""


@dataclass(frozen=True)
class Rounding:
    """Round to whole multiples of `step` (nm or pg): up, to the nearest (a half goes up), or down."""

    way: Way
    step: int

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
        return rounded, rounded + self.step


@dataclass(frozen=True)
class Threshold:
    """A measure must be over `over` (nm, nm³ or pg) to pass: the limit itself does not."""

    measure: Measure
    over: int


@dataclass(frozen=True)
class Least:
    """A least billable weight, for parcels that pass one of the charge's limits on `measures`."""

    weight_pg: int
    measures: tuple[Measure, ...]


@dataclass(frozen=True)
class Charge:
    """A surcharge: passed limits or a flag call for it, and it may exclude others."""

    name: str
    limits: tuple[Threshold, ...]
    least: Least | None
    applies_to: Flag | None
    excludes: tuple[str, ...]


@dataclass(frozen=True)
class Cited:
    """Where a value in force comes from: the fact's name, the day it began, its source, and the value as written."""

    fact: str
    since: date
    source: str
    written: str


@dataclass(frozen=True)
class Rules:
    """A tariff as it stood from `since`: lengths in nm, weights in pg, volumes in nm³, the divisor in nm³ per pg."""

    tariff: str
    since: date
    side_rounding: Rounding
    weight_rounding: Rounding
    divisor: Fraction
    charges: tuple[Charge, ...]
    not_accepted: tuple[Threshold, ...]
    fuel_on: tuple[str, ...]
    side_tolerance_nm: int
    weight_tolerance_pg: int
    dispute_days: int
    cited: Mapping[str, Cited]

    def charge(self, name: str) -> Charge:
        """The charge of that name; KeyError when the tariff has none."""
        return next(charge for charge in self.charges if charge.name == name)


@dataclass(frozen=True)
class Dated:
    """One value of a fact, in force from `since` to `until` (itself included; None: with no end)."""

    since: date
    until: date | None
    value: Any
    source: str
    written: str


@dataclass(frozen=True)
class Tariff:
    """A rule file: its facts by name, each a tuple of dated values in order of time."""

    name: str
    title: str
    version: str
    known_from: date
    known_until: date
    facts: Mapping[str, tuple[Dated, ...]]
    charges: Mapping[str, Mapping[str, Any]]

    @cached_property
    def periods(self) -> tuple[date, ...]:
        """The first days of the stretches of time over which no fact changes."""
        days = {self.known_from}
        for values in self.facts.values():
            days.update(value.since for value in values)
            days.update(value.until + timedelta(days=1) for value in values if value.until)
        return tuple(sorted(day for day in days if self.known_from <= day <= self.known_until))

    @cached_property
    def sources(self) -> tuple[str, ...]:
        """Every source its values name, once each, in order."""
        return tuple(dict.fromkeys(value.source for values in self.facts.values() for value in values))

    @property
    def fuel_on(self) -> tuple[str, ...]:
        """The charges that the fuel percentage is taken of."""
        return tuple(self.facts["fuel_on"][-1].value)

    def on(self, day: date) -> Rules | None:
        """The rules of that day; None when they are not known for it."""
        if not self.known_from <= day <= self.known_until:
            return None
        since = max(start for start in self.periods if start <= day)
        return self._by_period[since]

    @cached_property
    def _by_period(self) -> dict[date, Rules]:
        return {since: _in_force(self, since) for since in self.periods}


def _in_force(tariff: Tariff, day: date) -> Rules:
    now = {
        fact: value
        for fact, values in tariff.facts.items()
        for value in values
        if value.since <= day and (value.until is None or day <= value.until)
    }
    missing = [fact for fact in NEEDED if fact not in now]
    if missing:
        raise RuleError(
            f"{tariff.name}: no value of {missing[0]} is in force on {day}, but known_from … covers that day"
        )

    def thresholds(under: str) -> tuple[Threshold, ...]:
        return tuple(now[f"{under}.{measure}"].value for measure in MEASURES if f"{under}.{measure}" in now)

    charges = tuple(
        Charge(
            name=name,
            limits=thresholds(f"charges.{name}.limits"),
            least=now[least].value if (least := f"charges.{name}.least_billable") in now else None,
            applies_to=plain.get("applies_to"),
            excludes=tuple(plain.get("excludes", ())),
        )
        for name, plain in tariff.charges.items()
    )
    return Rules(
        tariff=tariff.name,
        since=day,
        side_rounding=now["side_rounding"].value,
        weight_rounding=now["weight_rounding"].value,
        divisor=now["dimensional_weight.divisor"].value,
        charges=charges,
        not_accepted=thresholds("not_accepted"),
        fuel_on=now["fuel_on"].value,
        side_tolerance_nm=now["tolerance.side"].value,
        weight_tolerance_pg=now["tolerance.weight"].value,
        dispute_days=now["dispute_window"].value,
        cited={fact: Cited(fact, value.since, value.source, value.written) for fact, value in now.items()},
    )


NEEDED = (
    "side_rounding",
    "weight_rounding",
    "dimensional_weight.divisor",
    "fuel_on",
    "tolerance.side",
    "tolerance.weight",
    "dispute_window",
)


def folder() -> Path:
    """Where the shipped rule files lie: inside an installed package, or at the top of a checkout."""
    inside = Path(__file__).parents[1] / "_data" / "rules"
    return inside if inside.is_dir() else Path(__file__).parents[2] / "rules"


def load(name: str | Path) -> Tariff:
    """A shipped tariff by its name, or one from a file by its path.

    Raises:
        RuleError: no such tariff, or something in the file is not as docs/rules.md says.
    """
    path = Path(name) if str(name).endswith(".toml") else folder() / f"{name}.toml"
    try:
        written = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        shipped = ", ".join(sorted(file.stem for file in folder().glob("*.toml")))
        raise RuleError(
            f"There are no rules named {name}. Shipped are: {shipped}. A file of your own ends in .toml."
        ) from None
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise RuleError(f"{path.name} cannot be read as a rule file: {error}.") from error
    return _tariff(written, path.name)


def _tariff(written: Mapping[str, Any], file: str) -> Tariff:
    heads = {"name": str, "title": str, "version": str, "known_from": date, "known_until": date}
    for key, kind in heads.items():
        if not isinstance(written.get(key), kind):
            raise RuleError(f"{file}: {key} must be given, as a {kind.__name__}; found {written.get(key)!r}.")
    rest = {key: value for key, value in written.items() if key not in heads}
    charges = {
        name: {key: value for key, value in body.items() if not isinstance(value, list | dict) or key == "excludes"}
        for name, body in rest.get("charges", {}).items()
    }
    facts = {fact: _dated(fact, values, file) for fact, values in _lists(rest, "", file).items()}
    tariff = Tariff(**{key: written[key] for key in heads}, facts=facts, charges=_checked(charges, file))
    for day in tariff.periods:  # every day that claims to be known must have its needed facts
        tariff.on(day)
    return tariff


def _checked(charges: Mapping[str, Mapping[str, Any]], file: str) -> Mapping[str, Mapping[str, Any]]:
    for name, plain in charges.items():
        for key, value in plain.items():
            if key == "applies_to" and value in get_args(Flag):
                continue
            if key == "excludes" and isinstance(value, list) and set(value) <= set(charges):
                continue
            raise RuleError(f"{file}: charges.{name}: {key} = {value!r} is not known; see docs/rules.md.")
    return charges


def _lists(table: Mapping[str, Any], under: str, file: str) -> dict[str, list[Any]]:
    """Every [[list of dated values]] below a table, by its dotted name."""
    found: dict[str, list[Any]] = {}
    for key, value in table.items():
        name = f"{under}.{key}" if under else key
        if isinstance(value, dict):
            found |= _lists(value, name, file)
        elif isinstance(value, list) and key != "excludes":
            found[name] = value
        elif not under:
            raise RuleError(f"{file}: {key} is not known here; see docs/rules.md.")
    return found


def _dated(fact: str, values: list[Any], file: str) -> tuple[Dated, ...]:
    form = FORMS.get(_form_of(fact))
    if form is None:
        raise RuleError(f"{file}: {fact} is not a fact that rules can state; see docs/rules.md.")
    dated = [_one(fact, entry, f"{file}: {fact}, value {number}", form) for number, entry in enumerate(values, 1)]
    for before, after in pairwise(dated):
        if after.since <= before.since:
            raise RuleError(
                f"{file}: {fact}: the value from {after.since} must come after the one from {before.since}."
            )
        if before.until and before.until >= after.since:
            raise RuleError(f"{file}: {fact}: the value until {before.until} overlaps the one from {after.since}.")
    closed = [
        Dated(value.since, value.until or after.since - timedelta(days=1), value.value, value.source, value.written)
        for value, after in pairwise(dated)
    ]
    return (*closed, *dated[-1:])


def _form_of(fact: str) -> str:
    """The name of a fact's form: a charge's own name and the measure do not matter to it."""
    parts = fact.split(".")
    if parts[0] == "charges":
        parts[1] = "*"
    if parts[-1] in KIND_OF_MEASURE:
        parts[-1] = "*"
    return ".".join(parts)


def _one(fact: str, entry: Any, place: str, form: Any) -> Dated:
    keys, read = form
    if not isinstance(entry, dict):
        raise RuleError(f"{place}: found {entry!r}, expected a [[{fact}]] with from, source and {', '.join(keys)}.")
    for key in entry:
        if key not in {"from", "until", "source", *keys}:
            raise RuleError(f"{place}: {key} is not known here. Known are: from, until, source, {', '.join(keys)}.")
    for key in ("from", "source", *keys):
        if key not in entry:
            raise RuleError(f"{place}: {key} is missing.")
    for key in ("from", "until"):
        if key in entry and type(entry[key]) is not date:
            raise RuleError(f"{place}: {key} = {entry[key]!r} is not a day like 2026-01-12.")
    if not str(entry["source"]).strip():
        raise RuleError(
            f'{place}: source is empty. Write the document, or "common practice, no source", or "from memory".'
        )
    measure = fact.rsplit(".", 1)[-1]
    try:
        value = read(measure, *(entry[key] for key in keys))
    except ValueError as error:
        raise RuleError(f"{place}: {error}") from error
    written = ", ".join(str(entry[key]) if isinstance(entry[key], str | int) else ", ".join(entry[key]) for key in keys)
    return Dated(entry["from"], entry.get("until"), value, str(entry["source"]), written)


def quantity(text: object, kind: str) -> int:
    """Read "48 in" as nm, "0.1 lb" as pg, "10368 in3" as nm³, exactly.

    Raises:
        ValueError: not a number and a unit of that kind, or not above zero.
    """
    number, _, unit = str(text).partition(" ")
    root = unit.strip().removesuffix("3").removesuffix("³") if kind == "volume" else unit
    known = units.symbol(root, "length" if kind == "volume" else kind)
    try:
        value = Decimal(number)
    except InvalidOperation:
        raise ValueError(f"{text!r} does not begin with a number") from None
    if known is None:
        raise ValueError(f"{text!r} is not a {kind} with a known unit")
    if not value.is_finite() or value <= 0:
        raise ValueError(f"{text!r} must be above zero")
    power = 3 if kind == "volume" else 1
    exact = Fraction(value) * units.factor(known, "length" if kind == "volume" else kind) ** power
    return round(exact)


def _rounding(kind: str) -> Any:
    def read(_: str, way: object, to: object) -> Rounding:
        for known in get_args(Way):
            if known == way:
                return Rounding(known, quantity(to, kind))
        raise ValueError(f"way = {way!r} is not one of {', '.join(get_args(Way))}")

    return read


def _divisor(_: str, value: object) -> Fraction:
    volume, _, weight = str(value).partition("/")
    return Fraction(quantity(volume, "volume"), quantity(f"1 {weight}", "weight"))


def _threshold(measure: str, over: object) -> Threshold:
    return Threshold(_measure(measure), quantity(over, KIND_OF_MEASURE[measure]))


def _measure(text: object) -> Measure:
    for measure in MEASURES:
        if measure == text:
            return measure
    raise ValueError(f"{text!r} is not a measure. Measures are: {', '.join(MEASURES)}")


def _least(_: str, weight: object, when_over: list[object]) -> Least:
    return Least(quantity(weight, "weight"), tuple(_measure(measure) for measure in when_over))


def _days(_: str, days: object) -> int:
    if not isinstance(days, int) or isinstance(days, bool) or days <= 0:
        raise ValueError(f"days = {days!r} is not a whole number above zero")
    return days


FORMS: Mapping[str, tuple[tuple[str, ...], Any]] = {
    "side_rounding": (("way", "to"), _rounding("length")),
    "weight_rounding": (("way", "to"), _rounding("weight")),
    "dimensional_weight.divisor": (("value",), _divisor),
    "charges.*.limits.*": (("over",), _threshold),
    "charges.*.least_billable": (("weight", "when_over"), _least),
    "not_accepted.*": (("over",), _threshold),
    "fuel_on": (("charges",), lambda _, charges: tuple(charges)),
    "tolerance.side": (("within",), lambda _, within: quantity(within, "length")),
    "tolerance.weight": (("within",), lambda _, within: quantity(within, "weight")),
    "dispute_window": (("days",), _days),
}
"""The forms of facts: the keys each value must have beside from, until and source, and how they are read."""
