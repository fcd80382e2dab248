"""Books of the small shop for tests: March reckoned once and copied for each, and equal tables audited once."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from datetime import date
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

from auditor.book import accounting
from tests import small_book

TODAY = date(2026, 6, 2)
APRIL = date(2026, 4, 24)


def march(path: Path, today: date = TODAY) -> Path:
    """The path of a new book there that March's files were taken into on that day."""
    return _copied(_march(today), path)


def _copied(made: Path, path: Path) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    shutil.copytree(made.with_name(f"{made.stem}.documents"), path.with_name(f"{path.stem}.documents"))
    return Path(shutil.copy(made, path))


@cache
def _march(today: date) -> Path:
    folder = Path(mkdtemp(prefix="books-"))
    return reckoned(folder / "book.sqlite", [small_book.march(folder / "march")], today)


def reckoned(book: Path, paths: Sequence[Path], today: date = TODAY, **more: Any) -> Path:
    """The book's path, after a run."""
    accounting.reconcile(paths, book=book, today=today, **more)
    return book
