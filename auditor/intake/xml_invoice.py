"""An electronic invoice (EN 16931) → a grid: a row a charge, and its total.

It comes in one of two languages, UBL 2.1 (ISO/IEC 19845) and UN/CEFACT CII (D16B), by itself or inside a PDF (Factur-X,
ZUGFeRD). Terms are called by the standard's numbers: BT-1 is the invoice's number, BG-25 one of its lines. Where each
language keeps them is in UBL and CII; the sums that must hold are the standard's rules BR-CO-10 to 16.
"""

from __future__ import annotations

import base64
import mmap
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from lxml import etree

from auditor.core.sandbox import said_by
from auditor.core.schemas import Problem
from auditor.intake import pdf_attachments, vocabulary
from auditor.intake.check_digits import checked
from auditor.intake.documents import Damaged, Grid, Opened, Unreadable, refuse_over

LARGEST = 20 * 2**20
LARGEST_PDF = 100 * 2**20
SECONDS = 20.0
START = 8192
LONGEST_NAME = 60
KIND = "statement"
UBL_NAMES = "urn:oasis:names:specification:ubl:schema:xsd:"
CII_NAMES = "urn:un:unece:uncefact:data:standard:"
NAMESPACES = {
    "cac": f"{UBL_NAMES}CommonAggregateComponents-2",
    "cbc": f"{UBL_NAMES}CommonBasicComponents-2",
    "rsm": f"{CII_NAMES}CrossIndustryInvoice:100",
    "ram": f"{CII_NAMES}ReusableAggregateBusinessInformationEntity:100",
    "udt": f"{CII_NAMES}UnqualifiedDataType:100",
}
TOTALS, SETTLED = "cac:LegalMonetaryTotal/cbc:", "rsm:SupplyChainTradeTransaction/ram:ApplicableHeaderTradeSettlement"
SUMMED = f"{SETTLED}/ram:SpecifiedTradeSettlementHeaderMonetarySummation/ram:"
SENT = "ram:SpecifiedLineTradeDelivery/ram:ActualDespatchSupplyChainEvent/ram:OccurrenceDateTime/udt:DateTimeString"
NOTED = "ram:AssociatedDocumentLineDocument/ram:IncludedNote/ram:Content"

UBL = {
    "BT-1": "cbc:ID",
    "BT-2": "cbc:IssueDate",
    "BT-3": "cbc:InvoiceTypeCode | cbc:CreditNoteTypeCode",
    "BT-5": "cbc:DocumentCurrencyCode",
    "BT-25": "cac:BillingReference/cac:InvoiceDocumentReference/cbc:ID",
    "BT-106": f"{TOTALS}LineExtensionAmount",
    "BT-107": f"{TOTALS}AllowanceTotalAmount",
    "BT-108": f"{TOTALS}ChargeTotalAmount",
    "BT-109": f"{TOTALS}TaxExclusiveAmount",
    "BT-110": "cac:TaxTotal/cbc:TaxAmount[@currencyID = $currency]",
    "BT-112": f"{TOTALS}TaxInclusiveAmount",
    "BT-113": f"{TOTALS}PrepaidAmount",
    "BT-114": f"{TOTALS}PayableRoundingAmount",
    "BT-115": f"{TOTALS}PayableAmount",
    "BG-20": "cac:AllowanceCharge",
    "BG-23": "cac:TaxTotal[cbc:TaxAmount/@currencyID = $currency]/cac:TaxSubtotal",
    "BT-117": "cbc:TaxAmount",
    "tax": "cac:TaxCategory/cac:TaxScheme/cbc:ID",
    "BG-25": "cac:InvoiceLine | cac:CreditNoteLine",
    "BG-27": "cac:AllowanceCharge",
    "BT-131": "cbc:LineExtensionAmount",
    "BT-153": "cac:Item/cbc:Name",
    "told": "cbc:Note | cac:Item/cbc:Description",
    "BT-128": "cac:DocumentReference/cbc:ID",
    "tracking": "cac:Delivery/cbc:TrackingID",
    "shipped": "cac:Delivery/cac:Despatch/cbc:ActualDespatchDate",
    "BG-32": "cac:Item/cac:AdditionalItemProperty",
    "BT-160": "cbc:Name",
    "BT-161": "cbc:Value",
    "is charge": "cbc:ChargeIndicator",
    "amount": "cbc:Amount",
    "reason": "cbc:AllowanceChargeReason",
}
CII = {
    "BT-1": "rsm:ExchangedDocument/ram:ID",
    "BT-2": "rsm:ExchangedDocument/ram:IssueDateTime/udt:DateTimeString",
    "BT-3": "rsm:ExchangedDocument/ram:TypeCode",
    "BT-5": f"{SETTLED}/ram:InvoiceCurrencyCode",
    "BT-25": f"{SETTLED}/ram:InvoiceReferencedDocument/ram:IssuerAssignedID",
    "BT-106": f"{SUMMED}LineTotalAmount",
    "BT-107": f"{SUMMED}AllowanceTotalAmount",
    "BT-108": f"{SUMMED}ChargeTotalAmount",
    "BT-109": f"{SUMMED}TaxBasisTotalAmount",
    "BT-110": f"{SUMMED}TaxTotalAmount[@currencyID = $currency]",
    "BT-112": f"{SUMMED}GrandTotalAmount",
    "BT-113": f"{SUMMED}TotalPrepaidAmount",
    "BT-114": f"{SUMMED}RoundingAmount",
    "BT-115": f"{SUMMED}DuePayableAmount",
    "BG-20": f"{SETTLED}/ram:SpecifiedTradeAllowanceCharge",
    "BG-23": f"{SETTLED}/ram:ApplicableTradeTax",
    "BT-117": "ram:CalculatedAmount",
    "tax": "ram:TypeCode",
    "BG-25": "rsm:SupplyChainTradeTransaction/ram:IncludedSupplyChainTradeLineItem",
    "BG-27": "ram:SpecifiedLineTradeSettlement/ram:SpecifiedTradeAllowanceCharge",
    "BT-131": "ram:SpecifiedLineTradeSettlement/ram:SpecifiedTradeSettlementLineMonetarySummation/ram:LineTotalAmount",
    "BT-153": "ram:SpecifiedTradeProduct/ram:Name",
    "told": f"{NOTED} | ram:SpecifiedTradeProduct/ram:Description",
    "BT-128": "ram:SpecifiedLineTradeSettlement/ram:AdditionalReferencedDocument/ram:IssuerAssignedID",
    "shipped": SENT,
    "BG-32": "ram:SpecifiedTradeProduct/ram:ApplicableProductCharacteristic",
    "BT-160": "ram:Description",
    "BT-161": "ram:Value",
    "is charge": "ram:ChargeIndicator/udt:Indicator",
    "amount": "ram:ActualAmount",
    "reason": "ram:Reason",
}
"""BT-128, the object a line is about, is the parcel where a line names no other. BG-20 stands for document level
allowances and charges (BG-20, BG-21), BG-27 for those of a line (BG-27, BG-28)."""
LANGUAGES: Mapping[str, Mapping[str, str]] = {
    f"{{{UBL_NAMES}Invoice-2}}Invoice": UBL,
    f"{{{UBL_NAMES}CreditNote-2}}CreditNote": UBL,
    f"{{{CII_NAMES}CrossIndustryInvoice:100}}CrossIndustryInvoice": CII,
}
DOCTYPE = (
    "This XML file brings a DOCTYPE, which no invoice has and which can do harm, so it was not read. Ask the sender "
    "for the invoice without it."
)
CREDITS = {"81", "83", "381", "396", "532"}
"""Codes of BT-3 for credit notes, whose amounts are money back (UNTDID 1001; those other than 381 from memory)."""
CORRECTED = "384"
"""The code of BT-3 for an invoice with information other than that of an earlier one (UNTDID 1001)."""
NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)")
ADDED = ("statement", "statement_on", "tracking", "shipped_on", "order", "description", "amount_cents")
"""The fields that every row has; those of item properties (BG-32), such as a billed weight, come after them."""
OF_ITEM = {"tracking", "shipped_on", "order"}
"""Fields among them that an item property may give."""

Row = dict[str, str]


@dataclass(frozen=True)
class Element:
    """An element of an invoice, and how its language and its currency are read."""

    xml: etree._Element
    language: Mapping[str, str]
    currency: str = ""

    def all(self, term: str) -> list[Element]:
        """The elements of a term within this one, in the order of the file; a language may lack a term."""
        found = _path(self.language[term])(self.xml, currency=self.currency) if term in self.language else ()
        return [Element(xml, self.language, self.currency) for xml in found]

    def text(self, term: str) -> str:
        """The text of the first element of a term that has any; "" where there is none."""
        texts = (" ".join("".join(one.xml.itertext()).split()) for one in self.all(term))
        return next(filter(None, texts), "")

    def number(self, term: str) -> Decimal | None:
        """The term's number, or None where there is none."""
        return _number(self.text(term))

    @property
    def place(self) -> str:
        """Where it stands, for people."""
        return f"line {self.xml.sourceline} of the XML"


@cache
def _path(path: str) -> Callable[..., Any]:
    return etree.XPath(path, namespaces=NAMESPACES)


def _number(text: str) -> Decimal | None:
    return Decimal(text) if NUMBER.fullmatch(text) else None


def claims(start: bytes) -> bool:
    """Whether a file that begins so is such an invoice: XML that names one of the languages."""
    plain = start.replace(b"\0", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
    return plain.startswith(b"<") and any(name[1:].split("}")[0].encode() in plain for name in LANGUAGES)


def read(name: str, content: bytes) -> Opened:
    """Read the invoices in one XML file.

    Raises:
        Unreadable: it is too large, damaged, brings a DOCTYPE, or has no invoice or no lines.
    """
    refuse_over(LARGEST, len(content))
    root = _parsed(content)
    problems: list[Problem] = []
    grids = [_grid(name, xml, problems) for xml in root.iter(*LANGUAGES)]
    if not grids:
        raise Unreadable("This is XML, but there is no invoice of the standard EN 16931 in it. Ask for it as CSV.")
    return Opened(tuple(grids), tuple(problems))


def in_pdf(name: str, path: Path) -> Opened | None:
    """The invoice that a PDF carries as XML (Factur-X, ZUGFeRD), or None where it carries none.

    Where the XML cannot be used there are no documents, and a note says why: the pages are to be read instead.
    """
    for attached, content in _attachments(path):
        if claims(content[:START]):
            called = re.sub(r"[^\w .-]", "_", attached)[:LONGEST_NAME]
            try:
                held = read(name, content)
            except Unreadable as error:
                message = f"This PDF carries an electronic invoice ({called}), but its pages were read instead: {error}"
                return Opened((), (Problem(name, "", message, note=True),))
            message = f"This PDF carries an electronic invoice ({called}). It was read, and not the pages."
            return Opened(held.documents, (Problem(name, "", message, note=True), *held.problems))
    return None


def _attachments(path: Path) -> Iterator[tuple[str, bytes]]:
    """The name and content of each file attached to a PDF, read in a process of its own, which may fail."""
    size = path.stat().st_size
    if not size or size > LARGEST_PDF or not _mentions(path, b"/EmbeddedFile"):
        return
    for said in said_by(pdf_attachments.__file__, path.resolve(), LARGEST, seconds=SECONDS)[0]:
        yield said["name"], base64.b64decode(said["content"])


def _mentions(path: Path, word: bytes) -> bool:
    with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as held:
        return held.find(word) >= 0


def _parsed(content: bytes) -> etree._Element:
    """The root of the XML. What a DOCTYPE could bring in, entities and other files, has no place in an invoice."""
    if b"<!DOCTYPE" in content.replace(b"\0", b""):
        raise Unreadable(DOCTYPE)
    parser = etree.XMLParser(resolve_entities=False, no_network=True, remove_comments=True, remove_pis=True)
    try:
        root = etree.fromstring(content, parser)
    except etree.XMLSyntaxError as error:
        raise Damaged(
            f"This XML file is damaged or cut off (line {error.lineno}). Download it again, or ask for it as CSV."
        ) from error
    if root.getroottree().docinfo.doctype:  # one that was hidden by the file's encoding
        raise Unreadable(DOCTYPE)
    return root


def _grid(name: str, xml: etree._Element, problems: list[Problem]) -> Grid:
    language = LANGUAGES[str(xml.tag)]
    invoice = Element(xml, language, Element(xml, language).text("BT-5"))
    if not invoice.all("BG-25"):
        raise Unreadable(
            f"Invoice {invoice.text('BT-1')} gives totals only and no lines (as the profiles MINIMUM and BASIC WL do), "
            "so its charges are not known. Ask the carrier for a statement with lines."
        )
    problems += _oddities(name, invoice)
    problems += _wrong_sums(name, invoice)
    placed = [*_lines(invoice), *_extras(invoice), *_taxes(invoice)]
    about = {"statement": invoice.text("BT-1"), "statement_on": invoice.text("BT-2")}
    back = invoice.text("BT-3") in CREDITS
    rows = [about | (_as_credit(row) if back else row) for _, row in placed]
    total = {"statement": "Statement total", "amount_cents": invoice.text("BT-112")}
    rows.append(total | {"amount_cents": _negative(total["amount_cents"])} if back else total)
    fields = dict.fromkeys((*ADDED, *(field for row in rows for field in row)))
    headings = [vocabulary.called(field, KIND).capitalize() for field in fields]
    cells = [[row.get(field, "") for field in fields] for row in rows]
    places = [invoice.place, *(place for place, _ in placed), invoice.place]
    replaces = [f"Corrected invoice {about['statement']}, in the place of {invoice.text('BT-25')}"]
    above = tuple(replaces) if invoice.text("BT-3") == CORRECTED and invoice.text("BT-25") else ()
    return Grid([headings, *cells], places, above=above, itemised=True)


# Rows


def _lines(invoice: Element) -> Iterator[tuple[str, Row]]:
    """The net amount of each line; charges within a line (BG-28) become rows of their own, with the same parcel."""
    for line in invoice.all("BG-25"):
        about = _about(line)
        charges = [one for one in line.all("BG-27") if _is_charge(one)]
        net, parts = line.number("BT-131"), [one.number("amount") for one in charges]
        split = net is not None and None not in parts
        amount = f"{net - sum(filter(None, parts)):f}" if split and net is not None else line.text("BT-131")
        yield line.place, about | {"description": line.text("BT-153"), "amount_cents": amount}
        for one in charges if split else ():
            same = {field: text for field, text in about.items() if field in OF_ITEM}
            yield one.place, same | {"description": _reason(one), "amount_cents": one.text("amount")}


def _about(line: Element) -> Row:
    """What a line says of its parcel: its number, its ship date, and item properties whose names are known words."""
    row: Row = {}
    for item in line.all("BG-32"):
        found = vocabulary.meaning(item.text("BT-160"), KIND)
        if found and (found[0] in OF_ITEM or found[0] not in ADDED):
            row.setdefault(found[0], f"{item.text('BT-161')} {found[1] or ''}".strip())
    told = [line.text("BT-153"), *(" ".join(one.xml.itertext()) for one in line.all("told"))]
    row.setdefault("tracking", line.text("tracking") or line.text("BT-128") or _number_in(" ".join(told)))
    row.setdefault("shipped_on", line.text("shipped"))
    return row


def _number_in(text: str) -> str:
    """The first word of the text that is a parcel number by its check digit."""
    return next((word for word in re.findall(r"[A-Z\d-]+", text) if any(checked(word).values())), "")


def _extras(invoice: Element) -> Iterator[tuple[str, Row]]:
    """Charges and allowances on the whole invoice; an allowance is money back."""
    for one in invoice.all("BG-20"):
        amount = one.text("amount") if _is_charge(one) else _negative(one.text("amount"))
        yield one.place, {"description": _reason(one), "amount_cents": amount}


def _taxes(invoice: Element) -> Iterator[tuple[str, Row]]:
    for tax in invoice.all("BG-23"):
        yield tax.place, {"description": tax.text("tax") or "Tax", "amount_cents": tax.text("BT-117")}


def _is_charge(extra: Element) -> bool:
    """Whether it is a charge and no allowance; the same file may say 'true' and '1'."""
    return extra.text("is charge") in {"true", "1"}


def _reason(extra: Element) -> str:
    return extra.text("reason") or ("Charge" if _is_charge(extra) else "Allowance")


def _as_credit(row: Row) -> Row:
    return row | {
        "description": f"Credit - {row['description']}",
        "amount_cents": _negative(row["amount_cents"]),
    }


def _negative(text: str) -> str:
    """The amount with its sign turned; what is no amount stays as it is, for the reader of amounts to complain of."""
    number = _number(text)
    return text if number is None else f"{-number:f}"


# Checks


def _wrong_sums(name: str, invoice: Element) -> Iterator[Problem]:
    """Each total that is not the sum the standard says it is, with both figures."""
    for term, called, rule, summed in _sums(invoice):
        stated = invoice.number(term)
        if stated is not None and stated != summed:
            message = (
                f"The {called} ({term}) is given as {stated:,.2f}, but what it sums comes to {summed:,.2f} (EN 16931, "
                f"{rule}). A charge may be missing or wrong; ask the carrier which figure holds."
            )
            yield Problem(name, invoice.all(term)[0].place, message)


def _sums(invoice: Element) -> Iterator[tuple[str, str, str, Decimal]]:
    """Each total: its term, what it is called, its rule, and the sum of what it sums. What is left out counts nothing.

    EN 16931 (rules as in the schematron of its editors): BR-CO-10 to 16.
    """

    def total(term: str) -> Decimal:
        return invoice.number(term) or Decimal()

    extras = invoice.all("BG-20")
    yield "BT-106", "sum of the lines", "BR-CO-10", _added(invoice.all("BG-25"), "BT-131")
    yield (
        "BT-107",
        "sum of the allowances",
        "BR-CO-11",
        _added((one for one in extras if not _is_charge(one)), "amount"),
    )
    yield "BT-108", "sum of the charges", "BR-CO-12", _added((one for one in extras if _is_charge(one)), "amount")
    yield "BT-109", "total without tax", "BR-CO-13", total("BT-106") - total("BT-107") + total("BT-108")
    yield "BT-110", "total tax", "BR-CO-14", _added(invoice.all("BG-23"), "BT-117")
    yield "BT-112", "total with tax", "BR-CO-15", total("BT-109") + total("BT-110")
    yield "BT-115", "amount to pay", "BR-CO-16", total("BT-112") - total("BT-113") + total("BT-114")


def _added(elements: Iterable[Element], term: str) -> Decimal:
    return sum((one.number(term) or Decimal() for one in elements), Decimal())


def _oddities(name: str, invoice: Element) -> Iterator[Problem]:
    """What a reader of the invoice should know of it."""
    called = f"Invoice {invoice.text('BT-1')}"
    if invoice.currency not in {"", "USD"}:
        message = f"{called} is in {invoice.currency}. Its amounts are kept as they stand, not converted, and shown as "
        yield Problem(name, invoice.place, f"{message}if they were dollars.")
    if earlier := invoice.text("BT-25"):
        message = (
            f"{called} refers to invoice {earlier}. If that one is among your files too, look whether a charge is "
        )
        yield Problem(name, invoice.place, f"{message}billed twice.", note=True)
    paid, rounding = invoice.number("BT-113") or 0, invoice.number("BT-114") or 0
    if paid or rounding:
        message = (
            f"{called} sums to {invoice.text('BT-112')}; {paid:,.2f} was paid before and {rounding:,.2f} is rounding, "
            f"so {invoice.text('BT-115')} is to pay. Neither is a charge, and neither was counted."
        )
        yield Problem(name, invoice.place, message, note=True)
