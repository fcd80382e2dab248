"""What the carrier bills for a parcel, and the truth about it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal

from tests.months import plainly
from tests.months.faults import HARMLESS, NEVER_BILLED, Fault, Later, Wrong
from tests.months.plainly import Parcel, Prices, Seen
from tests.months.scenario import CARTON, PARCEL, Shipment, quantity

CAUSE_OF_PLAYER = {
    plainly.LONGEST: "box length",
    plainly.OTHER_SIDES: "box girth",
    plainly.WEIGHT: "declared weight",
    plainly.ROUNDING: "rounding",
    plainly.SERVICE: "service or zone",
    plainly.ADDRESS: "address",
}
ORDER_OF_CAUSES = (
    *CAUSE_OF_PLAYER.values(),
    "rate",
    "duplicate",
    "unknown parcel",
    "voided label",
    "carrier arithmetic",
    "unexplained",
)
"""Of two causes with equal shares the earlier one is named."""


@dataclass(frozen=True)
class Line:
    """A statement line; `kind` is label, adjustment, credit, fee, odd, account or tax. What is not printed is None.

    `number` is the tracking number as printed, `weight` in pounds, `sides` in inches, `scale` the weight read.
    """

    number: str
    shipped_on: date
    service: str
    zone: str
    charge: str
    kind: str
    cents: int
    weight: int | None = None
    sides: tuple[int, ...] | None = None
    scale: str = ""
    order: str = ""


@dataclass(frozen=True)
class Reading:
    """What a notice tells about a parcel: the declared texts, the raw reading, the cents adjusted."""

    notice: int
    shipment: Shipment
    size: str
    weight: str
    cents: int
    reason: str


@dataclass(frozen=True)
class Truth:
    """What must be found about a parcel, in cents; `shares` by cause add up to billed − expected."""

    tracking: str
    cause: str
    billed: int = 0
    expected: int = 0
    shares: Mapping[str, int] | None = None


@dataclass(frozen=True)
class Billed:
    """A parcel's lines, the notice about it, and the truth where there is something to find."""

    shipment: Shipment
    lines: list[Line]
    reading: Reading | None = None
    truth: Truth | None = None
    later_lines: tuple[Line, ...] = ()
    later_truth: Truth | None = None


@dataclass(frozen=True)
class Charged:
    """The parcel that the label is billed by, its charges, those in the end, and how many cents those are off."""

    label: Parcel
    at_label: Mapping[str, int]
    in_the_end: Mapping[str, int]
    off: int


def prepared(shipment: Shipment, fault: Fault) -> Shipment:
    """The shipment with the declared figures that the fault asks for."""
    if fault.carton:
        carton = CARTON[fault.carton]
        shipment = replace(shipment, carton=carton.name, size=carton.size, weight=carton.weights[0])
        shipment = replace(shipment, packed_size="", packed_weight="", photo="")
    if fault.packed_size:
        shipment = replace(shipment, packed_size=fault.packed_size, photo=f"{shipment.order}.jpg")
    return replace(
        shipment,
        size=fault.size or shipment.size,
        weight=fault.typed or shipment.weight,
        zone=fault.zone or shipment.zone,
        residential=shipment.residential if fault.residential is None else fault.residential,
        voided=fault.voided,
    )


def bill(shipment: Shipment, fault: Fault, prices: Prices, tax_percent: str = "") -> Billed:
    """Everything billed for one parcel, and what its label cost by the declared figures. The shipment is `prepared`."""
    declared = shipment.declared
    due = plainly.charges(declared, prices)
    shipment = replace(shipment, label_cost=sum(due.values()))
    if not fault.billed:
        return Billed(shipment, [], truth=Truth(shipment.tracking, NEVER_BILLED))
    read = _by_machine(declared, fault)
    charged = _charged(declared, due, read, fault, prices)
    first = list(_lines(shipment, fault, read, charged, prices))
    again = [line for line in first if line.kind in fault.twice]
    back = [line for line in first if line.kind in fault.credited and line.charge != fault.uncredited]
    lines = [*first, *again, *_given_back(back, fault.short)]
    tax, due_tax = (_percent_of(lines, percent) for percent in (fault.tax_percent or tax_percent, tax_percent))
    lines += [replace(lines[0], charge="tax", kind="tax", cents=tax)] if tax else []

    by_player = plainly.attribute(declared, _seen(read, fault), prices)
    shares = {CAUSE_OF_PLAYER[player]: cents for player, cents in by_player.items()}
    shares |= {
        _error(fault): charged.off,
        "duplicate": sum(line.cents for line in again),
        "unexplained": (fault.odd[1] if fault.odd else 0) + tax - due_tax,
    }
    truth = _truth(shipment, fault, lines, shares, due_tax)
    billed = Billed(shipment, lines, _reading(shipment, fault, read, first), truth)
    return _with_later(billed, fault, fault.later, read, prices) if fault.later else billed


def _given_back(lines: Sequence[Line], short: int) -> Iterator[Line]:
    """The lines given back, the first of them so many cents too little."""
    for place, line in enumerate(lines):
        yield replace(line, kind="credit", cents=(short if place == 0 else 0) - line.cents)


def _percent_of(lines: Sequence[Line], percent: str) -> int:
    """Tax on all the lines together, half a cent up."""
    cents = sum(line.cents for line in lines) * Decimal(percent or 0) / 100
    return int(cents.quantize(Decimal(1), ROUND_HALF_UP))


def _with_later(billed: Billed, fault: Fault, later: Later, read: Parcel, prices: Prices) -> Billed:
    """The same with what the next statement bills, and the truth about that."""
    lines = [line for line in billed.lines if line.kind != "credit"]
    shares = dict((billed.truth and billed.truth.shares) or {})
    if later.given_back:
        back = list(_given_back([line for line in lines if line.kind in later.given_back], later.short))
        left = plainly.scaled(shares, sum(shares.values()) + sum(line.cents for line in back))
        return _with_lines(billed, later.cause, back, {cause: left[cause] - cents for cause, cents in shares.items()})
    anew = replace(read, sides=plainly.inches(later.sides)) if later.sides else read
    declared, before, after = (plainly.charges(one, prices) for one in (billed.shipment.declared, read, anew))
    corrected = [line for line in lines if line.kind == "adjustment"]
    plain = replace(
        corrected[0],
        sides=plainly.whole(anew.sides),
        weight=plainly.billable_weight(anew.sides, anew.weight) if later.printed else None,
    )
    since = declared if later.again else before
    new = [
        replace(plain, charge=charge, cents=after[charge] - since.get(charge, 0))
        for charge in _in_order(after)
        if after[charge] != since.get(charge, 0)
    ]
    fees = [line for line in lines if line.kind == "fee"]
    seen = replace(_seen(anew, fault), corrected=bool(fees) and anew != read)
    by_player = plainly.attribute(read, seen, prices)
    twice = sum(before.values()) - sum(declared.values()) if later.again else 0
    twice += sum(line.cents for line in fees) if later.again and anew == read else 0
    found = {CAUSE_OF_PLAYER[player]: cents for player, cents in by_player.items()} | {"duplicate": twice}
    return _with_lines(billed, later.cause, [*new, *fees], found)


def _with_lines(billed: Billed, cause: str, lines: Sequence[Line], shares: Mapping[str, int]) -> Billed:
    """The same with these lines on the next statement; nothing is expected there.

    Raises:
        ValueError: the cause is not the one with the largest share, or the shares do not add up.
    """
    cents, largest = sum(line.cents for line in lines), _largest(shares)
    if sum(shares.values()) != cents or largest != cause:
        raise ValueError(f"{cause} came out as {largest} with {shares} of {cents} cents on the next statement")
    truth = Truth(billed.shipment.tracking, cause, cents, 0, shares)
    return replace(billed, later_lines=tuple(lines), later_truth=truth)


def _by_machine(declared: Parcel, fault: Fault) -> Parcel:
    """The parcel as the carrier's machines and drivers have it."""
    return replace(
        declared,
        sides=plainly.inches(fault.sides) if fault.sides else declared.sides,
        weight=plainly.pounds(f"{fault.weight} lb") if fault.weight else declared.weight,
        residential=declared.residential if fault.to_home is None else fault.to_home,
        zone=fault.billed_zone or declared.zone,
        service=fault.billed_service or declared.service,
    )


def _charged(declared: Parcel, due: Mapping[str, int], read: Parcel, fault: Fault, prices: Prices) -> Charged:
    label = read if fault.at_once else declared
    right = due if read == declared else plainly.charges(read, prices)
    at_label = right if fault.at_once else due
    wrong = fault.wrong
    if wrong is None:
        return Charged(label, at_label, right, 0)
    in_the_end = _with_error(right, wrong, read, prices)
    at_label = at_label if wrong.adjusted else _with_error(at_label, wrong, label, prices)
    return Charged(label, at_label, in_the_end, sum(in_the_end.values()) - sum(right.values()))


def _error(fault: Fault) -> str:
    """The cause that a wrong charge must be put down to: another price, or a charge that is not due at all."""
    wrong = fault.wrong
    off_table = wrong is not None and (wrong.cents is not None or wrong.of_zone or wrong.days)
    return "rate" if wrong and off_table and wrong.charge != "fuel" else "carrier arithmetic"


def _with_error(charges: Mapping[str, int], wrong: Wrong, parcel: Parcel, prices: Prices) -> dict[str, int]:
    """The charges with one of them wrong, and fuel on it."""
    zone, day = wrong.of_zone or parcel.zone, parcel.shipped_on + timedelta(days=wrong.days)
    if wrong.charge == "fuel" and wrong.days:
        changed = {**charges, "fuel": plainly.fuel(charges, prices.percent(day))}
    elif wrong.charge == "freight" and wrong.cents is wrong.at_weight is None:
        weight = plainly.billable_weight(parcel.sides, parcel.weight)
        changed = {**charges, "freight": prices.freight(parcel.service, zone, day, weight)}
    elif wrong.at_weight is not None:
        freight = prices.freight(parcel.service, parcel.zone, parcel.shipped_on, wrong.at_weight)
        changed = {**charges, wrong.charge: freight}
    elif wrong.cents is not None:
        changed = {**charges, wrong.charge: charges[wrong.charge] + wrong.cents}
    else:
        changed = {**charges, wrong.charge: prices.fee(wrong.charge, zone, day)}
    if wrong.charge != "fuel":
        changed["fuel"] = plainly.fuel(changed, prices.percent(parcel.shipped_on))
    return changed


def _lines(
    shipment: Shipment,
    fault: Fault,
    read: Parcel,
    charged: Charged,
    prices: Prices,
) -> Iterator[Line]:
    """Label charges, adjustments, fees and odd charges, before anything is repeated or given back."""
    label, at_label, in_the_end = charged.label, charged.at_label, charged.in_the_end
    plain = Line(
        number=_printed(shipment, fault),
        shipped_on=shipment.shipped_on,
        service=read.service,
        zone=read.zone,
        charge="",
        kind="",
        cents=0,
        order=shipment.order if fault.recorded else "",
    )
    declared = replace(
        plain,
        kind="label",
        service=label.service,
        zone=label.zone,
        weight=plainly.billable_weight(label.sides, label.weight),
        sides=plainly.whole(label.sides),
    )
    adjusted = replace(
        plain,
        kind="adjustment",
        weight=(fault.wrong and fault.wrong.at_weight) or plainly.billable_weight(read.sides, read.weight),
        sides=None if fault.notice else plainly.whole(read.sides),
        scale=fault.weight if fault.scale else "",
    )
    for charge in _in_order(at_label):
        yield replace(declared, charge=charge, cents=at_label[charge])
    for charge in _in_order(in_the_end):
        if in_the_end[charge] != at_label.get(charge, 0):
            yield replace(adjusted, charge=charge, cents=in_the_end[charge] - at_label.get(charge, 0))
    for charge, due in (("address correction", fault.address_corrected), ("correction fee", fault.fee)):
        if due:
            yield replace(plain, kind="fee", charge=charge, cents=prices.fee(charge, read.zone, read.shipped_on))
    if fault.odd:
        yield replace(plain, kind="odd", charge=fault.odd[0], cents=fault.odd[1])


def _in_order(charges: Mapping[str, int]) -> list[str]:
    return [charge for charge in (*plainly.FUELLED, "fuel") if charge in charges]


def _printed(shipment: Shipment, fault: Fault) -> str:
    """The number as the statement prints it: Larkrise Post sets a quarter of its numbers in groups of four."""
    number = shipment.tracking
    if fault.misprinted:
        return number[:7] + number[8] + number[7] + number[9:]
    if shipment.service == PARCEL and int(number[-2:]) % 4 == 0:
        return " ".join(number[start : start + 4] for start in range(0, len(number), 4))
    return number


def _seen(read: Parcel, fault: Fault) -> Seen:
    """What the statement and the notice let one see of the carrier's figures."""
    return Seen(
        service=read.service,
        zone=read.zone,
        residential=read.residential,
        read_sides=read.sides if fault.notice else None,
        billed_sides=plainly.whole(read.sides),
        read_weight=read.weight if fault.notice or fault.scale else None,
        billed_weight=plainly.billable_weight(read.sides, read.weight),
        address_corrected=fault.address_corrected,
        corrected=fault.fee,
    )


def _reading(shipment: Shipment, fault: Fault, read: Parcel, lines: list[Line]) -> Reading | None:
    if not fault.notice:
        return None
    size = " x ".join(quantity(side) for side in read.sides)
    cents = sum(line.cents for line in lines if line.kind == "adjustment")
    return Reading(fault.notice, shipment, size, quantity(read.weight), cents, fault.reason)


def _truth(
    shipment: Shipment, fault: Fault, lines: list[Line], shares: Mapping[str, int], due_tax: int
) -> Truth | None:
    """The finding that must come out, None where the bill is in order.

    Raises:
        ValueError: the fault's own cause is not the one with the largest share, or the shares do not add up.
    """
    billed, expected = sum(line.cents for line in lines), shipment.label_cost + due_tax
    for alone, holds in (("unknown parcel", not fault.recorded), ("voided label", fault.voided)):
        if holds:
            expected, shares = 0, {alone: billed}
    if fault.credited and not fault.voided:
        shares = plainly.scaled(shares, billed - expected)
    if billed == expected:
        shares = {}
    largest = _largest(shares) if shares else HARMLESS
    if sum(shares.values()) != billed - expected or largest != fault.cause:
        raise ValueError(f"{fault} came out as {largest} with {shares} of {billed - expected} cents")
    number = lines[0].number if not fault.recorded else shipment.tracking
    return Truth(number, largest, billed, expected, shares) if shares else None


def _largest(shares: Mapping[str, int]) -> str:
    """The cause with the largest share."""
    return max(ORDER_OF_CAUSES, key=lambda cause: abs(shares.get(cause, 0)))
