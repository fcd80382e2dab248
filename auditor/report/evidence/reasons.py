"""What a claim says of each cause, to the carrier: why the charge is disputed, and what is asked besides the credit.

In these texts "we" is the shop and "you" the carrier.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from auditor.charges.schema import ROUNDING
from auditor.core.money import dollars
from auditor.core.sides import FIGURES, SIDES
from auditor.findings.facts import Facts
from auditor.findings.figure_words import length, sides_of, size, weight
from auditor.findings.standing import FIGURES_OF

Row = Mapping[str, Any]


@dataclass(frozen=True)
class Ground:
    """What a reason is made of: the share's cents, the figures, the shop's record, and where the lines stand.

    `facts` is missing where no parcel was priced; `rounded` is true where the carrier prints billed sides, no reading;
    `photographed` where a photograph taken at packing is at hand. `places` are of lines that bill the same twice.
    """

    shipment: Row
    facts: Facts | None
    rounded: bool
    photographed: bool
    places: Sequence[str]
    cents: int = 0


def reason(cause: str, ground: Ground) -> str:
    """One sentence on why the share of that cause is disputed."""
    if cause in FIGURES_OF and ground.facts:
        return _measured(FIGURES_OF[cause], ground, ground.facts)
    return REASONS[cause](ground)


def request(cause: str) -> str:
    """What is asked for in place of the credit, should the carrier hold to the charge."""
    return REQUESTS.get(cause, DEVICE)


def packed_figures(shipment: Row) -> dict[str, int]:
    """What was measured at packing, as far as it was recorded, by figure; `shipment` has None where it was not."""
    measured = {figure: shipment[f"packed_{figure}"] for figure in FIGURES if shipment}
    return {figure: int(value) for figure, value in measured.items() if value is not None}


def supports_carrier(cause: str, shipment: Row, facts: Facts | None) -> bool:
    """Whether the shop's own measurement of a figure comes, by the rule's rounding, to more than it declared.

    Then the correction was due, at least in part, and none of it is asked back.
    """
    if facts is None or cause not in {"rounding", *FIGURES_OF}:
        return False
    packed = packed_figures(shipment)
    moved = near(facts) if cause == "rounding" else FIGURES_OF[cause]
    return any(
        figure in packed and _steps(figure, packed[figure], facts) > _steps(figure, int(facts.before[figure]), facts)
        for figure in moved
    )


def near(facts: Facts) -> list[str]:
    """The figures that differ by no more than rounding and tolerance explain."""
    return list(facts.moved_by(ROUNDING))


def _steps(figure: str, amount: int, facts: Facts) -> int:
    rounding = facts.rules.weight_rounding if figure == "weight_pg" else facts.rules.side_rounding
    return int(rounding.steps(amount))


def figures_text(parcel: Row, figures: Sequence[str], facts: Facts) -> str:
    """The size, where a side is among the figures, and the weight, where it is: '48 × 20 × 8 in and 14 lb'."""
    words = [size(sides_of(parcel), facts.rules)] if any(side in figures for side in SIDES) else []
    words += [weight(int(parcel["weight_pg"]), facts.rules)] if "weight_pg" in figures else []
    return " and ".join(words)


def _read(figures: Sequence[str], ground: Ground, facts: Facts) -> str:
    """How the carrier's figures are called: read, billed by, or only inferred from the bill."""
    shown = figures_text(facts.measured, figures, facts)
    if facts.inferred:
        return f"your statement shows no reading, and the charge fits {shown}"
    if ground.rounded and any(side in figures for side in SIDES):
        return f"you billed by {shown}"
    return f"your reading is {shown}"


def _measured(figures: Sequence[str], ground: Ground, facts: Facts) -> str:
    """A reading against what was measured at packing."""
    rules = facts.rules
    device, own_tolerance, tool = (
        (weight(_of_scale(facts), rules), weight(rules.kitchen_scale_tolerance_pg, rules), "kitchen scale")
        if figures == ("weight_pg",)
        else (length(rules.side_tolerance_nm, rules), length(rules.tape_tolerance_nm, rules), "tape")
    )
    return (
        f"{_stood(facts)} {figures_text(facts.before, figures, facts)}{_at_packing(figures, ground, facts)}; "
        f"{_read(figures, ground, facts)}. The two are further apart than the tolerance of the measuring device "
        f"({device}) and of a {tool} ({own_tolerance}) together explain."
    )


def _of_scale(facts: Facts) -> int:
    """What the carrier's scale may be off by under such a load, in pg."""
    return int(facts.rules.weight_tolerance.at(facts.measured["weight_pg"]))


def _stood(facts: Facts) -> str:
    return f"Your statement {facts.earlier} has" if facts.earlier else "We declared"


def _at_packing(figures: Sequence[str], ground: Ground, facts: Facts) -> str:
    """What was measured at packing, as far as it was recorded, and whether there is a photograph."""
    packed = packed_figures(ground.shipment)
    if not all(figure in packed for figure in figures):
        return ""
    measured = " and ".join(_packed(figures, packed, facts))
    same = measured == figures_text(facts.before, figures, facts)
    photographed = ", with a photograph of it" if ground.photographed else ""
    return f" and measured {'the same' if same else measured} at packing{photographed}"


def _packed(figures: Sequence[str], packed: Mapping[str, int], facts: Facts) -> list[str]:
    sides = [figure for figure in figures if figure in SIDES]
    has_size = all(side in packed for side in SIDES)
    words = [size(tuple(packed[side] for side in SIDES), facts.rules)] if sides and has_size else []
    words += [] if has_size else [length(packed[side], facts.rules) for side in sides]
    return words + ([weight(packed["weight_pg"], facts.rules)] if "weight_pg" in figures else [])


def _rounding(ground: Ground) -> str:
    facts = ground.facts
    assert facts is not None  # noqa: S101 - a share of rounding comes from a priced parcel only
    figures = near(facts)
    tolerances = [length(facts.rules.side_tolerance_nm, facts.rules)] if set(figures) & set(SIDES) else []
    tolerances += [weight(_of_scale(facts), facts.rules)] if "weight_pg" in figures else []
    return (
        f"{_stood(facts)} {figures_text(facts.before, figures, facts)}{_at_packing(figures, ground, facts)}; "
        f"{_read(figures, ground, facts)}. That is no further apart than rounding and the tolerance of the measuring "
        f"device ({' and '.join(tolerances)}) explain, so it does not show that the parcel was larger or heavier than "
        "declared."
    )


def _duplicate(ground: Ground) -> str:
    places = f" ({ground.places[0]} to {ground.places[-1]})" if ground.places else ""
    return (
        f"The statement bills the same charges for this parcel more than once{places}; the repetition comes to "
        f"{dollars(ground.cents)}."
    )


def _service(ground: Ground) -> str:
    facts = ground.facts
    assert facts is not None  # noqa: S101 - as above
    return (
        f"Our record of the label says service {facts.before['service']}, zone {facts.before['zone']}; billed was "
        f"service {facts.measured['service']}, zone {facts.measured['zone']}."
    )


def _by_your_figures(facts: Facts) -> tuple[int, int]:
    """What was billed, and what the carrier's own figures come to for the same charges, in cents."""
    return sum(int(cents) for cents in facts.billed.values()), sum(facts.due.values())


def _rate(ground: Ground) -> str:
    if ground.facts is None:
        return f"The price agreed for this charge is another; the difference is {dollars(ground.cents)}."
    billed, due = _by_your_figures(ground.facts)
    by = "what your other labels show" if ground.facts.learned else "our price list"
    return (
        f"For the very size, weight, service and zone that you billed by, {by} comes to {dollars(due)}; "
        f"billed was {dollars(billed)}."
    )


def _arithmetic(ground: Ground) -> str:
    facts = ground.facts
    assert facts is not None  # noqa: S101 - as above
    billed, due = _by_your_figures(facts)
    return (
        f"By your own figures ({figures_text(facts.measured, FIGURES, facts)}, service {facts.measured['service']}, "
        f"zone {facts.measured['zone']}) the charges come to {dollars(due)}; billed was {dollars(billed)}."
    )


def _unknown(ground: Ground) -> str:
    del ground
    return "Our records have no parcel of this number, and we know of none that we gave to you with it."


def _voided(ground: Ground) -> str:
    del ground
    return "We cancelled this label before use, and gave you no parcel with it."


def _unexplained(ground: Ground) -> str:
    return f"We find neither a rule nor a figure on the statement that explains {dollars(ground.cents)} of the charge."


REASONS: dict[str, Callable[[Ground], str]] = {
    "rounding": _rounding,
    "duplicate": _duplicate,
    "service or zone": _service,
    "rate": _rate,
    "carrier arithmetic": _arithmetic,
    "unknown parcel": _unknown,
    "voided label": _voided,
    "unexplained": _unexplained,
}
DEVICE = (
    "please send us the reading of the measuring device for this parcel, its picture where there is one, and the "
    "record of the device's last check"
)
REQUESTS = {
    "duplicate": "please name the second service that the repeated charge is for",
    "service or zone": "please tell us on which record of the parcel the billed service and zone rest",
    "rate": "please send us the price list that it rests on, with the day from which it holds",
    "carrier arithmetic": "please show us how it follows from the figures on your statement",
    "unknown parcel": "please send us the record of when and where the parcel was handed over, and by whom",
    "voided label": "please send us the record of when and where a parcel with this label was handed over",
    "unexplained": "please tell us what it is for and on which rule it rests",
}
