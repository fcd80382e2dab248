"""What an opened file holds before anyone knows what it is: grids of cells, letters, and what there is to say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from auditor.tables import Problem


class Unreadable(Exception):  # noqa: N818 - it is about the user's file, not an error of the program
    """A file that cannot be read. Its text says why and what to do, for the user."""


@dataclass(frozen=True)
class Grid:
    """A table of text cells as it stands in the file: one sheet, or one table that runs over pages.

    Rows may differ in length. `places` says where each row stands; `above` are the lines of text above the table;
    `part` names the sheet where the file has several.
    """

    rows: Sequence[Sequence[str]]
    places: Sequence[str]
    above: tuple[str, ...] = ()
    part: str = ""


@dataclass(frozen=True)
class Letter:
    """A letter or e-mail: its text, and the day it was written where that is known."""

    text: str
    written_on: date | None = None


@dataclass(frozen=True)
class Opened:
    """What one file holds, and what there is to say about the opening of it."""

    documents: tuple[Grid | Letter, ...]
    problems: tuple[Problem, ...] = ()


def megabytes(size: int) -> str:
    """A file's size for people: 31457280 → '30 MB'."""
    return f"{size / 2**20:,.0f} MB"


def refuse_over(limit: int, size: int) -> None:
    """Raise Unreadable for a file of more bytes than are read of its kind."""
    if size > limit:
        raise Unreadable(
            f"This file has {megabytes(size)}; of this kind up to {megabytes(limit)} are read. Split it into smaller "
            "files."
        )
