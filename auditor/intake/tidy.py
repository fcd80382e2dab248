"""A recognised table of texts → a table of values by its schema, and what could not be read.

How a column is read follows from its name in the schema: `_nm` lengths, `_pg` weights, `_cents` money, `_on` dates,
`_ppm` percentages, yes and no by its dtype, everything else as text.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd

from auditor.core import money
from auditor.core.money import MOST_PRICE, most_in
from auditor.core.schemas import (
    CARTONS,
    FEES,
    FLAG,
    FUEL,
    LINES,
    NOTICES,
    PARCELS,
    RATES,
    SHIPMENTS,
    Problem,
    Schema,
    conform,
)
from auditor.core.sides import SIDES
from auditor.intake import parsing, vocabulary
from auditor.intake.around import unit_noted
from auditor.intake.parsing import parsed
from auditor.intake.recognise import Sheet
from auditor.intake.texts import distinct, repeated

SCHEMAS: dict[str, Schema] = {
    "shipments": SHIPMENTS,
    "cartons": CARTONS,
    "rates": RATES,
    "fees": FEES,
    "fuel": FUEL,
    "statement": LINES,
    "notice": NOTICES,
    "parcels": PARCELS,
}
USUAL_UNIT = {"length": "in", "weight": "lb"}
CALLED = {
    "in": "inches",
    "ft": "feet",
    "mm": "millimetres",
    "cm": "centimetres",
    "m": "metres",
    "lb": "pounds",
    "oz": "ounces",
    "g": "grams",
    "kg": "kilograms",
}
OF_CARRIERS = ("statement", "notice")
"""What states whole sums; the amounts of other tables are what one parcel or carton costs."""
MAY_BE_ZERO = ("usual_trim_nm", "empty_weight_pg")
MOST_TOLD = 20
"""Faults told one by one in a column; the rest are counted."""

Parse = Callable[..., Any]
ALONE: dict[str, Parse] = {
    "fuel_ppm": parsing.percent,
    "zone": parsing.zone,
    "voided": parsing.voided,
}
"""Fields read in a way of their own."""


def tidied(sheet: Sheet) -> tuple[pd.DataFrame, list[Problem]]:
    """The sheet's values in the columns of its kind's schema, a row for each of its rows, over the same index.

    What could not be read is missing, with a problem that says where and why.
    """
    schema = SCHEMAS[sheet.kind]
    dtypes = {column.name: column.dtype for column in schema}
    values: dict[str, Any] = {}
    problems: list[Problem] = []
    for field in sheet.cells:
        texts = sheet.cells[field]
        values[str(field)], reasons = parsed(texts, _reading(str(field), sheet), dtypes.get(str(field)))
        problems += [*_choices(str(field), sheet, reasons), *_faults(sheet, str(field), reasons)]
        problems += _without_decimals(str(field), sheet)
    for prefix in _prefixes(schema):
        problems += _put_sides(prefix, values, sheet)
    values |= {"source_file": repeated(sheet.file, sheet.cells.index), "source_place": sheet.places}
    return conform(pd.DataFrame(values, index=sheet.cells.index, copy=False), schema), problems


def complete(frame: pd.DataFrame, sheet: Sheet) -> tuple[pd.DataFrame, list[Problem]]:
    """The rows that have every needed value. A row without one says so, unless it was there and could not be read."""
    needed = [column.name for column in SCHEMAS[sheet.kind] if column.needed]
    problems: list[Problem] = []
    for field in needed:
        empty = sheet.cells.index[sheet.cells[field] == ""] if field in sheet.cells else sheet.cells.index[:0]
        message = f"Column '{sheet.headings[field].text}' is empty, so this row was left out. Fill it in and run again."
        problems += _told(sheet, field, [(row, message) for row in empty])
    return frame.dropna(subset=needed), problems


def _reading(field: str, sheet: Sheet) -> Parse:
    """How the column of a field is read."""
    texts = sheet.cells[field]
    if kind := vocabulary.quantity(field):
        read = partial(_measure(field, kind), unit=sheet.headings[field].unit or _noted_or_usual(sheet, kind))
        return partial(_with_point, read) if writes_decimal_comma(sheet) else read
    if field.endswith("_cents"):
        most = most_in(len(texts)) if sheet.kind in OF_CARRIERS else MOST_PRICE
        return partial(parsing.money, decimal_comma=parsing.has_decimal_comma(distinct(texts)), most=most)
    if field.endswith("_on"):
        order = parsing.day_order(distinct(texts))
        return partial(
            parsing.date, day_first=order == "day first" or (order == "open" and writes_decimal_comma(sheet))
        )
    if field in ALONE:
        return ALONE[field]
    flags = {column.name for column in SCHEMAS[sheet.kind] if column.dtype == FLAG}
    return parsing.flag if field in flags else parsing.words


def _noted_or_usual(sheet: Sheet, kind: str) -> str:
    return unit_noted(sheet.above, kind) or USUAL_UNIT[kind]


def _with_point(read: Parse, text: str) -> Any:
    """What a measure reads from a text that has a decimal comma: 8,900 is not 8900 where amounts are written so."""
    return read(re.sub(r"(?<=\d),(?=\d)", ".", re.sub(r"(?<=\d)\.(?=\d{3}(?!\d))", "", text)))


def writes_decimal_comma(sheet: Sheet) -> bool:
    """Whether amounts are written 12,34: where they are, days come before months."""
    amounts = [column for name, column in sheet.cells.items() if str(name).endswith("_cents")]
    return any(parsing.has_decimal_comma(distinct(column)) for column in amounts)


def _measure(field: str, kind: str) -> Parse:
    if field.endswith("size"):
        return parsing.size
    if kind == "length":
        return parsing.length if field in MAY_BE_ZERO else parsing.side
    return parsing.weight if field in MAY_BE_ZERO else parsing.heft


def _choices(field: str, sheet: Sheet, refused: pd.Series) -> Iterator[Problem]:
    """What was settled for a column, by the distinct texts in it that were read, and the user should know of."""
    heading = sheet.headings[field]
    kind = vocabulary.quantity(field)
    if not kind and not field.endswith(("_cents", "_on")):
        return
    column = sheet.cells[field]
    texts = set(distinct(column)) - {"", *column[refused.index]}
    if kind and heading.unit is None and any(parsing.is_bare(text, kind) for text in texts):
        unit = _noted_or_usual(sheet, kind)
        noted = "" if unit_noted(sheet.above, kind) is None else ", as a note says"
        message = f"has numbers without a unit. They were read as {CALLED[unit]}{noted}."
    elif field.endswith("_cents") and parsing.has_decimal_comma(texts):
        message = "was read with a decimal comma: 12,34 as 12.34."
    elif field.endswith("_on") and parsing.day_order(texts) == "open":
        order = "day first, as amounts have a decimal comma" if writes_decimal_comma(sheet) else "month first"
        message = f"has dates such as 3/4/2026, and none shows which number is the day. They were read {order}."
    else:
        return
    yield Problem(sheet.file, "", f"Column '{heading.text}' {message}", note=True)


WITHOUT_DECIMALS = re.compile(r"\D*\d{1,3}(?:([,.])\d{3})+\D*")
WITH_DECIMALS = re.compile(r"[.,]\d\d\D*$")


def _without_decimals(field: str, sheet: Sheet) -> Iterator[Problem]:
    """Amounts like '1,234' where others have two decimals: which of the two ways they were read."""
    if not field.endswith("_cents"):
        return
    column = sheet.cells[field]
    unclear = {text for text in distinct(column) if text[-3:-2] not in ".," and WITHOUT_DECIMALS.fullmatch(text)}
    if not unclear or not any(WITH_DECIMALS.search(text) for text in distinct(column)):
        return
    rows = column.index[column.isin(unclear)]
    text, read = str(column[rows[0]]), _reading(field, sheet)
    several = f"{len(rows):,} amounts" if len(rows) > 1 else "An amount"
    try:
        cents = read(text)
    except ValueError:
        return
    message = (
        f"{several} in column '{sheet.headings[field].text}' {'have' if len(rows) > 1 else 'has'} no decimals, where "
        f"others have two: {shown(text)} was read as {money.text(cents)}. If that is not what is meant, correct the "
        "file and run again."
    )
    yield Problem(sheet.file, sheet.places[rows[0]], message, note=True)


def _faults(sheet: Sheet, field: str, reasons: pd.Series) -> Iterator[Problem]:
    """One problem for each text that could not be read."""
    if reasons.empty:
        return
    lost = "row was left out" if _leaves_row_out(field, sheet) else "cell was left empty and the rest of its row kept"
    heading = sheet.headings[field].text
    texts = sheet.cells.loc[reasons.index, field]
    messages = [
        (row, f"{shown(text)} in column '{heading}' {reason}. The {lost}; correct it and run again.")
        for row, text, reason in zip(reasons.index, texts, reasons, strict=True)
    ]
    yield from _told(sheet, field, messages)


def _leaves_row_out(field: str, sheet: Sheet) -> bool:
    return any(column.needed and column.name == field for column in SCHEMAS[sheet.kind]) and sheet.kind != "statement"


def _told(sheet: Sheet, field: str, messages: Sequence[tuple[Any, str]]) -> Iterator[Problem]:
    """The first of a column's faults one by one, the rest as a count."""
    for row, message in messages[:MOST_TOLD]:
        yield Problem(sheet.file, sheet.places[row], message)
    if more := messages[MOST_TOLD:]:
        where = f"{sheet.places[more[0][0]]} to {sheet.places[more[-1][0]]}"
        message = f"{len(more):,} more cells of column '{sheet.headings[field].text}' have faults like those above."
        yield Problem(sheet.file, where, message)


def shown(text: str, most: int = 60) -> str:
    """A value in quotation marks for a message, cut where it is long, control characters spelled out."""
    return repr(text if len(text) <= most else f"{text[:most]}…")


def _prefixes(schema: Schema) -> list[str]:
    return [column.name.removesuffix("length_nm") for column in schema if column.name.endswith("length_nm")]


def _put_sides(prefix: str, values: dict[str, Any], sheet: Sheet) -> Iterator[Problem]:
    """Sides in falling order, from one text or from three columns; a size that lacks a side is no size."""
    names = [f"{prefix}{side}" for side in SIDES]
    index = sheet.cells.index
    blank = np.zeros(len(index), dtype=bool)
    there = [values[name].notna().to_numpy(dtype=bool) if name in values else blank for name in names]
    whole = there[0] & there[1] & there[2]
    # A letter may tell of the longest side only.
    alone = there[0] & ~there[1] & ~there[2] if sheet.kind == "notice" else blank
    half = (there[0] | there[1] | there[2]) & ~whole & ~alone
    if half.any():
        yield from _half_sizes(names, index[half], sheet)
    sizes = values.pop(f"{prefix}size", None)
    if sizes is None and not half.any() and _are_falling([values[name] for name in names if name in values]):
        return
    columns = [values[name].to_numpy(dtype=np.int64, na_value=0) if name in values else blank for name in names]
    sides = np.array(columns, dtype=np.int64)
    if sizes is not None:
        given = sizes.notna().to_numpy()
        sides[:, given] = np.array(sizes[given].tolist(), dtype=np.int64).reshape(-1, len(SIDES)).T
        whole |= given
    falling = np.sort(sides, axis=0)[::-1]
    for name, figures, given in zip(names, falling, (whole | alone, whole, whole), strict=True):
        values[name] = pd.Series(pd.arrays.IntegerArray(figures.copy(), ~given), index=index)


def _are_falling(sides: Sequence[pd.Series]) -> bool:
    """Whether no side is shorter than the next one in any row that has both."""
    return all(bool((one >= other).all()) for one, other in pairwise(sides))


def _half_sizes(names: list[str], half: pd.Index, sheet: Sheet) -> Iterator[Problem]:
    """Rows in which a side is blank and another is not."""
    there = [name for name in names if name in sheet.cells]
    blank = (sheet.cells.loc[half, there] == "").any(axis=1)
    headings = ", ".join(f"'{sheet.headings[name].text}'" for name in there)
    message = f"Only some of the sides ({headings}) are filled in, so the size was left empty. Fill in all three."
    return _told(sheet, there[0], [(row, message) for row in half[blank]]) if there else iter(())
