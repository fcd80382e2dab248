"""How far a run has come: shown at a terminal only, harmless, and gone when the command ends."""

from __future__ import annotations

import fcntl
import os
import pty
import struct
import subprocess
import sys
import termios
from pathlib import Path

import pytest

from auditor.cli import terminal
from auditor.core import progress
from tests import small_book

WIDE, TALL = 60, 24


def at_terminal(folder: Path, *arguments: object) -> tuple[list[str], str]:
    """What a command's stderr did to a terminal, from one carriage return or end of line to the next; its stdout."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", TALL, WIDE, 0, 0))
    command = [sys.executable, "-m", "auditor", *map(str, arguments)]
    out = folder / "stdout"
    with out.open("wb") as stdout:
        run = subprocess.Popen(command, stdout=stdout, stderr=theirs, stdin=subprocess.DEVNULL, cwd=folder)
        os.close(theirs)
        seen = b""
        while piece := _read(ours):
            seen += piece
        run.wait()
    os.close(ours)
    return seen.decode().replace("\r\n", "\n").replace("\n", "\r\n\r").split("\r"), out.read_text()


def _read(file: int) -> bytes:
    try:
        return os.read(file, 1 << 16)
    except OSError:  # Linux says so when the other end is closed
        return b""


def standing(written: list[str]) -> list[str]:
    """The lines that are left on the terminal in the end."""
    lines = [""]
    for piece in written:
        text = piece.removesuffix("\n")
        lines[-1] = text + lines[-1][len(text) :]
        if piece.endswith("\n"):
            lines.append("")
    return [line.rstrip() for line in lines]


COMMANDS = {
    "reconcile": ("reconcile", "month", "--no-book", "--out", "report"),
    "cartons": ("cartons", "month"),
    "whatif": ("whatif", "--on", "2026-03-20", "month"),
    "explain": ("explain", "NP2", "month"),
    "columns": ("columns", "month/march.csv"),
    "evidence": ("evidence", "month", "--out", "papers"),
    "precheck": ("precheck", "44 x 6 x 6 in", "3 lb", "--history", "month"),
}


@pytest.mark.sample(2)
@pytest.mark.parametrize("command", COMMANDS)
def test_at_a_terminal_each_command_shows_what_is_read_and_leaves_nothing(command: str, tmp_path: Path) -> None:
    """The file's name while it is read; in the end no line speaks of it, and none is wider than the terminal."""
    small_book.march(tmp_path / "month")
    written, _ = at_terminal(tmp_path, *COMMANDS[command])
    assert any("Reading march.csv" in piece for piece in written)
    assert not [line for line in standing(written) if "Reading march.csv" in line or line.endswith(" …")][1:]
    assert max(len(piece) for piece in written if "…" in piece) < WIDE


def test_it_says_which_of_how_many_and_what_comes_after_reading(tmp_path: Path) -> None:
    """How far, and how many there are."""
    small_book.march(tmp_path / "month")
    shown = "\n".join(at_terminal(tmp_path, *COMMANDS["reconcile"])[0])
    for told in (
        "Reading fees.csv: 1 of 4 …",
        "Reading shipments.csv: 4 of 4 …",
        "Matching lines with parcels …",
        "Finding where the differences come from …",
        "Putting findings into words: 1 of ",
        "Learning how each carton is read …",
        "Writing the working of each finding: 1 of ",
    ):
        assert told in shown


@pytest.mark.slow
def test_what_is_in_the_book_and_its_check_are_told_of_too(tmp_path: Path) -> None:
    """Taken out of the book table by table, and checked document by document."""
    small_book.march(tmp_path / "month")
    at_terminal(tmp_path, "reconcile", "month", "--book", "b.sqlite", "--out", "report")
    again = "\n".join(at_terminal(tmp_path, "explain", "NP2", "--book", "b.sqlite")[0])
    assert "Taking tables out of the book: 1 of " in again
    checked = "\n".join(at_terminal(tmp_path, "book", "check", "--book", "b.sqlite")[0])
    assert "Checking kept documents: 1 of 4 …" in checked


def test_nothing_of_it_goes_into_a_pipe_or_file(tmp_path: Path) -> None:
    """Neither on stderr nor on stdout."""
    small_book.march(tmp_path / "month")
    command = [sys.executable, "-m", "auditor", *COMMANDS["reconcile"]]
    done = subprocess.run(command, capture_output=True, check=False, cwd=tmp_path)
    assert b"\r" not in done.stdout + done.stderr
    assert b"Reading march.csv" not in done.stdout + done.stderr
    assert b"\r" not in at_terminal(tmp_path, *COMMANDS["reconcile"])[1].encode()


def test_a_file_name_cannot_steer_the_terminal(tmp_path: Path) -> None:
    """Its control characters come out as codes, a long or wide name is cut to the line."""
    month = small_book.march(tmp_path / "month")
    (month / "a\x1b[2J\nb.csv").write_text("x\n", encoding="utf-8")
    (month / ("長" * 50 + ".csv")).write_text("y\n", encoding="utf-8")
    written = at_terminal(tmp_path, *COMMANDS["reconcile"])[0]
    assert any(r"Reading a\u001b[2J b.csv: 1 of 6 …" in piece for piece in written)
    assert "\x1b" not in "".join(written)
    shown = next(piece for piece in written if "長" in piece)
    assert terminal.cells(shown.rstrip()) < WIDE
    assert shown.rstrip().endswith(": 6 of 6 …")


def test_it_costs_nothing_where_nobody_listens() -> None:
    """The things come as they are, and a listener hears only what is done while it listens."""
    heard: list[tuple[str, int, int]] = []
    with progress.told_to(lambda *told: heard.append(told)):
        assert list(progress.each(["a", "b"], lambda name: f"Reading {name}")) == ["a", "b"]
        progress.at("Matching")
    progress.at("Nobody hears")
    assert heard == [("Reading a", 1, 2), ("Reading b", 2, 2), ("Matching", 0, 0)]


def test_cells_of_wide_and_joined_letters_are_counted() -> None:
    """Two for a wide letter, none for a mark on one."""
    assert [terminal.cells(text) for text in ("abc", "長い", "e\u0301")] == [3, 4, 1]
    assert terminal.fitting("長い名", 5) == "長い"


def test_a_terminal_that_is_gone_ends_no_run(monkeypatch: pytest.MonkeyPatch) -> None:
    """What cannot be shown is left out."""

    class Gone:
        encoding = "utf-8"

        def write(self, _: str) -> int:
            raise OSError(5, "Input/output error")

        def fileno(self) -> int:
            raise OSError(5, "Input/output error")

    monkeypatch.setattr(sys, "stderr", Gone())
    status = terminal.Status()
    status.show("Reading", 1, 2)
    status.clear()
