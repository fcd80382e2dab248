"""Cells of the CSV files that we write: no spreadsheet runs them, and none begins a row of its own."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from itertools import takewhile

from auditor.core.characters import is_blank, is_unseen

STARTS_FORMULA = "=+-@"
QUOTED = re.compile('[,"\r\n]')


def may_be_formula(text: str) -> bool:
    """Whether a spreadsheet may run the text: it begins so, also in full-width or small signs, or behind blanks.

    A tab or a carriage return before its first letter counts too, as some programs go on to the next cell at it.
    """
    blank = "".join(takewhile(_passed_over, text))
    first = unicodedata.normalize("NFKC", text[len(blank) :][:1])
    return first[:1] in {*STARTS_FORMULA} or "\t" in blank or "\r" in blank


def _passed_over(letter: str) -> bool:
    """Whether a spreadsheet may pass over a character at a cell's beginning."""
    return is_blank(letter) or is_unseen(letter)


def inert(text: str) -> str:
    """The text as it is, or with a leading ' where a spreadsheet might take it for a formula."""
    return f"'{text}" if may_be_formula(text) else text


def quoted(cell: str) -> str:
    """A cell as it stands in a row (RFC 4180): in quotation marks where it holds what parts cells or rows."""
    return '"' + cell.replace('"', '""') + '"' if QUOTED.search(cell) else cell


def row(cells: Iterable[str]) -> str:
    """A row of a CSV file, with its end; one of a single empty cell is told from a blank line."""
    text = ",".join(map(quoted, cells))
    return f"{text}\n" if text else '""\n'
