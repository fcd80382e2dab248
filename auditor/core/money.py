"""Money as whole cents, and ways to split it that lose none."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import lcm
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy.typing as npt

    from auditor.core.arrays import Whole


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


def product(*factors: Whole | int) -> npt.NDArray[Any]:
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


def half_up(numerator: npt.NDArray[Any], denominator: int) -> Whole:
    """numerator/denominator to the nearest whole, halves away from zero, in integers throughout."""
    import numpy as np

    size = (2 * np.abs(numerator) + denominator) // (2 * denominator)
    return np.asarray(np.where(numerator < 0, -size, size), dtype=np.int64)


def largest_remainder(parts: npt.NDArray[Any], denominator: int) -> Whole:
    """Rows of numerators over one denominator as whole numbers of the same sum: each row's has to be whole.

    Each part gets the whole number below it, and what is left goes one each to the parts that lost most, of equal ones
    to the earlier.
    """
    import numpy as np

    below = parts // denominator
    rest = parts - below * denominator
    left = rest.sum(axis=1) // denominator
    rank = np.argsort(np.argsort(-rest, axis=1, kind="stable"), axis=1, kind="stable")
    return np.asarray(below + (rank < left[:, None]), dtype=np.int64)


def split(total: int, parts: Sequence[Fraction | int]) -> list[int]:
    """Share `total` cents over exact parts that add up to it, by largest remainder.

    Raises ValueError when the parts do not add up to the total.
    """
    import numpy as np

    if sum(parts) != total:
        raise ValueError(f"the parts add up to {sum(parts)}, not to {total}")
    denominator = lcm(*(part.denominator for part in parts))
    numerators = [part.numerator * (denominator // part.denominator) for part in parts]
    return [int(cents) for cents in largest_remainder(np.array([numerators], dtype=object), denominator)[0]]
