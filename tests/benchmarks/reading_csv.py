"""A statement of a million lines as CSV, read to finished lines, against pyarrow's bare read of the same file.

Run: python -m tests.benchmarks.reading_csv
"""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow.csv

from auditor import intake
from tests.benchmarks.timing import peak_mb, ratio

COUNT = 1_000_000
CHARGES = ("Freight", "Fuel surcharge", "Residential delivery", "Additional handling adjustment")


def write(path: Path, count: int, seed: int = 3) -> int:
    """A statement of `count` lines, four a parcel, with its total; the sum of the lines in cents."""
    random = np.random.default_rng(seed)
    parcels = np.arange(count) // len(CHARGES)
    cents = random.integers(-500, 20_000, count)
    sides = np.array([(44, 6, 6), (28, 12, 6), (48, 20, 8), (46, 18, 8)])[parcels % 4]
    table = pd.DataFrame(
        {
            "Statement": "NP-2026-03",
            "Statement date": "2026-04-01",
            "Tracking number": [f"NP44100260{number:08d}" for number in parcels],
            "Ship date": [f"2026-03-{day:02d}" for day in parcels % 31 + 1],
            "Service": "Ground",
            "Zone": parcels % 7 + 2,
            "Charge": np.array(CHARGES)[np.arange(count) % len(CHARGES)],
            "Billed weight (lb)": parcels % 60 + 1,
            "Billed length (in)": sides[:, 0],
            "Billed width (in)": sides[:, 1],
            "Billed height (in)": sides[:, 2],
            "Order reference": [f"Q-{number}" for number in parcels],
            "Amount": [f"{cent / 100:.2f}" for cent in cents],
        }
    )
    table.to_csv(path, index=False, lineterminator="\n")
    with path.open("a") as file:
        file.write(f"Statement total{',' * (table.shape[1] - 1)}{cents.sum() / 100:.2f}\n")
    return int(cents.sum())


def main() -> None:
    """Print times, their ratio and the memory; the lines must come to their sum."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "statement.csv")
        total = write(path, COUNT)
        taken = intake.read([path])
        assert (len(taken.lines), int(taken.lines["amount_cents"].sum())) == (COUNT, total)
        del taken
        work, floor, times = ratio(lambda: intake.read([path]), lambda: pyarrow.csv.read_csv(path))
        size = path.stat().st_size / 2**20
    print(f"{COUNT:,} lines ({size:.0f} MB): {work:.2f} s, pyarrow {floor:.2f} s, ratio {times:.1f}")
    print(f"peak {peak_mb():.0f} MB")


if __name__ == "__main__":
    main()
