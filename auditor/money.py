"""Money as whole cents, and ways to split it that lose none."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt


def text(cents: int) -> str:
    """Plain decimal for files: 3496 → '34.96', -5 → '-0.05'."""
    sign = "-" if cents < 0 else ""
    return f"{sign}{abs(cents) // 100}.{abs(cents) % 100:02d}"


def dollars(cents: int) -> str:
    """For people: 349600 → '$3,496.00', -5 → '−$0.05'."""
    sign = "−" if cents < 0 else ""
    return f"{sign}${abs(cents) // 100:,}.{abs(cents) % 100:02d}"


def half_up(numerator: npt.NDArray[np.int64], denominator: int) -> npt.NDArray[np.int64]:
    """numerator/denominator to the nearest whole, halves away from zero, in integers throughout."""
    import numpy as np

    size = (2 * np.abs(numerator) + denominator) // (2 * denominator)
    return np.where(numerator < 0, -size, size)


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
