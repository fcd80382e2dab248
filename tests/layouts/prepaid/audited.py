"""What an audit made of a paper about prepaid labels: `python -m tests.layouts.prepaid.audited --seed 1 --runs 20`.

found: corrections with a finding; cents: those whose whole amount is spread over its causes to the cent; causes: those
whose largest share is the planted one, where the paper shows figures; theirs: cents planted as not theirs to take that
are worth disputing; strong: of cents called strong, those that were planted so.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import astuple, dataclass
from pathlib import Path

import pandas as pd

import auditor
from tests.layouts.drawn.__main__ import limited
from tests.layouts.prepaid import FORMS, POOLS, Paper, draw

CAUSES = {
    "length": {"box length", "rounding"},
    "girth": {"box girth", "rounding"},
    "longest of all": {"box length", "box girth", "rounding"},
    "weight": {"declared weight", "rounding"},
    "rounding": {"rounding"},
}
SECONDS = 90


@dataclass(frozen=True)
class Counts:
    """Counts over parcels with corrections, and cents."""

    planted: int = 0
    found: int = 0
    cents: int = 0
    shown: int = 0
    causes: int = 0
    theirs: int = 0
    asked: int = 0
    strong: int = 0
    truly: int = 0

    def __add__(self, other: Counts) -> Counts:
        """Both together."""
        return Counts(*(one + two for one, two in zip(astuple(self), astuple(other), strict=True)))


def counts(paper: Paper, audit: auditor.Audit) -> Counts:
    """The counts of one paper."""
    whole = Counts()
    for tracking in dict.fromkeys(str(one.tracking) for one in paper.corrections):
        mine = audit.findings[audit.findings["shipment_tracking"] == tracking]
        whole += _of_parcel(paper, tracking, mine)
    own = {str(one.tracking) for one in paper.corrections}
    others = audit.findings[~audit.findings["shipment_tracking"].isin(own)]
    return whole + Counts(strong=int(others["strong_cents"].sum()))


def _of_parcel(paper: Paper, tracking: str, mine: pd.DataFrame) -> Counts:
    plants = [one for one in paper.corrections if one.tracking == tracking]
    taken = sum(one.cents for one in plants)
    theirs = sum(one.cents if one.about.cause == "twice" else one.about.theirs for one in plants if one.about)
    theirs = min(theirs, max(taken, 0))
    kinds = {one.about.cause for one in plants if one.about}
    [cause] = kinds if len(kinds) == 1 else [""]
    if any(one.about.tenths[0] > 10 * max(one.about.label.sides) for one in plants if one.about and cause == "girth"):
        cause = "longest of all"
    shown = cause in CAUSES and any({"measured size", "measured weight"} <= one.shows for one in plants)
    strong = int(mine["strong_cents"].sum())
    asked = int(mine["disputable_cents"].sum())
    return Counts(
        planted=int(taken != 0),
        found=int(taken != 0 and not mine.empty),
        cents=int(taken != 0 and int(mine["difference_cents"].fillna(0).sum()) == taken),
        shown=int(shown),
        causes=int(shown and bool(mine["cause"].isin(CAUSES.get(cause, set())).any())),
        theirs=theirs,
        asked=min(asked, theirs),
        strong=strong,
        truly=min(strong, theirs),
    )


def _row(name: str, them: Sequence[Counts | None]) -> str:
    whole = sum((one for one in them if one), Counts())
    shares = (
        (whole.found, whole.planted),
        (whole.cents, whole.planted),
        (whole.causes, whole.shown),
        (whole.asked, whole.theirs),
        (whole.truly, whole.strong),
    )
    told = "".join(f"{100 * part / of:>9.1f}" if of else f"{'–':>9}" for part, of in shares)
    return f"{name:30}{len(them):>7}{sum(one is None for one in them):>7}{told}{whole.strong / 100:>10.2f}"


def _runs(asked: argparse.Namespace) -> Iterator[tuple[Paper, Counts | None]]:
    for seed in range(asked.seed, asked.seed + asked.runs):
        paper = draw(seed, asked.pool, form=asked.form, writer=asked.writer)
        with tempfile.TemporaryDirectory() as folder:
            try:
                with limited(SECONDS):
                    got = counts(paper, auditor.reconcile(paper.write(Path(folder))))
            except Exception as failure:  # noqa: BLE001 -- every end that is none of ours to foresee is counted
                print(seed, paper.form, type(failure).__name__, failure)
                yield paper, None
                continue
        if asked.each:
            print(seed, paper.form, paper.tables, got, flush=True)
        yield paper, got


def main() -> None:
    """Draw, audit, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.layouts.prepaid.audited", description=__doc__)
    parser.add_argument("--seed", type=int, default=1, help="the first seed")
    parser.add_argument("--runs", type=int, default=1, help="how many seeds, each one more")
    parser.add_argument("--pool", choices=POOLS, default="plain")
    parser.add_argument("--form", choices=tuple(FORMS))
    parser.add_argument("--writer", default="csv")
    parser.add_argument("--each", action="store_true", help="a line a paper")
    runs = list(_runs(parser.parse_args()))
    print(f"{'':30} papers failed    found    cents   causes   theirs   strong  strong in $")
    for form in (*FORMS, "with prices", "without prices", "together"):
        them = [
            got
            for paper, got in runs
            if form in (paper.form, "with prices" if paper.tables else "without prices", "together")
        ]
        if them:
            print(_row(form, them))


if __name__ == "__main__":
    main()
