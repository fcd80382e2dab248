"""Months in every layout that the tests can write: what is found in them, whatever the statement looks like.

The label is billed by the carrier's figures at once, since not every layout has words for an adjustment. Layouts in
centimetres and kilograms show figures that round up to the whole inches and pounds billed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from pathlib import Path
from tempfile import TemporaryDirectory

import pandas as pd

import auditor
from tests.evaluation.held import NAMES, by_name, held, markdown, scores, spread
from tests.evaluation.measured import month, truths, write_records
from tests.layouts import pdf_layouts, table_layouts
from tests.layouts.table_truth import CHARGES, Line
from tests.months import plainly
from tests.months.billing import Billed

Write = Callable[[Path, Sequence[Line]], object]


@dataclass(frozen=True)
class Written:
    """A layout: its writer into a folder, whether in centimetres and kilograms, whether it can be written here."""

    write: Write
    metric: bool = False
    possible: bool = True


def _pdf(layout: pdf_layouts.Layout) -> Write:
    def write(folder: Path, lines: Sequence[Line]) -> None:
        layout.write(folder / "statement.pdf", lines)

    return write


TABLES: Mapping[str, Written] = {layout.name: Written(layout.write, layout.metric) for layout in table_layouts.LAYOUTS}
PDFS: Mapping[str, Written] = {
    f"PDF: {layout.name}": Written(_pdf(layout), possible=bool(pdf_layouts.CHROMIUM) or not layout.browser)
    for layout in pdf_layouts.LAYOUTS
}
LAYOUTS: Mapping[str, Written] = {**TABLES, **PDFS}

Job = tuple[str, int, int]
"""Name of the layout, seed and number of parcels."""


def outcomes(job: Job) -> pd.DataFrame:
    """See `held.held`."""
    name, seed, parcels = job
    layout = LAYOUTS[name]
    billed = [one for one in month(seed, parcels, at_once=True) if _in_words_of_all(one)]
    with TemporaryDirectory() as folder:
        write_records(Path(folder), billed)
        layout.write(Path(folder), [line for one in billed for line in _lines(one, metric=layout.metric)])
        return held(auditor.reconcile([Path(folder)]), truths(billed))


def _in_words_of_all(billed: Billed) -> bool:
    """Whether every layout has words for the parcel's charges."""
    return all(line.charge in CHARGES for line in billed.lines)


def _lines(billed: Billed, *, metric: bool) -> Iterator[Line]:
    declared = billed.shipment.declared
    own = plainly.whole(declared.sides), ceil(declared.weight)
    for line in billed.lines:
        sides, pounds = line.sides or (0, 0, 0), line.weight or 0
        yield Line(
            tracking=billed.shipment.tracking,
            order=line.order,
            shipped_on=line.shipped_on,
            service=line.service,
            zone=line.zone,
            weight_g=_rounds_to(pounds, own[1], GRAMS, 10) if metric else pounds,
            sides_mm=_millimetres(sides, own[0]) if metric else sides,  # type: ignore[arg-type]
            charge=line.charge,
            amount_cents=line.cents,
        )


GRAMS, MILLIMETRES = Fraction("453.59237"), Fraction("25.4")


def _millimetres(sides: tuple[int, ...], declared: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(_rounds_to(side, own, MILLIMETRES, 1) for side, own in zip(sides, declared, strict=True))


def _rounds_to(whole: int, declared: int, unit: Fraction, step: int) -> int:
    """The amount in steps of a smaller unit that rounds up to so many whole ones: as near to the declared as can be."""
    return int(whole * unit // step) * step if whole == declared else (int((whole - 1) * unit // step) + 1) * step


def run(seeds: range, parcels: int) -> dict[str, pd.DataFrame]:
    """The outcomes of every layout, by its name; none of those that need a browser where there is none."""
    jobs = [(name, seed, parcels) for name, layout in LAYOUTS.items() if layout.possible for seed in seeds]
    return by_name(LAYOUTS, jobs, spread(outcomes, jobs))


def table(outcome: dict[str, pd.DataFrame]) -> str:
    """A row for each layout."""
    return markdown(("layout", *NAMES), [(name, *scores(them)) for name, them in outcome.items()])
