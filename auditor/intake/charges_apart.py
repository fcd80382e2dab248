"""Tables whose charges have no column of their own → the same with one, or with a row for each.

Three arrangements: several charges in one cell, a line each, their amounts in another; charges under a parcel's
row, in rows of nothing but words and an amount; and pairs of columns beside one another, of which each row fills as
many as it has charges ('Fee 1', 'Amount 1', 'Fee 2', 'Amount 2').
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice, pairwise

from auditor.intake import vocabulary
from auditor.intake.documents import Grid, with_rows
from auditor.intake.evidence import CENTS, PLAIN_NUMBER, cents, is_code
from auditor.intake.headings import heads
from auditor.intake.wording import SUM
from auditor.intake.words import canonical

APART = ("",)
"""A column without a heading parts it from the others, whose headings may reach over several."""
CHARGE = "Charge"
"""What the column is called here that such charges are given."""
LEAST = 3
SHARE = 0.2
"""Of all rows so many at least are of words and an amount."""
FILLED = 0.8
"""The share of the parcels' rows that have something in the column where the charges' words stand."""
ROWS = 400
"""So many rows are looked at for what they are."""
NUMBER = re.compile(r"\d+")
AMOUNT = re.compile(r"\D{0,5}[\d.,' ]*\d\D{0,5}")


def with_charges_apart(grid: Grid) -> Grid:
    """The grid with a column of charges; as it is where it needs none."""
    return _pairs_below_one_another(_under_parcels(_unstacked(grid)))


# Several charges in one cell, a line each


def _unstacked(grid: Grid) -> Grid:
    """The grid with a row for each line of cells in which charges and amounts stand, line by line, beside one another.

    Other cells are the parcel's and stand on each row, sums only on the first; their own lines become one text.
    """
    if not any("\n" in cell for row in grid.rows for cell in row):
        return grid
    spread = [(at, row) for at, cells in enumerate(grid.rows) for row in _row_a_line(cells)]
    return with_rows(grid, spread)


def _row_a_line(row: Sequence[str]) -> Iterator[list[str]]:
    lines = [[line for part in cell.split("\n") if (line := " ".join(part.split()))] for cell in row]
    stacks = [at for at, them in enumerate(lines) if len(them) > 1 and all(map(CENTS.fullmatch, them))]
    amounts = stacks[0] if stacks else -1
    count = len(lines[amounts]) if stacks else 1
    wordy = [at for at in range(amounts) if len(lines[at]) == count and not any(map(NUMBER.search, lines[at]))]
    taken = {amounts, wordy[-1]} if wordy else set()
    for nth in range(count if taken else 1):
        yield [
            them[nth] if at in taken else "" if nth and _is_amount(them) else " ".join(them)
            for at, them in enumerate(lines)
        ]


def _is_amount(lines: Sequence[str]) -> bool:
    return len(lines) == 1 and CENTS.fullmatch(lines[0]) is not None


# Words and an amount, under a parcel's row


def _under_parcels(grid: Grid) -> Grid:
    two = {at: places for at, row in enumerate(grid.rows) if (places := _words_and_amount(row))}
    if len(two) < max(LEAST, SHARE * len(grid.rows)):
        return grid
    rows = [[cell.strip() for cell in row] for row in grid.rows]
    [((place, amount), count)] = Counter(two.values()).most_common(1)
    under = {at for at, places in two.items() if places == (place, amount)}
    codes = Counter(at for row in rows[:ROWS] for at, cell in enumerate(row) if is_code(cell))
    numbers = max(codes, key=codes.__getitem__, default=0)
    parcels = [row for row in rows[:ROWS] if len(row) > numbers and is_code(row[numbers])]
    beside = [row[place] for row in parcels if len(row) > place and row[place]]
    if count < FILLED * len(two) or not parcels or any(map(is_code, beside)):
        return grid
    if len(beside) < FILLED * len(parcels) or {rows[at][place] for at in under} & {*beside}:
        return grid
    first = rows.index(parcels[0])
    head = max((at for at in range(first) if sum(map(bool, rows[at])) >= LEAST), default=None)
    if head is None or not _sums_them(rows, under, amount):
        return grid
    width = max(map(len, rows)) + len(APART)
    apart = [_moved(row, width, place if at in under else None) for at, row in enumerate(rows)]
    for at, row in enumerate(rows):
        if row == rows[head]:
            apart[at][width] = CHARGE
    return replace(grid, rows=apart)


def _sums_them(rows: Sequence[Sequence[str]], under: Collection[int], amount: int) -> bool:
    """Whether parcels' rows print no amount, or the sum of the amounts under them, and so no charge of their own."""
    printed: list[int] = []
    sums: list[int] = []
    for at, row in enumerate(rows[:ROWS]):
        cell = row[amount] if len(row) > amount else ""
        if at in under and sums:
            sums[-1] += cents(cell)
        elif any(map(is_code, row)):
            printed.append(cents(cell))
            sums.append(0)
    alike = [1 for one, other in zip(printed, sums, strict=True) if one in {0, other}]
    return len(alike) >= FILLED * len(printed) > 0


def _words_and_amount(row: Sequence[str]) -> tuple[int, int] | None:
    """Where the two stand in a row of nothing but words and an amount behind them; None for any other row."""
    filled = [at for at, cell in enumerate(row) if cell.strip()]
    if len(filled) != len(("words", "amount")) or not AMOUNT.fullmatch(row[filled[1]].strip()):
        return None
    words = row[filled[0]].strip()
    plain = PLAIN_NUMBER.fullmatch(words) or is_code(words) or SUM.match(words)
    return None if plain else (filled[0], filled[1])


def _moved(row: Sequence[str], width: int, place: int | None) -> list[str]:
    """The row with one more column, to which the text at that place is moved."""
    wide = [*row, *[""] * (width + 1 - len(row))]
    if place is not None:
        wide[place], wide[width] = "", wide[place]
    return wide


# Pairs of columns


@dataclass(frozen=True)
class _Pairs:
    """Under which row of headings pairs of columns stand, where each begins, and what the two are called."""

    head: int
    places: tuple[int, ...]
    names: tuple[str, str]


def _pairs_below_one_another(grid: Grid) -> Grid:
    found = next(filter(None, (_pairs(head.grid, head.row, head.texts) for head in heads(grid))), None)
    if found is None:
        return grid
    spread = [(at, row) for at, row in enumerate(grid.rows) for row in _row_a_pair(at, list(row), found)]
    return with_rows(grid, spread)


def _pairs(grid: Grid, row: int, texts: Sequence[str]) -> _Pairs | None:
    """The pairs of words and amounts under headings that are alike but for their numbers; None where there are none."""
    plain = [" ".join(NUMBER.sub(" ", text).split()) for text in texts]
    twos = Counter((one, other) for one, other in pairwise(plain) if one and other and one != other)
    for names, count in twos.most_common():
        if count < len(names):
            break
        places = tuple(at for at, two in enumerate(pairwise(plain)) if two == names)
        below = [cells for cells in islice(grid.rows, row + 1, row + 1 + ROWS) if len(cells) > places[-1] + 1]
        pairs = [(cells[at].strip(), cells[at + 1].strip()) for cells in below for at in places]
        filled = [pair for pair in pairs if any(pair)]
        fitting = [words for words, amount in filled if _is_charge(words, amount)]
        if filled and len(fitting) >= FILLED * len(filled) and _speak_of_charges(names[0], fitting):
            return _Pairs(row, places, names)
    return None


def _speak_of_charges(heading: str, words: Sequence[str]) -> bool:
    """Whether such pairs are charges: by their heading, or by half of their words. Items sold have amounts too."""
    distinct = {*words}
    known = sum(vocabulary.charge(text)[0] is not None for text in distinct)
    return "charge" in canonical(heading) or known >= len(distinct) / 2


def _is_charge(words: str, amount: str) -> bool:
    return bool(words) and not PLAIN_NUMBER.fullmatch(words) and AMOUNT.fullmatch(amount) is not None


def _row_a_pair(at: int, row: list[str], pairs: _Pairs) -> Iterator[list[str]]:
    """The row once for each pair it has, or once without any; the pairs' columns are the last two."""
    taken = {place + more for place in pairs.places for more in (0, 1)}
    row = [*row, *[""] * (max(pairs.places) + 2 - len(row))]
    others = [cell for place, cell in enumerate(row) if place not in taken]
    if at <= pairs.head:
        yield [*others, *(pairs.names if at == pairs.head else ("", ""))]
        return
    given = [two for place in pairs.places if any(two := row[place : place + 2])]
    yield from ([*others, *two] for two in given or [["", ""]])
