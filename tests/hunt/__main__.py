"""`python -m tests.hunt --seed N --runs N`: go through so many cases, and print each unforeseen end."""

from __future__ import annotations

import sys
import time
from functools import partial

import click

from tests.hunt.cases import case_of
from tests.hunt.endings import LONGEST, ending_of
from tests.hunt.reducing import smallest

EACH = 25
"""After so many cases it says how far it is, so that a run which is stopped can be counted."""


@click.command()
@click.option("--seed", default=0, show_default=True, help="The number of the first case.")
@click.option("--runs", default=100, show_default=True, help="How many cases.")
@click.option("--traces/--no-traces", default=False, help="Whether to print where in the program it happened.")
def main(seed: int, runs: int, *, traces: bool) -> None:
    """Go through the cases SEED, SEED + 1, … and print each kind of unforeseen end with its smallest reproduction."""
    run = partial(ending_of, longest=LONGEST)
    seen: dict[tuple[str, str], int] = {}
    begun = time.process_time()
    for gone, number in enumerate(range(seed, seed + runs)):
        if gone and gone % EACH == 0:
            click.echo(f"{gone} cases from {seed} on, {sum(seen.values())} unforeseen ends so far.")
        case = case_of(number)
        ending = run(case)
        if ending is None:
            continue
        seen[ending.kind] = seen.get(ending.kind, 0) + 1
        if seen[ending.kind] == 1:
            case, ending = smallest(case, ending, run)
            click.echo(f"Case {number}: {ending.what}\n  in {ending.where}\n  auditor {ending.call}\n  {case}")
            if traces:
                click.echo(ending.trace)
    for (what, where), count in seen.items():
        click.echo(f"{count} × {what} in {where}")
    seconds = time.process_time() - begun
    click.echo(f"{runs} cases from {seed} on, {sum(seen.values())} unforeseen ends, {seconds:.0f} s of work.")
    sys.exit(bool(seen))


if __name__ == "__main__":
    main()
