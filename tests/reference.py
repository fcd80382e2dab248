"""A plain, slow, obviously right way to price one parcel by a rule file: it shares no code with the package.

It reads the TOML itself, takes one parcel at a time, and counts in fractions and unbounded whole numbers.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from datetime import date
from fractions import Fraction
from functools import cache
from math import ceil, floor
from pathlib import Path
from typing import Any

LENGTHS = {"in": 25_400_000, "cm": 10_000_000, "mm": 1_000_000, "ft": 304_800_000}
WEIGHTS = {"lb": 453_592_370_000_000, "oz": 28_349_523_125_000, "kg": 10**15, "g": 10**12}
FLAGS = {
    "residential": "residential",
    "address corrected": "address_corrected",
    "corrected": "corrected",
    "size missing or wrong": "size_wrong",
}
Parcel = Mapping[str, Any]
BEYOND = Fraction(10**60)
"""The density of a parcel with a side that is rounded down to nothing: more than any limit."""


@cache
def amount(text: str) -> Fraction:
    """A quantity of a rule file in nm, nm³, pg or pg per nm³."""
    number, unit = text.split(" ", 1)
    return Fraction(number) * one(unit)


def one(unit: str) -> Fraction:
    """How much one unit is."""
    if "/" in unit:
        above, below = unit.split("/")
        return one(above) / one(below)
    if unit[-1] in "3³":
        return Fraction(LENGTHS[unit[:-1]]) ** 3
    return Fraction(LENGTHS.get(unit) or WEIGHTS[unit])


@cache
def written(path: Path) -> dict[str, Any]:
    """The rule file as it stands."""
    return tomllib.loads(path.read_text(encoding="utf-8"))


def in_force(values: list[dict[str, Any]], day: date) -> dict[str, Any] | None:
    """The value of that day; {"lost": True} when it is not known any more."""
    found = None
    for value in values:
        if value["from"] <= day:
            found = value
    if found is None or found.get("until", day) < day:
        return None
    return {"lost": True} if found.get("known_until", day) < day else found


def fact(table: Mapping[str, Any], name: str, day: date) -> dict[str, Any] | None:
    """The value of a fact of that day, if the table has it."""
    return in_force(table[name], day) if name in table else None


def limits(table: Mapping[str, Any], day: date) -> list[tuple[str, dict[str, Any]]]:
    """The limits in force, each with its measure."""
    dated = [(name.split(",")[0].strip(), in_force(values, day)) for name, values in table.items()]
    return [(measure, value) for measure, value in dated if value]


def rounded(value: Fraction, rule: Mapping[str, Any] | None) -> Fraction:
    """A side or a weight rounded by a rule."""
    if rule is None or rule["way"] == "none":
        return value
    step = amount(rule["to"])
    if "finely_to" in rule and value <= amount(rule["up_to"]):
        step = amount(rule["finely_to"])
    return to_step(value, step, rule["way"])


def to_step(value: Fraction, step: Fraction, way: str) -> Fraction:
    """A value to whole steps: up, down, or to the nearest with halves up."""
    steps = value / step
    return {"up": ceil(steps), "down": floor(steps), "nearest": floor(steps + Fraction(1, 2))}[way] * step


def covers(scope: Mapping[str, Any], parcel: Parcel) -> bool:
    """Whether a value's services and zones take in the parcel."""
    services = [service.casefold() for service in scope.get("services", [parcel["service"]])]
    return parcel["service"].casefold() in services and parcel["zone"] in scope.get("zones", [parcel["zone"]])


def measures(sides: list[Fraction], weight: Fraction) -> dict[str, Fraction]:
    """Everything that a limit can look at, but for the billable weight."""
    longest, second, shortest = sorted(sides, reverse=True)
    volume = longest * second * shortest
    return {
        "longest side": longest,
        "second side": second,
        "shortest side": shortest,
        "length plus girth": longest + 2 * (second + shortest),
        "volume": volume,
        "actual weight": weight,
        "density": weight / volume if volume else BEYOND,
    }


def passes(measure: str, limit: Mapping[str, Any], by_rule: dict[str, Fraction], raw: dict[str, Fraction]) -> bool:
    """Whether a limit is passed; one on a measure that is not known yet is not."""
    seen = raw if limit.get("of") == "measured" else by_rule
    if measure not in seen:
        return False
    if "over" in limit:
        return seen[measure] > amount(limit["over"])
    return seen[measure] >= amount(limit["at_least"])


def cents_of(text: str) -> int:
    """'4.00' in cents."""
    return int(Fraction(text) * 100)


def fee_of(
    name: str, rule: Mapping[str, Any], parcel: Parcel, fees: Mapping[str, int], billable: Fraction
) -> int | None:
    """The amount of a charge, the seller's table first; None when nobody knows it."""
    if name in fees:
        return fees[name]
    value = fact(rule, "fee", parcel["day"])
    if value is None or "lost" in value:
        return None
    if "by_zone" in value:
        return next((cents_of(of) for zone, of in value["by_zone"].items() if zone == parcel["zone"]), None)
    if "by_service" in value:
        named = {service.casefold(): of for service, of in value["by_service"].items()}
        return cents_of(named[parcel["service"].casefold()]) if parcel["service"].casefold() in named else None
    if "by_weight" in value:
        steps = sorted((amount(step["up_to"]), cents_of(step["amount"])) for step in value["by_weight"])
        return next((cents for weight, cents in steps if billable <= weight), None)
    return cents_of(value.get("amount", "0"))


def charge(path: Path, parcel: Parcel, rates: Any, fees: Mapping[str, int], fuel_ppm: int) -> dict[str, int] | None:
    """Every charge of a parcel in cents, with its billable weight and total; None when it has no price.

    `parcel`: service, zone, day, sides (nm), weight (pg), flags and irregular. `rates`: a function of service, zone and
    billable weight in pg to cents or None. `fees`: cents by charge.
    """
    rules = written(path)
    day = parcel["day"]
    if day < rules["known_from"]:
        return None
    sides = [Fraction(side) for side in parcel["sides"]]
    weight = Fraction(parcel["weight"])
    if min(sides) <= 0 or weight <= 0:
        return None
    raw = measures(sides, weight)
    by_rule = measures([rounded(side, fact(rules, "side_rounding", day)) for side in sides], weight)
    refused = limits(rules.get("not_accepted", {}), day)
    if any(covers(limit, parcel) and passes(measure, limit, by_rule, raw) for measure, limit in refused):
        return None
    rounding = fact(rules, "weight_rounding", day)
    billable = max(rounded(weight, rounding), dimensional(rules, parcel, by_rule, rounding))
    for name in called(rules, parcel, by_rule, raw):
        billable = max(billable, least(rules["charges"][name], day, by_rule, raw))
    by_rule["billable weight"] = raw["billable weight"] = billable
    due = called(rules, parcel, by_rule, raw)
    replaced = any("freight" in rules["charges"][name].get("excludes", []) for name in due)
    amounts = {"freight": 0 if replaced else rates(parcel["service"], parcel["zone"], int(billable))}
    amounts |= {name: fee_of(name, rules["charges"][name], parcel, fees, billable) for name in due}
    if None in amounts.values():
        return None
    known: dict[str, int] = {name: cents for name, cents in amounts.items() if cents is not None}
    settled(rules.get("charges", {}), due, parcel, fees, known)
    carried = sum(known.get(name, 0) for name in (fact(rules, "fuel_on", day) or {}).get("charges", []))
    own = fact(rules, "fuel_percent", day)
    share = Fraction(own["percent"].rstrip(" %")) / 100 if own else Fraction(fuel_ppm, 1_000_000)
    known["fuel"] = floor(carried * share + Fraction(1, 2))
    return known | {"total": sum(known.values()), "billable": int(billable)}


def least(rule: Mapping[str, Any], day: date, by_rule: dict[str, Fraction], raw: dict[str, Fraction]) -> Fraction:
    """The least billable weight that a charge brings, 0 where none of its limits that bring one is passed."""
    value = fact(rule, "least_billable", day)
    edges = [(measure, limit) for measure, limit in limits(rule.get("limits", {}), day) if value]
    hit = any(value and m in value["when_over"] and passes(m, limit, by_rule, raw) for m, limit in edges)
    return amount(value["weight"]) if value and hit else Fraction(0)


def settled(
    charges: Mapping[str, Any], due: list[str], parcel: Parcel, fees: Mapping[str, int], known: dict[str, int]
) -> None:
    """Percentages, and groups of which only the dearest is charged."""
    day, correction = parcel["day"], parcel.get("correction", 0)
    for name in due:
        value = fact(charges[name], "fee", day) or {}
        if "percent" in value and name not in fees:
            base = sum(known.get(other, correction if other == "correction" else 0) for other in value["of"])
            share = Fraction(value["percent"].rstrip(" %")) / 100 * base
            known[name] = max(known[name], floor(share + Fraction(1, 2)))
    for group in {charges[name].get("group") for name in due} - {None}:
        members = [name for name in due if charges[name].get("group") == group]
        dearest = max(members, key=lambda name: known[name])
        known.update({name: 0 for name in members if name != dearest})


def called(
    rules: Mapping[str, Any], parcel: Parcel, by_rule: dict[str, Fraction], raw: dict[str, Fraction]
) -> list[str]:
    """The charges that are due, after exclusions, in the file's order."""
    due = []
    for name, rule in rules.get("charges", {}).items():
        scope = fact(rule, "only", parcel["day"]) or {}
        if not covers(scope, parcel):
            continue
        if "applies_to" in rule and not parcel.get(FLAGS[rule["applies_to"]]):
            continue
        edges = limits(rule.get("limits", {}), parcel["day"])
        hit = any(covers(limit, parcel) and passes(measure, limit, by_rule, raw) for measure, limit in edges)
        if hit or "limits" not in rule:
            due.append(name)
    for name, rule in rules.get("charges", {}).items():
        if name in due:
            due = [other for other in due if other not in rule.get("excludes", [])]
    return due


def dimensional(
    rules: Mapping[str, Any], parcel: Parcel, by_rule: dict[str, Fraction], rounding: Mapping[str, Any] | None
) -> Fraction:
    """The dimensional weight, 0 where it does not count."""
    table = rules.get("dimensional_weight", {})
    value = fact(table, "divisor", parcel["day"])
    if value is None or not covers(fact(table, "only", parcel["day"]) or {}, parcel):
        return Fraction(0)
    volume = by_rule["volume"]
    irregular = fact(table, "irregular", parcel["day"])
    if irregular and parcel.get("irregular"):
        volume *= Fraction(irregular["of_box"])
    only_over = fact(table, "only_over", parcel["day"])
    if only_over and volume <= amount(only_over["volume"]):
        return Fraction(0)
    divisor = amount(f"{value['value'].split(' ')[0]} {value['value'].split(' ')[1]}")
    weight = volume / divisor
    if rounding and rounding["way"] != "none":
        weight = to_step(weight, amount(rounding["to"]), rounding["way"])
    at_most = fact(table, "at_most", parcel["day"])
    return min(weight, amount(at_most["weight"])) if at_most else weight
