"""A charge told by the one word that gives it away: 'Diesel price supplement, changing by the month' → fuel.

Only what vocabulary.py does not know comes here. A text that gives away two charges, or speaks of something that is
charged for by itself, names none. Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from auditor.intake.words import canonical

HEAD = re.compile(r"\s+for\s+|[,;:(]|\s[-–—]\s")
"""What a charge is stands before these, and why or for what behind."""
BY_HAND = re.compile(r"\bby hand\b|\bhand[- ](?:sort|handl)", re.IGNORECASE)
TO_A_PERSON = re.compile(r"\ba particular(?:es)?\b", re.IGNORECASE)
"""Spanish; alone the word is one for what is described."""
LONGEST = 200

FUEL = {"fuel", "energy", "petrol", "gasoline"}
RESIDENTIAL = {"residential", "household", "dwelling", "doorstep"}
HANDLING = {
    *(
        "manual",
        "manually",
        "belt",
        "conveyor",
        "conveyable",
        "nonconveyable",
        "conv",
        "nonconv",
        "machinable",
        "nonmachinable",
    ),
    *("irregular", "odd", "unsortable", "sorter", "awkward", "bandfahig", "sortierfahig", "unhandlich", "mecanisable"),
    *("mecanizable", "nastrabile", "machinaal", "gabarit", "sagoma", "hors", "gauge"),
}
ODD = {"bulky", "nonstandard"}
"""What a parcel is that is handled by itself."""
UNUSUAL = {"additional", "parcel", "standard", "nonstandard", "irregular", "unusual"}
"""Beside 'handling' these say that a parcel is handled by itself: 'non-standard handling'."""
AMENDED = {
    *("correction", "measured", "fix", "fixed", "amended", "amend", "amendment", "wrong", "incorrect", "right"),
    *("re", "changed", "changing", "updated", "update", "mended", "bad", "incomplete", "faulty", "invalid"),
    *("rectified",),
}
"""What happens to an address that is charged for; 'measured' is what canonical words have for 'corrected'."""
CARRIAGE = {"freight", "courier", "base", "tariff", "haul", "linehaul"}
OTHERS = {
    *("dangerous", "hazardous", "lithium", "remote", "extended", "rural", "customs", "duty", "insurance", "insured"),
    *("signature", "saturday", "sunday", "return", "returned", "storage", "late", "peak", "season", "seasonal"),
    *("demand", "holiday", "island", "islands", "cash", "cod", "tax", "pickup", "locker", "express", "discount"),
    *("rebate", "duties", "unauthorized", "maut", "toll", "peage", "zoll", "douane", "dogana", "aduana", "nachnahme"),
    *("versicherung", "assurance", "seguro", "assicurazione", "verzekering", "retour", "rucksendung", "ritorno"),
    *("insel", "ile", "isla", "isola", "eiland", "samstag", "samedi", "sabado", "sabato", "zaterdag", "gefahrgut"),
    *("large", "void", "label", "missing", "import", "export", "brokerage", "liability", "weekend", "redelivery"),
}
"""Words of charges that are none of those told here."""


@lru_cache(10_000)
def told(description: str) -> str | None:
    """The rules' word for the charge that a text gives away, None where it gives away none or several."""
    if len(description) > LONGEST:
        return None
    for text in (HEAD.split(description, maxsplit=1)[0], description):
        words = {*canonical(text)} | ({"manual"} if BY_HAND.search(text) else set())
        words |= {"residential"} if TO_A_PERSON.search(text) else set()
        by_hand = "handling" in words and bool(words & HANDLING)
        if words & OTHERS - ({"large"} if by_hand else set()) - ({"pickup"} if words & RESIDENTIAL else set()):
            return None
        found = list(_given_away(words))
        if found:
            return found[0] if len(found) == 1 else None
        if words & CARRIAGE:
            return "freight"
    return None


def _given_away(words: set[str]) -> Iterator[str]:
    if words & FUEL:
        yield "fuel"
    if words & RESIDENTIAL:
        yield "residential"
    if words & (HANDLING | ODD) or {"non", "standard"} <= words or ("handling" in words and words & UNUSUAL):
        yield "additional handling"
    if "address" in words and words & AMENDED:
        yield "address correction"
