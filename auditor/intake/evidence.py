"""What a column's values look like: the share of them that fits a field, whatever the heading says."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cache, cached_property
from itertools import islice

from auditor.intake import parsing, vocabulary
from auditor.intake.by_column import Columns
from auditor.intake.check_digits import checked
from auditor.intake.group_names import said

SAMPLE = 40
"""So many distinct values of a column are looked at."""
ROWS = 2_000
"""They are taken from so many rows, spread over the table."""

CODE = re.compile(r"(?=(?:.*\d){4})[A-Z0-9][A-Z0-9 -]{6,38}[A-Z0-9]", re.IGNORECASE)
SIZED = re.compile(r"\d\s*[x×]\s*\d", re.IGNORECASE)
ZONE = re.compile(r"(?:zon[ea]n?\s*)?(?:\d{1,3}|[A-Z]{1,2}\d?)", re.IGNORECASE)
PLAIN_NUMBER = re.compile(r"[-+(]?[\d.,'\s]+\)?")
CENTS = re.compile(r"\D{0,5}[\d.,'\s]*\d[.,]\d{2}\D{0,5}")
LONG_NUMBER = re.compile(r"\d{7,}")
NOTHING = frozenset({"-", "–", "—", "−"})
"""What stands in a cell without a value."""


LONGEST_GROUP = 3
"""Letters without a digit among the groups of a number, at most: '1X 999 AA1 01'."""


def is_code(text: str) -> bool:
    """Whether it may be a parcel's number: eight or more letters and digits, four digits at least, and no day."""
    parts = text.split()
    grouped = all(len(part) <= LONGEST_GROUP or any(map(str.isdigit, part)) for part in parts)
    return bool(CODE.fullmatch(text)) and grouped and not _is_day(text) and not SIZED.search(text)


def _has_code_or_charge(text: str) -> bool:
    """Whether it is a charge, or has a parcel's number in it: what stands where both share a column."""
    return _is_charge(text) or any(is_code(word) for word in text.split())


def _is_day(text: str) -> bool:
    if any(map(str.isalpha, text)) and parsing.month_and_day(text):
        return True
    return _reads(parsing.date, text) or _reads(lambda value: parsing.date(value, day_first=True), text)


def _reads(parse: Callable[[str], object], text: str) -> bool:
    try:
        parse(text)
    except ValueError:
        return False
    return True


def _is_checked(text: str) -> bool:
    return any(checked(text).values())


def _is_money(text: str) -> bool:
    if LONG_NUMBER.fullmatch(text):
        return False
    return _reads(parsing.money, text) or _reads(lambda value: parsing.money(value, decimal_comma=True), text)


def cents(text: str) -> int:
    """Cents of an amount, 0 for any other text."""
    try:
        return parsing.money(text.strip(), decimal_comma=parsing.has_decimal_comma([text]))
    except ValueError:
        return 0


def _is_measure(parse: Callable[[str, str], object], unit: str) -> Callable[[str], bool]:
    return lambda text: not LONG_NUMBER.fullmatch(text) and _reads(lambda value: parse(value, unit), text)


_is_size = _is_measure(parsing.size, "in")


def _is_words(text: str) -> bool:
    return not PLAIN_NUMBER.fullmatch(text)


def _is_charge(text: str) -> bool:
    return text.casefold() not in SERVICES and vocabulary.charge(text)[0] is not None


SERVICES = {"ground", "parcel", "shipping"}
"""Words of charges that as often name the service of a parcel, so that a column of them tells nothing."""
LOOKS: dict[str, Callable[[str], bool]] = {
    "code": is_code,
    "checked": _is_checked,
    "money": _is_money,
    "cents": lambda text: bool(CENTS.fullmatch(text)) and _is_money(text),
    "day": _is_day,
    "size": lambda text: _is_size(text) and not _is_day(text),
    "length": _is_measure(parsing.side, "in"),
    "weight": _is_measure(parsing.weight, "lb"),
    "zone": lambda text: bool(ZONE.fullmatch(text)),
    "flag": lambda text: _reads(parsing.flag, text),
    "percent": lambda text: _reads(parsing.percent, text),
    "words": _is_words,
    "charge": _is_charge,
    "code or charge": _has_code_or_charge,
}
"""What a value may look like, and how that is told."""


@dataclass(frozen=True)
class Values:
    """Distinct texts of one column, in the order of their first rows, and how many rows were looked at for them."""

    texts: tuple[str, ...]
    rows: int = 0
    shares: dict[str, float] = field(default_factory=dict, compare=False)

    def share(self, look: str) -> float:
        """The share of the texts that look so, from 0 to 1; 0 when there are none."""
        if look not in self.shares:
            fitting = sum(map(LOOKS[look], self.texts))
            self.shares[look] = fitting / len(self.texts) if self.texts else 0.0
        return self.shares[look]


@dataclass(frozen=True)
class Sample:
    """Rows spread over a table, whose columns are looked at below one row of headings after the other."""

    rows: Sequence[Sequence[str]]
    columns: dict[int, list[str]] = field(default_factory=dict, compare=False)

    def values(self, position: int, after: int) -> Values:
        """What stands in a column below a row of headings."""
        # The heading again, as each page has it, and a dash for nothing say nothing of what the column holds.
        empty = {"", *NOTHING, *(self.rows[after][position : position + 1] if len(self.rows) > after else ())}
        filled = [cell for cell in self._column(position)[after // self._step + 1 :] if cell not in empty]
        return Values(tuple(islice(dict.fromkeys(filled), SAMPLE)), len(filled))

    @property
    def _step(self) -> int:
        return max(1, len(self.rows) // ROWS)

    def _column(self, position: int) -> list[str]:
        if isinstance(self.rows, Columns):
            return self.rows.every(self._step, position)
        if position not in self.columns:
            self.columns[position] = [row[position].strip() if len(row) > position else "" for row in self._rows]
        return self.columns[position]

    @cached_property
    def _rows(self) -> list[Sequence[str]]:
        """The rows, without what merely names a group of them."""
        return [() if _names_a_group(row) else row for row in islice(self.rows, 0, None, self._step)]


def _names_a_group(row: Sequence[str]) -> bool:
    filled = [*islice(filter(None, row), 2)]
    return len(filled) == 1 and said(filled[0].strip()) is not None


@cache
def _look(name: str, kind: str) -> str:
    """What the values of a field look like; "" for free text."""
    if kind_of := vocabulary.quantity(name):
        return "size" if name.endswith("size") else kind_of
    by_ending = {"_cents": "money", "_on": "day", "_ppm": "percent"}
    for ending, look in by_ending.items():
        if name.endswith(ending):
            return look
    alone = {"tracking": "code", "zone": "zone", "residential": "flag", "voided": "words", "description": "words"}
    return alone.get(name, "words" if (name, kind) == ("charge", "fees") else "")


SEVERAL = 10
"""More charges than one parcel has."""
FREE = 0.8
"""How well any value fits a field of free text."""


def fits(name: str, kind: str, column: Values) -> float:
    """How well a column's values fit a field, from 0 to 1; 0.5 for a column without any."""
    if not column.texts:
        return 0.5
    if name == "tracking" and _is_constant(column):
        return 0.0
    look = _look(name, kind)
    if not look:
        return FREE
    share = column.share(look)
    if name == "tracking":
        return max(share, column.share("checked"))
    if name == "voided":
        return 1.0
    return share


def _is_constant(column: Values) -> bool:
    """Whether one text stands on all of several rows, as no parcel's number does but the statement's."""
    return len(column.texts) == 1 and column.rows > SEVERAL


def tells(name: str, kind: str, column: Values) -> float:
    """How far the values by themselves say that the column is this field, from 0 to 1, with no heading to help."""
    if name == "tracking" and _is_constant(column):
        return 0.0
    if name == "tracking" and (right := column.share("checked")) > ONE_IN_TEN and len(column.texts) > 1:
        return 0.8 * right
    if name == "tracking" and column.share("charge") and column.share("code"):
        return 0.7 * column.share("code or charge")
    if name == "tracking":
        return 0.6 * column.share("code")
    if name.endswith("size"):
        return 0.6 * column.share("size")
    worth, look = OF_STATEMENTS.get(name, (0.0, "")) if kind == "statement" else (0.0, "")
    return worth * column.share(look) if look and (look != "day" or len(column.texts) > 1) else 0.0


OF_STATEMENTS = {"description": (0.9, "charge"), "shipped_on": (0.56, "day"), "amount_cents": (0.6, "cents")}
"""How far values of that look tell a statement's column. One day for all is not that of parcels."""


ONE_IN_TEN = 0.5
"""A check digit is right by chance for a number in ten, so half of a column's numbers must have it right."""
