"""Delimited text → a grid: its encoding and its delimiter are found, every cell stays the text it is."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import islice
from pathlib import Path

from auditor.core.schemas import Problem
from auditor.intake import by_column
from auditor.intake.documents import Grid, Letter, Opened, Text, Unreadable, refuse_over

LARGEST = 300 * 2**20
LONGEST_LETTER = 2**20
LONGEST_ROW = 2**20
BY_COLUMN_FROM = 2**20
"""From so many bytes on a plain file is read by column, if pyarrow is installed."""
DELIMITERS = ",;\t|"
SAMPLE_CHARACTERS, SAMPLE_ROWS = 64_000, 200
MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
SINGLE_BYTE = ("cp1252", "latin-1")
END = "\x1cend of file\x1c"
NUMBER = re.compile(r"[-+(]?[\d.,\s]+\)?")


def read(name: str, path: Path) -> Opened:
    """Read delimited text whole.

    Raises:
        Unreadable: it is too large.
    """
    size = path.stat().st_size
    refuse_over(LARGEST, size)
    if size > BY_COLUMN_FROM and (columns := read_by_column(path)) is not None:
        return Opened((Text((Grid(columns, by_column.RowNumbers(len(columns))),), ()),))
    text, encoding = decoded(path.read_bytes())
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
    letters = () if len(text) > LONGEST_LETTER or _is_a_list(grid) else (Letter(text),)
    return Opened((Text((grid,), letters),), tuple(problems))


LEAST_ROWS, LEAST_CELLS, ALIKE = 5, 3, 0.8
"""From so many rows on, of which this share has the same number of cells, a text is a table and no letter."""


def _is_a_list(grid: Grid) -> bool:
    """Whether nearly all lines have one number of cells, as no letter's have, whose commas stand in sentences."""
    widths = Counter(len(row) for row in grid.rows if any(map(str.strip, row)))
    if widths.total() < LEAST_ROWS:
        return False
    [(width, count)] = widths.most_common(1)
    return width >= LEAST_CELLS and count >= ALIKE * widths.total()


def read_by_column(path: Path) -> by_column.Columns | None:
    """The rows of a plain file; None where it is not plain, or pyarrow is not installed."""
    with path.open("rb") as file:
        start = file.read(SAMPLE_CHARACTERS)
    return by_column.read(path, start, likely_delimiter(start.decode("utf-8-sig", "ignore")))


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
