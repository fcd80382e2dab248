"""Money as whole cents, and ways to split it that lose none."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Whole = npt.NDArray[np.int64] | int


def text(cents: int) -> str:
    """Plain decimal for files: 3496 → '34.96', -5 → '-0.05'."""
    sign = "-" if cents < 0 else ""
    return f"{sign}{abs(cents) // 100}.{abs(cents) % 100:02d}"


def dollars(cents: int) -> str:
    """For people: 349600 → '$3,496.00', -5 → '−$0.05'."""
    sign = "−" if cents < 0 else ""
    return f"{sign}${abs(cents) // 100:,}.{abs(cents) % 100:02d}"


MOST_SUMMED = 2**58
"""Cents that a column may come to: ten times as much, as by a percentage, is still a whole number of 64 bits."""

MOST_PRICE = 10**9
"""Cents that one parcel may cost by a list or a record: ten million. Chosen; sums of any number of prices then hold."""

LARGEST_PRODUCT = 2**61


def most_in(rows: int) -> int:
    """The most cents that an amount may be in a column of so many rows, for its sum to be exact."""
    return MOST_SUMMED // max(rows, 1)


def product(*factors: Whole) -> npt.NDArray[Any]:
    """The product of whole numbers, in Python's unbounded ones where 64 bits might not hold it, or twice it."""
    import numpy as np

    arrays: list[npt.NDArray[Any]] = [np.asarray(factor) for factor in factors]
    bound = 1
    for factor in arrays:
        bound *= max(abs(int(factor.max(initial=0))), abs(int(factor.min(initial=0))), 1)
    if bound >= LARGEST_PRODUCT:
        arrays = [factor.astype(object) for factor in arrays]
    result = arrays[0]
    for factor in arrays[1:]:
        result = result * factor
    return result


def half_up(numerator: npt.NDArray[Any], denominator: int) -> npt.NDArray[np.int64]:
    """numerator/denominator to the nearest whole, halves away from zero, in integers throughout."""
    import numpy as np

    size = (2 * np.abs(numerator) + denominator) // (2 * denominator)
    return np.asarray(np.where(numerator < 0, -size, size), dtype=np.int64)


def split(total: int, weights: Sequence[Fraction | int]) -> list[int]:
    """Share `total` cents over exact parts that add up to it: largest remainder, ties to the earlier part.

    Each part gets the whole cents below it, and the cents left over go one each to the parts that lost most.
    Raises ValueError when the parts do not add up to the total.
    """
    if sum(weights) != total:
        raise ValueError(f"the parts add up to {sum(weights)}, not to {total}")
    floors = [weight.__floor__() for weight in weights]
    left = total - sum(floors)
    by_loss = sorted(range(len(weights)), key=lambda i: (floors[i] - weights[i], i))
    gets_one = set(by_loss[:left])
    return [floor + (i in gets_one) for i, floor in enumerate(floors)]
