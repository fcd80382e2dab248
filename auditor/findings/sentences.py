"""Words for people: the one plain sentence of a finding."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import pandas as pd

from auditor.charges.schema import ROUNDING
from auditor.core import money
from auditor.core.sides import FIGURES, SIDES
from auditor.findings.facts import Facts, Row
from auditor.findings.figure_words import length, rounded_sides, sides_of, size, weight
from auditor.tariff import Rules, column_of, limit_words, limits_passed

MEASURED = {
    "box length": "the longest side",
    "box girth": "the other sides",
    "declared weight": "the weight",
    "rounding": "rounding",
}
"""Causes that come from what the carrier measured, and what they are called within a sentence."""


def sentence(facts: Facts) -> str:
    """What was declared, what was read, which limit or pound it passed, what it cost, what would have avoided it."""
    causes = ranked(facts.own)
    measured = [cause for cause in causes if cause in MEASURED]
    clauses = [(facts.own[cause], PHRASES[cause](facts)) for cause in causes if cause not in MEASURED]
    if measured:
        clauses.append((sum(facts.own[cause] for cause in measured), _measured(facts, measured)))
    if facts.apart["credit_cents"]:
        clauses.append((int(facts.apart["credit_cents"]), _money_back(facts)))
    first, *others = [text for _, text in sorted(clauses, key=lambda clause: -abs(clause[0]))]
    return "; besides, ".join([first[0].upper() + first[1:], *others]) + "."


def ranked(shares: Mapping[str, int]) -> list[str]:
    """The causes with a share, the largest first; equal ones in their usual order."""
    return sorted((cause for cause, cents in shares.items() if cents), key=lambda cause: -abs(shares[cause]))


def _cost(cents: int) -> str:
    return f"cost {money.dollars(cents)}" if cents >= 0 else f"saved you {money.dollars(-cents)}"


def _measured(facts: Facts, causes: list[str]) -> str:
    """All that the carrier's scanner and scale have to do with it, in one clause."""
    parts = [f"{MEASURED[cause]} {money.dollars(facts.own[cause])}" for cause in causes]
    split = f" ({', '.join(parts)})" if len(parts) > 1 else ""
    cost = _cost(sum(facts.own[cause] for cause in causes))
    reading = f"the carrier {_reading_words(facts)}{_within(facts)}"
    if facts.inferred:
        could_be = facts.about["could_be"]
        other = f"; it could also be {could_be}" if could_be else ""
        reading = (
            f"the carrier shows no reading, but its bill fits {_figures(facts, facts.measured)} (inferred, "
            f"{facts.about['probability']:.0%} likely{other})"
        )
    before = f"you declared {_figures(facts, facts.before)}"
    if facts.earlier:
        before = f"statement {facts.earlier} corrected this parcel to {_figures(facts, facts.before)} before"
        reading = f"now {reading}"
    dearer = sum(facts.own[cause] for cause in causes) > 0
    remarks = (" and ".join(_avoided(facts)) if dearer or facts.earlier else "", *unlike_words(facts))
    return "; ".join((f"{before} and {reading}: {_passed(facts)}, which {cost}{split}", *filter(None, remarks)))


def unlike_words(facts: Facts) -> Iterator[str]:
    """How a side was read that is unlike its carton's, with the numbers, and whose sides it is like."""
    if facts.unlike is None:
        return
    unlike, rules = facts.unlike, facts.rules
    side = ("longest", "second", "shortest")[int(unlike["side"])]
    least = "at least " if facts.about["measured_rounded"] else ""
    excess, most, median = (_beyond(unlike[f"{what}_nm"], rules) for what in ("excess", "most", "median"))
    yield (
        f"this is unlike its carton: the {side} side of this parcel was read {least}{excess}, that of "
        f"{int(unlike['others'])} others in this carton at most {most}, half of them {median} or less (modified "
        f"z-score {unlike['distance']:.2f}, an outlier beyond 3.5)"
    )
    if isinstance(unlike["like_tracking"], str):
        carton = f"{unlike['like_carton']}, " if isinstance(unlike["like_carton"], str) else ""
        sides = tuple(int(side) for side in unlike["like_size"].split())
        others = int(unlike["same_size"]) - 1
        alike = f"; so is that of {others} more parcel{'s' if others > 1 else ''} of that day" if others else ""
        taken = (
            ", and that parcel was read with the sides of this one: the two were taken for one another"
            if unlike["swapped"]
            else ": perhaps that one was measured and put down for this one, though it may be chance"
        )
        yield (
            f"what was read is just the size of parcel {unlike['like_tracking']} ({carton}{size(sides, rules)}), "
            f"shipped the same day{alike}{taken}"
        )


def _beyond(nm: float, rules: Rules) -> str:
    """An excess over the declared figure: '4 in longer than declared'."""
    if not round(nm):
        return "as declared"
    return f"{length(abs(round(nm)), rules)} {'longer' if nm > 0 else 'shorter'} than declared"


def _reading_words(facts: Facts) -> str:
    """What the carrier read; of a weight that no scale's reading is shown of, what it billed."""
    if facts.weighed or not facts.differs("weight_pg"):
        return f"read {_figures(facts, facts.measured)}"
    sides = any(map(facts.differs, SIDES))
    sides_words = f"read {size(sides_of(facts.measured), facts.rules)} and " if sides else ""
    billed = weight(int(facts.measured["weight_pg"]), facts.rules)
    return f"{sides_words}billed by {billed}, with no reading of a scale shown"


def _figures(facts: Facts, parcel: Row) -> str:
    """The size and the weight of a parcel, as far as the carrier and the seller differ on them."""
    sides = any(map(facts.differs, SIDES))
    words = [size(sides_of(parcel), facts.rules)] if sides else []
    words += [weight(int(parcel["weight_pg"]), facts.rules)] if facts.differs("weight_pg") else []
    return " and ".join(words)


def _within(facts: Facts) -> str:
    """Said where no reading is further off than rounding and measuring tolerance explain."""
    near = set(filter(facts.differs, FIGURES)) <= set(facts.moved_by(ROUNDING))
    return ", no further off than rounding and measuring tolerance explain" if near else ""


def _passed(facts: Facts) -> str:
    """The limits and the weights that the carrier's figures pass and the declared ones do not."""
    passed = limits_passed(facts.measured, facts.by_measured, facts.rules)
    words = []
    for charge in facts.rules.charges:
        column = column_of(charge.name)
        limits = [limit for passing, limit in passed if passing is charge]
        if limits and facts.by_measured[column] and not facts.by_before[column]:
            words.append(f"{limit_words(limits[0], facts.rules)} means {charge.name}")
    before, after = (int(priced["billable_pg"]) for priced in (facts.by_before, facts.by_measured))
    if after != before:
        words.append(f"the billable weight goes from {weight(before, facts.rules)} to {weight(after, facts.rules)}")
    return " and ".join(words) or "the charge changes"


def _avoided(facts: Facts) -> Iterator[str]:
    """What would have avoided it. Never to declare less than was measured."""
    if facts.earlier:
        yield "a parcel has one size and weight: ask the carrier which of its readings holds"
        return
    near = set(SIDES) & set(facts.moved_by(ROUNDING))
    if set(filter(facts.differs, SIDES)) - near:
        yield f"a box that reads {size(rounded_sides(facts.by_before), facts.rules)} or less would have avoided it"
    elif near:
        margin = length(facts.rules.side_tolerance_nm, facts.rules)
        yield f"a box {margin} smaller there would be out of doubt"
    if facts.differs("weight_pg") and (facts.weighed or facts.inferred):
        yield "typing what a scale shows would have put it on the label from the start"


def _service(facts: Facts) -> str:
    return (
        f"your record says {facts.before['service']}, zone {facts.before['zone']}, and billed was "
        f"{facts.measured['service']}, zone {facts.measured['zone']}, which {_cost(facts.own['service or zone'])}"
    )


def _address(facts: Facts) -> str:
    words = []
    if facts.measured["residential"] and not facts.before["residential"]:
        words.append("a delivery to a home that your record does not show")
    if facts.measured["address_corrected"]:
        words.append("an address correction")
    return (
        f"the carrier billed {' and '.join(words)}, which {_cost(facts.own['address'])}; "
        "checking the address before buying the label would have avoided it"
    )


def _wrong(facts: Facts) -> str:
    """The charges billed otherwise than by the carrier's own figures, and what each is where that could be named."""
    due = facts.due
    charged = {column: int(cents) - int(facts.again[column]) for column, cents in facts.billed.items()}
    names = {named.column: f" ({named.words})" for named in facts.wrong}
    return ", ".join(
        f"{charge_of(column)} billed at {money.dollars(cents)} where its figures give {money.dollars(due[column])}"
        f"{names.get(column, '')}"
        for column, cents in charged.items()
        if cents != due[column]
    )


def charge_of(column: str) -> str:
    """The charge of a column of cents: 'additional handling'."""
    return column.removesuffix("_cents").replace("_", " ")


def _rate(facts: Facts) -> str:
    than = "your other labels tell" if facts.learned else "in your table"
    return f"the same figures have another price than {than}: {_wrong(facts)}; it {_cost(facts.own['rate'])}"


def _arithmetic(facts: Facts) -> str:
    figures = f"{size(sides_of(facts.measured), facts.rules)}, {weight(int(facts.measured['weight_pg']), facts.rules)}"
    return (
        f"the charge does not follow from the carrier's own figures ({figures}, zone {facts.measured['zone']}): "
        f"{_wrong(facts)}; it {_cost(facts.own['carrier arithmetic'])}"
    )


def _duplicate(facts: Facts) -> str:
    made_on, cost = facts.about["made_on"], _cost(facts.own["duplicate"])
    again = [charge_of(column) for column, cents in facts.again.items() if cents]
    if again:
        return (
            f"statement {facts.earlier} corrected this parcel already, and the same correction is charged again "
            f"({', '.join(again)}), which {cost}"
        )
    where = "this statement twice" if made_on == facts.about["statement"] else f"statement {made_on} too"
    return f"the same charges stand on {where}, and the second time {cost}"


def _unexplained(facts: Facts) -> str:
    odd_tax, otherwise = int(facts.apart["odd_tax_cents"]), int(facts.apart["otherwise_cents"])
    rest = facts.own["unexplained"] - odd_tax - otherwise
    words = [_tax(facts, odd_tax)] if odd_tax else []
    if otherwise:
        words.append(
            f"statement {facts.about['made_on']} bills a charge of this label already, and here it is made again "
            f"{facts.about['made_again']}, which neither the rules nor the carrier's figures explain: "
            f"{money.dollars(otherwise)}; ask the carrier what it is for"
        )
    if facts.a_cent_off:
        more = "more" if rest > 0 else "less"
        words.append(f"the sum is $0.01 {more} than these figures come to, as where fuel is rounded another way")
    elif rest:
        words.append(
            f"neither the rules nor the carrier's figures explain {money.dollars(rest)}; ask the carrier what it is for"
        )
    return "; ".join(words)


def _tax(facts: Facts, odd: int) -> str:
    """Tax that does not fit the other parcels on its statement; which is right cannot be known from them."""
    about, tax_cents = facts.about, odd + int(facts.apart["tax_cents"])
    if not pd.isna(about["tax_ppm"]):
        fits = f"the {about['tax_ppm'] / 10_000:.4g} % that most taxed parcels on this statement pay comes to "
        fits += money.dollars(int(about["tax_due_cents"]))
    else:
        fits = (
            f"{int(about['tax_alike'] - about['tax_taxed'])} of the {int(about['tax_alike'])} parcels billed alike on "
        )
        fits += "this statement pay none"
    return (
        f"tax of {money.dollars(tax_cents)} is charged, and {fits}: {money.dollars(odd)} to ask about, since what is "
        "taxed depends on places and laws that a statement does not tell"
    )


def _money_back(facts: Facts) -> str:
    """What was given back, and whether it is all of what was charged."""
    given_back = -int(facts.apart["credit_cents"])
    words = [_answer(facts, credit) for credit in facts.credits if credit["given_cents"] != credit["charged_cents"]]
    full = [credit for credit in facts.credits if credit["given_cents"] == credit["charged_cents"]]
    if full:
        names = ", ".join(credit["charge"] or "the correction" for credit in full)
        words.insert(0, f"{names}{_made_on(facts, full[0])} was given back in full")
    if not words:
        words = ["it answers no charge of this parcel"]
    return f"{money.dollars(given_back)} was given back: {'; '.join(words)}"


def _answer(facts: Facts, credit: Row) -> str:
    given, charged = int(credit["given_cents"]), int(credit["charged_cents"])
    off = money.dollars(abs(charged - given))
    rest = f"{off} is missing" if given < charged else f"{off} more than was charged"
    name = credit["charge"] or "the correction"
    return f"of {money.dollars(charged)} for {name}{_made_on(facts, credit)} {money.dollars(given)}, so {rest}"


def _made_on(facts: Facts, credit: Row) -> str:
    return f" on statement {credit['statement']}" if credit["statement"] != facts.about["statement"] else ""


PHRASES = {
    "service or zone": _service,
    "address": _address,
    "rate": _rate,
    "duplicate": _duplicate,
    "carrier arithmetic": _arithmetic,
    "unexplained": _unexplained,
}
