"""All files together: which are papers about prepaid labels, held against the shop's own records."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

import pandas as pd

from auditor.core.schemas import MOVES, Problem, conform
from auditor.intake.documents import why
from auditor.intake.reading.agreement import ONE_IN_1000
from auditor.intake.reading.choice import OF_STATEMENTS
from auditor.intake.reading.known import Known
from auditor.intake.reading.own_files import Part
from auditor.intake.reading.pages import ways
from auditor.intake.reading.prepaid import letters
from auditor.intake.reading.prepaid.balance import breaks
from auditor.intake.reading.prepaid.lines import lines_of, notices_of
from auditor.intake.reading.prepaid.papers import Paper, labels_billed, paper

MOST_PAGES = 40
"""Corrections of labels that are bought one by one stand on fewer pages; more are seen in one way (chosen)."""
OWN = frozenset({"shipments", "cartons"})
"""What a list of parcels with sizes may have been taken for, where its words are not known."""
KnownBy = Callable[[Sequence[Part]], Known]
"""Files → what the shop's own among them make known."""


def papers_among(parts: Sequence[Part], known_by: KnownBy, beside: int = 0) -> dict[int, Paper | Problem]:
    """The files, by place, that are papers about prepaid labels; or why that could not be told of one.

    Args:
        parts: what each file gave.
        known_by: what files make known.
        beside: so many of the first are only evidence.
    """
    asked = {at: part for at, part in enumerate(parts) if at >= beside and _may_be_one(part)}
    own = [part for part in parts if not {*part.tables} & OF_STATEMENTS]
    if not asked or not any("shipments" in part.tables for part in own):
        return {}
    known = _at_a_cost(known_by(own))
    if known.shipments["label_cost_cents"].isna().all():
        return {}
    billed = labels_billed([(part.name, part.tables) for part in parts], known)
    found = {at: one for at, part in asked.items() if (one := _table(part, own, known_by, known, billed))}
    moves = any("moves" in part.tables for part in parts) or any(isinstance(one, Paper) for one in found.values())
    no_lines = not any("lines" in part.tables for at, part in enumerate(parts) if at not in found)
    for at, part in asked.items():
        if at not in found and (one := _letter(part, known, billed, alone=moves or no_lines)):
            found[at] = one
    return found


def _at_a_cost(known: Known) -> Known:
    """What is known, with a recorded cost of nothing as none: that is a cell that nobody filled in."""
    cost = known.shipments["label_cost_cents"]
    return replace(known, shipments=known.shipments.assign(label_cost_cents=cost.mask(cost == 0)))


def given_by(found: Paper) -> dict[str, pd.DataFrame]:
    """The tables of a file that is such a paper, by name."""
    lines, notices = lines_of(found.moves), notices_of(found.moves)
    return {"moves": found.moves, "lines": lines, "notices": notices, "printed_totals": found.totals}


def _may_be_one(part: Part) -> bool:
    """Whether a file is a carrier's as it seems, or of the shop's own parcels or cartons, which others may hold too."""
    told = part.picture or any(sheet.told for sheet in part.sheets)
    return not told and bool(part.grids or part.lists) and {*part.tables} <= {*OF_STATEMENTS, *OWN}


def _elsewhere(part: Part, billed: Mapping[str, frozenset[int]]) -> frozenset[int]:
    """The parcels whose labels other files bill."""
    return frozenset(row for file, rows in billed.items() if file != part.name for row in rows)


def _table(
    part: Part, own: Sequence[Part], known_by: KnownBy, known: Known, billed: Mapping[str, frozenset[int]]
) -> Paper | Problem | None:
    """What a file's tables are; of one that was taken for records it has to be shown by what the others say."""
    if not part.grids:
        return None
    others = [one for one in own if one is not part]
    try:
        known = known if len(others) == len(own) else _at_a_cost(known_by(others))
        found = _best_seen(part, known, _elsewhere(part, billed))
    except Exception as error:  # noqa: BLE001 - what words made of the file is there, and is worth more than nothing
        return _failed(part, error)
    shown = found is not None and (found.proven or found.pairs or found.of_both or found.odds >= ONE_IN_1000)
    if found is None or ("shipments" in part.tables and not shown):
        return None
    return found


def _best_seen(part: Part, known: Known, elsewhere: frozenset[int]) -> Paper | None:
    """A file's tables as such a paper; pages are seen in other ways until that is proven."""
    found = paper(part.name, part.grids, known, elsewhere)
    pages = part.printed.pages if part.printed else ()
    if len(pages) > MOST_PAGES:
        return found
    for way in ways(known) if pages else ():
        if found is not None and found.proven:
            break
        seen = paper(part.name, way(pages), known, elsewhere)
        if seen is not None and (found is None or seen.worth > found.worth):
            found = seen
    return found


def _letter(part: Part, known: Known, billed: Mapping[str, frozenset[int]], *, alone: bool) -> Paper | Problem | None:
    """What a file's letters are; `alone`: whether an amount alone may be a correction, as where others are."""
    if not part.lists or not {*part.tables} <= {"notices"}:
        return None
    try:
        grids = [grid for letter in part.lists for grid in letters.tables(letter, known)]
        found = paper(part.name, grids, known, _elsewhere(part, billed), alone=alone)
    except Exception as error:  # noqa: BLE001 - as above
        return _failed(part, error)
    return None if found is None else _dated(found, part)


def _dated(found: Paper, part: Part) -> Paper:
    """With the day of the letter where none is said."""
    written = part.tables["notices"]["noticed_on"].dropna() if "notices" in part.tables else pd.Series(dtype="object")
    if written.empty:
        return found
    on = found.moves["statement_on"].fillna(written.min())
    return replace(found, moves=conform(found.moves.assign(statement_on=on), MOVES))


def _failed(part: Part, error: Exception) -> Problem:
    return Problem(part.name, "", f"This file could not be held against your labels. {why(error)}")


def told(found: Paper, part: Part) -> Iterator[Problem]:
    """What the file was taken for, and where its balance does not run."""
    yield Problem(part.name, "", found.said, note=True)
    if found.moves["balance_cents"].notna().any():
        yield from breaks(found.moves)
