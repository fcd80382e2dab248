"""The same statement given twice, in two forms: counted once, and told of."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator

import pandas as pd

from auditor.tables import Problem

MUCH = 0.5
"""From this share of lines in common on, two files are told of as overlapping."""

Lines = Counter[tuple[str, str, int]]


def counted_once(lines: pd.DataFrame, totals: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame, list[Problem]]:
    """Lines and printed totals without those of a statement that another file has line by line.

    Two files hold the same statement when its number is the same and so are its lines, in any order: tracking number,
    charge and amount. Files that share a number and only some lines are all counted, and that is told.
    """
    source = lines["source_file"]
    if source.empty or (source == source.iloc[0]).all():  # no second form; nunique takes three times as long
        return lines, totals, []
    problems: list[Problem] = []
    gone: list[tuple[str, str]] = []
    for statement, them in lines.groupby("statement", sort=False):
        files = {str(file): _held(rows) for file, rows in them.groupby("source_file", sort=True)}
        kept: dict[str, Lines] = {}
        for file in sorted(files, key=lambda name: -_detail(them[them["source_file"] == name])):
            same = next((other for other, held in kept.items() if held == files[file]), None)
            if same:
                gone.append((str(statement), file))
                problems.append(Problem(file, "", _told_same(str(statement), same, files[file]), note=True))
            else:
                problems += _overlaps(str(statement), file, files[file], kept)
                kept[file] = files[file]
    return _without(lines, gone), _without(totals, gone), problems


def _held(rows: pd.DataFrame) -> Lines:
    """How often each line stands there, by number without blanks and hyphens, charge and amount."""
    number = rows["tracking"].fillna("").map(lambda text: re.sub(r"[\W_]", "", text).upper())
    charge = rows["charge"].fillna(rows["description"].fillna("").str.casefold())
    return Counter(zip(number, charge, rows["amount_cents"].fillna(0).astype(int), strict=True))


def _detail(rows: pd.DataFrame) -> int:
    """How many cells are filled in: of two forms, the one that says more is kept."""
    return int(rows.notna().to_numpy().sum())


def _told_same(statement: str, other: str, held: Lines) -> str:
    return (
        f"Statement {statement} is also in {other}, with the same {held.total():,} lines. It was counted once, as it "
        f"stands in {other}."
    )


def _overlaps(statement: str, file: str, held: Lines, kept: dict[str, Lines]) -> Iterator[Problem]:
    for other, its in kept.items():
        common = (held & its).total()
        if common > MUCH * min(held.total(), its.total()):
            message = (
                f"Statement {statement} is also in {other}: {common:,} of its {held.total():,} lines stand in both, "
                "but not all, so both were counted. Leave out the file that is not the final one, and run again."
            )
            yield Problem(file, "", message)


def _without(table: pd.DataFrame, gone: list[tuple[str, str]]) -> pd.DataFrame:
    out = [pair in set(gone) for pair in zip(table["statement"], table["source_file"], strict=True)] if gone else []
    return table[[not one for one in out]].reset_index(drop=True) if gone else table
