"""Scripts run in a process apart: what they say is kept, however they end."""

from __future__ import annotations

from pathlib import Path

import pytest

from auditor.core.sandbox import said_by


def script(folder: Path, *lines: str) -> str:
    """A script that imports what ours may, and has those lines."""
    path = folder / "script.py"
    head = ["import json, os, sys, time", "from auditor.core.sandbox import limit_memory, say"]
    path.write_text("\n".join([*head, *lines]), encoding="utf-8")
    return str(path)


def test_what_is_said_comes_back_line_by_line(tmp_path: Path) -> None:
    """With what was given to it, and its arguments as texts."""
    own = script(tmp_path, "say({'given': json.load(sys.stdin), 'arguments': sys.argv[1:]})", "say({'page': 2})")
    said, ended_well = said_by(own, tmp_path, 7, seconds=30, given=["a", 1])
    assert said == [{"given": ["a", 1], "arguments": [str(tmp_path), "7"]}, {"page": 2}]
    assert ended_well


def test_a_script_that_does_not_end_is_ended_and_what_it_said_is_kept(tmp_path: Path) -> None:
    """By the clock."""
    assert said_by(script(tmp_path, "say({'page': 1})", "time.sleep(60)"), seconds=3) == ([{"page": 1}], False)


def test_a_script_that_breaks_off_within_a_line_has_not_said_it(tmp_path: Path) -> None:
    """As when the system ends it."""
    own = script(tmp_path, "say({'page': 1})", "sys.stdout.write('{\"pa')", "sys.stdout.flush()", "os._exit(9)")
    assert said_by(own, seconds=30) == ([{"page": 1}], False)


def test_a_script_has_only_so_much_memory(tmp_path: Path) -> None:
    """Where the system can limit it."""
    pytest.importorskip("resource")
    own = script(tmp_path, "limit_memory(300 * 2**20)", "held = bytes(600 * 2**20)", "say({'page': 1})")
    assert said_by(own, seconds=30) == ([], False)


def test_a_script_is_run_with_the_package_that_runs_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Wherever that stands, and whatever folder it is run from."""
    monkeypatch.chdir(tmp_path)
    import auditor

    own = script(tmp_path, "import auditor", "say({'at': auditor.__file__})")
    assert said_by(own, seconds=30)[0] == [{"at": auditor.__file__}]
