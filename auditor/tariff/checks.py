"""Rules that load but cannot mean what they say: limits that no accepted parcel reaches, values that change nothing."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from auditor.tariff.limits import limit_words
from auditor.tariff.rules import Rules, Tariff


def doubtful_facts(tariff: Tariff) -> list[tuple[str, str]]:
    """What is doubtful in a tariff that loads, as (fact, sentence), once each."""
    found: dict[tuple[str, str], None] = {}
    for rules in tariff.by_period.values():
        found.update(dict.fromkeys(_unreachable(rules)))
    for fact, values in tariff.facts.items():
        for before, after in pairwise(values):
            if before.written == after.written and before.known_until is None and not after.own:
                found[fact, f"the value from {after.since} is the same as the one before it"] = None
    return list(found)


def _unreachable(rules: Rules) -> Iterator[tuple[str, str]]:
    greatest = _greatest(rules)
    for charge in rules.charges:
        for limit in charge.limits:
            bound = greatest.get(limit.measure)
            if bound is not None and (limit.limit > bound or (limit.limit == bound and not limit.inclusive)):
                fact = f"charges.{charge.name}.limits.{limit.measure}"
                yield fact, f"{limit_words(limit, rules)} can never be reached: no such parcel is accepted"


def _greatest(rules: Rules) -> dict[str, Fraction]:
    """The greatest value of each measure that an accepted parcel can have, by the limits that hold for all services."""
    greatest: dict[str, Fraction] = {}
    for limit in rules.not_accepted:
        if not limit.scope and not limit.inclusive:
            greatest[limit.measure] = min(limit.limit, greatest.get(limit.measure, limit.limit))
    longest = greatest.get("longest side")
    if longest is not None:
        greatest.setdefault("second side", longest)
        greatest.setdefault("shortest side", longest)
        greatest.setdefault("volume", longest**3)
        greatest.setdefault("length plus girth", 5 * longest)
    return greatest
