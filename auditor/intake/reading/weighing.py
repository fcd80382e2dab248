"""The ways to read a grid, each weighed: which rows are sums, the lines and their names, and what speaks for it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from auditor.core.arrays import Masked, Places, Yes
from auditor.intake import wording
from auditor.intake.reading import names, structures, sums
from auditor.intake.reading.agreement import ONE_IN_10, ONE_IN_100, ONE_IN_100_000, ONE_IN_1000, explained
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
from auditor.intake.reading.lines_apart import (
    alike,
    first_lines,
    of_the_account,
    sum_of_all,
    sums_by_name,
    sums_of_names,
    without,
)
from auditor.intake.reading.names import Name
from auditor.intake.reading.roles import roles_of
from auditor.intake.reading.tables import Anchors, Table, anchors


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


@dataclass(frozen=True, eq=False)
class Scene:
    """What a grid's rows are read against: the page they are of, what is known, what other rows of it have.

    `meaning`: columns of the table that agree with what is recorded of their rows' parcels, with the log odds of that;
    `plain`: the same of the rows as they stand in the grid.
    """

    page: Sequence[Column]
    known: Known
    before: Before
    meaning: Mapping[int, float]
    plain: Mapping[int, float]


def weighed_ways(page: Sequence[Column], rows: Places, known: Known, before: Before) -> Iterator[Way]:
    """Every way to read those rows of a page, of which others may have been read before."""
    columns = [column.take(rows) for column in page]
    plain: Mapping[int, float] | None = None
    for table in structures.tables(columns, known):
        here = replace(table, rows=rows[table.rows])
        where = anchors(here, known)
        if where is None:
            continue
        own = _meaning(here, where, known)
        plain = own if plain is None else plain
        scene = Scene(page, known, before, own, plain)
        yield from (weighed(scene, here, where, amounts) for amounts in ways(here, where, known, scene.meaning))


def _meaning(table: Table, where: Anchors, known: Known) -> dict[int, float]:
    roles = roles_of(table, where, where.key >= 0, known, set())
    return {at: role.odds for at, role in roles.items()}


def weighed(scene: Scene, table: Table, where: Anchors, amounts: Amounts) -> Way:
    """What speaks for taking those columns for amounts."""
    known, before = scene.known, scene.before
    cents = _row_cents(amounts)
    given = np.zeros(len(table), dtype=bool) if table.given is None else table.given
    is_sum = sums.sum_rows(cents, where.key, (where.key < 0) | given, alike(table), ~cents.known & (where.key < 0))
    lines = _lines(table, amounts, where, ~is_sum)
    taken = {*amounts.columns, *([amounts.summed] if amounts.summed is not None else [])}
    name = _name(table, where, amounts, lines, taken | scene.meaning.keys())
    if name is not None and not amounts.apart:
        is_sum |= sums_by_name(lines, name, table) | sums_of_names(lines, name, len(table))
        where = without(where, of_the_account(lines, name, given, known))
        lines = _lines(table, amounts, where, ~is_sum)
    is_sum |= sum_of_all(lines, len(table))
    lines = _lines(table, amounts, where, ~is_sum)
    evidence = [
        *of_parcels(lines, known, before.settled),
        Evidence(float(is_sum.sum()) * ONE_IN_100, "rows are sums of others"),
    ]
    evidence.append(_otherwise(scene, table, taken))
    total = printed_total(scene.page, table, amounts, lines, before.cents)
    if total is not None:
        evidence.append(Evidence(ONE_IN_100_000, "all lines add up to an amount that is printed"))
    if amounts.summed is not None:
        evidence.append(rows_add_up(amounts.cents, table.columns[amounts.summed].money(amounts.each)))
    if amounts.each > 1:
        evidence.append(Evidence(-ONE_IN_10, "whole numbers are seldom cents"))
    evidence.append(_sums_above(table, lines, amounts.each))
    if name is not None and table.fixed:
        evidence.append(_names_recur(table, lines, name))
    if name is not None and not amounts.apart:
        by_column = explained(sizes(lines.cents), lines.slot)
        evidence += [Evidence(name.odds - by_column, "amounts go with the names"), _without_name(lines, name)]
    if amounts.apart:
        evidence.append(_left_out(scene, table, where, amounts, taken))
    else:
        evidence.append(_without_amount(table, where, lines, name))
        evidence += [_balances(table, where, amounts), left_of_two(amounts), charged_already(lines, before.lines)]
    return Way(table, where, amounts, is_sum, lines, name, tuple(evidence), total)


def _lines(table: Table, amounts: Amounts, where: Anchors, rows: Yes) -> Lines:
    lines = lines_of(amounts, where, rows)
    return lines if table.slot is None else replace(lines, slot=table.slot[lines.row])


def _names_recur(table: Table, lines: Lines, name: Name) -> Evidence:
    """Names that stand in more than one of several columns, or any in cells that hold several."""
    pairs = np.unique(np.column_stack([name.texts.codes[lines.row], lines.slot]), axis=0)
    several = (
        len(name.texts.used) if table.slot is None else int((np.unique(pairs[:, 0], return_counts=True)[1] > 1).sum())
    )
    return Evidence(several * ONE_IN_10, "names recur in several columns or cells")


def _otherwise(scene: Scene, table: Table, taken: Collection[int]) -> Evidence:
    """What speaks for another meaning of the columns taken for amounts."""
    odds = sum(scene.plain.get(at, 0.0) for at in table.taken)
    odds += sum(scene.meaning.get(at, 0.0) for at in taken)
    return Evidence(-odds, "columns of amounts agree with something else that is recorded")


def _left_out(scene: Scene, table: Table, where: Anchors, amounts: Amounts, taken: Collection[int]) -> Evidence:
    """Amounts in other columns of the same make: where each charge has a column of its own, these are charges too."""
    decimals, whole = table.columns[amounts.columns[0]].share_with_decimals > 0, _row_cents(amounts)
    cells = 0
    for at, cents in money_columns(table, where, amounts.each).items():
        column, filled = table.columns[at], sums.plain(cents)[where.key >= 0] != 0
        alike = (column.share_with_decimals > 0) == decimals and (len(column.used) > 1 or not filled.all())
        if alike and at not in taken and at not in scene.meaning and not sums.is_running(cents, whole):
            cells += int(filled.sum())
    return Evidence(-cells * ONE_IN_10, f"{cells:,} amounts in other columns are left out")


def _without_name(lines: Lines, name: Name) -> Evidence:
    blank = int((~name.texts.filled[lines.row]).sum())
    return Evidence(-blank * ONE_IN_100, f"{blank:,} lines have no name")


def _sums_above(table: Table, lines: Lines, each: int) -> Evidence:
    """Amounts in the rows that lines stand below, or were taken out of, which are the sums of several of these."""
    starts = first_lines(lines, table)
    if not len(starts):
        return Evidence(0.0, "")
    totals, rows = np.add.reduceat(lines.cents, starts), lines.row[starts]
    several = np.diff([*starts, len(lines)]) > 1
    right = [0]
    for at in table.down:
        cents = table.columns[at].money(each)
        right.append(int((several & cents.known[rows] & (cents.numbers[rows] == totals)).sum()))
    return Evidence(max(right) * ONE_IN_1000, f"{max(right):,} rows above lines are their sum")


def _without_amount(table: Table, where: Anchors, lines: Lines, name: Name | None) -> Evidence:
    """Rows of a parcel that name a charge and have no amount."""
    if name is None:
        return Evidence(0.0, "")
    rows = (where.key >= 0) & name.texts.filled
    rows[lines.row] = False
    lost = 0 if table.given is not None else int(rows.sum())
    return Evidence(-lost * ONE_IN_100, f"{lost:,} rows with a name have no amount")


def printed_total(page: Sequence[Column], table: Table, amounts: Amounts, lines: Lines, above: int) -> int | None:
    """The row where the sum of all lines is printed: one without a line, or a column that says it alone."""
    total = int(lines.cents.sum()) + above
    used = np.zeros(len(page[0]), dtype=bool)
    used[table.rows[lines.row]] = True
    taken = {table.columns[at].at for at in amounts.columns}
    for column in page[::-1] if total else ():
        same = column.where(lambda text: _says(text, total)) | _is(column, total, amounts.each)
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


def _is(column: Column, total: int, each: int) -> Yes:
    cents = column.money(each)
    return np.asarray(cents.known & (cents.numbers == total))


def _row_cents(amounts: Amounts) -> Masked:
    known = np.logical_or.reduce([one.known for one in amounts.cents])
    return Masked(np.sum([sums.plain(one) for one in amounts.cents], axis=0), known)


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


def _balances(table: Table, where: Anchors, amounts: Amounts) -> Evidence:
    """A column that is the sum of these amounts so far."""
    cents = amounts.cents[0]
    running = [
        at
        for at, other in money_columns(table, where, amounts.each).items()
        if at not in amounts.columns and sums.is_running(other, cents)
    ]
    return Evidence(len(running) * int(cents.known.sum()) * ONE_IN_10, "a column runs as the sum of these amounts")
