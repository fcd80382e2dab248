"""What is said wherever a carton is to be cut, or a heavy parcel lifted: the only place for these words."""

from __future__ import annotations

import pandas as pd

from auditor.core import units
from auditor.core.sides import SIDES

CUTTING = (
    "Cut only where what you pack leaves half an inch of air (common practice, no source): what is inside is unknown.",
    (
        "A cut or telescoped carton is weaker, and the strength and size limits that its maker printed on it hold no "
        "more: keep two inches of padding on each side of fragile goods, and tape all seams anew (common practice, no "
        "source)."
    ),
    "It may also weaken a claim for damage: read what your carrier asks of packaging (common practice, no source).",
    (
        "Local rules for such work come first. Wear cut-resistant gloves; cut with a sharp blade, the carton empty and "
        "on a firm surface, away from hand and body (common practice, no source)."
    ),
    "After a cut, measure again and declare what you then measure, never less.",
)

LIFTING_PG = 51 * units.PG_PER_POUND
"""The load constant of the revised NIOSH lifting equation, 23 kg or 51 lb: the most for one person in the best posture
(Applications Manual for the Revised NIOSH Lifting Equation, DHHS (NIOSH) Publication No. 94-110, revised 9/2021)."""

LIFTING = (
    "Heavy: 51 lb (23 kg) is the most that is recommended for one person to lift, and only in the best posture, close "
    "to the body and now and then (NIOSH lifting equation, Publication No. 94-110). Lift it with somebody else or with "
    "a trolley. Local rules come first."
)


def of_advice(advice: pd.DataFrame, weights_pg: pd.Series) -> tuple[str, ...]:
    """The cautions that go with HABIT_ADVICE: of cutting, where it names a length to cut to; of lifting."""
    cut = advice["about"].isin(SIDES) & advice["then"].notna()
    return (*(CUTTING if cut.any() else ()), *of_lifting(weights_pg))


def of_lifting(weights_pg: pd.Series) -> tuple[str, ...]:
    """The caution of lifting, where one of the weights is above what one person should lift."""
    return (LIFTING,) if (weights_pg > LIFTING_PG).any() else ()
