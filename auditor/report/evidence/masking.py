"""What of a file may be seen in a claim: never a buyer's name or address.

Two things are known to be the buyer's: the cells of the seller's record that no field of ours has (a name, a street, a
note) and the postcode. Beside a charge whose name is known, a word that stands on no other parcel's lines is taken for
one more. On a picture of the statement only words are left that are known to be something else (`known_words`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import date
from functools import cached_property
from itertools import product
from pathlib import Path
from typing import Any

import pandas as pd

from auditor.audit import Audit
from auditor.core import money
from auditor.core.units import SPELLINGS, shown
from auditor.intake import vocabulary
from auditor.intake.documents import Grid, Text, Unreadable
from auditor.intake.opening import opened
from auditor.intake.recognise import recognised
from auditor.report.evidence.cut_lines import forms
from auditor.report.wording import MONTHS

HIDDEN = "[…]"
WORD = re.compile(r"[^\W_]+(?:['’.][^\W_]+)*")
LONG_NUMBER = 3
"""A number of so many digits beside a charge may be a house number or a postcode."""

ADDRESSED = {"address", "recipient", "receiver", "consignee", "attn", "attention", "street", "road", "name", "deliver"}
"""Words that say that an address may follow."""

CHARGE_WORDS = {
    word
    for texts in (*vocabulary.CHARGES.values(), vocabulary.ADJUSTED, vocabulary.CREDITED, vocabulary.BESIDE)
    for text in texts
    for word in text.casefold().split()
} | vocabulary.HARMLESS
HEADING_WORDS = frozenset(
    form
    for spellings in vocabulary.HEADINGS["statement"].values()
    for spelling in spellings
    for word in spelling.split()
    for form in forms(word)
) | {unit for kind in SPELLINGS.values() for unit in kind}


class Masking:
    """What may be seen of the texts of one audit; the originals are opened when first needed."""

    def __init__(self, audit: Audit, originals: Mapping[str, Path]) -> None:
        """`originals`: the files that the audit was made from, by the names it knows them by."""
        self.audit = audit
        self.originals = originals

    def text(self, shipment: int | None, text: str) -> str:
        """A text without the words that are the buyer's own."""
        buyers = self.buyers_words(shipment)
        return WORD.sub(lambda word: HIDDEN if _pieces(word[0]) & buyers else word[0], text)

    def description(self, line: Mapping[str, Any]) -> str:
        """The carrier's words for a charge; those hidden that may be a name or an address."""
        text = str(line["description"] or line["charge"] or "")
        at = None if line["shipment"] is None else int(line["shipment"])
        words = {word.casefold() for word in WORD.findall(text)}
        if line["charge"] or words & ADDRESSED or any(word.isdecimal() for word in words):
            seen = CHARGE_WORDS | self.usual_words | {word for name in self._charge_names for word in name.split()}
            text = WORD.sub(lambda word: word[0] if word[0].casefold() in seen else HIDDEN, text)
        return self.text(at, re.sub(rf"\d{{{LONG_NUMBER},}}", HIDDEN, text))

    def buyers_words(self, shipment: int | None) -> frozenset[str]:
        """The words, in small letters, of what the record of a shipment has that is the buyer's own."""
        return self._by_shipment.get(shipment, frozenset()) if shipment is not None else frozenset()

    @cached_property
    def usual_words(self) -> frozenset[str]:
        """Words that stand on the lines of at least two parcels, and so are the carrier's."""
        lines = self.audit.lines.dropna(subset=["description", "tracking"])
        ends = lines.groupby("description")["tracking"].agg(["min", "max"])
        parcels: dict[str, set[str]] = {}
        for text, first, last in zip(ends.index, ends["min"], ends["max"], strict=True):
            for word in WORD.findall(str(text).casefold()):
                parcels.setdefault(word, set()).update((first, last))
        return frozenset(word for word, own in parcels.items() if len(own) > 1)

    @cached_property
    def _charge_names(self) -> tuple[str, ...]:
        return tuple(str(name).casefold() for name in self.audit.rulebook.charges)

    @cached_property
    def _by_shipment(self) -> dict[int | None, frozenset[str]]:
        found: dict[int | None, frozenset[str]] = {}
        lines = self.audit.lines
        concerned = lines.loc[lines["finding"].notna(), "shipment"].dropna().unique()
        for file, recorded in self.audit.shipments.loc[concerned].groupby("source_file"):
            own = _unread_cells(str(file), self.originals.get(str(file)), set(recorded["source_place"]))
            for at, place, postcode in zip(recorded.index, recorded["source_place"], recorded["postcode"], strict=True):
                cells = [*own.get(place, ()), *([str(postcode)] if pd.notna(postcode) else [])]
                found[int(at)] = frozenset().union(*map(_pieces, cells))
        return found


def _pieces(text: str) -> set[str]:
    return {piece for piece in re.findall(r"[^\W_]+", text.casefold()) if len(piece) > 1}


def _unread_cells(name: str, path: Path | None, places: set[str]) -> dict[str, list[str]]:
    """Of the seller's record, by row: the cells of columns that no field has. None where it cannot be opened."""
    if path is None:
        return {}
    try:
        grids = [grid for document in opened(name, path).documents for grid in _grids(document)]
        return {place: cells for grid in grids for place, cells in _unread_of(name, grid, places)}
    except (Unreadable, OSError):
        return {}


def _grids(document: object) -> tuple[Grid, ...]:
    return document.grids if isinstance(document, Text) else (document,) if isinstance(document, Grid) else ()


def _unread_of(name: str, grid: Grid, places: set[str]) -> Iterator[tuple[str, list[str]]]:
    try:
        sheet, _ = recognised(name, grid, "shipments")
    except Unreadable:
        return
    unread = [at for at, column in enumerate(sheet.columns) if column.field is None]
    for at, place in enumerate(grid.places):
        if place in places:
            row = grid.rows[at]
            yield place, [row[position] for position in unread if position < len(row)]


def known_words(line: Mapping[str, Any], description: str) -> frozenset[str]:
    """The words of a statement's line that may be seen on its picture, in the forms that they are compared in.

    Args:
        line: the row of LINES.
        description: its description as it may be seen.
    """
    texts = [line[name] or "" for name in ("statement", "service", "zone", "order")]
    texts += [description.replace(HIDDEN, " "), *_numbers(line)]
    texts += [text for name in ("shipped_on", "statement_on") if line[name] is not None for text in _days(line[name])]
    known = {form for text in texts for word in str(text).split() for form in forms(word)}
    known |= set(str(line["tracking"] or "").casefold().split())
    return frozenset(known | {unit for kind in SPELLINGS.values() for unit in kind} | {"x", "usd"})


def _numbers(line: Mapping[str, Any]) -> Iterator[str]:
    """The line's figures in every unit and rounding that a statement may print them in."""
    if line["amount_cents"] is not None:
        yield money.text(abs(int(line["amount_cents"])))
    for name, value in line.items():
        kind = "length" if name.endswith("_nm") else "weight" if name.endswith("_pg") else None
        if kind and value is not None:
            yield from (shown(int(value), unit, kind, places) for unit in SPELLINGS[kind] for places in range(4))


def _days(day: date) -> Iterator[str]:
    """A day as statements print it."""
    years = (f"{day.year}", f"{day.year % 100:02d}")
    months, dates = ({f"{number}", f"{number:02d}"} for number in (day.month, day.day))
    for year, month, of_month, mark in product(years, sorted(months), sorted(dates), "-/."):
        yield from (
            mark.join(parts) for parts in ((year, month, of_month), (month, of_month, year), (of_month, month, year))
        )
    name = MONTHS[day.month - 1]
    yield from (name, name[:3], *dates, years[0])
