"""Weights and sides in a column of texts: with the unit beside the figure, or in each that the figure may be in."""

from __future__ import annotations

import re
from functools import cache
from math import ceil

import numpy as np

from auditor.core import units
from auditor.core.arrays import Masked, Whole, Yes
from auditor.intake import parsing
from auditor.intake.reading.cells import Column

UNITS = {"weight": ("lb", "oz", "kg", "g"), "length": ("in", "cm", "mm", "ft")}
LAST_DECIMALS = re.compile(r"[.,](\d+)\D*$")
SIDES = 3


def measured(column: Column, unit: str, kind: str) -> Masked:
    """Nanometres or picograms of each cell; a bare figure is in that unit."""
    return column.read(lambda text: _measure(text, unit, kind), (kind, unit))


@cache
def _measure(text: str, unit: str, kind: str) -> int | None:
    plain = re.sub(r"(?<=\d),(?=\d)", ".", text)
    try:
        return parsing.weight(plain, unit) if kind == "weight" else parsing.length(plain, unit)
    except ValueError:
        return None


def side_of(column: Column, unit: str, place: int) -> Masked:
    """The longest side (0), the middle one or the shortest of a size in one text."""
    return column.read(lambda text: _side(text, unit, place), ("side", unit, place))


def _side(text: str, unit: str, place: int) -> int | None:
    found = _sides(text, unit)
    return found[place] if found else None


@cache
def _sides(text: str, unit: str) -> tuple[int, int, int] | None:
    try:
        return parsing.size(re.sub(r"(?<=\d),(?=\d)", ".", text), unit)
    except ValueError:
        return None


def half_a_step(column: Column, unit: str, kind: str) -> Whole:
    """Half of the last digit that is printed in each cell, in nanometres or picograms; a whole figure is exact."""
    steps = [len(found[1]) if (found := LAST_DECIMALS.search(text)) else 0 for text in column.texts]
    of_unit = units.small(1, unit, kind)
    return np.array([ceil(of_unit / 10**step / 2) + 1 if step else _least(unit) for step in steps])[column.codes]


def _least(unit: str) -> int:
    """What a whole figure may be off by: half of it for units that nothing is rounded to in the trade, else nothing."""
    kind = "weight" if unit in UNITS["weight"] else "length"
    return units.small(1, unit, kind) // 2 + 1 if unit in {"kg", "cm", "g", "mm"} else 1


def near(found: Masked, wanted: Masked, off: Whole) -> Yes:
    """Where two agree to within what rounding took."""
    return np.asarray(found.known & wanted.known & (np.abs(found.numbers - wanted.numbers) <= off))
