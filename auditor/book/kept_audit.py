"""What the book holds, reckoned again and not written: for evidence and workings made months later.

The originals kept beside the book stand in for the files that were given then.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd

from auditor import intake
from auditor.audit import Audit, audited
from auditor.book.all_months import rules_text
from auditor.book.filing import PHOTOGRAPH, parts_of
from auditor.book.kept_disputes import disputes
from auditor.book.keys import keyed
from auditor.book.ledger import opened, reading_out, recording
from auditor.book.ledger.check import original_fault
from auditor.book.ledger.reading_out import Filed
from auditor.disputes.history import KEY, not_mine
from auditor.findings.assembly import Finding
from auditor.intake.files import base_name
from auditor.intake.readings import saved
from auditor.tariff import expecting
from auditor.tariff import opened as rules_opened


@dataclass(frozen=True)
class Recalled:
    """A book as it is now.

    `audit`: of all that counts in it; no more of a finding is worth disputing than is open of its dispute.
    `disputes`: `tables.DISPUTES` with `finding`, its number in `audit`, missing where nothing is found any more.
    `files`: all files of the book. `set_aside`: those not counted, by the statements they have lines of.
    `other_rules`: by statement, the rules that it was reckoned by before, where those are not the ones of `audit`.
    """

    audit: Audit
    disputes: pd.DataFrame
    files: tuple[Filed, ...]
    set_aside: Mapping[str, Sequence[Filed]]
    other_rules: Mapping[str, str]


@dataclass(frozen=True)
class Originals:
    """Kept originals by the names that the audit knows them by, photographs by the names in the records.

    `faults`: by the file's name, what is wrong with one that is needed and is not among them, for the user.
    """

    paths: Mapping[str, Path]
    faults: Mapping[str, str]


def recalled(
    book: Path, *, rules: str | Path | Mapping[str, str | Path] = "us-ground-common", readings: Path | None = None
) -> Recalled:
    """Reckon all that is in the book, and write nothing.

    Args:
        book: the book's file.
        rules: as in `auditor.reconcile`.
        readings: folder of saved readings, for what they say of charges.

    Raises:
        auditor.tariff.RuleError: the rules cannot be used.
        auditor.book.BookError: there is no book, or it cannot be read.
    """
    rulebook = rules_opened(rules)
    with opened(book, writable=False) as held:
        parts = [part for _, part in parts_of(held)]
        kept, files = disputes(held), reading_out.files(held)
        aside = reading_out.statements_set_aside(held)
        with held.reading() as connection:
            reckoned, answers = recording.statements(connection), not_mine(recording.history(connection))
    kept_readings, _ = saved(readings)
    taken = intake.together(parts, charges=rulebook.charges, expecting=expecting(rulebook), readings=kept_readings)
    audit = audited(taken, rulebook, answers)
    by_name = keyed(audit)[1][[*KEY, "finding"]]
    kept = kept.merge(by_name, on=KEY, how="left").astype({"finding": "str"})
    by_statement = zip(reckoned["statement"], reckoned["rules"], strict=True)
    others = {statement: earlier for statement, earlier in by_statement if earlier != rules_text(rulebook)}
    return Recalled(_with_what_is_open(audit, kept), kept, tuple(files), aside, others)


def _with_what_is_open(audit: Audit, kept: pd.DataFrame) -> Audit:
    """The audit, its findings worth no more than is open of their disputes: what was marked by hand counts too."""
    open_ = kept.dropna(subset="finding").set_index("finding")["open_cents"].astype(np.int64).to_dict()
    findings = {
        name: _worth_at_most(finding, open_[name]) if name in open_ else finding
        for name, finding in audit.workings.findings.items()
    }
    return replace(audit, workings=replace(audit.workings, findings=findings))


def _worth_at_most(finding: Finding, cents: int) -> Finding:
    stands = finding.standing
    if not 0 < cents < stands.cents:
        return finding
    back, strong = stands.returned_cents + stands.cents - cents, min(stands.strong_cents, cents)
    return replace(finding, standing=replace(stands, cents=cents, strong_cents=strong, returned_cents=back))


def originals(held: Recalled, findings: Sequence[str]) -> Originals:
    """The kept originals that papers about these findings are made from, each held against its digest."""
    audit = held.audit
    lines = audit.lines[audit.lines["finding"].isin(findings)]
    shipments = audit.shipments.loc[lines["shipment"].dropna().astype(int).unique()]
    sources = {*lines["source_file"], *shipments["source_file"]}
    photos = {base_name(photo) for photo in shipments["photo"].dropna()}
    needed = {file.name: file for file in held.files if file.name in sources and file.reading != PHOTOGRAPH}
    # Two photographs of one name are both given, since only a person knows which it is.
    needed |= {
        f"{file.digest}/{base_name(file.own_name)}": file
        for file in held.files
        if file.reading == PHOTOGRAPH and base_name(file.own_name) in photos
    }
    faults = {file.name: fault for file in needed.values() if (fault := original_fault(file))}
    return Originals({name: file.path for name, file in needed.items() if file.name not in faults}, faults)
