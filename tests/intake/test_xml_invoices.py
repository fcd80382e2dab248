"""Electronic invoices come out as lines that add up to their own total, in either language and inside a PDF.

The figures are those of example 2 of the standard's editors (ConnectingEurope/eInvoicing-EN16931,
ubl/examples/ubl-tc434-example2.xml); the words are ours.
"""

import contextlib
import re
from collections.abc import Callable, Sequence
from decimal import Decimal
from pathlib import Path
from xml.sax.saxutils import escape

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader, PdfWriter

from auditor import intake
from auditor.core.schemas import Problem
from auditor.intake import xml_invoice
from auditor.intake.documents import Grid, Unreadable
from tests import bad_files
from tests.parcels import inches, pounds

FIGURES = {
    "BT-106": "1436.50",
    "BT-107": "100",
    "BT-108": "100",
    "BT-109": "1436.50",
    "BT-110": "365.28",
    "BT-112": "1801.78",
    "BT-113": "1000",
    "BT-115": "801.78",
}
LINES = (
    ("Freight", "1273.00", "NP1"),
    ("Credit - fuel surcharge", "-3.96", "NP1"),
    ("Fuel surcharge", "4.96", "NP2"),
    ("Credit - freight", "-25.00", "NP2"),
    ("Additional handling", "187.50", "NP3"),
)
EXTRAS = (("false", "Loyalty", "100"), ("1", "Collection", "100"))
TAXES = ("365.13", "0.15", "0")
FIGURES_OF_PARCEL = (("Billed weight (lb)", "12"), ("Billed size", "49 x 20 x 8 in"), ("Colour", "brown"))

Extra = tuple[str, str, str]


def ubl(
    figures: dict[str, str] = FIGURES,
    lines: Sequence[tuple[str, str, str]] = LINES,
    *,
    kind: str = "Invoice",
    code: str = "380",
    currency: str = "USD",
    within: Sequence[Extra] = (),
    extras: Sequence[Extra] = EXTRAS,
) -> str:
    """An invoice in UBL 2.1; `within` are charges and allowances of its first line, `extras` those of the whole."""
    amount = f'currencyID="{currency}"'

    def extra(indicator: str, reason: str, value: str) -> str:
        return (
            f"<cac:AllowanceCharge><cbc:ChargeIndicator>{indicator}</cbc:ChargeIndicator>"
            f"<cbc:AllowanceChargeReason>{reason}</cbc:AllowanceChargeReason><cbc:Amount {amount}>{value}</cbc:Amount>"
            "</cac:AllowanceCharge>"
        )

    def item(number: int, name: str, net: str, tracking: str) -> str:
        properties = "".join(
            f"<cac:AdditionalItemProperty><cbc:Name>{heading}</cbc:Name><cbc:Value>{value}</cbc:Value>"
            "</cac:AdditionalItemProperty>"
            for heading, value in (FIGURES_OF_PARCEL if number == 5 else ())
        )
        return (
            f"<cac:{kind}Line><cbc:ID>{number}</cbc:ID>\n"
            f"<cbc:LineExtensionAmount {amount}>{net}</cbc:LineExtensionAmount>\n"
            f"<cac:DocumentReference><cbc:ID>{tracking}</cbc:ID></cac:DocumentReference>"
            f"{''.join(extra(*one) for one in within) if number == 1 else ''}"
            f"<cac:Item><cbc:Name>{escape(name)}</cbc:Name>{properties}</cac:Item></cac:{kind}Line>\n"
        )

    totals = {
        "BT-106": "LineExtensionAmount",
        "BT-109": "TaxExclusiveAmount",
        "BT-112": "TaxInclusiveAmount",
        "BT-107": "AllowanceTotalAmount",
        "BT-108": "ChargeTotalAmount",
        "BT-113": "PrepaidAmount",
        "BT-115": "PayableAmount",
    }
    names = "urn:oasis:names:specification:ubl:schema:xsd:"
    taxes = "".join(
        f"<cac:TaxSubtotal><cbc:TaxAmount {amount}>{tax}</cbc:TaxAmount><cac:TaxCategory><cac:TaxScheme>"
        "<cbc:ID>VAT</cbc:ID></cac:TaxScheme></cac:TaxCategory></cac:TaxSubtotal>"
        for tax in TAXES
    )
    sums = "".join(
        f"<cbc:{name} {amount}>{figures[term]}</cbc:{name}>" for term, name in totals.items() if term in figures
    )
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<{kind} xmlns="{names}{kind}-2" '
        f'xmlns:cac="{names}CommonAggregateComponents-2" xmlns:cbc="{names}CommonBasicComponents-2">\n'
        f"<cbc:ID>NP-2026-03</cbc:ID><cbc:IssueDate>2026-04-01</cbc:IssueDate>"
        f"<cbc:{kind}TypeCode>{code}</cbc:{kind}TypeCode><cbc:DocumentCurrencyCode>{currency}"
        f"</cbc:DocumentCurrencyCode>\n{''.join(extra(*one) for one in extras)}"
        f'<cac:TaxTotal><cbc:TaxAmount currencyID="XTS">1.00</cbc:TaxAmount></cac:TaxTotal>'
        f"<cac:TaxTotal><cbc:TaxAmount {amount}>{figures['BT-110']}</cbc:TaxAmount>{taxes}</cac:TaxTotal>\n"
        f"<cac:LegalMonetaryTotal>{sums}</cac:LegalMonetaryTotal>\n"
        f"{''.join(item(number, *line) for number, line in enumerate(lines, start=1))}</{kind}>\n"
    )


def cii(
    figures: dict[str, str] = FIGURES,
    lines: Sequence[tuple[str, str, str]] = LINES,
    *,
    code: str = "380",
    extras: Sequence[Extra] = EXTRAS,
) -> str:
    """The same invoice in UN/CEFACT CII."""

    def extra(indicator: str, reason: str, value: str) -> str:
        return (
            f"<ram:SpecifiedTradeAllowanceCharge><ram:ChargeIndicator><udt:Indicator>{indicator}</udt:Indicator>"
            f"</ram:ChargeIndicator><ram:ActualAmount>{value}</ram:ActualAmount><ram:Reason>{reason}</ram:Reason>"
            "</ram:SpecifiedTradeAllowanceCharge>"
        )

    def item(number: int, name: str, net: str, tracking: str) -> str:
        properties = "".join(
            f"<ram:ApplicableProductCharacteristic><ram:Description>{heading}</ram:Description>"
            f"<ram:Value>{value}</ram:Value></ram:ApplicableProductCharacteristic>"
            for heading, value in (FIGURES_OF_PARCEL if number == 5 else ())
        )
        return (
            f"<ram:IncludedSupplyChainTradeLineItem><ram:AssociatedDocumentLineDocument><ram:LineID>{number}"
            f"</ram:LineID></ram:AssociatedDocumentLineDocument><ram:SpecifiedTradeProduct><ram:Name>{escape(name)}"
            f"</ram:Name>{properties}</ram:SpecifiedTradeProduct><ram:SpecifiedLineTradeSettlement>"
            "<ram:SpecifiedTradeSettlementLineMonetarySummation>"
            f"<ram:LineTotalAmount>{net}</ram:LineTotalAmount></ram:SpecifiedTradeSettlementLineMonetarySummation>"
            f"<ram:AdditionalReferencedDocument><ram:IssuerAssignedID>{tracking}</ram:IssuerAssignedID>"
            "<ram:TypeCode>130</ram:TypeCode></ram:AdditionalReferencedDocument></ram:SpecifiedLineTradeSettlement>"
            "</ram:IncludedSupplyChainTradeLineItem>\n"
        )

    totals = {
        "BT-106": "LineTotalAmount",
        "BT-108": "ChargeTotalAmount",
        "BT-107": "AllowanceTotalAmount",
        "BT-109": "TaxBasisTotalAmount",
        "BT-110": 'TaxTotalAmount currencyID="USD"',
        "BT-112": "GrandTotalAmount",
        "BT-113": "TotalPrepaidAmount",
        "BT-115": "DuePayableAmount",
    }
    names = "urn:un:unece:uncefact:data:standard:"
    taxes = "".join(
        f"<ram:ApplicableTradeTax><ram:CalculatedAmount>{tax}</ram:CalculatedAmount><ram:TypeCode>VAT</ram:TypeCode>"
        "</ram:ApplicableTradeTax>"
        for tax in TAXES
    )
    sums = "".join(
        f"<ram:{name}>{figures[term]}</ram:{name.split()[0]}>" for term, name in totals.items() if term in figures
    )
    return (
        f'<rsm:CrossIndustryInvoice xmlns:rsm="{names}CrossIndustryInvoice:100" '
        f'xmlns:ram="{names}ReusableAggregateBusinessInformationEntity:100" '
        f'xmlns:udt="{names}UnqualifiedDataType:100">\n'
        f"<rsm:ExchangedDocument><ram:ID>NP-2026-03</ram:ID><ram:TypeCode>{code}</ram:TypeCode><ram:IssueDateTime>"
        '<udt:DateTimeString format="102">20260401</udt:DateTimeString></ram:IssueDateTime></rsm:ExchangedDocument>\n'
        "<rsm:SupplyChainTradeTransaction>\n"
        f"{''.join(item(number, *line) for number, line in enumerate(lines, start=1))}"
        "<ram:ApplicableHeaderTradeSettlement><ram:InvoiceCurrencyCode>USD</ram:InvoiceCurrencyCode>"
        f"{taxes}{''.join(extra(*one) for one in extras)}<ram:SpecifiedTradeSettlementHeaderMonetarySummation>{sums}"
        "</ram:SpecifiedTradeSettlementHeaderMonetarySummation></ram:ApplicableHeaderTradeSettlement>"
        "</rsm:SupplyChainTradeTransaction></rsm:CrossIndustryInvoice>\n"
    )


def taken(folder: Path, xml: str, name: str = "invoice.xml") -> intake.Intake:
    """What is read from that XML as the one file of a month."""
    return intake.read([bad_files.write(folder, name, xml)])


def told(read: intake.Intake, *, notes: bool = False) -> list[str]:
    """The messages of the problems, or of the notes."""
    return [problem.message for problem in read.problems if problem.note == notes]


@pytest.mark.parametrize("xml", [ubl(), cii()], ids=["UBL", "CII"])
def test_the_lines_add_up_to_the_total_with_tax(tmp_path: Path, xml: str) -> None:
    """Example 2: 1436.50 of lines, allowance and charge of 100, tax 365.28, in all 1801.78."""
    read = taken(tmp_path, xml)
    lines = read.lines
    assert lines["amount_cents"].to_list() == [127300, -396, 496, -2500, 18750, -10000, 10000, 36513, 15, 0]
    assert lines["amount_cents"].sum() == 180178
    assert read.printed_totals["printed_total_cents"].to_list() == [180178]
    assert set(lines["statement"]) == {"NP-2026-03"}
    assert {str(day.date()) for day in lines["statement_on"]} == {"2026-04-01"}
    assert lines["tracking"].dropna().to_list() == ["NP1", "NP1", "NP2", "NP2", "NP3"]
    assert (
        lines["state"].to_list()[1:]
        == ["credit", "label charge", "credit", "label charge", "credit", "fee"] + ["tax"] * 3
    )
    assert told(read) == []


@pytest.mark.parametrize("xml", [ubl(), cii()], ids=["UBL", "CII"])
def test_what_was_paid_before_is_no_charge(tmp_path: Path, xml: str) -> None:
    """It is told of: 1801.78 less 1000 is 801.78 to pay."""
    assert told(taken(tmp_path, xml), notes=True) == [
        (
            "Invoice NP-2026-03 sums to 1801.78; 1,000.00 was paid before and 0.00 is rounding, so 801.78 is to pay. "
            "Neither is a charge, and neither was counted."
        )
    ]


@pytest.mark.parametrize("xml", [ubl(), cii()], ids=["UBL", "CII"])
def test_item_properties_with_known_names_are_the_parcels_figures(tmp_path: Path, xml: str) -> None:
    """BG-32, with the unit in the name or the value; other properties mean nothing here."""
    line = taken(tmp_path, xml).lines.iloc[4]
    assert (line["billed_weight_pg"], line["billed_length_nm"], line["billed_height_nm"]) == (
        pounds(12),
        inches(49),
        inches(8),
    )


def test_each_line_says_where_it_stands_in_the_xml(tmp_path: Path) -> None:
    """By the line of text its element begins in."""
    xml = ubl()
    read = taken(tmp_path, xml)
    number = int(re.findall(r"\d+", read.lines["source_place"][2])[0])
    assert read.lines["source_place"][2] == f"line {number} of the XML"
    assert "<cbc:ID>3</cbc:ID>" in xml.splitlines()[number - 1]


@pytest.mark.parametrize("make", [ubl, cii])
@pytest.mark.parametrize(
    ("term", "wrong", "message"),
    [
        ("BT-106", "1436.51", "The sum of the lines (BT-106) is given as 1,436.51, but what it sums comes to 1,436.50"),
        ("BT-107", "99", "The sum of the allowances (BT-107) is given as 99.00, but what it sums comes to 100.00"),
        ("BT-108", "101", "The sum of the charges (BT-108) is given as 101.00, but what it sums comes to 100.00"),
        ("BT-109", "1436", "The total without tax (BT-109) is given as 1,436.00, but what it sums comes to 1,436.50"),
        ("BT-110", "365.27", "The total tax (BT-110) is given as 365.27, but what it sums comes to 365.28"),
        ("BT-112", "1801.79", "The total with tax (BT-112) is given as 1,801.79, but what it sums comes to 1,801.78"),
        ("BT-115", "801.00", "The amount to pay (BT-115) is given as 801.00, but what it sums comes to 801.78"),
    ],
)
def test_a_total_that_is_not_the_sum_of_its_parts_is_told_with_both_figures(
    tmp_path: Path, make: Callable[..., str], term: str, wrong: str, message: str
) -> None:
    """Rules BR-CO-10 to 16 of EN 16931."""
    figures = FIGURES | {term: wrong}
    problems = told(taken(tmp_path, make(figures)))
    assert any(problem.startswith(f"{message} (EN 16931, BR-CO-") for problem in problems)
    assert all(
        problem.endswith("A charge may be missing or wrong; ask the carrier which figure holds.")
        for problem in problems
    )


@pytest.mark.parametrize("make", [ubl, cii])
def test_an_allowance_lowers_the_total_without_tax_and_a_charge_raises_it(
    tmp_path: Path, make: Callable[..., str]
) -> None:
    """EN 16931, BR-CO-13: 1436.50 of lines, less an allowance of 60, plus a charge of 100, is 1476.50."""
    extras = (("false", "Loyalty", "60"), ("true", "Collection", "100"))
    right = FIGURES | {"BT-107": "60", "BT-109": "1476.50", "BT-112": "1841.78", "BT-115": "841.78"}
    read = taken(tmp_path, make(right, extras=extras))
    assert told(read) == []
    assert read.lines["amount_cents"].sum() == 184178
    wrong = right | {"BT-109": "1396.50", "BT-112": "1761.78", "BT-115": "761.78"}
    assert told(taken(tmp_path, make(wrong, extras=extras), "wrong.xml"))[0].startswith(
        "The total without tax (BT-109) is given as 1,396.50, but what it sums comes to 1,476.50 (EN 16931, BR-CO-13)"
    )


def test_a_credit_note_is_money_back(tmp_path: Path) -> None:
    """A root of its own in UBL, code 381 in CII; every amount turns its sign, the total too."""
    for xml in (ubl(kind="CreditNote", code="381"), cii(code="381")):
        read = taken(tmp_path, xml)
        assert read.lines["amount_cents"].sum() == -180178
        assert read.printed_totals["printed_total_cents"].to_list() == [-180178]
        assert set(read.lines["state"]) == {"credit"}
        assert read.lines["charge"][0] == "freight"
        assert told(read) == []


def test_a_charge_within_a_line_becomes_a_line_of_the_same_parcel(tmp_path: Path) -> None:
    """BG-28 is in the line's net amount already, and so is an allowance (BG-27), which stays there."""
    read = taken(tmp_path, ubl(within=(("true", "Fuel surcharge", "73.00"), ("false", "Discount", "5.00"))))
    assert read.lines["amount_cents"].to_list()[:2] == [120000, 7300]
    assert read.lines["charge"].to_list()[:2] == ["freight", "fuel"]
    assert read.lines["tracking"].to_list()[:2] == ["NP1", "NP1"]
    assert read.lines["amount_cents"].sum() == 180178


def test_a_parcel_number_in_the_words_of_a_line_is_found_by_its_check_digit(tmp_path: Path) -> None:
    """Where the line names no object (GS1 SSCC of the General Specifications, 7.9.1)."""
    lines = (("Freight 376104250021234569 zone 5", "1436.50", ""),)
    assert taken(tmp_path, ubl(lines=lines)).lines["tracking"][0] == "376104250021234569"


def test_another_currency_is_told_of(tmp_path: Path) -> None:
    """The amounts are not converted."""
    assert told(taken(tmp_path, ubl(currency="NOK"))) == [
        (
            "Invoice NP-2026-03 is in NOK. Its amounts are kept as they stand, not converted, and shown as if they "
            "were dollars."
        )
    ]


def test_an_invoice_that_refers_to_an_earlier_one_says_so(tmp_path: Path) -> None:
    """BT-25."""
    reference = (
        "<cac:BillingReference><cac:InvoiceDocumentReference><cbc:ID>NP-2026-02</cbc:ID></cac:InvoiceDocumentReference>"
        "</cac:BillingReference><cac:LegalMonetaryTotal>"
    )
    read = taken(tmp_path, ubl().replace("<cac:LegalMonetaryTotal>", reference))
    assert (
        "Invoice NP-2026-03 refers to invoice NP-2026-02. If that one is among your files too, look whether a charge "
        "is billed twice."
    ) in told(read, notes=True)


@pytest.mark.parametrize(
    ("xml", "message"),
    [
        (
            ubl().replace("?>", "?><!DOCTYPE Invoice [<!ENTITY x SYSTEM 'file:///etc/passwd'>]>", 1),
            (
                "This XML file brings a DOCTYPE, which no invoice has and which can do harm, so it was not read. Ask "
                "the sender for the invoice without it."
            ),
        ),
        (
            ubl()[:-20],
            "This XML file is damaged or cut off (line 20). Download it again, or ask for it as CSV.",
        ),
        (
            ubl(lines=()),
            (
                "Invoice NP-2026-03 gives totals only and no lines (as the profiles MINIMUM and BASIC WL do), so its "
                "charges are not known. Ask the carrier for a statement with lines."
            ),
        ),
        (
            "<a xmlns='urn:oasis:names:specification:ubl:schema:xsd:Invoice-2'/>",
            "This is XML, but there is no invoice of the standard EN 16931 in it. Ask for it as CSV.",
        ),
    ],
    ids=["DOCTYPE", "cut off", "no lines", "another root"],
)
def test_what_cannot_be_read_is_refused_with_the_reason(tmp_path: Path, xml: str, message: str) -> None:
    """And the run goes on."""
    assert taken(tmp_path, xml).problems == (Problem("invoice.xml", "", message, unread=True),)


def test_a_doctype_hidden_by_the_encoding_is_refused_too() -> None:
    """UTF-7 writes '<' as '+ADw-'."""
    hidden = "<?xml version='1.0' encoding='UTF-7'?>+ADwAIQ-DOCTYPE Invoice+AD4-" + ubl().split("?>", 1)[1]
    with pytest.raises(Unreadable):
        xml_invoice.read("invoice.xml", hidden.encode())


def test_utf_16_is_read_too(tmp_path: Path) -> None:
    """By its declaration and mark."""
    path = tmp_path / "invoice.xml"
    path.write_bytes(ubl().replace("UTF-8", "UTF-16").encode("utf-16"))
    assert len(intake.read([path]).lines) == 10


def pdf_with(folder: Path, xml: str, name: str = "factur-x.xml") -> Path:
    """A statement of pages with the XML attached."""
    writer = PdfWriter(clone_from=PdfReader(bad_files.pdf(folder)))
    writer.add_attachment("logo.bin", b"\0\1")
    writer.add_attachment(name, xml.encode())
    path = folder / "hybrid.pdf"
    writer.write(path)
    return path


def test_the_invoice_inside_a_pdf_is_read_and_not_its_pages(tmp_path: Path) -> None:
    """Whatever its file is called."""
    read = intake.read([pdf_with(tmp_path, cii(), "../odd<name>.xml")])
    assert read.lines["amount_cents"].sum() == 180178
    assert set(read.lines["statement"]) == {"NP-2026-03"}
    assert "This PDF carries an electronic invoice (.._odd_name_.xml). It was read, and not the pages." in told(
        read, notes=True
    )
    assert told(read) == []


def test_the_pages_are_read_where_the_invoice_inside_has_no_lines(tmp_path: Path) -> None:
    """With a note that says why."""
    read = intake.read([pdf_with(tmp_path, cii(lines=()))])
    assert set(read.lines["statement"]) == {"LP-2026-03"}
    assert [note for note in told(read, notes=True) if "its pages were read instead" in note] == [
        (
            "This PDF carries an electronic invoice (factur-x.xml), but its pages were read instead: Invoice "
            "NP-2026-03 gives totals only and no lines (as the profiles MINIMUM and BASIC WL do), so its charges are "
            "not known. Ask the carrier for a statement with lines."
        )
    ]


@given(st.lists(st.decimals(-10_000, 10_000, places=2), min_size=1, max_size=8))
def test_the_rows_of_any_lines_add_up_to_them(amounts: list[Decimal]) -> None:
    """In both languages, to the cent."""
    lines = [("Freight", f"{amount:f}", "NP1") for amount in amounts]
    for make in (ubl, cii):
        (grid,) = xml_invoice.read("invoice.xml", make(lines=lines).encode()).documents
        assert isinstance(grid, Grid)
        at = grid.rows[0].index("Amount")
        assert [Decimal(row[at]) for row in grid.rows[1 : len(lines) + 1]] == amounts


@given(st.integers(0, len(ubl())), st.integers(0, 60), st.text(max_size=20))
def test_damage_anywhere_is_no_error_of_the_program(at: int, length: int, put: str) -> None:
    """It is read as far as it is sound, or refused with a reason."""
    text = ubl()
    with contextlib.suppress(Unreadable):
        xml_invoice.read("invoice.xml", (text[:at] + put + text[at + length :]).encode())
