"""100,000 adjustments with all six players (64 prices each), against a hand-written numpy enumeration.

Run: python -m tests.benchmarks.attribution
"""

from __future__ import annotations

from math import factorial

import numpy as np
import pandas as pd

from auditor.charges.attribution import shapley_shares
from auditor.charges.schema import LONGEST, OTHER_SIDES, PLAYERS, ROUNDING, WEIGHT, Cases
from auditor.core import units
from auditor.core.arrays import Whole
from auditor.core.sides import FIGURES
from auditor.tariff import Rulebook, load
from tests.benchmarks.pricing import by_hand, parcels
from tests.benchmarks.timing import peak_mb, ratio
from tests.parcels import prices

COUNT = 100_000
IN, LB = units.NM_PER_INCH, units.PG_PER_POUND


def cases(count: int, seed: int = 3) -> Cases:
    """Parcels of which every figure was read otherwise than declared: the height within tolerance, the rest beyond."""
    random = np.random.default_rng(seed)
    declared = parcels(count, seed).assign(zone=lambda table: table["zone"].astype("str"), residential=False)
    declared = declared.assign(service="Ground", address_corrected=False, corrected=False, size_wrong=False)
    measured = declared.assign(
        zone=random.integers(2, 9, count).astype(str),
        length_nm=declared["length_nm"] + random.integers(2, 5, count) * IN,
        width_nm=declared["width_nm"] + random.integers(1, 3, count) * IN,
        height_nm=declared["height_nm"] + IN // 4,
        weight_pg=declared["weight_pg"] + random.integers(1, 9, count) * LB,
        residential=True,
    )
    players = pd.DataFrame(0, index=declared.index, columns=list(FIGURES))
    players[list(FIGURES)] = [1 << player for player in (LONGEST, OTHER_SIDES, ROUNDING, WEIGHT)]
    players["active"] = (1 << len(PLAYERS)) - 1
    nothing = pd.DataFrame(index=declared.index)
    none = pd.Series(dtype=int)
    return Cases(
        nothing, declared, declared, measured, players, nothing, nothing, nothing, nothing, none, none, nothing
    )


def enumerated(of: Cases) -> Whole:
    """The same by hand: 64 subsets, one rule set, weights by size of subset."""
    arrays = [
        [table[figure].to_numpy() for figure in FIGURES]
        + [table["zone"].astype(int).to_numpy(), table["residential"].to_numpy()]
        for table in (of.before, of.measured)
    ]
    movers = (LONGEST, OTHER_SIDES, ROUNDING, WEIGHT, 5, 4)
    count = len(PLAYERS)
    worth = np.stack(
        [
            by_hand(*(arrays[subset >> mover & 1][place] for place, mover in enumerate(movers)))
            for subset in range(1 << count)
        ]
    )
    weight = [factorial(size) * factorial(count - size - 1) for size in range(count)]
    shares = np.zeros((count, worth.shape[1]), dtype=np.int64)
    for player in range(count):
        for subset in range(1 << count):
            if not subset >> player & 1:
                shares[player] += weight[subset.bit_count()] * (worth[subset | 1 << player] - worth[subset])
    whole, rest = np.divmod(shares, factorial(count))
    left = rest.sum(axis=0) // factorial(count)
    rank = np.argsort(np.argsort(-rest, axis=0, kind="stable"), axis=0, kind="stable")
    return np.asarray(whole + (rank < left))


def main() -> None:
    """Print times, their ratio and the memory; both must come to the same cents."""
    of, book, listed = cases(COUNT), Rulebook(load("us-ground-common")), prices(152_500)
    assert (enumerated(of) == shapley_shares(of, book, listed).to_numpy().T).all()
    work, floor, times = ratio(lambda: shapley_shares(of, book, listed), lambda: enumerated(of), runs=3)
    print(f"{COUNT:,} adjustments: {work:.2f} s, by hand {floor:.2f} s, ratio {times:.2f}; peak {peak_mb():.0f} MB")


if __name__ == "__main__":
    main()
