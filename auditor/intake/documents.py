"""What an opened file holds before anyone knows what it is: grids of cells, letters, and what there is to say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np
import numpy.typing as npt

from auditor.core.schemas import Problem


class Unreadable(Exception):  # noqa: N818 - it is about the user's file, not an error of the program
    """A file that cannot be read. Its text says why and what to do, for the user."""


class Damaged(Unreadable):
    """A file of a kind that is read, of which something was lost or changed on its way."""


class WithoutText(Unreadable):
    """A picture in which no text was found."""


@dataclass(frozen=True)
class Grid:
    """A table of text cells as it stands in the file: one sheet, or one table that runs over pages.

    Rows may differ in length. `places` says where each row stands; `above` are the lines of text above the table;
    `part` names the sheet where the file has several. `boxes` has for each row where on its page it stands, in points
    from the top left corner ("x0 top x1 bottom"); it is empty where there are no pages. `cell_boxes`, where cells stand
    in columns on pages, has a row for each that is filled: its row, its column and its box. `itemised` is true where
    each row is known to stand for itself, as the standards for invoices have it: none takes anything from the row
    above. `by_recognition` is true where it was read from a picture, so that any character of it may be wrong.
    """

    rows: Sequence[Sequence[str]]
    places: Sequence[str]
    above: tuple[str, ...] = ()
    part: str = ""
    boxes: Sequence[str] = ()
    cell_boxes: npt.NDArray[np.float64] | None = field(default=None, compare=False, repr=False)
    itemised: bool = False
    by_recognition: bool = False


def with_rows(grid: Grid, rows: Sequence[tuple[int, list[str]]]) -> Grid:
    """The grid with those rows, each with the number of the row that it was."""
    return replace(
        grid,
        rows=[row for _, row in rows],
        places=[grid.places[at] for at, _ in rows],
        boxes=[grid.boxes[at] for at, _ in rows] if grid.boxes else (),
        cell_boxes=None,
    )


@dataclass(frozen=True)
class Letter:
    """A letter or e-mail: its text, the day it was written where that is known, and which part of the file it is."""

    text: str
    written_on: date | None = None
    part: str = ""


@dataclass(frozen=True)
class Text:
    """A text that holds tables or is a letter: the letters, each the same in other words, are read if no grid is known.

    A web page, an e-mail with HTML, a text file that may be a table.
    """

    grids: tuple[Grid, ...]
    letters: tuple[Letter, ...]
    part: str = ""


@dataclass(frozen=True, eq=False)
class Page:
    """What stands on a page: words, each with its box (x0, top, x1, bottom), in any order; and lines drawn on it."""

    number: int
    words: Sequence[str]
    boxes: npt.NDArray[np.float64]
    rulings: npt.NDArray[np.float64]


@dataclass(frozen=True)
class Opened:
    """What one file holds, and what there is to say about the opening of it.

    `by_recognition` is true where it was read from a picture, so that any character of it may be wrong. `attached` are
    the files in it, by name, which are still to be opened. `pages` are those that its tables were found on.
    """

    documents: tuple[Grid | Letter | Text, ...]
    problems: tuple[Problem, ...] = ()
    attached: tuple[tuple[str, bytes], ...] = ()
    pages: tuple[Page, ...] = field(default=(), repr=False)


def why(error: Exception) -> str:
    """Why something could not be read, and what to do, for the user."""
    if isinstance(error, Unreadable):
        return str(error)
    if isinstance(error, OSError):
        return f"This file cannot be opened ({error.strerror}). Change who may read it, and run again."
    return (
        f"This file could not be read, for a reason that was not foreseen ({type(error).__name__}: {error}). "
        "Export it again as CSV; and please report this."
    )


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
