"""`python -m tests.mutants ROOM`: draw changes of a room, run its tests with each, and say which nobody noticed."""

from __future__ import annotations

import argparse
import pickle
import random
import tempfile
import tomllib
from collections.abc import Sequence
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from tests.mutants.changes import Mutant, mutants
from tests.mutants.running import TREE, Reached, copied, killed, load, reached

EQUIVALENT = Path(__file__).with_name("equivalent.toml")


def drawn(room: str, runs: int, seed: int) -> list[Mutant]:
    """Some of the changes of a room (or of one file), in the order of its files."""
    place = TREE / "auditor" / room
    files = sorted(place.rglob("*.py")) if place.is_dir() else [place]
    every = [
        mutant for file in files for mutant in mutants(str(file.relative_to(TREE)), file.read_text(encoding="utf-8"))
    ]
    chosen = random.Random(seed).sample(range(len(every)), min(runs, len(every)))
    return [every[place] for place in sorted(chosen)]


def equivalent(mutant: Mutant) -> bool:
    """Whether it is one of the changes that nobody could notice, by file, line and what stands there then."""
    table = tomllib.loads(EQUIVALENT.read_text(encoding="utf-8"))
    return any(
        (one["file"], one["line"], one["was"]) == (mutant.file, mutant.text, mutant.was)
        and mutant.becomes in one["becomes"]
        for one in table["mutant"]
    )


def main() -> None:
    """Print each survivor, and how many were killed."""
    options = _options()
    every = drawn(options.room, options.runs, options.seed)
    ours = [mutant for mutant in every if not equivalent(mutant)]
    load()
    with tempfile.TemporaryDirectory() as name:
        folders = [Path(name, str(number)) for number in range(options.jobs)]
        for folder in folders:
            folder.mkdir()
        watched = _watched(copied(folders[0]), options.tests or f"tests/{options.room}", options.kept)
        for folder in folders[1:]:
            copied(folder, folders[0])
        survived = _survivors(ours, folders, watched)
    dead = len(ours) - survived
    print(
        f"{options.room}, seed {options.seed}: {dead} of {len(ours)} killed ({dead / max(len(ours), 1):.0%}), ", end=""
    )
    print(f"{len(every) - len(ours)} more are equivalent")


def _options() -> Any:
    parser = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    parser.add_argument("room", help="a folder or file in auditor/, such as match or habits/rates.py")
    parser.add_argument("--runs", type=int, default=80, help="how many changes (%(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="of their choice (%(default)s)")
    parser.add_argument("--jobs", type=int, default=1, help="processes (%(default)s)")
    parser.add_argument("--tests", help="the file or folder of the tests (those of the room)")
    parser.add_argument("--kept", type=Path, help="a file that keeps which test reaches what, made where it is missing")
    return parser.parse_args()


def _watched(copy: Path, where: str, kept: Path | None) -> Reached:
    if kept and kept.exists():
        found: Reached = pickle.loads(kept.read_bytes())  # noqa: S301 - our own
        return found
    found = reached(copy, where)
    if kept:
        kept.write_bytes(pickle.dumps(found))
    return found


def _survivors(every: Sequence[Mutant], folders: Sequence[Path], watched: Reached) -> int:
    """Print the changes that no test noticed, and count them."""
    context = get_context("fork")
    said = context.SimpleQueue()
    workers = [
        context.Process(target=_work, args=(every[number :: len(folders)], folder, watched, said))
        for number, folder in enumerate(folders)
    ]
    for worker in workers:
        worker.start()
    alive = 0
    for _ in every:
        mutant, dead = said.get()
        if not dead:
            alive += 1
            print(f"{mutant.file}:{mutant.line}: {mutant.was}  →  {mutant.becomes}", flush=True)
    for worker in workers:
        worker.join()
    return alive


def _work(some: Sequence[Mutant], folder: Path, watched: Reached, said: Any) -> None:
    for mutant in some:
        said.put((mutant, killed(folder, mutant, watched)))


if __name__ == "__main__":
    main()
