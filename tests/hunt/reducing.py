"""The smallest case that ends in the same way."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from tests.hunt.cases import Case
from tests.hunt.endings import Ending

Run = Callable[[Case], Ending | None]


def smallest(case: Case, ending: Ending, run: Run) -> tuple[Case, Ending]:
    """The case without all that can be left out while it ends in the same way, and how that ends."""
    while found := next(((one, end) for one in _smaller(case) if (end := run(one)) and end.kind == ending.kind), None):
        case, ending = found
    return case, ending


def _smaller(case: Case) -> Iterator[Case]:
    """Cases with one thing less, the largest things first."""
    for at in range(len(case.commands)):
        yield replace(case, commands=case.commands[:at] + case.commands[at + 1 :])
    for at in range(len(case.changes)):
        yield replace(case, changes=case.changes[:at] + case.changes[at + 1 :])
    yield from (replace(case, months=months) for months in (1, 2) if months < case.months)
    yield from (replace(case, parcels=parcels) for parcels in (1, 2, 6, 14) if parcels < case.parcels)
    if case.carriers > 1:
        yield replace(case, carriers=1)
