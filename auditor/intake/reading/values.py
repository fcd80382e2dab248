"""What was understood of a grid → tables of values: LINES and PRINTED_TOTALS."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import takewhile
from pathlib import PurePath
from typing import Any

import numpy as np
import pandas as pd

from auditor.core.arrays import Masked
from auditor.core.sides import SIDES
from auditor.intake import wording
from auditor.intake.documents import Grid
from auditor.intake.reading import measures
from auditor.intake.reading.cells import Column, number_text
from auditor.intake.reading.known import Known, zone_text
from auditor.intake.reading.roles import Role
from auditor.intake.reading.weighing import Way

WORDS_AND_VALUE = 2


def lines_frame(file: str, grid: Grid, way: Way, roles: dict[int, Role], known: Known) -> pd.DataFrame:
    """The lines, with what stands beside them."""
    row = way.lines.row
    values: dict[str, Any] = {
        "tracking": _numbers(way, known),
        "description": _descriptions(way),
        "amount_cents": _whole(Masked(way.lines.cents, np.ones(len(row), dtype=bool))),
        "source_file": file,
        "source_place": pd.Series([grid.places[at] for at in way.table.rows[row]], dtype="str"),
    }
    if grid.boxes:
        values["source_box"] = pd.Series([grid.boxes[at] for at in way.table.rows[row]], dtype="str")
    for at, role in roles.items():
        values |= _values(way, at, role)
    frame = pd.DataFrame(values, index=pd.RangeIndex(len(row)))
    return _with_statement(frame, file, grid)


def _numbers(way: Way, known: Known) -> pd.Series:
    """The parcel's number of each line: as recorded where it is, otherwise as printed."""
    column, lines = way.where.column, way.lines
    printed = np.array([number_text(text) for text in column.texts], dtype=object)[column.codes[lines.row]]
    if len(known.shipments):
        recorded = known.shipments["tracking"].to_numpy(dtype=object)[np.maximum(lines.place, 0)]
        printed = np.where(lines.place >= 0, recorded, printed)
    return pd.Series([text if has else None for text, has in zip(printed, lines.key >= 0, strict=True)]).astype("str")


def _descriptions(way: Way) -> pd.Series:
    lines, amounts = way.lines, way.amounts
    texts = way.name.texts.text()[lines.row] if way.name else [""] * len(lines)
    if amounts.apart:
        heads = np.array([way.table.columns[at].heading for at in amounts.columns], dtype=object)[lines.slot]
        texts = [f"{kind} {head}".strip() for kind, head in zip(texts, heads, strict=True)]
    return pd.Series(list(texts), dtype="str").replace("", None).astype("str")


def _whole(values: Masked) -> Any:
    return pd.Series(pd.arrays.IntegerArray(values.numbers.astype(np.int64), ~values.known))


def _values(way: Way, at: int, role: Role) -> dict[str, Any]:
    """What a column of that role says of each line."""
    column = way.table.columns[at].take(way.lines.row)
    if role.name == "shipped_on":
        days = column.days(day_first=role.way == "day first")
        return {"shipped_on": pd.Series(days.numbers.astype("datetime64[D]")).where(pd.Series(days.known))}
    if role.name in {"billed_weight_pg", "measured_weight_pg"}:
        return {role.name: _whole(_above_zero(measures.measured(column, role.way, "weight")))}
    if role.name == "billed_size":
        return {f"billed_{side}": _whole(measures.side_of(column, role.way, place)) for place, side in enumerate(SIDES)}
    if role.name.removeprefix("billed_") in SIDES:
        return {role.name: _whole(_above_zero(measures.measured(column, role.way, "length")))}
    if role.name in {"zone", "order", "service"}:
        return {role.name: _texts(column, _plainly(role.name, column))}
    return {}


def _above_zero(values: Masked) -> Masked:
    return Masked(values.numbers, values.known & (values.numbers > 0))


def _plainly(role: str, column: Column) -> dict[str, str]:
    """Text → what is meant by it, where that is written in another way."""
    return {text: zone_text(text) for text in column.texts} if role == "zone" else {}


def _texts(column: Column, meant: dict[str, str]) -> pd.Series:
    texts = np.array([meant.get(text, text) or None for text in column.texts], dtype=object)
    return pd.Series(texts[column.codes]).astype("str")


def _with_statement(frame: pd.DataFrame, file: str, grid: Grid) -> pd.DataFrame:
    """With the statement's number and day, from the text above or the file's name."""
    above = (*grid.above, *_lines_above(grid))
    number = wording.number_in(above) or PurePath(file).stem
    return frame.assign(statement=number, statement_on=wording.day_in(above, day_first=False))


def _lines_above(grid: Grid) -> list[str]:
    """The first rows as lines of text, until one has more cells than such a line."""
    return [" ".join(filter(None, row)) for row in takewhile(_is_a_line, grid.rows)]


def _is_a_line(row: Sequence[str]) -> bool:
    return sum(map(bool, row)) <= WORDS_AND_VALUE


def totals_frame(file: str, grid: Grid, row: int | None, lines: pd.DataFrame) -> pd.DataFrame:
    """The printed total: the sum of all lines, where it stands in a row of the grid or in the text above it."""
    total = int(lines["amount_cents"].sum())
    above = next((text for cents, text in wording.amounts_in(grid.above) if cents == total), None)
    place = above if row is None else str(grid.places[row])
    if place is None:
        return pd.DataFrame()
    of = lines.iloc[:1][["statement", "statement_on"]]
    return of.assign(printed_total_cents=total, source_file=file, source_place=place)
