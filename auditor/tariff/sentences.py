"""Rules in plain sentences, each with its first day and source, and what changes between two days or two tariffs."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from auditor.tariff.rules import Dated, Tariff, answer, in_words


@dataclass(frozen=True)
class Sentence:
    """What a fact says on a day, in words; `replaced` is what a seller's own value stands in the place of."""

    fact: str
    text: str
    since: date
    source: str
    replaced: str = ""


@dataclass(frozen=True)
class Change:
    """A fact that two days or two tariffs answer differently; "" where there is no value."""

    fact: str
    before: str
    after: str
    source: str


def sentences(tariff: Tariff, day: date) -> Iterator[Sentence]:
    """Every fact of the tariff as it stands on a day, in the file's order; what is not in force then is left out."""
    for fact, values in tariff.facts.items():
        kind, value = answer(values, day)
        if value is None:
            continue
        text = in_sentence(fact, value)
        if kind == "not known":
            text = f"Not known after {value.known_until}: until then, {text[0].lower()}{text[1:]}"
        yield Sentence(fact, text, value.since, value.source, value.replaced)


def changes(one: Tariff, on: date, other: Tariff, then: date) -> Iterator[Change]:
    """The facts that differ between one tariff on a day and another (or the same) on another day."""
    for fact in dict.fromkeys([*one.facts, *other.facts]):
        before, after = _told(one, fact, on), _told(other, fact, then)
        if before != after:
            source = (other.facts.get(fact) or one.facts[fact])[-1].source
            yield Change(fact, before, after, source)


def _told(tariff: Tariff, fact: str, day: date) -> str:
    kind, value = answer(tariff.facts.get(fact, ()), day)
    if kind == "not known" and value:
        return f"not known after {value.known_until}"
    return value.written if value else ""


def in_sentence(fact: str, value: Dated) -> str:
    """A value in plain words, ending in a full stop."""
    form, charge, measure = _parts(fact)
    told = {key: in_words(one) for key, one in value.told.items()}
    text = WORDS[form](told, charge, measure)
    last = min((day for day in (value.until, value.known_until) if day), default=None)
    return f"{text[0].upper()}{text[1:]}{f', until {last}' if last else ''}."


def _parts(fact: str) -> tuple[str, str, str]:
    """The form of a fact, the charge it is about and the measure, where it has them."""
    parts = fact.split(".")
    if parts[0] == "charges":
        return parts[2], parts[1], parts[-1].partition(",")[0]
    if parts[0] == "not_accepted":
        return "not_accepted", "", parts[-1].partition(",")[0]
    return fact, "", ""


Told = dict[str, str]


def _rounding(what: str) -> Callable[[Told, str, str], str]:
    def words(told: Told, _: str, __: str) -> str:
        if told["way"] == "none":
            return f"{what} not rounded"
        how = f"to the nearest {told['to']}" if told["way"] == "nearest" else f"{told['way']} to {told['to']}"
        fine = f" (at most {told['up_to']}: to {told['finely_to']})" if "finely_to" in told else ""
        return f"{what} rounded {how}{fine}"

    return words


def _limit(told: Told, measure: str) -> str:
    edge = f"over {told['over']}" if "over" in told else f"at least {told['at_least']}"
    measured = ", as measured and not rounded," if told.get("of") == "measured" else ""
    return f"the {measure}{measured} is {edge}{_only(told)}"


def _only(told: Told) -> str:
    words = [f" for {told['services']}"] if "services" in told else []
    words += [f" in zones {told['zones']}"] if "zones" in told else []
    return "".join(words)


def _fee(told: Told, charge: str, _: str) -> str:
    amounts = [f"{told['amount']}"] if "amount" in told else []
    ways = {"by_zone": "by zone", "by_service": "by service", "by_weight": "by weight"}
    amounts += [f"{words}: {told[key]}" for key, words in ways.items() if key in told]
    amounts += [f"{told['percent']} of {told['of']}"] if "percent" in told else []
    return f"{charge} costs {', or the greater of it and '.join(amounts)}"


def _ladder(told: Told) -> str:
    """'up_to: 25 lb; within: 0.05 lb, …' → '0.05 lb up to 25 lb, …'."""
    steps = [
        dict(part.split(": ") for part in step.split("; ")) for step in told.get("by_load", "").split(", ") if step
    ]
    words = [f"{step['within']} up to {step['up_to']}" for step in steps]
    return ", ".join([*words, f"{told['within']}{' above' if words else ''}"])


WORDS: Mapping[str, Callable[[Told, str, str], str]] = {
    "side_rounding": _rounding("before anything else each side is"),
    "weight_rounding": _rounding("weights are"),
    "dimensional_weight.divisor": lambda told, _, __: (
        f"for dimensional weight the volume is divided by {told['value']}"
    ),
    "dimensional_weight.only_over": lambda told, _, __: f"dimensional weight counts for volumes over {told['volume']}",
    "dimensional_weight.only": lambda told, _, __: f"dimensional weight counts only{_only(told)}",
    "dimensional_weight.irregular": lambda told, _, __: f"an irregular parcel counts as {told['of_box']} of its box",
    "dimensional_weight.at_most": lambda told, _, __: f"a dimensional weight counts as {told['weight']} at most",
    "limits": lambda told, charge, measure: f"{charge} is charged when {_limit(told, measure)}",
    "least_billable": lambda told, charge, _: (
        f"a parcel with {charge} is billed as {told['weight']} at least, when over its limit of {told['when_over']}"
    ),
    "only": lambda told, charge, _: f"{charge} is charged only{_only(told)}",
    "fee": _fee,
    "dispute_window": lambda told, charge, _: (
        f"{charge or 'a charge'} can be disputed for {told['days']} days from the statement's date"
    ),
    "not_accepted": lambda told, _, measure: f"a parcel is not accepted when {_limit(told, measure)}",
    "fuel_on": lambda told, _, __: f"the fuel percentage is taken of {told['charges']} together, half cents up",
    "fuel_percent": lambda told, _, __: f"the fuel percentage is {told['percent']}",
    "tolerance.side": lambda told, _, __: f"a scanner's reading of a side may be off by {told['within']}",
    "tolerance.weight": lambda told, _, __: f"a carrier's scale may be off by {_ladder(told)}",
    "tolerance.tape": lambda told, _, __: f"a tape may be off by {told['within']}",
    "tolerance.kitchen_scale": lambda told, _, __: f"a kitchen scale may be off by {told['within']}",
}
"""Each form of fact in words: from its keys as written, the charge and the measure."""
