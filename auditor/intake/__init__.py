"""Any file → tidy tables, each row with where it was read from, and everything that could not be read.

    files.py       which files there are
    opening.py     what kind of file one is, from its first bytes: csv_file.py, xlsx_file.py, pdf_file.py, eml_file.py,
                   html_file.py, x12_file.py, xml_invoice.py, picture_file.py give grids of text cells, or letters
                   (documents.py)
    recognise.py   which table a grid is, and which column is what, by the words of vocabulary.py
                   (words.py), and by what the values look like (evidence.py); readings.py keeps what was corrected
    arrangement.py other arrangements of a statement → one row a charge
    tidy.py        texts → values, column by column, with parsing.py
    statement.py   lines and printed totals, held against one another with proof.py; notice.py: letters
    twice.py       the same statement in two forms

One file's fault never stops the rest: it comes out as a problem.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path, PurePath

import pandas as pd

from auditor.intake import notice, picture_file, statement, vocabulary
from auditor.intake.arrangement import parcels_apart
from auditor.intake.documents import Grid, Letter, Text, Unreadable
from auditor.intake.files import File, gathered
from auditor.intake.misread import misread
from auditor.intake.opening import opened
from auditor.intake.readings import NOT_READ, Reading, checked, fields_of
from auditor.intake.readings import saved as readings_in
from auditor.intake.recognise import Sheet, recognised
from auditor.intake.tidy import complete, tidied
from auditor.intake.twice import counted_once
from auditor.tables import (
    CARTONS,
    FEES,
    FUEL,
    LINES,
    NOTICES,
    PARCELS,
    PRINTED_TOTALS,
    RATES,
    SHIPMENTS,
    Problem,
    Schema,
    conform,
    joined,
)

__all__ = ["Intake", "parcels", "read", "understood"]

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
TABLE_OF = {"notice": "notices"}
"""The table that a kind goes to, where it has another name."""


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
    sheets: tuple[Sheet, ...] = ()


def read(
    paths: Sequence[Path],
    *,
    given: Mapping[str, Sequence[Path]] | None = None,
    charges: Sequence[str] = (),
    readings: Path | None = None,
) -> Intake:
    """Read files and folders, in any mix and order.

    Args:
        paths: files, and folders to be walked; hidden files are skipped, the same file is read once.
        given: files that are to be read as a kind of table (`vocabulary.KINDS`) whatever they look like.
        charges: the rules' names of charges; these and the names in the seller's fees are known words in a statement.
        readings: folder of saved readings of layouts (readings.py); those that fit are used, and that is told.
    """
    files, problems = gathered(paths, given or {})
    saved, faults = readings_in(readings)
    files, problems = [replace(file, readings=tuple(saved)) for file in files], [*problems, *faults]
    pictures = [file for file in files if picture_file.is_picture(file.path)]
    taken = [part for file in files if file not in pictures for part in _file(file)]
    photos = _photos(taken)
    taken += [part for file in pictures if file.kind or PurePath(file.name).name not in photos for part in _file(file)]
    tables = {
        name: joined((part.tables[name] for part in taken if name in part.tables), schema)
        for name, schema in TABLES.items()
    }
    tables["lines"] = statement.named(tables["lines"], (*charges, *tables["fees"]["charge"].unique()))
    problems += [problem for part in taken for problem in part.problems]
    if sum("lines" in part.tables for part in taken) > 1:
        tables["lines"], tables["printed_totals"], twice = counted_once(tables["lines"], tables["printed_totals"])
        problems += twice
    problems += _recorded_twice(tables["shipments"])
    problems += [doubt for name in ("shipments", "lines") for doubt in misread(tables[name])]
    return Intake(**tables, problems=tuple(problems))


def parcels(path: Path, *, readings: Path | None = None) -> tuple[pd.DataFrame, list[Problem]]:
    """PARCELS of a file that lists parcels to be checked before they are shipped, and what could not be read.

    Args:
        path: the file; it needs a size, or three sides, or a carton for each parcel.
        readings: folder of saved readings.
    """
    saved, faults = readings_in(readings)
    parts = _file(File(path.absolute(), path.name, vocabulary.PARCELS, tuple(saved)))
    table = joined((part.tables[vocabulary.PARCELS] for part in parts if vocabulary.PARCELS in part.tables), PARCELS)
    return table, [*faults, *(problem for part in parts for problem in part.problems)]


def understood(
    path: Path, *, kind: str | None = None, readings: Path | None = None, corrections: Mapping[str, str] | None = None
) -> tuple[list[Sheet], Intake]:
    """What one file was understood to be: its recognised tables with their columns, and all that was read of it.

    Args:
        path: the file.
        kind: what it is to be read as.
        readings: folder of saved readings.
        corrections: heading → field, or `readings.NOT_READ`: what the user says columns mean.

    Raises:
        ValueError: a correction names a field that tables of the kind do not have.
    """
    own = [Reading(one, "", checked(one, corrections)) for one in _kinds_with(corrections, kind)] if corrections else []
    saved, faults = readings_in(readings)
    file = File(path.absolute(), path.name, kind, (*own, *saved))
    parts = _file(file)
    tables = {
        name: joined((part.tables[name] for part in parts if name in part.tables), schema)
        for name, schema in TABLES.items()
    }
    tables["lines"] = statement.named(tables["lines"], ())
    problems = (*faults, *(problem for part in parts for problem in part.problems))
    return [sheet for part in parts for sheet in part.sheets], Intake(**tables, problems=problems)


def _kinds_with(corrections: Mapping[str, str], kind: str | None) -> list[str]:
    """The kinds of table that have all the fields named; a statement where none has."""
    fields = {name for name in corrections.values() if name != NOT_READ}
    kinds = [kind] if kind else list(vocabulary.KINDS)
    fitting = [one for one in kinds if fields <= fields_of(one)]
    return fitting or [kind or "statement"]


def _file(file: File) -> list[_Taken]:
    """What a file gives. A part of it that is unknown is a fault only if nothing else in the file is known."""
    try:
        held = opened(file.name, file.path, as_letter=file.kind == "notice")
    except Exception as error:  # noqa: BLE001 - a stranger's file can fail in any way, and the others are read
        return [_failed(file, "", error)]
    documents = _with_covers(held.documents)
    parts = _proved(file, documents, [_document(file, document) for document in documents])
    if not parts and all(problem.note for problem in held.problems):
        parts = [_failed(file, "", Unreadable("There is nothing in this file. Export it again, or leave it out."))]
    if any(isinstance(one, Grid) and one.boxes for one in documents):
        parts = _without_summaries(file, parts)
    if any(part.tables for part in parts):
        parts = [_as_note(part) if part.unknown else part for part in parts]
    return [_Taken(problems=held.problems), *parts]


def _without_summaries(file: File, parts: Sequence[_Taken]) -> list[_Taken]:
    """The parts of printed pages. Beside a statement's lines, a table like one of prices is a summary of them."""
    if not any("lines" in part.tables for part in parts):
        return list(parts)
    message = "A table that sums up this statement by charge or service was not counted."
    told = _Taken(problems=(Problem(file.name, "", message, note=True),))
    return [told if part.tables.keys() & {"rates", "fees", "fuel", "cartons"} else part for part in parts]


def _proved(file: File, documents: Sequence[Grid | Letter | Text], parts: list[_Taken]) -> list[_Taken]:
    """The parts, with the money of lines read from pictures only where the printed totals prove it."""
    ours = [isinstance(one, Grid) and one.by_recognition for one in documents]
    read = [part.tables for part, is_ours in zip(parts, ours, strict=True) if is_ours and "lines" in part.tables]
    if not read:
        return parts
    lines = joined((tables["lines"] for tables in read), LINES)
    totals = joined((tables["printed_totals"] for tables in read), PRINTED_TOTALS)
    lines, problems = picture_file.proved(file.name, lines, totals)
    others = [_without_lines(part) if is_ours else part for part, is_ours in zip(parts, ours, strict=True)]
    return [*others, _Taken({"lines": lines}, tuple(problems))]


def _without_lines(part: _Taken) -> _Taken:
    return replace(part, tables={name: table for name, table in part.tables.items() if name != "lines"})


COVER_ROWS, COVER_CELLS = 15, 3


def _with_covers(documents: Sequence[Grid | Letter | Text]) -> list[Grid | Letter | Text]:
    """The sheets of a workbook, each with what the others say in short rows at their top: its number, its total."""
    sheets = [document for document in documents if isinstance(document, Grid) and document.part]
    said = {sheet.part: tuple(_short_rows(sheet)) for sheet in sheets} if len(sheets) > 1 else {}
    return [
        replace(one, above=(*one.above, *(text for part, texts in said.items() if part != one.part for text in texts)))
        if isinstance(one, Grid) and one.part in said
        else one
        for one in documents
    ]


def _short_rows(sheet: Grid) -> Iterator[str]:
    for row in sheet.rows[:COVER_ROWS]:
        filled = [cell.strip() for cell in row if cell.strip()]
        if len(filled) <= COVER_CELLS:
            yield " ".join(filled)


def _document(file: File, document: Grid | Letter | Text) -> _Taken:
    try:
        if isinstance(document, Text):
            return _text(file, document)
        return _grid(file, document) if isinstance(document, Grid) else _letter(file, document)
    except Exception as error:  # noqa: BLE001 - as above
        part = f"sheet {document.part}" if isinstance(document, Grid) and document.part else document.part
        return _failed(file, part, error)


def _text(file: File, text: Text) -> _Taken:
    """What the first of a text's readings gives that is known: all of its tables, or one of its letters.

    Raises:
        Unreadable: none is known; with the reason of the first.
    """
    reasons: list[Unreadable] = []
    found = _Taken()
    for grid in text.grids:
        try:
            found = _both(found, _grid(file, grid))
        except Unreadable as reason:
            reasons.append(reason)
    for letter in text.letters if not found.tables else ():
        try:
            return _letter(file, letter)
        except Unreadable as reason:
            reasons.append(reason)
    if not found.tables:
        raise reasons[0]
    return found


def _both(one: _Taken, other: _Taken) -> _Taken:
    """What two tables of the same text give."""
    names = [*one.tables, *(name for name in other.tables if name not in one.tables)]
    tables = {
        name: joined((part.tables[name] for part in (one, other) if name in part.tables), TABLES.get(name, PARCELS))
        for name in names
    }
    return _Taken(tables, (*one.problems, *other.problems), sheets=(*one.sheets, *other.sheets))


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
    sheet, problems = recognised(file.name, grid, file.kind, file.readings)
    if sheet.cells.empty:
        raise Unreadable(f"This looks like {vocabulary.CALLED[sheet.kind]}, but has no rows below its headings.")
    if sheet.kind == "statement":
        lines, totals, faults = statement.read(sheet)
        if grid.boxes:
            boxes = dict(zip(grid.places, grid.boxes, strict=True))
            lines = conform(lines.assign(source_box=lines["source_place"].map(boxes)), LINES)
        return _Taken({"lines": lines, "printed_totals": totals}, (*problems, *faults), sheets=(sheet,))
    if sheet.kind == "shipments":
        sheet, notes = parcels_apart(sheet)
        problems += notes
    frame, faults = tidied(sheet)
    frame, gaps = complete(frame, sheet)
    return _Taken({TABLE_OF.get(sheet.kind, sheet.kind): frame}, (*problems, *faults, *gaps), sheets=(sheet,))


def _letter(file: File, letter: Letter) -> _Taken:
    if file.kind not in {None, "notice"}:
        raise Unreadable(f"This is a letter, not a table, so it cannot be read as {file.kind}.")
    notices, problems = notice.read(file.name, letter)
    return _Taken({"notices": notices}, tuple(problems))


def _photos(taken: Sequence[_Taken]) -> set[str]:
    """The names of the photographs taken at packing, by the seller's records; they are no statements."""
    shipments = joined((part.tables["shipments"] for part in taken if "shipments" in part.tables), SHIPMENTS)
    return {PurePath(photo).name for photo in shipments["photo"].dropna()}


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
