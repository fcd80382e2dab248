"""Settings for the whole suite: the same examples every time, no clock in a test, and nobody's own book."""

import os
from collections import defaultdict
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


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Of a test marked `sample(n)` n cases run, evenly spread over its parameters; the others are slow."""
    cases = defaultdict[tuple[str, int], list[pytest.Item]](list)
    for item in items:
        if sample := item.get_closest_marker("sample"):
            cases[item.nodeid.partition("[")[0], sample.args[0]].append(item)
    for (_, count), them in cases.items():
        kept = {place * len(them) // count for place in range(count)}
        for place, item in enumerate(them):
            if place not in kept:
                item.add_marker(pytest.mark.slow)
