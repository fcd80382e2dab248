"""Small hand-made Audits for the tests of what is written from one. Every figure in them is invented."""

from __future__ import annotations

from decimal import Decimal
from itertools import count
from typing import Any, cast

import pandas as pd

from auditor.audit import Audit, Limit, Step
from auditor.core import schemas, units
from auditor.core.schemas import Problem
from auditor.findings.working import Workings
from auditor.tariff import Prices, opened

Row = dict[str, Any]

HOSTILE = "<script>alert(1)</script>"
FORMULA = '=HYPERLINK("https://evil.example","pay")'

LIMITS = (
    Limit("additional handling", 48 * units.NM_PER_INCH),
    Limit("large parcel", 96 * units.NM_PER_INCH),
    Limit("not accepted", 108 * units.NM_PER_INCH),
)


NO_PRICES = Prices(*(schemas.empty(schema) for schema in (schemas.RATES, schemas.FEES, schemas.FUEL)))


def inch(value: str | float) -> int:
    """Inches as nanometres."""
    return units.small(Decimal(str(value)), "in", "length")


def pound(value: str | float) -> int:
    """Pounds as picograms."""
    return units.small(Decimal(str(value)), "lb", "weight")


def table(rows: list[Row], schema: schemas.Schema) -> pd.DataFrame:
    """The rows as a table of that schema."""
    return schemas.conform(pd.DataFrame(rows), schema) if rows else schemas.empty(schema)


def finding(number: int, tracking: str, cause: str | None, billed: int, expected: int | None, **more: object) -> Row:
    """A finding with its whole difference under one share, unless `more` says otherwise."""
    share = {"box length": "box_length", "box girth": "box_girth", "declared weight": "declared_weight"}
    difference = None if expected is None else billed - expected
    dispute = more.get("dispute", "none")
    asked = max(difference or 0, 0) if dispute != "none" else 0
    return {
        "finding": f"F{number:03d}",
        "shipment_tracking": tracking,
        "tracking": tracking,
        "match": "exact",
        "confidence": 0.999,
        "statement": "NP-2026-03",
        "charges": "freight",
        "billed_cents": billed,
        "expected_cents": expected,
        "difference_cents": difference,
        "cause": cause,
        **{f"{name}_cents": None if difference is None else 0 for name in schemas.SHARES},
        f"{share.get(cause or '', cause if cause == 'rounding' else 'other')}_cents": difference,
        "price_basis": "table",
        "dispute": "none",
        "dispute_reason": "the carrier is within its rules",
        "source_file": "norrhaven-2026-03.csv",
        "source_place": f"row {10 * number}",
        "disputable_cents": asked,
        "strong_cents": asked if dispute == "strong" else 0,
        **more,
    }


FINDINGS: list[Row] = [
    finding(
        1,
        "NP4410026031700123",
        "box length",
        5312,
        2216,
        order="Q-10231",
        carton="guitar box",
        charges="freight; additional handling; fuel",
        box_length_cents=2941,
        rounding_cents=155,
        dispute="arguable",
        dispute_reason="the reading is a quarter inch from the limit; a photograph with a tape would decide it",
        dispute_by="2026-04-14",
        explanation="You declared 48 in; the scanner read 48.31 in, which rounds up to 49 in and passes the 48 in "
        "limit: additional handling and its fuel, $30.96. Half an inch less would have avoided it.",
    ),
    finding(
        2,
        "NP4410026031700208",
        "rounding",
        4810,
        2105,
        order="Q-10240",
        carton="guitar box",
        charges="additional handling; fuel",
        explanation="You declared 48 in and the scanner read 48.12 in: within the tape's tolerance, but rounds up to "
        "49 in and passes the 48 in limit. Cut this carton to 47.5 in.",
    ),
    finding(
        3,
        "NP4410026031700311",
        "declared weight",
        1990,
        1437,
        order="Q-10251",
        carton="horn case box",
        explanation="You declared 9 lb; the scale read 12.4 lb, billed as 13 lb: $5.53 more freight and fuel.",
    ),
    finding(
        4,
        "NP 4410 0260 3170 0412",
        "box girth",
        2640,
        2010,
        shipment_tracking="NP4410026031700412",
        match="spacing",
        order="Q-10262",
        carton="keyboard box",
        explanation="You declared 18 in for the second side; the carrier billed 20 in.",
    ),
    finding(
        5,
        "NP4410026031700555",
        "duplicate",
        2874,
        1437,
        order="Q-10270",
        carton="stand tube",
        dispute="strong",
        dispute_reason="the same freight for the same parcel stands on rows 50 and 51",
        dispute_by="2026-04-10",
        explanation="Freight of $14.37 was billed twice.",
    ),
    finding(
        6,
        "NP9999999999999999",
        "unknown parcel",
        1820,
        0,
        shipment_tracking=None,
        match="none",
        confidence=None,
        dispute="strong",
        dispute_reason="no parcel of this number was sent",
        dispute_by="2026-04-14",
        explanation="You recorded no shipment with this number.",
    ),
    finding(
        7,
        HOSTILE,
        "unexplained",
        999,
        0,
        shipment_tracking=None,
        match="none",
        confidence=None,
        charges=FORMULA,
        explanation=f"The statement says {HOSTILE} and nothing explains it.",
        dispute="arguable",
        dispute_reason="ask what it is for",
    ),
    finding(
        8,
        "LP00412233US",
        "rate",
        1650,
        1500,
        statement="LP-2026-03",
        order="Q-10299",
        carton="uke box",
        dispute="strong",
        dispute_reason="the rate table says $15.00",
        dispute_by="2026-05-02",
        source_file="larkrise-2026-03.pdf",
        source_place="page 2, row 7",
        explanation="The figures are yours, the price is not the table's: $16.50 for $15.00.",
    ),
    finding(
        9,
        "LP00412299US",
        "address",
        2100,
        1210,
        statement="LP-2026-03",
        order="Q-10301",
        carton="pedal box",
        source_file="larkrise-2026-03.pdf",
        source_place="page 3, row 2",
        explanation="The carrier corrected the address.",
    ),
    finding(
        10,
        "LP00412301US",
        "carrier arithmetic",
        1300,
        1342,
        statement="LP-2026-03",
        order="Q-10302",
        carton="uke box",
        source_file="larkrise-2026-03.pdf",
        source_place="page 3, row 9",
        explanation="The fuel surcharge is 42 cents less than its percentage.",
    ),
    finding(
        11,
        "LP00412377US",
        None,
        1875,
        None,
        statement="LP-2026-03",
        order="Q-10304",
        carton="horn case box",
        dispute=None,
        dispute_reason=None,
        price_basis=None,
        source_file="larkrise-2026-03.pdf",
        source_place="page 4, row 1",
        explanation="Your rate table has no price for service Parcel to zone 8 above 40 lb, so it could not be priced.",
    ),
    finding(
        12,
        "NP4410026031700777",
        "voided label",
        1437,
        0,
        order="Q-10311",
        carton="stand tube",
        price_basis="learned",
        dispute="strong",
        dispute_reason="you cancelled this label before use",
        dispute_by="2026-04-14",
        explanation="A label you cancelled was billed.",
    ),
]


def line(statement: str, tracking: str | None, description: str, amount: int | None, **more: object) -> Row:
    """A statement line with a label charge's state, unless `more` says otherwise."""
    return {
        "statement": statement,
        "statement_on": {"NP-2026-03": "2026-03-31", "LP-2026-03": "2026-04-02"}.get(statement),
        "tracking": tracking,
        "description": description,
        "charge": "freight",
        "amount_cents": amount,
        "state": "label charge",
        "shipped_on": "2026-03-04",
        "service": "Ground",
        "zone": "5",
        "source_file": "norrhaven-2026-03.csv",
        **more,
    }


BILLED_SIDES = {"billed_length_nm": inch(49), "billed_width_nm": inch(20), "billed_height_nm": inch(8)}

LINES: list[Row] = [
    line("NP-2026-03", "NP4410026031700123", "Freight", 2216, billed_weight_pg=pound(15), source_place="row 10"),
    line(
        "NP-2026-03",
        "NP4410026031700123",
        "Additional handling adjustment",
        3096,
        charge="additional handling",
        state="adjustment",
        billed_weight_pg=pound(40),
        **BILLED_SIDES,
        measured_weight_pg=pound("14.125"),
        order="Q-10231",
        source_place="row 11",
    ),
    line("NP-2026-03", "NP4410026031700555", "Freight", 1437, source_place="row 50"),
    line("NP-2026-03", "NP4410026031700555", "Freight", 1437, source_place="row 51"),
    line("NP-2026-03", "NP4410026031700900", "Freight", 1437, shipped_on="2026-03-28", source_place="row 60"),
    line("NP-2026-03", "NP4410026031700900", "Credit - freight", -137, state="credit", source_place="row 61"),
    line("NP-2026-03", "NP9999999999999999", "Freight", 1820, state="not ours", source_place="row 62"),
    line("NP-2026-03", HOSTILE, FORMULA, 999, charge=None, state="not ours", source_place="row 63"),
    line(
        "NP-2026-03",
        None,
        "Pickup service",
        2500,
        charge="pickup service",
        state="fee",
        shipped_on=None,
        service=None,
        zone=None,
        source_place="row 64",
    ),
    line(
        "LP-2026-03",
        "LP00412233US",
        "Freight",
        1650,
        service="Parcel",
        zone="4",
        source_file="larkrise-2026-03.pdf",
        source_place="page 2, row 7",
    ),
    line(
        "LP-2026-03",
        "LP00412299US",
        "  @Address correction",
        None,
        charge="address correction",
        state="not read",
        service="Parcel",
        source_file="larkrise-2026-03.pdf",
        source_place="page 3, row 2",
    ),
]

STATEMENTS: list[Row] = [
    {
        "statement": "NP-2026-03",
        "statement_on": "2026-03-31",
        "lines": 9,
        "lines_total_cents": 14805,
        "printed_total_cents": 14805,
        "difference_cents": 0,
        "ties": True,
        "source_file": "norrhaven-2026-03.csv",
    },
    {
        "statement": "LP-2026-03",
        "statement_on": "2026-04-02",
        "lines": 2,
        "lines_total_cents": 1650,
        "printed_total_cents": 2540,
        "difference_cents": -890,
        "ties": False,
        "source_file": "larkrise-2026-03.pdf",
    },
    {
        "statement": "LP-2026-02B",
        "statement_on": None,
        "lines": 0,
        "lines_total_cents": 0,
        "printed_total_cents": None,
        "difference_cents": None,
        "ties": None,
        "source_file": "larkrise-2026-02b.pdf",
    },
]


def shipment(tracking: str, place: str, **more: object) -> Row:
    """A shipment of the seller's record."""
    return {
        "tracking": tracking,
        "shipped_on": "2026-03-09",
        "source_file": "shipments.csv",
        "source_place": place,
        **more,
    }


NEVER_BILLED: list[Row] = [
    shipment("NP4410026031700888", "row 88", carton="stand tube", label_cost_cents=1437),
    shipment("NP4410026031700889", "row 89"),
]
VOIDED_BILLED: list[Row] = [
    shipment("NP4410026031700777", "row 77", carton="stand tube", label_cost_cents=1437, voided=True)
]
SHIPMENTS: list[Row] = [
    *NEVER_BILLED,
    *VOIDED_BILLED,
    shipment("NP4410026031700123", "row 2", carton="guitar box"),
    shipment("NP4410026031700555", "row 3", carton="stand tube"),
    shipment("NP4410026031700900", "row 4", carton="stand tube"),
    shipment("LP00412233US", "row 5", carton="uke box"),
    shipment("LP00412299US", "row 6", carton="pedal box"),
]


PARCELS = count(1)


def reading(carton: str, declared: float, read: float | None, *, rounded: bool, of: str | None = None) -> Row:
    """A reading of a carton's length, of a parcel of its own."""
    return {
        "shipment_tracking": f"NP{next(PARCELS):06d}",
        "carton": carton,
        "declared_length_nm": inch(declared),
        "measured_length_nm": None if read is None else inch(read),
        "measured_rounded": rounded,
        "finding": of,
    }


READINGS: list[Row] = [
    *(reading("guitar box", 48, read, rounded=False) for read in (48.31, 48.12, 48.14, 48.15, 47.96, 48.62)),
    *(reading("guitar box", 48, 49, rounded=True) for _ in range(9)),
    *(reading("guitar box", 48, 50, rounded=True) for _ in range(2)),
    *(reading("stand tube", 44, read, rounded=False) for read in (44.1, 44.2, 43.9)),
    reading("stand tube", 44, 45, rounded=True),
    *(reading("stand tube", 44, 44, rounded=True) for _ in range(20)),
    reading("uke box", 28, 29, rounded=True),
    reading("pedal box", 12, 12, rounded=True),
    reading("horn case box", 38, None, rounded=False),
    reading("oversize \N{MULTIPLICATION SIGN} case", 107, 109, rounded=True),
]

PROBLEMS = (
    Problem(
        "notice-4.eml",
        "",
        "This file ends in the middle, so nothing of it was read. Save the e-mail again and run once more.",
        unread=True,
    ),
    Problem(
        "larkrise-2026-03.pdf",
        "page 3, row 2",
        "The amount reads '8,9O', which is not a number. Look at the statement and tell the carrier, or type the row "
        "into a CSV file.",
    ),
    Problem("shipments.csv", "column Size", "Sizes without a unit were taken as inches.", note=True),
)

RULE = {"rule": "us-ground-common, additional handling", "version": "2026-01", "source": "common practice, no source"}
WORKINGS = {
    "F001": (
        (
            "By your figures",
            (
                Step("Sides 48 × 20 × 8 in, each rounded up to the inch", "48 × 20 × 8 in", **RULE),
                Step("48 in is not over 48 in: no additional handling", "$0.00", **RULE),
                Step("Freight of service Ground, zone 5, up to 15 lb", "$22.16"),
            ),
        ),
        (
            "By the carrier's figures",
            (
                Step("The side read as 48.31 in, rounded up to the inch", "49 in", **RULE),
                Step("49 in is over 48 in: additional handling", "$26.50", **RULE),
                Step("Fuel, 16.8 percent of $26.50, half up to the cent", "$4.46", source="fuel.csv, row 3"),
            ),
        ),
    ),
    "F007": (("By your figures", (Step(f"No shipment of the number {HOSTILE}", "$0.00"),)),),
}


JOINED: schemas.Schema = (
    *schemas.LINES,
    schemas.Column("shipment", schemas.WHOLE, "row of the shipments"),
    schemas.Column("recorded", schemas.TEXT, "the number there"),
    schemas.Column("finding", schemas.TEXT, "the finding about it"),
)
"""A statement line as an Audit holds it."""


def joined(row: Row) -> Row:
    """The line with the shipment of that number, and the finding about that parcel on that statement."""
    numbers = [shipment["tracking"] for shipment in SHIPMENTS]
    known = row["tracking"] in numbers
    about = [
        one["finding"] for one in FINDINGS if (one["tracking"], one["statement"]) == (row["tracking"], row["statement"])
    ]
    return {
        **row,
        "shipment": numbers.index(row["tracking"]) if known else None,
        "recorded": row["tracking"] if known else None,
        "finding": about[0] if about else None,
    }


REPLACED = [
    {
        "statement": "NP-2026-02<b>",
        "source_file": "february.csv",
        "by_statement": "NP-2026-02-R1",
        "by_file": "february-again.csv",
        "billed_cents": 10000,
        "now_cents": 9100,
        "reason": "its day is the later one, 2026-03-09",
    }
]


def month() -> Audit:
    """A month with findings of most causes, a statement that is out, problems, and hostile text."""
    return Audit(
        shipments=table(SHIPMENTS, schemas.SHIPMENTS),
        cartons=schemas.empty(schemas.CARTONS),
        lines=table([joined(row) for row in LINES], JOINED),
        statements=table(STATEMENTS, schemas.STATEMENTS),
        readings=table(READINGS, schemas.READINGS),
        findings=table(FINDINGS, schemas.FINDINGS),
        moves=schemas.empty(schemas.MOVES),
        never_billed=table(NEVER_BILLED, schemas.SHIPMENTS),
        voided_billed=table(VOIDED_BILLED, schemas.SHIPMENTS),
        problems=PROBLEMS,
        rules_name="us-ground-common",
        rules_version="2026-01",
        rules_sources=("common practice, no source", "NIST SP 811, Appendix B.8"),
        limits=LIMITS,
        rulebook=opened("us-ground-common"),
        prices=NO_PRICES,
        billed_cents=32607,
        expected_cents=14557,
        difference_cents=13675,
        not_audited_cents=4375,
        disputable_cents=8939,
        workings=cast("Workings", WORKINGS),
        replaced=table(REPLACED, schemas.REPLACED),
    )


def nothing() -> Audit:
    """A run that read nothing."""
    return Audit(
        shipments=schemas.empty(schemas.SHIPMENTS),
        cartons=schemas.empty(schemas.CARTONS),
        lines=schemas.empty(JOINED),
        statements=schemas.empty(schemas.STATEMENTS),
        readings=schemas.empty(schemas.READINGS),
        findings=schemas.empty(schemas.FINDINGS),
        moves=schemas.empty(schemas.MOVES),
        never_billed=schemas.empty(schemas.SHIPMENTS),
        voided_billed=schemas.empty(schemas.SHIPMENTS),
        problems=(),
        rules_name="us-ground-common",
        rules_version="2026-01",
        rules_sources=(),
        limits=(),
        rulebook=opened("us-ground-common"),
        prices=NO_PRICES,
        billed_cents=0,
        expected_cents=0,
        difference_cents=0,
        not_audited_cents=0,
        disputable_cents=0,
        workings=cast("Workings", {}),
    )
