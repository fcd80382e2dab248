"""The words people and carriers use: headings → columns of our tables, and charges → the words of the rules.

A field is a column of the kind's schema (see `auditor.tables`), or a size: three sides in one text. The first spelling
of a field is the one that messages use. Spellings are compared as `plain` leaves them.
"""

from __future__ import annotations

import re
from functools import cache

from auditor import units

KINDS = {
    "shipments": "shipping records",
    "cartons": "a list of cartons",
    "rates": "a price table",
    "fees": "a table of fees",
    "fuel": "a table of fuel percentages",
    "statement": "a statement",
    "notice": "a notice",
}
"""What each kind of table is called in messages."""

NEEDED = {
    "shipments": ("tracking", "size", "weight_pg"),
    "cartons": ("carton", "size"),
    "rates": ("service", "zone", "up_to_pg", "price_cents"),
    "fees": ("charge", "amount_cents"),
    "fuel": ("effective_on", "fuel_ppm"),
    "statement": ("tracking", "description", "amount_cents"),
    "notice": ("tracking",),
}
"""The fields without which a table is of no use; three sides serve for a size."""

SIZE = ("size", "dimensions", "dims", "measurements", "l x w x h", "length x width x height")
WEIGHT = ("weight", "wt", "mass")
SERVICE = ("service", "service type", "service name", "service level", "shipping service")
EFFECTIVE = ("effective date", "effective", "effective from", "valid from", "starting", "start date", "date", "week of")
TRACKING = (
    "tracking number",
    "tracking",
    "tracking id",
    "parcel number",
    "package number",
    "shipment number",
    "label number",
    "barcode",
    "tracking no",
)
SHIPPED = ("ship date", "shipped", "shipped on", "date shipped", "shipping date", "shipment date", "mailing date")
ORDER = ("order", "order number", "order id", "order no", "order reference", "reference", "customer reference", "ref")
STATEMENT = ("statement", "statement number", "statement no", "invoice", "invoice number", "invoice no", "bill number")
CHARGE = ("charge", "charge description", "charge type", "description", "fee", "surcharge", "item", "detail")


def _with(words: tuple[str, ...], spellings: tuple[str, ...]) -> tuple[str, ...]:
    """Each spelling after each of the words: ('billed', 'rated') and ('weight',) → 'billed weight', 'rated weight'."""
    return tuple(f"{word} {spelling}" for word in words for spelling in spellings)


def _sides(prefix: str, *words: str) -> dict[str, tuple[str, ...]]:
    """The fields of a size, in one text and in three, after any of the words; '' stands for none."""
    spelled = {
        "size": SIZE,
        "length_nm": ("length", "l", "longest side"),
        "width_nm": ("width", "w", "second side"),
        "height_nm": ("height", "h", "depth", "d", "shortest side"),
    }
    return {
        f"{prefix}{field}": tuple(f"{word} {spelling}".strip() for word in words for spelling in spellings)
        for field, spellings in spelled.items()
    }


MEASURED = ("measured", "scanned", "audited", "actual")
DECLARED = ("declared", "stated", "original", "label")

HEADINGS: dict[str, dict[str, tuple[str, ...]]] = {
    "shipments": {
        "tracking": TRACKING,
        "order": (*ORDER, "sale", "sale number"),
        "shipped_on": (*SHIPPED, "label date", "date"),
        "service": SERVICE,
        "zone": ("zone",),
        "postcode": ("postcode", "postal code", "zip", "zip code", "destination postcode", "destination zip", "to zip"),
        "residential": ("residential", "residence", "home delivery", "residential delivery", "to a home"),
        "carton": ("carton", "box", "carton name", "box name", "box type", "carton type", "packaging", "package"),
        **_sides("", "", *DECLARED),
        "weight_pg": (*WEIGHT, *_with((*DECLARED, "package", "parcel"), WEIGHT)),
        "label_cost_cents": ("label cost", "label price", "postage", "postage cost", "label", "cost", "shipping cost"),
        "buyer_paid_cents": ("shipping paid", "buyer paid", "shipping charged", "buyer shipping", "shipping income"),
        **_sides("packed_", "packed", "packing"),
        "packed_weight_pg": _with(("packed", "packing"), WEIGHT),
        "photo": ("photo", "photograph", "picture", "image"),
        "voided": ("voided", "void", "cancelled", "canceled"),
    },
    "cartons": {
        "carton": ("carton", "name", "carton name", "box", "box name"),
        **_sides("", ""),
        "unit_cost_cents": ("unit cost", "cost", "price", "carton cost", "cost each"),
        "empty_weight_pg": ("empty weight", "tare", "tare weight", "carton weight"),
        "usual_weight_pg": ("usual weight", "usual declared weight", "default weight", "typical weight"),
        "usual_trim_nm": ("usual trim", "trim", "cut", "usual cut"),
    },
    "rates": {
        "service": SERVICE,
        "zone": ("zone",),
        "up_to_pg": ("weight up to", "up to", "up to weight", "weight", "maximum weight", "max weight", "weight to"),
        "price_cents": ("price", "rate", "amount", "cost", "charge", "base price", "base rate"),
        "effective_on": EFFECTIVE,
    },
    "fees": {
        "charge": (*CHARGE, "name"),
        "amount_cents": ("amount", "price", "fee amount", "rate", "cost"),
        "zone": ("zone",),
        "effective_on": EFFECTIVE,
    },
    "fuel": {
        "effective_on": EFFECTIVE,
        "fuel_ppm": ("percent", "percentage", "fuel percent", "fuel", "fuel surcharge", "fuel surcharge percent"),
        "service": SERVICE,
    },
    "statement": {
        "statement": STATEMENT,
        "statement_on": ("statement date", "invoice date", "bill date", "billing date"),
        "tracking": TRACKING,
        "shipped_on": (*SHIPPED, "pickup date", "date"),
        "service": SERVICE,
        "zone": ("zone", "billed zone"),
        "description": CHARGE,
        "amount_cents": ("amount", "net amount", "charge amount", "net charge", "amount billed", "billed amount"),
        "billed_weight_pg": _with(("billed", "billable", "rated", "chargeable", ""), WEIGHT),
        **_sides("billed_", "billed", "rated", ""),
        "read_weight_pg": _with(("scale", *MEASURED), WEIGHT),
        "order": ORDER,
    },
    "notice": {
        "tracking": TRACKING,
        "reason": ("reason", "reason for adjustment", "adjustment reason", "cause"),
        **_sides("declared_", *DECLARED),
        "declared_weight_pg": _with(DECLARED, WEIGHT),
        **_sides("read_", *MEASURED),
        "read_weight_pg": _with((*MEASURED, "scale"), WEIGHT),
        "amount_cents": ("adjustment", "adjustment amount", "amount", "amount of adjustment", "charge"),
    },
}

FILLER = {"usd", "us", "the", "your"}
"""Words in headings that say nothing; '(USD)' is the one currency there is."""


def tokens(text: str) -> list[str]:
    """The words of a heading or charge, in small letters: 'weight_kg' and 'WeightKg' → weight, kg."""
    parted = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text)
    return re.findall(r"[^\W_]+|[#%\"″]", parted.casefold())


def plain(words: list[str]) -> str:
    """Words as they are compared: without fillers, signs spelled out, in the singular."""
    spelled = ({"#": "number", "no": "number", "%": "percent"}.get(word, word) for word in words if word not in FILLER)
    single = [word[:-1] if len(word) > 3 and word[-1] == "s" and word[-2] != "s" else word for word in spelled]  # noqa: PLR2004
    return " ".join(word for place, word in enumerate(single) if single[place - 1 : place] != [word])


@cache
def _fields(kind: str) -> dict[str, str]:
    """Plain spelling → field of that kind; a spelling of two fields means the earlier one."""
    pairs = [(plain(tokens(name)), field) for field, names in HEADINGS[kind].items() for name in names]
    return dict(reversed(pairs))


def meaning(heading: str, kind: str) -> tuple[str, str | None] | None:
    """The field that a heading means in a table of that kind, and the unit it gives; None when it means none."""
    words, fields = tokens(heading), _fields(kind)
    if field := fields.get(plain(words)):
        return field, None
    field = fields.get(plain(words[:-1]))
    unit = units.symbol(words[-1], quantity(field)) if field and quantity(field) else None
    return (field, unit) if field and unit else None


def quantity(field: str) -> str:
    """What a field is measured in: 'length' for sides and sizes, 'weight', or '' for what has no unit."""
    if field.endswith(("_nm", "size")):
        return "length"
    return "weight" if field.endswith("_pg") else ""


def called(field: str, kind: str) -> str:
    """The word for a field in messages: 'tracking' → 'tracking number'."""
    return HEADINGS[kind][field][0]


CHARGES = {
    "freight": (
        "freight",
        "base",
        "base rate",
        "transportation",
        "carriage",
        "shipping",
        "postage",
        "ground",
        "parcel",
    ),
    "residential": ("residential", "residential delivery", "home delivery", "residential area"),
    "fuel": ("fuel", "fuel surcharge"),
    "additional handling": ("additional handling", "extra handling", "special handling"),
    "large parcel": ("large parcel", "large package", "oversize", "oversized", "oversize parcel", "oversize package"),
    "address correction": ("address correction", "corrected address", "address change"),
    "correction fee": ("correction", "correction fee", "audit fee", "shipping correction fee"),
    "pickup service": ("pickup service", "pickup", "pick up", "collection", "scheduled pickup", "daily pickup"),
    "tax": ("tax", "sales tax", "vat", "gst"),
}
"""The rules' word for a charge, and how statements print it. 'charge', 'surcharge' and 'fee' after it do not matter."""

FEES = ("address correction", "correction fee", "pickup service")
ADJUSTED = {"adjustment", "adjusted", "adj", "correction", "corrected", "rebill", "rebilled"}
CREDITED = {"credit", "credited", "refund", "refunded", "reversal", "reversed"}
BESIDE = {"charge", "surcharge", "fee", "for", "of"}


@cache
def _charges(own: tuple[str, ...]) -> dict[frozenset[str], str]:
    """The words of each charge → its name. The seller's own names, as in the rules, come before the ordinary ones."""
    ordinary = {_said(name) - BESIDE: charge for charge, names in CHARGES.items() for name in names}
    return ordinary | {_said(name) - BESIDE: " ".join(name.casefold().split()) for name in own}


def _said(description: str) -> frozenset[str]:
    return frozenset(plain(tokens(description)).split())


def charge(description: str, own: tuple[str, ...] = ()) -> tuple[str | None, str]:
    """The rules' word for a charge as printed (None when it is not known), and the state of its line.

    'Credit - fuel surcharge' → fuel, credit; 'Adjusted freight' → freight, adjustment. `own` are the names of charges
    in the seller's table of fees.
    """
    said, known = _said(description), _charges(own)
    found = known.get(said - BESIDE - CREDITED)
    adjusted = found is None and bool(said & ADJUSTED)
    if adjusted:
        found = known.get(said - BESIDE - CREDITED - ADJUSTED)
    if said & CREDITED:
        return found, "credit"
    if adjusted:
        return found, "adjustment"
    if found == "tax":
        return found, "tax"
    return found, "fee" if found is None or found in FEES else "label charge"
