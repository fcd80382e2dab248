"""How often a hidden cause could be told at best, from the bill alone, by someone who knew how each carton is read.

The same parcels as those that `disclosed` counts where a billed weight is shown. For each, readings are drawn as its
month drew them; of those that come to the very bill, the cause that most of them have is told.

Run: python -m tests.evaluation.ceiling
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from math import ceil
from random import Random

from tests.evaluation.disclosed import counted
from tests.evaluation.held import percent, spread
from tests.evaluation.measured import Habit, billed_by, drawn, habits, listed, month
from tests.evaluation.page import FIRST_SEED, WHOLE
from tests.months import plainly
from tests.months.billing import Billed, Line
from tests.months.faults import Fault

DRAWS = 3_000


def right(seed: int) -> list[bool]:
    """Whether the likeliest cause is the true one, for each parcel of a month that shows a billed weight only."""
    own, prices = habits(Random(seed)), listed()
    planted = [one for one in month(seed, WHOLE.disclosed[1]) if one.truth and counted(one.truth.tracking)]
    return [likeliest(one, own[one.shipment.carton], prices) == one.truth.cause for one in planted if one.truth]


def likeliest(one: Billed, habit: Habit, prices: plainly.Prices) -> str:
    """The cause that most readings have which come to the parcel's bill; "" where none does."""
    causes = Counter(cause for cause in _causes(one, habit, prices) if cause)
    return causes.most_common(1)[0][0] if causes else ""


def _causes(one: Billed, habit: Habit, prices: plainly.Prices) -> Iterator[str]:
    """The cause of each reading drawn, "" where it does not come to the bill; readings alike are looked at once."""
    random, known = Random(0), dict[tuple[object, ...], str]()
    for _ in range(DRAWS):
        fault = drawn(one.shipment, habit, random)
        weight = Fraction(fault.weight)
        near = weight - one.shipment.declared.weight <= plainly.WEIGHT_TOLERANCE
        alike = (plainly.whole(plainly.inches(fault.sides)), ceil(weight), near)
        if alike not in known:
            known[alike] = _cause(one, fault, prices)
        yield known[alike]


def _cause(one: Billed, fault: Fault, prices: plainly.Prices) -> str:
    declared = one.shipment.declared
    sides, weight = plainly.inches(fault.sides), Fraction(fault.weight)
    try:
        if plainly.charges(replace(declared, sides=sides, weight=weight), prices) != _charged(one.lines):
            return ""
    except ValueError:  # no carrier would take it
        return ""
    fee = any(line.kind == "fee" for line in one.lines)
    truth = billed_by(one.shipment, replace(fault, scale=True, fee=fee), prices).truth
    return truth.cause if truth else ""


def _charged(lines: Sequence[Line]) -> dict[str, int]:
    """What label and adjustments come to, by charge."""
    charged = Counter[str]()
    for line in lines:
        charged[line.charge] += line.cents if line.kind in ("label", "adjustment") else 0
    return {charge: cents for charge, cents in charged.items() if cents}


def main() -> None:
    """Print the share, over the months that docs/evaluation.md shows."""
    every = [one for month in spread(right, range(FIRST_SEED, FIRST_SEED + WHOLE.disclosed[0])) for one in month]
    print(f"{len(every)} parcels: {percent(sum(every) / len(every))} of the causes could be told right")


if __name__ == "__main__":
    main()
