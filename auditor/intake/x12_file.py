"""An ANSI X12 freight invoice (210 by road, 110 by air) → a grid: a row a charge, and a row for each invoice's total.

Segments and elements are those of ASC X12 004010: B3 the invoice, N9 references, G62 dates, LX a group of lines, L0
weights, L1 charges, L4 sides, L9 charges by air, L3 totals. An amount of type N2 has two decimals that are not written
(1898 is 18.98); many senders write the point all the same, so a point that stands there is believed. Meanings of codes
are from memory where the comment says so.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from auditor.core.schemas import Problem
from auditor.intake.csv_file import decoded
from auditor.intake.documents import Grid, Opened, Unreadable, refuse_over

LARGEST = 50 * 2**20
ISA_LENGTH, ISA_ELEMENTS = 106, 16
REST = "after the end"
INVOICES = ("210", "110")

WEIGHTS = {
    "B": "Billed weight",
    "A2": "Scale weight",
    "A3": "Declared weight",
    "A1": "Dimensional weight",
    "G": "Gross weight",
    "N": "Net weight",
}
"""Element 187: billed, reweighed by the carrier, the shipper's, dimensional, gross, actual net."""
WEIGHT_UNITS = {"L": "lb", "K": "kg", "O": "oz", "G": "g"}
"""Element 188, from memory."""
LENGTH_UNITS = {"N": "in", "C": "cm"}
"""Element 90, from memory."""
CHARGES = {
    "003": "Account number correction",
    "020": "Address correction",
    "140": "Call tag",
    "230": "Credit",
    "400": "Freight",
    "405": "Fuel surcharge",
    "FUE": "Fuel surcharge",
    "RES": "Residential delivery",
}
"""Element 150; 400, 405, FUE and RES from memory."""
TRACKING = ("2I", "CN")
"""Element 128, from memory: tracking number, the carrier's reference."""
ORDER = ("SI", "PO", "IV")
"""Element 128, from memory: the shipper's number, purchase order, the seller's invoice."""
SHIPPED = ("86", "11")
"""Element 432, from memory: actual pickup, shipped."""
SIDES = ("Billed length", "Billed width", "Billed height")
MEASURES = (*WEIGHTS.values(), *SIDES)
HEADINGS = (
    "Statement",
    "Statement date",
    "Tracking number",
    "Ship date",
    "Charge",
    *MEASURES,
    "Order reference",
    "Amount",
)
ENVELOPES = ("ISA", "GS", "ST")
"""What opens an envelope, from the outermost in."""
CLOSING = {"IEA": "ISA", "GE": "GS", "SE": "ST"}
INSIDE = {"ISA": "functional groups (GS)", "GS": "transaction sets (ST)", "ST": "segments"}
CONTROL = {"ISA": 13, "GS": 6, "ST": 2}
"""The element in which an opening segment has its control number; the closing one has a count in 1, the number in 2."""

WHOLE_CENTS = {"B3": 7, "L1": 4, "L3": 5}
"""Elements of type N2 that are read."""
NUMBER = re.compile(r"-?(?:\d+\.?\d*|\.\d+)")
LOST = "A charge may be missing or wrong; ask the carrier which figure holds."
AS_THEY_STAND = "They are kept as they stand, not converted, and shown as if they were dollars."
LOOK_FOR_BOTH = "If that one is among your files too, look whether a charge is billed twice."
SEND_AGAIN = "Ask the carrier to send it again."

Placed = tuple[str, dict[str, str]]
"""A row of the grid by its headings, after where it stands."""


@dataclass(frozen=True)
class Segment:
    """One segment: its number in the file, counted from 1, its name, and its elements."""

    number: int
    name: str
    elements: Sequence[str]

    def __getitem__(self, place: int) -> str:
        """The element of that number, counted from 1 as the standard does; "" where it is left out."""
        return self.elements[place - 1].strip() if 1 <= place <= len(self.elements) else ""

    @property
    def place(self) -> str:
        """Where it stands, for people."""
        return f"segment {self.number}"


def claims(start: bytes) -> bool:
    """Whether a file that begins so is an X12 interchange: 'ISA' and its separator, which comes back 15 times."""
    head = start.lstrip(b"\xef\xbb\xbf \t\r\n")[:ISA_LENGTH]
    return re.match(rb"ISA[^\w\s]\d\d[^\w\s]", head) is not None and head.count(head[3:4]) >= ISA_ELEMENTS


def read(name: str, content: bytes) -> Opened:
    """Read the freight invoices of an interchange; other transaction sets in it are named and left out.

    Raises:
        Unreadable: it is too large, or its first segment does not give the separators.
    """
    refuse_over(LARGEST, len(content))
    text = decoded(content)[0]
    problems = [*_envelopes(name, segments(text)), *_points(name, segments(text))]
    placed = [row for body in _transactions(segments(text)) for row in _invoice(name, body, problems)]
    cells = [HEADINGS, *(tuple(row.get(heading, "") for heading in HEADINGS) for _, row in placed)]
    places = ["segment 1", *(place for place, _ in placed)]
    grids = (Grid(cells, places, itemised=True),) if placed else ()
    return Opened(grids, tuple(problems))


# Segments and envelopes


def segments(text: str) -> Iterator[Segment]:
    """The segments of one or more interchanges, each split by the separators of its own ISA.

    What stands after an interchange and is none is one segment named REST.

    Raises:
        Unreadable: the first ISA is not of its fixed length.
    """
    number, at = 0, _start(text, 0)
    while at < len(text):
        separators = _separators(text[at : at + ISA_LENGTH])
        if separators is None and not number:
            raise Unreadable(
                f"This is an EDI file (X12), but its ISA segment is not {ISA_LENGTH} characters long as the standard "
                "says, so its separators cannot be told. Ask the carrier for it as it was sent, or as CSV."
            )
        if separators is None:
            yield Segment(number + 1, REST, ())
            return
        name = ""
        while name != "IEA" and at < len(text):
            end = text.find(separators[1], at)
            end = len(text) if end < 0 else end
            name, *elements = text[at:end].strip().split(separators[0])
            number += 1
            yield Segment(number, name, elements)
            at = _start(text, end + 1)


def _separators(isa: str) -> tuple[str, str] | None:
    """The separator of elements, at position 4 of an ISA, and the terminator of segments, at 106 (ASC X12.5)."""
    whole = len(isa) == ISA_LENGTH and isa.startswith("ISA") and isa.count(isa[3]) == ISA_ELEMENTS
    return (isa[3], isa[-1]) if whole and not isa[-1].isalnum() else None


def _start(text: str, at: int) -> int:
    """The place of the next character that is not blank; segments are often put on lines of their own."""
    found = re.compile(r"[^\s\ufeff]").search(text, at)
    return found.start() if found else len(text)


def _transactions(segments: Iterable[Segment]) -> Iterator[list[Segment]]:
    """The segments of each transaction set, from its ST on."""
    body: list[Segment] = []
    for segment in segments:
        if body and segment.name in {*ENVELOPES, *CLOSING}:
            yield body
            body = []
        if body or segment.name == "ST":
            body.append(segment)
    if body:
        yield body


def _envelopes(name: str, segments: Iterable[Segment]) -> Iterator[Problem]:
    """What is wrong with the envelopes: one that never closes, and counts and control numbers that disagree."""
    opened: list[Segment] = []
    inside: Counter[str] = Counter()
    for segment in segments:
        inside["ST"] += 1
        if segment.name == REST:
            message = (
                "What stands here, after the end of the interchange (IEA), is no other interchange, so it was not read."
            )
            yield Problem(name, segment.place, message, unread=True)
        closes = CLOSING.get(segment.name)
        if closes is None and segment.name not in ENVELOPES:
            continue
        level = ENVELOPES.index(closes or segment.name)
        while opened and ENVELOPES.index(opened[-1].name) >= level + bool(closes):
            yield _unclosed(name, opened.pop())
        if closes and opened and opened[-1].name == closes:
            yield from _disagreeing(name, opened.pop(), segment, inside[closes])
        elif not closes:
            inside.update(ENVELOPES[level - 1 : level])
            inside[segment.name] = int(segment.name == "ST")
            opened.append(segment)
    yield from (_unclosed(name, segment) for segment in reversed(opened))


def _unclosed(name: str, opening: Segment) -> Problem:
    closing = next(end for end, start in CLOSING.items() if start == opening.name)
    message = (
        f"The {opening.name} that begins here is never closed by its {closing}, so this file is cut off or was put "
        "together wrongly, and charges may be missing. Ask the carrier to send it again."
    )
    return Problem(name, opening.place, message, unread=True)


def _disagreeing(name: str, opening: Segment, closing: Segment, count: int) -> Iterator[Problem]:
    stated, number = closing[1], opening[CONTROL[opening.name]]
    if not stated.isdecimal() or int(stated) != count:
        message = (
            f"{closing.name} says that there are {stated or 'no'} {INSIDE[opening.name]}, but {count} were read. "
            "Something was lost or added on the way; ask the carrier to send the file again."
        )
        yield Problem(name, closing.place, message)
    if closing[2] != number:
        message = (
            f"{closing.name} closes number '{closing[2]}', but {opening.name} at {opening.place} opened '{number}'. "
            "Two files may have been mixed; ask the carrier to send it again."
        )
        yield Problem(name, closing.place, message)


# Invoices


def _invoice(name: str, body: Sequence[Segment], problems: list[Problem]) -> Iterator[Placed]:
    """A row a charge, then the total."""
    opening, invoice = body[0], next((segment for segment in body if segment.name == "B3"), None)
    if opening[1] not in INVOICES:
        message = f"Transaction set {opening[1]} is no freight invoice (210 or 110), so it was left out."
        problems.append(Problem(name, opening.place, message, note=True))
        return
    if invoice is None:
        message = "This freight invoice has no B3 segment, which gives its number and total, so it was not read."
        problems.append(Problem(name, opening.place, f"{message} {SEND_AGAIN}", unread=True))
        return
    about = {"Statement": invoice[2], "Statement date": invoice[6]}
    charges = list(_charges(body, invoice))
    problems += _oddities(name, body, invoice, charges)
    problems += _totals(name, body, invoice, charges)
    for place, row in charges or [(invoice.place, {"Charge": "Charges not itemised"})]:
        yield place, about | row
    yield invoice.place, {"Statement": "Statement total", "Amount": _printed(invoice[7])}


def _charges(body: Sequence[Segment], invoice: Segment) -> Iterator[Placed]:
    """Each charge with what is known of its parcel, by its own group of segments, which LX begins, or the heading."""
    groups = _groups(body)
    heading, unit = groups[0], WEIGHT_UNITS.get(invoice[5], "")
    for group in groups:
        row = _references(group, heading, invoice) | _figures(group, unit)
        named = next((segment[2] for segment in group if segment.name == "L5" and segment[2]), "")
        for segment in group:
            if segment.name == "L1":
                words = CHARGES.get(segment[8].upper()) or segment[12] or named or segment[8]
                yield segment.place, row | {"Charge": words, "Amount": _printed(segment[4])}
            elif segment.name == "L9":
                words = CHARGES.get(segment[1].upper()) or segment[1]
                yield segment.place, row | {"Charge": words, "Amount": segment[2]}
            else:
                continue
            row = {heading: text for heading, text in row.items() if heading not in MEASURES}


def _groups(body: Sequence[Segment]) -> list[list[Segment]]:
    """The heading, then each group that LX begins."""
    groups: list[list[Segment]] = [[]]
    for segment in body:
        if segment.name == "LX":
            groups.append([])
        groups[-1].append(segment)
    return groups


def _references(group: Sequence[Segment], heading: Sequence[Segment], invoice: Segment) -> dict[str, str]:
    tracking = _only(TRACKING, group, heading)
    order = _only(ORDER, group, heading) or invoice[3]
    shipped = [one[2] for one in (*group, *heading) if one.name == "G62" and one[1] in SHIPPED]
    return {"Tracking number": tracking, "Order reference": order, "Ship date": next(iter(shipped), "")}


def _only(codes: Sequence[str], *parts: Sequence[Segment]) -> str:
    """The one reference of the first of the codes that stands in any part; "" where it has several: none is picked."""
    found = next(filter(None, (_named(code, part) for code in codes for part in parts)), set())
    return found.pop() if len(found) == 1 else ""


def _named(code: str, group: Sequence[Segment]) -> set[str]:
    return {segment[2] for segment in group if segment.name == "N9" and segment[1] == code and segment[2]}


def _figures(group: Sequence[Segment], unit: str) -> dict[str, str]:
    """Weights and sides with their units, as one writes them: '8 lb', '10 in'."""
    figures: dict[str, str] = {}
    for segment in group:
        if segment.name == "L0" and (heading := WEIGHTS.get(segment[5])):
            figures.setdefault(heading, f"{segment[4]} {WEIGHT_UNITS.get(segment[11], segment[11]) or unit}".strip())
        elif segment.name == "L4":
            sides = (f"{segment[place]} {LENGTH_UNITS.get(segment[4], segment[4])}".strip() for place in (1, 2, 3))
            figures = dict(zip(SIDES, sides, strict=True)) | figures
    return figures


# Amounts


def _points(name: str, segments: Iterable[Segment]) -> Iterator[Problem]:
    """That amounts have a point where the standard writes none: at the first of them."""
    for segment in segments:
        if "." in segment[WHOLE_CENTS.get(segment.name, 0)]:
            amount = segment[WHOLE_CENTS[segment.name]]
            message = f"Amounts are written with a point ({amount}), which the standard leaves out; it was believed."
            yield Problem(name, segment.place, message, note=True)
            return


def _amount(text: str) -> Decimal | None:
    """An N2 amount: '1898' and '18.98' are both 18.98; None where it is no amount."""
    if not NUMBER.fullmatch(text):
        return None
    return Decimal(text) if "." in text else Decimal(text) / 100


def _printed(text: str) -> str:
    """An N2 amount with its point; what is no amount stays as it stands, for the reader of amounts to complain of."""
    amount = _amount(text)
    return text if amount is None else f"{amount:f}"


def _totals(name: str, body: Sequence[Segment], invoice: Segment, charges: Sequence[Placed]) -> Iterator[Problem]:
    """Where the total of the invoice (B3), that of its summary (L3) and the sum of its charges disagree."""
    total = _amount(invoice[7])
    added = sum((Decimal(row["Amount"]) for _, row in charges if NUMBER.fullmatch(row["Amount"])), Decimal())
    summary = next((segment for segment in body if segment.name == "L3"), None)
    stated = _amount(summary[5]) if summary else None
    if total is not None and total != added:
        message = f"B3 gives {total:,.2f} as the total of invoice {invoice[2]}, but its charges add up to {added:,.2f}."
        yield Problem(name, invoice.place, f"{message} {LOST}")
    if summary and stated is not None and stated != total:
        message = f"L3 gives {stated:,.2f} as the total charges of invoice {invoice[2]}, but B3 at {invoice.place}"
        yield Problem(name, summary.place, f"{message} gives {_printed(invoice[7]) or 'no total'}. {LOST}")


def _oddities(name: str, body: Sequence[Segment], invoice: Segment, charges: Sequence[Placed]) -> Iterator[Problem]:
    """What a reader of the invoice should know of it."""
    for segment in body:
        if segment.name == "C3" and segment[1] not in {"", "USD"}:
            message = f"The amounts of invoice {invoice[2]} are in {segment[1]}. {AS_THEY_STAND}"
            yield Problem(name, segment.place, message)
        if segment.name == "L1" and (segment[5] or segment[6]):
            aside = ", ".join(
                filter(
                    None,
                    (
                        segment[5] and f"advances {_printed(segment[5])}",
                        segment[6] and f"prepaid {_printed(segment[6])}",
                    ),
                )
            )
            yield Problem(name, segment.place, f"This charge also gives {aside}, which was not counted.")
    if invoice[8]:
        message = f"Invoice {invoice[2]} is marked as a correction of an earlier one ({invoice[8]}). {LOOK_FOR_BOTH}"
        yield Problem(name, invoice.place, message, note=True)
    numbers = sorted(_named(TRACKING[0], _groups(body)[0]))
    if len(numbers) > 1 and any(not row["Tracking number"] for _, row in charges):
        message = (
            f"Invoice {invoice[2]} names {len(numbers)} tracking numbers ({', '.join(numbers[:3])}), and does not say "
            "which charge is for which, so some charges stand without a number. Ask the carrier which parcels they "
            "are for."
        )
        yield Problem(name, invoice.place, message)
