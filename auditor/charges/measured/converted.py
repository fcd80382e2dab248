"""Figures printed in another system of units than the rules', taken for what they were before they were converted.

24 in stand as 61.0 cm, which is 24.02 in and would be rounded up to 25. A figure of so many digits is known to half a
last digit only: what the seller declared is meant where it lies within that, and a whole step of the rule where all of
a statement's figures lie so near to one, as they do where it prints what it had rounded (one in 25 by chance).
"""

from __future__ import annotations

import pandas as pd

from auditor.charges.schema import by_rules
from auditor.core.sides import SIDES
from auditor.core.units import NM_PER_INCH, PG_PER_POUND
from auditor.tariff import Rounding, Rulebook

METRIC = {"length": 10**6, "weight": 10**13}
"""What metric figures are printed to: a tenth of a centimetre, a hundredth of a kilogram (common practice,
no source)."""
CUSTOMARY = {"length": NM_PER_INCH // 100, "weight": PG_PER_POUND // 100}
"""And those in inches and pounds: two decimals (common practice, no source)."""
FINE = {"length": 10**5, "weight": 10**12}
"""What a metric figure is whole of when it was never converted."""


def as_meant(lines: pd.DataFrame, shipments: pd.DataFrame, book: Rulebook) -> pd.DataFrame:
    """The lines with their figures as they were before they were converted.

    Args:
        lines: LINES with `shipment`, the row of `shipments` each belongs to.
        shipments: SHIPMENTS.
        book: whose units and rounding hold.
    """
    own = shipments.loc[lines["shipment"].astype("int64")].set_axis(lines.index)
    of_rules = pd.DataFrame({name: lines[name].fillna(own[name]) for name in ("service", "shipped_on")})
    meant = lines.copy()
    for rules, rows in by_rules(book, of_rules):
        for name, declared, kind, unit, rounding in (
            *((f"billed_{side}", side, "length", rules.length_unit, rules.side_rounding) for side in SIDES),
            ("billed_weight_pg", "weight_pg", "weight", rules.weight_unit, rules.weight_rounding),
            ("measured_weight_pg", "weight_pg", "weight", rules.weight_unit, rules.weight_rounding),
        ):
            printed, other = _grains(kind, metric=unit in ("cm", "mm", "m", "g", "kg"))
            figure = lines.loc[rows, name]
            converted = ((figure % printed == 0) & (figure % other != 0)).fillna(value=False)
            if converted.any():
                at = rows[converted.to_numpy(dtype=bool)]
                by_statement = lines.loc[at, "statement"].fillna("")
                meant.loc[at, name] = _before(
                    figure.loc[at], own.loc[at, declared], by_statement, printed // 2, rounding
                )
    return meant


def _grains(kind: str, *, metric: bool) -> tuple[int, int]:
    """What figures of the other system are whole multiples of, and what those of the rules' own are."""
    return (CUSTOMARY[kind], FINE[kind]) if metric else (METRIC[kind], CUSTOMARY[kind])


def _before(figure: pd.Series, declared: pd.Series, statement: pd.Series, half: int, rounding: Rounding) -> pd.Series:
    as_declared = ((figure - declared).abs() <= half).fillna(value=False)
    step = (2 * figure + rounding.step) // (2 * rounding.step) * rounding.step
    near = ((figure - step).abs() <= half).fillna(value=False)
    rounded = near.groupby(statement).transform("all")
    return figure.mask(rounded, step).mask(as_declared, declared)
