"""Amounts that leave their column no exact sum in whole numbers of 64 bits: left out of their rows, and told."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from auditor.core.money import dollars, most_in
from auditor.core.schemas import Problem, Schema


def summable(table: pd.DataFrame, schema: Schema) -> tuple[pd.DataFrame, list[Problem]]:
    """The table without the amounts that its other rows leave no room for; every row of it is kept.

    One file is held to this as it is read (`parsing.money`); many together are here.
    """
    problems: list[Problem] = []
    for column in (column.name for column in schema if column.name.endswith("_cents")):
        beyond = (table[column].abs() > most_in(len(table))).fillna(value=False)
        if beyond.any():
            problems += _told(table[beyond], column, len(table))
            table = table.assign(**{column: table[column].mask(beyond)})
    return table, problems


def _told(beyond: pd.DataFrame, column: str, rows: int) -> Iterator[Problem]:
    for file, them in beyond.groupby("source_file"):
        first = them.iloc[0]
        several = f"{len(them):,} amounts are" if len(them) > 1 else "An amount is"
        message = (
            f"{several} too large to be added up exactly over {rows:,} rows, the first {dollars(int(first[column]))}. "
            "Their rows were kept without them. Look whether they are amounts of money; correct the file and run again."
        )
        yield Problem(str(file), str(first["source_place"]), message)
