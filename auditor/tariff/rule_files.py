"""Where rule files lie, and on which of their lines something stands."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any


class RuleError(ValueError):
    """A rule file that cannot be used: says the file and line, the value found and what was expected."""


def folder() -> Path:
    """Where the shipped rule files lie: inside an installed package, or at the top of a checkout."""
    inside = Path(__file__).parents[1] / "_data" / "rules"
    return inside if inside.is_dir() else Path(__file__).parents[2] / "rules"


def shipped() -> list[str]:
    """The names of the shipped tariffs."""
    return sorted(file.stem for file in folder().glob("*.toml"))


def line_of(text: str, fact: str, number: int, key: str) -> int | None:
    """The line of a key in the `number`-th table of that name, or of that table's heading; None when not found."""
    table, count, heading = "", {"": 1}, None
    for number_of_line, line in enumerate(text.splitlines(), 1):
        if line.lstrip().startswith("["):
            table = _table_name(line)
            count[table] = count.get(table, 0) + 1
            if table == fact and count[table] == max(number, 1):
                heading = number_of_line
        here = table == fact and count.get(table, 0) == max(number, 1)
        if key and here and line.partition("=")[0].strip().strip('"') == key:
            return number_of_line
    return heading


def _table_name(heading: str) -> str:
    try:
        table: Any = tomllib.loads(heading)
    except tomllib.TOMLDecodeError:
        return heading
    parts = []
    while table:
        name, table = next(iter(table.items()))
        parts.append(name)
        table = table[0] if isinstance(table, list) else table
    return ".".join(parts)
