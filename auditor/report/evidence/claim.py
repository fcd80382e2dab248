"""A finding as a claim: everything that its letter says, in plain texts and cents, or the reason why none is made."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Any

import pandas as pd

from auditor.audit import Audit, Part, Step
from auditor.core import money
from auditor.core.money import dollars
from auditor.core.sides import FIGURES, SIDES
from auditor.findings.assembly import Finding
from auditor.findings.facts import Facts
from auditor.findings.figure_words import length, size, weight
from auditor.findings.sentences import ranked
from auditor.findings.standing import RANK, Strength, standing
from auditor.report import wording
from auditor.report.evidence.reasons import Ground, figures_text, packed_figures, reason, request, supports_carrier
from auditor.report.plain import plain_rows

Row = dict[str, Any]

MEASURED = ("box length", "box girth", "declared weight", "rounding")
"""Causes that turn on what was measured."""

WITHOUT_PRICES = {"duplicate", "voided label", "unknown parcel"}
"""Causes for which it does not matter what the parcel should have cost, nor what was measured."""

OUR_HEADINGS = {
    "By the figures you declared": "By the figures we declared",
    "By the carrier's figures": "By your figures",
}
"""Headings of a working as the seller reads them, and as the carrier does."""

LEARNED = (
    "The prices that we expect were learned from labels and statements of yours, so the amounts that rest on them are "
    "estimates. Your own price list decides."
)
INFERRED = "Your statement shows no reading of this parcel. Ours of it is inferred from the bill, and may be wrong."


@dataclass(frozen=True)
class Figures:
    """A size or a weight by whom it comes from, as text; "" where it is not known."""

    name: str
    declared: str
    packed: str
    carrier: str


@dataclass(frozen=True)
class Charged:
    """A charge in cents: billed, what the carrier's own figures come to, and what was expected."""

    name: str
    billed: int
    by_carrier: int
    expected: int


@dataclass(frozen=True)
class Share:
    """A part of the difference with its cause, and the cents of it that are asked back; 0 for none."""

    cause: str
    cents: int
    asked_cents: int

    @property
    def asked(self) -> bool:
        """Whether any of it is asked back."""
        return self.asked_cents > 0


@dataclass(frozen=True)
class Claim:
    """A dispute ready to be written. Texts of it that come from files are masked already (`masking.py`).

    `lines` are the rows of the audit's lines that it is about; `photo` the name of the packing photograph in the
    seller's record; `working` the headed steps of both prices; `notes` what must be said of its limits.
    """

    finding: str
    tracking: str
    recorded: str
    order: str
    carton: str
    statement: str
    statement_on: date | None
    shipped_on: date | None
    service: str
    charges: str
    strength: Strength
    dispute_by: date | None
    billed_cents: int
    expected_cents: int
    asked_cents: int
    shares: tuple[Share, ...]
    reasons: tuple[str, ...]
    requests: tuple[str, ...]
    figures: tuple[Figures, ...]
    charged: tuple[Charged, ...]
    working: tuple[Part, ...]
    tolerances: tuple[Step, ...]
    lines: tuple[int, ...]
    shipment: int | None
    photo: str
    notes: tuple[str, ...]

    @property
    def subject(self) -> str:
        """What it is about: 'parcel NP…', or the charge where it is about no parcel."""
        return f"parcel {self.tracking}" if self.tracking else f"the charge '{self.charges}'"

    @property
    def summary(self) -> str:
        """The claim in one sentence, with the amount."""
        dated = f" of {wording.day(self.statement_on)}" if self.statement_on else ""
        return (
            f"We dispute {dollars(self.asked_cents)} of the {dollars(self.billed_cents)} that statement "
            f"{self.statement}{dated} bills for {self.subject}, and ask you to credit it."
        )


@dataclass(frozen=True)
class Refused:
    """A finding that no evidence is made for, and why, in words for the seller."""

    what: str
    why: str


def claim(
    name: str, audit: Audit, masked: Callable[[int | None, str], str], photographed: Callable[[str], bool]
) -> Claim | Refused:
    """The claim that a finding makes, or why it makes none.

    Args:
        name: the finding's number, 'F001'.
        audit: the run it is of.
        masked: gives a text from a file without the words that are the buyer's own; takes the row of shipments too.
        photographed: whether a photograph of that name is at hand.
    """
    found = audit.workings.findings[name]
    row = plain_rows(audit.findings[audit.findings["finding"] == name])[0]
    lines = audit.lines.loc[list(found.lines)]
    at = None if lines["shipment"].dropna().empty else int(lines["shipment"].dropna().iloc[0])
    shipment = {} if at is None else plain_rows(audit.shipments.loc[[at]])[0]
    asked = _asked(found, shipment)
    if not asked:
        return Refused(_called(row), _why_not(found, shipment, row))
    facts, day = found.facts, lines["statement_on"].dropna()
    priced = facts if facts and not set(asked) <= WITHOUT_PRICES else None
    still = _still_asked(asked, min(sum(asked.values()), found.standing.cents))
    readings = audit.readings[audit.readings["finding"] == name]
    ground = Ground(
        shipment=shipment,
        facts=facts,
        rounded=bool(readings["measured_rounded"].fillna(value=False).any()),
        photographed=photographed(shipment.get("photo") or ""),
        places=_again(lines),
    )
    return Claim(
        finding=name,
        tracking=row["tracking"] or "",
        recorded=row["shipment_tracking"] or "",
        order=masked(at, row["order"] or ""),
        carton=masked(at, row["carton"] or ""),
        statement=row["statement"] or "",
        statement_on=None if day.empty else day.iloc[0].date(),
        shipped_on=_day(shipment.get("shipped_on") or next(iter(lines["shipped_on"].dropna()), None)),
        service=shipment.get("service") or "",
        charges=masked(at, row["charges"] or ""),
        strength=min((_strength(found, cause, shipment) for cause in asked), key=RANK.__getitem__),
        dispute_by=_day(row["dispute_by"]),
        billed_cents=int(row["billed_cents"]),
        expected_cents=int(row["expected_cents"]),
        asked_cents=sum(still.values()),
        shares=tuple(Share(cause, found.shares[cause], still.get(cause, 0)) for cause in ranked(found.shares)),
        reasons=(
            *(reason(cause, replace(ground, cents=cents)) for cause, cents in asked.items()),
            *_taken_off(sum(asked.values()) - found.standing.cents, found.standing.returned_cents),
        ),
        requests=tuple(dict.fromkeys(request(cause) for cause in asked)),
        figures=tuple(_figures(priced, shipment)) if priced else (),
        charged=tuple(_charged(priced, int(row["billed_cents"]))) if priced else (),
        working=tuple(_working(audit.workings[name])) if priced else (),
        tolerances=tuple(_tolerances(facts)) if facts and set(asked) & set(MEASURED) else (),
        lines=found.lines,
        shipment=at,
        photo=shipment.get("photo") or "",
        notes=tuple(_notes(found, row, asked)),
    )


def _still_asked(asked: Mapping[str, int], cents: int) -> dict[str, int]:
    """Those cents, spread over the causes that are disputed in proportion to their shares."""
    asked_cents = sum(asked.values())
    parts = money.split(cents, [Fraction(share * cents, asked_cents) for share in asked.values()])
    return dict(zip(asked, parts, strict=True))


def _taken_off(cents: int, returned_cents: int) -> Iterator[str]:
    """Why less is asked for than the shares come to: money back, and what was charged too little beside them."""
    if (back := min(cents, returned_cents)) > 0:
        yield f"Of this, {dollars(back)} has been given back since."
    if (less := cents - max(back, 0)) > 0:
        yield f"Against this stand {dollars(less)} that you charged too little for this parcel; we ask for the rest."


def _called(row: Row) -> str:
    return f"{row['tracking'] or row['charges']} ({row['finding']}, statement {row['statement']})"


def _day(moment: Any) -> date | None:
    return None if moment is None or pd.isna(moment) else moment.date()


def _strength(found: Finding, cause: str, shipment: Row) -> Strength:
    """How the share of one cause stands by itself."""
    if found.facts is None or cause == "unknown parcel":
        return found.standing.strength
    return standing({cause: found.shares[cause]}, shipment, found.facts).strength


def _asked(found: Finding, shipment: Row) -> dict[str, int]:
    """Cents by cause that are disputed, the largest first; none of them against the shop's own record."""
    if found.standing.strength == "none":
        return {}
    return {
        cause: found.shares[cause]
        for cause in ranked(found.shares)
        if found.shares[cause] > 0
        and _strength(found, cause, shipment) != "none"
        and not supports_carrier(cause, shipment, found.facts)
    }


def _why_not(found: Finding, shipment: Row, row: Row) -> str:
    facts = found.facts
    if found.standing.strength == "none" or facts is None:
        return str(row["dispute_reason"])
    packed = packed_figures(shipment)
    measured = [
        *([size(tuple(packed[side] for side in SIDES), facts.rules)] if set(SIDES) <= packed.keys() else []),
        *([weight(packed["weight_pg"], facts.rules)] if "weight_pg" in packed else []),
    ]
    return (
        f"your own record supports the carrier: you declared {figures_text(facts.before, FIGURES, facts)} and measured "
        f"{' and '.join(measured) or 'more'} at packing, which by the rule's rounding is more than the label said"
    )


def _again(lines: pd.DataFrame) -> tuple[str, ...]:
    """Where the lines stand that bill the same charge at the same amount as another of the parcel's."""
    twice = lines[lines.duplicated(["description", "amount_cents"], keep=False)]
    return tuple(twice["source_place"])


def _figures(facts: Facts, shipment: Row) -> Iterator[Figures]:
    rules, packed = facts.rules, packed_figures(shipment)
    has_size = set(SIDES) <= packed.keys()
    yield Figures(
        "Size",
        size(tuple(int(facts.before[side]) for side in SIDES), rules),
        size(tuple(packed[side] for side in SIDES), rules) if has_size else "",
        size(tuple(int(facts.measured[side]) for side in SIDES), rules),
    )
    yield Figures(
        "Weight",
        weight(int(facts.before["weight_pg"]), rules),
        weight(packed["weight_pg"], rules) if "weight_pg" in packed else "",
        weight(int(facts.measured["weight_pg"]), rules),
    )
    for name in ("service", "zone"):
        yield Figures(name.capitalize(), str(facts.before[name]), "", str(facts.measured[name]))


def _charged(facts: Facts, billed_cents: int) -> Iterator[Charged]:
    """Each charge that one of the three has; what was billed besides them comes last, so that the sum is the bill's."""
    for (column, billed), by_carrier in zip(facts.billed.items(), facts.due.values(), strict=True):
        expected = int((facts.by_before[column] if facts.about["first"] else 0) - facts.elsewhere[column])
        if billed or by_carrier or expected:
            name = column.removesuffix("_cents").replace("_", " ")
            yield Charged(name.capitalize(), int(billed), by_carrier, expected)
    if besides := billed_cents - sum(int(cents) for cents in facts.billed.values()):
        yield Charged("Billed besides", besides, 0, 0)


def _working(parts: Sequence[Part]) -> Iterator[Part]:
    """The parts on how both prices come about, as the carrier reads them."""
    for heading, steps in parts:
        if heading in OUR_HEADINGS:
            yield OUR_HEADINGS[heading], steps


def _tolerances(facts: Facts) -> Iterator[Step]:
    rules, load = facts.rules, facts.measured["weight_pg"]
    tolerances = {
        "tolerance.side": ("Measuring device, each side", length(rules.side_tolerance_nm, rules)),
        "tolerance.weight": ("Scale, under such a load", weight(rules.weight_tolerance.at(load), rules)),
    }
    for fact, (what, value) in tolerances.items():
        if cited := rules.cited.get(fact):
            yield Step(what, value, f"{rules.tariff}: {fact}", f"since {cited.since}", cited.source)


def _notes(found: Finding, row: Row, asked: Mapping[str, int]) -> Iterator[str]:
    """What must be said of a claim's limits: nothing of prices and readings where it rests on none."""
    learned = row["price_basis"] == "learned"
    if set(asked) <= WITHOUT_PRICES and (learned or found.facts is None):
        return
    rest = int(row["difference_cents"]) - sum(asked.values())
    if rest > 0:
        yield f"The remaining {dollars(rest)} between the bill and what we expected we do not dispute."
    if rest < 0:
        yield (
            f"On the same parcel {dollars(-rest)} less was billed than we expected; it is named so that the whole is "
            "before you."
        )
    if learned and not set(asked) <= WITHOUT_PRICES:
        yield LEARNED
    if found.facts is not None and found.facts.inferred and not set(asked) <= WITHOUT_PRICES:
        yield INFERRED
