"""What the carrier discloses: how often the cause is told right from all figures, from some, and from a lump sum.

Half of the parcels, by number, keep all that the carrier knows: they are what past months would have told of how its
scanner reads each carton. The other half shows what the row says, and is counted. `nothing seen`: no parcel shows more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import pandas as pd

import auditor
from tests.evaluation.held import NAMES, by_name, held, markdown, percent, reliability, scores, spread
from tests.evaluation.measured import billed_weight, full, lump, month, surcharges, truths, write_records
from tests.months.billing import Billed, Line
from tests.months.make import STATEMENT_OF, STATEMENT_ON
from tests.months.notices import write_notice
from tests.months.write import write_statement


@dataclass(frozen=True)
class Disclosure:
    """What the lines of an adjusted parcel show, and whether a letter tells the raw readings."""

    name: str
    lines: Callable[[Sequence[Line]], Iterator[Line]]
    notices: bool = False
    seen: bool = True


DISCLOSURES = (
    Disclosure("all figures, and a notice", full, notices=True),
    Disclosure("all figures", full),
    Disclosure("billed weight, and a notice", billed_weight, notices=True),
    Disclosure("billed weight", billed_weight),
    Disclosure("surcharges only", surcharges),
    Disclosure("lump sum, and a notice", lump, notices=True),
    Disclosure("lump sum", lump),
    Disclosure("billed weight, nothing seen", billed_weight, seen=False),
    Disclosure("surcharges only, nothing seen", surcharges, seen=False),
    Disclosure("lump sum, nothing seen", lump, seen=False),
)
NAMED = {disclosure.name: disclosure for disclosure in DISCLOSURES}


def counted(number: str) -> bool:
    """Which parcels show only what the disclosure says: half of them, told by their number."""
    return sum(map(ord, number)) % 2 == 0


Job = tuple[str, int, int]
"""Name of the disclosure, seed and number of parcels."""


def outcomes(job: Job) -> pd.DataFrame:
    """See `held`: the parcels that show only what the disclosure says."""
    name, seed, parcels = job
    disclosure = NAMED[name]
    billed = month(seed, parcels, notices=disclosure.notices)
    with TemporaryDirectory() as folder:
        write(Path(folder), billed, disclosure)
        table = held(auditor.reconcile([Path(folder)]), truths(billed))
    return table[[counted(number) or not disclosure.seen for number in table.index]]


def write(folder: Path, billed: Sequence[Billed], disclosure: Disclosure) -> None:
    """The records, a statement for each carrier, and the notices."""
    write_records(folder, billed)
    lines: dict[str, list[Line]] = {statement: [] for statement in STATEMENT_ON}
    for one in billed:
        silent = counted(one.shipment.tracking) or not disclosure.seen
        lines[STATEMENT_OF[one.shipment.service]] += disclosure.lines(one.lines) if silent else one.lines
    for statement, them in lines.items():
        if them:
            write_statement(folder / f"{statement}.csv", statement, STATEMENT_ON[statement], them)
    for service in STATEMENT_OF:
        readings = [one.reading for one in billed if one.reading and one.shipment.service == service]
        for start in range(0, len(readings), A_LETTER):
            number = 2 * (start // A_LETTER) + 1
            write_notice(folder / f"{service}-{number}.eml", number, readings[start : start + A_LETTER])


A_LETTER = 40
"""Parcels told of in one letter."""


def run(seeds: range, parcels: int) -> dict[str, pd.DataFrame]:
    """The outcomes of every disclosure, by its name."""
    jobs = [(disclosure.name, seed, parcels) for disclosure in DISCLOSURES for seed in seeds]
    return by_name(NAMED, jobs, spread(outcomes, jobs))


def table(outcome: dict[str, pd.DataFrame]) -> str:
    """A row for each disclosure."""
    rows = [(name, *scores(them), *_inferred(them)) for name, them in outcome.items()]
    return markdown(("shown", *NAMES, "inferred", "said on average"), rows)


COUNTED_ONCE = ("lump sum", "lump sum, nothing seen")


def _inferred(them: pd.DataFrame) -> tuple[str, str]:
    said = them["probability"].dropna().astype(float)
    return f"{len(said):,}", percent(said.mean())


def calibration(outcome: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """The reliability of the causes inferred from lump sums; each parcel once, since less hidden ones are the same."""
    every = pd.concat([outcome[name] for name in COUNTED_ONCE])
    inferred = every[every["planted"]].dropna(subset="probability")
    return reliability(inferred["probability"], inferred["cause_right"])
