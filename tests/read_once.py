"""The sample month read and fitted once for all tests of commands that are about what is then said of it."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from auditor.audit import Audit
from auditor.cli import options
from auditor.habits.history import History
from tests.run.test_month import SAMPLE

read, fitted = options.audit_of, options.history_of


@cache
def sample() -> Audit:
    """The sample month, audited."""
    return read([SAMPLE], (), ())


@cache
def past() -> History:
    """And what it says of how cartons are read."""
    return fitted(sample())


def read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands given the sample month alone, and no other rules, take it from here."""

    def audit_of(paths: Any, rules: Any, given: Any, readings: Any = None, **more: Any) -> Audit:
        plain = list(paths) == [SAMPLE] and not (rules or given or readings or more)
        return sample() if plain else read(paths, rules, given, readings, **more)

    monkeypatch.setattr(options, "audit_of", audit_of)
    monkeypatch.setattr(options, "history_of", lambda audit: past() if audit is sample() else fitted(audit))
