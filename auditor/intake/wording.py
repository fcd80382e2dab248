"""What a statement says of the whole of itself in words: its number, its day, its total; and how sums begin.

From memory and common practice in the trade's languages, no source.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import partial
from typing import Any

import pandas as pd

from auditor.intake import parsing
from auditor.intake.parsing import parsed

BILLED = "parcels|shipments|packages|consignments|items|charges|lines"
ABOUT_ALL = (
    rf"now|due|for|of|on|over|all|this|the|these|your|\d[\d,]{{0,11}}(?= [a-z])|statement|invoice|bill|account|period|"
    rf"month|pieces|{BILLED}|alle[rn]?|positionen|sendungen|pakete|rechnung|abrechnung|de|des|du|tous|toutes|les|colis|"
    r"envois|lignes|relevé|del|todos|los|envíos|paquetes|di|tutti|tutte|le|colli|spedizioni|righe|estratto|conto|"
    r"zendingen|pakketten|regels"
)
"""What may stand behind the words of a total that is that of everything: 'for all 60 parcels on this bill'."""
WHOLE = (
    r"(?:totals?|totale|totaal|totaux|totali|totales|"
    r"gesamt(?:betrag|summe)?|rechnungsbetrag|endbetrag|summe|sum|suma|summa|somme|"
    r"(?:amount|balance) (?:now )?(?:due|payable|payée|à payer|a pagar|da pagare)|balance (?:of|on|for) "
    r"(?:this |the |your )?(?:statement|invoice|bill|account)|(?:amount |now |please )+(?:payable|due)|"
    r"(?:please )?to pay|"
    r"to be (?:paid|collected|debited|charged|transferred)|(?:payable|due)(?= ?\W*\d)|(?:you|now) owe|"
    r"zu zahlen(?:der betrag)?|zahlbetrag|zahlungsbetrag|fälliger betrag|"
    r"montant (?:total|dû|à (?:payer|régler))|net à payer|"
    r"à (?:payer|régler)|total(?:e)? (?:à payer|a pagar|da pagare)|importe total|a pagar|importo (?:totale|dovuto)|"
    r"sumas|saldo(?: a su cargo)?|razem|ogółem|łącznie|do zapłaty|sammanlagt|totalt|att betala|i alt|at betale|"
    r"total a (?:debitar|pagar)|netto a pagare|da pagare|te betalen(?: bedrag)?|totaalbedrag|factuurbedrag|"
    r"eindtotaal|endsumme|gesamtsumme|"
    r"nett?o? (?:charges?|amount)|base imponible|imponibile|base imposable|taxable amount|"
    rf"all (?:{BILLED}))"
)
TOTAL = re.compile(
    rf"(?:(?:statement|invoice|bill|grand|account|overall|importe|montant|importo)[ -])?{WHOLE}"
    r"(?: (?:due|amount|charges|payable|to pay|à payer|a pagar|da pagare|te betalen|factura|fattura|facture|ttc))*"
    rf"(?:[ ,:]+(?:{ABOUT_ALL}))*(?:\s*\([^()]{{0,60}}\))?\W*",
    re.IGNORECASE,
)
"""What a statement calls the sum of all its lines."""
COUNTED_TOTAL = re.compile(
    rf"{TOTAL.pattern}(?:(?:(?:for|of|in|all) ){{0,2}}\d[\d,]*(?: [^\W\d]+)?)?\W*", re.IGNORECASE
)
"""The same with how many there are behind it, as in a row whose amount stands in a column of its own."""
CHARGED = rf"(?:(?:amount|you owe|new|all) )?(?:charged|billed|invoiced|charges)(?:[ ,:]+(?:{ABOUT_ALL}))*\W*"
"""What it may say of that sum in the text around its lines, where no line stands that begins so."""
SUM = re.compile(
    r"(?![^\W\d_]{0,6}\d)(?:(?=[abcdefghilmnoprstvwyzüàł])(?:(?:sub-?|zwischen|sous-|sub)?"
    r"(?:(?:statement|invoice|bill|grand|account|overall|page|parcel|shipment|package|consignment|item|sub|charges?|"
    r"net|nett|gross|hawb|waybill|docket|in|period|month|section|group|day|importe|montant)[ -]+)?"
    rf"{WHOLE}\b|this (?:parcel|shipment|package|consignment|item|piece)\W*$|sub-?total|carried|brought forward|"
    r"(?:balance )?[bc]/(?:f|fwd|d)\b|(?:charges |total |amount )?(?:through|to) (?:this page|date)\b|"
    r"vienen? de la hoja|van? a la hoja|suma (?:y sigue|anterior)|à reporter|a riportare|(?:do|z) przeniesieni[ae]|"
    r"(?:al)?together\b|(?:running|cumulative|accumulated) (?:total|sum|charges|balance)\b|"
    r"(?:previous|opening) balance|balance (?:brought|carried)|übertrag|zwischensumme|riporto)|"
    r"[^\d,;]{1,40}\b(?:carried|brought) forward|[^,;]{1,40}\bsub-?totals?\b)",
    re.IGNORECASE,
)
"""How the words begin that stand beside any sum. A balance carried forward, or a subtotal, may have words before it.

What begins as a number does, which most texts of a column may do, is none; that is seen at once.
"""
FORWARD = re.compile(
    r"[^\d,;]{0,40}\b(?:carried|brought) forward|carried|brought|(?:previous|opening) balance|"
    r"(?:balance )?[bc]/f|vienen? de la hoja|van? a la hoja|suma (?:y sigue|anterior)|à reporter|a riportare|"
    r"(?:do|z) przeniesieni[ae]|"
    r"balance(?! (?:of|on|for|due))|übertrag|riporto",
    re.IGNORECASE,
)
OF_NUMBERS = (
    r"(?:number|nbr|no\b\.?|n[°ºr]\.?|n\.\s?[°º]|n\b\.?|nr\b\.?|núm\.?|num\b\.?|numero|número|nummer|id|"
    r"ref(?:erence)?\b\.?|#)"
)
NUMBERED = (
    r"(?:(?:statement|stmt)(?: of (?:charges|account))?|invoice|bill|rechnung(?:snummer|s-?nr)?|facture|factura|"
    rf"fattura|factuur(?:nummer)?|faktura|faktury|fatura|extrato)\s*{OF_NUMBERS}?"
)
NUMBER = re.compile(rf"\b{NUMBERED}\s*:?\s*((?=\S*\d)[\w./-]+)", re.IGNORECASE)
OTHERS = (
    r"(?:customer|client|account|vat|tax|order|page|phone|p\.?o\.?|case|kunden|cliente|klant|konto|compte|debtor|"
    r"debiteur|debitor|iban|parcel|tracking|your|tel)"
)
"""What other numbers are called."""
ANY_NUMBER = re.compile(
    rf"(?<!\w)(?!{OTHERS}\w*\b)[^\W\d][\w' ]{{2,40}}?\s*{OF_NUMBERS}\s*:?\s*((?=\S*\d)[A-Z][\w/-]{{3,30}})",
    re.IGNORECASE,
)
"""A number of the whole document under any other name than a customer's or the like: 'Billing activity # QM-40817'."""
PAPER = (
    r"(?:summary|advice|report|note|listing|list|specification|ledger|extract|breakdown|overview|journal|schedule|"
    r"charges|adjustments?|activity|account|document|abrechnung|aufstellung|übersicht|beleg|nachweis|auszug|nota|"
    r"bordereau|relevé|avis|récapitulatif|décompte|resumen|extracto|relación|liquidación|riepilogo|estratto|distinta|"
    r"elenco|documento|specificatie|overzicht|afrekening|nacalculatie)"
)
"""What a statement may call itself."""
PAPER_NUMBER = re.compile(
    rf"(?<!\w)(?!{OTHERS}\b)\w*{PAPER}\s*[:,–-]?\s*((?=[^\W\d])(?=\S*\d)[A-Za-z]{{1,6}}[-/]?[\w/-]*\d[\w/-]{{0,20}})",
    re.IGNORECASE,
)
"""A number that stands right behind that: 'Charges summary QM-40817'."""
DATED = re.compile(
    r"(?:\b(?:(?:statement|stmt|invoice|bill|billing|issue|closing|document) date|date of issue)\b|"
    r"\b(?:dated|drawn up|made up|issued|closed|raised)(?: on)?\b|\b(?:rechnungs|beleg|ausstellungs)datum|"
    r"\bausgestellt am\b|\bdate (?:de (?:la )?facture|d'émission|d’émission)|\bémise? le\b|"
    r"\bfecha de (?:la |emisión de la )?(?:factura|emisión)|\bemitid[ao] el\b|"
    r"\bdata (?:della |di )?(?:fattura|emissione|documento)|\bemess[ao] il\b|\bfactuurdatum|\bdatum factuur|"
    r"\bfakturadatum|\bfakturadato|\bdata wystawienia|\bdata da fatura)"
    r"\s*:?\s*(\S+)(?: (\S+) (\S+))?",
    re.IGNORECASE,
)
PLAINLY_DATED = re.compile(
    r"(?:\b(?P<other>due|pay|payment|ship|print|order) )?\bdate\s*:?\s*(\S+)(?: (\S+) (\S+))?", re.IGNORECASE
)
"""Where nothing but 'date' stands before a day, as in the head of a letter; `other` says that it is another one."""
ISSUED = re.compile(
    rf"\b(?:{NUMBERED}\s*:?\s*[\w./-]{{0,40}}\d[\w./-]{{0,40}},? (?:of|dated|issued(?: on)?|vom|du|del|van))\s+"
    r"(\S+)(?: (\S+) (\S+))?",
    re.IGNORECASE,
)
"""Where no text is called the date: 'Bill no. QM-40817 of 04/02/2026', 'Invoice QM-40817, issued 2026-04-02'."""
ANY_DAY = re.compile(
    r"(?<![\w/.-])(?:\d{4}[-/]\d\d[-/]\d\d|\d{1,2}([/.-])\d{1,2}\1\d{4}|"
    r"\d{1,2}[. -]+(?:de )?[^\W\d_]{3,10}\.?,?[ -](?:de )?\d{4}|"
    r"[^\W\d_]{3,10}\.? \d{1,2},? \d{4})(?![\w/-])"
)
AMOUNT = re.compile(r"(?<![\w.,/-])[-−]?(?:\d{1,3}(?:[.,'’ ]\d{3})+|\d+)[.,]\d{2}(?![\w/]|[.,]\d)")
CURRENCY = re.compile(r"[(\[]?(?:\b(?:us\s?\$|usd|us|eur|euros?|gbp|cad|chf)(?!\w)|[$€£])[)\]]?", re.IGNORECASE)
"""Which currency an amount is in, which says nothing of what it is."""


def number_in(texts: Sequence[str]) -> str | None:
    """The statement's number in the texts around its lines; the one named most often where only its place tells."""
    above = "\n".join(texts)
    for pattern in (NUMBER, ANY_NUMBER):
        if found := next(filter(_is_no_day, (match[1] for match in pattern.finditer(above))), None):
            return found
    counts = Counter(filter(_is_no_day, (match[1] for match in PAPER_NUMBER.finditer(above))))
    return counts.most_common(1)[0][0] if counts else None


def _is_no_day(text: str) -> bool:
    """Whether a text is no date, as in 'invoice 02/04/2026'."""
    return not (parsing.YEAR_LAST.fullmatch(text) or parsing.YEAR_FIRST.fullmatch(text)) or text.isdecimal()


def day_in(texts: Sequence[str], *, day_first: bool) -> Any:
    """The statement's day in the texts around its lines, NaT where none is told.

    The one so called, the one beside the statement's number, or else the only one.

    `day_first` is the order of day and month that the table's own days show.
    """
    above = " ".join(texts)
    plainly = {found.groups()[1:] for found in PLAINLY_DATED.finditer(above) if not found["other"]}
    called = [found.groups() for found in (DATED.search(above), ISSUED.search(above)) if found]
    for words in (*called, *(plainly if len(plainly) == 1 else ())):
        if not pd.isna(day := _latest((words[0], " ".join(filter(None, words))), day_first=day_first)):
            return day
    beside = {day for text in texts if number_in([text]) for day in [*days_in([text])][:2]}
    days = beside if len(beside) == 1 else {*days_in(texts)}
    return _latest(tuple(days), day_first=day_first) if len(days) == 1 else pd.NaT


def days_in(texts: Sequence[str]) -> list[str]:
    """The texts that are days in the texts around the lines."""
    return [match[0] for match in ANY_DAY.finditer(" ".join(texts))]


def _latest(texts: Sequence[str], *, day_first: bool) -> Any:
    days, _ = parsed(pd.Series(texts, dtype="str").str.strip(",;."), partial(parsing.date, day_first=day_first))
    return pd.to_datetime(days.dropna()).max()


def totals_in(texts: Sequence[str]) -> Iterator[tuple[int, str]]:
    """The amounts in the texts around the lines that are called the total, in cents, each with its text."""
    for text in texts:
        plain = " ".join(CURRENCY.sub(" ", text).split())
        found = re.fullmatch(
            rf"({TOTAL.pattern}|{CHARGED})\s*(\S*\d\S*)(?: (?:for|in|on|from|over|by) .*)?", plain, re.IGNORECASE
        )
        if found and (cents := _cents(found[2])) is not None:
            yield cents, text.strip()


def amounts_in(texts: Sequence[str]) -> Iterator[tuple[int, str]]:
    """Every amount to the cent in the texts around the lines, in cents, each with its text."""
    for text in texts:
        for found in AMOUNT.finditer(text):
            if (cents := _cents(found[0])) is not None:
                yield cents, text.strip()


def _cents(text: str) -> int | None:
    comma = parsing.has_decimal_comma([text])
    cents, _ = parsed(pd.Series([text]), partial(parsing.money, decimal_comma=comma))
    return None if cents.isna().all() else int(cents.iloc[0])
