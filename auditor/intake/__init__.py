"""Any file → tidy tables, each row with where it was read from, and everything that could not be read.

    files.py       which files there are
    opening.py     what kind of file one is, from its first bytes: csv_file.py (big ones by_column.py), xlsx_file.py,
                   pdf_file.py, eml_file.py, html_file.py, x12_file.py, xml_invoice.py, picture_file.py give grids of
                   text cells, or letters (documents.py)
    uneven.py      which big files are read by row after all
    recognise.py   which table a grid is, and which column is what, by the words of vocabulary.py
                   (words.py), and by what the values look like (evidence.py); readings.py keeps what was corrected
    cells_apart.py, labelled_cells.py, charges_apart.py, groups.py, arrangement.py, sums_found.py
                   other arrangements of a statement → one row a charge
    around.py      what remarks and notes around the lines say, with wording.py and covers.py
    tidy.py        texts → values, column by column, with parsing.py
    statement.py   lines and printed totals, held against one another with proof.py; telltale.py: charges without a name
    notice.py      letters: letter_text.py and letter_table.py part them, letter_figures.py tells whose each figure is
                   by letter_words.py
    twice.py       the same statement in two forms, or issued again: reissues.py tells that by lines, numbers, days and
                   what statements say of one another (reissue_words.py)
    reading/       by evidence, once all files are there: own_files.py the shop's own, known.py what they make known,
                   choice.py the statements held against that, naming.py charges' names, proof.py what proves it all
    summable.py    amounts that leave no room for an exact sum
    again.py       the same parcel, carton or price in two files

`part_of` gives what one file holds by its words, `held_together` reads the parts by one another, `together` joins them;
`read` does all three.

One file's fault never stops the rest: it comes out as a problem.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import zip_longest
from pathlib import Path

import pandas as pd

from auditor.core.progress import at, each
from auditor.core.schemas import (
    CARTONS,
    FEES,
    FUEL,
    LINES,
    MOVES,
    NOTICES,
    PARCELS,
    PRINTED_TOTALS,
    RATES,
    REISSUES,
    REPLACED,
    SHIPMENTS,
    Problem,
    Schema,
    conform,
    empty,
    joined,
)
from auditor.intake import covers, evidence, notice, picture_file, proof, reissue_words, statement, vocabulary
from auditor.intake.again import merged
from auditor.intake.arrangement import parcels_apart
from auditor.intake.by_column import Columns
from auditor.intake.currency import currencies_apart
from auditor.intake.documents import Grid, Letter, Page, Text, Unreadable, why
from auditor.intake.files import File, base_name, gathered, readable
from auditor.intake.headings import CloseCall
from auditor.intake.letter_table import lines_of
from auditor.intake.misread import misread
from auditor.intake.opening import opened
from auditor.intake.reading.carton_list import with_cartons
from auditor.intake.reading.charges import Named as Names
from auditor.intake.reading.choice import Printed, Read, Said, by_evidence
from auditor.intake.reading.known import Expecting, Known, known_of
from auditor.intake.reading.naming import with_charges
from auditor.intake.reading.own_files import Part as Given
from auditor.intake.reading.own_files import mended
from auditor.intake.reading.prepaid.lines import beside_statements, of_moves
from auditor.intake.reading.prepaid.papers import Paper
from auditor.intake.reading.prepaid.whole_files import given_by, papers_among
from auditor.intake.reading.prepaid.whole_files import told as told_of
from auditor.intake.reading.proof import Proof, proofs_of
from auditor.intake.reading.told import charges_known
from auditor.intake.reading.told_columns import told_in
from auditor.intake.readings import NOT_READ, Reading, checked, current, fields_of, meaning_of
from auditor.intake.readings import saved as readings_in
from auditor.intake.recognise import Sheet, recognised
from auditor.intake.summable import summable
from auditor.intake.tidy import complete, tidied
from auditor.intake.twice import counted_once

__all__ = [
    "TABLES",
    "Against",
    "File",
    "Intake",
    "Names",
    "NothingReadError",
    "Part",
    "Proof",
    "Understood",
    "gathered_files",
    "held_together",
    "is_picture",
    "of_moves",
    "parcels",
    "part_of",
    "paths_of",
    "photos",
    "read",
    "together",
    "turn_of",
    "understood",
]

TABLES: dict[str, Schema] = {
    "shipments": SHIPMENTS,
    "cartons": CARTONS,
    "rates": RATES,
    "fees": FEES,
    "fuel": FUEL,
    "lines": LINES,
    "printed_totals": PRINTED_TOTALS,
    "reissues": REISSUES,
    "notices": NOTICES,
    "moves": MOVES,
}
TABLE_OF = {"notice": "notices"}
"""The table that a kind goes to, where it has another name."""


class NothingReadError(Exception):
    """Of all that was given nothing could be read; `problems` say why, file by file."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        """Keep what there is to say."""
        super().__init__("nothing could be read")
        self.problems = tuple(problems)


@dataclass(frozen=True)
class Intake:
    """All that was read: tables of the schemas of those names in `auditor.core.schemas`, and what there is to say.

    `replaced` are the statements that are not among the lines any more, as others were issued in their place;
    `perhaps_replaced` the numbers of every two of which that may be so, but both are.
    `close_calls` are columns that could mean two things, which are among the problems too; whoever asks about them
    reads again with the `answers`. `names` and `proofs`: by statement what its charges' names mean, and what proves
    its reading. `paths`: where files lie by their name, for commands that name them.
    """

    shipments: pd.DataFrame
    cartons: pd.DataFrame
    rates: pd.DataFrame
    fees: pd.DataFrame
    fuel: pd.DataFrame
    lines: pd.DataFrame
    printed_totals: pd.DataFrame
    reissues: pd.DataFrame
    notices: pd.DataFrame
    moves: pd.DataFrame
    problems: tuple[Problem, ...]
    close_calls: tuple[CloseCall, ...] = ()
    replaced: pd.DataFrame = field(default_factory=lambda: empty(REPLACED))
    perhaps_replaced: frozenset[frozenset[str]] = frozenset()
    names: Mapping[str, Names] = field(default_factory=dict)
    proofs: Mapping[str, Proof] = field(default_factory=dict)
    paths: Mapping[str, str] = field(default_factory=dict)

    @property
    def empty(self) -> bool:
        """Whether nothing was read."""
        return all(getattr(self, name).empty for name in TABLES)


@dataclass(frozen=True)
class Part:
    """What one file gave by itself: tables by name (`TABLES`), and what there is to say.

    `picture`: it is one, and may turn out to be a photograph taken at packing, which is no statement. `sheets`: its
    recognised tables with their columns; `strange`: tables that were not recognised; `grids`: all of its tables;
    `lists`: its letters line by line, which may list cartons.
    `printed`: the pages that it stands on. `readings`: those kept. `read`: how it was read by evidence, where it was.
    """

    name: str
    tables: Mapping[str, pd.DataFrame] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    picture: bool = False
    sheets: tuple[Sheet, ...] = ()
    strange: tuple[Grid, ...] = ()
    grids: tuple[Grid, ...] = ()
    lists: tuple[Grid, ...] = ()
    printed: Printed | None = None
    readings: tuple[Reading, ...] = ()
    read: Read | None = None

    @property
    def close_calls(self) -> tuple[CloseCall, ...]:
        """The close calls between its columns."""
        return tuple(call for sheet in self.sheets for call in sheet.close_calls)


@dataclass(frozen=True)
class _Taken:
    """What one document of a file gave; `unknown` when it is no table or letter that is known here.

    `sheets` are the tables recognised; `strange` is one that was not; `grids` are the tables as they stand in the file,
    `pages` those it was printed on.
    """

    tables: Mapping[str, pd.DataFrame] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    unknown: bool = False
    sheets: tuple[Sheet, ...] = ()
    strange: Grid | None = None
    grids: tuple[Grid, ...] = ()
    lists: tuple[Grid, ...] = ()
    pages: tuple[Page, ...] = ()


@dataclass(frozen=True)
class Understood:
    """What one file was understood to be: its recognised tables, those not recognised, and all that was read of it.

    `charges` are those that a name of one can be said to be. `read`: how it was read by evidence, where it was; `grids`
    its tables as they stand, and `readings` those that hold for it.
    """

    sheets: tuple[Sheet, ...]
    strange: tuple[Grid, ...]
    taken: Intake
    charges: frozenset[str] = frozenset()
    read: Read | None = None
    grids: tuple[Grid, ...] = ()
    readings: tuple[Reading, ...] = ()


def read(
    paths: Sequence[Path],
    *,
    given: Mapping[str, Sequence[Path]] | None = None,
    charges: Sequence[str] = (),
    expecting: Expecting | None = None,
    readings: Path | None = None,
    answers: Sequence[Reading] = (),
) -> Intake:
    """Read files and folders, in any mix and order.

    Args:
        paths: files, and folders to be walked; hidden files are skipped, the same file is read once.
        given: files that are to be read as a kind of table (`vocabulary.KINDS`) whatever they look like.
        charges: the rules' names of charges; these and the names in the seller's fees are known words in a statement.
        expecting: what each recorded parcel should cost, charge by charge (`auditor.tariff.expecting`).
        readings: folder of saved readings of layouts (readings.py); those that fit are used, and that is told.
        answers: readings of layouts that hold for this time, and come before the saved ones.
    """
    files, problems = gathered_files(paths, given=given, readings=readings, answers=answers)
    pictures = [file for file in files if is_picture(file)]
    parts = [part_of(file) for file in each([file for file in files if file not in pictures], turn_of)]
    taken_at_packing = photos(parts)
    unread = [file for file in pictures if base_name(file.name) not in taken_at_packing]
    parts += [part_of(file) for file in each(unread, turn_of)]
    parts = held_together(parts, expecting=expecting)
    kept = files[0].readings if files else ()
    taken = together(parts, charges=charges, expecting=expecting, problems=problems, readings=kept)
    return replace(taken, paths=paths_of(files))


def paths_of(files: Sequence[File]) -> dict[str, str]:
    """By name where files lie, as a command can name them: from the folder that one works in, where they are below."""
    here = Path.cwd()
    return {
        file.name: readable(os.path.relpath(file.path) if file.path.is_relative_to(here) else file.path)
        for file in files
    }


def turn_of(file: File) -> str:
    """What is told when a file's turn to be read comes."""
    return f"Reading {file.name}"


def gathered_files(
    paths: Sequence[Path],
    *,
    given: Mapping[str, Sequence[Path]] | None = None,
    readings: Path | None = None,
    answers: Sequence[Reading] = (),
) -> tuple[list[File], list[Problem]]:
    """Every distinct file among the paths with the saved readings, and what is wrong with paths and readings."""
    files, problems = gathered(paths, given or {})
    saved, faults = readings_in(readings)
    files, ours = _without_ours(files)
    return [replace(file, readings=(*answers, *saved)) for file in files], [*problems, *faults, *ours]


def is_picture(file: File) -> bool:
    """Whether it is a picture that nobody said the kind of, and so perhaps a photograph taken at packing."""
    return file.kind is None and picture_file.is_picture(file.path)


def part_of(file: File) -> Part:
    """Read one file by itself, whatever else there is."""
    return _one_part(file, _file(file))


def _one_part(file: File, taken: Sequence[_Taken]) -> Part:
    pages = tuple(page for part in taken for page in part.pages)
    return Part(
        file.name,
        _joined_tables([part.tables for part in taken]),
        tuple(problem for part in taken for problem in part.problems),
        is_picture(file),
        tuple(sheet for part in taken for sheet in part.sheets),
        tuple(part.strange for part in taken if part.strange),
        tuple(grid for part in taken for grid in part.grids),
        tuple(grid for part in taken for grid in part.lists),
        Printed(file.path, pages) if pages else None,
        file.readings,
    )


def held_together(
    parts: Sequence[Part], *, beside: Sequence[Part] = (), expecting: Expecting | None = None
) -> list[Part]:
    """The parts, each read once more with all others as evidence: records by statements, statements by records.

    Args:
        parts: what each file gave by itself.
        beside: what is known already, as from the book: evidence, which is not read again.
        expecting: what each recorded parcel should cost, see `read`.
    """
    every = prepaid_apart(records_held_against([*beside, *parts]), len(beside))
    known = known_by(every, expecting)
    return [held_against(part, known) for part in every[len(beside) :]]


def records_held_against(parts: Sequence[Part]) -> list[Part]:
    """The parts with the shop's own records and lists of cartons read by what statements say of the same parcels."""
    try:
        found = mended(parts)
    except Exception as error:  # noqa: BLE001 - what words made of the files is there, and is worth more than nothing
        told = Problem("", "", f"Your records could not be held against the statements. {why(error)}")
        return [*parts, Part("", problems=(told,))]
    return [replace(part, **vars(found[at])) if at in found else part for at, part in enumerate(parts)]


def prepaid_apart(parts: Sequence[Part], beside: int = 0) -> list[Part]:
    """The parts, of which papers about prepaid labels are read as such; the first ones, `beside`, are only evidence."""
    found = papers_among(parts, lambda some: known_by(some, None), beside)
    return [_as_found(part, found[at]) if at in found else part for at, part in enumerate(parts)]


def _as_found(part: Part, found: Paper | Problem) -> Part:
    if isinstance(found, Problem):
        return replace(part, problems=(*part.problems, found))
    return replace(part, tables=given_by(found), problems=tuple(told_of(found, part)), sheets=(), strange=())


def known_by(parts: Sequence[Given], expecting: Expecting | None) -> Known:
    """What the shop's own files among the parts make known."""
    found = _joined_tables([part.tables for part in parts])
    tables = {name: found.get(name, empty(schema)) for name, schema in TABLES.items()}
    tables["shipments"], _ = with_cartons(tables["shipments"], tables["cartons"])
    return known_of(tables, expecting)


def held_against(part: Part, known: Known) -> Part:
    """The part with its statements read by evidence, where that proves better than what their words say."""
    if part.picture:
        return part
    try:
        said = Said(part.readings, _is_as_told(part))
        read = by_evidence(part.name, part.grids, part.tables, known, part.printed, said)
    except Exception as error:  # noqa: BLE001 - as above
        told = Problem(part.name, "", f"This file could not be held against your records. {why(error)}")
        return replace(part, problems=(*part.problems, told))
    if read is None:
        return part
    if read.of_words:
        return replace(part, tables=read.tables, problems=(*part.problems, read.problem), read=read)
    other = (problem for problem in part.problems if problem.note and part.tables)
    return replace(part, tables=read.tables, problems=(*other, read.problem), sheets=(), strange=(), read=read)


def _is_as_told(part: Part) -> bool:
    """Whether words made of the columns what the user says that they are."""
    told = {heading: name for grid in part.grids for heading, name in told_in(grid, part.readings).items()}
    columns = [column for sheet in part.sheets for column in sheet.columns]
    read = {column.heading: NOT_READ if column.left_out else column.field for column in columns}
    return all(read.get(heading) == name for heading, name in told.items())


def together(
    parts: Sequence[Part],
    *,
    charges: Sequence[str] = (),
    expecting: Expecting | None = None,
    problems: Sequence[Problem] = (),
    readings: Sequence[Reading] = (),
) -> Intake:
    """All that the parts hold together: each thing counted once, each charge in the words of rules and fees.

    Args:
        parts: what each file gave; rows come out in their order, figures do not depend on it.
        charges: the rules' names of charges.
        expecting: what each recorded parcel should cost, see `read`.
        problems: what there is to say beside what the parts say themselves; it comes first.
        readings: those kept, with what was said of charges.
    """
    taken_at_packing = photos(parts)
    parts = [part for part in parts if not (part.picture and base_name(part.name) in taken_at_packing)]
    found = _joined_tables([part.tables for part in parts])
    tables = {name: found.get(name, empty(schema)) for name, schema in TABLES.items()}
    told = [*problems, *(problem for part in parts for problem in part.problems)]
    for name, table in tables.items():
        within, beyond = summable(table, TABLES[name])
        tables[name], repeats = merged(name, within)
        told += [*beyond, *repeats]
    tables["shipments"], sized = with_cartons(tables["shipments"], tables["cartons"])
    told += sized
    known = known_of(tables, expecting)
    is_own = of_moves(tables["lines"], tables["moves"])
    own = (*charges, *tables["fees"]["charge"].unique())
    others, names, of_charges = with_charges(tables["lines"][~is_own], known, own, readings)
    tables["lines"], tables["moves"], of_papers = beside_statements(others, tables["moves"])
    told += [*of_charges, *of_papers]
    once = counted_once(tables["lines"], tables["printed_totals"], tables["reissues"])
    tables |= {"lines": once.lines, "printed_totals": once.totals}
    told += [*once.problems, *_recorded_twice(tables["shipments"])]
    told += [problem for name in ("shipments", "lines") for problem in misread(tables[name])]
    told += currencies_apart([sheet for part in parts for sheet in part.sheets if sheet.kind == "statement"])
    close_calls = tuple(call for part in parts for call in part.close_calls)
    return Intake(
        **tables,
        problems=tuple(told),
        close_calls=close_calls,
        replaced=once.replaced,
        perhaps_replaced=once.perhaps_replaced,
        names=names,
        proofs=proofs_of(tables["lines"], tables["printed_totals"], known, names, tables["moves"]),
        paths={},
    )


def _joined_tables(found: Sequence[Mapping[str, pd.DataFrame]]) -> dict[str, pd.DataFrame]:
    """The tables of several files or documents below one another, by name."""
    return {
        name: joined((tables[name] for tables in found if name in tables), schema)
        for name, schema in {**TABLES, vocabulary.PARCELS: PARCELS}.items()
        if any(name in tables for tables in found)
    }


def parcels(path: Path, *, readings: Path | None = None) -> tuple[pd.DataFrame, list[Problem]]:
    """PARCELS of a file that lists parcels to be checked before they are shipped, and what could not be read.

    Args:
        path: the file; it needs a size, or three sides, or a carton for each parcel.
        readings: folder of saved readings.
    """
    saved, faults = readings_in(readings)
    parts = _file(File(path.absolute(), readable(path.name), vocabulary.PARCELS, tuple(saved)))
    table = joined((part.tables[vocabulary.PARCELS] for part in parts if vocabulary.PARCELS in part.tables), PARCELS)
    return table, [*faults, *(problem for part in parts for problem in part.problems)]


@dataclass(frozen=True)
class Against:
    """What one file is held against: other files, the rules' names of charges, and what makes charges expected."""

    paths: Sequence[Path] = ()
    charges: Sequence[str] = ()
    expecting: Expecting | None = None


def understood(
    path: Path,
    *,
    kind: str | None = None,
    readings: Path | None = None,
    corrections: Mapping[str, str] | None = None,
    answers: Sequence[Reading] = (),
    against: Against = Against(),
) -> Understood:
    """What one file is understood to be.

    Args:
        path: the file.
        kind: what it is to be read as.
        readings: folder of saved readings.
        corrections: heading → field, or `readings.NOT_READ`: what the user says columns mean.
        answers: readings of layouts, and of charges, as for `read`.
        against: what it is held against, as `read` does.

    Raises:
        ValueError: a correction names a field that tables of the kind do not have.
    """
    own = [Reading(one, "", checked(one, corrections)) for one in _kinds_with(corrections, kind)] if corrections else []
    saved, faults = readings_in(readings)
    told = (*own, *answers, *saved)
    file = File(path.absolute(), readable(path.name), kind, told)
    at(turn_of(file))
    part = part_of(file)
    if others := _others(file, against):
        parts = held_together([part, *others], expecting=against.expecting)
        part = parts[0]
        whole = together(parts, charges=against.charges, expecting=against.expecting, readings=told)
        charges = frozenset(charges_known(against.charges, whole.fees["charge"]))
        taken = _of_file(whole, part, faults)
        return Understood(part.sheets, part.strange, taken, charges, part.read, part.grids, told)
    tables = {name: part.tables.get(name, empty(schema)) for name, schema in TABLES.items()}
    tables["lines"], names, said = with_charges(tables["lines"], Known(), against.charges, told)
    taken = Intake(
        **tables,
        problems=(*faults, *part.problems, *said),
        close_calls=part.close_calls,
        perhaps_replaced=frozenset(),
        names=names,
        proofs=proofs_of(tables["lines"], tables["printed_totals"], Known(), names, tables["moves"]),
        paths={},
    )
    return Understood(part.sheets, part.strange, taken, frozenset(charges_known(against.charges)))


def _others(file: File, against: Against) -> list[Part]:
    """The other files, read as ever, without photographs."""
    others, _ = gathered(against.paths, {})
    files = [replace(one, readings=file.readings) for one in others if one.path != file.path and not is_picture(one)]
    return [part_of(one) for one in each(files, turn_of)]


def _of_file(whole: Intake, part: Part, faults: Sequence[Problem]) -> Intake:
    """Of all that was read what one file holds."""
    tables = {name: part.tables.get(name, empty(schema)) for name, schema in TABLES.items()}
    tables["lines"] = whole.lines[whole.lines["source_file"] == part.name].reset_index(drop=True)
    said = [problem for problem in whole.problems if problem.file in {part.name, ""}]
    numbers = {str(number) for number in tables["lines"]["statement"].unique()}
    return Intake(
        **tables,
        problems=(*faults, *said),
        close_calls=part.close_calls,
        perhaps_replaced=frozenset(),
        paths={},
        names={number: one for number, one in whole.names.items() if number in numbers},
        proofs={number: one for number, one in whole.proofs.items() if number in numbers} if part.tables else {},
    )


def _kinds_with(corrections: Mapping[str, str], kind: str | None) -> list[str]:
    """The kinds of table that have all the fields named; a statement where none has."""
    fields = {current(meaning_of(name).field) for name in corrections.values() if name != NOT_READ}
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
    parts = _without_summaries(file, parts, printed=any(isinstance(one, Grid) and one.boxes for one in documents))
    parts = _with_totals_of_all(parts)
    if any(part.tables for part in parts):
        parts = [_as_note(part) if part.unknown else part for part in parts]
    whole = _Taken(
        problems=held.problems,
        grids=tuple(grid for one in documents for grid in _grids_of(one)),
        pages=held.pages,
        lists=tuple(_line_by_line(letter) for one in documents for letter in _letters_of(one)),
    )
    return [whole, *parts, _counted(file, parts), _said_of_others(file, documents, parts)]


def _grids_of(document: Grid | Letter | Text) -> Sequence[Grid]:
    """The tables of a document that are kept row by row; those kept by column are too long to be looked at twice."""
    grids = document.grids if isinstance(document, Text) else (document,) if isinstance(document, Grid) else ()
    return [grid for grid in grids if not isinstance(grid.rows, Columns) and not grid.by_recognition]


def _said_of_others(file: File, documents: Sequence[Grid | Letter | Text], parts: Sequence[_Taken]) -> _Taken:
    """What a file with statements says of others that they replace, around their lines or in a letter beside them."""
    numbers = pd.unique(joined((part.tables["lines"] for part in parts if "lines" in part.tables), LINES)["statement"])
    if not len(numbers):
        return _Taken()
    letters = [one for document in documents for one in _letters_of(document)]
    written = [letter.text.splitlines() for letter in letters]
    texts = [line for lines in written for line in (*lines[:MOST_REMARKS], *lines[-MOST_REMARKS:])]
    for sheet in (sheet for part in parts for sheet in part.sheets if sheet.kind == "statement"):
        texts += [*sheet.above, *sheet.leads.head(MOST_REMARKS), *sheet.leads.tail(MOST_REMARKS)]
    rows = [
        {"statement": number, "words": words, "source_file": file.name}
        for words in reissue_words.said(texts)
        for number in numbers
        if len(numbers) == 1 or reissue_words.plain(str(number)) in reissue_words.numbers(words)
    ]
    return _Taken({"reissues": conform(pd.DataFrame(rows), REISSUES)}) if rows else _Taken()


def _line_by_line(letter: Letter) -> Grid:
    rows = [[line] for line in letter.text.splitlines()]
    return Grid(rows, [f"line {number}" for number in range(1, len(rows) + 1)], part=letter.part)


def _letters_of(document: Grid | Letter | Text) -> Sequence[Letter]:
    if isinstance(document, Letter):
        return [document]
    return document.letters if isinstance(document, Text) else ()


def _counted(file: File, parts: Sequence[_Taken]) -> _Taken:
    """The printed counts of a file's statements, held against what was read of all its tables."""
    read = [part for part in parts if "lines" in part.tables]
    sheets = [sheet for part in read for sheet in part.sheets if sheet.kind == "statement"]
    return _Taken(problems=tuple(proof.counts_apart(file.name, sheets, [part.tables["lines"] for part in read])))


def _with_totals_of_all(parts: Sequence[_Taken]) -> list[_Taken]:
    """The parts, with one printed total for each statement that stands in several of them."""
    read = {at: part for at, part in enumerate(parts) if "lines" in part.tables}
    if len(read) < 2:  # noqa: PLR2004 - one table has its own
        return list(parts)
    lines, printed = (
        pd.concat([part.tables[name].assign(table=at) for at, part in read.items()], ignore_index=True)
        for name in ("lines", "printed_totals")
    )
    whole = proof.total_of_all([sheet for part in read.values() for sheet in part.sheets], lines, printed)
    of_table = {at: conform(whole[whole["table"] == at].reset_index(drop=True), PRINTED_TOTALS) for at in read}
    return [
        replace(part, tables={**part.tables, "printed_totals": of_table[at]}) if at in read else part
        for at, part in enumerate(parts)
    ]


def _without_summaries(file: File, parts: Sequence[_Taken], *, printed: bool) -> list[_Taken]:
    """The parts without tables that sum up the statement beside them and look like prices.

    On printed pages all such tables do; elsewhere those whose amounts come to the lines'.
    """
    lines = [int(part.tables["lines"]["amount_cents"].sum()) for part in parts if "lines" in part.tables]
    if not lines:
        return list(parts)
    return [_without_summary(file, part, sum(lines), printed=printed) for part in parts]


def _without_summary(file: File, part: _Taken, cents: int, *, printed: bool) -> _Taken:
    prices = {name: part.tables[name] for name in part.tables if name in {"rates", "fees", "fuel", "cartons"}}
    sums = [int(table["amount_cents"].sum()) for table in prices.values() if "amount_cents" in table]
    told = Problem(
        file.name, "", "A table that sums up this statement by charge or service was not counted.", note=True
    )
    if part.unknown and part.strange is not None and _sums_up(part.strange, cents):
        return _Taken(problems=(told,))
    if not prices or not (printed or any(one in {cents, 2 * cents} for one in sums)):
        return part
    left = {name: table for name, table in part.tables.items() if name not in prices}
    return replace(part, tables=left, problems=(*part.problems, told)) if left else _Taken(problems=(told,))


def _sums_up(grid: Grid, cents: int) -> bool:
    """Whether a column of a small table comes to the lines' sum, or to twice that with its own total."""
    if not cents or len(grid.rows) > MOST_SUMMED:
        return False
    columns = zip_longest(*grid.rows, fillvalue="")
    return any(sum(map(evidence.cents, column)) in {cents, 2 * cents} for column in columns)


def _proved(file: File, documents: Sequence[Grid | Letter | Text], parts: list[_Taken]) -> list[_Taken]:
    """The parts, with the money of lines read from pictures only where the printed totals prove it."""
    ours = [
        isinstance(one, Grid) and one.by_recognition and "lines" in part.tables
        for one, part in zip(documents, parts, strict=True)
    ]
    if not any(ours):
        return parts
    lines, totals = (
        joined((part.tables[name] for part in parts if name in part.tables), TABLES[name])
        for name in ("lines", "printed_totals")
    )
    read = [part.tables["lines"]["statement"] for part, is_ours in zip(parts, ours, strict=True) if is_ours]
    wrong, problems = picture_file.unproved(file.name, lines, totals, pd.concat(read))
    kept = [_without_money(part, wrong) if is_ours else part for part, is_ours in zip(parts, ours, strict=True)]
    return [*kept, _Taken(problems=tuple(problems))]


def _without_money(part: _Taken, statements: Sequence[str]) -> _Taken:
    """The part, with none of the amounts of those statements: a line without one stands as not read."""
    lines = part.tables["lines"]
    amounts = lines["amount_cents"].mask(lines["statement"].isin(statements))
    return replace(part, tables={**part.tables, "lines": lines.assign(amount_cents=amounts)})


MOST_REMARKS = 100
"""So many rows at either end of a statement are looked at for what it says of others."""
MOST_SUMMED = 100
"""A summary by charge, service or day has no more rows."""
MOST_LETTER_ROWS = 60
"""A table of more rows does not stand in a letter."""


def _with_covers(documents: Sequence[Grid | Letter | Text]) -> list[Grid | Letter | Text]:
    """The sheets of a workbook, each with what the others say in short rows at their top: its number, its total."""
    sheets = [document for document in documents if isinstance(document, Grid) and document.part]
    said = {sheet.part: tuple(covers.said(sheet.rows)) for sheet in sheets} if len(sheets) > 1 else {}
    return [
        replace(one, above=(*one.above, *(text for part, texts in said.items() if part != one.part for text in texts)))
        if isinstance(one, Grid) and one.part in said
        else one
        for one in documents
    ]


def _document(file: File, document: Grid | Letter | Text) -> _Taken:
    try:
        if isinstance(document, Text):
            return _text(file, document)
        return _grid_or_letter(file, document) if isinstance(document, Grid) else _letter(file, document)
    except Exception as error:  # noqa: BLE001 - as above
        part = f"sheet {document.part}" if isinstance(document, Grid) and document.part else document.part
        return replace(_failed(file, part, error), strange=document if isinstance(document, Grid) else None)


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
    tables = _joined_tables([one.tables, other.tables])
    return _Taken(tables, (*one.problems, *other.problems), sheets=(*one.sheets, *other.sheets))


def _failed(file: File, place: str, error: Exception) -> _Taken:
    problem = Problem(file.name, place, why(error), unread=True)
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
            lines, totals = (
                conform(table.assign(source_box=table["source_place"].map(boxes)), schema)
                for table, schema in ((lines, LINES), (totals, PRINTED_TOTALS))
            )
        return _Taken({"lines": lines, "printed_totals": totals}, (*problems, *faults), sheets=(sheet,))
    if sheet.kind == "shipments":
        sheet, notes = parcels_apart(sheet)
        problems += notes
    frame, faults = tidied(sheet)
    frame, gaps = complete(frame, sheet)
    return _Taken({TABLE_OF.get(sheet.kind, sheet.kind): frame}, (*problems, *faults, *gaps), sheets=(sheet,))


def _grid_or_letter(file: File, grid: Grid) -> _Taken:
    """What a table gives; one of no known kind may stand in a letter, which is read with it.

    Raises:
        Unreadable: it gives nothing, nor does the letter.
    """
    try:
        return _grid(file, grid)
    except Unreadable:
        if len(grid.rows) > MOST_LETTER_ROWS or not grid.above:
            raise
        try:
            table = lines_of(grid.rows, " ".join(grid.above))
            taken = _letter(file, Letter("\n".join([*grid.above, "", *table]), part=grid.part))
        except Unreadable:
            taken = _Taken()
        if not taken.tables or not notice.has_figures(taken.tables["notices"]).any():
            raise
        return taken


def _letter(file: File, letter: Letter) -> _Taken:
    if file.kind not in {None, "notice"}:
        raise Unreadable(f"This is a letter, not a table, so it cannot be read as {file.kind}.")
    notices, problems = notice.read(file.name, letter)
    return _Taken({"notices": notices}, tuple(problems))


def _without_ours(files: Sequence[File]) -> tuple[list[File], list[Problem]]:
    """The files without the pictures that `auditor columns` drew of a statement, which would be read as another."""
    ours = [file for file in files if picture_file.is_picture(file.path) and picture_file.is_ours(file.path)]
    message = "This picture was drawn by 'auditor columns --picture', so it was not read."
    return [file for file in files if file not in ours], [Problem(file.name, "", message, note=True) for file in ours]


def photos(parts: Sequence[Part]) -> set[str]:
    """The names of the photographs taken at packing, by the seller's records; they are no statements."""
    shipments = joined((part.tables["shipments"] for part in parts if "shipments" in part.tables), SHIPMENTS)
    return {base_name(photo) for photo in shipments["photo"].dropna()}


MOST_TOLD, MOSTLY = 20, 0.5
"""So many numbers are told one by one; and the share of rows with such a number from which it may be a statement."""


def _recorded_twice(shipments: pd.DataFrame) -> Iterator[Problem]:
    """Tracking numbers on more than one row of the records, which all stay.

    Where most numbers of a file do, it may be a statement that was taken for records.
    """
    repeated = shipments["tracking"].duplicated(keep=False)
    twice = shipments[repeated]
    for told, (tracking, rows) in enumerate(twice.groupby("tracking", sort=False)):
        if told == MOST_TOLD:
            more = f"{twice['tracking'].nunique() - told:,} more tracking numbers stand on several rows."
            yield Problem(rows["source_file"].iloc[-1], rows["source_place"].iloc[-1], more)
            break
        where = [f"{file}, {place}" for file, place in zip(rows["source_file"], rows["source_place"], strict=True)]
        yield Problem(
            rows["source_file"].iloc[-1],
            rows["source_place"].iloc[-1],
            f"Tracking number {tracking} stands on {len(rows)} rows: {'; '.join(where)}. All were kept, but what is "
            "billed for that number is held against the first. Give each parcel the number on its own label.",
        )
    of_file = shipments.groupby("source_file", sort=False)["tracking"]
    for file, numbers in of_file:
        if len(numbers) > MOST_TOLD and numbers.duplicated(keep=False).mean() > MOSTLY:
            message = (
                "Most tracking numbers stand on several rows here, as in a carrier's statement, but this was read as "
                f'shipping records. If it is a statement, run again with --as "statement={file}".'
            )
            yield Problem(str(file), "", message)
