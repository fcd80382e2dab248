"""Saved readings: how the columns of one layout are to be read, in small files that people can edit.

A layout is known again by its headings: their digest is the name of the file. A reading is TOML:

    kind = "statement"
    layout = "3f2a…"

    [columns]
    "Waybill" = "tracking"
    "Value" = "amount_cents"
    "Basis" = "not read"

Headings that it does not name are found as ever. A column of yes and no may say the opposite, and words may be its yes:

    "Business" = "not residential"
    "State" = "voided: Storno | Rückgabe"

What a sender's charges are is kept in the same way, and known again by the names of its charges:

    names = ["carriage", "route equalisation", "zebra"]

    [charges]
    "Route equalisation" = "fuel"
    "Zebra" = "other"
"""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import tomli_w

from auditor.core.schemas import FLAG, PARCELS, SHIPMENTS, Problem
from auditor.core.whole_files import write_whole
from auditor.intake import parsing, vocabulary
from auditor.intake.words import tokens

NOT_READ = "not read"
CHARGE = "charge"
"""What a column of amounts means that holds one charge of each parcel, named by its heading."""
OTHER = "other"
"""What a charge is that the user knows, and that is none of those with a price of their own."""
FORMER = "read_"
"""What `measured_` in names of fields was before; readings that were kept then still hold."""
OF_COLUMNS = '# How the columns of one layout are read. A column that is to be left out is "not read".\n'
OF_CHARGES = '# What the charges of one sender are, who is known by all their names. One of no known kind is "other".\n'
LARGEST = 2**20
MOST_FILES = 1_000


@dataclass(frozen=True)
class Reading:
    """What each heading of a layout means: a field of the kind, CHARGE or NOT_READ. `file` is where it is kept.

    One without a layout is a correction, which holds for whatever table has its headings. `charges` are what names of
    charges mean, as printed: a charge or OTHER; they hold for the sender whose charges have the `names`.
    """

    kind: str
    layout: str
    columns: Mapping[str, str]
    file: str = ""
    charges: Mapping[str, str] = field(default_factory=dict)
    names: tuple[str, ...] = ()


def digest(headings: Sequence[str]) -> str:
    """What a layout is known by: the same for headings that differ in case, blanks or signs only."""
    words = [" ".join(tokens(heading)) for heading in headings]
    while words and not words[-1]:
        words.pop()
    return hashlib.sha256("\n".join(words).encode()).hexdigest()[:16]


def fits(reading: Reading, headings: Sequence[str]) -> bool:
    """Whether it is the reading of a table with those headings."""
    if not reading.layout:
        return bool(reading.columns) and set(reading.columns) <= set(headings)
    return reading.layout == digest(headings)


def saved(folder: Path | None) -> tuple[list[Reading], list[Problem]]:
    """The readings in a folder (none where it is not there), and what is wrong with those that cannot be used."""
    readings: list[Reading] = []
    problems: list[Problem] = []
    for path in sorted(folder.glob("*.toml"))[:MOST_FILES] if folder and folder.is_dir() else []:
        try:
            readings.append(_read(path))
        except (OSError, ValueError) as error:
            message = f"This saved reading cannot be used: {error}. Correct it, or delete it and save it anew."
            problems.append(Problem(str(path), "", message))
    return readings, problems


def _read(path: Path) -> Reading:
    if path.stat().st_size > LARGEST:
        raise ValueError("it is far larger than a reading is")
    try:
        held = tomllib.loads(path.read_text(encoding="utf-8"))
    except tomllib.TOMLDecodeError as error:
        raise ValueError(f"it is not TOML ({error})") from error
    kind, layout, columns, charges = (held.get(key) for key in ("kind", "layout", "columns", "charges"))
    if isinstance(charges, dict):
        return _of_sender(charges, held.get("names"), path.name)
    if kind not in vocabulary.KINDS or not isinstance(layout, str) or not isinstance(columns, dict):
        raise ValueError("it needs a kind, a layout and a table of columns")
    return Reading(kind, layout, checked(kind, columns), path.name)


def _of_sender(charges: Mapping[str, Any], names: Any, file: str) -> Reading:
    """What a sender's charges are."""
    if not isinstance(names, list) or not all(isinstance(text, str) for text in (*names, *charges.values())):
        raise ValueError("it needs the names of the sender's charges, and what each of some is")
    return Reading("statement", "", {}, file, charges, tuple(names))


def fields_of(kind: str) -> set[str]:
    """What a column of a table of that kind may mean."""
    return {*vocabulary.HEADINGS[kind], *((CHARGE,) if kind == "statement" else ())}


YES_NO = frozenset(column.name for schema in (SHIPMENTS, PARCELS) for column in schema if column.dtype == FLAG)
"""The fields that are yes or no."""
OPPOSITE, WORDS, BETWEEN = "not ", ":", "|"


@dataclass(frozen=True)
class Meant:
    """What a column means: a field, or the opposite of one; `words` are its yes, where they were said."""

    field: str
    opposite: bool = False
    words: tuple[str, ...] = ()

    def __str__(self) -> str:
        """As it was said."""
        words = f"{WORDS} {f' {BETWEEN} '.join(self.words)}" if self.words else ""
        return f"{OPPOSITE if self.opposite else ''}{self.field}{words}"

    @property
    def how(self) -> bool:
        """Whether it says how the column is yes or no."""
        return self.opposite or bool(self.words)

    def yes(self, text: str) -> bool:
        """Whether a cell says yes.

        Raises:
            ValueError: no words were said, and it is neither yes nor no.
        """
        word = text.strip().casefold()
        read = parsing.voided if self.field == "voided" else parsing.flag
        said = word in {one.casefold() for one in self.words} if self.words else read(text)
        return said != self.opposite


def meaning_of(name: str) -> Meant:
    """What is said of a column: 'not residential', 'voided: Storno | Rückgabe', or a field alone."""
    field_name, _, words = name.partition(WORDS)
    opposite = name != NOT_READ and field_name.startswith(OPPOSITE)
    plain = field_name.removeprefix(OPPOSITE) if opposite else field_name
    return Meant(plain.strip(), opposite, tuple(filter(None, map(str.strip, words.split(BETWEEN)))))


def current(name: Any) -> Any:
    """What a field is called now, also by the name it had before."""
    before = isinstance(name, str) and name.startswith(FORMER)
    return f"measured_{name.removeprefix(FORMER)}" if before else name


def checked(kind: str, columns: Mapping[str, Any]) -> dict[str, str]:
    """The columns, if each means a field of the kind; raises ValueError for one that does not."""
    now = {heading: current(name) for heading, name in columns.items()}
    for heading, name in now.items():
        meant = meaning_of(name) if isinstance(name, str) else None
        if meant and meant.how and meant.field in fields_of(kind) - YES_NO:
            raise ValueError(f"{heading!r} cannot be {name!r}: of {meant.field} there is no yes and no")
        if name != NOT_READ and (meant is None or meant.field not in fields_of(kind)):
            known = ", ".join(sorted(fields_of(kind)))
            raise ValueError(
                f"{heading!r} cannot be {name!r} in {vocabulary.CALLED[kind]}; known are {known}, {NOT_READ}"
            )
    return now


def save(folder: Path, reading: Reading) -> Path:
    """Write a reading into the folder, which is made if need be; one of the same layout is replaced.

    Raises:
        OSError: the folder cannot be written to.
    """
    folder.mkdir(parents=True, exist_ok=True)
    if reading.charges:
        name = reading.file or f"charges-{digest(sorted(reading.names))}.toml"
        text = OF_CHARGES + tomli_w.dumps({"names": list(reading.names), "charges": dict(reading.charges)})
        return write_whole(folder / name, text)
    path = folder / f"{reading.kind}-{reading.layout}.toml"
    text = OF_COLUMNS + tomli_w.dumps(
        {"kind": reading.kind, "layout": reading.layout, "columns": dict(reading.columns)}
    )
    return write_whole(path, text)
