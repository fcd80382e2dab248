"""Which tariff holds for which service."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from pathlib import Path

from auditor.tariff.loading import load
from auditor.tariff.prices import plain
from auditor.tariff.rules import Flag, Rules, Tariff


@dataclass(frozen=True)
class Rulebook:
    """One tariff for every service, and others for services named apart (as compared, see `prices.plain`)."""

    otherwise: Tariff
    by_service: Mapping[str, Tariff] = field(default_factory=dict)

    def of(self, service: object) -> Tariff:
        """The tariff of a service."""
        return self.by_service.get(plain(service), self.otherwise)

    def on(self, service: object, day: date) -> Rules | None:
        """The rules of a service on a day; None when they are not known for it."""
        return self.of(service).on(day)

    @property
    def tariffs(self) -> tuple[Tariff, ...]:
        """Every tariff in it, once each."""
        named = {tariff.name: tariff for tariff in (self.otherwise, *self.by_service.values())}
        return tuple(named.values())

    def called_by(self, flag: Flag) -> tuple[str, ...]:
        """The charges that a flag calls for."""
        found = [name for tariff in self.tariffs for name, one in tariff.charges.items() if one.applies_to == flag]
        return tuple(dict.fromkeys(found))

    @cached_property
    def takes_of_correction(self) -> bool:
        """Whether some fee is a percentage of the amount by which a correction raised the charge."""
        fees = (v.value for t in self.tariffs for fact, vs in t.facts.items() if fact.endswith(".fee") for v in vs)
        return any("correction" in fee.of for fee in fees)

    @cached_property
    def charges(self) -> tuple[str, ...]:
        """The names of all their charges."""
        return tuple(dict.fromkeys(name for tariff in self.tariffs for name in tariff.charges))


def opened(rules: str | Path | Mapping[str, str | Path] | Rulebook) -> Rulebook:
    """A rulebook from a tariff's name or file, or from names by service ("" for all others).

    Raises:
        RuleError: a tariff that is not there or cannot be used.
    """
    if isinstance(rules, Rulebook):
        return rules
    named = {"": rules} if isinstance(rules, str | Path) else dict(rules)
    otherwise = load(named.pop("", "us-ground-common"))
    return Rulebook(otherwise, {plain(service): load(name) for service, name in named.items()})
