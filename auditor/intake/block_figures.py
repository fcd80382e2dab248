"""What a text among a parcel's charges says about the parcel: its day, service, zone, reference, size and weight."""

from __future__ import annotations

import re
from collections.abc import Sequence

from auditor.intake import measures
from auditor.intake.words import canonical

DAY = re.compile(
    r"\b(?:\d{4}[-/]\d\d[-/]\d\d|\d{1,2}([/.-])\d{1,2}\1\d{2,4}|"
    r"\d{1,2}(?:st|nd|rd|th)?[. -]+[A-Z][a-z]{2,8}\.?,?[ -]\d{4}|"
    r"[A-Z][a-z]{2,8}\.? \d{1,2},? \d{4})\b"
)
SIZE, WEIGHT = (re.compile(one, re.IGNORECASE) for one in (measures.SIZE, measures.WEIGHT))
ZONE = re.compile(r"\b(?:zone|band|zn|zona|zon|sone|strefa)\.?\s*:?\s*([A-Z]?\d{1,3}|[A-Z])\b", re.IGNORECASE)
NAME = r"[A-ZÀ-ÖØ-Þ][^\W\d_]*(?:[ .'’][^\W\d_#]+){0,2}\.?"
LABEL = rf"{NAME}(?: ?/ ?{NAME})?"
"""The name of a figure, or two of them where a statement is in two languages."""
LABELLED = re.compile(rf"({LABEL})\s?:\s*(.+?)(?=\s*[|·•;]|\s{{2,}}|\s+{LABEL}\s?:|$)")
WIDE = "  "
"""Stands between the parts of a line."""
BETWEEN = re.compile(r"\s*[|·•;/]\s*|,\s+|\s+[-–—]\s+|\s{2,}")
REFERENCE = re.compile(
    r"(?:(?:your |our |customer )?"
    r"(?:ref(?:erence)?|order|auftrag|bestellung|commande|pedido|ordine|bestelling|zamówienie|encomenda|beställning|"
    r"ordre|po)\.?\s*(?:no\.?|number|#)?\s*:?\s*)(\S*\d\S*)",
    re.IGNORECASE,
)
CODE = re.compile(r"[A-Z]{1,4}[-/]?\d{3,8}")
BESIDE = re.compile(
    r"(?:shipped|mailed|posted|sent|on|dated?|from|collected|to|service|for|under|of|and|the|by|at|we|you|your|was|were|"
    r"order|ref|continued|cont'?d|sendung|versandt|am|envoi|envío|spedizione|zending)\.?:?",
    re.IGNORECASE,
)
"""Words that are no part of a service's name."""
ROLES = {
    "scale": ("scale", "weighed", "actual", "gross"),
    "billed": ("billed", "billable", "rated", "charged", "chargeable", "invoiced", "charge", "bill"),
    "audited": (
        "audited", "measured", "scanned", "remeasured", "corrected", "found", "read", "verified", "captured",
        "observed", "inspected", "reading",
    ),
    "entered": (
        "entered", "declared", "stated", "label", "original", "originally", "manifested", "keyed", "given", "claimed",
        "submitted", "supplied", "typed", "booked", "announced", "told", "said", "gave",
    ),
}  # fmt: skip
"""Words before a size or weight that say whose it is. Common practice, no source."""
ROLE = {word: role for role, words in ROLES.items() for word in words}
NUMBERED, SHIPPED, SERVICE, ZONED, REFERRED = "Tracking number", "Ship date", "Service", "Zone", "Reference"
GUESSED = "Service?"
"""A capital word that nothing calls a service: it counts where no other is."""
BILLED_SIZE, BILLED_WEIGHT, SCALE_WEIGHT = "Billed size", "Billed weight", "Scale weight"


def figures(text: str) -> dict[str, str]:
    """What a text says about a parcel, by the headings of the grid; nothing of what was entered, which is the seller's.

    'Audited 49 x 20 x 8 in, 57 lb; entered 48 x 20 x 8 in, 14 lb' → billed size and billed weight.
    """
    found: dict[str, str] = {}
    text = _taken(text, DAY, SHIPPED, found)
    text = LABELLED.sub(lambda labelled: _named(labelled, found), text)
    text = _taken(text, ZONE, ZONED, found)
    text = _taken(text, REFERENCE, REFERRED, found)
    text = _measures(text, found)
    for piece in BETWEEN.split(text):
        plain = " ".join(word for word in piece.split() if not BESIDE.fullmatch(word))
        if CODE.fullmatch(plain):
            found.setdefault(REFERRED, plain)
        elif len(plain.split()) > 1 and canonical(plain.split()[0]) == ("service",):
            found.setdefault(SERVICE, plain.split(maxsplit=1)[1])
        elif plain and not re.search(r"\d|:", plain) and len(plain.split()) <= 3 and plain[0].isupper():  # noqa: PLR2004 - a service's name
            found.setdefault(GUESSED, plain)
    return found


def labelled(label: str, value: str) -> str:
    """A value with a colon behind its label, if that is of something known: 'ZONE: 8'."""
    return f"{label}: {value}" if _field(label) else value


def labelled_pairs(parts: Sequence[str]) -> str:
    """A line of labels and values in turn with colons between: 'Service: Ground'; any other as it is."""
    labels, values = parts[::2], parts[1::2]
    if len(labels) != len(values) or not any(_field(label) for label in labels):
        return WIDE.join(parts)
    if any(re.search(r"[\d:]", label) for label in labels):
        return WIDE.join(parts)
    return " ; ".join(f"{label}: {value}" for label, value in zip(labels, values, strict=True))


def _field(label: str) -> str | None:
    """What a label is of, None where it is of nothing known."""
    return next((name for name, known in LABELS.items() if known.fullmatch(label.strip())), None)


LABELS = {
    SHIPPED: re.compile(
        r"(?:ship|mail|post|sent|despatch|dispatch|collect|versand)\w*(?: date| on| am)?|picked up|pick-?up(?: date)?|"
        r"date|expédiée? le",
        re.IGNORECASE,
    ),
    SERVICE: re.compile(
        r"(?:shipping )?(?:service|class|product|method|mode|usługa|tjänst|serviço)(?: level| type)?", re.IGNORECASE
    ),
    ZONED: re.compile(r"(?:delivery |dest(?:ination|\.)? |billed )?(?:zone|band|zn|zona|zon|strefa)", re.IGNORECASE),
    BILLED_WEIGHT: re.compile(
        r"(?:billed|billable|charged|chargeable|rated) weight|weight (?:billed|charged)", re.IGNORECASE
    ),
    BILLED_SIZE: re.compile(
        r"(?:billed|billable|charged|rated) (?:size|dimensions|dims)|(?:size|dimensions) (?:billed|charged)",
        re.IGNORECASE,
    ),
    REFERRED: re.compile(r"(?:your |customer )?(?:ref(?:erence)?|order|po)\.?(?: no\.?| number| #)?", re.IGNORECASE),
}


def _named(labelled: re.Match[str], found: dict[str, str]) -> str:
    """Nothing in place of a value behind a known label, which is put among what was found; any other as it is.

    In two languages, a label is known by either of them.
    """
    name = next(filter(None, map(_field, labelled[1].split("/"))), None)
    if name is None:
        return labelled[0]
    found.setdefault(name, labelled[2].strip(" ,;"))
    return " ; "


def _taken(text: str, pattern: re.Pattern[str], name: str, found: dict[str, str]) -> str:
    """The text without the first of a pattern, which is put among what was found."""
    one = pattern.search(text)
    if not one:
        return text
    found.setdefault(name, (one[1] if pattern in {ZONE, REFERENCE} else one[0]).strip(",;."))
    return f"{text[: one.start()]} ; {text[one.end() :]}"


def _measures(text: str, found: dict[str, str]) -> str:
    """The text without sizes and weights, which are put among what was found by whose they are said to be."""
    spans = [(one, "size") for one in SIZE.finditer(text)]
    sizes = [one.span() for one, _ in spans]
    spans += [
        (one, "weight") for one in WEIGHT.finditer(text) if not any(start <= one.start() < end for start, end in sizes)
    ]
    weights: dict[str, str] = {}
    for one, kind in sorted(spans, key=lambda span: span[0].start()):
        role = _role(text[: one.start()])
        if kind == "size" and role != "entered":
            found.setdefault(BILLED_SIZE, one[0])
        elif kind == "weight":
            weights.setdefault(role, one[0])
    if any(weights.get(role) for role in ("billed", "audited", "", "scale")):
        billed = weights.get("billed") or weights.get("audited") or weights.get("")
        read = weights.get("scale") or (weights.get("audited") if weights.get("billed") else None)
        found |= {name: value for name, value in ((BILLED_WEIGHT, billed), (SCALE_WEIGHT, read)) if value}
    for one, _ in sorted(spans, key=lambda span: -span[0].start()):
        text = f"{text[: one.start()]}: {text[one.end() :]}"
    return text


def _role(before: str) -> str:
    """Whose a figure is, by the last word before it that says so."""
    words = re.findall(r"[a-z]+", before.casefold())
    return next((ROLE[word] for word in reversed(words) if word in ROLE), "")
