"""What a statement says of another one: that it stands in the place of it, or is a corrected one.

The words are from memory and common practice in the trade's languages, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

MOST_KEPT, LONGEST = 20, 200
"""So many such texts are kept of a file, and so much of each."""

PAPER = (
    r"(?:statement|invoice|bill|account|copy|version|issue|document|rechnung|abrechnung|facture|relevé|factura|extracto|"
    r"fattura|estratto|factuur|faktura|faktury|fatura|extrato)"
)
REPLACES = re.compile(
    r"\b(?:replac(?:es|ing)|replacement (?:of|for)|supersed(?:es|ing)|in (?:the )?(?:place|stead|lieu) of|"
    r"takes the place of|cancels|ersetzt|anstelle|annule|remplace|anula|sustituye|reemplaza|annulla|sostituisce|"
    r"vervangt|zastępuje|ersätter|erstatter|substitui|korvaa)\b",
    re.IGNORECASE,
)
REPLACED = re.compile(
    r"\b(?:(?:replaced|superseded|cancell?ed) by|ersetzt durch|remplacée? par|(?:sustituid|reemplazad)[ao] por|"
    r"sostituit[ao] da|vervangen door|zastąpion[aey] przez|substituíd[ao] por)\b",
    re.IGNORECASE,
)
OF_CORRECTING = (
    r"(?:correct(?:ed|ing|ion)|amend(?:ed|ing|ment)|revis(?:ed|ing|ion)|re-?issued?|re-?stated|updated|final|"
    r"korrigierte?|korrektur|berichtigte?|rectific\w*|corrigée?|rettific\w*|corrett[ao]|corregid[ao]|gecorrigeerde?|"
    r"herziene?|korygując[aey]|korekta|rättad|korrigeret|korrigert|corrigid[ao])"
)
CORRECTED = re.compile(
    rf"\b{OF_CORRECTING}[ \w]{{0,20}}?{PAPER}|"
    rf"\b{PAPER}\w*[^\w.;]{{1,3}}(?:was |is |has been |wurde )?{OF_CORRECTING}\b",
    re.IGNORECASE,
)
DENIED = re.compile(r"\b(?:not|nicht|no|non|niet|nie|pas|cannot)\b[^.;]{0,20}$", re.IGNORECASE)
NUMBERS = re.compile(r"(?=[\w./-]*\d)\w[\w./-]*\w")


def said(texts: Iterable[str]) -> Iterator[str]:
    """Those of the texts that say so, each once, cut where it is long."""
    found = dict.fromkeys(" ".join(text.split())[: 2 * LONGEST] for text in texts if _may_say(text))
    yield from list(dict.fromkeys(filter(None, map(_around, found))))[:MOST_KEPT]


def _may_say(text: str) -> bool:
    return any(pattern.search(text[: 2 * LONGEST]) for pattern in (REPLACES, REPLACED, CORRECTED))


def _around(text: str) -> str:
    """The text around the words, but for one that denies it, of which nothing is left."""
    match = REPLACED.search(text) or REPLACES.search(text) or CORRECTED.search(text)
    if match is None or DENIED.search(text[: match.start()]):
        return ""
    start = max(match.start() - LONGEST // 2, 0)
    return text[start : start + LONGEST].strip(" ,;|")


def numbers(text: str) -> set[str]:
    """The numbers that stand in a text, as they are compared."""
    return {plain(match[0]) for match in NUMBERS.finditer(text)}


def plain(number: str) -> str:
    """A statement's number without signs and case: 'np-2026-03' → 'NP202603'."""
    return re.sub(r"[\W_]", "", number).upper()
