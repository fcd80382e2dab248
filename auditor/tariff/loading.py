"""Rule files: read, and refused at the door when something in them is not as docs/rules.md says."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any, get_args

from auditor.core import units
from auditor.tariff.forms import FORMS, Form
from auditor.tariff.rule_files import RuleError, folder, line_of, shipped
from auditor.tariff.rules import MEASURES, NEEDED, Charge, Dated, Fee, Flag, Tariff


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
        line = line_of(self.text, fact, number, key)
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
