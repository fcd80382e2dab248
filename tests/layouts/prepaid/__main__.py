"""Draw papers about prepaid labels, read each, and say by form, writer and words how much was read right.

`python -m tests.layouts.prepaid --seed 1 --runs 100 --pool nonsense`
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from auditor import intake
from auditor.tariff import expecting, opened
from tests.layouts.drawn.__main__ import limited
from tests.layouts.prepaid import FORMS, POOLS, WRITERS, Paper, draw
from tests.layouts.prepaid.score import Score, score

SECONDS = 60
Run = tuple[Paper, Score | None, str]


def run(paper: Paper) -> Run:
    """Write it into a folder, read it from there, and count; whatever stops the reader is a count too."""
    with tempfile.TemporaryDirectory() as folder:
        paths = paper.write(Path(folder))
        book = opened("us-ground-common")
        try:
            with limited(SECONDS):
                taken = intake.read(paths, charges=book.charges, expecting=expecting(book))
        except Exception as failure:  # noqa: BLE001 -- every end that is none of ours to foresee is counted
            return paper, None, type(failure).__name__
    return paper, score(paper, taken), ""


def table(runs: Sequence[Run], of: Callable[[Paper], str]) -> Iterator[str]:
    """A row for each kind of paper, all of them last."""
    yield f"{'':22}{'papers':>8}{'sums':>9}{'found':>9}{'cells':>9}{'whole':>9}{'too many':>9}"
    for kind in (*sorted({of(paper) for paper, _, _ in runs}), "together"):
        them = [one for one in runs if kind in ("together", of(one[0]))]
        scores = [one for _, one, _ in them if one]
        whole = sum(one.summed and 100 * one.cells >= 97 * one.of_cells and not one.more for one in scores)
        yield (
            f"{kind:22}{len(them):>8}{_share(sum(one.summed for one in scores), len(them)):>9}"
            f"{_share(sum(one.found for one in scores), sum(one.planted for one in scores)):>9}"
            f"{_share(sum(one.cells for one in scores), sum(one.of_cells for one in scores)):>9}"
            f"{_share(whole, len(them)):>9}{sum(one.more for one in scores):>9}"
        )


def _share(part: int, whole: int) -> str:
    return f"{100 * part / whole:.1f} %" if whole else "–"


def main() -> None:
    """Draw, read, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.layouts.prepaid", description=__doc__)
    parser.add_argument("--seed", type=int, default=1, help="the first seed")
    parser.add_argument("--runs", type=int, default=1, help="how many seeds, each one more")
    parser.add_argument("--pool", choices=POOLS, default="nonsense")
    parser.add_argument("--form", choices=tuple(FORMS))
    parser.add_argument("--writer", choices=tuple(WRITERS))
    parser.add_argument("--each", action="store_true", help="a line a paper")
    asked, runs = parser.parse_args(), list[Run]()
    for seed in range(asked.seed, asked.seed + asked.runs):
        runs.append(run(draw(seed, asked.pool, form=asked.form, writer=asked.writer)))
        if asked.each:
            paper, got, failure = runs[-1]
            print(seed, paper.form, paper.writer, got or failure, flush=True)
    for of in (lambda one: one.form, lambda one: one.writer):
        print("\n".join(table(runs, of)), end="\n\n")


if __name__ == "__main__":
    main()
