"""What is dear and a pure function is reckoned once for equal input: reading, an audit, the study of habits.

A few results are kept, the last ones used: equal months stand in one file of tests, one test after another.
"""

from __future__ import annotations

import os
import pickle
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

import pandas as pd
import pytest

from auditor import audit, habits, intake
from auditor.book import accounting, kept_audit
from auditor.tariff import Rulebook

MOST_KEPT = 48


class Once:
    """A function whose results stay for equal keys; a key of None is reckoned anew."""

    def __init__(self, function: Callable[..., Any], key: Callable[..., bytes | None]) -> None:
        self._function, self._key = function, key
        self._kept: OrderedDict[bytes, Any] = OrderedDict()

    def __call__(self, *given: Any, **named: Any) -> Any:
        """What the function gives, or gave for an equal key."""
        found = self._key(*given, **named)
        if found is None:
            return self._function(*given, **named)
        key = found + pd.get_option("mode.string_storage").encode()
        if key not in self._kept:
            self._kept[key] = self._function(*given, **named)
        self._kept.move_to_end(key)
        if len(self._kept) > MOST_KEPT:
            self._kept.popitem(last=False)
        return self._kept[key]


def _of_file(file: intake.File) -> bytes | None:
    """The tests of reading itself change how files are read, and read each anew."""
    if os.environ.get("PYTEST_CURRENT_TEST", "").startswith("tests/intake/"):
        return None
    try:
        content = file.path.read_bytes()
    except OSError:
        return None
    return pickle.dumps([file.name, file.path.suffix, content, file.kind, file.readings])


def _of_rules(book: Rulebook) -> list[Any]:
    return [[(tariff.name, tariff.version, tariff.facts) for tariff in book.tariffs], sorted(book.by_service)]


def _of_parts(parts: Any, *, beside: Any = (), expecting: Any = None) -> bytes:
    books = [_of_rules(cell.cell_contents) for cell in (expecting.__closure__ if expecting else ())]
    return pickle.dumps([list(parts), list(beside), books])


def _of_audit(taken: intake.Intake, book: Rulebook, not_mine: Any = ()) -> bytes:
    return pickle.dumps([taken, _of_rules(book), sorted(not_mine)])


def _of_study(recorded: Any) -> bytes:
    *tables, book, prices = vars(recorded).values()
    return pickle.dumps([*tables, prices.rates, prices.fees, prices.fuel, _of_rules(book)])


@contextmanager
def reckoned_once() -> Iterator[None]:
    """Everything that runs within."""
    audited, read = Once(audit.audited, _of_audit), Once(intake.part_of, _of_file)

    def part_of(file: intake.File) -> intake.Part:
        """What an equal file gave, where this one is."""
        part: intake.Part = read(file)
        return replace(part, printed=part.printed and replace(part.printed, path=file.path))

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(intake, "part_of", part_of)
        patch.setattr(intake, "held_together", Once(intake.held_together, _of_parts))
        patch.setattr(audit, "study", Once(habits.study, _of_study))
        for module in (audit, accounting, kept_audit):
            patch.setattr(module, "audited", audited)
        yield
