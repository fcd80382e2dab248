"""A million lines against a million shipments, one in a hundred misread, against pandas' bare merge of the two.

Run: python -m tests.benchmarks.matching
"""

from __future__ import annotations

from auditor.match import match
from tests.benchmarks.timing import peak_mb, ratio
from tests.evaluation.misreadings import Setting, months

COUNT = 1_000_000


def measured(series: str) -> str:
    """One series of numbers, in words."""
    month = months(COUNT, Setting(series, series, misread=0.01))
    work, floor, times = ratio(
        lambda: match(month.lines, month.shipments),
        lambda: month.lines.merge(month.shipments, on="tracking", how="left"),
        runs=3,
    )
    return f"{COUNT:,}, {series}: {work:.2f} s, bare merge {floor:.2f} s, ratio {times:.2f}; peak {peak_mb():.0f} MB"


def main() -> None:
    """Print times, their ratio and the memory."""
    for series in ("random", "consecutive"):
        print(measured(series))


if __name__ == "__main__":
    main()
