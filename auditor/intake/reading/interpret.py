"""A grid of a stranger's statement → its lines, by figures: the way to see it for which most speaks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.core.schemas import LINES, PRINTED_TOTALS, conform
from auditor.intake.documents import Grid
from auditor.intake.reading.cells import columns_of
from auditor.intake.reading.known import Known
from auditor.intake.reading.roles import Role, roles_of
from auditor.intake.reading.values import lines_frame, totals_frame
from auditor.intake.reading.weighing import Way, weighed_ways


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


def interpret(file: str, grid: Grid, known: Known) -> Interpreted | None:
    """Read a grid; None where it has no number of the shop's parcels, or nothing that can be their charges."""
    if known.nothing:
        return None
    columns = columns_of(grid, slice(None))
    found = sorted(weighed_ways(columns, known), key=lambda way: way.odds, reverse=True)
    if not found or found[0].odds <= 0:
        return None
    return _interpreted(file, grid, found[0], found[1].odds if len(found) > 1 else 0.0, known)


def _interpreted(file: str, grid: Grid, way: Way, runner_up: float, known: Known) -> Interpreted:
    rows = np.zeros(len(way.table), dtype=bool)
    rows[way.lines.row] = True
    taken = {*way.amounts.columns, *(way.name.columns if way.name else ())}
    roles = roles_of(way.table, way.where, rows, known, taken)

    lines = lines_frame(file, grid, way, roles, known)
    totals = totals_frame(file, grid, way, lines)
    return Interpreted(
        conform(lines, LINES),
        conform(totals, PRINTED_TOTALS),
        _columns(way, roles),
        way.table.structure,
        way.odds,
        runner_up,
        tuple(f"{one.said} ({one.odds:+.0f})" for one in way.evidence if one.odds),
    )


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
