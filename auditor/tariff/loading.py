"""Rule files: found, read, and refused at the door when something in them is not as docs/rules.md says."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any, get_args

from auditor.core import units
from auditor.tariff.prices import plain
from auditor.tariff.rules import (
    KIND_OF_MEASURE,
    MEASURES,
    NEEDED,
    Charge,
    Dated,
    Fee,
    Flag,
    Least,
    Measure,
    Rounding,
    Scope,
    Tariff,
    Threshold,
    Tolerance,
    Way,
)


class RuleError(ValueError):
    """A rule file that cannot be used: says the file and line, the value found and what was expected."""


def folder() -> Path:
    """Where the shipped rule files lie: inside an installed package, or at the top of a checkout."""
    inside = Path(__file__).parents[1] / "_data" / "rules"
    return inside if inside.is_dir() else Path(__file__).parents[2] / "rules"


def shipped() -> list[str]:
    """The names of the shipped tariffs."""
    return sorted(file.stem for file in folder().glob("*.toml"))


def load(name: str | Path) -> Tariff:
    """A shipped tariff by its name, or one from a file by its path.

    Raises:
        RuleError: no such tariff, or something in the file is not as docs/rules.md says.
    """
    path = Path(name) if str(name).endswith(".toml") else folder() / f"{name}.toml"
    try:
        text = path.read_text(encoding="utf-8")
        written = tomllib.loads(text)
    except FileNotFoundError:
        known = ", ".join(shipped())
        message = f"There are no rules named {name}. Shipped are: {known}. A file of your own ends in .toml."
        raise RuleError(message) from None
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise RuleError(f"{path.name} cannot be read as a rule file: {error}.") from error
    return _Reader(path.name, text).tariff(written)


@dataclass(frozen=True)
class Form:
    """How one kind of fact is written: the keys it needs, those it may have, and what they are read to."""

    needs: tuple[str, ...]
    may: tuple[str, ...]
    read: Callable[[Mapping[str, Any], str], Any]


HEAD: Mapping[str, type] = {
    "name": str,
    "title": str,
    "version": str,
    "currency": str,
    "length_unit": str,
    "weight_unit": str,
    "known_from": date,
    "known_until": date,
}
MAY_HEAD = ("extends", "not_covered")
CHARGE_KEYS = ("applies_to", "excludes", "group")


@dataclass(frozen=True)
class _Reader:
    """One file being read; its text serves to tell the line of whatever is wrong."""

    file: str
    text: str

    def wrong(self, message: str, fact: str = "", number: int = 0, key: str = "") -> RuleError:
        line = _line_of(self.text, fact, number, key)
        return RuleError(f"{self.file}{f', line {line}' if line else ''}: {message}")

    def tariff(self, written: Mapping[str, Any]) -> Tariff:
        base = self._base(written)
        head = self._head(written, base)
        rest = {key: value for key, value in written.items() if key not in HEAD and key not in MAY_HEAD}
        charges = dict(base.charges) if base else {}
        bodies = rest.get("charges", {})
        for name, body in bodies.items() if isinstance(bodies, dict) else ():
            charges[name] = self._charge(name, body, charges.get(name), {*charges, *bodies})
        facts = dict(base.facts) if base else {}
        for fact, values in self._lists(rest, ""):
            own = self._fact(fact, values, own=base is not None)
            facts[fact] = _amended(facts[fact], own) if fact in facts else own
        tariff = Tariff(**head, facts=facts, charges=charges)
        self._check_days(tariff)
        return tariff

    def _base(self, written: Mapping[str, Any]) -> Tariff | None:
        if "extends" not in written:
            return None
        if written["extends"] not in shipped():
            known = ", ".join(shipped())
            message = f"extends = {written['extends']!r} is not a shipped tariff. Shipped are: {known}."
            raise self.wrong(message, "", 0, "extends")
        return load(written["extends"])

    def _head(self, written: Mapping[str, Any], base: Tariff | None) -> dict[str, Any]:
        head = {key: getattr(base, key) for key in HEAD} if base else {}
        head |= {key: written[key] for key in HEAD if key in written}
        for key, kind in HEAD.items():
            if type(head.get(key)) is not kind:
                expected = "a day like 2026-01-12" if kind is date else "a text in quotation marks"
                raise self.wrong(f"{key} must be given, as {expected}; found {head.get(key)!r}.", "", 0, key)
        if head["known_until"] < head["known_from"]:
            raise self.wrong("known_until lies before known_from.", "", 0, "known_until")
        for key, of in (("length_unit", "length"), ("weight_unit", "weight")):
            if units.symbol(head[key], of) is None:
                raise self.wrong(f"{key} = {head[key]!r} is not a known unit of {of}.", "", 0, key)
        head["not_covered"] = written.get("not_covered", base.not_covered if base else "")
        if not isinstance(head["not_covered"], str):
            message = f"not_covered = {head['not_covered']!r} is not a text in quotation marks."
            raise self.wrong(message, "", 0, "not_covered")
        return head

    def _charge(self, name: str, body: Any, before: Charge | None, known: set[str]) -> Charge:
        charge = before or Charge(name)
        fact = f"charges.{name}"
        plainly = {key: value for key, value in body.items() if not _is_facts(value)} if isinstance(body, dict) else {}
        for key, value in plainly.items():
            if key not in CHARGE_KEYS:
                raise self.wrong(f"{fact}: {_unknown(key, CHARGE_KEYS)}", fact, 1, key)
            if key == "applies_to" and value not in get_args(Flag):
                flags = ", ".join(get_args(Flag))
                raise self.wrong(f"{fact}: applies_to = {value!r} is not known. Known are: {flags}.", fact, 1, key)
            if key == "excludes" and not (isinstance(value, list) and set(value) <= {*known, "freight"}):
                raise self.wrong(f"{fact}: excludes = {value!r} names a charge that is not here.", fact, 1, key)
        return replace(
            charge,
            applies_to=plainly.get("applies_to", charge.applies_to),
            excludes=tuple(plainly.get("excludes", charge.excludes)),
            group=plainly.get("group", charge.group),
        )

    def _lists(self, table: Mapping[str, Any], under: str) -> list[tuple[str, list[Any]]]:
        """Every [[list of dated values]] below a table, with its dotted name."""
        found: list[tuple[str, list[Any]]] = []
        for key, value in table.items():
            name = f"{under}.{key}" if under else key
            if isinstance(value, dict):
                found += self._lists(value, name)
            elif _is_facts(value):
                found.append((name, value))
            elif not under.startswith("charges."):
                known = [*HEAD, *MAY_HEAD, *FORMS]
                raise self.wrong(f"{name}: {_unknown(key, known)}", under, 1, key)
        return found

    def _fact(self, fact: str, values: Sequence[Any], *, own: bool) -> tuple[Dated, ...]:
        pattern, measure = _pattern(fact)
        form = FORMS.get(pattern)
        if form is None or (pattern.endswith("*") and pattern != "not_accepted" and not measure):
            raise self.wrong(f"{fact} is not a fact that rules can state. {_nearest(pattern, FORMS)}", fact, 1)
        dated = [self._value(fact, number, entry, form, measure, own=own) for number, entry in enumerate(values, 1)]
        for number, (before, after) in enumerate(pairwise(dated), 2):
            if after.since <= before.since:
                message = f"{fact}: the value from {after.since} must come after the one from {before.since}."
                raise self.wrong(message, fact, number, "from")
            if before.until and before.until >= after.since:
                message = f"{fact}: the value until {before.until} overlaps the one from {after.since}."
                raise self.wrong(message, fact, number, "from")
            if before.until and before.until + timedelta(days=1) < after.since:
                message = f"{fact}: nothing is said of the days between {before.until} and {after.since}."
                raise self.wrong(message, fact, number, "from")
        ends = [after.since - timedelta(days=1) for after in dated[1:]]
        return (*(replace(value, until=value.until or end) for value, end in zip(dated, ends, strict=False)), dated[-1])

    def _value(self, fact: str, number: int, entry: Any, form: Form, measure: str, *, own: bool) -> Dated:
        if fault := _fault(fact, entry, form):
            message, key = fault
            raise self.wrong(f"{fact}, value {number}: {message}", fact, number, key)
        told = {key: entry[key] for key in (*form.needs, *form.may) if key in entry}
        try:
            value = form.read(told, measure)
        except ValueError as error:
            raise self.wrong(f"{fact}, value {number}: {error}.", fact, number, next(iter(told), "")) from error
        return Dated(
            since=entry["from"],
            until=entry.get("until"),
            known_until=entry.get("known_until"),
            value=replace(value, own=own) if isinstance(value, Fee) else value,
            source=entry["source"],
            told=told,
            own=own,
        )

    def _check_days(self, tariff: Tariff) -> None:
        """Every day that claims to be known must have the facts without which nothing can be priced."""
        for fact in NEEDED:
            values = tariff.facts.get(fact, ())
            if not values or values[0].since > tariff.known_from:
                raise self.wrong(
                    f"no value of {fact} is in force on {tariff.known_from}, the day of known_from.", fact, 1
                )
            if values[-1].until and values[-1].until < tariff.known_until:
                gap = values[-1].until + timedelta(days=1)
                raise self.wrong(f"no value of {fact} is in force on {gap}, before known_until.", fact, len(values))
        for name, charge in tariff.charges.items():
            limited = any(fact.startswith(f"charges.{name}.limits.") for fact in tariff.facts)
            if not charge.applies_to and not limited:
                message = f"charges.{name} has neither limits nor applies_to, so it is never due."
                raise self.wrong(message, f"charges.{name}", 1)
        for number, value in enumerate(tariff.facts.get("fuel_on", ()), 1):
            for name in set(value.value) - {"freight", *tariff.charges}:
                raise self.wrong(f"fuel_on names {name}, which is no charge here.", "fuel_on", number, "charges")


DAYS = ("from", "until", "known_until")


def _fault(fact: str, entry: Any, form: Form) -> tuple[str, str] | None:
    """What is wrong with a value before its own keys are read, and at which key."""
    if not isinstance(entry, dict):
        return f"found {entry!r}, expected a [[{fact}]] with from, source and {', '.join(form.needs)}.", ""
    known = (*DAYS, "source", *form.needs, *form.may)
    faults = [(_unknown(key, known), key) for key in entry if key not in known]
    faults += [(f"{key} is missing.", "") for key in ("from", "source", *form.needs) if key not in entry]
    days = {key: entry[key] for key in DAYS if key in entry}
    faults += [
        (f"{key} = {day!r} is not a day like 2026-01-12.", key) for key, day in days.items() if type(day) is not date
    ]
    if not faults:
        late = [key for key, day in days.items() if day < entry["from"]]
        faults += [(f"{key} = {entry[key]} lies before from = {entry['from']}.", key) for key in late]
        if not isinstance(entry["source"], str) or not entry["source"].strip():
            how = 'Write the document, or "common practice, no source", or "from memory".'
            faults.append((f"source is empty. {how}", "source"))
    return faults[0] if faults else None


def _is_facts(value: Any) -> bool:
    return isinstance(value, dict) or (isinstance(value, list) and any(isinstance(one, dict) for one in value))


def _amended(base: tuple[Dated, ...], own: tuple[Dated, ...]) -> tuple[Dated, ...]:
    """The base's values with the seller's own in their place, each for as long as it holds."""
    kept = list(base)
    for value in own:
        before = [
            replace(old, until=min(old.until or date.max, value.since - timedelta(days=1)))
            for old in kept
            if old.since < value.since
        ]
        resumes = value.until + timedelta(days=1) if value.until else None
        after = [
            replace(old, since=max(old.since, resumes))
            for old in kept
            if resumes and (old.until is None or old.until >= resumes)
        ]
        replaced = next((old for old in reversed(kept) if old.since <= value.since), None)
        told = f"{replaced.written} ({replaced.source})" if replaced else ""
        kept = [*before, replace(value, replaced=told), *after]
    return tuple(kept)


def _pattern(fact: str) -> tuple[str, str]:
    """The name of a fact's form, and the measure at its end: a charge's own name does not matter to the form.

    What follows a comma after the measure only tells limits of the same measure apart.
    """
    parts = fact.split(".")
    if parts[0] == "charges" and len(parts) > 1:
        parts[1] = "*"
    measure = parts[-1].partition(",")[0].strip()
    if measure in MEASURES and len(parts) > 1:
        return ".".join([*parts[:-1], "*"]), measure
    return ".".join(parts), ""


def _unknown(key: str, known: Sequence[str]) -> str:
    return f"{key} is not known here. {_nearest(key, known)} Known are: {', '.join(known)}."


def _nearest(word: str, known: Sequence[str] | Mapping[str, Any]) -> str:
    from rapidfuzz import process

    best = process.extractOne(word, list(known), score_cutoff=60)
    return f"Did you mean {best[0]}?" if best else "See docs/rules.md."


def _line_of(text: str, fact: str, number: int, key: str) -> int | None:
    """The line of a key in the `number`-th table of that name, or of that table's heading; None when not found."""
    table, count, heading = "", {"": 1}, None
    for number_of_line, line in enumerate(text.splitlines(), 1):
        if line.lstrip().startswith("["):
            table = _table_name(line)
            count[table] = count.get(table, 0) + 1
            if table == fact and count[table] == max(number, 1):
                heading = number_of_line
        here = table == fact and count.get(table, 0) == max(number, 1)
        if key and here and line.partition("=")[0].strip().strip('"') == key:
            return number_of_line
    return heading


def _table_name(heading: str) -> str:
    try:
        table: Any = tomllib.loads(heading)
    except tomllib.TOMLDecodeError:
        return heading
    parts = []
    while table:
        name, table = next(iter(table.items()))
        parts.append(name)
        table = table[0] if isinstance(table, list) else table
    return ".".join(parts)


def quantity(text: object, kind: str) -> Fraction:
    """A number and its unit as nm, pg, nm³ or (density) pg per nm³: "48 in", "0.1 lb", "10368 in3", "6 lb/ft3".

    Raises:
        ValueError: not a number and a unit of that kind, or not above zero.
    """
    number, _, unit = str(text).strip().partition(" ")
    try:
        value = Decimal(number)
    except InvalidOperation:
        raise ValueError(f"{text!r} does not begin with a number") from None
    if not value.is_finite() or value <= 0:
        raise ValueError(f"{text!r} must be above zero")
    factor = _factor(unit.strip(), kind)
    if factor is None:
        raise ValueError(f"{text!r} is not a {kind} with a known unit")
    return Fraction(value) * factor


def _factor(unit: str, kind: str) -> Fraction | None:
    if kind == "density":
        weight, _, volume = unit.partition("/")
        of_weight, of_volume = _factor(weight, "weight"), _factor(volume, "volume")
        return of_weight / of_volume if of_weight and of_volume else None
    root = unit.removesuffix("3").removesuffix("³") if kind == "volume" else unit
    known = units.symbol(root, "length" if kind == "volume" else kind)
    if known is None or (kind == "volume" and root == unit):
        return None
    return units.factor(known, "length" if kind == "volume" else kind) ** (3 if kind == "volume" else 1)


def _whole(text: object, kind: str) -> int:
    exact = quantity(text, kind)
    if exact.denominator != 1:
        raise ValueError(f"{text!r} is finer than this program's smallest unit")
    return int(exact)


def _cents(text: object) -> int:
    try:
        amount = Decimal(str(text)) * 100
    except InvalidOperation:
        raise ValueError(f"{text!r} is not an amount like '4.00'") from None
    if isinstance(text, float) or not amount.is_finite() or amount != int(amount) or amount < 0:
        raise ValueError(f"{text!r} is not an amount like '4.00', in quotation marks")
    return int(amount)


def _ppm(text: object) -> int:
    try:
        ppm = Decimal(str(text).removesuffix("%").strip()) * 10_000
    except InvalidOperation:
        raise ValueError(f"{text!r} is not a percentage like '6 %'") from None
    if not str(text).endswith("%") or not ppm.is_finite() or ppm != int(ppm) or ppm < 0:
        raise ValueError(f"{text!r} is not a percentage like '6 %'")
    return int(ppm)


def _texts(value: object, what: str) -> tuple[str, ...]:
    if not isinstance(value, list) or not value or not all(isinstance(one, str) for one in value):
        raise ValueError(f"{what} = {value!r} is not a list of texts")
    return tuple(value)


def _rounding(kind: str) -> Callable[[Mapping[str, Any], str], Rounding]:
    def read(told: Mapping[str, Any], _: str) -> Rounding:
        way = next((way for way in get_args(Way) if way == told["way"]), None)
        if way is None:
            raise ValueError(f"way = {told['way']!r} is not one of {', '.join(get_args(Way))}")
        if way == "none":
            return Rounding("none", 1)
        if "to" not in told:
            raise ValueError("to is missing: round to what")
        if ("up_to" in told) != ("finely_to" in told):
            raise ValueError("up_to and finely_to go together")
        fine = _whole(told["finely_to"], kind) if "finely_to" in told else None
        return Rounding(way, _whole(told["to"], kind), fine, _whole(told["up_to"], kind) if fine else 0)

    return read


def _divisor(told: Mapping[str, Any], _: str) -> Fraction:
    volume, _, weight = str(told["value"]).partition("/")
    return quantity(volume, "volume") / quantity(f"1 {weight}", "weight")


def _scope(told: Mapping[str, Any], _: str = "") -> Scope:
    named = {key: frozenset(map(plain, _texts(told[key], key))) for key in ("services", "zones") if key in told}
    if "services" not in told and "zones" not in told:
        raise ValueError("it names neither services nor zones")
    return Scope(**named)


def _threshold(told: Mapping[str, Any], measure: str) -> Threshold:
    known = _measure(measure)
    if ("over" in told) == ("at_least" in told):
        raise ValueError("a limit has either over or at_least")
    limit = quantity(told["at_least"] if "at_least" in told else told["over"], KIND_OF_MEASURE[known])
    if told.get("of", "rounded") not in ("rounded", "measured"):
        raise ValueError(f"of = {told['of']!r} is neither rounded nor measured")
    scope = _scope(told) if "services" in told or "zones" in told else Scope()
    return Threshold(known, limit, "at_least" in told, told.get("of") == "measured", scope)


def _measure(text: object) -> Measure:
    for measure in MEASURES:
        if measure == text:
            return measure
    raise ValueError(f"{text!r} is not a measure. Measures are: {', '.join(MEASURES)}")


def _least(told: Mapping[str, Any], _: str) -> Least:
    measures = tuple(map(_measure, _texts(told["when_over"], "when_over")))
    return Least(_whole(told["weight"], "weight"), measures)


def _fee(told: Mapping[str, Any], _: str) -> Fee:
    if not told:
        raise ValueError("a fee has an amount, by_zone, by_service, by_weight or percent")
    if ("percent" in told) != ("of" in told):
        raise ValueError("percent and of go together")
    steps = tuple(
        sorted((_whole(step["up_to"], "weight"), _cents(step["amount"])) for step in told.get("by_weight", ()))
    )
    return Fee(
        cents=_cents(told.get("amount", "0")),
        by_zone={plain(zone): _cents(amount) for zone, amount in told.get("by_zone", {}).items()},
        by_service={plain(service): _cents(amount) for service, amount in told.get("by_service", {}).items()},
        by_weight=steps,
        ppm=_ppm(told["percent"]) if "percent" in told else 0,
        of=_texts(told["of"], "of") if "of" in told else (),
    )


def _days(told: Mapping[str, Any], _: str) -> int:
    days = told["days"]
    if not isinstance(days, int) or isinstance(days, bool) or days <= 0:
        raise ValueError(f"days = {days!r} is not a whole number above zero")
    return days


def _within(kind: str) -> Form:
    return Form(("within",), (), lambda told, _: _whole(told["within"], kind))


def _tolerance(told: Mapping[str, Any], _: str) -> Tolerance:
    steps = sorted((_whole(step["up_to"], "weight"), _whole(step["within"], "weight")) for step in _loads(told))
    return Tolerance(_whole(told["within"], "weight"), tuple(steps))


def _loads(told: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    loads = told.get("by_load", [])
    if not isinstance(loads, list) or not all(
        isinstance(one, dict) and set(one) == {"up_to", "within"} for one in loads
    ):
        raise ValueError(f'by_load = {loads!r} is not a list like [{{ up_to = "25 lb", within = "0.05 lb" }}]')
    return loads


def _share(told: Mapping[str, Any], _: str) -> Fraction:
    try:
        share = Fraction(str(told["of_box"]))
    except ValueError:
        raise ValueError(f"of_box = {told['of_box']!r} is not a number like '0.785'") from None
    if not 0 < share <= 1:
        raise ValueError(f"of_box = {told['of_box']!r} must lie above 0 and be at most 1")
    return share


LIMIT = Form((), ("over", "at_least", "of", "services", "zones"), _threshold)
SCOPE = Form((), ("services", "zones"), _scope)
WINDOW = Form(("days",), (), _days)

FORMS: Mapping[str, Form] = {
    "side_rounding": Form(("way",), ("to",), _rounding("length")),
    "weight_rounding": Form(("way",), ("to", "up_to", "finely_to"), _rounding("weight")),
    "dimensional_weight.divisor": Form(("value",), (), _divisor),
    "dimensional_weight.only_over": Form(("volume",), (), lambda told, _: quantity(told["volume"], "volume")),
    "dimensional_weight.only": SCOPE,
    "dimensional_weight.irregular": Form(("of_box",), (), _share),
    "dimensional_weight.at_most": Form(("weight",), (), lambda told, _: _whole(told["weight"], "weight")),
    "charges.*.limits.*": LIMIT,
    "charges.*.least_billable": Form(("weight", "when_over"), (), _least),
    "charges.*.only": SCOPE,
    "charges.*.fee": Form((), ("amount", "by_zone", "by_service", "by_weight", "percent", "of"), _fee),
    "charges.*.dispute_window": WINDOW,
    "not_accepted.*": LIMIT,
    "fuel_on": Form(("charges",), (), lambda told, _: _texts(told["charges"], "charges")),
    "fuel_percent": Form(("percent",), (), lambda told, _: _ppm(told["percent"])),
    "tolerance.side": _within("length"),
    "tolerance.weight": Form(("within",), ("by_load",), _tolerance),
    "tolerance.tape": _within("length"),
    "tolerance.kitchen_scale": _within("weight"),
    "dispute_window": WINDOW,
}
"""The forms of facts; docs/rules.md describes each with an example."""
