"""Words for people: the one plain sentence of a finding."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from auditor import money, units
from auditor.tariff import Rules, column_of, limit_words, limits_passed

Row = Mapping[str, Any]


def inches(nm: int) -> str:
    """A length for people, in inches."""
    return f"{units.shown(nm, 'in', 'length')} in"


def pounds(pg: int) -> str:
    """A weight for people, in pounds."""
    return f"{units.shown(pg, 'lb', 'weight')} lb"


def size(row: Row) -> str:
    """Three sides for people: '48 × 20 × 8 in', the longest first."""
    sides = sorted((int(row[side]) for side in ("length_nm", "width_nm", "height_nm")), reverse=True)
    return " × ".join(units.shown(side, "in", "length") for side in sides) + " in"


@dataclass(frozen=True)
class Told:
    """What a finding's sentence is made of: figures declared and read, both priced, and the rules of the day."""

    declared: Row
    read: Row
    by_declared: Row
    by_read: Row
    players: Row
    rules: Rules
    shares: Mapping[str, int]
    billed: Row
    first: bool


def sentence(told: Told) -> str:
    """What was declared, what was read, which limit or pound it passed, what it cost, what would have avoided it."""
    parts = [PHRASES[cause](told) for cause in ranked(told.shares)]
    cost = f"Together it {_cost(sum(told.shares.values()))}." if len(parts) > 1 else ""
    return " ".join([*parts, cost]).strip()


def ranked(shares: Mapping[str, int]) -> list[str]:
    """The causes with a share, the largest first; equal ones in their usual order."""
    return sorted((cause for cause, cents in shares.items() if cents), key=lambda cause: -abs(shares[cause]))


def _cost(cents: int) -> str:
    return f"cost {money.dollars(cents)}" if cents >= 0 else f"saved you {money.dollars(-cents)}"


def _passed(told: Told) -> str:
    """The limits and pounds that the carrier's figures pass and the declared ones do not."""
    words = []
    for charge in told.rules.charges:
        column = column_of(charge.name)
        passed = [limit for of, limit in limits_passed(told.read, told.by_read, told.rules) if of is charge]
        if passed and told.by_read[column] and not told.by_declared[column]:
            words.append(f"that is {limit_words(passed[0])} ({charge.name})")
    before, after = told.by_declared["billable_pg"], told.by_read["billable_pg"]
    if after != before:
        words.append(f"the billable weight went from {pounds(before)} to {pounds(after)}")
    return ", and ".join(words) or "the charge changed"


def _length(told: Told) -> str:
    return (
        f"You declared {inches(told.declared['length_nm'])} and the scanner read {inches(told.read['length_nm'])}: "
        f"{_passed(told)}; the length {_cost(told.shares['box length'])}. "
        f"A box that the scanner reads at {inches(told.by_declared['longest_nm'])} or less would have avoided it."
    )


def _girth(told: Told) -> str:
    return (
        f"You declared {size(told.declared)} and the scanner read {size(told.read)}: {_passed(told)}; "
        f"the shorter sides {_cost(told.shares['box girth'])}. Walls that do not bulge past "
        f"{inches(told.by_declared['second_nm'])} and {inches(told.by_declared['shortest_nm'])} would have avoided it."
    )


def _weight(told: Told) -> str:
    return (
        f"You declared {pounds(told.declared['weight_pg'])} and the scale read {pounds(told.read['weight_pg'])}: "
        f"{_passed(told)}; the weight {_cost(told.shares['declared weight'])}. "
        "Weighing this parcel and typing what the scale shows would have avoided the surprise."
    )


def _rounding(told: Told) -> str:
    return (
        f"You declared {size(told.declared)}, {pounds(told.declared['weight_pg'])} and the carrier read "
        f"{size(told.read)}, {pounds(told.read['weight_pg'])}, no more than rounding and measuring tolerance explain, "
        f"but {_passed(told)}; it {_cost(told.shares['rounding'])}. "
        f"A box {inches(told.rules.side_tolerance_nm)} or more below the next whole inch would have avoided it."
    )


def _service(told: Told) -> str:
    return (
        f"Your record says {told.declared['service']}, zone {told.declared['zone']}; "
        f"billed was {told.read['service']}, zone {told.read['zone']}; it {_cost(told.shares['service or zone'])}."
    )


def _address(told: Told) -> str:
    words = []
    if told.read["residential"] and not told.declared["residential"]:
        words.append("a delivery to a home that your record does not show")
    if told.read["address_corrected"]:
        words.append("an address correction")
    return (
        f"The carrier billed {' and '.join(words)}; it {_cost(told.shares['address'])}. "
        "Checking the address before buying the label would have avoided it."
    )


def _unlike(told: Told) -> str:
    """The charges billed otherwise than by the carrier's own figures."""
    return "; ".join(
        f"{column.removesuffix('_cents').replace('_', ' ')} billed at {money.dollars(cents)}, "
        f"by its figures {money.dollars(int(told.by_read[column]))}"
        for column, cents in told.billed.items()
        if cents != told.by_read[column]
    )


def _rate(told: Told) -> str:
    return f"The same figures at another price than your table's: {_unlike(told)}; it {_cost(told.shares['rate'])}."


def _arithmetic(told: Told) -> str:
    figures = f"{size(told.read)}, {pounds(told.read['weight_pg'])}, zone {told.read['zone']}"
    return (
        f"The charge does not follow from the carrier's own figures ({figures}): {_unlike(told)}; "
        f"it {_cost(told.shares['carrier arithmetic'])}."
    )


def _duplicate(told: Told) -> str:
    return f"The same charges stand on the statement twice; the second time {_cost(told.shares['duplicate'])}."


def _unexplained(told: Told) -> str:
    return (
        f"{money.dollars(told.shares['unexplained'])} that neither the rules nor the carrier's figures explain. "
        "Ask the carrier what it is for."
    )


PHRASES = {
    "box length": _length,
    "box girth": _girth,
    "declared weight": _weight,
    "rounding": _rounding,
    "service or zone": _service,
    "address": _address,
    "rate": _rate,
    "duplicate": _duplicate,
    "carrier arithmetic": _arithmetic,
    "unexplained": _unexplained,
}
