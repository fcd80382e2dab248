"""Rows of lines that are none of a parcel's: sums told by their names, the account's own, what looks alike."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pandas as pd

from auditor.core.arrays import Places, Yes
from auditor.intake.reading import sums
from auditor.intake.reading.known import Known
from auditor.intake.reading.lines import Lines
from auditor.intake.reading.names import Name
from auditor.intake.reading.tables import Anchors, Table

DIGITS = re.compile(r"\d+")


def first_lines(lines: Lines, table: Table) -> Places:
    """The first line of each parcel, or of each row that they stand under."""
    if not len(lines):
        return np.zeros(0, dtype=np.intp)
    under = lines.key if table.under is None else table.under[lines.row]
    change = (lines.key[1:] != lines.key[:-1]) | (under[1:] != under[:-1])
    return np.flatnonzero(np.concatenate([[True], change]))


def of_the_account(lines: Lines, name: Name, given: Yes, known: Known) -> Places:
    """Rows behind the last number that are the account's.

    Their names stand nowhere else, and their amounts are neither charges expected of that parcel nor any of its other
    lines taken back.
    """
    others = np.flatnonzero((lines.key != lines.key[-1:]) | ~given[lines.row])
    behind = np.arange(others[-1] + 1 if len(others) else 0, len(lines))
    if not len(behind) or lines.key[-1] < 0:
        return np.zeros(0, dtype=np.intp)
    parcel = int(lines.place[-1])
    of_parcel = lines.key == lines.key[-1]
    codes = name.texts.codes[lines.row]
    expected = known.expected.loc[parcel, [*known.charges]].dropna() if parcel >= 0 and known.charges else ()
    explained = {0, *map(int, expected)}
    explained |= {-int(cents) for cents in lines.cents[of_parcel]}
    own = []
    for at in behind[::-1]:
        if np.isin(codes[: behind[0]], codes[at]).any() or int(lines.cents[at]) in explained:
            break
        own.append(int(lines.row[at]))
    return np.array(own, dtype=np.intp)


def sum_of_all(lines: Lines, height: int) -> Yes:
    """The row without a number that is the sum of all other lines, where one is."""
    result = np.zeros(height, dtype=bool)
    total = int(lines.cents.sum())
    rows = lines.row[(lines.key < 0) & (2 * lines.cents == total)] if total else lines.row[:0]
    result[rows[:1]] = True
    return result


def sums_of_names(lines: Lines, name: Name, height: int) -> Yes:
    """Rows without a number that are the sum of all lines of the same name: a summary."""
    result = np.zeros(height, dtype=bool)
    codes = name.texts.codes[lines.row]
    of_parcels = lines.key >= 0
    totals = np.bincount(codes[of_parcels], lines.cents[of_parcels], minlength=len(name.texts.texts)).astype(np.int64)
    counts = np.bincount(codes[of_parcels], minlength=len(name.texts.texts))
    summary = ~of_parcels & (counts[codes] > 1) & (totals[codes] == lines.cents)
    result[lines.row[summary]] = True
    return result


def sums_by_name(lines: Lines, name: Name, table: Table) -> Yes:
    """Rows of a name that is, wherever it stands, the sum of its parcel's lines just above it or just below."""
    result = np.zeros(len(table), dtype=bool)
    if not len(lines):
        return result
    codes = name.texts.codes[lines.row]
    starts = first_lines(lines, table)
    group = np.cumsum(np.isin(np.arange(len(lines)), starts)) - 1
    running = np.concatenate([[0], np.cumsum(lines.cents)])
    ends = np.concatenate([starts[1:], [len(lines)]])
    at = np.arange(len(lines))
    above, below = running[at] - running[starts[group]], running[ends[group]] - running[at + 1]
    for code in np.unique(codes):
        rows = (codes == code) & (lines.key >= 0)
        for others, count in ((above, at - starts[group]), (below, ends[group] - 1 - at)):
            several = rows & (count > 1)
            if several.sum() >= sums.FEWEST and (others[rows] == lines.cents[rows]).mean() >= sums.NEARLY_ALL:
                result[lines.row[rows]] = True
    return result


def alike(table: Table) -> Places:
    """A code a row, equal for rows that look alike: filled in the same columns and beginning with the same words."""
    filled = np.column_stack([column.filled for column in table.columns])
    first = filled.argmax(axis=1)
    texts = [column.text() for column in table.columns]
    leads = [DIGITS.sub("", str(texts[at][row])) for row, at in enumerate(first)]
    codes = pd.factorize(pd.Series(leads))[0]
    _, patterns = np.unique(filled, axis=0, return_inverse=True)
    return np.asarray(codes * (int(patterns.max(initial=0)) + 1) + patterns.reshape(-1), dtype=np.intp)


def without(where: Anchors, rows: Places) -> Anchors:
    """With those rows about no parcel."""
    key, place = where.key.copy(), where.place.copy()
    key[rows] = place[rows] = -1
    return replace(where, key=key, place=place)
