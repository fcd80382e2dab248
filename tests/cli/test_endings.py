"""How a command ends that does not come to its end: told plainly, with what is kept, by an exit code of its own."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import click
import pytest

from auditor.book import accounting, filing, health
from auditor.book.ledger import BookError, opened, taking_in
from auditor.cli import endings
from tests import books, small_book
from tests.cli.test_cli import run

FULL = Path("/dev/full")
TO_FULL = pytest.mark.skipif(not FULL.exists(), reason="there is no /dev/full on this system")


def started(*arguments: object, **more: Any) -> subprocess.Popen[str]:
    """The program in a process of its own."""
    words = [sys.executable, "-m", "auditor", *map(str, arguments)]
    return subprocess.Popen(words, stderr=subprocess.PIPE, text=True, **more)


def ended(error: BaseException, capsys: pytest.CaptureFixture[str]) -> tuple[object, str]:
    """The exit code and what is said where the command fails so."""

    def fail(**_: object) -> None:
        raise error

    with pytest.raises(SystemExit) as stopped:
        endings.run(fail)
    return stopped.value.code, capsys.readouterr().err


@TO_FULL
@pytest.mark.parametrize("arguments", [("--help",), ("rules", "list")])
def test_a_full_disk_where_the_output_goes_is_no_fault_of_the_program(arguments: tuple[str, ...]) -> None:
    """Exit code 74."""
    with FULL.open("w") as full:
        process = started(*arguments, stdout=full)
        said = process.communicate()[1]
    assert process.returncode == 74
    assert said == (
        "The output could not be written: No space left on device. Make room there, or send it to another place, and "
        "run again. None of your files was changed.\n"
    )


def test_an_output_that_nobody_reads_any_more_ends_quietly() -> None:
    """Exit code 141, as of shells."""
    reading, writing = os.pipe()
    os.close(reading)
    process = started("rules", "list", stdout=writing)
    os.close(writing)
    assert process.communicate()[1] == ""
    assert process.returncode == 141


@pytest.mark.skipif(os.name == "nt", reason="signals of Unix")
@pytest.mark.parametrize(("number", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
def test_a_run_that_is_interrupted_has_an_exit_code_of_its_own(number: int, code: int) -> None:
    """Ctrl-C, and the system's wish; a job in a shell's background, as the tests may be, is not asked by Ctrl-C."""
    script = (
        "import os, signal, time\nfrom auditor import cli\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        f"def wait(**_):\n    os.kill(os.getpid(), {int(number)})\n    time.sleep(60)\n"
        "cli.group.main = wait\ncli.main()"
    )
    process = subprocess.run([sys.executable, "-c", script], stderr=subprocess.PIPE, text=True, check=False)
    assert process.returncode == code
    assert process.stderr.strip() == (
        "Stopped before the end. None of your files was changed. Run the same command again to have it done."
    )


@pytest.mark.parametrize(
    ("error", "code", "words"),
    [
        (click.exceptions.Abort(), 130, "Stopped before the end."),
        (PermissionError(errno.EACCES, "", "x.csv"), 74, "x.csv cannot be used: Permission denied. Change who may"),
        (OSError(errno.EROFS, "", "out"), 74, "out cannot be used: Read-only file system. It may not be written to."),
        (OSError(errno.ENOSPC, ""), 74, "Make room there, or send it to another place, and run again."),
        (OSError(errno.EMFILE, ""), 74, "Too many files are open. End other programs, and run again."),
        (OSError(errno.EIO, "", "/disk"), 74, "Look at the disk and its cable, and run again."),
        (OSError(errno.ENAMETOOLONG, "", "x"), 74, "Look at that place and who may write to it, and run again."),
        (MemoryError(), 74, "The machine's memory ran out. None of your files was changed. Give fewer files at a time"),
        (KeyError("box"), 70, "The program itself failed (KeyError: 'box'). None of your files was changed."),
    ],
)
def test_what_is_not_the_programs_fault_is_told_with_what_to_do(
    error: BaseException, code: int, words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each by its exit code."""
    found, said = ended(error, capsys)
    assert found == code
    assert words in said


def test_files_taken_into_the_book_before_a_failure_are_told_of(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """In the place of 'None of your files was changed'."""
    path = tmp_path / "book.sqlite"

    def fail(*_: object) -> None:
        raise KeyError("box")

    monkeypatch.setattr(accounting, "audited", fail)
    with pytest.raises(KeyError) as failed:
        accounting.reconcile([small_book.march(tmp_path / "march")], book=path, today=books.TODAY)
    kept = f"4 files were taken into the book {path}; it is whole, and your own files are as they were."
    assert failed.value.__notes__ == [kept]
    said = ended(failed.value, capsys)[1]
    assert kept in said
    assert endings.UNTOUCHED not in said


def test_a_full_disk_in_the_book_names_what_was_taken_in_before(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second file finds no room; exit code 74."""
    took = taking_in.take_in
    rooms = iter([True])

    def take(*given: Any) -> None:
        if not next(rooms, False):
            error = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            raise BookError("The book cannot be used: no room.") from error
        took(*given)

    monkeypatch.setattr(filing, "take_in", take)
    path = tmp_path / "book.sqlite"
    ran = run("reconcile", small_book.march(tmp_path / "march"), "--book", path, "--out", tmp_path / "out")
    assert ran.exit_code == 74
    assert "Error: The book cannot be used: no room. 1 file was taken into the book" in ran.stderr
    assert not (tmp_path / "out").exists()


def test_a_full_disk_in_the_report_is_told_and_the_book_is_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With what was taken in."""

    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("auditor.report.write", full)
    path = tmp_path / "book.sqlite"
    ran = run("reconcile", small_book.march(tmp_path / "march"), "--book", path, "--out", tmp_path / "out")
    assert ran.exit_code == 74
    said = f"The report cannot be written to {tmp_path / 'out'}: No space left on device. Make room there, or choose"
    assert said in ran.stderr
    with opened(path) as held:
        assert health.health_of(held).faults == ()


def test_a_wrong_folder_writes_nothing_and_exits_with_2(tmp_path: Path) -> None:
    """No report, no book; an earlier report is as it was; with a book there is, that too."""
    wrong, out = tmp_path / "wrong", tmp_path / "out"
    small_book.file(wrong, "letter.txt", "hello\n")
    (tmp_path / "empty").mkdir()
    small_book.file(out, "report.html", "the earlier one")
    whole = books.march(tmp_path / "shelf" / "book.sqlite")
    before = whole.read_bytes()
    for paths in ([wrong], [tmp_path / "empty"], [tmp_path / "nowhere"], [wrong, tmp_path / "empty"]):
        for how in (["--book", tmp_path / "new" / "b.sqlite"], ["--book", whole], ["--no-book"]):
            ran = run("reconcile", *paths, *how, "--out", out)
            assert ran.exit_code == 2
            assert "Nothing of what was given could be read as a statement" in " ".join(ran.stderr.split())
            assert [path.name for path in out.iterdir()] == ["report.html"]
            assert (out / "report.html").read_text() == "the earlier one"
            assert not (tmp_path / "new").exists()
            assert whole.read_bytes() == before


def test_why_nothing_was_read_is_said_once_of_files_alike(tmp_path: Path) -> None:
    """A folder of something else: one line, with how many there are."""
    for at in range(25):
        small_book.file(tmp_path / "wrong", f"{at}.txt", f"hello {at}\n")
    ran = run("reconcile", tmp_path / "wrong", "--no-book", "--out", tmp_path / "out")
    assert ran.stderr.count("Problem: ") == 1
    assert "and 24 more like it in 25 files" in ran.stderr
