"""What stands on the papers: a claim's letter and evidence, and the cover sheet, as texts for the templates."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import jinja2

from auditor.audit import Audit, Step
from auditor.core.money import dollars
from auditor.core.units import shown
from auditor.report import wording
from auditor.report.evidence.claim import MEASURED, Claim
from auditor.report.evidence.masking import Masking
from auditor.report.evidence.photographs import Photograph
from auditor.report.evidence.shop import Carrier, Shop
from auditor.report.html.ruler import ruler
from auditor.report.plain import plain_rows

Texts = dict[str, Any]

FILL_IN = "[Your shop's name]"
MADE_BY = "Made by a program from the statement and the shop's own records."
MASKED = (
    "Lines of other parcels are left out. Whatever is not known to be about this charge is painted over on pictures "
    "and replaced by […] in texts."
)
STYLE = """<style>
text { font-family: "Libertinus Serif"; font-size: 13px; fill: #1b2428 }
.tape { fill: #f2cd57; stroke: #1b2428 } .tick { stroke: #1b2428 } .over { fill: #8c2011; fill-opacity: 0.09 }
.limit { stroke: #8c2011; stroke-width: 2.5 } .limit-words { fill: #8c2011 }
.dot { fill: #14595a } .bracket { stroke: #14595a; stroke-width: 2 } .count { fill: #14595a }
</style>"""
WIDTH = 680
"""Points that a ruler is drawn wide; the paper makes it fit."""


@dataclass(frozen=True)
class Enclosed:
    """What lies with one claim beside its texts: pictures of the statement's lines with their places, photographs.

    Pictures go by the names that the typesetter knows them by. `digests` has the SHA-256 of the files named.
    """

    pictures: Sequence[tuple[str, str, int]] = ()
    photograph: Photograph | None = None
    photograph_file: str | None = None
    digests: Mapping[str, str] = field(default_factory=dict)


def letter_names(claim: Claim, shop: Shop, carrier: Carrier, dated: date | None) -> Texts:
    """The names that a letter's template may use."""
    return {
        "shop": shop.name or FILL_IN,
        "signed": shop.signed,
        "carrier": carrier.name,
        "account": carrier.account,
        "dated": wording.day(dated),
        "tracking": claim.tracking,
        "order": claim.order,
        "statement": claim.statement,
        "statement_on": wording.day(claim.statement_on),
        "charges": claim.charges,
        "billed": dollars(claim.billed_cents),
        "expected": dollars(claim.expected_cents),
        "asked": dollars(claim.asked_cents),
        "left": dollars(left) if (left := claim.billed_cents - claim.asked_cents) else "",
        "summary": claim.summary,
        "reasons": list(claim.reasons),
        "requests": list(claim.requests),
        "notes": list(claim.notes),
        "enclosed": " and ".join(_enclosures(claim)),
    }


def _enclosures(claim: Claim) -> list[str]:
    parts = ["the statement's lines", *(["the charge worked step by step"] if claim.working else [])]
    parts += ["our record of the packing"] if claim.figures and claim.figures[0].packed else []
    return [", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts


def claim_texts(
    claim: Claim, audit: Audit, masking: Masking, shop: Shop, letter: Sequence[str], held: Enclosed
) -> Texts:
    """All that the template of a claim shows."""
    rows = plain_rows(audit.lines.loc[list(claim.lines)])
    return {
        "title": f"Claim for a credit of {dollars(claim.asked_cents)}",
        "footer": f"{claim.subject[0].upper()}{claim.subject[1:]}, statement {claim.statement}",
        "shop": _shop(shop),
        "to": _to(shop.carrier(claim.statement)),
        "about": [
            ("Statement", claim.statement),
            *([("Dated", wording.day(claim.statement_on))] if claim.statement_on else []),
            *([("Parcel", claim.tracking)] if claim.tracking else [("Charge", claim.charges)]),
            *([("Shipped", wording.day(claim.shipped_on))] if claim.shipped_on else []),
            *([("Our reference", claim.order)] if claim.order else []),
        ],
        "amounts": [
            ("Billed", dollars(claim.billed_cents)),
            ("Not in dispute", dollars(claim.billed_cents - claim.asked_cents)),
            ("Asked back", dollars(claim.asked_cents)),
        ],
        "letter": list(letter),
        "pictures": [_picture(claim, *picture) for picture in held.pictures],
        "lines": {
            "header": ["Place", "Charge, as printed", "Shipped", "Zone", "Weight", "Size, in", "Amount"],
            "rows": [_line(row, masking.description(row)) for row in rows],
            "note": MASKED,
        },
        "files": [{"name": name, "digest": digest} for name, digest in held.digests.items()],
        "figures": {
            "header": ["", "Declared on the label", "Measured at packing", "By the carrier"],
            "rows": [[figure.name, figure.declared, figure.packed, figure.carrier] for figure in claim.figures],
        }
        if claim.figures
        else {},
        "tolerances": [_step(step) for step in claim.tolerances],
        "charged": _charged(claim) if claim.charged else {},
        "shares": {
            "header": ["Cause", "Share", "Asked back"],
            "rows": [
                [
                    share.cause.capitalize(),
                    dollars(share.cents),
                    dollars(share.asked_cents) if share.asked else "nothing",
                ]
                for share in claim.shares
            ],
        },
        "working": [{"heading": heading, "steps": [_step(step) for step in steps]} for heading, steps in claim.working],
        "packing": _packing(claim, held.photograph, masking),
        "photograph": held.photograph_file
        and {"file": held.photograph_file, "alt": "Photograph taken at packing; what is on it was not looked at."},
        "carton": _carton(claim, audit),
        "notes": [*claim.notes, MADE_BY],
    }


def _shop(shop: Shop) -> Texts:
    return {"name": shop.name or FILL_IN, "lines": [*shop.address, *([shop.email] if shop.email else [])]}


def _to(carrier: Carrier) -> list[str]:
    lines = ["To", carrier.name or "the carrier"]
    return [*lines, f"Account {carrier.account}"] if carrier.account else lines


def _picture(claim: Claim, picture: str, file: str, page: int) -> Texts:
    return {
        "file": picture,
        "alt": f"The lines of {claim.subject} as they stand on page {page} of statement {claim.statement}. Their texts "
        "are in the table below.",
        "caption": f"Cut from {file}, page {page}.",
    }


def _line(row: Texts, description: str) -> list[str]:
    sides = [row[f"billed_{side}_nm"] for side in ("length", "width", "height")]
    size = "" if None in sides else " × ".join(shown(int(side), "in", "length") for side in sides)
    weight = row["measured_weight_pg"] or row["billed_weight_pg"]
    return [
        row["source_place"],
        description,
        "" if row["shipped_on"] is None else f"{row['shipped_on']:%Y-%m-%d}",
        row["zone"] or "",
        "" if weight is None else f"{shown(int(weight), 'lb', 'weight')} lb",
        size,
        "not read" if row["amount_cents"] is None else dollars(int(row["amount_cents"])),
    ]


def _step(step: Step) -> Texts:
    rests = "; ".join(part for part in (step.rule, step.version, step.source) if part)
    return {"what": step.what.strip(), "figure": step.figure, "rests": rests}


def _charged(claim: Claim) -> Texts:
    rows = [
        [charge.name, *map(dollars, (charge.billed, charge.by_carrier, charge.expected))] for charge in claim.charged
    ]
    sums = [sum(getattr(charge, name) for charge in claim.charged) for name in ("billed", "by_carrier", "expected")]
    return {
        "header": ["Charge", "Billed", "By your figures", "Expected by us"],
        "rows": [*rows, ["Total", *map(dollars, sums)]],
    }


def _packing(claim: Claim, photograph: Photograph | None, masking: Masking) -> list[str]:
    """What was measured, and what is known of the photograph."""
    measured = [f"{figure.name.lower()} {figure.packed}" for figure in claim.figures if figure.packed]
    lines = [f"Measured before the parcel was handed over: {', '.join(measured)}."] if measured else []
    if photograph is None:
        return lines
    name = masking.text(claim.shipment, photograph.name)
    if not photograph.digest:
        return [*lines, f"Our record names a photograph, {name}. It was not at hand when this was written."]
    words = f"Photograph taken at packing: {name}. {photograph.dated}"
    enclosed = "" if photograph.jpeg else " It is kept and can be sent."
    return [*lines, f"{words.strip()} SHA-256 of the original file: {photograph.digest}.{enclosed}"]


def _carton(claim: Claim, audit: Audit) -> Texts | None:
    """The ruler of the carton's readings at the same service, for claims that turn on a measurement."""
    if not claim.carton or not any(share.asked and share.cause in MEASURED for share in claim.shares):
        return None
    service = audit.shipments.drop_duplicates("tracking").set_index("tracking")["service"]
    readings = audit.readings[audit.readings["carton"] == claim.carton]
    readings = readings[readings["shipment_tracking"].map(service) == claim.service]
    drawing = ruler(claim.carton, readings, audit.limits) if len(readings) else None
    if drawing is None:
        return None
    words = f"Carton “{claim.carton}”, service {claim.service}, on the statements that we hold. {drawing.words}"
    drawn = _environment().from_string('{% from "ruler.svg.j2" import draw %}{{ draw(ruler, "carton") }}')
    svg = drawn.render(ruler=drawing).strip()
    opening, _, rest = svg.replace('width="100%"', f'width="{WIDTH}" xmlns="http://www.w3.org/2000/svg"', 1).partition(
        ">"
    )
    return {"words": words, "svg": f"{opening}>{STYLE}{rest}"}


def _environment() -> jinja2.Environment:
    folder = Path(__file__).parents[1] / "html"
    return jinja2.Environment(
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        loader=jinja2.FileSystemLoader(folder),
        trim_blocks=True,
        lstrip_blocks=True,
    )


def cover_texts(claims: Sequence[Claim], shop: Shop, carrier: Carrier) -> Texts:
    """All that the cover sheet of several claims on one statement shows."""
    statement = claims[0].statement
    total = sum(claim.asked_cents for claim in claims)
    on = f" of {wording.day(claims[0].statement_on)}" if claims[0].statement_on else ""
    rows = [
        [
            f"{number}",
            claim.tracking or claim.charges,
            "; ".join(share.cause for share in claim.shares if share.asked),
            dollars(claim.billed_cents),
            dollars(claim.asked_cents),
        ]
        for number, claim in enumerate(claims, 1)
    ]
    billed = dollars(sum(claim.billed_cents for claim in claims))
    return {
        "title": f"{len(claims)} claims on statement {statement}",
        "footer": f"Claims on statement {statement}",
        "shop": _shop(shop),
        "to": _to(carrier),
        "opening": f"On statement {statement}{on} we dispute {dollars(total)} in {len(claims)} claims, and ask you to "
        "credit it. Each has its own letter with the evidence for it.",
        "claims": {
            "header": ["No.", "Parcel or charge", "What is disputed", "Billed", "Asked back"],
            "rows": [*rows, ["", "Total", "", billed, dollars(total)]],
        },
        "notes": [MADE_BY],
    }
