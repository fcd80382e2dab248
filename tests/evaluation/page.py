"""docs/evaluation.md and its plot, made from a run of everything."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from tests.evaluation import disclosed, habits, layouts, learning, matching, planted
from tests.evaluation.held import reliability_rows
from tests.evaluation.plot import reliability_svg


@dataclass(frozen=True)
class Size:
    """How much is made: months (seeds) and parcels a month of each part."""

    planted: tuple[int, int]
    layouts: tuple[int, int]
    disclosed: tuple[int, int]
    matching: tuple[int, int]
    learning: tuple[int, int]
    habits: int


WHOLE = Size(planted=(2, 540), layouts=(2, 80), disclosed=(6, 350), matching=(7, 4000), learning=(2, 900), habits=200)
"""About seven minutes on two processors."""

SMALL = Size(planted=(1, 180), layouts=(1, 12), disclosed=(1, 60), matching=(1, 150), learning=(1, 180), habits=1)
"""For a look, and for the test of the page's shape."""

FIRST_SEED = 0
"""Months are made from this seed on. What the package does was tuned on seeds from 100 on only."""

PLOT = "evaluation.svg"

HEAD = """# How well it does

`python -m tests.evaluation` makes months whose truth is known, runs the program on them, and prints this page; with
`--write` it writes it and its plot. The months are invented; real statements will be harder. What the package does was
tuned on months of other seeds than those reported here, and nothing was fitted to any of them: every rate that a
confidence rests on is counted in the month itself.

**Planted**: parcels with something to find. **Found**: those with a finding. **Right cause**: the true main cause is
the one told. **Right cents**: the difference, and each cause's share of it, to the cent. **False**: findings about
parcels with nothing to find.
"""

PLANTED = """
## Faults of every kind

The months of `tests/months`: measurements, weights, addresses, zones, prices, duplicates, strangers' parcels, voided
labels, and charges that do not follow from the carrier's own figures.
"""

LAYOUTS = """
## By layout

Parcels read otherwise than declared, by chance, each carton in ways of its own, in every layout that `tests/layouts`
writes; the label is billed by the carrier's figures at once. Where a layout prints no size, the cause has to be
inferred from the billed weight and the charges; one gives charges as codes that no vocabulary has, and says nothing
until someone tells their meaning (`auditor columns`).
"""

DISCLOSED = """
## By what the carrier discloses

The same kind of months as two CSV files, with adjustments. Half of the parcels, by number, show everything, as past
months would; the other half shows what the row says, and is counted. *Nothing seen*: no parcel shows more, and all are
counted. **Inferred**: findings that rest on a reading worked out from the bill; **said on average**: how likely the
program said their causes are.
"""

INFERRED = """
The causes inferred from lump sums, by how likely the program said they are; a billed weight or single surcharges give
the same ones, so each parcel is counted once. Parcels of one carton and one bill stand or fall together, so that the
intervals are too narrow. The plot is below.
"""

CEILING = """
No one could do much better from the bill alone: readings of different causes come to the same charges. Someone who
knew exactly how each carton is read would tell 88.7 % of the causes right where a billed weight is shown and half of
the parcels are seen (`python -m tests.evaluation.ceiling`). A notice of what was read is what makes the rest certain.
"""

MATCHED = """
## Misread numbers

Months of tables, without files. *Random*, *consecutive* (ours are one number in twenty) and *dated* (the day is in the
number) are fair prints of whole statements, of which one number in twenty is misread: look-alikes, other digits,
swapped, dropped and doubled characters, cut off, two at once. The others are hard, each in its way: one number in five
misread and worse; parcels all alike; little printed beside the number; a tenth to a third of the parcels billed missing
from the records; numbers lost, so that only the order, or the day, weight and price, can tell. A join that is less than
0.8 likely is not made. The precision is that of all joins, and of those that were not plainly by the number.
"""

CALIBRATED = """
Of every number that does not plainly stand in the records, the likeliest shipment, whether it was likely enough to be
joined or not:
"""

LEARNED = """
## Learned prices

The same months with the tables of rates, fees and fuel and without them. Expected amounts rest on weights that labels
were bought at; the prices up to 70 lb are those of all weights, most of them never bought.
"""

HABITS = """
## Intervals of habits

Months of tables whose scanner's excess is known: four cartons, 25 to 120 parcels each, declared at all sorts of
distances from the next costly step ([docs/habits.md](habits.md)). Of intervals meant to hold the truth nine times in
ten, how many do: of the chance that a parcel is back-charged, and of the mean excess and its spread from parcel to
parcel. Chance alone moves a share of 800 by 0.01.
"""

UNCUT = """
And where one parcel in twenty is sent uncut by mistake, five inches longer than declared, of the parcels sent as
declared; in a fifth as many months, so that chance alone moves a share by 0.02:
"""


@dataclass(frozen=True)
class Results:
    """What each part of a run gave."""

    planted: dict[str, pd.DataFrame]
    layouts: dict[str, pd.DataFrame]
    disclosed: dict[str, pd.DataFrame]
    matching: pd.DataFrame
    learning: dict[str, learning.Measured]
    habits: pd.DataFrame
    uncut: pd.DataFrame


def run(size: Size) -> Results:
    """Make all months and run the program on them."""
    return Results(
        planted=planted.run(*_months(size.planted)),
        layouts=layouts.run(*_months(size.layouts)),
        disclosed=disclosed.run(*_months(size.disclosed)),
        matching=matching.run(*_months(size.matching)),
        learning=learning.run(*_months(size.learning)),
        habits=habits.run(range(FIRST_SEED, FIRST_SEED + size.habits)),
        uncut=habits.run(range(FIRST_SEED, FIRST_SEED + -(-size.habits // 5)), habits.UNCUT),
    )


def page(results: Results) -> str:
    """docs/evaluation.md."""
    parts = (
        HEAD,
        PLANTED,
        planted.table(results.planted),
        LAYOUTS,
        layouts.table(results.layouts),
        DISCLOSED,
        disclosed.table(results.disclosed),
        INFERRED,
        reliability_rows(disclosed.calibration(results.disclosed)),
        CEILING,
        MATCHED,
        matching.table(results.matching),
        CALIBRATED,
        reliability_rows(matching.calibration(results.matching)),
        f"\n![Said to be right against right, for joins and for inferred causes]({PLOT})",
        LEARNED,
        learning.table(results.learning),
        HABITS,
        habits.table(results.habits),
        UNCUT,
        habits.table(results.uncut),
    )
    return "\n".join(parts) + "\n"


def plot(results: Results) -> str:
    """The plot beside it, as SVG."""
    joins, causes = matching.calibration(results.matching), disclosed.calibration(results.disclosed)
    return reliability_svg({"Misread numbers": joins, "Inferred causes": causes})


def _months(of: tuple[int, int]) -> tuple[range, int]:
    months, parcels = of
    return range(FIRST_SEED, FIRST_SEED + months), parcels


def shape(text: str) -> list[str]:
    """The page's lines without their figures: alike for a run of any size."""
    return [line.split(" | ")[0] if line.startswith("| ") and " | " in line else line for line in text.splitlines()]
