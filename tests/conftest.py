"""Settings for the whole suite: the same examples every time, no clock in a test, and nobody's own book."""

from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("steady", derandomize=True, deadline=None)
settings.load_profile("steady")


@pytest.fixture(autouse=True)
def _book_of_its_own(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each test has a new book, so that none is written into the user's."""
    monkeypatch.setenv("AUDITOR_BOOK", str(Path(tmp_path_factory.mktemp("book"), "book.sqlite")))
