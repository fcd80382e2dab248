"""Any file → tidy tables, each row with where it was read from, and everything that could not be read.

    files.py       which files there are
    opening.py     what kind of file one is, from its first bytes: csv_file.py, xlsx_file.py, pdf_file.py, eml_file.py
                   give grids of text cells, or letters (documents.py)
    recognise.py   which table a grid is, and which column is what, by the words of vocabulary.py
    tidy.py        texts → values, column by column, with parsing.py
    statement.py   lines and printed totals; notice.py: letters

One file's fault never stops the rest: it comes out as a problem.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path, PurePath

import pandas as pd

from auditor.intake import notice, statement, vocabulary
from auditor.intake.documents import Grid, Letter, Unreadable
from auditor.intake.files import File, gathered
from auditor.intake.opening import PICTURE, opened
from auditor.intake.recognise import recognised
from auditor.intake.tidy import complete, tidied
from auditor.tables import (
    CARTONS,
    FEES,
    FUEL,
    LINES,
    NOTICES,
    PRINTED_TOTALS,
    RATES,
    SHIPMENTS,
    Problem,
    Schema,
    joined,
)

__all__ = ["Intake", "read"]

TABLES: dict[str, Schema] = {
    "shipments": SHIPMENTS,
    "cartons": CARTONS,
    "rates": RATES,
    "fees": FEES,
    "fuel": FUEL,
    "lines": LINES,
    "printed_totals": PRINTED_TOTALS,
    "notices": NOTICES,
}


@dataclass(frozen=True)
class Intake:
    """All that was read: tables of the schemas of those names in `auditor.tables`, and what there is to say."""

    shipments: pd.DataFrame
    cartons: pd.DataFrame
    rates: pd.DataFrame
    fees: pd.DataFrame
    fuel: pd.DataFrame
    lines: pd.DataFrame
    printed_totals: pd.DataFrame
    notices: pd.DataFrame
    problems: tuple[Problem, ...]


@dataclass(frozen=True)
class _Taken:
    """What one file, or one document of it, gave; `unknown` when it is no table or letter that is known here."""

    tables: Mapping[str, pd.DataFrame] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    unknown: bool = False


def read(
    paths: Sequence[Path], *, given: Mapping[str, Sequence[Path]] | None = None, charges: Sequence[str] = ()
) -> Intake:
    """Read files and folders, in any mix and order.

    Args:
        paths: files, and folders to be walked; hidden files are skipped, the same file is read once.
        given: files that are to be read as a kind of table (`vocabulary.KINDS`) whatever they look like.
        charges: the rules' names of charges; these and the names in the seller's fees are known words in a statement.
    """
    files, problems = gathered(paths, given or {})
    taken = [part for file in files for part in _file(file)]
    tables = {
        name: joined((part.tables[name] for part in taken if name in part.tables), schema)
        for name, schema in TABLES.items()
    }
    tables["lines"] = statement.named(tables["lines"], (*charges, *tables["fees"]["charge"].unique()))
    photos = {PurePath(photo).name for photo in tables["shipments"]["photo"].dropna()}
    problems += [problem for part in taken for problem in part.problems if not _is_photo(problem, photos)]
    problems += _recorded_twice(tables["shipments"])
    return Intake(**tables, problems=tuple(problems))


def _file(file: File) -> list[_Taken]:
    """What a file gives. A part of it that is unknown is a fault only if nothing else in the file is known."""
    try:
        held = opened(file.name, file.path, as_letter=file.kind == "notice")
    except Exception as error:  # noqa: BLE001 - a stranger's file can fail in any way, and the others are read
        return [_failed(file, "", error)]
    parts = [_document(file, document) for document in held.documents]
    if not parts and all(problem.note for problem in held.problems):
        parts = [_failed(file, "", Unreadable("There is nothing in this file. Export it again, or leave it out."))]
    if any(part.tables for part in parts):
        parts = [_as_note(part) if part.unknown else part for part in parts]
    return [_Taken(problems=held.problems), *parts]


def _document(file: File, document: Grid | Letter) -> _Taken:
    try:
        return _grid(file, document) if isinstance(document, Grid) else _letter(file, document)
    except Exception as error:  # noqa: BLE001 - as above
        part = document.part if isinstance(document, Grid) else ""
        return _failed(file, f"sheet {part}" if part else "", error)


def _failed(file: File, place: str, error: Exception) -> _Taken:
    if isinstance(error, Unreadable):
        message = str(error)
    elif isinstance(error, OSError):
        message = f"This file cannot be opened ({error.strerror}). Change who may read it, and run again."
    else:
        message = (
            f"This file could not be read, for a reason that was not foreseen ({type(error).__name__}: {error}). "
            "Export it again as CSV; and please report this."
        )
    problem = Problem(file.name, place, message, unread=True)
    return _Taken(problems=(problem,), unknown=isinstance(error, Unreadable))


def _as_note(part: _Taken) -> _Taken:
    return replace(part, problems=tuple(replace(problem, unread=False, note=True) for problem in part.problems))


def _grid(file: File, grid: Grid) -> _Taken:
    sheet, problems = recognised(file.name, grid, file.kind)
    if sheet.cells.empty:
        raise Unreadable(f"This looks like {vocabulary.KINDS[sheet.kind]}, but has no rows below its headings.")
    if sheet.kind == "statement":
        lines, totals, faults = statement.read(sheet)
        return _Taken({"lines": lines, "printed_totals": totals}, (*problems, *faults))
    frame, faults = tidied(sheet)
    frame, gaps = complete(frame, sheet)
    return _Taken({sheet.kind: frame}, (*problems, *faults, *gaps))


def _letter(file: File, letter: Letter) -> _Taken:
    if file.kind not in {None, "notice"}:
        raise Unreadable(f"This is a letter, not a table, so it cannot be read as {file.kind}.")
    notices, problems = notice.read(file.name, letter)
    return _Taken({"notices": notices}, tuple(problems))


def _is_photo(problem: Problem, photos: set[str]) -> bool:
    """Whether it says that a picture was not read which the seller's records name as a photograph taken at packing."""
    return problem.message == PICTURE and PurePath(problem.file).name in photos


def _recorded_twice(shipments: pd.DataFrame) -> Iterator[Problem]:
    """Tracking numbers on more than one row of the records, which all stay."""
    twice = shipments[shipments["tracking"].duplicated(keep=False)]
    for tracking, rows in twice.groupby("tracking", sort=False):
        where = [f"{file}, {place}" for file, place in zip(rows["source_file"], rows["source_place"], strict=True)]
        yield Problem(
            rows["source_file"].iloc[-1],
            rows["source_place"].iloc[-1],
            f"Tracking number {tracking} stands on {len(rows)} rows: {'; '.join(where)}. All were kept, but what is "
            "billed for that number is held against the first. Give each parcel the number on its own label.",
        )
