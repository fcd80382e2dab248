"""Work on a stranger's file in a process apart, which may be taken down by it: a script of ours that prints JSON.

The parent's side is `said_by`; `limit_memory` and `say` are the script's. A script imports nothing else of ours, and
this module nothing heavy, so that it starts quickly.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any


def said_by(script: str, *arguments: object, seconds: float, given: object = None) -> tuple[list[dict[str, Any]], bool]:
    """What a script said before it ended or was ended, and whether it came to a good end.

    Args:
        script: the script's file.
        arguments: of its command line.
        seconds: after so many it is ended.
        given: what it reads as JSON from its standard input, where it reads any.
    """
    with contextlib.ExitStack() as held:
        plain = [held.enter_context(_plainly_named(one)) for one in arguments]
        printed, ended_well = _run([sys.executable, "-P", script, *plain], seconds, given)
    # The last line may be cut off.
    return [json.loads(line) for line in printed.splitlines(keepends=True) if line.endswith(b"\n")], ended_well


@contextlib.contextmanager
def _plainly_named(argument: object) -> Iterator[str]:
    """The argument as text; a file whose path is no UTF-8, which not every library opens, as a copy whose path is."""
    text = str(argument)
    if text.encode("utf-8", "replace") == os.fsencode(text) or not Path(text).is_file():
        yield text
        return
    with tempfile.TemporaryDirectory() as folder:
        yield str(shutil.copy(text, Path(folder, "file")))


def _run(command: list[str], seconds: float, given: object) -> tuple[bytes, bool]:
    """What a command printed before it ended or was ended, and whether it came to a good end."""
    try:
        done = subprocess.run(  # noqa: S603 - our own script; a path is an argument, not a part of a command line
            command,
            input=None if given is None else json.dumps(given).encode(),
            stdin=subprocess.DEVNULL if given is None else None,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            timeout=max(seconds, 0),
            check=False,
            env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},  # this very package, wherever it stands
        )
    except subprocess.TimeoutExpired as ended:
        return ended.stdout or b"", False
    return done.stdout, done.returncode == 0


def limit_memory(most: int) -> None:
    """Let this process have only so many bytes, where the system can."""
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (most, most))


def say(said: dict[str, Any]) -> None:
    """Print it for the parent, at once."""
    sys.stdout.write(json.dumps(said) + "\n")
    sys.stdout.flush()
