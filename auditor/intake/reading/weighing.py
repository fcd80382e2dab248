"""The ways to read a grid, each weighed: which rows are sums, the lines and their names, and what speaks for it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from auditor.core.arrays import Masked, Places, Yes
from auditor.intake import wording
from auditor.intake.reading import names, structures, sums
from auditor.intake.reading.agreement import ONE_IN_10, ONE_IN_100, ONE_IN_100_000, explained
from auditor.intake.reading.amounts import money_columns, ways
from auditor.intake.reading.cells import Column, joined
from auditor.intake.reading.known import Known
from auditor.intake.reading.lines import (
    Amounts,
    Evidence,
    Lines,
    charged_already,
    labels_paid,
    left_of_two,
    lines_of,
    of_parcels,
    rows_add_up,
    sizes,
)
from auditor.intake.reading.names import Name
from auditor.intake.reading.tables import Anchors, Table, anchors

DIGITS = re.compile(r"\d+")


@dataclass(frozen=True, eq=False)
class Way:
    """One way to read a table: which rows are sums, what the lines are, their names, and what speaks for it."""

    table: Table
    where: Anchors
    amounts: Amounts
    sums: Yes
    lines: Lines
    name: Name | None
    evidence: tuple[Evidence, ...]
    total: int | None = None

    @property
    def odds(self) -> float:
        """All evidence."""
        return sum(one.odds for one in self.evidence)


@dataclass(frozen=True, eq=False)
class Before:
    """What tables above in the same grid have: parcels whose label is charged there, lines, their sum."""

    settled: Yes
    lines: Lines | None
    cents: int

    def and_of(self, way: Way, known: Known) -> Before:
        """With those of one more table."""
        parcels, paid, _ = labels_paid(way.lines, known, self.settled)
        settled = self.settled.copy()
        settled[parcels[paid]] = True
        return Before(settled, way.lines, self.cents + int(way.lines.cents.sum()))


def weighed_ways(page: Sequence[Column], rows: Places, known: Known, before: Before) -> Iterator[Way]:
    """Every way to read those rows of a page, of which others may have been read before."""
    for table in structures.tables([column.take(rows) for column in page], known):
        here = replace(table, rows=rows[table.rows])
        where = anchors(here, known)
        if where is not None:
            yield from (weighed(page, here, where, amounts, known, before) for amounts in ways(here, where, known))


def weighed(
    page: Sequence[Column], table: Table, where: Anchors, amounts: Amounts, known: Known, before: Before
) -> Way:
    """What speaks for taking those columns for amounts."""
    cents = _row_cents(amounts)
    given = np.zeros(len(table), dtype=bool) if table.given is None else table.given
    is_sum = sums.sum_rows(cents, where.key, (where.key < 0) | given, alike(table), ~cents.known & (where.key < 0))
    lines = lines_of(amounts, where, ~is_sum)
    taken = {*amounts.columns, *([amounts.summed] if amounts.summed is not None else [])}
    name = _name(table, where, amounts, lines, taken)
    if name is not None and not amounts.apart:
        is_sum |= _sums_by_name(lines, name, len(table)) | _sums_of_names(lines, name, len(table))
        where = without(where, _of_the_account(lines, name, given, known))
        lines = lines_of(amounts, where, ~is_sum)
    evidence = [
        *of_parcels(lines, known, before.settled),
        Evidence(float(is_sum.sum()) * ONE_IN_100, "rows are sums of others"),
    ]
    total = printed_total(page, table, amounts, lines, before.cents)
    if total is not None:
        evidence.append(Evidence(ONE_IN_100_000, "all lines add up to an amount that is printed"))
    if amounts.summed is not None:
        evidence.append(rows_add_up(amounts.cents, table.columns[amounts.summed].money()))
    evidence.append(_sums_above(table, lines))
    if name is not None and table.fixed:
        evidence.append(Evidence(len(name.texts.used) * ONE_IN_10, "names recur in several columns or cells"))
    if name is not None and not amounts.apart:
        evidence += [Evidence(name.odds, "amounts go with the names"), _without_name(lines, name)]
    if amounts.apart:
        evidence.append(Evidence(explained(sizes(lines.cents), lines.slot), "amounts go with their columns"))
    else:
        evidence.append(_without_amount(table, where, lines, name))
        evidence += [_balances(table, where, amounts), left_of_two(amounts), charged_already(lines, before.lines)]
    return Way(table, where, amounts, is_sum, lines, name, tuple(evidence), total)


def _without_name(lines: Lines, name: Name) -> Evidence:
    blank = int((~name.texts.filled[lines.row]).sum())
    return Evidence(-blank * ONE_IN_100, f"{blank:,} lines have no name")


def _sums_above(table: Table, lines: Lines) -> Evidence:
    """Amounts in the rows that lines stand below, which are the sums of these."""
    starts = (
        np.flatnonzero(np.concatenate([[True], lines.key[1:] != lines.key[:-1]])) if len(lines) else np.zeros(0, int)
    )
    totals = np.add.reduceat(lines.cents, starts) if len(starts) else starts
    right = [0]
    for at in table.down:
        cents = table.columns[at].money()
        rows = lines.row[starts]
        right.append(int((cents.known[rows] & (cents.numbers[rows] == totals)).sum()))
    return Evidence(max(right) * ONE_IN_100, f"{max(right):,} rows above lines are their sum")


def _without_amount(table: Table, where: Anchors, lines: Lines, name: Name | None) -> Evidence:
    """Rows of a parcel that name a charge and have no amount."""
    if name is None:
        return Evidence(0.0, "")
    rows = (where.key >= 0) & name.texts.filled
    rows[lines.row] = False
    lost = 0 if table.given is not None else int(rows.sum())
    return Evidence(-lost * ONE_IN_100, f"{lost:,} rows with a name have no amount")


def without(where: Anchors, rows: Places) -> Anchors:
    """With those rows about no parcel."""
    key, place = where.key.copy(), where.place.copy()
    key[rows] = place[rows] = -1
    return replace(where, key=key, place=place)


def _of_the_account(lines: Lines, name: Name, given: Yes, known: Known) -> Places:
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
        if (codes == codes[at]).sum() > 1 or int(lines.cents[at]) in explained:
            break
        own.append(int(lines.row[at]))
    return np.array(own, dtype=np.intp)


def _sums_of_names(lines: Lines, name: Name, height: int) -> Yes:
    """Rows without a number that are the sum of all lines of the same name: a summary."""
    result = np.zeros(height, dtype=bool)
    codes = name.texts.codes[lines.row]
    of_parcels = lines.key >= 0
    totals = np.bincount(codes[of_parcels], lines.cents[of_parcels], minlength=len(name.texts.texts)).astype(np.int64)
    counts = np.bincount(codes[of_parcels], minlength=len(name.texts.texts))
    summary = ~of_parcels & (counts[codes] > 1) & (totals[codes] == lines.cents)
    result[lines.row[summary]] = True
    return result


def printed_total(page: Sequence[Column], table: Table, amounts: Amounts, lines: Lines, above: int) -> int | None:
    """The row where the sum of all lines is printed: one without a line, or a column that says it alone."""
    total = int(lines.cents.sum()) + above
    used = np.zeros(len(page[0]), dtype=bool)
    used[table.rows[lines.row]] = True
    taken = {table.columns[at].at for at in amounts.columns}
    for column in page[::-1] if total else ():
        same = column.where(lambda text: _says(text, total)) | _is(column, total)
        hits = np.flatnonzero(same & ~used)
        if not len(hits) and column.at not in taken and used.any() and (same == column.filled)[used].all():
            hits = np.flatnonzero(same & used)
        if len(hits):
            return int(hits[-1])
    return None


def _says(text: str, total: int) -> bool:
    """Whether one of the amounts in a text is that; its figures are looked at first, as that is quickly done."""
    figures = "".join(filter(str.isdigit, text))
    return str(abs(total)) in figures and any(cents == total for cents, _ in wording.amounts_in((text,)))


def _is(column: Column, total: int) -> Yes:
    cents = column.money()
    return np.asarray(cents.known & (cents.numbers == total))


def _row_cents(amounts: Amounts) -> Masked:
    known = np.logical_or.reduce([one.known for one in amounts.cents])
    return Masked(np.sum([sums.plain(one) for one in amounts.cents], axis=0), known)


def alike(table: Table) -> Places:
    """A code a row, equal for rows that look alike: filled in the same columns and beginning with the same words."""
    filled = np.column_stack([column.filled for column in table.columns])
    first = filled.argmax(axis=1)
    texts = [column.text() for column in table.columns]
    leads = [DIGITS.sub("", str(texts[at][row])) for row, at in enumerate(first)]
    codes = pd.factorize(pd.Series(leads))[0]
    _, patterns = np.unique(filled, axis=0, return_inverse=True)
    return np.asarray(codes * (int(patterns.max(initial=0)) + 1) + patterns.reshape(-1), dtype=np.intp)


def _name(table: Table, where: Anchors, amounts: Amounts, lines: Lines, taken: set[int]) -> Name | None:
    if table.fixed:
        more = names.kind_of(table, where, lines, {*taken, table.fixed[0]}, table.columns[table.fixed[0]])
        columns = (table.fixed[0],) if more is None else (more, table.fixed[0])
        return Name(
            columns,
            joined([table.columns[at] for at in columns]),
            names.goes_with(table.columns[table.fixed[0]], lines),
        )
    if amounts.apart:
        more = names.kind_of(table, where, lines, taken, None)
        return None if more is None else Name((more,), table.columns[more], 0.0)
    return names.name_of(table, where, lines, {*taken, *money_like(table, where)})


def money_like(table: Table, where: Anchors) -> set[int]:
    """Columns of amounts with decimals."""
    return {at for at in money_columns(table, where, 1) if table.columns[at].share_with_decimals > 1 / 2}


def _sums_by_name(lines: Lines, name: Name, height: int) -> Yes:
    """Rows of a name that is, wherever it stands, the sum of its parcel's lines just above it or just below."""
    result = np.zeros(height, dtype=bool)
    if not len(lines):
        return result
    codes = name.texts.codes[lines.row]
    starts = np.flatnonzero(np.concatenate([[True], lines.key[1:] != lines.key[:-1]]))
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


def _balances(table: Table, where: Anchors, amounts: Amounts) -> Evidence:
    """A column that is the sum of these amounts so far."""
    cents = amounts.cents[0]
    running = [
        at
        for at, other in money_columns(table, where, 1).items()
        if at not in amounts.columns and sums.is_running(other, cents)
    ]
    return Evidence(len(running) * int(cents.known.sum()) * ONE_IN_10, "a column runs as the sum of these amounts")
