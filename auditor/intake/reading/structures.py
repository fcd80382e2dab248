"""Ways to see a grid as a table with a row a charge or a row a parcel; each knows nothing of the others."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from auditor.core.arrays import Places, Yes
from auditor.intake.reading.cells import LETTER, Column, of_texts, parcel_of
from auditor.intake.reading.known import Known
from auditor.intake.reading.tables import Anchors, Table, anchors, filled_down

MOST_TYPES = 8
"""Records are of so many types at most; a column of more texts tells none."""
LONG_NUMBER = re.compile(r"\d{4}")
SEPARATORS = ("\n", ";", "|")
NAME_AND_AMOUNT = re.compile(r"(?P<name>.*?\S)[\s:=]+(?P<amount>\(?[-+−–]?\s?[^\w\s]?\s?\d[\d.,' ]*\)?[-−]?)")
HALF = 0.5
NEARLY_ALL, NEXT_TO_NONE = 0.9, 0.1
"""In how many rows of a kind a column is filled that belongs to it, and in how many of another kind. Chosen."""
FARTHEST = 3
"""So far behind its name an amount may stand, with other columns in between."""


def tables(columns: Sequence[Column], known: Known) -> Iterator[Table]:
    """The ways to see those columns, headings and all, as tables."""
    for table, heads in parts(columns, known):
        where = anchors(table, known)
        if where is None:
            continue
        yield with_groups(table, where)
        yield from filter(None, (under_rows(table, begins(table, where), heads, "under a parcel's row"),))
        yield from filter(None, (given_once(table, where),))
        yield from by_type(table, where, heads)
        yield from slots(table, where)
        yield from filter(None, (stacked(table, where),))


def apart(columns: Sequence[Column], known: Known) -> list[Places]:
    """Rows of tables that stand below one another under headings of their own; all rows where there is one table.

    A table has rows with parcels; headings that stand there again, or without such rows below, begin none.
    """
    texts = [column.text() for column in columns]
    height = len(texts[0]) if texts else 0
    if not columns:
        return []
    filled = np.sum([column.filled for column in columns], axis=0)
    numbered = np.asarray(np.logical_or.reduce([column.parcels(known) >= 0 for column in columns]))
    heads = {
        int(row): cells
        for row in np.flatnonzero((filled > 1) & ~numbered)
        if is_heading(cells := tuple(str(text[row]) for text in texts), known)
    }
    starts: list[int] = []
    seen: set[tuple[str, ...]] = set()
    for row, cells in heads.items():
        above = starts[-1] if starts else 0
        if cells not in seen and numbered[above:row].any():
            starts.append(row)
        seen.add(cells)
    starts = [row for row in starts if numbered[row:].any()]
    return [np.arange(*ends) for ends in pairwise([0, *starts, height])]


def is_heading(cells: Sequence[str], known: Known) -> bool:
    """Whether a row may be one of headings: words, at least two, none of them a parcel's number or full of figures."""
    texts = [text for text in cells if text]
    return len(texts) > 1 and all(
        LETTER.search(text) and not LONG_NUMBER.search(text) and not _is_amount(text) and parcel_of(text, known) is None
        for text in texts
    )


def _is_amount(text: str) -> bool:
    return re.search(r"\d[.,]\d\d\b", text) is not None


def parts(columns: Sequence[Column], known: Known) -> Iterator[tuple[Table, list[list[str]]]]:
    """The rows below the headings as one table, and the rows of headings above its first parcel.

    Rows without any text and headings that stand there again are left out.
    """
    height = len(columns[0]) if columns else 0
    texts = [column.text() for column in columns]
    filled = np.column_stack([column.filled for column in columns]) if columns else np.zeros((height, 0), bool)
    with_number = np.zeros(height, bool)
    for column in columns:
        with_number |= column.parcels(known) >= 0
    first = int(with_number.argmax()) if with_number.any() else 0
    heads = [(row, cells) for row in range(first) if is_heading(cells := [text[row] for text in texts], known)][-2:]
    top = heads[-1][0] + 1 if heads else 0
    rows = np.arange(top, height)
    again = {tuple(cells) for _, cells in heads}
    keep = [
        row for row in rows[filled[rows].any(axis=1)] if not again or tuple(text[row] for text in texts) not in again
    ]
    lists = [cells for _, cells in heads]
    chosen = np.array(keep, dtype=np.intp)
    table = Table("as it stands", tuple(column.take(chosen) for column in columns), chosen)
    yield replace(table, columns=headed(table.columns, lists)), lists


def headed(columns: Sequence[Column], heads: Sequence[Sequence[str]]) -> tuple[Column, ...]:
    """The columns, each under the lowest of its headings."""
    return tuple(
        column.called(next((head[column.at] for head in heads[::-1] if column.at < len(head) and head[column.at]), ""))
        for column in columns
    )


def _best_head(columns: Sequence[Column], heads: Sequence[Sequence[str]]) -> tuple[Column, ...]:
    """The columns under the row of headings that is filled where they are."""
    if not heads:
        return tuple(columns)
    used = {column.at for column in columns}

    def likeness(head: Sequence[str]) -> float:
        there = {at for at, text in enumerate(head) if text}
        return len(used & there) / max(len(used | there), 1)

    return headed(columns, [max(heads, key=likeness)])


def given_once(table: Table, where: Anchors) -> Table | None:
    """Where a parcel's number stands on the first of its rows only: with it, and what stands only beside it, in all."""
    numbered, first = where.key >= 0, table.columns[where.at].filled
    if numbered.mean() > NEARLY_ALL or not numbered.any() or first.all():
        return None
    beside = [
        at for at, column in enumerate(table.columns) if column.filled.any() and not (column.filled & ~first).any()
    ]
    columns = list(table.columns)
    for at in beside:
        columns[at] = filled_down(columns[at], first)
    return replace(
        table,
        structure="a number given once",
        columns=tuple(columns),
        given=~first,
        under=np.cumsum(first, dtype=np.intp),
        down=frozenset(beside),
    )


def begins(table: Table, where: Anchors) -> Yes:
    """Rows that others may stand below: with a parcel's number, and the few others that look like them.

    Those have something else in the number's place, or are filled in the columns that such rows are filled in.
    """
    numbered = found = where.key >= 0
    for alike in (table.columns[where.at].filled, _are_like(table, numbered, ~numbered)):
        if (alike & ~numbered).sum() <= NEXT_TO_NONE * numbered.sum():
            found = found | alike
    return found


def under_rows(table: Table, above: Yes, heads: Sequence[Sequence[str]], structure: str) -> Table | None:
    """Rows below another row: those that are not `above`, with the columns of the nearest such row beside their own."""
    if above.all() or not above.any():
        return None
    below = ~above
    own = _best_head([column for column in table.columns if (column.filled & below).any()], heads)
    beside = _best_head([column for column in table.columns if (column.filled & above).any()], heads)
    if not own:
        return None
    downs = [filled_down(column, above) for column in beside]
    down = frozenset(range(len(downs)))
    under = np.cumsum(above, dtype=np.intp)
    return Table(structure, (*downs, *own), table.rows, given=below, under=under, down=down).take(below)


def _are_like(table: Table, some: Yes, others: Yes) -> Yes:
    """Which rows are filled in such columns as some rows are, more than in such as others are; by their log odds."""
    odds = np.zeros(len(table))
    for column in table.columns:
        one, two = ((column.filled[rows].sum() + 1) / (rows.sum() + 2) for rows in (some, others))
        odds += np.where(column.filled, np.log(one / two), np.log((1 - one) / (1 - two)))
    return odds > 0


def with_groups(table: Table, where: Anchors) -> Table:
    """With a column more where rows of one cell stand above others: what the nearest of these says, without a label."""
    count = np.sum([column.filled for column in table.columns], axis=0)
    alone = (count == 1) & (where.key < 0)
    if alone.sum() < 2:  # noqa: PLR2004 - one is a note
        return table
    first = np.argmax([column.filled for column in table.columns], axis=0)
    texts = [
        str(table.columns[at].texts[table.columns[at].codes[row]]) if one else ""
        for row, (at, one) in enumerate(zip(first, alone, strict=True))
    ]
    said = of_texts([text.partition(": ")[2] or text for text in texts], -1)
    return replace(table, columns=(*table.columns, filled_down(said, alone)))


def by_type(table: Table, where: Anchors, heads: Sequence[Sequence[str]]) -> Iterator[Table]:
    """Records of several types, told by a column: those of others below those of the type with the parcels' numbers."""
    for at, column in enumerate(table.columns):
        kinds = column.used
        if at == where.at or not 1 < len(kinds) <= MOST_TYPES or column.filled.mean() < NEARLY_ALL:
            continue
        counts = {kind: len(np.unique(where.place[(column.text() == kind) & (where.place >= 0)])) for kind in kinds}
        above = max(counts, key=lambda kind: counts[kind])
        is_above = column.text() == above
        if _are_of_two_makes(table, is_above, column.filled & ~is_above) and (
            found := under_rows(table, is_above, heads, "records of several types")
        ):
            yield found


def _are_of_two_makes(table: Table, some: Yes, others: Yes) -> bool:
    """Whether a column is filled in nearly all rows of one kind and in next to none of the other."""
    if some.sum() < 2 or others.sum() < 2:  # noqa: PLR2004 - a total's row is of another make too
        return False
    shares = [(column.filled[some].mean(), column.filled[others].mean()) for column in table.columns]
    return any(max(pair) > NEARLY_ALL and min(pair) < NEXT_TO_NONE for pair in shares)


def exploded(table: Table, repeats: Places, split: dict[int, list[str]], structure: str) -> Table:
    """The table with each row so many times, and texts of its own for some columns."""
    rows = np.repeat(np.arange(len(table)), repeats)
    columns = [
        of_texts(split[at], column.at, column.heading) if at in split else column.take(rows)
        for at, column in enumerate(table.columns)
    ]
    more = [of_texts(texts, table.columns[-1].at, "") for at, texts in split.items() if at >= len(table.columns)]
    down = frozenset(at for at in range(len(table.columns)) if at not in split)
    return Table(structure, (*columns, *more), table.rows[rows], under=rows, down=down)


def slots(table: Table, where: Anchors) -> Iterator[Table]:
    """Names and amounts in pairs of columns beside one another, as a row a pair.

    Some pairs share names; how many of those before them are of their kind, which do not, is left to the evidence.
    """
    words = {at: column for at, column in enumerate(table.columns) if at != where.at and _are_words(column)}
    shared = [at for at in words if any({*words[at].used} & {*words[one].used} for one in words if one != at)]
    least, most = _pairs(table, where, shared), _pairs(table, where, words)
    ways = [least, *(most[first:] for first in range(len(most)) if {*least} <= {*most[first:]})]
    yield from (_paired(table, pairs) for pairs in dict.fromkeys(map(tuple, ways)) if len(pairs) > 1)


def _paired(table: Table, pairs: Sequence[tuple[int, int]]) -> Table:
    filled = np.column_stack([table.columns[one].filled | table.columns[two].filled for one, two in pairs])
    at = np.argwhere(filled)
    texts = [(table.columns[one].text(), table.columns[two].text()) for one, two in pairs]
    names = [str(texts[slot][0][row]) for row, slot in at]
    cents = [str(texts[slot][1][row]) for row, slot in at]
    taken = {column for pair in pairs for column in pair}
    others = tuple(column for place, column in enumerate(table.columns) if place not in taken)
    whole = replace(table, columns=others)
    name, amount = len(others), len(others) + 1
    made = exploded(whole, filled.sum(axis=1), {name: names, amount: cents}, "names and amounts in pairs of columns")
    first, second = (table.columns[place] for place in pairs[0])
    headed_pair = (made.columns[name].called(first.heading), made.columns[amount].called(second.heading))
    of_grid = frozenset(table.columns[at].at for at in taken)
    return replace(
        made, columns=(*made.columns[:name], *headed_pair), fixed=(name, amount), taken=of_grid, slot=at[:, 1]
    )


def _pairs(table: Table, where: Anchors, words: Collection[int]) -> list[tuple[int, int]]:
    """Columns of amounts, each with the nearest of words before it that is filled where it is."""
    pairs: list[tuple[int, int]] = []
    for at, column in enumerate(table.columns):
        before = range(at - 1, max(at - 1 - FARTHEST, -1), -1)
        free = [one for one in before if one in words and all(one != name for name, _ in pairs)]
        alike = [one for one in free if _filled_alike(table.columns[one], column)]
        if at not in words and at != where.at and alike and _are_amounts(column):
            pairs.append((alike[0], at))
    return pairs


def _filled_alike(one: Column, other: Column) -> bool:
    return bool((one.filled ^ other.filled).sum() <= 1 + one.filled.sum() / 20)


def _are_words(column: Column) -> bool:
    with_letters = sum(LETTER.search(text) is not None for text in column.used)
    return with_letters > HALF * len(column.used) and not _are_amounts(column)


def _are_amounts(column: Column) -> bool:
    cents = column.money()
    return bool(cents.known.any()) and bool((cents.known == column.filled).mean() > HALF)


def stacked(table: Table, where: Anchors) -> Table | None:
    """Several charges in the cells of a row, parted by line breaks or other signs, as a row each."""
    for sign in SEPARATORS:
        counts = {at: _parted(column, sign) for at, column in enumerate(table.columns) if at != where.at}
        most = {at: int(count.max(initial=0)) for at, count in counts.items()}
        if max(most.values(), default=0) < 2:  # noqa: PLR2004 - one is not several
            continue
        widest = max(most, key=lambda at: (most[at], int(counts[at].sum())))
        numbered = where.key >= 0
        same = [at for at, count in counts.items() if (count == counts[widest])[numbered].all()]
        even = np.logical_and.reduce([counts[at] == counts[widest] for at in same])
        made = _unstacked(table, same, np.where(even, np.maximum(counts[widest], 1), 1), sign)
        if made is not None:
            return made
    return None


def _parted(column: Column, sign: str) -> Places:
    """Into how many texts each cell of a column falls."""
    parts_of = np.array([len(_split(text, sign)) for text in column.texts], dtype=np.intp)
    return np.asarray(parts_of[column.codes], dtype=np.intp)


def _split(text: str, sign: str) -> list[str]:
    return [part.strip() for part in text.split(sign) if part.strip()]


def _unstacked(table: Table, same: Sequence[int], repeats: Places, sign: str) -> Table | None:
    def parts_of(at: int) -> list[str]:
        cells = zip(table.columns[at].text(), repeats, strict=True)
        return [part for text, count in cells for part in (_split(text, sign) if count > 1 else [text])]

    texts = {at: parts_of(at) for at in same}
    structure = "several charges in a cell"
    if len(same) > 1:
        return exploded(table, repeats, texts, structure)
    both = [NAME_AND_AMOUNT.fullmatch(text) for text in texts[same[0]]]
    if sum(found is not None for found in both) <= HALF * len(both):
        return None
    names = [found["name"] if found else text for found, text in zip(both, texts[same[0]], strict=True)]
    cents = [found["amount"] if found else "" for found in both]
    amount = len(table.columns)
    made = exploded(table, repeats, {same[0]: names, amount: cents}, structure)
    return replace(made, fixed=(same[0], amount))
