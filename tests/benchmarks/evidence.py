"""Evidence for a hundred disputes of a month: how many a second of one core.

Run: python -m tests.benchmarks.evidence
"""

from __future__ import annotations

import os
from pathlib import Path
from tempfile import TemporaryDirectory

import auditor
from auditor.report import evidence
from tests.benchmarks.timing import peak_mb
from tests.months.make import make_month

COUNT = 100
LEAST_A_SECOND = 3
PARCELS, ROUNDS = 900, 5


def used() -> float:
    """Seconds of processor time so far, of this process and of those it started."""
    spent = os.times()
    return spent.user + spent.system + spent.children_user + spent.children_system


def main() -> None:
    """Print how many claims a second of processor time, and how large the papers are."""
    with TemporaryDirectory() as folder:
        month = Path(folder, "month")
        make_month(2026, PARCELS, faults=ROUNDS, out=month)
        audit = auditor.reconcile([month])
        originals = {path.name: path for path in month.iterdir()}
        wanted = audit.findings.loc[audit.findings["dispute"] != "none", "finding"].head(COUNT + 10)
        before = used()
        done = evidence.write(audit, originals, Path(folder, "out"), wanted=list(wanted))
        seconds = used() - before
        size = sum(path.stat().st_size for path in done.paths)
    rate = len(done.claims) / seconds
    assert len(done.claims) >= COUNT
    assert rate >= LEAST_A_SECOND
    print(f"{len(done.claims)} claims: {seconds:.1f} s of a core, {rate:.1f} a second; {size / 1e6:.1f} MB of papers")
    print(f"peak {peak_mb():.0f} MB")


if __name__ == "__main__":
    main()
