"""The engine against the plain reference on a million random parcels at the edges, in two processes.

Run: python -m tests.benchmarks.agreement
"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from tests.agreement import SHIPPED, differences

EVERY_FORM = Path(__file__).parents[1] / "fixtures" / "every-form.toml"
PATHS = [*SHIPPED, EVERY_FORM]
A_BATCH, BATCHES = 10_000, 20


def _batch(task: tuple[Path, int]) -> tuple[str, list[str]]:
    path, seed = task
    return path.stem, differences(path, A_BATCH, seed)


def main() -> None:
    """Print how many parcels each tariff was held on, and every difference found."""
    tasks = [(path, 1000 + seed) for path in PATHS for seed in range(BATCHES)]
    with ProcessPoolExecutor(2) as pool:
        results = list(pool.map(_batch, tasks))
    for path in PATHS:
        unlike = [said for name, found in results if name == path.stem for said in found]
        print(f"{path.stem}: {A_BATCH * BATCHES:,} parcels, {len(unlike)} differences")
        for said in unlike:
            print(f"  {said}")


if __name__ == "__main__":
    main()
