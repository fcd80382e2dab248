"""The forms of facts: which keys each has, and what they come to."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, get_args

from auditor.tariff.prices import plain
from auditor.tariff.quantities import cents, ppm, quantity, texts, whole
from auditor.tariff.rules import (
    KIND_OF_MEASURE,
    MEASURES,
    Fee,
    Least,
    Measure,
    Rounding,
    Scope,
    Threshold,
    Tolerance,
    Way,
)


@dataclass(frozen=True)
class Form:
    """How one kind of fact is written: the keys it needs, those it may have, and what they are read to."""

    needs: tuple[str, ...]
    may: tuple[str, ...]
    read: Callable[[Mapping[str, Any], str], Any]


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
        fine = whole(told["finely_to"], kind) if "finely_to" in told else None
        return Rounding(way, whole(told["to"], kind), fine, whole(told["up_to"], kind) if fine else 0)

    return read


def _divisor(told: Mapping[str, Any], _: str) -> Fraction:
    volume, _, weight = str(told["value"]).partition("/")
    return quantity(volume, "volume") / quantity(f"1 {weight}", "weight")


def _scope(told: Mapping[str, Any], _: str = "") -> Scope:
    named = {key: frozenset(map(plain, texts(told[key], key))) for key in ("services", "zones") if key in told}
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
    measures = tuple(map(_measure, texts(told["when_over"], "when_over")))
    return Least(whole(told["weight"], "weight"), measures)


def _fee(told: Mapping[str, Any], _: str) -> Fee:
    if not told:
        raise ValueError("a fee has an amount, by_zone, by_service, by_weight or percent")
    if ("percent" in told) != ("of" in told):
        raise ValueError("percent and of go together")
    steps = tuple(sorted((whole(step["up_to"], "weight"), cents(step["amount"])) for step in told.get("by_weight", ())))
    return Fee(
        cents=cents(told.get("amount", "0")),
        by_zone={plain(zone): cents(amount) for zone, amount in told.get("by_zone", {}).items()},
        by_service={plain(service): cents(amount) for service, amount in told.get("by_service", {}).items()},
        by_weight=steps,
        ppm=ppm(told["percent"]) if "percent" in told else 0,
        of=texts(told["of"], "of") if "of" in told else (),
    )


def _days(told: Mapping[str, Any], _: str) -> int:
    days = told["days"]
    if not isinstance(days, int) or isinstance(days, bool) or days <= 0:
        raise ValueError(f"days = {days!r} is not a whole number above zero")
    return days


def _within(kind: str) -> Form:
    return Form(("within",), (), lambda told, _: whole(told["within"], kind))


def _tolerance(told: Mapping[str, Any], _: str) -> Tolerance:
    steps = sorted((whole(step["up_to"], "weight"), whole(step["within"], "weight")) for step in _loads(told))
    return Tolerance(whole(told["within"], "weight"), tuple(steps))


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
    "dimensional_weight.at_most": Form(("weight",), (), lambda told, _: whole(told["weight"], "weight")),
    "charges.*.limits.*": LIMIT,
    "charges.*.least_billable": Form(("weight", "when_over"), (), _least),
    "charges.*.only": SCOPE,
    "charges.*.fee": Form((), ("amount", "by_zone", "by_service", "by_weight", "percent", "of"), _fee),
    "charges.*.dispute_window": WINDOW,
    "not_accepted.*": LIMIT,
    "fuel_on": Form(("charges",), (), lambda told, _: texts(told["charges"], "charges")),
    "fuel_percent": Form(("percent",), (), lambda told, _: ppm(told["percent"])),
    "tolerance.side": _within("length"),
    "tolerance.weight": Form(("within",), ("by_load",), _tolerance),
    "tolerance.tape": _within("length"),
    "tolerance.kitchen_scale": _within("weight"),
    "dispute_window": WINDOW,
}
"""The forms of facts; docs/rules.md describes each with an example."""
