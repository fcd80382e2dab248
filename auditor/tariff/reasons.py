"""Why a parcel has no price, in the words of the report."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from auditor.core.arrays import Masked, Yes
from auditor.tariff.limits import Measured, either, limit_words
from auditor.tariff.prices import ALWAYS, Prices
from auditor.tariff.rules import Charge, Rules, Tariff
from auditor.tariff.surcharges import FREIGHT, Amounts, column_of


def rules_of(tariff: Tariff, day: int) -> Rules | str:
    """The rules in force on a day (days since 1970), or why there are none."""
    if day == ALWAYS:
        return "it has no ship date"
    in_force = tariff.on(date(1970, 1, 1) + timedelta(days=day))
    if in_force is None:
        return f"the rules {tariff.name} are known only from {tariff.known_from} on"
    if in_force.unknown:
        ends = (value.known_until or value.until for value in tariff.facts[in_force.unknown])
        last = max(end for end in ends if end and end < in_force.since)
        return f"{in_force.unknown} of {tariff.name} is not known after {last}"
    return in_force


@dataclass(frozen=True)
class Sources:
    """Where prices come from, in the words of the reasons why there are none."""

    rates: str
    fees: str
    fuel: str

    @classmethod
    def of(cls, prices: Prices) -> Sources:
        """Of the seller's tables, or of what was learned in their place."""
        fuel = "the fuel table does not reach its ship date"
        if prices.fuel.empty:
            fuel = "no fuel percentage is known; give a fuel table, of 0 % where your prices include it"
        elif "fuel" in prices.learned:
            fuel = "no label on the statements tells the fuel percentage of its ship date"
        rates = "your labels on the statements" if "rates" in prices.learned else "the rates"
        rates = "no table of rates was given, and labels on the statements" if prices.rates.empty else rates
        return cls(rates, _fees_words(prices), fuel)


def _fees_words(prices: Prices) -> str:
    """Why an amount of a charge is not known, with {} for the charge."""
    give = "give a table of fees with its amount and the day from which that holds"
    if prices.fees.empty:
        return f"no table of fees was given, and the amount of {{}} is not known; {give}"
    if "fees" in prices.learned:
        return f"no table of fees was given, and no label on the statements tells the amount of {{}}; {give}"
    return "the fees have no amount for {} on its ship date"


@dataclass(frozen=True)
class Missing:
    """What is missing for the price of some parcels: the limits of acceptance they pass, and what is not known."""

    measured: Measured
    refused: list[Yes]
    line: Masked
    amounts: Amounts
    fuel: Masked

    def holds(self) -> Yes:
        """Which parcels have no price."""
        parcels = self.measured.parcels
        unmeasured = np.any(parcels.sides <= 0, axis=0), parcels.weight <= 0
        return either(*unmeasured, *(~one.known for one in (self.fuel, *self.amounts.values())), *self.refused)

    def reasons(self, prices: Prices) -> Iterator[tuple[Yes, str]]:
        """Every reason with the parcels it holds for, the weightiest first."""
        parcels, rules, words = self.measured.parcels, self.measured.rules, Sources.of(prices)
        yield np.any(parcels.sides <= 0, axis=0), "a side is missing or zero"
        yield parcels.weight <= 0, "its weight is missing or zero"
        for limit, passed in zip(rules.not_accepted, self.refused, strict=True):
            yield passed, f"not accepted: {limit_words(limit, rules)}"
        yield ~self.line.known, f"{words.rates} have no price for its service and zone on its ship date"
        yield (
            ~self.amounts[FREIGHT].known,
            f"{words.rates} have no price for so heavy a parcel in its service and zone",
        )
        for charge in rules.charges:
            yield ~self.amounts[column_of(charge.name)].known, _no_fee(charge, words)
        yield ~self.fuel.known, words.fuel


def _no_fee(charge: Charge, words: Sources) -> str:
    if charge.fee_ended:
        return f"the amount of {charge.name} is not known after {charge.fee_ended}; put it into your fees table"
    return words.fees.format(charge.name)
