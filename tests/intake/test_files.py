"""Which files there are to read: whatever a name is made of, and whatever else lies in a folder."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from auditor import intake
from auditor.core.schemas import Problem
from auditor.intake import files
from tests import bad_files, damaged
from tests.cli.test_cli import run

if sys.platform == "win32":
    pytest.skip("names of files are bytes, and pipes are files, on POSIX alone", allow_module_level=True)

NAME = os.fsdecode(b"M\xe4rz")
"""A name in Latin-1, as an archive of an older system unpacks it."""


def named(folder: Path, ending: str, content: bytes) -> Path:
    """A file whose name is no UTF-8."""
    path = folder / f"{NAME}.{ending}"
    path.write_bytes(content)
    return path


@pytest.mark.parametrize("kind", ["csv", "xlsx", "pdf", "eml", "html", "ubl", "x12"])
def test_a_file_whose_name_is_no_utf_8_is_read(tmp_path: Path, kind: str) -> None:
    """Each kind, by itself and in a folder; its bytes are shown as their codes."""
    content = damaged.sound(tmp_path)[kind]
    (tmp_path / NAME).mkdir()
    path = named(tmp_path / NAME, kind, content)
    taken = intake.read([path])
    rows = next(table for table in (taken.lines, taken.notices, taken.shipments) if len(table))
    assert set(rows["source_file"]) == {f"M\\xe4rz.{kind}"}
    assert len(rows) == len(getattr(intake.read([path.parent]), rows_of(taken)))
    assert [problem for problem in taken.problems if problem.unread] == []


def rows_of(taken: intake.Intake) -> str:
    """The name of the first table that has any."""
    return next(name for name in ("lines", "notices", "shipments") if len(getattr(taken, name)))


def test_reconcile_with_a_book_takes_such_a_file_in(tmp_path: Path) -> None:
    """And writes the four files."""
    month = bad_files.month(tmp_path / "month")
    (month / "statement.csv").rename(month / f"{NAME}.csv")
    out = tmp_path / "out"
    result = run("reconcile", month, "--out", out, "--book", tmp_path / "book.sqlite")
    assert result.exit_code == 0
    assert "M\\xe4rz.csv" in (out / "lines.csv").read_text(encoding="utf-8")


def test_names_that_look_alike_once_written_stay_apart(tmp_path: Path) -> None:
    """A byte that is no letter, and the text of its code."""
    (tmp_path / "M\\xe4rz.csv").write_text("Carton,Size\na,1x1x1 in\n")
    named(tmp_path, "csv", b"Carton,Size\nb,2x2x2 in\n")
    found, problems = files.gathered([tmp_path], {})
    assert sorted(file.name for file in found) == ["M\\xe4rz.csv", "M\\xe4rz.csv (2)"]
    assert problems == []


def test_what_a_folder_holds_and_is_no_file_is_named_once(tmp_path: Path) -> None:
    """A pipe, a link to nothing, a linked folder; also where the folder is given twice. Links to files are read."""
    month = bad_files.month(tmp_path / "month")
    os.mkfifo(month / "pipe")
    (month / "gone.csv").symlink_to(tmp_path / "nothing.csv")
    (tmp_path / "elsewhere").mkdir()
    bad_files.write(tmp_path / "elsewhere", "other.csv", "Carton,Size\nlinked,1x1x1 in\n")
    (month / "april").symlink_to(tmp_path / "elsewhere")
    (month / "more.csv").symlink_to(tmp_path / "elsewhere" / "other.csv")
    taken = intake.read([month, month])
    assert [problem for problem in taken.problems if problem.unread] == [
        Problem(str(month / "april"), "", files.LINKED_FOLDER, unread=True),
        Problem(str(month / "gone.csv"), "", files.DANGLING, unread=True),
        Problem(str(month / "pipe"), "", files.NO_FILE, unread=True),
    ]
    assert "linked" in set(taken.cartons["carton"])


def test_the_words_for_what_is_no_file() -> None:
    """Each says what to do."""
    assert files.LINKED_FOLDER == (
        "This is a link to a folder, which is not followed, so nothing in it was read. Give that folder itself as well."
    )
    assert files.DANGLING == (
        "This link leads to nothing, so it was not read. Put the file itself here, or delete the link."
    )
    assert files.NO_FILE == (
        "This is a pipe, a socket or a device and no file, so it was not read. Save what it gives as a file."
    )
