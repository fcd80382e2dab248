"""Which findings evidence is asked for: those a person names, or all that are strong (of a book: and not sent yet)."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd
from rapidfuzz import process

from auditor.audit import Audit
from auditor.book.kept_audit import Recalled, originals
from auditor.core.money import dollars
from auditor.core.schemas import looked_up
from auditor.match import normalised
from auditor.report.evidence.claim import Refused
from auditor.report.plain import plain_rows

NEAR = 60.0
"""How alike two numbers are, of 100, for the one to be named where the other was not found."""


FINDING = re.compile(r"F\d{3,}", re.ASCII | re.IGNORECASE)
"""How a finding's number looks."""

OF_ONE_RUN = (
    "the numbers of findings (F001 …) hold for one run's report only. Name the parcel by its tracking number, or a "
    "charge about no parcel by the words that 'auditor disputes' lists it under"
)
CLOSED = {
    "credited": "all of it was credited ({credited}), so there is nothing left to ask for",
    "refused": "the carrier refused it. To ask once more, take it up again: auditor disputes take-up-again {name}",
    "given up": "you gave it up. To ask for it after all, take it up again: auditor disputes take-up-again {name}",
}
"""Why nothing is made for a dispute in such a state."""


def chosen(audit: Audit, wanted: Sequence[str] | None) -> tuple[list[str], list[Refused]]:
    """The findings' numbers in their order, and what was asked for in vain.

    Args:
        audit: the run.
        wanted: numbers of parcels, as recorded or as billed, or of findings ('F012'); None: all strong ones.
    """
    findings = audit.findings
    if wanted is None:
        return list(findings.loc[_strong(findings), "finding"]), []
    favour = set(findings.loc[(findings["difference_cents"] < 0).fillna(value=False), "finding"])
    named = [(text, set(_named(findings, text))) for text in wanted]
    # A credit is a finding too; it is meant only where there is nothing else to say of that parcel.
    asked = [(text, found - favour or found) for text, found in named]
    names = set().union(*(found for _, found in asked))
    refused = [Refused(text, _in_vain(audit, text)) for text, found in asked if not found]
    return [name for name in findings["finding"] if name in names], refused


def _strong(findings: pd.DataFrame) -> pd.Series:
    """Findings of which at least a part is strong by itself."""
    strong: pd.Series = (findings["strong_cents"] > 0).fillna(value=False)
    return strong


@dataclass(frozen=True)
class FromBook:
    """What evidence is to be made of in a book: findings' numbers, refusals, kept originals, what there is to say."""

    names: tuple[str, ...]
    refused: tuple[Refused, ...]
    originals: Mapping[str, Path]
    notes: tuple[str, ...]


def of_book(held: Recalled, wanted: Sequence[str] | None) -> FromBook:
    """The findings of a book that evidence is asked for, with the originals it is made from.

    A finding is refused where the original of the seller's record is missing: it tells which words are the buyer's.

    Args:
        held: the book.
        wanted: numbers of parcels, as recorded or as billed, or the words that a dispute about no parcel is listed
            under; None: all strong ones that were not sent yet.
    """
    names, refused = _of_disputes(held, wanted)
    kept = originals(held, names)
    records = {name: kept.faults[file] for name, file in _records(held.audit, names) if file in kept.faults}
    called = held.audit.findings.set_index("finding")["tracking"]
    refused += [
        Refused(str(called[name]), f"{why}. Without it nobody can tell which words are the buyer's")
        for name, why in records.items()
    ]
    notes = [
        f"{fault[0].upper()}{fault[1:]}. What is made of its lines has no picture of them and no digest of it."
        for file, fault in kept.faults.items()
        if fault not in records.values()
    ]
    return FromBook(tuple(name for name in names if name not in records), tuple(refused), kept.paths, tuple(notes))


def _records(audit: Audit, names: Sequence[str]) -> Iterator[tuple[str, str]]:
    """Each finding with the file of the seller's record that its parcel stands in."""
    lines = audit.lines[audit.lines["finding"].isin(names)].dropna(subset="shipment").drop_duplicates("finding")
    files = audit.shipments.loc[lines["shipment"].astype(int), "source_file"]
    yield from zip(lines["finding"], files, strict=True)


def _of_disputes(held: Recalled, wanted: Sequence[str] | None) -> tuple[list[str], list[Refused]]:
    findings, states = held.audit.findings, held.disputes.dropna(subset="finding").set_index("finding")["state"]
    if wanted is None:
        state = looked_up(findings["finding"], states).fillna("open")
        return list(findings.loc[_strong(findings) & (state == "open"), "finding"]), []
    names: set[str] = set()
    refused: list[Refused] = []
    for text in dict.fromkeys(wanted):
        disputed = plain_rows(held.disputes[_is_called(held.disputes, text)])
        closed = [(dispute, why) for dispute in disputed if (why := _closed(held, dispute))]
        found, in_vain = ([], [Refused(text, OF_ONE_RUN)]) if FINDING.fullmatch(text) else chosen(held.audit, [text])
        names |= {*found, *(dispute["finding"] for dispute in disputed)} - {dispute["finding"] for dispute, _ in closed}
        refused += [Refused(f"{dispute['about']} on statement {dispute['statement']}", why) for dispute, why in closed]
        refused += [] if disputed else in_vain
    return [name for name in findings["finding"] if name in names], refused


def _is_called(disputes: pd.DataFrame, text: str) -> pd.Series:
    """Which disputes are about that parcel, or are listed under those words."""
    same = [normalised(disputes[column]) == _normalised(text) for column in ("about", "tracking", "shipment_tracking")]
    return (disputes["about"] == text) | (same[0] | same[1] | same[2]).fillna(value=False)


def _closed(held: Recalled, dispute: dict[str, Any]) -> str:
    """Why there is nothing to ask for with a dispute of the book; "" when there is."""
    if dispute["state"] in CLOSED:
        name = shlex.quote(dispute["about"])
        return CLOSED[dispute["state"]].format(credited=dollars(dispute["credited_cents"]), name=name)
    return "" if dispute["finding"] else _gone(held, dispute)


def _gone(held: Recalled, dispute: dict[str, Any]) -> str:
    """Why a finding that was disputed is found no more, and what to do about what was sent."""
    statement = dispute["statement"]
    aside = " and ".join(
        f"{file.name} was set aside{f' ({file.set_aside})' if file.set_aside else ''}"
        for file in held.set_aside.get(statement, ())
    )
    if (held.audit.lines["statement"].fillna("") == statement).any():
        now = f"but by what the book holds now nothing is wrong with it{f', since {aside}' if aside else ''}. "
        now += "A corrected statement, a record or a price that came later has settled it"
    else:
        now = f"but that statement is no longer counted: {aside or 'its file is read otherwise now'}"
    do = "Send nothing about it"
    if dispute["sent_on"]:
        do = f"You sent it on {dispute['sent_on']:%Y-%m-%d}: tell the carrier, and then mark it as given up"
    return f"it was found on {dispute['opened_on']:%Y-%m-%d}, {now}. {do}"


def _named(findings: pd.DataFrame, text: str) -> Iterator[str]:
    number = _normalised(text)
    same = [normalised(findings[column]) == number for column in ("tracking", "shipment_tracking", "finding")]
    yield from findings["finding"][(same[0] | same[1] | same[2]).fillna(value=False)]


def _normalised(text: str) -> str:
    return str(normalised(pd.Series([text], dtype="str"))[0])


def _in_vain(audit: Audit, text: str) -> str:
    """Why there is no finding: the parcel is in order now, was never billed, or is not known, and what is like it."""
    number = _normalised(text)
    if any((normalised(audit.lines[column]) == number).any() for column in ("tracking", "recorded")):
        return (
            "everything billed for this parcel is as expected, so there is nothing to dispute. If an earlier report "
            "had a finding about it, a credit or a corrected statement among these files has settled it: send nothing "
            "more"
        )
    if (normalised(audit.shipments["tracking"]) == number).any():
        return "it is in your records, but no statement among these files bills it"
    known = [*audit.findings["tracking"].dropna(), *audit.findings["shipment_tracking"].dropna()]
    like = process.extractOne(number, list(dict.fromkeys(known)), processor=_normalised, score_cutoff=NEAR)
    nearest = f". The nearest that has a finding is {like[0]}" if like else ""
    return (
        "it is neither a file or folder, nor the number of a parcel or finding here. The numbers of findings (F001 …) "
        f"hold for one run only{nearest}"
    )
