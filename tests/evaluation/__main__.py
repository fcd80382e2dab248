"""Make all months, run the program on them, and print docs/evaluation.md; `--write` writes it and its plot."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path

from tests.evaluation.page import PLOT, SMALL, WHOLE, page, plot, run

DOCS = Path(__file__).parents[2] / "docs"


def main() -> None:
    """The command."""
    parser = ArgumentParser(prog="python -m tests.evaluation", description=__doc__)
    parser.add_argument("--write", action="store_true", help="write docs/evaluation.md and its plot anew")
    parser.add_argument("--small", action="store_true", help="a few parcels only, for a look")
    given = parser.parse_args()
    if given.small and given.write:
        parser.error("--small is for a look; docs/ shows the whole run. Leave one of the two out.")
    results = run(SMALL if given.small else WHOLE)
    print(page(results))
    if given.write:
        (DOCS / "evaluation.md").write_text(page(results), encoding="utf-8")
        (DOCS / PLOT).write_text(plot(results), encoding="utf-8")


if __name__ == "__main__":
    main()
