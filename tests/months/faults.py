"""What is planted in a month: each fault as a row of figures, with the cause that must be found."""

from __future__ import annotations

from dataclasses import dataclass

from tests.months.scenario import EXPRESS, GROUND, PARCEL


@dataclass(frozen=True)
class Wrong:
    """A charge that does not follow from the carrier's figures: how far off it is, and on which lines.

    `cents`: None stands for the whole fee of the table. `at_weight`: the freight of this billed weight instead.
    `adjusted`: the label was billed rightly and the adjustment is wrong. `of_zone`, `days`: the price of that zone, or
    of so many days after the ship date, instead.
    """

    charge: str
    cents: int | None = None
    at_weight: int | None = None
    adjusted: bool = False
    of_zone: str = ""
    days: int = 0


@dataclass(frozen=True)
class Later:
    """What the next statement says about a parcel that was corrected, and the cause that must be found there.

    The machines read `sides` this time (as before where there are none). `again`: the whole correction is charged
    again, and not only what it changes further; `printed` says whether the billed weight is printed as before.
    `given_back`: kinds of lines that are given back instead, `short` cents too little of the first of them.
    """

    cause: str
    sides: str = ""
    again: bool = False
    printed: bool = True
    given_back: tuple[str, ...] = ()
    short: int = 0


@dataclass(frozen=True)
class Fault:
    """One planted parcel.

    The carrier's machines read `sides` (inches) and `weight` (pounds); what is None they read as declared. `notice` is
    the e-mail that tells the raw reading; `scale` prints the weight read on the adjustment; otherwise only rounded
    figures show. `at_once`: the label itself is billed by the carrier's figures, without an adjustment. `misprinted`:
    two digits of the number stand swapped on the statement. Lines of the kinds in `twice` are billed again, those of
    the kinds in `credited` are given back, but for the charge `uncredited`, and `short` cents too little of the first.
    `odd`: a charge in unknown words. `tax_percent`: the tax charged, where it is not the statement's.

    `measured_as`: another parcel of that day, in that carton, was measured for this one; `swapped`: and this for that,
    which is then billed by these sides, with the cause `swapped`.
    """

    cause: str
    service: str = GROUND
    carton: str = ""
    size: str = ""
    typed: str = ""
    zone: str = ""
    residential: bool | None = None
    packed_size: str = ""
    voided: bool = False
    recorded: bool = True
    billed: bool = True

    sides: str = ""
    weight: str = ""
    to_home: bool | None = None
    billed_zone: str = ""
    billed_service: str = ""
    at_once: bool = False
    address_corrected: bool = False
    fee: bool = False

    notice: int = 0
    reason: str = ""
    scale: bool = False
    misprinted: bool = False

    wrong: Wrong | None = None
    twice: tuple[str, ...] = ()
    odd: tuple[str, int] | None = None
    credited: tuple[str, ...] = ()
    uncredited: str = ""
    short: int = 0
    tax_percent: str = ""

    measured_as: str = ""
    swapped: str = ""
    later: Later | None = None


ALL_LABEL = ("label",)
ALL_ADJUSTED = ("adjustment", "fee")

HARMLESS = ""
"""Cause of what looks awkward and is in order: no finding."""

NEVER_BILLED = "never billed"

PLAN = (
    # The longest side.
    Fault("box length", carton="keyboard box", sides="48.6 x 18 x 8", fee=True, packed_size="48.5 x 18 x 8 in"),
    Fault("box length", PARCEL, "keyboard box", sides="51.8 x 18 x 8", fee=True),
    Fault("box length", carton="stand tube", sides="48.7 x 6 x 6", fee=True),
    Fault(
        "box length",
        PARCEL,
        "keyboard box",
        sides="49.38 x 18 x 8",
        weight="21.6",
        typed="22 lb",
        notice=2,
        reason="Longest side over 48 in",
    ),
    # The other sides: bulging walls, a taller cut.
    Fault("box girth", carton="uke box", sides="28 x 13.6 x 7.5", fee=True),
    Fault("box girth", PARCEL, "horn case box", sides="38 x 17.7 x 15.6", fee=True),
    Fault("box girth", carton="horn case box", sides="38 x 16 x 15.8"),
    # The typed weight.
    Fault("declared weight", carton="pedal box", typed="5 lb", weight="9.4", scale=True, fee=True),
    Fault("declared weight", PARCEL, "pedal box", typed="6 lb", weight="10.7"),
    Fault("declared weight", carton="stand tube", typed="9 lb", weight="15.35", scale=True),
    Fault(
        "declared weight",
        PARCEL,
        "pedal box",
        typed="7 lb",
        sides="11.92 x 9.95 x 7.9",
        weight="12.35",
        notice=4,
        reason="Weight above the declared weight",
        fee=True,
    ),
    # Within the measuring tolerance, and rounded over a step.
    Fault(
        "rounding",
        carton="guitar box",
        sides="48.2 x 20 x 8",
        typed="14 lb",
        weight="13.6",
        notice=1,
        reason="Longest side over 48 in",
        fee=True,
        packed_size="48 x 20 x 8 in",
    ),
    Fault("rounding", PARCEL, "guitar box", sides="48.1 x 20 x 8"),
    Fault("rounding", carton="uke box", sides="28.2 x 12 x 6", fee=True),
    Fault("rounding", carton="pedal box", typed="9 lb", weight="9.05", scale=True),
    # Two causes at once.
    Fault(
        "declared weight",
        carton="stand tube",
        sides="47.55 x 6 x 6",
        typed="9 lb",
        weight="16.2",
        notice=3,
        reason="Size and weight above the declared figures",
        fee=True,
    ),
    Fault(
        "box girth",
        carton="horn case box",
        sides="38.42 x 17.6 x 16.2",
        typed="13 lb",
        weight="12.7",
        notice=3,
        reason="Size above the declared size",
    ),
    Fault(
        "box girth",
        PARCEL,
        "uke box",
        sides="28.12 x 13.7 x 7.4",
        typed="5 lb",
        weight="4.65",
        notice=2,
        reason="Size above the declared size",
        fee=True,
    ),
    Fault("box girth", PARCEL, "uke box", sides="28.3 x 12 x 7.8"),
    Fault(
        "box length",
        PARCEL,
        "keyboard box",
        sides="48.9 x 18 x 8",
        wrong=Wrong("additional handling", 366, adjusted=True),
    ),
    # Another service or zone.
    Fault("service or zone", zone="4", billed_zone="6", at_once=True),
    Fault("service or zone", PARCEL, zone="3", billed_zone="5"),
    Fault("service or zone", billed_service=EXPRESS, at_once=True),
    # The address.
    Fault("address", residential=False, to_home=True),
    Fault("address", PARCEL, residential=False, to_home=True, address_corrected=True, fee=True),
    Fault("address", address_corrected=True),
    # Another price than the table's.
    Fault("rate", wrong=Wrong("freight", 235)),
    Fault("rate", PARCEL, residential=True, wrong=Wrong("residential", 67)),
    Fault("rate", PARCEL, wrong=Wrong("freight", -90)),
    # Billed again.
    Fault(
        "duplicate",
        carton="keyboard box",
        typed="44 lb",
        sides="48.8 x 18 x 8",
        weight="53.2",
        scale=True,
        fee=True,
        twice=ALL_ADJUSTED,
    ),
    Fault("box girth", PARCEL, "horn case box", sides="38 x 17.2 x 14", fee=True, twice=("adjustment",)),
    Fault("duplicate", twice=ALL_LABEL),
    Fault("duplicate", PARCEL, twice=ALL_LABEL),
    # Not the shop's parcels.
    Fault("unknown parcel", recorded=False, residential=True),
    Fault("unknown parcel", PARCEL, recorded=False),
    Fault("unknown parcel", recorded=False, residential=False),
    # Voided before use.
    Fault("voided label", voided=True),
    Fault("voided label", PARCEL, voided=True, credited=ALL_LABEL, uncredited="fuel"),
    # Not following from the carrier's own figures.
    Fault("carrier arithmetic", PARCEL, "keyboard box", wrong=Wrong("additional handling")),
    Fault("carrier arithmetic", carton="guitar box", wrong=Wrong("large parcel")),
    Fault(
        "carrier arithmetic",
        carton="guitar box",
        typed="14 lb",
        weight="13.8",
        scale=True,
        wrong=Wrong("freight", at_weight=66, adjusted=True),
    ),
    Fault("carrier arithmetic", wrong=Wrong("fuel", 74)),
    Fault("carrier arithmetic", PARCEL, wrong=Wrong("fuel", 31)),
    # Words nobody knows.
    Fault("unexplained", odd=("Network balancing", 450)),
    Fault("unexplained", PARCEL, odd=("Route equalisation", 295)),
    # Bought and never billed.
    Fault(NEVER_BILLED, billed=False),
    Fault(NEVER_BILLED, billed=False),
    Fault(NEVER_BILLED, PARCEL, billed=False),
    # In order.
    Fault(HARMLESS, voided=True, residential=True, credited=ALL_LABEL),
    Fault(HARMLESS, PARCEL, "uke box", sides="28 x 13.2 x 7.1", fee=True, credited=ALL_ADJUSTED),
    Fault(HARMLESS, carton="keyboard box", size="52 x 18 x 8 in"),
    Fault(HARMLESS, PARCEL, "keyboard box", size="52 x 18 x 8 in"),
    Fault(HARMLESS, misprinted=True),
)

ERRORS = (
    # A price that stands elsewhere in the table.
    Fault("rate", zone="3", wrong=Wrong("freight", of_zone="8")),
    Fault("rate", PARCEL, zone="7", wrong=Wrong("freight", of_zone="2")),
    Fault("rate", PARCEL, wrong=Wrong("freight", days=-120)),
    Fault("rate", residential=True, wrong=Wrong("residential", days=-120)),
    Fault("rate", PARCEL, size="50 x 20 x 8 in", zone="4", wrong=Wrong("additional handling", of_zone="6")),
    Fault("carrier arithmetic", wrong=Wrong("fuel", days=14)),
    Fault("carrier arithmetic", PARCEL, wrong=Wrong("fuel", days=-14)),
    # A charge beside the better of its group.
    Fault("carrier arithmetic", size="60 x 20 x 16 in", typed="30 lb", wrong=Wrong("additional handling")),
    # Another parcel's measurements.
    Fault("box length", carton="pedal box", measured_as="horn case box"),
    Fault("box girth", PARCEL, carton="uke box", measured_as="guitar box", swapped="box girth"),
    # A correction of a correction.
    Fault(
        "box length",
        carton="keyboard box",
        sides="48.6 x 18 x 8",
        fee=True,
        later=Later("duplicate", again=True),
    ),
    Fault(
        "box length",
        PARCEL,
        carton="keyboard box",
        sides="48.6 x 18 x 8",
        fee=True,
        later=Later("duplicate", again=True, printed=False),
    ),
    Fault(
        "box girth",
        carton="horn case box",
        sides="38 x 17.2 x 14",
        fee=True,
        later=Later("box girth", sides="38 x 17.2 x 16.5"),
    ),
    Fault(
        "box length",
        PARCEL,
        carton="keyboard box",
        sides="48.6 x 18 x 8",
        fee=True,
        later=Later("duplicate", sides="53.5 x 18 x 8", again=True),
    ),
    # Money back.
    Fault("box girth", carton="uke box", sides="28 x 13.6 x 7.5", credited=ALL_ADJUSTED, short=90),
    Fault(
        "box girth",
        PARCEL,
        carton="uke box",
        sides="28 x 13.6 x 7.5",
        fee=True,
        later=Later("box girth", given_back=ALL_ADJUSTED),
    ),
    Fault(
        "box length",
        carton="keyboard box",
        sides="48.6 x 18 x 8",
        later=Later("box length", given_back=ALL_ADJUSTED, short=60),
    ),
    Fault("voided label", voided=True, later=Later("voided label", given_back=ALL_LABEL)),
)
"""The carrier's own errors that only prices, other parcels or other statements show."""

TAXED = (Fault("unexplained", tax_percent="13.5"), Fault("unexplained", PARCEL, tax_percent="8"))
"""On a statement that taxes every parcel, another percentage; on one that taxes none, a tax."""
