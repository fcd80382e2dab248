"""Problems for a terminal: a line a kind and file, what concerns money first."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

from auditor.core.schemas import Problem

MOST_LINES = 8
"""So many lines of problems stand under an answer; with it they fill a screen (chosen)."""

MOST_FILES = 3
"""Where more files have a problem of one kind, one line tells of all of them."""

COLUMN = re.compile(r"\bcolumn ('[^']*')", re.IGNORECASE)
OF_ONE = re.compile(r"'[^']*'|\"[^\"]*\"|\S*\d\S*")
"""What differs from one problem to the next of its kind: what is quoted, and words with digits."""

MORE = re.compile(r"([\d,]+) more ")
ASKS = re.compile(
    r"\b(add|ask|compare|if|look|wrong|exact)\b|converted|decimal comma|without a unit|which number is the day",
    re.IGNORECASE,
)
"""In a note that asks for something, or that tells how all figures of a column were read."""


@dataclass(frozen=True)
class Kind:
    """Problems of one kind: the first of them, how many there are, and in how many files."""

    first: Problem
    count: int = 1
    files: int = 1

    @property
    def line(self) -> str:
        """'Problem: orders.csv, row 5, and 29 more like it: …'."""
        kind = "Note" if self.first.note else "Question" if self.first.asks else "Problem"
        where = [part for part in (self.first.file, self.first.place) if part]
        if self.count > 1:
            where.append(f"and {self.count - 1:,} more like it{f' in {self.files:,} files' if self.files > 1 else ''}")
        return f"{kind}: {', '.join(where)}: {self.first.message}" if where else f"{kind}: {self.first.message}"


def lines(problems: Sequence[Problem], statements: Collection[str], elsewhere: str) -> Iterator[str]:
    """At most MOST_LINES lines, and one that says how much more the report has.

    Notes, choices that the program made, are told where they ask for something.

    Args:
        problems: in the order they were found.
        statements: the files with statement lines in them, whose faults concern money.
        elsewhere: who tells of the others: 'The report also has'.
    """
    found = kinds(problems, statements)
    asking = [kind for kind in found if not kind.first.note or _asks(kind.first)]
    yield from (kind.line for kind in asking[:MOST_LINES])
    if left := found[MOST_LINES:] if len(asking) > MOST_LINES else [kind for kind in found if kind not in asking]:
        yield f"{elsewhere} {_more(left)}."


def _more(left: Sequence[Kind]) -> str:
    faults, notes = (sum(kind.count for kind in left if kind.first.note is note) for note in (False, True))
    parts = [
        f"{faults:,} more problem{'' if faults == 1 else 's'}" if faults else "",
        f"{notes:,} choice{'' if notes == 1 else 's'} made while reading" if notes else "",
    ]
    return " and ".join(filter(None, parts))


def kinds(problems: Sequence[Problem], statements: Collection[str] = ()) -> list[Kind]:
    """The problems by kind and file: files not read at all first, then what concerns money, then by number."""
    found: dict[tuple[str, str, bool], Kind] = {}
    key = None
    for problem in problems:
        more = MORE.match(problem.message)
        follows = more and key and key[0] == problem.file
        key = key if follows and key else (problem.file, kind_of(problem.message), problem.note)
        count = int(more[1].replace(",", "")) if more else 1
        before = found.get(key)
        found[key] = replace(before, count=before.count + count) if before else Kind(problem, count)
    return sorted(_over_files(found), key=lambda kind: _rank(kind, statements))


def kind_of(message: str) -> str:
    """What a message has in common with others of its kind; faults in the cells of one column are one kind.

    What is said of columns as such is one kind for all of them.
    """
    column = None if message.startswith("Column '") else COLUMN.search(message)
    return column[1] if column else OF_ONE.sub("…", message)


def _over_files(found: dict[tuple[str, str, bool], Kind]) -> Iterator[Kind]:
    """Kinds that many files have, as one."""
    of_kind: dict[tuple[str, bool], list[Kind]] = {}
    for (_, kind, note), of_file in found.items():
        of_kind.setdefault((kind, note), []).append(of_file)
    for several in of_kind.values():
        if len(several) > MOST_FILES:
            yield Kind(several[0].first, sum(of_file.count for of_file in several), len(several))
        else:
            yield from several


def _rank(kind: Kind, statements: Collection[str]) -> tuple[bool, bool, bool, int]:
    first = kind.first
    money = first.file in statements or not first.file
    return not first.unread, first.note, not money, -kind.count


def _asks(note: Problem) -> bool:
    return not note.file or bool(ASKS.search(note.message))
