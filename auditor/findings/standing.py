"""Whether a difference is worth disputing, why, and until when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal, NamedTuple

import pandas as pd

from auditor.charges.schema import ROUNDING
from auditor.core.money import dollars
from auditor.core.sides import SIDES
from auditor.findings.facts import Facts
from auditor.findings.figure_words import length, weight

Strength = Literal["strong", "arguable", "none"]
A_QUESTION = "a question first"
"""How the reason begins why something is not worth disputing before the seller has answered."""
RANK: dict[Strength, int] = {"strong": 2, "arguable": 1, "none": 0}


@dataclass(frozen=True)
class Standing:
    """How a finding stands.

    `cents` are those that a dispute asks for, never more than the whole difference; `strength` is that of the weakest
    of them, `strong_cents` are those of them that are strong by themselves. `returned_cents`: what later statements
    gave back of what was worth disputing before they did.
    """

    strength: Strength
    reason: str
    cents: int
    strong_cents: int
    returned_cents: int = 0

    @property
    def claim_cents(self) -> int:
        """The cents worth disputing as they were before any of them came back."""
        return self.cents + self.returned_cents


@dataclass(frozen=True)
class Back:
    """Cents given back on later statements, the last of those, and cents that money back falls short by."""

    returned_cents: int = 0
    returned_on: str = ""
    short_cents: int = 0


NOTHING_BACK = Back()

ALWAYS: dict[str, tuple[Strength, str]] = {
    "duplicate": ("strong", "the same charge for the same parcel stands on the statement before"),
    "unknown parcel": ("arguable", "look first whether you forgot to record it; if you did not send it, ask for proof"),
    "voided label": ("strong", "your record says that this label was voided before use"),
    "carrier arithmetic": ("strong", "the charge does not follow from the carrier's own figures"),
    "rate": ("strong", "your price table has another price for the same figures"),
    "service or zone": ("arguable", "your record shows another service or zone than the one billed"),
    "unexplained": ("arguable", "neither the rules nor the carrier's figures explain it; ask what it is for"),
}


def alone(strength: Strength, reason: str, cents: int = 0) -> Standing:
    """The standing of cents that are all of one strength."""
    return Standing(strength, reason, cents, cents if strength == "strong" else 0)


def standing(
    shares: Mapping[str, int], shipment: Mapping[str, Any], facts: Facts | None, back: Back = NOTHING_BACK
) -> Standing:
    """How the shares of one finding stand together: as strong as the weakest of those that are asked for.

    What later statements give back is no longer worth disputing; what money back falls short by is. No more is asked
    for than the difference comes to: what the carrier charged too little counts against what it charged too much.

    Args:
        shares: cents by cause.
        shipment: the row of SHIPMENTS, empty when there is none.
        facts: the figures read and the rules' tolerance, where a parcel was priced.
        back: money back.
    """
    before = _of_shares(shares, shipment, facts)
    left = _after_money_back(before, sum(shares.values()), back)
    came_back = back.returned_cents if left.cents else min(before.cents, back.returned_cents)
    return replace(left, returned_cents=came_back)


def _after_money_back(stands: Standing, difference: int, back: Back) -> Standing:
    left, cents = difference - back.returned_cents, stands.cents - back.returned_cents
    on = f"{dollars(back.returned_cents)} of {dollars(difference)} was given back on statement {back.returned_on}"
    if back.returned_cents and left <= 0:
        return alone("none", on)
    if back.short_cents and left > 0 and cents < back.short_cents:
        missing = min(back.short_cents, left)
        return alone("arguable", f"only a part was given back; ask for the {dollars(missing)} that is missing", missing)
    if back.returned_cents:
        # What was given back is taken for the strongest part, so that what is left is called no stronger than it is.
        strong = max(stands.strong_cents - back.returned_cents, 0)
        strength: Strength = "none" if cents <= 0 else "strong" if strong == cents else "arguable"
        return Standing(strength, f"{stands.reason}; {on}", max(cents, 0), strong)
    return stands


def _of_shares(shares: Mapping[str, int], shipment: Mapping[str, Any], facts: Facts | None) -> Standing:
    charged = facts.own if facts else shares
    due_back = [(cause, cents) for cause, cents in shares.items() if cents > 0 and charged[cause] > 0]
    judged = sorted(
        (Judged(cents, *_of_cause(cause, shipment, facts)) for cause, cents in due_back), key=_largest_first
    )
    if not judged or sum(shares.values()) <= 0:
        return alone("none", "the difference is in your favour")
    return _together([share for share in judged if share.strength != "none"], sum(shares.values())) or alone(
        "none", judged[0].reason
    )


class Judged(NamedTuple):
    """The cents of one cause, how they stand by themselves, and why."""

    cents: int
    strength: Strength
    reason: str


def _largest_first(share: Judged) -> int:
    return -share.cents


def _together(asked: Sequence[Judged], most: int) -> Standing | None:
    """Shares that are asked for, the largest first, up to `most` cents in all; the arguable ones give way."""
    if not asked:
        return None
    strong, arguable = ([share for share in asked if share.strength == strength] for strength in ("strong", "arguable"))
    strong_cents = min(sum(share.cents for share in strong), most)
    cents = min(sum(share.cents for share in asked), most)
    if cents == strong_cents:
        return alone("strong", strong[0].reason, cents)
    besides = f"; besides, strong for {dollars(strong_cents)}: {strong[0].reason}" if strong else ""
    return Standing("arguable", f"{arguable[0].reason}{besides}", cents, strong_cents)


WITHOUT_RULES = ("duplicate", "voided label", "unknown parcel")
"""Causes that stand whatever the rules say."""


def _of_cause(cause: str, shipment: Mapping[str, Any], facts: Facts | None) -> tuple[Strength, str]:
    """How one share stands: never strong on rules that were last looked at before the parcel was shipped."""
    strength, reason = _by_cause(cause, shipment, facts)
    if strength == "strong" and facts and facts.inferred and cause in FIGURES_OF:
        return "arguable", f"{reason}; but the carrier shows no reading, so ask for it first"
    if strength == "strong" and facts and facts.by_likeness and cause in OF_CHARGES:
        return (
            "arguable",
            f"{reason}; but '{facts.by_likeness}' is only like a name of that charge, so ask what it is for",
        )
    aged = facts.rules.last_known if facts else None
    if strength == "strong" and aged and cause not in WITHOUT_RULES:
        return "arguable", f"{reason}; but the rules are those of {aged}, so look first whether they have changed"
    return strength, reason


OF_CHARGES = ("rate", "carrier arithmetic")
"""Causes that rest on what each charge is."""


def _by_cause(cause: str, shipment: Mapping[str, Any], facts: Facts | None) -> tuple[Strength, str]:
    if cause in OF_CHARGES and facts and _held_against_learned(facts):
        return "arguable", ESTIMATED
    if cause in OF_CHARGES and facts and facts.doubted:
        return "arguable", DOUBTED
    if cause in ALWAYS:
        return _always(cause, facts)
    if cause == "rounding" and facts:
        return "arguable", f"the reading lies within {_tolerances(facts)} of {_held_against(facts)}"
    if cause in FIGURES_OF and facts:
        return _against_packing(FIGURES_OF[cause], shipment, facts) or _by_itself(cause, facts)
    return "none", f"{RIGHT} it delivered to a home or corrected the address, and your record does not show otherwise"


A_CENT: tuple[Strength, str] = (
    "none",
    "the carrier's figures explain all of it but a cent, and fuel may be rounded another way",
)


def _always(cause: str, facts: Facts | None) -> tuple[Strength, str]:
    """How a cause stands that stands alike everywhere, but for what is known of this parcel."""
    if cause == "duplicate" and facts and facts.perhaps_replaced:
        return "arguable", ISSUED_AGAIN
    if cause == "unexplained" and facts and facts.about["prepaid"] and facts.about["silent"]:
        return NO_FIGURE
    a_cent = cause == "unexplained" and facts and facts.a_cent_off and facts.own[cause] == 1
    return A_CENT if a_cent else ALWAYS[cause]


NO_FIGURE: tuple[Strength, str] = (
    "none",
    f"{A_QUESTION}: the correction shows no figure, and none that is likely comes to it; ask what was measured",
)
ISSUED_AGAIN = (
    "the one statement may have been issued in the place of the other; ask the carrier once which of them counts"
)


ESTIMATED = "other labels of yours tell another amount; that is no price list, so compare the carrier's own list first"


DOUBTED = (
    "most labels of this service or statement cost something else than your table says; look first whether it is the "
    "right one"
)


def _held_against_learned(facts: Facts) -> bool:
    """Whether what is off was held against a learned amount, and not by the rules alone."""
    off = [column for column, cents in facts.billed.items() if cents - facts.again[column] != facts.due[column]]
    fees = [column for column in off if column not in ("freight_cents", "fuel_cents")]
    return (
        ("rates" in facts.learned and "freight_cents" in off)
        or ("fees" in facts.learned and any(facts.due[column] for column in fees))
        or ("fuel" in facts.learned and off == ["fuel_cents"])
    )


RIGHT = "by all that is recorded the carrier is right:"


def _tolerances(facts: Facts) -> str:
    """What the carrier's devices may be off by, of those whose reading is no further off."""
    near = facts.moved_by(ROUNDING)
    words = (
        [f"the scanner's tolerance, {length(facts.rules.side_tolerance_nm, facts.rules)},"]
        if set(near) & set(SIDES)
        else []
    )
    words += (
        [f"the scale's tolerance, {weight(facts.rules.weight_tolerance.at(facts.measured['weight_pg']), facts.rules)},"]
        if "weight_pg" in near
        else []
    )
    return " and ".join(words)


def _held_against(facts: Facts) -> str:
    return f"that of statement {facts.earlier}" if facts.earlier else "what you declared"


def _against_packing(
    figures: tuple[str, ...], shipment: Mapping[str, Any], facts: Facts
) -> tuple[Strength, str] | None:
    """A reading against what was measured at packing; both may be off by their tolerance. None where it was not."""
    packed = [shipment[f"packed_{figure}"] for figure in figures]
    if any(pd.isna(value) for value in packed):
        return None
    rules = facts.rules
    near = (
        rules.weight_tolerance.at(facts.measured["weight_pg"]) + rules.kitchen_scale_tolerance_pg
        if figures == ("weight_pg",)
        else rules.side_tolerance_nm + rules.tape_tolerance_nm
    )
    rounding = rules.weight_rounding if figures == ("weight_pg",) else rules.side_rounding
    measured = list(zip(figures, packed, strict=True))
    if all(
        facts.measured[figure] - value <= near or rounding.steps(value) >= rounding.steps(facts.measured[figure])
        for figure, value in measured
    ):
        return "none", "the carrier is right: your own measurement at packing supports its reading"
    if any(rounding.steps(value) > rounding.steps(facts.before[figure]) for figure, value in measured):
        return "arguable", "the reading is above your measurement at packing, but that is above what you declared too"
    if pd.notna(shipment["photo"]):
        return "strong", "your measurement at packing, with a photograph, contradicts the reading"
    return "arguable", "your measurement at packing contradicts the reading, but there is no photograph"


def _by_itself(cause: str, facts: Facts) -> tuple[Strength, str]:
    """A reading that nothing measured at packing speaks for or against."""
    if facts.earlier:
        return "arguable", f"the carrier read this parcel otherwise on statement {facts.earlier}; a parcel has one size"
    if facts.unlike is not None and (found := _unlike_carton(cause, facts.unlike)):
        return found
    if cause == "declared weight" and not (facts.weighed or facts.inferred):
        return "none", f"{RIGHT} it billed more weight than was declared; it shows no reading of a scale, so ask for it"
    return "none", f"{RIGHT} it measured more than was declared, and nothing you recorded says otherwise"


def _unlike_carton(cause: str, unlike: Mapping[str, Any]) -> tuple[Strength, str] | None:
    """A side read as no other of that carton, strong only where another parcel that day shows the opposite mistake."""
    like, side = unlike["like_tracking"], SIDES[int(unlike["side"])]
    outlier = (
        f"the {SIDE_WORDS[side]} is an outlier for this carton, held against {int(unlike['others'])} other parcels"
    )
    if cause == "declared weight":
        return None
    if isinstance(like, str):
        if unlike["swapped"]:
            return "strong", f"this parcel and {like}, shipped the same day, were read with one another's sides"
        return "arguable", f"{outlier}, and the sides read are just those of {like}, shipped the same day"
    return ("arguable", f"{outlier}; look at the carton first") if side in FIGURES_OF[cause] else None


SIDE_WORDS = dict(zip(SIDES, ("longest side", "second side", "shortest side"), strict=True))

FIGURES_OF = {
    "box length": ("length_nm",),
    "box girth": ("width_nm", "height_nm"),
    "declared weight": ("weight_pg",),
}
