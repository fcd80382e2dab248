"""How many cells of notices are read right that were written without knowing the reader.

Run: python -m tests.layouts.notice_score
"""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from auditor import intake
from tests.layouts import more_notices, unseen_notices
from tests.layouts.unseen_notices import Notice

SETS: dict[str, Sequence[Notice]] = {"first": unseen_notices.NOTICES, "second": more_notices.NOTICES}


def score(notice: Notice, folder: Path) -> tuple[int, int, int]:
    """Cells read right, cells in all, and cells filled that are wrong: a wrong figure is worse than none."""
    path = folder / notice.file
    path.write_bytes(notice.content)
    table = intake.read([path]).notices.astype(object)
    found = {str(row["tracking"]).replace(" ", ""): row for row in table.to_dict("records")}
    cells = [(found.get(str(parcel["tracking"]), {}), name, value) for parcel in notice.truth for name, value in parcel.items()]
    right = sum(_is(row, name, value) for row, name, value in cells)
    filled = sum(bool(row) and not pd.isna(row[name]) for row, name, _ in cells)
    return right, len(cells), filled - right


def _is(row: dict[str, object], name: str, value: object) -> bool:
    if not row or pd.isna(row[name]):  # type: ignore[call-overload]
        return False
    if name == "tracking":
        return True
    return bool(pd.Timestamp(row[name]) == pd.Timestamp(value)) if name == "noticed_on" else row[name] == value  # type: ignore[arg-type]


def table() -> str:
    """The rows of the table in docs/reading.md."""
    rows = ["| set | notice | file | cells | right | wrong |", "| --- | --- | --- | --- | --- | --- |"]
    for called, notices in SETS.items():
        for notice in notices:
            with tempfile.TemporaryDirectory() as folder:
                right, of, wrong = score(notice, Path(folder))
            ending = Path(notice.file).suffix
            rows.append(f"| {called} | {notice.name.replace('_', ' ')} | {ending} | {of} | {right / of:.0%} | {wrong} |")
    return "\n".join(rows)


if __name__ == "__main__":
    print(table())
