"""How many cells of notices are read right that were written without knowing the reader.

Run: python -m tests.layouts.notice_score
"""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from auditor import intake
from tests.layouts import more_notices, third_notices, unseen_notices
from tests.layouts.unseen_notices import Notice

SETS: dict[str, Sequence[Notice]] = {
    "first": unseen_notices.NOTICES,
    "second": more_notices.NOTICES,
    "third": third_notices.NOTICES,
}


def score(notice: Notice, folder: Path) -> tuple[int, int, int]:
    """Cells read right, cells in all, and cells filled that are wrong: a wrong figure is worse than none."""
    path = folder / notice.file
    path.write_bytes(notice.content)
    table = intake.read([path]).notices
    numbers = list(table["tracking"].str.replace(" ", ""))
    right = wrong = of = 0
    for parcel in notice.truth:
        row = table.iloc[numbers.index(str(parcel["tracking"]))] if parcel["tracking"] in numbers else None
        for name, value in parcel.items():
            found = _cell(row, name)
            right, wrong, of = right + (found == value), wrong + (found not in {None, value}), of + 1
    return right, of, wrong


def _cell(row: pd.Series | None, name: str) -> object:
    """What was read; None where nothing was."""
    if row is None or pd.isna(row[name]):
        return None
    value = row[name]
    if name == "tracking":
        return str(value).replace(" ", "")
    return value.date() if name == "noticed_on" else value


def table() -> str:
    """The rows of the table in docs/reading.md."""
    rows = ["| set | notice | file | cells | right | wrong |", "| --- | --- | --- | --- | --- | --- |"]
    for called, notices in SETS.items():
        for notice in notices:
            with tempfile.TemporaryDirectory() as folder:
                right, of, wrong = score(notice, Path(folder))
            name, ending = notice.name.replace("_", " "), Path(notice.file).suffix
            rows.append(f"| {called} | {name} | {ending} | {of} | {right / of:.0%} | {wrong} |")
    return "\n".join(rows)


if __name__ == "__main__":
    print(table())
