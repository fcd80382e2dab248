"""What tells lines, findings and disputes apart from run to run."""

from __future__ import annotations

import pandas as pd

from auditor.audit import Audit
from auditor.core.money import dollars
from auditor.core.schemas import looked_up
from auditor.match import normalised


def keyed(audit: Audit) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The lines and findings of an Audit with what tells them apart from run to run.

    Both get `about`: the parcel's number as billed, without blanks and signs, or for a charge about no parcel its name
    and amount, and which of several such on that statement it is. Both get `month`, of shipping. The lines get
    `number`, by which parcels are compared; the findings `worth_cents`, what is worth disputing.
    """
    lines, findings = audit.lines, audit.findings
    lines = lines.assign(statement=lines["statement"].fillna(""), month=_months(lines, audit.shipments))
    lines["number"] = normalised(lines["recorded"].fillna(lines["tracking"]))
    worth = {name: finding.standing.claim_cents for name, finding in audit.workings.findings.items()}
    # A finding about all labels of a statement has no lines of its own; it stands in the month of the first.
    by_statement = lines.drop_duplicates("statement").set_index("statement")["month"]
    findings = findings.assign(
        statement=findings["statement"].fillna(""),
        about=_about(findings),
        worth_cents=findings["finding"].map(worth).astype("Int64"),
        month=looked_up(
            findings["finding"], lines.dropna(subset="finding").drop_duplicates("finding").set_index("finding")["month"]
        ).fillna(looked_up(findings["statement"].fillna(""), by_statement)),
        number=normalised(findings["shipment_tracking"].fillna(findings["tracking"])),
    )
    by_finding = findings.set_index("finding")["about"]
    lines["about"] = looked_up(lines["finding"], by_finding).fillna(normalised(lines["tracking"])).fillna("")
    lines["amount_cents"] = lines["amount_cents"].fillna(0)
    return lines, findings


def _about(findings: pd.DataFrame) -> pd.Series:
    charge = findings["charges"] + " " + findings["billed_cents"].map(dollars).astype("str")
    nth = findings.assign(charge=charge).groupby(["statement", "charge"], dropna=False).cumcount() + 1
    charge = charge.where(nth == 1, charge + " (" + nth.astype("str") + ")")
    number = normalised(findings["tracking"])
    return number.where(number.notna() & (number != ""), findings["tracking"].fillna(charge)).astype("str")


def _months(lines: pd.DataFrame, shipments: pd.DataFrame) -> pd.Series:
    """The month in which each line's parcel was shipped, by the record, else as billed; else the statement's."""
    day = looked_up(lines["shipment"], shipments["shipped_on"])
    day = day.fillna(lines["shipped_on"]).fillna(lines["statement_on"])
    months: pd.Series = day.dt.strftime("%Y-%m").fillna("").astype("str")
    return months
