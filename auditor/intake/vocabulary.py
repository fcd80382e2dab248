"""The words people and carriers use: headings → columns of our tables, and charges → the words of the rules.

A field is a column of the kind's schema (see core/schemas/), or a size: three sides in one text. The first spelling
of a field is the one that messages use. Spellings are compared as `plain` leaves them; a heading that is none of them
is compared word by word, in the one word of the trade that words.py has for each (see `likeness`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import cache, lru_cache

from auditor.core import units
from auditor.core.sides import SIDES
from auditor.intake import telltale
from auditor.intake.words import FILLER, canonical, tokens

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

PARCELS = "parcels"
CALLED = {**KINDS, PARCELS: "a list of parcels"}
"""The same with the kind that is never guessed: parcels to be checked before they are shipped."""

NEEDED = {
    "shipments": ("tracking", "size", "weight_pg"),
    "cartons": ("carton", "size"),
    "rates": ("service", "zone", "up_to_pg", "price_cents"),
    "fees": ("charge", "amount_cents"),
    "fuel": ("effective_on", "fuel_ppm"),
    "statement": ("tracking", "description", "amount_cents"),
    "notice": ("tracking",),
    PARCELS: (),
}
"""The fields without which a table is of no use; three sides serve for a size."""
FEWEST_COLUMNS = {kind: len(fields) for kind, fields in NEEDED.items()} | {"statement": 2, "notice": 3, PARCELS: 1}
"""A row of fewer cells is no row of headings of that kind: charges may stand among a statement's numbers, and a notice
says what was measured against something else."""

OF_ONE_PARCEL = ("tracking", "order", "photo")
"""Fields that have nearly as many texts as there are parcels, so that nothing is gained by telling them apart."""

SIZE = ("size", "dimensions", "dims", "measurements", "l x w x h", "length x width x height")
WEIGHT = ("weight", "wt", "mass")
SERVICE = ("service", "service code", "service type", "service name", "service level", "shipping service")
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
    "con note",
    "connote",
    "docket",
    "docket number",
    "pro",
    "pro number",
)
SHIPPED = (
    *("ship date", "shipped", "shipped on", "date shipped", "shipping date", "shipment date", "mailing date"),
    *("collected", "picked up", "booking date", "bkg date", "sent back on"),
)
ORDER = ("order", "order number", "order id", "order no", "order reference", "reference", "customer reference", "ref")
STATEMENT = ("statement", "statement number", "statement no", "invoice", "invoice number", "invoice no", "bill number")
CHARGE = (
    *("charge", "charge description", "charge type", "description", "fee", "surcharge", "item", "detail"),
    "narration",
)


def _with(words: tuple[str, ...], spellings: tuple[str, ...]) -> tuple[str, ...]:
    """Each spelling after each of the words: ('billed', 'rated') and ('weight',) → 'billed weight', 'rated weight'."""
    return tuple(f"{word} {spelling}" for word in words for spelling in spellings)


def _sides(prefix: str, *words: str) -> dict[str, tuple[str, ...]]:
    """The fields of a size, in one text and in three, after any of the words; '' stands for none."""
    spelled = {
        "size": SIZE,
        "length_nm": ("length", "l", "longest side", "side 1", "side a"),
        "width_nm": ("width", "w", "middle side", "side 2", "side b"),
        "height_nm": ("height", "h", "depth", "d", "shortest side", "side 3", "side c"),
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
        "residential": (
            "residential",
            "residence",
            "home delivery",
            "residential delivery",
            "to a home",
            "address type",
        ),
        "carton": ("carton", "box", "carton name", "box name", "box type", "carton type", "packaging", "package"),
        **_sides("", "", *DECLARED),
        "weight_pg": (*WEIGHT, *_with((*DECLARED, "package", "parcel"), WEIGHT)),
        "label_cost_cents": ("label cost", "label price", "postage", "postage cost", "label", "cost", "shipping cost"),
        "buyer_paid_cents": ("shipping paid", "buyer paid", "shipping charged", "buyer shipping", "shipping income"),
        **_sides("packed_", "packed", "packing"),
        "packed_weight_pg": _with(("packed", "packing"), WEIGHT),
        "photo": ("photo", "photograph", "picture", "image"),
        "voided": ("voided", "void", "cancelled", "canceled", "label state", "state of label"),
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
        "zone": ("zone", "billed zone", "area", "rate area", "tariff zone"),
        "description": CHARGE,
        "amount_cents": ("amount", "net amount", "charge amount", "net charge", "amount billed", "billed amount"),
        "billed_weight_pg": _with(("billed", "billable", "rated", "chargeable", "charge", ""), WEIGHT),
        **_sides("billed_", "billed", "rated", "chargeable", ""),
        "measured_weight_pg": _with(("scale", *MEASURED), WEIGHT),
        "order": ORDER,
    },
    "notice": {
        "tracking": TRACKING,
        "reason": ("reason", "reason for adjustment", "adjustment reason", "cause"),
        **_sides("declared_", *DECLARED),
        "declared_weight_pg": _with(DECLARED, WEIGHT),
        **_sides("measured_", *MEASURED),
        "measured_weight_pg": _with((*MEASURED, "scale"), WEIGHT),
        "amount_cents": ("adjustment", "adjustment amount", "amount", "amount of adjustment", "charge"),
    },
}
HEADINGS[PARCELS] = {
    "parcel": ("parcel", "name", "item", *ORDER, *TRACKING),
    **{
        field: names
        for field, names in HEADINGS["shipments"].items()
        if field in {"carton", "shipped_on", "service", "zone", "residential", "size", "weight_pg"} or field in SIDES
    },
}


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


@lru_cache(10_000)
def meaning(heading: str, kind: str) -> tuple[str, str | None] | None:
    """The field that a heading means in a table of that kind, and the unit it gives; None when it means none."""
    words, fields = tokens(heading), _fields(kind)
    if field := fields.get(plain(words)):
        return field, None
    field = fields.get(plain(words[:-1]))
    unit = units.symbol(words[-1], quantity(field)) if field and quantity(field) else None
    return (field, unit) if field and unit else None


@lru_cache(10_000)
def likeness(heading: str, kind: str) -> Mapping[str, tuple[float, str | None]]:
    """How like a heading is to each field of that kind, above 0 to 1, with the unit it gives; 1 is one of its names.

    The share of words that heading and name have in common (Dice), each word as its `canonical` one; what all names of
    a field have in common must be there, so that a weight is not taken for a measured weight. A unit of weight
    says that the column is a weight: 'Rated lb' is 'rated weight (lb)'.
    """
    if exact := meaning(heading, kind):
        return {exact[0]: (1.0, exact[1])}
    units_named = {of: _unit_named(tokens(heading), of) for of in ("length", "weight")}
    named = {of: unit for of, unit in units_named.items() if unit}
    of_units = {word for word in tokens(heading) for of, unit in named.items() if units.symbol(word, of) == unit}
    words = {word for word in canonical(heading) if word not in of_units}
    found: dict[str, tuple[float, str | None]] = {}
    measures = {of for of, unit in units_named.items() if unit and unit != "in"}
    for field, names in _canonical_names(kind).items():
        unit = units_named.get(quantity(field))
        if measures and quantity(field) not in measures:
            continue
        said = words | {"weight"} if unit and quantity(field) == "weight" else words
        score = max((_shared(said, name) for name in names), default=0.0)
        if score and frozenset.intersection(*names) <= said:
            found[field] = min(score, LIKE_BUT_NOT_SAME), unit
    return found


LIKE_BUT_NOT_SAME = 0.98
"""The most for a heading that is not one of a field's own names."""


def _shared(words: set[str], name: frozenset[str]) -> float:
    return 2 * len(words & name) / (len(words) + len(name)) if words else 0.0


@cache
def _canonical_names(kind: str) -> dict[str, set[frozenset[str]]]:
    """Names by their words; those with a single letter in them ('billed l') are only themselves."""
    whole = {
        field: [name for name in names if all(len(word) > 1 for word in name.split())]
        for field, names in HEADINGS[kind].items()
    }
    return {field: {frozenset(canonical(name)) for name in names} - {frozenset()} for field, names in whole.items()}


def unit_named(heading: str, field: str) -> str | None:
    """The unit that a heading gives for a field."""
    return _unit_named(tokens(heading), quantity(field)) if quantity(field) else None


def _unit_named(words: Sequence[str], of: str) -> str | None:
    """The unit that a heading's words give: its last word, or an earlier one that can be nothing else."""
    sure = [word for word in words[:-1] if len(word) > 1 and word != "in"]
    return next((unit for word in (*words[-1:], *sure) if (unit := units.symbol(word, of))), None)


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
        "delivery",
        "tariff",
        "label",
        "shipping label",
        "postage label",
        "label price",
        "carrier rate",
        "shipping rate",
        "parcel price",
        "parcel rate",
    ),
    "residential": ("residential", "residential delivery", "home delivery", "residential area"),
    "fuel": ("fuel", "fuel surcharge"),
    "additional handling": ("additional handling", "extra handling", "special handling", "bulky"),
    "large parcel": (
        "large parcel",
        "big parcel",
        "oversize",
        "oversized",
        "oversize parcel",
        "outsize",
        "outsize parcel",
    ),
    "address correction": (
        "address correction",
        "corrected address",
        "address change",
        "readdressing",
        "corrección de domicilio",
    ),
    "correction fee": ("correction", "correction fee", "audit fee", "checking fee", "remeasuring fee"),
    "pickup service": ("pickup service", "pickup", "pick up", "collection", "collection service", "regular collection"),
    "tax": ("tax", "sales tax", "vat", "gst", "vat reverse charge", "btw verlegd"),
}
"""The rules' word for a charge, and how statements print it. 'charge', 'surcharge' and 'fee' after it do not matter."""

PERCENT = re.compile(r"(?:\b(?:at|of) |@ ?|\()?\d+(?:[.,]\d+)?\s?%\)?", re.IGNORECASE)
"""How much of the others a charge is, which is no part of its name: 'VAT 20 %'."""
FEES = ("address correction", "correction fee", "pickup service")
ADJUSTED = {"adjustment", "adjusted", "adj", "correction", "corrected", "rebill", "rebilled"}
CREDITED = {"credit", "credited", "refund", "refunded", "reversal", "reversed"}
BESIDE = {"charge", "surcharge", "fee", "for", "of"}
LONGEST_NAME = 500
"""No name of a charge, with what is said beside it, is longer."""


@cache
def _charges(own: tuple[str, ...]) -> dict[frozenset[str], str]:
    """The words of each charge → its name. The seller's own names, as in the rules, come before the ordinary ones."""
    ordinary = {_said(name) - BESIDE: charge for charge, names in CHARGES.items() for name in names}
    return ordinary | {_said(name) - BESIDE: " ".join(name.casefold().split()) for name in own}


def _said(description: str) -> frozenset[str]:
    return frozenset(plain(tokens(description)).split())


def charge(description: str, own: tuple[str, ...] = ()) -> tuple[str | None, str]:
    """The rules' word for a charge as printed (None when it is not known), and the state of its line.

    'Credit - fuel surcharge' → fuel, credit; 'Adjusted freight' → freight, adjustment; 'Treibstoffzuschlag' → fuel,
    label charge. `own` are the names of charges in the seller's table of fees.
    """
    found, state = by_name(description, own)
    told = None if found else telltale.told(description)
    if not told:
        return found, state
    return told, "fee" if told in FEES and state != "credit" else "label charge" if state == "fee" else state


def by_name(description: str, own: tuple[str, ...] = ()) -> tuple[str | None, str]:
    """The same by names alone, without what a word gives away."""
    return (None, "fee") if len(description) > LONGEST_NAME else _by_name(description, own)


@lru_cache(maxsize=1 << 12)
def _by_name(description: str, own: tuple[str, ...]) -> tuple[str | None, str]:
    description = PERCENT.sub(" ", description)
    found, state = _told(_said(description), _charges(own), BESIDE, CREDITED, ADJUSTED)
    if found is None:
        words = frozenset(canonical(description))
        likely, its_state = _told(words, _canonical_charges(own), {"charge"}, {"credit"}, {"adjustment", "correction"})
        if likely or its_state != "fee":
            return likely, its_state
    return found, state


def is_named(description: str, own: tuple[str, ...] = ()) -> bool:
    """Whether a charge is called by a name of it, and not only by words like one."""
    if len(description) > LONGEST_NAME:
        return False
    said = _said(PERCENT.sub(" ", description))
    return _told(said, _charges(own), BESIDE, CREDITED, ADJUSTED)[0] is not None


def _told(
    said: frozenset[str],
    known: Mapping[frozenset[str], str],
    beside: set[str],
    credited: set[str],
    adjusting: set[str],
) -> tuple[str | None, str]:
    """The charge and the state that words say."""
    found = known.get(said - beside - credited)
    adjusted = found is None and bool(said & adjusting)
    if adjusted:
        found = known.get(said - beside - credited - adjusting)
    if said & credited:
        return found, "credit"
    if adjusted:
        return found, "adjustment"
    if found == "tax":
        return found, "tax"
    return found, "fee" if found is None or found in FEES else "label charge"


HARMLESS = {
    *("weight", "size", "length", "base", "service", "area", "ground", "standard", "domestic", "zone", "delivery"),
    *("daily", "weekly", "monthly", "scheduled", "regular"),
}
"""Words beside a charge that leave it the same charge: 'additional handling - weight'."""


WEAK = {"measured"}
"""What an audit's fee has in common with every audited figure."""


class _Likely(dict[frozenset[str], str]):
    """Charges by their words; words beside that do no harm are passed over."""

    def get(self, said: frozenset[str], default: str | None = None) -> str | None:  # type: ignore[override]
        """The charge of those words, or of those left when the harmless ones are taken out."""
        return super().get(said) or super().get(said - HARMLESS) or default


@cache
def _canonical_charges(own: tuple[str, ...]) -> Mapping[frozenset[str], str]:
    named = [(name, charge) for charge, names in CHARGES.items() for name in names]
    pairs = [(frozenset(canonical(name)) - {"charge"}, charge) for name, charge in named]
    return _Likely({words: charge for words, charge in [*pairs, *_own_pairs(own)] if words - WEAK})


def _own_pairs(own: tuple[str, ...]) -> list[tuple[frozenset[str], str]]:
    return [(frozenset(canonical(name)) - {"charge"}, " ".join(name.casefold().split())) for name in own]
