"""The working of a finding: every step from the statement's line to the cent, with its rule, version and source."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import pandas as pd

from auditor.core import money
from auditor.core.schemas import rows
from auditor.findings.assembly import Finding
from auditor.findings.facts import Facts, NotAudited, Row
from auditor.findings.figure_words import rounded_sides, sides_of, size, weight
from auditor.findings.sentences import charge_of, ranked, unlike_words
from auditor.match import normalised
from auditor.tariff import Priced, Prices, Rules, Unpriced, column_of, limit_words, limits_passed
from auditor.tariff.places import fee_place, fuel_place, rate_place


@dataclass(frozen=True)
class Step:
    """One step of a working: what was done, the figure it gave, the rule it rests on, its version and source."""

    what: str
    figure: str
    rule: str = ""
    version: str = ""
    source: str = ""


Part = tuple[str, tuple[Step, ...]]
"""A heading and the steps below it."""


def price_steps(parcel: Row, found: Priced | Unpriced, rules: Rules | None, prices: Prices) -> tuple[Step, ...]:
    """How a parcel's charge comes about, or why no price is known for it."""
    if isinstance(found, Unpriced):
        return (Step(f"No price is known, so this is not audited: {found.reason}", ""),)
    if rules is None:
        return (Step("No rules are known for its ship date, so this is not audited", ""),)
    return charge_steps(parcel, found, rules, prices)


def charge_steps(parcel: Row, priced: Priced, rules: Rules, prices: Prices) -> tuple[Step, ...]:
    """How a parcel's charge comes about: each step with its rule, its day and source, or with the file and row."""
    sides = size(sides_of(parcel), rules)
    service, zone, day = parcel["service"], parcel["zone"], parcel["shipped_on"]
    billable = int(priced["billable_pg"])
    return (
        _cited(rules, "Sides, rounded", f"{sides} → {size(rounded_sides(priced), rules)}", "side_rounding"),
        _cited(
            rules,
            "Dimensional weight: product of the sides by the divisor, rounded",
            weight(priced["dimensional_weight_pg"], rules),
            "dimensional_weight.divisor",
        ),
        _cited(
            rules,
            "Actual weight, rounded",
            f"{weight(parcel['weight_pg'], rules)} → {weight(priced['rounded_weight_pg'], rules)}",
            "weight_rounding",
        ),
        *_limits(parcel, priced, rules),
        Step("Billable weight: the greatest of these", weight(billable, rules)),
        Step(
            f"Freight: service {service}, zone {zone}, that weight",
            money.dollars(priced["freight_cents"]),
            source=rate_place(prices, service, zone, day, billable) or "the tariff",
        ),
        *(
            Step(
                charge.name.capitalize(),
                money.dollars(priced[column_of(charge.name)]),
                source=fee_place(prices, charge.name, zone, day) or _fee_source(rules, charge.name),
            )
            for charge in rules.charges
            if priced[column_of(charge.name)]
        ),
        *_fuel(parcel, priced, rules, prices),
        Step("Total", money.dollars(priced["total_cents"])),
    )


def _fee_source(rules: Rules, charge: str) -> str:
    cited = rules.cited.get(f"charges.{charge}.fee")
    return f"{rules.tariff}, since {cited.since}: {cited.source}" if cited else "the tariff"


def _fuel(parcel: Row, priced: Priced, rules: Rules, prices: Prices) -> Iterable[Step]:
    if rules.fuel_on:
        what = f"Fuel: {priced['fuel_ppm'] / 10_000:g} % of {', '.join(rules.fuel_on)}"
        yield _cited(rules, what, money.dollars(priced["fuel_cents"]), "fuel_on")
        if place := fuel_place(prices, parcel["service"], parcel["shipped_on"]):
            yield Step("  its percentage", f"{priced['fuel_ppm'] / 10_000:g} %", source=place)


def _limits(parcel: Row, priced: Priced, rules: Rules) -> Iterable[Step]:
    """The limits that were passed, and the least billable weights they bring."""
    passed = [
        (charge, limit) for charge, limit in limits_passed(parcel, priced, rules) if priced[column_of(charge.name)]
    ]
    for charge, limit in passed:
        base = f"charges.{charge.name}.limits.{limit.measure}"
        fact = next((fact for fact in rules.cited if fact.partition(",")[0] == base), base)
        yield _cited(rules, f"{charge.name.capitalize()}: {limit_words(limit, rules)}", "passed", fact)
    for charge in dict.fromkeys(charge for charge, _ in passed):
        if charge.least and priced["least_billable_pg"]:
            fact = f"charges.{charge.name}.least_billable"
            yield _cited(
                rules, f"Least billable weight with {charge.name}", weight(priced["least_billable_pg"], rules), fact
            )


def _cited(rules: Rules, what: str, figure: str, fact: str) -> Step:
    cited = rules.cited.get(fact)
    if cited is None:
        return Step(what, figure, f"{rules.tariff}: {fact} is not in force")
    return Step(what, figure, f"{rules.tariff}: {fact} = {cited.written}", f"since {cited.since}", cited.source)


def _join_step(line: Row) -> tuple[Step, ...]:
    """How a number that is not recorded as it is printed was joined to a parcel."""
    if line["match"] in ("exact", "none") or pd.isna(line["match"]):
        return ()
    what = f"{line['tracking']} is your parcel {line['recorded']}: {line['match_reason']}"
    return (Step(what, f"{float(line['confidence']):.4g} sure"),)


SHOWN = (
    *("tracking", "recorded", "match", "match_reason", "confidence"),
    *("description", "charge", "state", "amount_cents", "source_file", "source_place"),
)
"""What is said of a statement's line."""


def line_steps(lines: Iterable[Row]) -> tuple[Step, ...]:
    """The statement's lines, each with the file, page and row it was read from."""
    return tuple(
        Step(f"{_called(line)} ({line['state']})", _amount(line["amount_cents"]), source=_place(line)) for line in lines
    )


def _called(line: Row) -> str:
    words = (line["description"], line["charge"])
    return next((word for word in words if isinstance(word, str) and word), "a charge without a name")


def _amount(cents: Any) -> str:
    return money.dollars(int(cents)) if isinstance(cents, int) else "not read"


def _place(line: Row) -> str:
    return f"{line['source_file']}, {line['source_place']}"


def share_steps(shares: Mapping[str, int]) -> tuple[Step, ...]:
    """The difference, cause by cause."""
    total = Step("Difference", money.dollars(sum(shares.values())))
    return (*(Step(cause.capitalize(), money.dollars(shares[cause])) for cause in ranked(shares)), total)


def elsewhere_steps(facts: Facts) -> Iterator[Step]:
    """What of a label's total another statement bills, or what this one bills of a label that stands on another."""
    for column, cents in facts.elsewhere.items():
        if cents:
            where = "billed on a later statement" if cents > 0 else "due here, of a label billed before"
            yield Step(f"{charge_of(column).capitalize()}: {where}", money.dollars(-cents))


def odd_steps(facts: Facts) -> Iterator[Step]:
    """What the carrier charged that its figures do not give, where that could be named, with where it stands."""
    for wrong in facts.wrong:
        yield Step(
            f"{charge_of(wrong.column).capitalize()}: {wrong.words}", money.dollars(wrong.cents), source=wrong.source()
        )
    for column, cents in facts.again.items():
        if cents:
            what = (
                f"{charge_of(column).capitalize()}: charged with the correction on statement {facts.earlier}, and again"
            )
            yield Step(what, money.dollars(cents))
    for remark, source in zip(unlike_words(facts), (OUTLIER_RULE, ""), strict=False):
        yield Step(remark[0].upper() + remark[1:], "", source=source)
    if facts.apart["odd_tax_cents"]:
        due = int(facts.about["tax_due_cents"])
        yield Step("Tax charged", money.dollars(due + int(facts.apart["odd_tax_cents"])))
        yield Step("Tax that fits the other parcels on this statement", money.dollars(due))
    for back in facts.credits:
        yield Step(f"Charged: {back['charge'] or 'the correction'}", money.dollars(int(back["charged_cents"])))
        yield Step("  given back", money.dollars(int(back["given_cents"])))


OUTLIER_RULE = "modified z-score of Iglewicz and Hoaglin, NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17"


@dataclass(frozen=True)
class Workings(Mapping[str, "tuple[Part, ...]"]):
    """The headed parts of each finding's working, made when asked for, so that a million lines cost no more for them.

    `facts` gives the words' figures of the case at a place of `cases`, whether or not there is a finding about it.
    """

    findings: Mapping[str, Finding]
    lines: pd.DataFrame
    cases: pd.DataFrame
    facts: Callable[[int], Facts | NotAudited]
    prices: Prices

    def __len__(self) -> int:
        return len(self.findings)

    def __iter__(self) -> Iterator[str]:
        return iter(self.findings)

    def __getitem__(self, name: str) -> tuple[Part, ...]:
        finding = self.findings[name]
        odd = (("What stands out", steps),) if finding.facts and (steps := tuple(odd_steps(finding.facts))) else ()
        by_cause = ("The difference, by cause", share_steps(finding.shares))
        return (*self._parts(finding.lines, finding.facts or finding.unpriced), *odd, by_cause)

    def of_parcel(self, tracking: str) -> dict[str, tuple[Part, ...]]:
        """The workings of everything billed for a parcel, by finding or, where there is none, by statement.

        `tracking` is the number as recorded or as billed; blanks, hyphens and case do not matter.
        """
        mine = self._of_parcel(tracking)
        named = {name: self[name] for name in dict.fromkeys(mine["finding"].dropna())}
        plain = mine[mine["finding"].isna()].groupby(["statement", "shipment"], dropna=False)
        for (statement, shipment), mine_here in plain:
            of_case = (self.cases["statement"] == statement) & (self.cases["shipment"] == shipment)
            facts = next((self.facts(case) for case in self.cases.index[of_case.fillna(value=False)]), None)
            named[f"statement {statement}, billed as expected"] = self._parts(tuple(mine_here.index), facts)
        return named

    @cached_property
    def _shown(self) -> pd.DataFrame:
        return self.lines[[*SHOWN]]

    def _of_parcel(self, tracking: str) -> pd.DataFrame:
        wanted = normalised(pd.Series([tracking], dtype="str"))[0]
        numbers = self.lines[["tracking", "recorded"]].apply(normalised)
        return self.lines.loc[numbers.eq(wanted).any(axis=1)]

    def _parts(self, lines: tuple[int, ...], facts: Facts | NotAudited | None) -> tuple[Part, ...]:
        mine = rows(self._shown.loc[list(lines)])
        parts = [("The statement's lines", (*_join_step(mine[0]), *line_steps(mine)))] if mine else []
        if facts:
            before = (
                f"By the correction on statement {facts.earlier}" if facts.earlier else "By the figures you declared"
            )
            parts.append((before, price_steps(facts.before, facts.by_before, facts.rules, self.prices)))
            parts.append(
                ("By the carrier's figures", price_steps(facts.measured, facts.by_measured, facts.rules, self.prices))
            )
        if isinstance(facts, Facts) and (steps := tuple(elsewhere_steps(facts))):
            parts.append(("Of the label, on another statement", steps))
        return tuple(parts)
