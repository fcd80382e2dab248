"""How far the word for a charge is believed: how it was told, and what its amounts do over all lines of that name.

A charge of a fixed amount comes to that amount, parcel after parcel. A name that was taken for such a charge, but whose
amounts do otherwise, is the carrier's word for something else: mostly for a correction in one sum.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import combinations

import pandas as pd

from auditor.core.schemas import Problem
from auditor.core.sides import SIDES
from auditor.intake import vocabulary
from auditor.intake.words import canonical, tokens
from auditor.tariff import Prices, Rulebook
from auditor.tariff.prices import plain
from auditor.tariff.rules import Fee

MOSTLY = 0.5
"""Of the lines of a name at least this share must come to amounts of the charge (chosen)."""

SEVERAL = 2
ENOUGH_ALIKE = 5
"""So many lines of one amount are a charge of that amount, whatever an older table says (chosen)."""

PARCELS = 3
"""A name without a known meaning that differs on so many parcels is taken for a correction in one sum (chosen)."""

OF_CORRECTIONS = {
    *("adjustment", "correction", "measured", "declared", "size", "weight", "difference", "variance", "wrong"),
    *("incorrect", "underpaid", "due", "rerate", "remeasure", "reweigh", "audit", "scan", "inspection", "verification"),
}
"""Words of a charge for a parcel that was found to be otherwise than declared (common practice, no source)."""


ANOTHER_CARRIAGE = re.compile(
    r"\b(?:return(?:s|ed|ing)?|rts|undeliver(?:able|ed)|re ?(?:deliver(?:y|ed)|attempt|direct(?:ion|ed)?)"
    r"|forward(?:ed|ing)|(?:second|2nd|third|3rd|another|repeat(?:ed)?|failed) (?:delivery|attempt|carriage)|retoure?"
    r"|r(?:u|ü|ue)cksendung|devolucion|devolución|retourzending|reso)\b"
)
"""Words of a parcel that is carried once more: back, on, or to the door again (common practice, no source)."""


def carried_again(lines: pd.DataFrame) -> pd.Series:
    """Which charges are, by their words, for carrying a parcel once more: they are none of its label's."""
    texts = lines["description"].dropna().unique()
    words = {text for text in texts if ANOTHER_CARRIAGE.search(" ".join(tokens(text)))}
    named = {charge for charge in lines["charge"].dropna().unique() if ANOTHER_CARRIAGE.search(str(charge))}
    charged = lines["state"].isin(["label charge", "fee", "adjustment"]) & (lines["amount_cents"] > 0).fillna(
        value=False
    )
    return charged & lines["description"].isin(words) & ~lines["charge"].isin(named)


FIGURES_PRINTED = ("billed_weight_pg", "measured_weight_pg", *(f"billed_{side}" for side in SIDES))


def without_other_carriage(lines: pd.DataFrame) -> pd.DataFrame:
    """The lines with charges for carrying a parcel once more as no known charge, and without the figures of that label.

    It is another label: its figures are neither a correction of the parcel's own nor a reading to hold that against.
    """
    again = carried_again(lines)
    where = ["shipment", "statement", *FIGURES_PRINTED]
    key = pd.MultiIndex.from_frame(lines[where].astype(object).where(lines[where].notna(), None))
    its = again | pd.Series(key.isin(key[again.to_numpy()]), index=lines.index)
    return lines.assign(charge=lines["charge"].mask(again), **{name: lines[name].mask(its) for name in FIGURES_PRINTED})


def likened(lines: pd.DataFrame, own: Sequence[str]) -> pd.Series:
    """Of which lines the charge was told by a likeness of words only: by no name of it, nor by the seller's own."""
    texts = lines.loc[lines["charge"].notna(), "description"].dropna().unique()
    alike = {text for text in texts if not vocabulary.is_named(text, tuple(own))}
    found: pd.Series = lines["charge"].notna() & lines["description"].isin(alike)
    return found


def contradicted(lines: pd.DataFrame, book: Rulebook, given: Prices) -> pd.Series:
    """Which lines were taken for a charge of a fixed amount that the amounts of all lines of that name contradict.

    Args:
        lines: LINES of recorded parcels.
        book: the rules.
        given: the seller's own tables.
    """
    fixed = {name for name in book.charges if not any(fee.ppm for fee in _fees(book, name))}
    asked = lines["charge"].isin(fixed) & lines["state"].isin(["label charge", "adjustment", "fee"])
    asked &= (lines["amount_cents"] != 0).fillna(value=False)
    doubted = pd.Series(data=False, index=lines.index)
    for (_, charge), own in lines[asked].groupby(["description", "charge"]):
        least = 1 if charge in book.called_by("corrected") else SEVERAL
        if len(own) >= least and not _agree(own, _listed(str(charge), book, given)):
            doubted[own.index] = True
    return doubted


def _fees(book: Rulebook, charge: str) -> list[Fee]:
    facts = (tariff.facts.get(f"charges.{charge}.fee", ()) for tariff in book.tariffs)
    return [value.value for values in facts for value in values if isinstance(value.value, Fee)]


def _listed(charge: str, book: Rulebook, given: Prices) -> set[int]:
    """Every amount of the charge in the seller's fees, or else in the rules, and the steps between two of them."""
    amounts = {cents for key, dated in given.fees_by_day.items() if key[0] == plain(charge) for _, cents in dated}
    if not amounts:
        fees = _fees(book, charge)
        weights = (cents for fee in fees for _, cents in fee.by_weight)
        amounts = {cents for fee in fees for cents in (fee.cents, *fee.by_zone.values(), *fee.by_service.values())}
        amounts = {*amounts, *weights} - {0}
    return amounts | {abs(amount - other) for amount, other in combinations(amounts, 2)}


def _agree(lines: pd.DataFrame, listed: set[int]) -> bool:
    """Whether most of the lines of one name come to listed amounts, or else most to one of their own."""
    cents = lines["amount_cents"].abs()
    if listed and cents.isin(listed).mean() >= MOSTLY:
        return True
    by_zone = cents.groupby(lines["zone"].fillna(""))
    count, usual = by_zone.size(), by_zone.agg(lambda amounts: amounts.value_counts().iloc[0])
    several = count >= (ENOUGH_ALIKE if listed else SEVERAL)
    if listed and not several.any():
        return False
    return not several.any() or bool(usual[several].sum() / count[several].sum() >= MOSTLY)


def amending(lines: pd.DataFrame) -> pd.Series:
    """Which lines of no known charge are corrections in one sum, by their words or since they differ by parcel."""
    unknown = lines[lines["charge"].isna() & (lines["state"] == "fee") & lines["description"].notna()]
    unknown = unknown[~carried_again(unknown)]
    found = [
        text
        for text, own in unknown.groupby("description")
        if OF_CORRECTIONS & {*canonical(str(text))}
        or (own["shipment"].nunique() >= PARCELS and own["amount_cents"].nunique() > len(own) * MOSTLY)
    ]
    return lines["description"].isin(found) & lines.index.isin(unknown.index)


def disbelieved_names(lines: pd.DataFrame, doubted: pd.Series) -> Iterator[Problem]:
    """A note for each name that was not believed."""
    for (name, charge), own in lines[doubted].groupby(["description", "charge"], sort=False):
        several = f"{len(own):,} lines" if len(own) > 1 else "1 line"
        message = (
            f"{str(name)!r} ({several}) would be {charge} by its words, but its amounts are not those of one. It was "
            "read as a correction that does not say what it is made of, and held against the parcel's whole price."
        )
        yield Problem(str(own["source_file"].iloc[0]), str(own["source_place"].iloc[0]), message, note=True)
