"""A million parcels priced, against the same single rule set written by hand in numpy.

Run: python -m tests.benchmarks.pricing
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.core import units
from auditor.core.arrays import Whole
from auditor.tariff import load, price
from tests.benchmarks.timing import peak_mb, ratio
from tests.parcels import FEE_CENTS, prices

COUNT = 1_000_000
IN, LB = units.NM_PER_INCH, units.PG_PER_POUND


def parcels(count: int, seed: int = 7) -> pd.DataFrame:
    """Long, awkward parcels of March 2026, zones 2 to 8."""
    random = np.random.default_rng(seed)
    return pd.DataFrame(
        {
            "service": pd.Categorical(["Ground"] * count),
            "zone": pd.Series(random.integers(2, 9, count)).astype("str").astype("category"),
            "shipped_on": np.datetime64("2026-03-02", "s")
            + random.integers(0, 30, count) * np.timedelta64(86_400, "s"),
            "length_nm": random.integers(10 * 64, 55 * 64, count) * (IN // 64),
            "width_nm": random.integers(6 * 64, 20 * 64, count) * (IN // 64),
            "height_nm": random.integers(4 * 64, 14 * 64, count) * (IN // 64),
            "weight_pg": random.integers(1, 800, count) * (LB // 16),
            "residential": random.random(count) < 0.6,
        }
    )


def by_hand(
    length: Whole, width: Whole, height: Whole, weight: Whole, zone: Whole, home: npt.NDArray[np.bool_]
) -> Whole:
    """The March 2026 rules of us-ground-common with the prices of tests/parcels.py, for a fixed fuel percentage."""
    sides = np.sort(np.stack([-(-side // IN) for side in (length, width, height)]), axis=0)
    shortest, second, longest = sides
    girth = longest + 2 * (second + shortest)
    volume = longest * second * shortest
    by_length = (longest > 48) | (second > 30) | (girth > 105)
    handled = by_length | (volume > 10_368) | (weight > 50 * LB)
    large = (longest > 96) | (girth > 130) | (volume > 17_280) | (weight > 110 * LB)
    handled &= ~large
    billable = np.maximum(-(-volume // 139), -(-weight // LB))
    billable = np.where(handled & by_length, np.maximum(billable, 40), billable)
    billable = np.where(large, np.maximum(billable, 90), billable)
    table = np.array([[900 + 71 * lb + 37 * z for lb in range(151)] for z in range(9)])
    carried = table[zone, billable]
    carried = carried + FEE_CENTS["additional handling"] * handled + FEE_CENTS["large parcel"] * large
    carried = carried + FEE_CENTS["residential"] * home
    return np.asarray(carried + (2 * carried * 152_500 + 1_000_000) // 2_000_000)


def main() -> None:
    """Print times, their ratio and the memory; both must come to the same cents."""
    table, tariff, of = parcels(COUNT), load("us-ground-common"), prices(152_500)
    sides = [table[f"{side}_nm"].to_numpy() for side in ("length", "width", "height")]
    zone = table["zone"].astype(int).to_numpy()
    arrays = (*sides, table["weight_pg"].to_numpy(), zone, table["residential"].to_numpy())
    assert (price(table, tariff, of)["total_cents"].to_numpy(dtype=np.int64) == by_hand(*arrays)).all()
    work, floor, times = ratio(lambda: price(table, tariff, of), lambda: by_hand(*arrays))
    print(f"{COUNT:,} parcels: {work:.3f} s, by hand {floor:.3f} s, ratio {times:.2f}; peak {peak_mb():.0f} MB")


if __name__ == "__main__":
    main()
