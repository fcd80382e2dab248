"""What stands around a statement's lines: remarks below them, units of bare numbers, and what codes stand for."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import lru_cache

import pandas as pd

from auditor.core import units
from auditor.core.schemas import Problem
from auditor.intake import vocabulary
from auditor.intake.evidence import is_code
from auditor.intake.recognise import Sheet
from auditor.intake.texts import coded, distinct, spread
from auditor.intake.wording import SUM
from auditor.intake.words import canonical, tokens

MEASURED = {"size": "length", "length": "length", "width": "length", "height": "length", "weight": "weight"}
"""Words that a unit may belong to, and which kind of unit that is."""
UNIT = re.compile(
    r"\b(?:mm|cm|mil+[ií]m|[cz]ent[ií]m|inch|zoll|pouce|pulgad|pollic|kg|kilo|chilo|gram|ounce|oz|pound|lb)",
    re.IGNORECASE,
)
NEAR = 6
"""A unit stands no more words behind the word that it belongs to."""
LONGEST = 400
CODE = re.compile(r"[A-Z][A-Z0-9]{1,4}")
"""What a charge's code looks like."""
LONGEST_NAME = 60
MOST_CODES, MOST_REMARKS = 100, 100
"""A legend explains no more codes, and a statement ends in no more remarks."""
WORDY = re.compile(r"[^\W\d_]{2,}")
FEW = 2
"""A remark has no more cells than a label and what it is of."""


@lru_cache(maxsize=4)
def unit_noted(texts: tuple[str, ...], kind: str) -> str | None:
    """The unit of bare lengths or weights that a note gives: 'Sizes in mm' → mm; None where none or several do."""
    noting = {text[:LONGEST] for text in texts if UNIT.search(text[:LONGEST])}
    found = {unit for text in noting for unit in _units(text, kind)}
    return found.pop() if len(found) == 1 else None


def _units(text: str, kind: str) -> Iterator[str]:
    """The units of that kind that a text names behind what they are of, in a clause without figures."""
    for clause in re.split(r"[.;:,]|\b(?:and|und|et|y|e)\b", text):
        words = [word for word in tokens(clause) if word != "in"] if not re.search(r"\d", clause) else []
        for at, word in enumerate(words):
            if any(MEASURED.get(one) == kind for one in canonical(word)):
                named = (units.symbol(one, kind) for one in words[at + 1 : at + 1 + NEAR])
                yield from [unit for unit in named if unit][:1]


def with_codes_spelt(sheet: Sheet) -> tuple[Sheet, list[Problem]]:
    """The statement with the names of charges in place of their codes, where the notes around it say what these are."""
    if "description" not in sheet.cells:
        return sheet, []
    column = sheet.cells["description"]
    codes = [text for text in distinct(column) if CODE.fullmatch(text) and not vocabulary.charge(text)[0]]
    names = _names_of(codes, sheet.above) if 0 < len(codes) <= MOST_CODES else {}
    if not names:
        return sheet, []
    at, texts = coded(column)
    spelt = spread(pd.Series([names.get(text, text) for text in texts], dtype=object), at, column.index)
    told = ", ".join(f"{code} as '{name}'" for code, name in names.items())
    message = f"Codes of charges were read by the statement's own notes: {told}."
    return replace(sheet, cells=sheet.cells.assign(description=spelt)), [Problem(sheet.file, "", message, note=True)]


def _names_of(codes: list[str], texts: Iterable[str]) -> dict[str, str]:
    """What notes say that codes stand for: 'CAR carriage, FSU: fuel supplement' → carriage for CAR."""
    any_code = "|".join(map(re.escape, codes))
    pattern = re.compile(
        rf"\b({any_code})\b\s*(?:[=:–-]|is\b|means\b)?\s*([^\W\d][^=:;,.|\d]*?)"
        rf"(?=\s*(?:[;,.|]|$|\b(?:{any_code})\b))"
    )
    found: dict[str, str] = {}
    for text in dict.fromkeys(texts):
        for code, words in pattern.findall(text[:LONGEST]):
            if words.strip() and len(words) <= LONGEST_NAME:
                found.setdefault(code, words.strip())
    return found


def with_foot_apart(sheet: Sheet) -> tuple[Sheet, list[Problem]]:
    """The statement without the remarks below its last line, which are texts around it: sums in words, its number."""
    if sheet.charges.shape[1] or "amount_cents" not in sheet.cells:
        return sheet, []
    foot = len(sheet.cells)
    if foot and sheet.cells["amount_cents"].iloc[-1]:
        return sheet, []
    while foot > max(len(sheet.cells) - MOST_REMARKS, 0) and _is_remark(
        sheet.leads.iloc[foot - 1], sheet.cells.iloc[foot - 1]
    ):
        foot -= 1
    below = range(foot, len(sheet.cells))
    if not below or not foot:
        return sheet, []
    texts = [" ".join(dict.fromkeys(filter(None, (sheet.leads.iloc[at], *sheet.cells.iloc[at])))) for at in below]
    many = "The row below the last line was" if len(texts) == 1 else f"{len(texts):,} rows below the last line were"
    message = f"{many} taken for remarks: {texts[0][:LONGEST_NAME]!r}{'' if len(texts) == 1 else ' and so on'}."
    kept = pd.Series(data=True, index=sheet.cells.index)
    kept.iloc[foot:] = False
    told = Problem(sheet.file, str(sheet.places.iloc[foot]), message, note=True)
    return replace(sheet.where(kept), above=(*sheet.above, *texts)), [told]


def _is_remark(lead: str, row: pd.Series) -> bool:
    """Whether a row has a text or two but no charge, amount or parcel; a total without an amount is told elsewhere."""
    filled = {*filter(None, (lead, *row))}
    if row["amount_cents"] or len(filled) > FEW or (len(filled) == 1 and SUM.match(lead)):
        return False
    of_parcel = is_code(row["tracking"]) and (lead == row["tracking"] or not WORDY.match(lead))
    return not of_parcel and not (row["description"] and vocabulary.charge(row["description"])[0])
