"""Files → the book, each once, photographs last; and what each gave out of it again."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from importlib.metadata import version
from pathlib import Path

from auditor import intake
from auditor.book.ledger import Book, reading_out
from auditor.book.ledger.documents import digest_of, ending_of, keep
from auditor.book.ledger.opening import plainly
from auditor.book.ledger.reading_out import Filed
from auditor.book.ledger.taking_in import Document, take_in
from auditor.core import progress
from auditor.core.schemas import Problem
from auditor.intake.files import base_name
from auditor.intake.headings import CloseCall
from auditor.intake.reading.known import Expecting
from auditor.intake.readings import Reading

Answer = Callable[[Sequence[CloseCall]], Sequence[Reading]]
"""Asked about the close calls between a file's columns; the readings to read it by."""

PHOTOGRAPH = "photograph"
"""What a picture was read by that is a photograph taken at packing, and so was not read."""


def until_something_is_read(files: Sequence[intake.File], problems: Sequence[Problem]) -> dict[Path, intake.Part]:
    """What files give, by path, up to the first that gives anything, so that no book is made for nothing."""
    parts: dict[Path, intake.Part] = {}
    for file in sorted(files, key=intake.is_picture):
        parts[file.path] = intake.part_of(file)
        if parts[file.path].tables:
            return parts
    raise intake.NothingReadError([*problems, *(problem for part in parts.values() for problem in part.problems)])


def read_together(
    book: Book, files: Sequence[intake.File], parts: Mapping[Path, intake.Part], expecting: Expecting
) -> dict[Path, intake.Part]:
    """What the files give that the book does not have as they would be read now: by each other and by all in the book.

    `parts` are what some of them give by themselves, where that was read already.
    """
    before = {file.digest: file for file in reading_out.files(book)}
    new = [file for file in files if not intake.is_picture(file) and _is_new(file, before)]
    if not new:
        return {}
    alone = [parts.get(file.path) or intake.part_of(file) for file in progress.each(new, intake.turn_of)]
    beside = [part for _, part in parts_of(book)]
    held = intake.held_together(alone, beside=beside, expecting=expecting)
    return {file.path: part for file, part in zip(new, held, strict=False)}


def _is_new(file: intake.File, before: Mapping[str, Filed]) -> bool:
    """Whether the book has not what the file would be read as now; a file that cannot be opened is told of later."""
    try:
        known = before.get(digest_of(file.path))
    except OSError:
        return False
    return known is None or known.reading != _reading_of(replace(file, kind=file.kind or known.kind))


def filed(
    book: Book, files: Sequence[intake.File], answer: Answer, parts: Mapping[Path, intake.Part]
) -> tuple[list[str], list[Problem]]:
    """Take each file in that is not there yet, photographs last; the digests of all, and what was not taken in.

    `parts` are what some of them give, where that was read already.
    """
    known = {file.digest: file for file in reading_out.files(book)}
    digests: list[str] = []
    problems: list[Problem] = []
    for file in progress.each(sorted(files, key=intake.is_picture), intake.turn_of):
        try:
            digest = digest_of(file.path)
        except OSError:
            problems += intake.part_of(file).problems
            continue
        before = known.get(digest)
        problems += _notes_again(file, before) if before else ()
        is_filed, faults = _file(book, file, digest, before, answer, parts.get(file.path))
        problems += faults
        digests += [digest] if is_filed else []
    return digests, problems


def _file(
    book: Book, file: intake.File, digest: str, before: Filed | None, answer: Answer, part: intake.Part | None
) -> tuple[bool, Sequence[Problem]]:
    """Take a file in, or keep what the book has of it; whether that was done, and why not."""
    if before:  # read as the user said the last time
        file = replace(file, kind=file.kind or before.kind)
    part, reading = _read(book, file, before, part)
    if part is None:
        with plainly(book.path):
            keep(book.documents, file.path, digest, ending_of(before.name if before else file.name))
        return True, ()
    if part.close_calls and (answers := answer(part.close_calls)):
        part = intake.part_of(replace(file, readings=(*answers, *file.readings)))
    if not part.tables and reading != PHOTOGRAPH:
        return False, part.problems
    take_in(book, _document(file, digest, part, reading), intake.TABLES)
    return True, ()


def _read(
    book: Book, file: intake.File, before: Filed | None, part: intake.Part | None
) -> tuple[intake.Part | None, str]:
    """What a file gives, and by what it was read; None when the book has just that already."""
    if intake.is_picture(file):
        with book.reading() as connection:
            query = "SELECT photo FROM shipments WHERE photo IS NOT NULL"
            photos = {base_name(name) for (name,) in connection.execute(query)}
        if base_name(file.name) in photos:
            is_new = before is None
            return (intake.Part(file.name, picture=True) if is_new else None), PHOTOGRAPH
    reading = _reading_of(file)
    return (None if before and before.reading == reading else part or intake.part_of(file)), reading


def _reading_of(file: intake.File) -> str:
    """What decides how a file is read: what the user said of it, the saved readings, and this program's version."""
    of_columns = [reading for reading in file.readings if reading.columns]
    saved = sorted((reading.kind, reading.layout, sorted(reading.columns.items())) for reading in of_columns)
    by = json.dumps([file.kind, saved, version("auditor")])
    return hashlib.sha256(by.encode()).hexdigest()[:16]


def _document(file: intake.File, digest: str, part: intake.Part, reading: str) -> Document:
    layouts = [
        (sheet.kind, {column.heading: column.field or "" for column in sheet.columns if column.heading})
        for sheet in part.sheets
    ]
    return Document(file.name, file.path, digest, file.kind, part.picture, reading, part.tables, part.problems, layouts)


def _notes_again(file: intake.File, before: Filed) -> Iterator[Problem]:
    """What there is to say of a file that is in the book already."""
    if before.set_aside is not None:
        message = (
            f"This file was set aside in the book ({before.set_aside or 'no reason was given'}), so it is not counted. "
            f"To count it again: auditor book take-back '{before.name}'."
        )
        yield Problem(before.name, "", message, note=True)
    elif base_name(before.own_name) != base_name(file.name):
        message = f"This file is in the book already, as {before.name}, byte for byte. It was counted once."
        yield Problem(file.name, "", message, note=True)


def parts_of(book: Book) -> list[tuple[Filed, intake.Part]]:
    """What each file in the book gave, but for those set aside."""
    counted = [file for file in reading_out.files(book) if file.set_aside is None]
    with book.reading() as connection:
        tables = reading_out.tables(connection, counted, intake.TABLES)
        problems = reading_out.problems(connection, counted)
    return [
        (file, intake.Part(file.name, tables[file.file], tuple(problems[file.file]), file.picture)) for file in counted
    ]
