"""The part of an Audit of everything that a run shows: what is about the statements it was given."""

from __future__ import annotations

from dataclasses import replace

from auditor.audit import Audit


def excerpt(audit: Audit, files: set[str], statements: set[str]) -> Audit:
    """The part of an Audit of everything that is about some statements, its findings numbered anew.

    Args:
        audit: of everything.
        files: the names of the files given; labels never billed are shown of these.
        statements: the statements to show.
    """
    lines = audit.lines[audit.lines["statement"].isin(statements)]
    findings = audit.findings[audit.findings["statement"].isin(statements)]
    names = {old: f"F{number:03d}" for number, old in enumerate(findings["finding"], 1)}
    lines = lines.assign(finding=lines["finding"].map(names).astype("str"))
    findings = findings.assign(finding=findings["finding"].map(names).astype("str")).reset_index(drop=True)
    readings = audit.readings[audit.readings["statement"].isin(statements)]
    shipments = audit.shipments
    is_shown = shipments["source_file"].isin(files) | shipments.index.isin(lines["shipment"].dropna())
    numbered = {names[old]: finding for old, finding in audit.workings.findings.items() if old in names}
    unrecorded = lines["tracking"].notna() & lines["shipment"].isna() & (lines["state"] != "not ours")
    billed, difference = int(lines["amount_cents"].sum()), int(findings["difference_cents"].sum())
    not_audited = int(findings.loc[findings["expected_cents"].isna(), "billed_cents"].sum())
    not_audited += int(lines.loc[unrecorded, "amount_cents"].sum())
    voided = findings.loc[findings["cause"] == "voided label", "shipment_tracking"]
    return replace(
        audit,
        shipments=shipments[is_shown],
        lines=lines,
        statements=audit.statements[audit.statements["statement"].isin(statements)].reset_index(drop=True),
        readings=readings.assign(finding=readings["finding"].map(names).astype("str")).reset_index(drop=True),
        findings=findings,
        moves=audit.moves[audit.moves["source_file"].isin(files)].reset_index(drop=True),
        never_billed=audit.never_billed[audit.never_billed["source_file"].isin(files)],
        voided_billed=audit.voided_billed[audit.voided_billed["tracking"].isin(voided)],
        billed_cents=billed,
        expected_cents=billed - difference - not_audited,
        difference_cents=difference,
        not_audited_cents=not_audited,
        disputable_cents=int(findings["disputable_cents"].sum()),
        workings=replace(audit.workings, findings=numbered, lines=lines),
        replaced=audit.replaced[audit.replaced["by_statement"].isin(statements)].reset_index(drop=True),
    )
