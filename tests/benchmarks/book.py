"""A million lines into the book, against a bare executemany of the same columns; and a whole run with a book.

Run: python -m tests.benchmarks.book [--whole]
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
from itertools import count
from pathlib import Path

from auditor import intake
from auditor.book import accounting
from auditor.book.ledger import opened
from auditor.book.ledger.documents import digest_of
from auditor.book.ledger.taking_in import Document, columns_of, plain_values, take_in
from auditor.core.schemas import LINES
from tests.benchmarks.reading_csv import COUNT, write
from tests.benchmarks.timing import peak_mb, ratio, seconds

RUNS = 3


def main() -> None:
    """Print times and their ratio; every row must be there, and the sum of its amounts."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path = folder / "statement.csv"
        total = write(path, COUNT)
        if "--whole" in sys.argv:
            _whole(folder, path, total)
        else:
            _taking_in(folder, path, total)
    print(f"peak {peak_mb():.0f} MB")


def _taking_in(folder: Path, path: Path, total: int) -> None:
    part = intake.part_of(intake.File(path, path.name))
    document = Document(path.name, path, digest_of(path), None, part.picture, "x", part.tables, part.problems)
    books, floors = (folder / f"book{number}.sqlite" for number in count()), (folder / f"bare{n}" for n in count())
    with opened(folder / "columns.sqlite") as book:
        names = [name for name in columns_of(book.connection, "lines") if name not in {"file", "row"}]
    dtypes = {column.name: column.dtype for column in LINES}
    rows = list(zip(*(plain_values(part.tables["lines"][name], dtypes[name]) for name in names), strict=True))

    def ours() -> None:
        with opened(next(books)) as book:
            take_in(book, document, intake.TABLES)

    def bare() -> None:
        connection = sqlite3.connect(next(floors))
        columns = ", ".join(f'"{name}"' for name in names)
        connection.execute(f"CREATE TABLE lines ({columns})")
        connection.executemany(f"INSERT INTO lines VALUES ({', '.join('?' * len(names))})", rows)  # noqa: S608
        connection.commit()
        connection.close()

    work, floor, times = ratio(ours, bare, runs=RUNS)
    connection = sqlite3.connect(folder / "book0.sqlite")
    assert connection.execute("SELECT count(*), sum(amount_cents) FROM lines").fetchone() == (COUNT, total)
    connection.close()
    size = path.stat().st_size / 2**20
    print(f"{COUNT:,} lines ({size:.0f} MB, kept too): {work:.2f} s, bare executemany {floor:.2f} s, ratio {times:.2f}")


def _whole(folder: Path, path: Path, total: int) -> None:
    def run() -> None:
        found = accounting.reconcile([path], book=folder / "book.sqlite")
        assert (len(found.audit.lines), found.audit.billed_cents) == (COUNT, total)

    print(f"a whole run: {seconds(run):.1f} s; again, with the file in the book: {seconds(run):.1f} s")


if __name__ == "__main__":
    main()
