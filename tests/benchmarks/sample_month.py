"""The sample month from the command to the report, against Python with pandas loaded and the files merely read.

Run: python -m tests.benchmarks.sample_month, or with a folder of another month (`python -m tests.months.make`).
"""

from __future__ import annotations

import resource
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

MONTH = Path(__file__).parents[2] / "sample_statements" / "2026-03"
FLOOR = "import pathlib, sys, pandas; [path.read_bytes() for path in pathlib.Path(sys.argv[1]).iterdir()]"
RUNS = 3


def processor_seconds(*arguments: object) -> float:
    """How long a run of Python and the processes it starts keep the processor; it has to come to a good end."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    done = subprocess.run([sys.executable, *map(str, arguments)], capture_output=True, check=False)
    assert done.returncode in (0, 1), done.stderr.decode()
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before


def main(month: Path = MONTH) -> None:
    """Print the least time of a few runs, the floor's, and their ratio; runs of both alternate."""
    with TemporaryDirectory() as folder:
        run = ("-m", "auditor", "reconcile", month, "--no-book", "--out", folder)
        pairs = [(processor_seconds(*run), processor_seconds("-c", FLOOR, month)) for _ in range(RUNS)]
    whole, floor = min(one for one, _ in pairs), min(other for _, other in pairs)
    times = f"{whole:.2f} s of the processor; loading and reading alone {floor:.2f} s"
    print(f"{month.name}: {times}; ratio {whole / floor:.1f}")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
