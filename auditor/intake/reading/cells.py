"""A grid's cells as arrays: each distinct text once, typed in all the ways that it can be read."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from itertools import zip_longest
from typing import Any

import numpy as np

from auditor.core.arrays import Masked, Places, Yes
from auditor.intake import parsing
from auditor.intake.by_column import Columns
from auditor.intake.documents import Grid
from auditor.intake.reading.known import Known, bare
from auditor.intake.texts import coded

DAMAGED = re.compile(r"(\d)[.,](\d+)E\+(\d{2})", re.IGNORECASE)
"""A number that a spreadsheet has shortened: 1.23E+17."""
TOKEN = re.compile(r"[^\W_]+(?:-[^\W_]+)*")
FIGURE = re.compile(r"\d")
LETTER = re.compile(r"[^\W\d_]")
DECIMALS = re.compile(r"\d?[.,]\d{1,2}(?!\d)\D*$")
MOST_WHOLE = 9
"""A whole number of more digits than this is a number of something, not an amount."""


@dataclass(frozen=True, eq=False)
class Column:
    """A column of cells: for each row the place of its text among the distinct ones; "" is a text too.

    `heading` is what stands above it, `at` the column of the grid that it is of; `told` the field that the user says it
    is, "" where he says nothing.
    """

    codes: Places
    texts: tuple[str, ...]
    at: int
    heading: str = ""
    told: str = ""
    cache: dict[Any, Any] = field(default_factory=dict, repr=False)

    def __len__(self) -> int:
        return len(self.codes)

    def take(self, rows: Places | Yes) -> Column:
        """The same of those rows."""
        return replace(self, codes=self.codes[rows])

    def may_be(self, *fields: str) -> bool:
        """Whether the user does not say that it is anything else."""
        return self.told in {"", *fields}

    def called(self, heading: str) -> Column:
        """The same under another heading."""
        return replace(self, heading=heading)

    @cached_property
    def filled(self) -> Yes:
        """For each row whether a text stands there."""
        return self.where(bool)

    @cached_property
    def used(self) -> list[str]:
        """The distinct texts that stand in its rows, in the order of `texts`, blank ones left out."""
        return [self.texts[code] for code in np.unique(self.codes) if self.texts[code]]

    def where(self, holds: Callable[[str], object]) -> Yes:
        """For each row whether something holds of its text."""
        return np.array([bool(holds(text)) for text in self.texts], dtype=bool)[self.codes]

    def read(self, parse: Callable[[str], int | None], key: object) -> Masked:
        """For each row what its text is read as; each distinct text is read once, and kept under that key."""
        if key not in self.cache:
            self.cache[key] = Masked.of(parse(text) if text else None for text in self.texts)
        found: Masked = self.cache[key]
        return found[self.codes]

    def text(self) -> np.ndarray[Any, np.dtype[np.object_]]:
        """Each row's text."""
        return np.array(self.texts, dtype=object)[self.codes]

    @cached_property
    def decimal_comma(self) -> bool:
        """Whether its amounts are written 12,34."""
        return parsing.has_decimal_comma(self.used)

    @cached_property
    def share_with_decimals(self) -> float:
        """How many of its distinct texts end in a decimal point or comma and one or two digits."""
        return sum(DECIMALS.search(text) is not None for text in self.used) / max(len(self.used), 1)

    def money(self, each: int = 1) -> Masked:
        """Cents; `each` is 100 where whole numbers are cents already."""
        comma = self.decimal_comma
        return self.read(lambda text: _cents(text, each, decimal_comma=comma), ("money", each, comma))

    def days(self, *, day_first: bool) -> Masked:
        """Days since 1970."""
        return self.read(lambda text: _day(text, day_first=day_first), ("day", day_first))

    def parcels(self, known: Known) -> Places:
        """The row of the shop's records of which its text holds the number; −1 where none."""
        found = self.read(lambda text: parcel_of(text, known), ("parcel", id(known)))
        return np.where(found.known, found.numbers, -1).astype(np.intp)

    def orders(self, known: Known) -> Places:
        """The same by the order's number."""
        found = self.read(lambda text: known.orders.get(bare(text)), ("order", id(known)))
        return np.where(found.known, found.numbers, -1).astype(np.intp)


def _cents(text: str, each: int, *, decimal_comma: bool) -> int | None:
    if sum(map(str.isdigit, text)) > MOST_WHOLE + 2 or (len(text) > 1 and text.isdigit() and text[0] == "0"):
        return None
    try:
        cents = parsing.money(text, decimal_comma=decimal_comma)
    except ValueError:
        return None
    return cents // each


def _day(text: str, *, day_first: bool) -> int | None:
    try:
        return (parsing.date(text, day_first=day_first) - date(1970, 1, 1)).days
    except ValueError:
        return None


def parcel_of(text: str, known: Known) -> int | None:
    """The row of the parcel whose number the text is, or holds as one of its words, or was before it was shortened."""
    found = known.numbers.get(bare(text))
    if found is not None or not FIGURE.search(text):
        return found
    if shortened := DAMAGED.fullmatch(text.strip()):
        return _before_it_was_shortened(shortened, known)
    places = {known.numbers[word] for token in TOKEN.findall(text) if (word := bare(token)) in known.numbers}
    return places.pop() if len(places) == 1 else None


def _before_it_was_shortened(found: re.Match[str], known: Known) -> int | None:
    """The one parcel whose number may have been shortened to that; None where there are several."""
    places = {place for number, place in known.numbers.items() if is_shortened(found, number)}
    return places.pop() if len(places) == 1 else None


def is_shortened(found: re.Match[str], number: str) -> bool:
    """Whether a number is of that length and begins with those figures, of which the last may be rounded up."""
    kept = (found[1] + found[2]).rstrip("0")
    if len(number) != int(found[3]) + 1 or not number.isdecimal():
        return False
    return int(kept) - int(number[: len(kept)]) in {0, 1}


def number_text(text: str) -> str:
    """The number in a cell that may hold words beside it: the word of most figures; all of it where it is one."""
    tokens = [token for token in TOKEN.findall(text) if FIGURE.search(token)]
    if len(tokens) < 2 or not LETTER.search(re.sub(r"[A-Z0-9]", "", text)):  # noqa: PLR2004 - one word
        return str(tokens[0]) if len(tokens) == 1 else text
    return str(max(tokens, key=lambda token: len(FIGURE.findall(token))))


def columns_of(grid: Grid, rows: slice) -> list[Column]:
    """The grid's columns, over those of its rows."""
    if isinstance(grid.rows, Columns):
        return [_column(*coded(grid.rows.coded(at).iloc[rows]), at) for at in range(grid.rows.width)]
    cells = zip_longest(*([text.strip() for text in row] for row in grid.rows[rows]), fillvalue="")
    return [of_texts(column, at) for at, column in enumerate(cells)]


def _column(codes: Any, texts: Sequence[str], at: int) -> Column:
    """With a text for the code of −1, and each text once."""
    plain = [*texts, ""]
    return Column(np.where(codes < 0, len(texts), codes).astype(np.intp), tuple(plain), at)


def of_texts(column: Sequence[str], at: int, heading: str = "") -> Column:
    """A column made of a text a row."""
    places: dict[str, int] = {}
    codes = np.array([places.setdefault(text, len(places)) for text in column], dtype=np.intp)
    return Column(codes, tuple(places) or ("",), at, heading)


def joined(columns: Sequence[Column], between: str = " ") -> Column:
    """The texts of several columns, row by row, as one; the first says where it stands."""
    codes = np.unique(np.column_stack([column.codes for column in columns]), axis=0, return_inverse=True)
    texts = [between.join(filter(None, map(_text, columns, row))) for row in codes[0]]
    return Column(codes[1].reshape(-1).astype(np.intp), tuple(texts), columns[0].at, columns[0].heading)


def _text(column: Column, code: int) -> str:
    return column.texts[code]
