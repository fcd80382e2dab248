"""Delimited text → a grid: its encoding and its delimiter are found, every cell stays the text it is."""

from __future__ import annotations

import csv
import io
import os
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from itertools import islice
from typing import Any

import numpy as np
import pandas as pd

from auditor.intake.documents import Columns, Grid, Letter, Opened, RowNumbers, Text, Unreadable, refuse_over
from auditor.tables import Problem

LARGEST = 300 * 2**20
LONGEST_LETTER = 2**20
LONGEST_ROW = 2**20
BY_COLUMN_FROM = 2**20
"""From so many bytes on a plain file is read by column, if pyarrow is installed."""
DELIMITERS = ",;\t|"
SAMPLE_CHARACTERS, SAMPLE_ROWS = 64_000, 200
BLOCK = 4 * 2**20
MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
SINGLE_BYTE = ("cp1252", "latin-1")
END = "\x1cend of file\x1c"
NUMBER = re.compile(r"[-+(]?[\d.,\s]+\)?")


def read(name: str, content: bytes) -> Opened:
    """Read delimited text whole.

    Raises:
        Unreadable: it is too large.
    """
    refuse_over(LARGEST, len(content))
    if len(content) > BY_COLUMN_FROM and (columns := by_column(content)) is not None:
        return Opened((Grid(columns, RowNumbers(len(columns))),))
    text, encoding = decoded(content)
    problems = []
    if "\0" in text:
        message = "This file has NUL characters in it, which no text has. They were left out; look over its values."
        problems.append(Problem(name, "", message))
        text = text.replace("\0", "")
    text, delimiter = _told_delimiter(text)
    whole, text = len(text), _before_endless(text)
    rows, closed = records(text, delimiter or likely_delimiter(text[:SAMPLE_CHARACTERS]))
    places = [f"row {number}" for number in range(1, len(rows) + 1)]
    if encoding in SINGLE_BYTE:
        problems.append(Problem(name, "", _not_utf8(rows, places), note=True))
    if not closed:
        problems.append(_cut(name, text, len(rows) + 1))
    elif len(text) < whole:
        message = (
            f"This row has more than {LONGEST_ROW:,} characters, which no row of a table has, so it and all below it "
            "were not read. Export the file again."
        )
        problems.append(Problem(name, f"row {len(rows) + bool(text)}", message, unread=True))
    grid = Grid(rows, places)
    letters = (Letter(text),) if len(text) <= LONGEST_LETTER else ()
    return Opened((Text((grid,), letters),), tuple(problems))


def by_column(content: bytes) -> Columns | None:
    """The rows of a plain file, read by column; None where it is not plain, or pyarrow is not installed.

    Plain are UTF-8, one delimiter, rows of one width, no blank rows and no cell with a line break in it.
    """
    try:
        import pyarrow as pa
        from pyarrow import csv as arrow
    except ImportError:
        return None
    content = content.removeprefix(b"\xef\xbb\xbf")
    if _is_uneven(content):
        return None
    sample = content[:SAMPLE_CHARACTERS].decode("utf-8", "ignore")
    delimiter = likely_delimiter(sample)
    width = len(next(csv.reader([sample.split("\n", 1)[0]], delimiter=delimiter)))
    names = [str(number) for number in range(width)]
    try:
        table = arrow.read_csv(
            pa.BufferReader(content),
            arrow.ReadOptions(column_names=names, block_size=BLOCK),
            arrow.ParseOptions(delimiter=delimiter, ignore_empty_lines=False, newlines_in_values=False),
            arrow.ConvertOptions(column_types=dict.fromkeys(names, pa.string()), strings_can_be_null=False),
        )
    except pa.ArrowInvalid:
        return None
    if _has_cells_of_several_lines(content, table.num_rows) or _has_blank_row(table):
        return None
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        coded = list(pool.map(_coded, table.columns))
    return Columns([_categorical(one) for one in coded])


def _is_uneven(content: bytes) -> bool:
    """Whether it has what a reading by column and one by row would take in different ways."""
    if content.startswith((b"sep=", b"\n", b"\r")) or b"\0" in content:
        return True
    return b'"' in content and any(mark in content for mark in (b', "', b'; "', b'\t "'))


def _has_cells_of_several_lines(content: bytes, rows: int) -> bool:
    """Whether there are not as many rows as lines. Without quotation marks each line is a row."""
    if b'"' not in content and b"\r" not in content:
        return False
    return rows != content.count(b"\n") + (not content.endswith(b"\n"))


def _has_blank_row(table: Any) -> bool:
    from pyarrow import compute

    blank = compute.equal(table.column(0), "")
    for column in table.columns[1:]:
        if not compute.any(blank).as_py():
            return False
        blank = compute.and_(blank, compute.equal(column, ""))
    return bool(compute.any(blank).as_py())


def _coded(column: Any) -> Any:
    """A column of texts as distinct ones and codes, as pyarrow has them; it holds no lock of Python's meanwhile."""
    return column.dictionary_encode().combine_chunks()


def _categorical(coded: Any) -> pd.Series:
    """The same as pandas has it, without blanks around the texts."""
    from pyarrow import compute

    codes = coded.indices.to_numpy(zero_copy_only=False)
    texts = coded.dictionary.to_numpy(zero_copy_only=False)
    ends = (compute.utf8_slice_codeunits(coded.dictionary, *end) for end in ((0, 1), (-1,)))
    if any(map(str.isspace, (letter for them in ends for letter in compute.unique(them).to_pylist()))):
        again, texts = pd.factorize(np.array([text.strip() for text in texts], dtype=object))
        codes = again[codes]
    return pd.Series(pd.Categorical.from_codes(codes, pd.Index(texts, dtype=object), validate=False))


def decoded(content: bytes) -> tuple[str, str]:
    """The text and the encoding it was read by: its byte order mark's, UTF-16, UTF-8, Windows-1252, Latin-1."""
    for encoding in (*_marked(content), *_utf16(content[:1000]), "utf-8", *SINGLE_BYTE):
        try:
            return content.decode(encoding), encoding
        except UnicodeDecodeError:
            continue
    raise Unreadable(
        "Its characters could not be read. Save it as CSV in UTF-8."
    )  # pragma: no cover - Latin-1 reads all


def _marked(content: bytes) -> Iterator[str]:
    return (encoding for mark, encoding in MARKS if content.startswith(mark))


def is_utf16(start: bytes) -> bool:
    """Whether text that begins so is UTF-16, with or without a mark."""
    return "utf-16" in [*_marked(start), *(encoding[:6] for encoding in _utf16(start[:1000]))]


def _utf16(start: bytes) -> Iterator[str]:
    """UTF-16 without a mark: every other byte of plain text is zero."""
    for first, encoding in ((1, "utf-16-le"), (0, "utf-16-be")):
        if len(start) > 1 and start[first::2].count(0) > len(start) // 4 > start[1 - first :: 2].count(0):
            yield encoding


def _told_delimiter(text: str) -> tuple[str, str]:
    """Spreadsheets may write their delimiter into a first line of its own: 'sep=;'."""
    found = re.match(r"sep=(.)\r?\n", text)
    return (text[found.end() :], found[1]) if found else (text, "")


def _before_endless(text: str) -> str:
    """The text up to a line that is longer than any row; all of it where there is none."""
    start = 0
    for line in io.StringIO(text, newline=""):
        if len(line) > LONGEST_ROW:
            return text[:start].removesuffix("\n").removesuffix("\r")
        start += len(line)
    return text


def likely_delimiter(sample: str) -> str:
    """The delimiter by which most rows have the same width, and by which no cell holds another delimiter."""
    return max(DELIMITERS, key=lambda delimiter: _fit(sample, delimiter))


def _fit(sample: str, delimiter: str) -> tuple[float, int]:
    lines = io.StringIO(sample, newline="")
    try:
        rows = [row for row in islice(csv.reader(lines, delimiter=delimiter), SAMPLE_ROWS) if any(row)]
    except csv.Error:
        return 0.0, 0
    width, count = max(Counter(map(len, rows)).items(), key=lambda item: (item[0] > 1, item[1]), default=(0, 0))
    if width < 2:  # noqa: PLR2004 - one column has no delimiter
        return 0.0, 0
    cells = [cell for row in rows for cell in row]
    others = set(DELIMITERS) - {delimiter}
    clean = sum(others.isdisjoint(cell) or NUMBER.fullmatch(cell) is not None for cell in cells)
    return count / len(rows) * clean / len(cells), width


def records(text: str, delimiter: str) -> tuple[list[list[str]], bool]:
    """The rows, blank ones included, and whether the text was read to its end.

    It is not when a quotation mark opens and never closes. A line of our own at the end shows that: it comes out as a
    row only where nothing has swallowed it.
    """
    rows: list[list[str]] = []
    reader = csv.reader(io.StringIO(f"{text}\n{END}", newline=""), delimiter=delimiter, skipinitialspace=True)
    try:
        for row in reader:
            rows.append(row)  # noqa: PERF402 - the rows before an error are kept
    except csv.Error:
        return rows, False
    return rows[:-1], rows[-1] == [END]


def _not_utf8(rows: Sequence[Sequence[str]], places: Sequence[str]) -> str:
    seen = (f"{place} '{cell}'" for row, place in zip(rows, places, strict=True) for cell in row if not cell.isascii())
    return (
        "This file is not in UTF-8, so its letters with accents and its signs were read as Windows-1252. Look whether "
        f"these are right: {', '.join(islice(seen, 3))}. If not, save the file as CSV in UTF-8."
    )


def _cut(name: str, text: str, row: int) -> Problem:
    """Why the rows from that one on were not read: a cell without end, or an open quotation mark."""
    endless = text.count('"') % 2 == 0 and any(len(line) > csv.field_size_limit() for line in text.splitlines())
    message = (
        f"This row has a cell of more than {csv.field_size_limit():,} characters, which no table has, so it and all "
        "below it were not read. Export the file again."
        if endless
        else 'A quotation mark (") opens in this row and never closes, so this row and all below it were not read. '
        "Take the mark out, or write it twice within a quoted cell, and run again."
    )
    return Problem(name, f"row {row}", message, unread=True)
