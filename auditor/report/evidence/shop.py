"""Who makes the claims, and to which carriers: a small TOML file that the seller fills in once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rapidfuzz import process

LARGEST = 2**16

EXAMPLE = """\
name = "Quillmoor Instruments"
address = ["Workshop 4, Old Mill Lane", "Larkham"]
email = "workshop@quillmoor.example"
signed = "Ruth Quillmoor"

[[carriers]]
name = "Norrhaven Parcel"
account = "441002"
statements = "NP-"   # what the numbers of its statements begin with
"""


class ShopError(ValueError):
    """A shop file that cannot be used; its text says what is wrong in it and what to do."""


@dataclass(frozen=True)
class Carrier:
    """A carrier the shop has an account with; `statements` is what the numbers of its statements begin with."""

    name: str = ""
    account: str = ""
    statements: str = ""


@dataclass(frozen=True)
class Shop:
    """The shop as its letters show it. `fonts` is a folder of fonts for scripts that the built-in ones lack."""

    name: str = ""
    address: tuple[str, ...] = ()
    email: str = ""
    signed: str = ""
    fonts: Path | None = None
    carriers: tuple[Carrier, ...] = ()

    def carrier(self, statement: str) -> Carrier:
        """The carrier that a statement is of: of those that fit, the one whose beginning is longest."""
        fitting = [carrier for carrier in self.carriers if statement.startswith(carrier.statements)]
        return max(fitting, key=lambda carrier: len(carrier.statements), default=Carrier())


def read_shop(path: Path) -> Shop:
    """Read a shop file.

    Raises:
        ShopError: it cannot be opened, is no TOML, or has a key or a value that it cannot have.
    """
    try:
        if path.stat().st_size > LARGEST:
            raise ShopError(f"{path} is too large for a shop file; it needs a dozen lines. See docs/evidence.md.")
        given = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise ShopError(f"{path} cannot be opened ({error.strerror}). Look at how it is spelled.") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise ShopError(f'{path} is not a TOML file: {error}. Texts stand in quotes: name = "…".') from error
    _check_keys(path, given, ("name", "address", "email", "signed", "fonts", "carriers"))
    fonts = _text(path, given, "fonts")
    return Shop(
        name=_text(path, given, "name"),
        address=_texts(path, given, "address"),
        email=_text(path, given, "email"),
        signed=_text(path, given, "signed"),
        fonts=_folder(path, fonts) if fonts else None,
        carriers=tuple(_carrier(path, table) for table in _tables(path, given)),
    )


def _carrier(path: Path, given: Mapping[str, Any]) -> Carrier:
    _check_keys(path, given, ("name", "account", "statements"))
    return Carrier(*(_text(path, given, key) for key in ("name", "account", "statements")))


def _tables(path: Path, given: Mapping[str, Any]) -> Sequence[Mapping[str, Any]]:
    tables = given.get("carriers", [])
    if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
        raise ShopError(f"{path}: carriers stand each under a line [[carriers]], with name, account and statements.")
    return tables


def _check_keys(path: Path, given: Mapping[str, Any], known: Sequence[str]) -> None:
    for key in given:
        if key not in known:
            like = process.extractOne(key, known, score_cutoff=60)
            meant = f"Did you mean '{like[0]}'? " if like else ""
            raise ShopError(f"{path} has '{key}', which is not known. {meant}Known are: {', '.join(known)}.")


def _text(path: Path, given: Mapping[str, Any], key: str) -> str:
    value = given.get(key, "")
    if not isinstance(value, str):
        raise ShopError(f'{path}: {key} is {value!r}, but a text in quotes is needed, as in {key} = "…".')
    return value.strip()


def _texts(path: Path, given: Mapping[str, Any], key: str) -> tuple[str, ...]:
    value = given.get(key, [])
    if not isinstance(value, list) or not all(isinstance(text, str) for text in value):
        raise ShopError(f'{path}: {key} is {value!r}, but a list of texts is needed, as in {key} = ["…", "…"].')
    return tuple(text.strip() for text in value)


def _folder(path: Path, name: str) -> Path:
    folder = path.parent / name
    if not folder.is_dir():
        raise ShopError(f"{path}: fonts is {name!r}, but there is no such folder beside the shop file.")
    return folder
