"""Columns of texts, plain or categorical (distinct texts, and a code a row): each distinct text is looked at once."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

BLANK = ord(" ")
FEW = 20
"""So many rows, as of a letter, are cheaper looked at one by one."""
RUN = 2**16
"""Codes are looked up so many rows at a time; a text that fills them all is kept once for all such runs of rows."""


def coded(column: pd.Series) -> tuple[npt.NDArray[Any], list[str]]:
    """A code a row, and the distinct texts that the codes stand for."""
    if isinstance(column.dtype, pd.CategoricalDtype):
        return column.cat.codes.to_numpy(), column.cat.categories.tolist()
    if len(column) <= FEW:
        texts = dict.fromkeys(text for text in column if isinstance(text, str))
        places = {text: place for place, text in enumerate(texts)}
        return np.array([places.get(text, -1) for text in column], dtype=np.int64), list(texts)
    codes, distinct = pd.factorize(column)
    return codes, distinct.to_numpy(dtype=object).tolist()


def spread(values: pd.Series, codes: npt.NDArray[Any], index: pd.Index) -> pd.Series:
    """For each row the value that its code stands for; the last one for a code of -1."""
    array: Any = values.array
    kind: Any = values.dtype
    by_run = codes[: len(codes) // RUN * RUN].reshape(-1, RUN)
    if isinstance(array, pd.arrays.ArrowStringArray) and (by_run.min(axis=1) == by_run.max(axis=1)).any():
        array = _spread_by_run(array, codes)
    elif isinstance(array, pd.arrays.IntegerArray | pd.arrays.BooleanArray):
        plain = array.to_numpy(dtype=kind.numpy_dtype, na_value=0)
        array = kind.construct_array_type()(by_code(plain, codes), by_code(array.isna(), codes))
    elif isinstance(array, pd.arrays.DatetimeArray):
        array = by_code(array.to_numpy(), codes)
    else:
        array = array.take(codes)  # a series' own take makes an index too, at twice the time
    return pd.Series(array, index=index, dtype=values.dtype, copy=False)


def by_code(values: npt.NDArray[Any], codes: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """The same of a plain array of values.

    Piece by piece, as each code is made as wide as an address for it, and memory for all of these takes longer to come
    by than the values take to be looked up.
    """
    found = np.empty(len(codes), dtype=values.dtype)
    for first in range(0, len(codes), RUN):
        values.take(codes[first : first + RUN], out=found[first : first + RUN], mode="wrap")
    return found


def _spread_by_run(texts: Any, codes: npt.NDArray[Any]) -> Any:
    """The same of pandas' array of texts, some of which repeat over long runs."""
    import pyarrow as pa

    @cache
    def run_of(code: int) -> Any:
        return pa.chunked_array(pa.array(texts.take(np.full(RUN, code))))

    def piece(some: npt.NDArray[Any]) -> Any:
        is_run = some.min() == some.max()
        return run_of(int(some[0])).slice(0, len(some)) if is_run else pa.chunked_array(pa.array(texts.take(some)))

    pieces = [piece(codes[first : first + RUN]) for first in range(0, len(codes), RUN)]
    return pd.array(pa.chunked_array([chunk for piece in pieces for chunk in piece.chunks]), dtype="str")


def repeated(text: str, index: pd.Index) -> pd.Series:
    """That text in every row."""
    return spread(pd.Series([text], dtype="str"), np.zeros(len(index), dtype=np.int8), index)


def distinct(column: pd.Series) -> list[str]:
    """The distinct texts of a column; of a categorical one, also those that no row has any more."""
    return coded(column)[1]


def where(column: pd.Series, holds: Callable[[str], object]) -> pd.Series:
    """For each row whether something holds of its text."""
    codes, texts = coded(column)
    answers = np.fromiter((bool(holds(text)) for text in texts), dtype=bool, count=len(texts))
    return pd.Series(by_code(answers, codes), index=column.index, copy=False)


NUMBER = re.compile(rb"[A-Za-z]{0,6}\d")
"""How a number of a parcel or of an order begins: with a digit after a few letters at most."""
BEGINNING = 7


def where_no_number(column: pd.Series, holds: Callable[[str], object]) -> pd.Series:
    """The same of what holds of no text that begins as a number does: of a million of these each is not looked at."""
    if not isinstance(column.array, pd.arrays.ArrowStringArray):
        return where(column, holds)
    import pyarrow as pa
    from pyarrow import compute

    texts = pa.chunked_array(pa.array(column.array)).cast(pa.large_binary())
    beginnings = compute.binary_slice(texts, 0, BEGINNING).dictionary_encode().combine_chunks()
    others = np.array([not NUMBER.match(one) for one in beginnings.dictionary.to_pylist()])
    found = by_code(others, beginnings.indices.to_numpy(zero_copy_only=False))
    at = np.flatnonzero(found)
    found[at] = where(column.iloc[at], holds)
    return pd.Series(found, index=column.index, copy=False)


def are_plain(texts: Any) -> bool:
    """Whether pyarrow's texts (large_string) are of ASCII's letters, digits and signs, with single blanks in between.

    They are looked at as the one run of bytes that pyarrow keeps them in.
    """
    _, ends, letters = texts.buffers()
    bounds = np.frombuffer(ends, np.int64)[texts.offset : texts.offset + len(texts) + 1]
    codes = np.frombuffer(letters or b"", np.uint8)[bounds[0] : bounds[-1]]
    if not len(codes):
        return True
    if codes.min() < BLANK or codes.max() > ord("~"):
        return False
    if codes.min() > BLANK:
        return True
    blank = codes == BLANK
    bounds = bounds[bounds < bounds[-1]] - bounds[0]
    first_or_last = blank[bounds].any() or blank[bounds - 1].any()  # the one before the first is the last of all
    return not first_or_last and not (blank[1:] & blank[:-1]).any()


def as_they_stand(column: pd.Series, longest: int) -> pd.Series | None:
    """A column of plain texts, of so many characters at most, as values: missing where it is blank.

    None where they are not plain, or are not kept by pyarrow, so that each has to be looked at.
    """
    if not isinstance(column.array, pd.arrays.ArrowStringArray):
        return None
    import pyarrow as pa
    from pyarrow import compute

    texts = pa.chunked_array(pa.array(column.array))
    most = compute.max(compute.binary_length(texts)).as_py() or 0
    if most > longest or not all(map(are_plain, texts.chunks)):
        return None
    blank = column == ""
    return put(column, blank, None) if blank.any() else column


def put(column: pd.Series, rows: pd.Series, text: str | None) -> pd.Series:
    """The column with that text in those rows; without copying one of pyarrow's where they are its last."""
    if isinstance(column.dtype, pd.CategoricalDtype):
        known = column if text in column.cat.categories else column.cat.add_categories([text])
        texts: Any = known.cat.categories
        codes = known.cat.codes.to_numpy(copy=True)
        codes[rows.to_numpy()] = texts.get_loc(text)
        return pd.Series(pd.Categorical.from_codes(codes, texts, validate=False), index=column.index)
    count = int(rows.sum())
    if rows.iloc[len(rows) - count :].all():
        last = pd.Series([text] * count, dtype=column.dtype)
        both: pd.Series = pd.concat([column.iloc[: len(rows) - count], last], ignore_index=True)
        return both.set_axis(column.index)
    return (
        _either(rows, text, column) if isinstance(column.array, pd.arrays.ArrowStringArray) else column.mask(rows, text)
    )


def _either(rows: pd.Series, text: Any, other: pd.Series) -> pd.Series:
    """A text, or the texts of a column, in those rows, and those of another in the rest; both are kept by pyarrow."""
    import pyarrow as pa
    from pyarrow import compute

    texts = pa.chunked_array(pa.array(other.array))
    new = pa.chunked_array(pa.array(text.array)) if isinstance(text, pd.Series) else pa.scalar(text, texts.type)
    found = compute.if_else(pa.chunked_array([pa.array(rows.to_numpy(dtype=bool))]), new, texts)
    return pd.Series(pd.array(found, dtype="str"), index=other.index)


def carried(column: pd.Series, rows: pd.Series) -> pd.Series:
    """The column with what the row above has in those rows, or the first other row; nothing where there is no other."""
    others = ~rows.to_numpy()
    if not others.any():
        return put(column, rows, "")
    if others[: (count := int(others.sum()))].all():
        return put(column, rows, column.iloc[count - 1])
    last = np.maximum.accumulate(np.where(others, np.arange(len(column)), -1))
    return column.take(np.where(last < 0, others.argmax(), last)).set_axis(column.index)


def first_filled(columns: Iterable[pd.Series]) -> pd.Series:
    """The first text of each row that is not blank; the columns are categorical or kept by pyarrow."""
    columns = iter(columns)
    found = next(columns)
    while (blank := found == "").any() and (column := next(columns, None)) is not None:
        found = _either(blank, _plain(column), _plain(found))
    return found


def _plain(column: pd.Series) -> pd.Series:
    """The texts of a column, categorical or not, as they stand in its rows."""
    codes, texts = coded(column) if isinstance(column.dtype, pd.CategoricalDtype) else (None, [])
    return column if codes is None else spread(pd.Series(texts, dtype="str"), codes, column.index)


def kept(table: pd.DataFrame, rows: pd.Series) -> pd.DataFrame:
    """Those rows of a table; without copying where they are its first."""
    count = int(rows.sum())
    return table.iloc[:count] if bool(rows.iloc[:count].all()) else table[rows]


def at_places(table: pd.DataFrame, places: list[int]) -> pd.DataFrame:
    """The rows at those places; a few of them without looking through all of a long table's texts."""
    if not 0 < len(places) <= FEW:
        return table.iloc[places]
    return pd.concat([table.iloc[place : place + 1] for place in places])
