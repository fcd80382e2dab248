"""Words for people: the one plain sentence of a finding."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from auditor.charges.carrier_errors import Named
from auditor.charges.schema import OWN_PLAYER, ROUNDING
from auditor.core import money, units
from auditor.core.sides import FIGURES, SIDES
from auditor.tariff import Priced, Rules, Unpriced, column_of, limit_words, limits_passed

Row = Mapping[str, Any]

MEASURED = {
    "box length": "the longest side",
    "box girth": "the other sides",
    "declared weight": "the weight",
    "rounding": "rounding",
}
"""Causes that come from what the carrier measured, and what they are called within a sentence."""


@dataclass(frozen=True)
class Told:
    """What a finding's sentence is made of: figures before and read, both priced, and the rules of the day.

    `before` are the declared figures, or those of the correction on statement `earlier`. `shares` and `undone` hold
    cents by cause (see `credits.AfterCredits`), `billed`, `again` and `apart` cents by charge on this statement,
    `elsewhere` those of a label on another (see `Attribution`). `about` is the row of `Cases.about`. `wrong`: charges
    that could be named; `unlike`: the row of `outliers`, where a side is unlike its carton's; `credits`: the charges
    that money back on this statement answers, and where; `learned`: what of the prices was not given but learned;
    `doubted`: whether the table of rates may not be the one that this service is billed by; `perhaps_replaced`:
    whether the statement may be in the place of the one that made its charges first.
    """

    before: Row
    measured: Row
    by_before: Priced
    by_measured: Priced
    players: Row
    rules: Rules
    shares: Mapping[str, int]
    undone: Mapping[str, int]
    billed: Row
    elsewhere: Row
    again: Row
    apart: Row
    about: Row
    wrong: tuple[Named, ...] = ()
    unlike: Row | None = None
    credits: tuple[Row, ...] = ()
    by_likeness: str = ""
    learned: frozenset[str] = frozenset()
    doubted: bool = False
    perhaps_replaced: bool = False

    @property
    def inferred(self) -> bool:
        """Whether the reading was not shown by the carrier but inferred from its bill."""
        return bool(self.about["probability"] == self.about["probability"])

    @property
    def weighed(self) -> bool:
        """Whether a reading of the carrier's scale is shown, and not no more than the weight it billed by."""
        return bool(self.about["weighed"])

    @property
    def a_cent_off(self) -> bool:
        """Whether figures explain a correction in one sum but for a cent, as fuel is rounded by itself."""
        rest = self.own["unexplained"] - self.apart["odd_tax_cents"] - self.apart["otherwise_cents"]
        return bool(self.about["in_one_sum"]) and abs(rest) == 1

    @property
    def earlier(self) -> str:
        """The statement whose correction this one is held against; "" where it is the declared figures."""
        return str(self.about["earlier"])

    @property
    def due(self) -> Mapping[str, int]:
        """What the carrier's own figures give for each charge on this statement, in cents."""
        before = dict.fromkeys(self.billed, 0) if self.about["first"] else self.by_before
        return {
            column: int(self.by_measured[column] - before[column] - self.elsewhere[column]) for column in self.billed
        }

    @property
    def own(self) -> Mapping[str, int]:
        """The shares of what this statement charges, before money back on what earlier ones charged."""
        return {cause: cents + self.undone[cause] for cause, cents in self.shares.items()}


@dataclass(frozen=True)
class NotAudited:
    """A case of which a price is not known: by the figures before, by those read, or by both.

    What its fields hold is as in Told.
    """

    before: Row
    measured: Row
    by_before: Priced | Unpriced
    by_measured: Priced | Unpriced
    rules: Rules | None
    billed_cents: int
    earlier: str

    @property
    def reason(self) -> str:
        """Why there is no price: 'its weight is missing or zero'."""
        unknown = [one.reason for one in (self.by_before, self.by_measured) if isinstance(one, Unpriced)]
        return next(iter(unknown), "no rules are known for its ship date")

    @property
    def sentence(self) -> str:
        """Which price is not known and why, and what is known beside it."""
        if isinstance(self.by_before, Unpriced):
            known = f"Not audited: {self.by_before.reason}."
        elif isinstance(self.by_measured, Unpriced):
            held = f"statement {self.earlier} corrected it to" if self.earlier else "you declared"
            known = (
                f"Not audited: no price is known for the carrier's figures ({self.by_measured.reason}). By what {held} "
                f"the parcel comes to {money.dollars(int(self.by_before['total_cents']))}; what this statement bills "
                f"for it comes to {money.dollars(self.billed_cents)}."
            )
        else:
            known = "Not audited: no rules are known for its ship date."
        return f"{known} The charge may be right or wrong; this tool cannot say."


def sentence(told: Told) -> str:
    """What was declared, what was read, which limit or pound it passed, what it cost, what would have avoided it."""
    causes = ranked(told.own)
    measured = [cause for cause in causes if cause in MEASURED]
    clauses = [(told.own[cause], PHRASES[cause](told)) for cause in causes if cause not in MEASURED]
    if measured:
        clauses.append((sum(told.own[cause] for cause in measured), _measured(told, measured)))
    if told.apart["credit_cents"]:
        clauses.append((int(told.apart["credit_cents"]), _money_back(told)))
    first, *others = [text for _, text in sorted(clauses, key=lambda clause: -abs(clause[0]))]
    return "; besides, ".join([first[0].upper() + first[1:], *others]) + "."


def ranked(shares: Mapping[str, int]) -> list[str]:
    """The causes with a share, the largest first; equal ones in their usual order."""
    return sorted((cause for cause, cents in shares.items() if cents), key=lambda cause: -abs(shares[cause]))


def length(nm: int, rules: Rules) -> str:
    """A length for people, in the tariff's unit: '48 in'."""
    return f"{units.shown(nm, rules.length_unit, 'length')} {rules.length_unit}"


def weight(pg: int, rules: Rules) -> str:
    """A weight for people, in the tariff's unit: '14 lb'."""
    return f"{units.shown(pg, rules.weight_unit, 'weight')} {rules.weight_unit}"


def size(sides: tuple[int, ...], rules: Rules) -> str:
    """Three sides for people, the longest first: '48 × 20 × 8 in'."""
    shown = (units.shown(side, rules.length_unit, "length") for side in sorted(sides, reverse=True))
    return f"{' × '.join(shown)} {rules.length_unit}"


def sides_of(parcel: Row) -> tuple[int, ...]:
    """The sides of a parcel, in nm."""
    return tuple(int(parcel[side]) for side in SIDES)


def rounded_sides(priced: Priced) -> tuple[int, ...]:
    """The sides of a priced parcel as the rule rounds them, in nm."""
    return int(priced["longest_nm"]), int(priced["second_nm"]), int(priced["shortest_nm"])


def _cost(cents: int) -> str:
    return f"cost {money.dollars(cents)}" if cents >= 0 else f"saved you {money.dollars(-cents)}"


def _measured(told: Told, causes: list[str]) -> str:
    """All that the carrier's scanner and scale have to do with it, in one clause."""
    parts = [f"{MEASURED[cause]} {money.dollars(told.own[cause])}" for cause in causes]
    split = f" ({', '.join(parts)})" if len(parts) > 1 else ""
    cost = _cost(sum(told.own[cause] for cause in causes))
    reading = f"the carrier {_reading_words(told)}{_within(told)}"
    if told.inferred:
        could_be = told.about["could_be"]
        other = f"; it could also be {could_be}" if could_be else ""
        reading = (
            f"the carrier shows no reading, but its bill fits {_figures(told, told.measured)} (inferred, "
            f"{told.about['probability']:.0%} likely{other})"
        )
    before = f"you declared {_figures(told, told.before)}"
    if told.earlier:
        before = f"statement {told.earlier} corrected this parcel to {_figures(told, told.before)} before"
        reading = f"now {reading}"
    dearer = sum(told.own[cause] for cause in causes) > 0
    remarks = (" and ".join(_avoided(told)) if dearer or told.earlier else "", *unlike_words(told))
    return "; ".join((f"{before} and {reading}: {_passed(told)}, which {cost}{split}", *filter(None, remarks)))


def unlike_words(told: Told) -> Iterator[str]:
    """How a side was read that is unlike its carton's, with the numbers, and whose sides it is like."""
    if told.unlike is None:
        return
    one, rules = told.unlike, told.rules
    side = ("longest", "second", "shortest")[int(one["side"])]
    least = "at least " if told.about["measured_rounded"] else ""
    yield (
        f"this is unlike its carton: the {side} side of this parcel was read {least}{_beyond(one['excess_nm'], rules)},"
        f" that of {int(one['others'])} others in this carton at most {_beyond(one['most_nm'], rules)}, half of them "
        f"{_beyond(one['median_nm'], rules)} or less (modified z-score {one['distance']:.2f}, an outlier beyond 3.5)"
    )
    if isinstance(one["like_tracking"], str):
        carton = f"{one['like_carton']}, " if isinstance(one["like_carton"], str) else ""
        sides = tuple(int(side) for side in one["like_size"].split())
        others = int(one["same_size"]) - 1
        alike = f"; so is that of {others} more parcel{'s' if others > 1 else ''} of that day" if others else ""
        taken = (
            ", and that parcel was read with the sides of this one: the two were taken for one another"
            if one["swapped"]
            else ": perhaps that one was measured and put down for this one, though it may be chance"
        )
        yield (
            f"what was read is just the size of parcel {one['like_tracking']} ({carton}{size(sides, rules)}), shipped "
            f"the same day{alike}{taken}"
        )


def _beyond(nm: float, rules: Rules) -> str:
    """An excess over the declared figure: '4 in longer than declared'."""
    if not round(nm):
        return "as declared"
    return f"{length(abs(round(nm)), rules)} {'longer' if nm > 0 else 'shorter'} than declared"


def _reading_words(told: Told) -> str:
    """What the carrier read; of a weight that no scale's reading is shown of, what it billed."""
    moved = told.players["weight_pg"] >= 0
    if told.weighed or not moved:
        return f"read {_figures(told, told.measured)}"
    sides = any(told.players[side] >= 0 for side in SIDES)
    sides_words = f"read {size(sides_of(told.measured), told.rules)} and " if sides else ""
    billed = weight(int(told.measured["weight_pg"]), told.rules)
    return f"{sides_words}billed by {billed}, with no reading of a scale shown"


def _figures(told: Told, parcel: Row) -> str:
    """The size and the weight of a parcel, as far as the carrier and the seller differ on them."""
    sides = any(told.players[side] >= 0 for side in SIDES)
    words = [size(sides_of(parcel), told.rules)] if sides else []
    words += [weight(int(parcel["weight_pg"]), told.rules)] if told.players["weight_pg"] >= 0 else []
    return " and ".join(words)


def _within(told: Told) -> str:
    """Said where no reading is further off than rounding and measuring tolerance explain."""
    near = all(told.players[figure] in (-1, ROUNDING) for figure in FIGURES)
    return ", no further off than rounding and measuring tolerance explain" if near else ""


def _passed(told: Told) -> str:
    """The limits and the weights that the carrier's figures pass and the declared ones do not."""
    passed = limits_passed(told.measured, told.by_measured, told.rules)
    words = []
    for charge in told.rules.charges:
        column = column_of(charge.name)
        limits = [limit for of, limit in passed if of is charge]
        if limits and told.by_measured[column] and not told.by_before[column]:
            words.append(f"{limit_words(limits[0], told.rules)} means {charge.name}")
    before, after = (int(priced["billable_pg"]) for priced in (told.by_before, told.by_measured))
    if after != before:
        words.append(f"the billable weight goes from {weight(before, told.rules)} to {weight(after, told.rules)}")
    return " and ".join(words) or "the charge changes"


def _avoided(told: Told) -> Iterator[str]:
    """What would have avoided it. Never to declare less than was measured."""
    if told.earlier:
        yield "a parcel has one size and weight: ask the carrier which of its readings holds"
        return
    beyond = [side for side in SIDES if told.players[side] == OWN_PLAYER[side]]
    near = [side for side in SIDES if told.players[side] == ROUNDING]
    if beyond:
        yield f"a box that reads {size(rounded_sides(told.by_before), told.rules)} or less would have avoided it"
    elif near:
        margin = length(told.rules.side_tolerance_nm, told.rules)
        yield f"a box {margin} smaller there would be out of doubt"
    if told.players["weight_pg"] >= 0 and (told.weighed or told.inferred):
        yield "typing what a scale shows would have put it on the label from the start"


def _service(told: Told) -> str:
    return (
        f"your record says {told.before['service']}, zone {told.before['zone']}, and billed was "
        f"{told.measured['service']}, zone {told.measured['zone']}, which {_cost(told.own['service or zone'])}"
    )


def _address(told: Told) -> str:
    words = []
    if told.measured["residential"] and not told.before["residential"]:
        words.append("a delivery to a home that your record does not show")
    if told.measured["address_corrected"]:
        words.append("an address correction")
    return (
        f"the carrier billed {' and '.join(words)}, which {_cost(told.own['address'])}; "
        "checking the address before buying the label would have avoided it"
    )


def _wrong(told: Told) -> str:
    """The charges billed otherwise than by the carrier's own figures, and what each is where that could be named."""
    due = told.due
    charged = {column: int(cents) - int(told.again[column]) for column, cents in told.billed.items()}
    names = {one.column: f" ({one.words})" for one in told.wrong}
    return ", ".join(
        f"{charge_of(column)} billed at {money.dollars(cents)} where its figures give {money.dollars(due[column])}"
        f"{names.get(column, '')}"
        for column, cents in charged.items()
        if cents != due[column]
    )


def charge_of(column: str) -> str:
    """The charge of a column of cents: 'additional handling'."""
    return column.removesuffix("_cents").replace("_", " ")


def _rate(told: Told) -> str:
    than = "your other labels tell" if told.learned else "in your table"
    return f"the same figures have another price than {than}: {_wrong(told)}; it {_cost(told.own['rate'])}"


def _arithmetic(told: Told) -> str:
    figures = f"{size(sides_of(told.measured), told.rules)}, {weight(int(told.measured['weight_pg']), told.rules)}"
    return (
        f"the charge does not follow from the carrier's own figures ({figures}, zone {told.measured['zone']}): "
        f"{_wrong(told)}; it {_cost(told.own['carrier arithmetic'])}"
    )


def _duplicate(told: Told) -> str:
    made_on, cost = told.about["made_on"], _cost(told.own["duplicate"])
    again = [charge_of(column) for column, cents in told.again.items() if cents]
    if again:
        return (
            f"statement {told.earlier} corrected this parcel already, and the same correction is charged again "
            f"({', '.join(again)}), which {cost}"
        )
    where = "this statement twice" if made_on == told.about["statement"] else f"statement {made_on} too"
    return f"the same charges stand on {where}, and the second time {cost}"


def _unexplained(told: Told) -> str:
    odd_tax, otherwise = int(told.apart["odd_tax_cents"]), int(told.apart["otherwise_cents"])
    rest = told.own["unexplained"] - odd_tax - otherwise
    words = [_tax(told, odd_tax)] if odd_tax else []
    if otherwise:
        words.append(
            f"statement {told.about['made_on']} bills a charge of this label already, and here it is made again "
            f"{told.about['made_again']}, which neither the rules nor the carrier's figures explain: "
            f"{money.dollars(otherwise)}; ask the carrier what it is for"
        )
    if told.a_cent_off:
        more = "more" if rest > 0 else "less"
        words.append(f"the sum is $0.01 {more} than these figures come to, as where fuel is rounded another way")
    elif rest:
        words.append(
            f"neither the rules nor the carrier's figures explain {money.dollars(rest)}; ask the carrier what it is for"
        )
    return "; ".join(words)


def _tax(told: Told, odd: int) -> str:
    """Tax that does not fit the other parcels on its statement; which is right cannot be known from them."""
    about, whole = told.about, odd + int(told.apart["tax_cents"])
    if about["tax_ppm"]:
        fits = f"the {about['tax_ppm'] / 10_000:.4g} % that most taxed parcels on this statement pay comes to "
        fits += money.dollars(int(about["tax_due_cents"]))
    else:
        fits = (
            f"{int(about['tax_alike'] - about['tax_taxed'])} of the {int(about['tax_alike'])} parcels billed alike on "
        )
        fits += "this statement pay none"
    return (
        f"tax of {money.dollars(whole)} is charged, and {fits}: {money.dollars(odd)} to ask about, since what is taxed "
        "depends on places and laws that a statement does not tell"
    )


def _money_back(told: Told) -> str:
    """What was given back, and whether it is all of what was charged."""
    whole = -int(told.apart["credit_cents"])
    words = [_answer(told, one) for one in told.credits if one["given_cents"] != one["charged_cents"]]
    full = [one for one in told.credits if one["given_cents"] == one["charged_cents"]]
    if full:
        names = ", ".join(one["charge"] or "the correction" for one in full)
        words.insert(0, f"{names}{_made_on(told, full[0])} was given back in full")
    if not words:
        words = ["it answers no charge of this parcel"]
    return f"{money.dollars(whole)} was given back: {'; '.join(words)}"


def _answer(told: Told, one: Row) -> str:
    given, charged = int(one["given_cents"]), int(one["charged_cents"])
    off = money.dollars(abs(charged - given))
    rest = f"{off} is missing" if given < charged else f"{off} more than was charged"
    name = one["charge"] or "the correction"
    return f"of {money.dollars(charged)} for {name}{_made_on(told, one)} {money.dollars(given)}, so {rest}"


def _made_on(told: Told, one: Row) -> str:
    return f" on statement {one['statement']}" if one["statement"] != told.about["statement"] else ""


PHRASES = {
    "service or zone": _service,
    "address": _address,
    "rate": _rate,
    "duplicate": _duplicate,
    "carrier arithmetic": _arithmetic,
    "unexplained": _unexplained,
}
