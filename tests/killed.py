"""Kill a process at a random moment while it takes files into a book, again and again, and look at the book each time.

`python -m tests.killed` does it 200 times with whole runs; the suite does a shorter form.
"""

from __future__ import annotations

import multiprocessing
import os
import random
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from multiprocessing.context import ForkServerContext
from pathlib import Path
from typing import Any

from auditor import intake
from auditor.book import accounting, health
from auditor.book.ledger import opened, reading_out
from auditor.book.ledger.check import check
from auditor.book.ledger.documents import digest_of
from auditor.book.ledger.taking_in import Document, take_in
from tests import small_book

MODULES = ["auditor.book.accounting"]
DAY = date(2026, 6, 2)


def files(folder: Path, count: int) -> list[Path]:
    """Statements of 400 lines each."""
    lines = "".join(f"S{{0}},2026-04-01,NP{line},2026-03-05,Ground,5,Freight,7,12.50\n" for line in range(400))
    return [
        small_book.file(folder, f"s{number:02d}.csv", small_book.HEAD + lines.replace("{0}", str(number)))
        for number in range(count)
    ]


def take_all(book: Path, documents: list[Document]) -> None:
    """Take them in one after the other, those that are there already as well."""
    with opened(book) as held:
        for document in documents:
            take_in(held, document, intake.TABLES)


def reconcile(book: Path, paths: list[Path]) -> None:
    """A whole run."""
    accounting.reconcile(paths, book=book, today=DAY)


def documents_of(paths: list[Path]) -> list[Document]:
    """The files, read already, so that the time goes into writing."""
    return [document(path, intake.part_of(intake.File(path, path.name))) for path in paths]


def document(path: Path, part: intake.Part) -> Document:
    """A file and what it gave."""
    return Document(path.name, path, digest_of(path), None, part.picture, "x", part.tables, part.problems)


def context() -> ForkServerContext:
    """Where processes of their own come from: a server that has the modules loaded already."""
    made = multiprocessing.get_context("forkserver")
    made.set_forkserver_preload(MODULES)
    return made


def killed_after(seconds: float, work: Callable[..., None], *arguments: Any) -> bool:
    """Do the work in a process of its own and kill it after so long; whether it was killed before it had ended."""
    process = context().Process(target=work, args=arguments)
    process.start()
    process.join(seconds)
    alive = process.is_alive()
    if alive:
        os.kill(process.pid or 0, signal.SIGKILL)
    process.join()
    return alive


def whole_or_absent(book: Path, rows: int) -> int:
    """The files in the book, each with all its rows, in a book that is whole."""
    if not book.exists():
        return 0
    with opened(book) as held:
        health = check(held)
        assert health.faults == (), health.faults
        with held.reading() as connection:
            counts = [count for (count,) in connection.execute("SELECT count(*) FROM lines GROUP BY file")]
        assert set(counts) <= {rows}, counts
        assert len(counts) == len(reading_out.files(held))
    return len(counts)


def main() -> None:
    """200 kills of whole runs, each into the book that the one before left."""
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    chance = random.Random(7)
    killed = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        paths = files(folder / "files", 6)
        small_book.march(folder / "files")
        everything = sorted((folder / "files").iterdir())
        start = time.perf_counter()
        whole = folder / "whole.sqlite"
        killed_after(600, reconcile, whole, everything)
        longest = time.perf_counter() - start
        for turn in range(times):
            book = folder / f"book{turn // 10}.sqlite"
            killed += killed_after(chance.uniform(0, longest), reconcile, book, everything)
            with opened(book) as held:
                found = health.health_of(held)
                assert found.faults == (), found.faults
        killed_after(600, reconcile, book, everything)
        assert _figures(book) == _figures(whole)
    print(f"{times} runs over {len(paths) + 4} files, {killed} killed: the book was whole each time")


def _figures(book: Path) -> list[Any]:
    """All that was reckoned."""
    with opened(book) as held, held.reading() as connection:
        queries = [f"SELECT * FROM {name} ORDER BY 1, 2" for name in ("statement", "finding", "dispute")]  # noqa: S608
        return [connection.execute(query).fetchall() for query in queries]


if __name__ == "__main__":
    main()
