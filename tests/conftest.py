"""Settings for the whole suite: the same examples every time, no clock in a test, and nobody's own book."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from auditor.cli import ONE_THREAD

for name in ONE_THREAD:  # before anything loads numpy
    os.environ.setdefault(name, "1")
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # programs that tests start compile the package once, not each
settings.register_profile("steady", derandomize=True, deadline=None)
settings.load_profile("steady")


@pytest.fixture(autouse=True)
def _book_of_its_own(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each test has a new book, so that none is written into the user's."""
    monkeypatch.setenv("AUDITOR_BOOK", str(Path(tmp_path_factory.mktemp("book"), "book.sqlite")))


@pytest.fixture(scope="session", autouse=True)
def _equal_months_reckoned_once() -> Iterator[None]:
    """Reading a file, auditing a month and studying its habits give the same for the same."""
    from tests.reckoned_once import reckoned_once

    with reckoned_once():
        yield
