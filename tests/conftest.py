"""Settings for the whole suite: the same examples every time, no clock in a test, and nobody's own book."""

import os
import pickle
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

from auditor.cli import ONE_THREAD

for name in ONE_THREAD:  # before anything loads numpy
    os.environ.setdefault(name, "1")
settings.register_profile("steady", derandomize=True, deadline=None)
settings.load_profile("steady")


@pytest.fixture(autouse=True)
def _book_of_its_own(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each test has a new book, so that none is written into the user's."""
    monkeypatch.setenv("AUDITOR_BOOK", str(Path(tmp_path_factory.mktemp("book"), "book.sqlite")))


@pytest.fixture(scope="session", autouse=True)
def _equal_months_studied_once() -> Iterator[None]:
    """The study of habits is the dearest step of a report and a pure function: what it gave for equal tables stays."""
    from auditor import audit, habits

    kept: dict[bytes, Any] = {}
    study = habits.study

    def once(recorded: Any) -> Any:
        *tables, rulebook, prices = vars(recorded).values()
        rules = [(tariff.name, tariff.version) for tariff in rulebook.tariffs]
        key = pickle.dumps([*tables, prices.rates, prices.fees, prices.fuel, rules, sorted(rulebook.by_service)])
        if key not in kept:
            kept[key] = study(recorded)
        return kept[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(audit, "study", once)
        yield
