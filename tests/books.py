"""Books of the small shop for tests: March reckoned once and copied for each, and equal tables audited once."""

from __future__ import annotations

import pickle
import shutil
from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import pytest

from auditor import intake
from auditor.audit import Audit, audited
from auditor.book import accounting, kept_audit
from auditor.tariff import Rulebook
from tests import small_book

TODAY = date(2026, 6, 2)
APRIL = date(2026, 4, 24)

AUDITS: dict[bytes, Audit] = {}


@contextmanager
def audited_once() -> Iterator[None]:
    """An audit is a pure function of tables and rules, and most of a run's time: what equal ones gave stays."""

    def once(taken: intake.Intake, rulebook: Rulebook, not_mine: Collection[str] = ()) -> Audit:
        tables = [getattr(taken, name) for name in intake.TABLES]
        by = [(tariff.name, tariff.version) for tariff in rulebook.tariffs], sorted(rulebook.by_service)
        key = pickle.dumps([tables, taken.problems, by, sorted(not_mine)])
        if key not in AUDITS:
            AUDITS[key] = audited(taken, rulebook, not_mine)
        return AUDITS[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(accounting, "audited", once)
        patch.setattr(kept_audit, "audited", once)
        yield


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
