"""A plain file of delimited text, read and kept by column with pyarrow, so that a million rows take a second.

Nothing is done row by row; what the columns mean is told in recognise.py as of any grid.
"""

from __future__ import annotations

import csv
import os
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.intake.texts import are_plain, coded

BLOCK = 8 * 2**20
"""Bytes that are read at once."""
BLANK, QUOTATION, END = b' "\n'
DELIMITERS = tuple(b",;\t")
LONGEST = 2**16
"""From so many bytes without an end of a line on a file is read by row, which tells of a cell that is too long."""


class Columns(Sequence[Sequence[str]]):
    """Rows that are kept by column; a row is made when asked for. Blanks around texts are left off.

    A column is kept once: as pyarrow's texts until it is made categorical, which takes a tenth of the memory.
    """

    def __init__(self, table: Any) -> None:
        """`table`: pyarrow's, of texts (large_string)."""
        self._rows: int = table.num_rows
        self.width: int = table.num_columns
        self._texts: dict[int, Any] = dict(enumerate(table.columns))
        self._coded: dict[int, pd.Series] = {}
        self._some: dict[tuple[int, int], list[str]] = {}

    def __len__(self) -> int:
        return self._rows

    def __getitem__(self, at: Any) -> Any:
        if isinstance(at, slice):
            return [self[row] for row in range(*at.indices(len(self)))]
        return [self._text(position, int(at)) for position in range(self.width)]

    def _text(self, position: int, row: int) -> str:
        if position in self._coded:
            return str(self._coded[position].iloc[row])
        return str(self._texts[position][row].as_py().strip())

    def by_row(self) -> list[list[str]]:
        """All rows as such."""
        self.code(range(self.width))
        columns = [coded(self._coded[position]) for position in range(self.width)]
        return list(map(list, zip(*([texts[code] for code in codes] for codes, texts in columns), strict=True)))

    def every(self, step: int, position: int) -> list[str]:
        """The texts of a column in every so many rows, the first among them; looked up once."""
        if (step, position) not in self._some:
            self._some[step, position] = list(self._every(step, position))
        return self._some[step, position]

    def _every(self, step: int, position: int) -> Iterator[str]:
        if position in self._coded:
            yield from self._coded[position].iloc[::step]
            return
        first = 0
        for chunk in self._texts[position].chunks:
            rows = np.arange(first, len(chunk), step)
            yield from map(str.strip, chunk.take(rows).to_pylist())
            first += len(rows) * step - len(chunk)

    def plain(self, position: int, after: int) -> pd.Series:
        """The texts of a column from a row on, as they stand; labelled by the numbers of the rows."""
        from pyarrow import compute

        if position in self._coded:
            return self._coded[position].iloc[after:]
        texts = self._texts[position].slice(after).combine_chunks()
        stripped = texts if are_plain(texts) else compute.utf8_trim_whitespace(texts)
        return pd.Series(pd.array(stripped, dtype="str"), index=pd.RangeIndex(after, len(self)))

    def coded(self, position: int) -> pd.Series:
        """A column as a categorical one: its distinct texts, and a code a row."""
        self.code([position])
        return self._coded[position]

    def code(self, positions: Iterable[int]) -> None:
        """Make several columns categorical at once; pyarrow holds no lock of Python's meanwhile."""
        new = sorted(set(positions) - set(self._coded), key=self._variety, reverse=True)  # the longest work first
        with ThreadPoolExecutor(os.cpu_count()) as pool:
            for position, column in zip(new, pool.map(self._categorical, new), strict=True):
                self._coded[position] = column

    def _variety(self, position: int) -> int:
        """How many distinct texts were seen of a column so far."""
        return max((len(set(texts)) for (_, at), texts in self._some.items() if at == position), default=0)

    def _categorical(self, position: int) -> pd.Series:
        """A column of distinct texts and codes, as pandas has it, without blanks around the texts."""
        coded = self._texts.pop(position).dictionary_encode().combine_chunks()
        codes = coded.indices.to_numpy(zero_copy_only=False)
        texts = coded.dictionary.to_pylist()
        stripped = [text.strip() for text in texts]
        if stripped != texts:
            again, texts = pd.factorize(np.array(stripped, dtype=object))
            codes = again[codes]
        return pd.Series(pd.Categorical.from_codes(codes, pd.Index(texts, dtype=object), validate=False))


class RowNumbers(Sequence[str]):
    """'row 1', 'row 2' …, made when asked for."""

    def __init__(self, rows: int) -> None:
        """For so many rows."""
        self.rows = rows

    def __len__(self) -> int:
        return self.rows

    def __getitem__(self, at: Any) -> Any:
        if isinstance(at, slice):
            return [self[row] for row in range(*at.indices(self.rows))]
        if not 0 <= at < self.rows:
            raise IndexError(at)
        return f"row {at + 1}"

    def of(self, rows: npt.NDArray[np.int64]) -> pd.Series:
        """Those of the rows, all at once."""
        import pyarrow as pa
        from pyarrow import compute

        def named(some: npt.NDArray[np.int64]) -> Any:
            return compute.binary_replace_slice(compute.cast(pa.array(some + 1), pa.large_string()), 0, 0, "row ")

        with ThreadPoolExecutor() as pool:
            parts = list(pool.map(named, np.array_split(rows, os.cpu_count() or 1)))
        return pd.Series(pd.array(pa.chunked_array(parts), dtype="str"))


def read(path: Path, start: bytes, delimiter: str) -> Columns | None:
    """The rows of a plain file; None where it is not plain, or pyarrow is not installed.

    Plain are UTF-8, one delimiter, rows of one width, no blank rows and no cell with a line break in it.

    Args:
        path: the file.
        start: how it begins, its first row at least.
        delimiter: what parts its cells.
    """
    try:
        import pyarrow as pa
        from pyarrow import csv as arrow
    except ImportError:
        return None
    start = start.removeprefix(b"\xef\xbb\xbf")
    if not start or start.startswith((b"sep=", b"\n", b"\r")):
        return None
    first = start.splitlines()[0].decode("utf-8", "ignore")
    names = [str(number) for number in range(len(next(csv.reader([first], delimiter=delimiter))))]
    try:
        with path.open("rb") as opened:
            file = LookedThrough(opened)
            table = arrow.read_csv(
                file,
                arrow.ReadOptions(column_names=names, block_size=BLOCK),
                arrow.ParseOptions(delimiter=delimiter, ignore_empty_lines=False, newlines_in_values=False),
                arrow.ConvertOptions(
                    check_utf8=not start.isascii(),
                    column_types=dict.fromkeys(names, pa.large_string()),
                    strings_can_be_null=False,
                ),
            )
        if start.isascii() and not file.is_ascii:  # far down, so that it was not checked while it was read
            table.validate(full=True)
    except pa.ArrowInvalid:
        return None
    has_cells_of_several_lines = table.num_rows != file.lines
    return None if file.is_uneven or has_cells_of_several_lines or _has_blank_row(table) else Columns(table)


class LookedThrough:
    """A file that is looked through while it is read, piece by piece: it is read once, and never in memory whole.

    `is_uneven`: a reading by column and one by row would take it in different ways, as a line without end.
    `lines`: how many it has. `is_ascii`: it need not be checked to be UTF-8.
    """

    closed = False

    def __init__(self, file: BinaryIO) -> None:
        self.is_uneven, self.is_ascii = False, True
        self._file, self._last, self._ends = file, b"", 0

    @property
    def lines(self) -> int:
        """How many lines were read, the last one with or without an end."""
        return self._ends + (not self._last.endswith(b"\n"))

    def read(self, count: int = -1) -> bytes:
        """The next so many bytes."""
        block = self._file.read(count)
        self.is_uneven |= b"\0" in block or _has_late_quotation(block) or _has_late_quotation(self._last + block[:2])
        pieces = range(0, len(block) - LONGEST + 1, LONGEST)
        self.is_uneven |= any(block.find(b"\n", at, at + LONGEST) < 0 for at in pieces)
        self.is_ascii &= block.isascii()
        self._ends += int(np.count_nonzero(np.frombuffer(block, np.uint8) == END))
        self._last = (self._last + block[-2:])[-2:]
        return block

    def close(self) -> None:
        """Whoever opened the file closes it."""


def _has_late_quotation(text: bytes) -> bool:
    """Whether a cell begins with a blank before its quotation mark."""
    if b'"' not in text:
        return False
    letters = np.frombuffer(text, np.uint8)
    blanks = np.flatnonzero((letters[:-1] == BLANK) & (letters[1:] == QUOTATION))
    return bool(np.isin(letters[blanks[blanks > 0] - 1], DELIMITERS).any())


def _has_blank_row(table: Any) -> bool:
    from pyarrow import compute

    blank = compute.equal(table.column(0), "")
    for column in table.columns[1:]:
        if not compute.any(blank).as_py():
            return False
        blank = compute.and_(blank, compute.equal(column, ""))
    return bool(compute.any(blank).as_py())
