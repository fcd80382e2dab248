"""A grid of a stranger's statement → its lines, by figures: the way to see it for which most speaks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.core.arrays import Places
from auditor.core.schemas import LINES, PRINTED_TOTALS, conform
from auditor.intake.documents import Grid
from auditor.intake.reading.cells import Column, columns_of
from auditor.intake.reading.known import Known
from auditor.intake.reading.roles import Role, roles_of
from auditor.intake.reading.structures import apart
from auditor.intake.reading.told_columns import as_told
from auditor.intake.reading.values import lines_frame, totals_frame
from auditor.intake.reading.weighing import Before, Way, weighed_ways
from auditor.intake.readings import Reading


@dataclass(frozen=True)
class Understood:
    """What a column was taken for: its heading, the role or None, and the sentences that say why."""

    heading: str
    role: str | None
    evidence: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Interpreted:
    """A grid read by evidence.

    `lines` (LINES, without charge and state) and `totals` (PRINTED_TOTALS); what each column was taken for; the name of
    the structure; the log odds of all evidence, and those of the next best way.
    """

    lines: pd.DataFrame
    totals: pd.DataFrame
    columns: tuple[Understood, ...]
    structure: str
    evidence: float
    runner_up: float
    said: tuple[str, ...] = ()


def interpret(file: str, grid: Grid, known: Known, readings: Sequence[Reading] = ()) -> Interpreted | None:
    """Read a grid; None where it has no number of the shop's parcels, or nothing that can be their charges.

    Args:
        file: its name.
        grid: the cells.
        known: what is known beside it.
        readings: what the user said of columns of these headings.
    """
    if known.nothing:
        return None
    page = as_told(columns_of(grid, slice(None)), grid, readings)
    height = len(grid.rows)
    whole = _best([np.arange(height)], page, known)
    parts = apart(page, known)
    several = _best(parts, page, known) if len(parts) > 1 else []
    best = max((whole, several), key=lambda ways: sum(way.odds for way, _ in ways))
    if not best or sum(way.odds for way, _ in best) <= 0:
        return None
    return _interpreted(file, grid, best, known)


def _best(parts: Sequence[Places], page: Sequence[Column], known: Known) -> list[tuple[Way, float]]:
    """The best way to read each part of a page, one after the other, with the odds of its runner-up."""
    before = Before(np.zeros(len(known.shipments), dtype=bool), None, 0)
    found = []
    for rows in parts:
        ways = sorted(weighed_ways(page, rows, known, before), key=lambda way: way.odds, reverse=True)
        if ways:
            found.append((ways[0], ways[1].odds if len(ways) > 1 else 0.0))
            before = before.and_of(ways[0], known)
    return found


def _interpreted(file: str, grid: Grid, best: Sequence[tuple[Way, float]], known: Known) -> Interpreted:
    ways = [way for way, _ in best]
    roles = [_roles(way, known) for way in ways]
    lines = pd.concat(
        [lines_frame(file, grid, way, its, known) for way, its in zip(ways, roles, strict=True)], ignore_index=True
    )
    totals = totals_frame(file, grid, ways[-1].total, lines)
    said = [f"{one.said} ({one.odds:+.0f})" for way in ways for one in way.evidence if one.odds]
    return Interpreted(
        conform(lines, LINES),
        conform(totals, PRINTED_TOTALS),
        tuple(one for way, its in zip(ways, roles, strict=True) for one in _columns(way, its)),
        "; ".join(dict.fromkeys(way.table.structure for way in ways)),
        sum(way.odds for way in ways),
        sum(rest for _, rest in best),
        tuple(said),
    )


def _roles(way: Way, known: Known) -> dict[int, Role]:
    rows = np.zeros(len(way.table), dtype=bool)
    rows[way.lines.row] = True
    taken = {*way.amounts.columns, *(way.name.columns if way.name else ())}
    return roles_of(way.table, way.where, rows, known, taken)


def _columns(way: Way, roles: dict[int, Role]) -> tuple[Understood, ...]:
    return tuple(_understood(way, at, roles.get(at)) for at in range(len(way.table.columns)))


def _understood(way: Way, at: int, role: Role | None) -> Understood:
    heading = way.table.columns[at].heading
    if at == way.where.at:
        return Understood(
            heading, "order" if way.where.by_order else "tracking", ("the shop's own numbers stand there",)
        )
    if at in way.amounts.columns:
        return Understood(heading, "charge" if way.amounts.apart else "amount_cents", ())
    if at == way.amounts.summed:
        return Understood(heading, "sum", ())
    if way.name and at in way.name.columns:
        return Understood(heading, "description", ())
    return Understood(heading, role.name, (role.said,)) if role else Understood(heading, None)
