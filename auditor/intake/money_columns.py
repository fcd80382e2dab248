"""Columns that belong to the column of amounts: credits beside debits, a mark behind each, the total on every row."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

import pandas as pd

from auditor.core.money import text
from auditor.intake import parsing
from auditor.intake.headings import MONEY, Head
from auditor.intake.texts import coded, spread
from auditor.intake.words import canonical, tokens

ROWS = 400
"""So many rows are looked at."""
MOSTLY = 0.9
"""The share of rows with an amount in just one of two columns; sums of pages have one in both."""
CREDIT = {"credit", "haben", "avere", "haber", "ausgang", "abonos"}
OWED = {"amount", "charge", "billed"}
"""What the column of debits may be called, as `canonical` words."""
BACK = {"CR", "CREDIT", "C", "H", "-", "−", "–"}
MARKS = BACK | {"DR", "DEBIT", "D", "S", "+"}
PLAIN_MARKS = {"CR", "DR", "CREDIT", "DEBIT"}
MARKED = {"+/-", "-/+", "+-", "d/c", "c/d", "dr/cr", "cr/dr", "s/h", "sign", "vorzeichen", "signe", "signo", "segno"}
"""What a column of marks is called, where it has a name."""
FEW = 5
"""A total stands on so many rows at least, on average."""


def debit_and_credit(head: Head) -> tuple[int, int] | None:
    """The columns of amounts owed and of amounts given back, of which each row has one; None where there are none."""
    amounts = [at for at, text in enumerate(head.texts) if text and head.is_money(at)]
    back = [at for at in amounts if CREDIT & {*canonical(head.texts[at]), *tokens(head.texts[at])}]
    owed = [at for at in amounts if at not in back and OWED & {*canonical(head.texts[at])}]
    pairs = [(one, other) for other in back for one in sorted(owed, key=lambda at: abs(at - other))]
    return next((pair for pair in pairs if _fill_up(head, *pair)), None)


def _fill_up(head: Head, one: int, other: int) -> bool:
    """Whether nearly every row with an amount in either column has one in just one of them, and some in each."""
    rows = _below(head, one, other)
    filled = [(bool(a.strip("-0., ")), bool(b.strip("-0., "))) for a, b in rows]
    either = sum(a or b for a, b in filled)
    alone = sum(a != b for a, b in filled)
    return any(a for a, _ in filled) and any(b for _, b in filled) and alone >= MOSTLY * either


def mark(head: Head, amount: int) -> int | None:
    """The column beside the amounts in which CR, or another mark, stands behind those given back."""
    for at in (amount + 1, amount - 1):
        if not 0 <= at < len(head.texts) or not _may_be_marks(head, at):
            continue
        found = {cell.upper() for (cell,) in _below(head, at)} - {""}
        called = head.texts[at].casefold().strip()
        known = found <= PLAIN_MARKS or not called or called in MARKED
        if found & BACK and found <= MARKS and known:
            return at
    return None


def _may_be_marks(head: Head, at: int) -> bool:
    """Whether its texts are marks, as far as some rows tell."""
    return {text.upper() for text in head.values(at).texts} <= MARKS


def _below(head: Head, *positions: int) -> Iterator[tuple[str, ...]]:
    rows = islice(head.grid.rows, head.row + 1, head.row + 1 + ROWS)
    yield from (tuple(row[at].strip() for at in positions) for row in rows if len(row) > max(positions))


def signed(owed: pd.Series, credits_: pd.Series | None, marks: pd.Series | None) -> pd.Series:
    """The texts of amounts with a sign before those given back."""
    texts = owed.astype(object)
    if credits_ is not None:
        back = _negative(credits_).astype(object)
        nothing = texts.map(lambda cell: not cell.strip("-0., "))
        texts = texts.where(~nothing | (back == ""), back)
        both = ~nothing & (back != "")
        texts[both] = [_difference(*pair) for pair in zip(owed[both], credits_[both], strict=True)]
    if marks is not None:
        is_back = marks.astype(object).map(lambda cell: cell.upper() in BACK)
        texts = texts.where(~is_back, _negative(texts))
    return texts


def _difference(owed: str, back: str) -> str:
    """What is owed less what is given back, as in a row of sums; the former where that cannot be told."""
    comma = parsing.has_decimal_comma([owed, back])
    try:
        cents = parsing.money(owed, decimal_comma=comma) - abs(parsing.money(back, decimal_comma=comma))
    except ValueError:
        return owed
    return text(cents).replace(".", ",") if comma else text(cents)


def _negative(column: pd.Series) -> pd.Series:
    codes, texts = coded(column)
    signed_texts = [one if not one or one[0] in "-−–(" else f"-{one}" for one in texts]
    return spread(pd.Series(signed_texts, dtype=object), codes, column.index)


def total_on_each_row(head: Head) -> int | None:
    """The column that repeats the statement's total, or amount, on each of its rows."""
    for at, heading in enumerate(head.texts):
        said = {*canonical(heading)}
        if "statement" in said and said & {"total", "amount"}:
            values = head.values(at)
            if values.rows >= FEW * len(values.texts) and values.share("cents") >= MONEY:
                return at
    return None
