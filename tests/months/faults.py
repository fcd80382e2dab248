"""What is planted in a month: each fault as a row of figures, with the cause that must be found."""

from __future__ import annotations

from dataclasses import dataclass

from tests.months.scenario import EXPRESS, GROUND, PARCEL


@dataclass(frozen=True)
class Wrong:
    """A charge that does not follow from the carrier's figures: how far off it is, and on which lines.

    `cents`: None stands for the whole fee of the table. `at_weight`: the freight of this billed weight instead.
    `adjusted`: the label was billed rightly and the adjustment is wrong.
    """

    charge: str
    cents: int | None = None
    at_weight: int | None = None
    adjusted: bool = False


@dataclass(frozen=True)
class Fault:
    """One planted parcel.

    The carrier's machines read `sides` (inches) and `weight` (pounds); what is None they read as declared. `notice` is
    the e-mail that tells the raw reading; `scale` prints the weight read on the adjustment; otherwise only rounded
    figures show. `at_once`: the label itself is billed by the carrier's figures, without an adjustment. `misprinted`:
    two digits of the number stand swapped on the statement. Lines of the kinds in `twice` are billed again, those of
    the kinds in `credited` are given back, but for the charge `uncredited`. `odd`: a charge in unknown words.
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
