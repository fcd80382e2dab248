"""The same parcel, carton or price in two files, such as an export of March made again with more rows: taken once.

Which file goes before which is told from what they hold, never from when they were given: the one that reaches further
(its last day, then its number of rows, then its name).
"""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from auditor.core.schemas import Problem

KEYS = {
    "shipments": ("tracking",),
    "cartons": ("carton",),
    "rates": ("service", "zone", "up_to_pg", "effective_on"),
    "fees": ("charge", "zone", "effective_on"),
    "fuel": ("service", "effective_on"),
}
"""What makes two rows of a table speak of the same thing; compared without case, blanks and signs."""

DAYS = {"shipments": "shipped_on", "rates": "effective_on", "fees": "effective_on", "fuel": "effective_on"}
PRICES = ("rates", "fees", "fuel")
SOURCE = ["source_file", "source_place"]

OTHER_PARCEL = pd.Timedelta(days=90)
"""Ship dates further apart than this are two parcels with one number, as carriers use numbers again (from memory)."""


def merged(name: str, table: pd.DataFrame) -> tuple[pd.DataFrame, list[Problem]]:
    """The table with what several of its files speak of taken from the file that reaches furthest.

    Cells that are empty there are filled from the others, but for prices. Rows that one file holds twice stay.

    Args:
        name: the table's name; one that is not in KEYS comes back as it is.
        table: all its rows.

    Returns:
        The table, and a note for each two files, a fault where their prices contradict one another.
    """
    if name not in KEYS or table["source_file"].nunique() < 2:  # noqa: PLR2004 - one file repeats no other
        return table, []
    key = _keys(table, KEYS[name])
    reach = table["source_file"].map(_reach(table, DAYS.get(name)))
    repeated = reach.groupby(key).transform("nunique") > 1
    if name == "shipments":
        days = table["shipped_on"].groupby(key)
        repeated &= ~(days.transform("max") - days.transform("min") > OTHER_PARCEL)
    kept = ~repeated | (reach == reach.groupby(key).transform("max"))
    if kept.all():
        return table, []
    several = table[repeated].assign(key_=key, reach_=-reach).sort_values("reach_", kind="stable")
    best = several.groupby("key_").first()
    problems = list(_told(name, several[~kept[several.index]], best))
    if name not in PRICES:
        table = _filled(table, key[repeated & kept], best)
    return table[kept].reset_index(drop=True), problems


def _keys(table: pd.DataFrame, columns: tuple[str, ...]) -> pd.Series:
    """A number for each thing the rows speak of."""
    plain = {
        column: table[column].str.casefold().str.replace(r"[\W_]", "", regex=True)
        if table[column].dtype == "str"
        else table[column]
        for column in columns
    }
    return pd.DataFrame(plain).groupby(list(columns), dropna=False).ngroup()


def _reach(table: pd.DataFrame, day: str | None) -> dict[str, int]:
    """Each file's place in the order in which they reach: the furthest has the highest."""
    files = table.groupby("source_file").size().rename("rows").reset_index()
    if day:
        files["day"] = files["source_file"].map(table.groupby("source_file")[day].max())
    by = [*(["day"] if day else []), "rows", "source_file"]
    in_order = files.sort_values(by, na_position="first")["source_file"]
    return {str(file): place for place, file in enumerate(in_order)}


def _filled(table: pd.DataFrame, key: pd.Series, best: pd.DataFrame) -> pd.DataFrame:
    """The table with the empty cells of those rows filled by what `best` has for their key."""
    filled = table.copy()
    for column in table.columns.difference(SOURCE):
        gaps = key[table.loc[key.index, column].isna()]
        filled.loc[gaps.index, column] = gaps.map(best[column]).astype(table[column].dtype)
    return filled


def _told(name: str, dropped: pd.DataFrame, best: pd.DataFrame) -> Iterator[Problem]:
    """What was not taken, file by file."""
    kept = best.loc[dropped["key_"]].set_axis(dropped.index)
    columns = list(dropped.columns.difference([*SOURCE, "key_", "reach_"]))
    contradicts = pd.concat(
        [(dropped[one] != kept[one]).fillna(value=False) & dropped[one].notna() for one in columns], axis=1
    )
    for (file, other), rows in dropped.groupby([dropped["source_file"], kept["source_file"]]):
        apart = contradicts.loc[rows.index].any(axis=1)
        where = rows.index[apart]
        place = "" if where.empty else str(rows.loc[where[0], "source_place"])
        message = f"{len(rows):,} of its rows stand in {other} too. They were taken once, from {other}"
        if where.empty:
            yield Problem(str(file), "", f"{message}.", note=True)
        elif name in PRICES:
            message += (
                f", but {len(where):,} of them have another amount there (the first: {place} here). Give each list the "
                "day from which it holds, in a column 'Effective date', or leave out the one that no longer holds "
                "(in a book: auditor book set-aside)."
            )
            yield Problem(str(file), place, message)
        else:
            first = contradicts.loc[where[0]]
            said = ", ".join(str(column) for column in first.index[first])
            message += f", which reaches further; {len(where):,} of them differ there (the first in {said})."
            yield Problem(str(file), place, message, note=True)
