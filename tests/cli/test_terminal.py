"""What strangers write reaches no terminal with its control characters, whichever command prints it."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from auditor.cli import COMMANDS
from tests import small_book
from tests.cli.test_cli import run

ATTACK = "\x1b]0;owned\x9b31m\u202e\u2066\u200b\r\x1b[2J"
STEERING = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u200b-\u200f\u202a-\u202e\u2028\u2029\u2066-\u2069\ufeff]")


def attacked(folder: Path) -> Path:
    """March, whose numbers, charges, cartons and file names steer a terminal."""
    march = small_book.march(folder)
    texts = {name: (march / name).read_text(encoding="utf-8") for name in small_book.FILES}
    for name, text in texts.items():
        (march / name).unlink()
        other = re.sub(r"NP\d|NP-2026-03|Pickup service|uke box|Q-\d", lambda found: found[0] + ATTACK, text)
        quoted = re.sub(r"[^,\n]*\r[^,\n]*", lambda found: f'"{found[0]}"', other)
        (march / f"{name[:-4]}{ATTACK}.csv").write_text(quoted, encoding="utf-8", newline="")
    (march / f"bad{ATTACK}.xlsx").write_bytes(b"PK\x03\x04 no workbook")
    return march


def calls(march: Path, folder: Path) -> dict[str, tuple[str | Path, ...]]:
    """A call of each command, and of some more that name what is in the book, to be made in this order."""
    book, number = ("--book", folder / "book.sqlite"), f"NP2{ATTACK}"
    statement = next(path for path in march.iterdir() if path.name.startswith("march"))
    return {
        "reconcile": ("reconcile", march, "--out", folder / f"out{ATTACK}", *book),
        "reconcile again": ("reconcile", march, "--out", folder / "out", "--no-book"),
        "explain": ("explain", number, march),
        "explain unknown": ("explain", f"nobody{ATTACK}", march),
        "cartons": ("cartons", march),
        "precheck": ("precheck", "12x10x8 in 4 lb", "--history", march, "--service", "Ground", "--zone", "5"),
        "whatif": ("whatif", "--flat-charge", "12", march),
        "whatif wrong": ("whatif", "--cut", f"uke{ATTACK}", "1 in", march),
        "evidence": ("evidence", march, "--out", folder / "evidence"),
        "columns": ("columns", statement),
        "disputes": ("disputes", *book),
        "disputes sent": ("disputes", "sent", number, *book),
        "disputes history": ("disputes", "history", number, *book),
        "disputes wrong": ("disputes", "sent", f"nobody{ATTACK}", *book),
        "close": ("close", "2026-03", *book),
        "close wrong": ("close", "2026-03", *book),
        "book": ("book", "show", *book),
        "book check": ("book", "check", *book),
        "book set-aside": ("book", "set-aside", statement.name, "--because", ATTACK, *book),
        "book wrong": ("book", "set-aside", f"nothing{ATTACK}", *book),
        "rules": ("rules", "check", folder / f"none{ATTACK}.toml"),
    }


@pytest.mark.slow
def test_no_command_prints_what_steers_a_terminal(tmp_path: Path) -> None:
    """Every command, on files whose every text is an attack; each says something, and nothing of that steers."""
    march = attacked(tmp_path / "march")
    made = calls(march, tmp_path)
    assert {name.split()[0] for name in made} == set(COMMANDS)
    told = {name: run(*call) for name, call in made.items()}
    assert {name: STEERING.findall(one.output) for name, one in told.items() if STEERING.search(one.output)} == {}
    assert [name for name, one in told.items() if not one.output.strip()] == []
    shown = "\\u001b]0;owned\\u009b31m\\u202e\\u2066\\u200b \\u001b[2J"
    assert f"NP-2026-03{shown}" in told["reconcile"].output


def test_a_terminal_of_few_characters_shows_the_others_as_codes() -> None:
    """And no command ends on them."""
    said = subprocess.run(
        [sys.executable, "-c", "from auditor.cli.terminal import say; say('48 × 20 …')"],
        env={"PYTHONIOENCODING": "ascii"},
        capture_output=True,
        check=True,
    )
    assert said.stdout.split() == [b"48", b"\\xd7", b"20", b"\\u2026"]


def test_commands_print_from_one_place() -> None:
    """The linter refuses any other: what prints, asks, or takes hold of the streams."""
    code = "import sys\n\nimport click\n\nclick.echo('')\nclick.prompt('')\nprint('')\nsys.stdout.write('')\n"
    ruff = [sys.executable, "-m", "ruff", "check", "--output-format", "concise", "--select", "TID251,T201"]
    said = subprocess.run(
        [*ruff, "--stdin-filename", "auditor/cli/other.py", "-"],
        input=code,
        cwd=Path(__file__).parents[2],
        capture_output=True,
        text=True,
        check=False,
    )
    assert [line.split(":")[1] for line in said.stdout.splitlines() if ":" in line] == ["5", "6", "7", "8"]
