"""Which files there are to read: folders are walked, hidden files skipped, the same file is read once."""

from __future__ import annotations

import hashlib
import os
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePath

from auditor.core.schemas import Problem
from auditor.intake.readings import Reading

HIDDEN = (".", "~$")
"""Beginnings of the names of files that programs keep for themselves."""


@dataclass(frozen=True)
class File:
    """A file to read, the name it is called by, what kind of table the user says it is, and the readings kept."""

    path: Path
    name: str
    kind: str | None = None
    readings: tuple[Reading, ...] = ()


def readable(path: str | Path) -> str:
    """A path as text that every table and file can hold: bytes of it that are no UTF-8 are shown as their codes."""
    return os.fsencode(path).decode("utf-8", "backslashreplace")


def base_name(name: str) -> str:
    """The name of a file without the folders that a record may have before it, of any system."""
    return PurePath(name.replace("\\", "/")).name


def gathered(paths: Sequence[Path], given: Mapping[str, Sequence[Path]]) -> tuple[list[File], list[Problem]]:
    """Every distinct file among the paths, in an order that does not depend on theirs."""
    problems: list[Problem] = []
    told: set[Path] = set()
    kinds = {file: kind for kind, them in sorted(given.items()) for file in _walked(sorted(them), problems, told)}
    listed = list(_walked(sorted(paths), problems, told))
    distinct = sorted({*kinds, *listed}, key=lambda path: (path.name, path))
    names = _names(distinct)
    twice = [path for path, count in Counter(listed).items() if count > 1]
    problems += [Problem(names[path], "", "This file was given twice. It was read once.", note=True) for path in twice]
    files = [File(path, names[path], kinds.get(path)) for path in distinct]
    return _without_copies(files, problems), problems


def size_of(paths: Iterable[Path]) -> int:
    """How many bytes the files among the paths and in their folders have together, as far as they can be looked at."""
    return sum(_size(file) for file in _walked(paths, [], set()))


def _walked(paths: Iterable[Path], problems: list[Problem], told: set[Path]) -> Iterator[Path]:
    """The files among the paths and in their folders; what is none is told of, once, and its path put down as told."""
    for path in paths:
        try:
            if path.is_dir():
                yield from _in_folder(path, problems, told)
            elif path.is_file():
                yield path.absolute()
            else:
                what = "This is not a file" if path.exists() else "There is no such file or folder"
                message = f"{what}. Look at how it is spelled and run again."
                problems.append(Problem(readable(path), "", message, unread=True))
        except OSError as error:
            message = f"This cannot be opened ({error.strerror}). Look at how it is spelled and at who may read it."
            problems.append(Problem(readable(path), "", message, unread=True))


LINKED_FOLDER = (
    "This is a link to a folder, which is not followed, so nothing in it was read. Give that folder itself as well."
)
DANGLING = "This link leads to nothing, so it was not read. Put the file itself here, or delete the link."
NO_FILE = "This is a pipe, a socket or a device and no file, so it was not read. Save what it gives as a file."


def _in_folder(folder: Path, problems: list[Problem], told: set[Path]) -> Iterator[Path]:
    found = 0
    for inside, folders, files in os.walk(folder, onerror=lambda error: problems.append(_closed(error))):
        folders[:] = sorted(name for name in folders if not name.startswith(HIDDEN))
        links = [name for name in folders if Path(inside, name).is_symlink()]
        for name in sorted([*links, *(name for name in files if not name.startswith(HIDDEN))]):
            path = Path(inside, name).absolute()
            found += 1
            if path.is_file():
                yield path
            elif path not in told:
                told.add(path)
                problems.append(Problem(readable(path), "", _no_file(path), unread=True))
    if not found and not any(problem.file == readable(folder) for problem in problems):
        message = "There is no file in this folder. Put the month's files into it, or give another folder."
        problems.append(Problem(readable(folder), "", message, unread=True))


def _no_file(path: Path) -> str:
    """Why what lies in a folder is not read."""
    if path.is_dir():
        return LINKED_FOLDER
    return NO_FILE if path.exists() else DANGLING


def _closed(error: OSError) -> Problem:
    message = f"This folder cannot be opened ({error.strerror}). Change who may read it, and run again."
    return Problem(readable(error.filename), "", message, unread=True)


def _names(paths: Sequence[Path]) -> dict[Path, str]:
    """Each file's own name; where two share it, with the folders that tell them apart."""
    own = _numbered({path: readable(path) for path in paths})
    names = {path: PurePath(name).name for path, name in own.items()}
    for depth in range(2, max((len(path.parts) for path in paths), default=0) + 1):
        shared = {name for name, count in Counter(names.values()).items() if count > 1}
        longer = {path: "/".join(PurePath(own[path]).parts[-depth:]) for path in names}
        names = {path: longer[path] if name in shared else name for path, name in names.items()}
    return names


def _numbered(names: dict[Path, str]) -> dict[Path, str]:
    """The names, numbered where two only look alike once written, as of a byte that is no letter and of its code."""
    seen: Counter[str] = Counter()
    for path, name in names.items():
        seen[name] += 1
        names[path] = name if seen[name] == 1 else f"{name} ({seen[name]})"
    return names


def _without_copies(files: list[File], problems: list[Problem]) -> list[File]:
    """One file of each content; one that the user says the kind of comes before one that is just there."""
    sizes = Counter(_size(file.path) for file in files)
    kept: dict[str, File] = {}
    for file in sorted(files, key=lambda file: file.kind is None):
        key = _content(file.path) if _size(file.path) and sizes[_size(file.path)] > 1 else file.name
        first = kept.setdefault(key, file)
        if first is not file:
            message = f"This file is the same as {first.name}, byte for byte. It was read once."
            problems.append(Problem(file.name, "", message, note=True))
    paths = {file.path for file in kept.values()}
    return [file for file in files if file.path in paths]


def _size(path: Path) -> int:
    return path.stat().st_size


def _content(path: Path) -> str:
    """A digest of the file's bytes, or its path where it may not be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return str(path)
