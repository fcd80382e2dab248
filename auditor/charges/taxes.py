"""Tax that does not fit the tax on the statement's other parcels.

What is taxed, and at which percentage, depends on places and on laws that a statement does not tell. All that can be
seen is whether a parcel is treated as the others on its statement are; where it is not, the tax is one to ask about.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.core import money
from auditor.core.arrays import Whole

ENOUGH_PARCELS, SELDOM = 20, 20
"""Tax is odd where at least so many parcels are billed alike, and it is charged on at most one in so many of them."""

ENOUGH_TAXED, MOST = 5, 0.75
"""Tax is held against a percentage that at least so many taxed parcels, and so large a part of them, agree on."""

ROUNDING_CENTS = 2
"""Tax may be rounded charge by charge, so that it is off the percentage of their sum by some cents."""


def doubtful(charged: pd.DataFrame) -> pd.DataFrame:
    """What of each parcel's tax fits the others on its statement.

    Args:
        charged: a row for each parcel and statement: statement; first, whether it bills the label (labels and later
            corrections are not held against one another); tax_cents; base_cents, all else that is billed for it.

    Returns:
        With the same index: due_cents, the tax that fits; ppm, the percentage that the others agree on in millionths
        (missing where they agree on none); alike, how many parcels are billed alike, and taxed, those of them with tax.
    """
    kind = [charged["statement"].fillna(""), charged["first"]]
    has = charged["tax_cents"] > 0
    alike = has.groupby(kind).transform("size")
    taxed = has.groupby(kind).transform("sum")
    seldom = (alike >= ENOUGH_PARCELS) & (taxed * SELDOM <= alike)
    ppm = pd.Series(pd.NA, index=charged.index, dtype="Int64")
    with_tax = charged[has & ~seldom & (charged["base_cents"] > 0)]
    for _, rows in with_tax.groupby("statement", dropna=False):
        if len(rows) >= ENOUGH_TAXED:
            ppm.loc[rows.index] = _agreed(rows["tax_cents"].to_numpy(), rows["base_cents"].to_numpy())
    base, percent = np.asarray(charged["base_cents"], dtype=np.int64), ppm.to_numpy(dtype=np.int64, na_value=0)
    by_percent = money.half_up(money.product(base, percent), 1_000_000)
    over = (charged["tax_cents"] > by_percent + ROUNDING_CENTS) & ppm.notna()
    due = charged["tax_cents"].mask(over, by_percent).mask(seldom, 0)
    return pd.DataFrame({"due_cents": due, "ppm": ppm, "alike": alike, "taxed": taxed}, index=charged.index)


def _agreed(tax: Whole, base: Whole) -> int | None:
    """The roundest percentage, in millionths, that most parcels' taxes round from; None where too few agree on one."""
    low, high = (tax - 0.5) / base, (tax + 0.5) / base
    ends = np.sort(np.concatenate([low, high]))
    middles = (ends[1:] + ends[:-1]) / 2
    within = np.searchsorted(np.sort(low), middles, "right") - np.searchsorted(np.sort(high), middles, "left")
    best = int(within.argmax())
    if within[best] < MOST * len(tax):
        return None
    rounded = (round(float(middles[best]), digits) for digits in range(2, 7))
    return round(
        1_000_000 * next((percent for percent in rounded if ends[best] <= percent <= ends[best + 1]), middles[best])
    )
