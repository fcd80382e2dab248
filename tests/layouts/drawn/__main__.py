"""Draw statements, read each, and say by structure, by what is known and by writer how much was read right.

`python -m tests.layouts.drawn --seed 1 --runs 100 --pool nonsense`; with `--show` the statement, and what was misread.
"""

from __future__ import annotations

import argparse
import signal
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import FrameType

from auditor import intake
from auditor.tariff import expecting, opened
from tests.layouts.drawn import KNOWN, POOLS, STRUCTURES, WRITERS, Drawn, draw
from tests.layouts.drawn.score import Score, differences, score

RULES = "us-ground-common"
SECONDS = 60
SHOWN, LAST = 40, 8
HEAD = ("", "read", "whole", "tied", "lines", "too many", "classes", "states", "cells", "total", "wrong", "silent")


@dataclass(frozen=True)
class Run:
    """A statement and how it was read, or the name of what stopped that."""

    drawn: Drawn
    score: Score | None
    failure: str = ""


def run(drawn: Drawn, *, show: bool = False) -> Run:
    """Write it into a folder, read it from there, and count; whatever stops the reader is a count too."""
    with tempfile.TemporaryDirectory() as folder:
        paths = drawn.write(Path(folder))
        try:
            with limited(SECONDS):
                book = opened(RULES)
                taken = intake.read(paths, charges=book.charges, expecting=expecting(book))
        except Exception as failure:  # noqa: BLE001 -- every end that is none of ours to foresee is counted
            return Run(drawn, None, type(failure).__name__)
    if show:
        print(shown(drawn, taken))
    return Run(drawn, score(drawn, taken))


@contextmanager
def limited(seconds: int) -> Iterator[None]:
    """A time limit."""

    def late(_signal: int, _frame: FrameType | None) -> None:
        raise TimeoutError

    signal.signal(signal.SIGALRM, late)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)


def shown(drawn: Drawn, taken: intake.Intake) -> str:
    """The statement as rows of text, then what differs from the truth, then what the reader says."""
    rows = [" | ".join(cell.text.replace("\n", "⏎") for cell in row.cells) for row in drawn.document.rows]
    misread, said = list(differences(drawn, taken)), [f"{problem}" for problem in taken.problems]
    return "\n".join((*_ends(rows), "--- misread", *_ends(misread), "--- said", *_ends(said)))


def _ends(lines: Sequence[str]) -> Sequence[str]:
    """The first and last lines of many."""
    if len(lines) <= SHOWN:
        return lines
    return (*lines[: SHOWN - LAST], f"… {len(lines) - SHOWN} more", *lines[-LAST:])


def table(runs: Sequence[Run], of: Callable[[Drawn], str]) -> Iterator[str]:
    """A row for each kind of statement, all of them last."""
    kinds = sorted({of(one.drawn) for one in runs})
    yield f"{HEAD[0]:26}" + "".join(f"{head:>9}" for head in HEAD[1:])
    for kind in kinds:
        yield _row(kind, [one for one in runs if of(one.drawn) == kind])
    if len(kinds) > 1:
        yield _row("together", runs)


def _row(kind: str, runs: Sequence[Run]) -> str:
    scores = [one.score for one in runs if one.score]
    planted, of = sum(one.planted for one in scores), len(runs)
    totals = [one.total_found for one in scores if one.total_found is not None]
    silent = [one.silent for one in scores if one.silent is not None]
    told = (
        f"{len(scores)}/{of}",
        _share(sum(one.whole for one in scores), of),
        _share(sum(one.tied for one in scores), of),
        _share(sum(one.lines for one in scores), planted),
        str(sum(one.more for one in scores)),
        _share(sum(one.classes for one in scores), planted),
        _share(sum(one.states for one in scores), planted),
        _share(sum(one.cells for one in scores), sum(one.of_cells for one in scores)),
        _share(sum(totals), len(totals)),
        str(sum(one.wrong for one in scores)),
        str(sum(silent)) if silent else "–",
    )
    return f"{kind:26}" + "".join(f"{one:>9}" for one in told)


def _share(part: int, whole: int) -> str:
    return f"{100 * part / whole:.1f} %" if whole else "–"


def arguments() -> argparse.Namespace:
    """What was asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.layouts.drawn", description=__doc__)
    parser.add_argument("--seed", type=int, default=1, help="the first seed")
    parser.add_argument("--runs", type=int, default=1, help="how many seeds, each one more")
    parser.add_argument("--pool", choices=POOLS, default="nonsense")
    for name, among in (("structure", STRUCTURES), ("writer", (*WRITERS, "table", "pdf")), ("known", KNOWN)):
        parser.add_argument(f"--{name}", choices=tuple(among))
    parser.add_argument("--show", action="store_true", help="the statement, and what was misread")
    parser.add_argument("--each", action="store_true", help="a line a statement")
    return parser.parse_args()


def asked(options: argparse.Namespace) -> Iterator[Drawn]:
    """The statements asked for; "table" and "pdf" are any writer of those."""
    for seed in range(options.seed, options.seed + options.runs):
        alike = [name for name in WRITERS if name.startswith("pdf") == (options.writer == "pdf")]
        writer = alike[seed % len(alike)] if options.writer in {"table", "pdf"} else options.writer
        yield draw(seed, options.pool, structure=options.structure, writer=writer, known=options.known)


def main() -> None:
    """Draw, read, print."""
    options, runs = arguments(), []
    for drawn in asked(options):
        runs.append(run(drawn, show=options.show))
        if options.each or options.show:
            print(f"{drawn.seed} {drawn.structure}, {drawn.writer}, {drawn.known}: {_told(runs[-1])}", flush=True)
    for of in (lambda one: one.structure, lambda one: one.known, lambda one: one.writer):
        print("\n".join(table(runs, of)), end="\n\n")
    for failure, count in Counter(one.failure for one in runs if one.failure).most_common():
        print(f"{failure}: {count}")


def _told(one: Run) -> str:
    if one.score is None:
        return one.failure
    said = "whole" if one.score.whole else "tied" if one.score.tied else "not tied"
    return f"{said}, {one.score.lines} of {one.score.planted} lines, {one.score.classes} classes"


if __name__ == "__main__":
    main()
