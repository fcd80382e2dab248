"""A room's tests in processes of their own: once to see which test reaches which line, then with one change each."""

from __future__ import annotations

import contextlib
import functools
import multiprocessing
import os
import resource
import shutil
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from importlib import import_module
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import coverage
import pytest

from tests.mutants.changes import Mutant, mutated

TREE = Path(__file__).parents[2]
COPIED = ("auditor", "tests", "rules", "sample_statements", "docs", "README.md", "pyproject.toml")
HEAVY = ("pandas", "scipy.stats", "scipy.optimize", "openpyxl", "lxml.etree", "rapidfuzz.process", "click")
"""Loaded once, before any process is forked."""

PATIENCE, AT_LEAST = 4, 20
"""Tests with a change that take so many times as long as without, and so many seconds more, never end: killed.

Seconds of the processor, which do not depend on what else it has to do; of the clock ten times as many.
"""

CHANGED_ON = 2_000_000_000
"""The time a changed file is dated to, so that no compiled form of it is taken for it."""


@dataclass(frozen=True)
class Reached:
    """By test how many seconds it takes; by file and line the tests that reach it, or the file they stand in.

    `where`: the file or folder of the tests.
    """

    where: str
    seconds: Mapping[str, float]
    by_line: Mapping[str, Mapping[int, list[str]]]

    def tests(self, mutant: Mutant) -> list[str]:
        """The tests that reach a change, the quickest first.

        What runs when a module is loaded is reached by those that reach anything else of it. Where none is seen, as for
        what runs in a program of its own, it may be any.
        """
        of_file = self.by_line.get(mutant.file, {})
        found = {test for line in mutant.lines for test in of_file.get(line, ())}
        if not found or "" in found:
            found |= {test for tests in of_file.values() for test in tests}
        begins = tuple(found - {""}) or ("",)
        return sorted((test for test in self.seconds if test.startswith(begins)), key=self.seconds.__getitem__)


def copied(folder: Path, of: Path = TREE) -> Path:
    """A copy of the tree's tests and what they test."""
    for name in COPIED:
        copy = shutil.copytree if (of / name).is_dir() else shutil.copy2
        copy(of / name, folder / name)
    return folder


def load() -> None:
    """Load the heavy modules, with one thread each."""
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    for name in HEAVY:
        import_module(name)


def reached(copy: Path, where: str) -> Reached:
    """Run all quick tests in a file or folder and see what they reach."""
    found = _in_a_process(functools.partial(_watched, copy, where), None)
    assert found is not None, "the tests must pass unchanged"
    return Reached(where, *found)


def killed(copy: Path, mutant: Mutant, watched: Reached) -> bool:
    """Whether some test fails with a change."""
    file, tests = copy / mutant.file, watched.tests(mutant)
    source, stood = file.read_text(encoding="utf-8"), file.stat().st_mtime
    try:
        file.write_text(mutated(source, mutant), encoding="utf-8")
        os.utime(file, (CHANGED_ON, CHANGED_ON))
        seconds = int(PATIENCE * sum(watched.seconds[test] for test in tests) + AT_LEAST)
        return not _in_a_process(functools.partial(_pass, copy, watched.where, tests, seconds), 10 * seconds)
    finally:
        file.write_text(source, encoding="utf-8")
        os.utime(file, (stood, stood))


def _in_a_process(work: Callable[[], Any], seconds: float | None) -> Any:
    """What the work gave in a process forked from this one; None if it did not end in time."""
    ours, theirs = multiprocessing.Pipe(duplex=False)
    process = multiprocessing.get_context("fork").Process(target=_send, args=(theirs, work))
    process.start()
    theirs.close()
    given = None
    with contextlib.suppress(EOFError):
        given = ours.recv() if ours.poll(seconds) else None
    process.kill()
    process.join()
    return given


def _send(theirs: Connection, work: Callable[[], Any]) -> None:
    os.setsid()
    theirs.send(work())


def _run(copy: Path, where: str, plugin: object, *options: str) -> bool:
    """Run quick tests in this process, which has loaded none of our modules before; whether all passed."""
    for name in [name for name in sys.modules if name.split(".")[0] in ("auditor", "tests")]:
        del sys.modules[name]
    sys.path.insert(0, str(copy))
    os.environ["PYTHONPATH"] = str(copy)
    os.chdir(copy)
    quiet = ["-q", "-p", "no:cacheprovider", "-m", "not slow and not browser"]
    with Path(os.devnull).open("w", encoding="utf-8") as nowhere, contextlib.redirect_stdout(nowhere):
        return pytest.main([*quiet, *options, where], plugins=[plugin]) == pytest.ExitCode.OK


def _pass(copy: Path, where: str, tests: list[str], seconds: int) -> bool:
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    sys.dont_write_bytecode = True
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
    return _run(copy, where, _Chosen({test: place for place, test in enumerate(tests)}), "-x")


@dataclass(eq=False)
class _Chosen:
    """Runs some of the tests, in an order; an example that fails is not made simple."""

    places: Mapping[str, int]

    @pytest.hookimpl
    def pytest_sessionstart(self) -> None:
        from hypothesis import Phase, settings  # pytest wants to load it first

        settings.register_profile("first", settings.get_profile("steady"), phases=[Phase.explicit, Phase.generate])
        settings.load_profile("first")

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        chosen = [item for item in items if item.nodeid in self.places]
        items[:] = sorted(chosen, key=lambda item: self.places[item.nodeid])


def _watched(copy: Path, where: str) -> tuple[Any, Any] | None:
    """What `Reached` holds, if all passed; plain, since this module was loaded anew there."""
    watch = _Watch(coverage.Coverage(data_file=None, config_file=False, source=[str(copy / "auditor")]))
    watch.coverage.start()
    passed = _run(copy, where, watch)
    watch.coverage.stop()
    data = watch.coverage.get_data()
    lines = {
        str(Path(file).relative_to(copy)): {line: list(tests) for line, tests in data.contexts_by_lineno(file).items()}
        for file in data.measured_files()
    }
    return (watch.seconds, lines) if passed else None


@dataclass(eq=False)
class _Watch:
    """Tells the tests apart for coverage, each with nothing remembered from those before."""

    coverage: coverage.Coverage
    seconds: dict[str, float] = field(default_factory=dict)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        for module in [module for name, module in sys.modules.items() if name.startswith(("auditor", "tests"))]:
            for value in list(vars(module).values()):
                if isinstance(value, functools._lru_cache_wrapper):  # noqa: SLF001 - the only name of its type
                    value.cache_clear()
        start = time.process_time()
        self.coverage.switch_context(item.nodeid)
        done = yield
        self.coverage.switch_context("")
        self.seconds[item.nodeid] = time.process_time() - start
        return done

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any, request: pytest.FixtureRequest) -> Iterator[None]:
        """What is made for a whole file of tests is reached by each of them."""
        shared = fixturedef.scope in ("module", "package", "session")
        if shared:
            self.coverage.switch_context(request.node.nodeid if fixturedef.scope == "module" else "")
        done = yield
        if shared:
            self.coverage.switch_context(request._pyfuncitem.nodeid)  # noqa: SLF001
        return done
