"""A plain file of delimited text, read and kept by column with pyarrow, so that a million rows take a second.

Nothing is done row by row; what the columns mean is told in recognise.py as of any grid.
"""

from __future__ import annotations

import csv
import os
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.intake.texts import are_plain

BLOCK, LOOKED_AT = 8 * 2**20, 2**18
"""Bytes that pyarrow reads at once, and that are looked through at once."""


class Columns(Sequence[Sequence[str]]):
    """Rows that are kept by column; a row is made when asked for. Blanks around texts are left off."""

    def __init__(self, table: Any) -> None:
        """`table`: pyarrow's, of texts (large_string)."""
        self._texts = table.columns
        self._coded: dict[int, pd.Series] = {}
        self._some: dict[tuple[int, int], list[str]] = {}

    def __len__(self) -> int:
        return len(self._texts[0])

    def __getitem__(self, at: Any) -> Any:
        if isinstance(at, slice):
            return [self[row] for row in range(*at.indices(len(self)))]
        return [column[int(at)].as_py().strip() for column in self._texts]

    @property
    def width(self) -> int:
        """How many columns there are."""
        return len(self._texts)

    def every(self, step: int, position: int) -> list[str]:
        """The texts of a column in every so many rows, the first among them; looked up once."""
        if (step, position) not in self._some:
            found, first = [], 0
            for chunk in self._texts[position].chunks:
                rows = np.arange(first, len(chunk), step)
                found += [text.strip() for text in chunk.take(rows).to_pylist()]
                first += len(rows) * step - len(chunk)
            self._some[step, position] = found
        return self._some[step, position]

    def plain(self, position: int, after: int) -> pd.Series:
        """The texts of a column from a row on, as they stand; labelled by the numbers of the rows."""
        from pyarrow import compute

        texts = self._texts[position].slice(after).combine_chunks()
        stripped = texts if are_plain(texts) else compute.utf8_trim_whitespace(texts)
        return pd.Series(pd.array(stripped, dtype="str"), index=pd.RangeIndex(after, len(self)))

    def coded(self, position: int) -> pd.Series:
        """A column as a categorical one: its distinct texts, and a code a row."""
        if position not in self._coded:
            self.code([position])
        return self._coded[position]

    def code(self, positions: Iterable[int]) -> None:
        """Make several columns categorical at once; pyarrow holds no lock of Python's meanwhile."""
        new = sorted(set(positions) - set(self._coded))
        with ThreadPoolExecutor(os.cpu_count()) as pool:
            found = pool.map(lambda at: _categorical(self._texts[at].dictionary_encode().combine_chunks()), new)
        self._coded |= dict(zip(new, found, strict=True))


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
    uneven, many, ascii_only = _marked(path)
    if uneven or start.startswith((b"sep=", b"\n", b"\r")):
        return None
    first = start.split(b"\n", 1)[0].decode("utf-8", "ignore")
    names = [str(number) for number in range(len(next(csv.reader([first], delimiter=delimiter))))]
    try:
        table = arrow.read_csv(
            path,
            arrow.ReadOptions(column_names=names, block_size=BLOCK),
            arrow.ParseOptions(delimiter=delimiter, ignore_empty_lines=False, newlines_in_values=False),
            arrow.ConvertOptions(
                check_utf8=not ascii_only,
                column_types=dict.fromkeys(names, pa.large_string()),
                strings_can_be_null=False,
            ),
        )
    except pa.ArrowInvalid:
        return None
    has_cells_of_several_lines = many and table.num_rows != _lines(path)
    return None if has_cells_of_several_lines or _has_blank_row(table) else Columns(table)


def _blocks(path: Path) -> Iterator[bytes]:
    """The file's bytes, piece by piece, so that it is never in memory whole."""
    with path.open("rb") as file:
        while block := file.read(LOOKED_AT):
            yield block


def _marked(path: Path) -> tuple[bool, bool, bool]:
    """Whether a reading by column and one by row would take it in different ways, and what else its marks tell.

    That is whether rows may be of many lines, as without quotation marks each line is a row; and whether all is ASCII,
    which needs no check that it is UTF-8.
    """
    marks = (b', "', b'; "', b'\t "')
    last, many, ascii_only = b"", False, True
    for block in _blocks(path):
        quoted = b'"' in block
        if b"\0" in block or (quoted and any(mark in last + block for mark in marks)):
            return True, True, False
        many |= quoted or b"\r" in block
        ascii_only &= block.isascii()
        last = (last + block[-2:])[-2:]
    return False, many, ascii_only


def _lines(path: Path) -> int:
    count, last = 0, b"\n"
    for last in _blocks(path):
        count += last.count(b"\n")
    return count + (not last.endswith(b"\n"))


def _has_blank_row(table: Any) -> bool:
    from pyarrow import compute

    blank = compute.equal(table.column(0), "")
    for column in table.columns[1:]:
        if not compute.any(blank).as_py():
            return False
        blank = compute.and_(blank, compute.equal(column, ""))
    return bool(compute.any(blank).as_py())


def _categorical(coded: Any) -> pd.Series:
    """A column of distinct texts and codes, as pandas has it, without blanks around the texts."""
    codes = coded.indices.to_numpy(zero_copy_only=False)
    texts = coded.dictionary.to_pylist()
    stripped = [text.strip() for text in texts]
    if stripped != texts:
        again, texts = pd.factorize(np.array(stripped, dtype=object))
        codes = again[codes]
    return pd.Series(pd.Categorical.from_codes(codes, pd.Index(texts, dtype=object), validate=False))
