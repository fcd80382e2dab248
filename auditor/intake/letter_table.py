"""A table in a letter → lines of it: 'label: value', where a cell's label are the headings above and beside it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from auditor.core import units
from auditor.intake.evidence import is_code
from auditor.intake.letter_words import SIDES, pattern
from auditor.intake.words import canonical, tokens

BARE = re.compile(r"\d+(?:[.,]\d+)?(?:[ -]\d+/\d+)?|\d[\d.,]*(?:\s*[x×*]\s*\d[\d.,]*){2}", re.IGNORECASE)
"""A figure, or a size, without a unit."""
PAIR = 2
LETTERS = {"L": "length", "W": "width", "H": "height"}
CURRENCIES = {"usd", "eur", "gbp", "cad", "aud", "chf"}

Row = Sequence[str]


def lines_of(rows: Sequence[Row], around: str = "") -> Iterator[str]:
    """A table as lines of a letter; `around`, the text beside it, may say in which units it is.

    A row with a parcel's number in it stands for that parcel, with the headings above it; rows between and after such
    ones, which sum them up, are about none and left out.
    """
    rows = [[" ".join(cell.split()) for cell in row] for row in rows]
    codes = [at for at, row in enumerate(rows) if any(map(_number_in, row))]
    heads = rows[: codes[0]] if codes else []
    if codes and heads and max(map(len, heads)) > PAIR:
        yield from _parcel_by_parcel(heads, [rows[at] for at in codes], _units_in(around))
    elif len(rows) > 1 and _is_crossed(rows[0], rows[1:]):
        yield from _crossed(rows[0], rows[1:], _units_in(around))
    else:
        yield from map(_as_it_stands, filter(any, rows))


def _number_in(cell: str) -> bool:
    """Whether a parcel's number is the first word of a cell, or all of it."""
    first, *_ = cell.split(maxsplit=1) or [""]
    return is_code(first) or bool(re.fullmatch(r"[A-Z]{0,2}(?: ?\d){8,24}(?: ?[A-Z]{2})?", cell))


def _as_it_stands(row: Row) -> str:
    filled = [cell for cell in row if cell]
    return f"{filled[0].rstrip(': ')}: {filled[1]}" if len(filled) == PAIR else " | ".join(filled)


def _is_crossed(head: Row, body: Sequence[Row]) -> bool:
    """Whether most cells are figures that a heading above and one beside name together."""
    if len(head) < PAIR or any(map(_has_digit, head)):
        return False
    labels = [row[0] for row in body]
    cells = [cell for row in body for cell in row[1:] if cell]
    named = all(labels) and not any(map(_has_digit, labels)) and bool(cells)
    return named and sum(map(_has_digit, cells)) > len(cells) / 2 and any(head[1:])


def _has_digit(text: str) -> bool:
    return any(map(str.isdigit, text))


def _crossed(head: Row, body: Sequence[Row], usual: Mapping[str, str]) -> Iterator[str]:
    """A line for each cell: 'Measured weight: 14 lb'."""
    for row in body:
        for over, cell in zip(head[1:], row[1:], strict=False):
            if cell:
                label = " ".join(filter(None, (over, row[0])))
                yield f"{label}: {_with_unit(cell, label, usual)}"


def _parcel_by_parcel(heads: Sequence[Row], rows: Sequence[Row], usual: Mapping[str, str]) -> Iterator[str]:
    """For each parcel a line for each cell; a heading over several columns is of all of them."""
    labels = _labels(heads, max(map(len, (*heads, *rows))))
    for row in rows:
        first = next(at for at, cell in enumerate(row) if _number_in(cell))
        yield f"parcel: {row[first]}"
        for at, cell in enumerate(row):
            if cell and at != first:
                yield f"{labels[at]}: {_with_unit(cell, labels[at], usual)}"


def _labels(heads: Sequence[Row], width: int) -> list[str]:
    """What stands over each column; a heading over several, with others below it, is of each of them."""
    *upper, last = [[*head, *[""] * (width - len(head))] for head in heads]
    for head in upper:
        for at in range(1, width):
            head[at] = head[at] or (head[at - 1] if last[at] else "")
    spelled = [LETTERS.get(text, text) for text in last] if LETTERS.keys() <= set(last) else last
    return [" ".join(filter(None, parts)) for parts in zip(*upper, spelled, strict=True)]


def _with_unit(cell: str, label: str, usual: Mapping[str, str]) -> str:
    """A figure without a unit has that of its label, 'Weight (lb)', or the usual one of such figures in the letter."""
    if not BARE.fullmatch(cell.strip()):
        return cell
    words = [word for word in tokens(label) if word != "in"]
    named = (units.symbol(word, of) for of in ("weight", "length") for word in words)
    currency = next((word.upper() for word in words if word in CURRENCIES), "")
    inches = "in" if re.search(r"\(in\.?\)", label, re.IGNORECASE) else ""
    of_length = any(pattern(side).search(label) for side in SIDES.values()) or "size" in canonical(label)
    usually = usual.get("length", "") if of_length else usual.get("weight", "") if "weight" in canonical(label) else ""
    return f"{cell} {next(filter(None, named), inches or currency or usually)}".strip()


def _units_in(text: str) -> dict[str, str]:
    """The units of lengths and of weights that a text names, where it names just one."""
    words = {word for word in tokens(text) if len(word) > 1 and word != "in"}
    named = {of: {unit for word in words if (unit := units.symbol(word, of))} for of in ("length", "weight")}
    return {of: min(found) for of, found in named.items() if len(found) == 1}
