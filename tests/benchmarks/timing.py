"""How a benchmark measures: the best of a few runs, against a floor measured between them."""

from __future__ import annotations

import resource
import time
from collections.abc import Callable


def seconds(work: Callable[[], object]) -> float:
    """How long one run takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def ratio(work: Callable[[], object], floor: Callable[[], object], runs: int = 5) -> tuple[float, float, float]:
    """The best time of the work, of the floor, and their ratio; runs of both alternate, so that load meets both."""
    pairs = [(seconds(work), seconds(floor)) for _ in range(runs)]
    best, least = min(one for one, _ in pairs), min(other for _, other in pairs)
    return best, least, best / least


def peak_mb() -> float:
    """The most memory this process has held so far, in megabytes."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
