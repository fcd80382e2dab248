"""A file's statements, read by words or by evidence: whichever its sums and the shop's records prove better."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.core.schemas import LINES, PRINTED_TOTALS, Problem, joined
from auditor.intake.documents import Grid
from auditor.intake.reading.interpret import Interpreted, interpret
from auditor.intake.reading.known import Known
from auditor.intake.reading.proof import Proof, proof_of

OF_STATEMENTS = frozenset({"lines", "printed_totals", "reissues", "notices"})
"""What a carrier's file may have been read as; one with anything else in it is the shop's own."""
KNOWN_WORDS = float(np.log(1000.0))
"""How much better than a reading by words that were known another has to be (chosen, as what a sum to the cent is)."""
BY_FIGURES = (
    "The words of this file did not tell what its columns are, so it was read by its figures, held against your "
    "records: {}. 'auditor columns' shows the reading."
)


@dataclass(frozen=True)
class Read:
    """A statement's lines and printed totals, and what was understood of each table."""

    tables: Mapping[str, pd.DataFrame]
    interpreted: tuple[Interpreted, ...]
    problem: Problem


def by_evidence(file: str, grids: Iterable[Grid], tables: Mapping[str, pd.DataFrame], known: Known) -> Read | None:
    """What a carrier's file is by evidence; None where what words made of it is proven, or proven better.

    Args:
        file: the file's name.
        grids: its tables as they stand in the file.
        tables: what words made of it, by name (`auditor.intake.TABLES`).
        known: what is known beside it.
    """
    if known.nothing or not tables.keys() <= OF_STATEMENTS:
        return None
    by_words = _proof(tables, known, ())
    if by_words is not None and by_words.grade == "proven":
        return None
    found = tuple(one for one in (interpret(file, grid, known) for grid in grids) if one is not None)
    if not found:
        return None
    read = {
        "lines": joined([one.lines for one in found], LINES),
        "printed_totals": joined([one.totals for one in found], PRINTED_TOTALS),
    }
    proof = _proof(read, known, _printed(tables))
    if proof is None or (by_words is not None and by_words.odds + KNOWN_WORDS >= proof.odds):
        return None
    kept = {name: table for name, table in tables.items() if name not in {*read, "notices"}}
    return Read({**kept, **read}, found, Problem(file, "", BY_FIGURES.format(proof.sentence), note=True))


def _printed(tables: Mapping[str, pd.DataFrame]) -> Collection[int]:
    """The totals that words found: another reading has to come to them as well."""
    totals = tables["printed_totals"]["printed_total_cents"].dropna() if "printed_totals" in tables else ()
    return [int(cents) for cents in totals]


def _proof(tables: Mapping[str, pd.DataFrame], known: Known, also: Collection[int]) -> Proof | None:
    """What proves the reading of all of a file's statements together; None where there are no lines."""
    if "lines" not in tables or tables["lines"].empty:
        return None
    lines, totals = tables["lines"], tables["printed_totals"]
    whole = lines.groupby("statement", dropna=False)["amount_cents"].sum()
    printed = totals.drop_duplicates("statement").set_index("statement")["printed_total_cents"].dropna()
    if printed.empty and not also:
        return proof_of(lines, printed, known)
    read = int(lines["amount_cents"].sum())
    ties = bool(len(printed)) and bool(whole.reindex(printed.index).eq(printed).fillna(value=False).all())
    ties = (ties or printed.empty) and (not also or read in {*also, sum(also)})
    return proof_of(lines, pd.Series([read if ties else read + 1], dtype="Int64"), known)
