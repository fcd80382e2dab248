"""Which findings evidence is asked for: those a person names, or all that are strong."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import pandas as pd
from rapidfuzz import process

from auditor.audit import Audit
from auditor.match import bare
from auditor.report.evidence.claim import Refused

NEAR = 60.0
"""How alike two numbers are, of 100, for the one to be named where the other was not found."""


def chosen(audit: Audit, wanted: Sequence[str]) -> tuple[list[str], list[Refused]]:
    """The findings' numbers in their order, and what was asked for in vain.

    Args:
        audit: the run.
        wanted: numbers of parcels, as recorded or as billed, or of findings ('F012'); none: all strong ones.
    """
    findings = audit.findings
    if not wanted:
        return list(findings.loc[findings["dispute"] == "strong", "finding"]), []
    asked = [(text, set(_named(findings, text))) for text in wanted]
    names = set().union(*(found for _, found in asked))
    refused = [Refused(text, _in_vain(audit, text)) for text, found in asked if not found]
    return [name for name in findings["finding"] if name in names], refused


def _named(findings: pd.DataFrame, text: str) -> Iterator[str]:
    number = _bare(text)
    same = [bare(findings[column]) == number for column in ("tracking", "shipment_tracking", "finding")]
    yield from findings["finding"][(same[0] | same[1] | same[2]).fillna(value=False)]


def _bare(text: str) -> str:
    return str(bare(pd.Series([text], dtype="str"))[0])


def _in_vain(audit: Audit, text: str) -> str:
    """Why there is no finding: the parcel is in order now, was never billed, or is not known, and what is like it."""
    number = _bare(text)
    if any((bare(audit.lines[column]) == number).any() for column in ("tracking", "recorded")):
        return (
            "everything billed for this parcel is as expected, so there is nothing to dispute. If an earlier report "
            "had a finding about it, a credit or a corrected statement among these files has settled it: send nothing "
            "more"
        )
    if (bare(audit.shipments["tracking"]) == number).any():
        return "it is in your records, but no statement among these files bills it"
    known = [*audit.findings["tracking"].dropna(), *audit.findings["shipment_tracking"].dropna()]
    like = process.extractOne(number, list(dict.fromkeys(known)), processor=_bare, score_cutoff=NEAR)
    nearest = f". The nearest that has a finding is {like[0]}" if like else ""
    return (
        "it is neither a file or folder, nor the number of a parcel or finding here. The numbers of findings (F001 …) "
        f"hold for one run only{nearest}"
    )
