"""Words for people: the one plain sentence of a finding."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from auditor import money, units
from auditor.cases import FIGURES, OWN_PLAYER, ROUNDING, SIDES
from auditor.tariff import Rules, column_of, limit_words, limits_passed

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
    """What a finding's sentence is made of: figures declared and read, both priced, and the rules of the day.

    `billed` holds cents by charge on this statement; `first` says whether the label itself is billed on it. A reading
    that is inferred has a probability, and could_be names what else would fit.
    """

    declared: Row
    read: Row
    by_declared: Row
    by_read: Row
    players: Row
    rules: Rules
    shares: Mapping[str, int]
    billed: Row
    first: bool
    probability: float = float("nan")
    could_be: str = ""

    @property
    def inferred(self) -> bool:
        """Whether the reading was not shown by the carrier but inferred from its bill."""
        return self.probability == self.probability


def sentence(told: Told) -> str:
    """What was declared, what was read, which limit or pound it passed, what it cost, what would have avoided it."""
    causes = ranked(told.shares)
    measured = [cause for cause in causes if cause in MEASURED]
    clauses = [(told.shares[cause], PHRASES[cause](told)) for cause in causes if cause not in MEASURED]
    if measured:
        clauses.append((sum(told.shares[cause] for cause in measured), _measured(told, measured)))
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


def rounded_sides(priced: Row) -> tuple[int, ...]:
    """The sides of a priced parcel as the rule rounds them, in nm."""
    return int(priced["longest_nm"]), int(priced["second_nm"]), int(priced["shortest_nm"])


def _cost(cents: int) -> str:
    return f"cost {money.dollars(cents)}" if cents >= 0 else f"saved you {money.dollars(-cents)}"


def _measured(told: Told, causes: list[str]) -> str:
    """All that the carrier's scanner and scale have to do with it, in one clause."""
    parts = [f"{MEASURED[cause]} {money.dollars(told.shares[cause])}" for cause in causes]
    split = f" ({', '.join(parts)})" if len(parts) > 1 else ""
    cost = _cost(sum(told.shares[cause] for cause in causes))
    read = f"the carrier read {_figures(told, told.read)}{_within(told)}"
    if told.inferred:
        other = f"; it could also be {told.could_be}" if told.could_be else ""
        read = (
            f"the carrier shows no reading, but its bill fits {_figures(told, told.read)} (inferred, "
            f"{told.probability:.0%} likely{other})"
        )
    declared, avoided = _figures(told, told.declared), " and ".join(_avoided(told))
    return f"you declared {declared} and {read}: {_passed(told)}, which {cost}{split}; {avoided}"


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
    passed = limits_passed(told.read, told.by_read, told.rules)
    words = []
    for charge in told.rules.charges:
        column = column_of(charge.name)
        limits = [limit for of, limit in passed if of is charge]
        if limits and told.by_read[column] and not told.by_declared[column]:
            words.append(f"{limit_words(limits[0], told.rules)} means {charge.name}")
    before, after = (int(priced["billable_pg"]) for priced in (told.by_declared, told.by_read))
    if after != before:
        words.append(f"the billable weight goes from {weight(before, told.rules)} to {weight(after, told.rules)}")
    return " and ".join(words) or "the charge changes"


def _avoided(told: Told) -> Iterator[str]:
    """What would have avoided it. Never to declare less than was measured."""
    beyond = [side for side in SIDES if told.players[side] == OWN_PLAYER[side]]
    near = [side for side in SIDES if told.players[side] == ROUNDING]
    if beyond:
        yield f"a box that reads {size(rounded_sides(told.by_declared), told.rules)} or less would have avoided it"
    elif near:
        margin = length(told.rules.side_tolerance_nm, told.rules)
        yield f"a box {margin} smaller there would be out of doubt"
    if told.players["weight_pg"] >= 0:
        yield "typing what a scale shows would have put it on the label from the start"


def _service(told: Told) -> str:
    return (
        f"your record says {told.declared['service']}, zone {told.declared['zone']}, and billed was "
        f"{told.read['service']}, zone {told.read['zone']}, which {_cost(told.shares['service or zone'])}"
    )


def _address(told: Told) -> str:
    words = []
    if told.read["residential"] and not told.declared["residential"]:
        words.append("a delivery to a home that your record does not show")
    if told.read["address_corrected"]:
        words.append("an address correction")
    return (
        f"the carrier billed {' and '.join(words)}, which {_cost(told.shares['address'])}; "
        "checking the address before buying the label would have avoided it"
    )


def _unlike(told: Told) -> str:
    """The charges billed otherwise than by the carrier's own figures."""
    due = {
        column: int(told.by_read[column]) - (0 if told.first else int(told.by_declared[column]))
        for column in told.billed
    }
    return ", ".join(
        f"{column.removesuffix('_cents').replace('_', ' ')} billed at {money.dollars(cents)} where its figures give "
        f"{money.dollars(due[column])}"
        for column, cents in told.billed.items()
        if cents != due[column]
    )


def _rate(told: Told) -> str:
    return f"the same figures have another price than in your table: {_unlike(told)}; it {_cost(told.shares['rate'])}"


def _arithmetic(told: Told) -> str:
    figures = f"{size(sides_of(told.read), told.rules)}, {weight(int(told.read['weight_pg']), told.rules)}"
    return (
        f"the charge does not follow from the carrier's own figures ({figures}, zone {told.read['zone']}): "
        f"{_unlike(told)}; it {_cost(told.shares['carrier arithmetic'])}"
    )


def _duplicate(told: Told) -> str:
    return f"the same charges stand on the statement twice, and the second time {_cost(told.shares['duplicate'])}"


def _unexplained(told: Told) -> str:
    return (
        f"neither the rules nor the carrier's figures explain {money.dollars(told.shares['unexplained'])}; "
        "ask the carrier what it is for"
    )


PHRASES = {
    "service or zone": _service,
    "address": _address,
    "rate": _rate,
    "duplicate": _duplicate,
    "carrier arithmetic": _arithmetic,
    "unexplained": _unexplained,
}
