"""Labels billed as if volume were divided by another number than the rules say: one question, not many findings."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from auditor.charges.schema import Cases, by_rules
from auditor.core.schemas import Problem
from auditor.core.sides import SIDES
from auditor.core.units import factor
from auditor.tariff import Prices, Rulebook, Rules, price

LEAST_LABELS, MOST = 8, 0.8
"""So many labels, and so large a share of those billed by more weight than due, tell of another divisor (chosen)."""
HALF = 0.5
SPAN = 1.6
"""Divisors are tried from the rules' own by this factor down and up (chosen)."""


def other_divisors(cases: Cases, book: Rulebook, prices: Prices) -> Iterator[Problem]:
    """A question for each stretch of rules in which most labels' billed weights follow one other divisor.

    Weights that are rounded otherwise than up to whole units tell nothing here.
    """
    labels = cases.before[cases.about["first"] & ~cases.about["voided"]]
    billed = cases.about.loc[labels.index, "billed_weight_pg"]
    shown = cases.about.loc[labels.index, "probability"].isna()
    # Inferred sides are no evidence.
    sides = cases.measured.loc[labels.index, list(SIDES)].where(shown, labels[list(SIDES)])
    due = price(labels, book, prices, detail=True)["billable_pg"]
    for rules, rows in by_rules(book, labels):
        printed = rows[(billed.loc[rows].notna() & due.loc[rows].notna()).to_numpy(dtype=bool)]
        off = printed[(billed.loc[printed] != due.loc[printed]).to_numpy(dtype=bool)]
        unit = int(factor(rules.weight_unit, "weight"))
        if rules.dimensional is None or rules.weight_rounding.way != "up" or rules.weight_rounding.step != unit:
            continue
        if len(off) < LEAST_LABELS or len(off) <= HALF * len(printed):
            continue
        found, fitting = _fitting(sides.loc[off], billed.loc[off], rules)
        own = rules.dimensional.divisor * unit / factor(rules.length_unit, "length") ** 3
        if fitting >= MOST * len(off) and own not in found:
            yield _asked(found, round(float(own)), (fitting, len(off), len(printed)), rules)


def _fitting(measured: pd.DataFrame, billed: pd.Series, rules: Rules) -> tuple[list[int], int]:
    """The whole divisors that give most of the billed weights, and how many those are."""
    size, unit = int(factor(rules.length_unit, "length")), int(factor(rules.weight_unit, "weight"))
    rounding = rules.side_rounding
    sides = [rounding.steps(measured[side]).to_numpy(dtype=np.float64) * rounding.step / size for side in SIDES]
    volume, weight = np.prod(sides, axis=0), billed.to_numpy(dtype=np.float64) / unit
    own = float(rules.dimensional.divisor * unit / size**3) if rules.dimensional else 0.0
    tried = np.arange(round(own / SPAN), round(own * SPAN) + 1)
    gives = (np.ceil(volume[:, None] / tried - 1e-9) == weight[:, None]).sum(axis=0)
    return tried[gives == gives.max()].tolist(), int(gives.max())


def _asked(found: list[int], own: int, counts: tuple[int, int, int], rules: Rules) -> Problem:
    fitting, off, labels = counts
    words = f"{found[0]:,}" if len(found) == 1 else f"a number from {found[0]:,} to {found[-1]:,}"
    return Problem(
        "",
        "",
        f"{off:,} of {labels:,} labels are billed by another weight than yours come to, {fitting:,} of them just as if "
        f"the volume were divided by {words} and not by {own:,}, as the rules {rules.tariff} say. Look whether your "
        "agreement says so: then put it into a rule file of your own (docs/rules.md). If it does not, ask the carrier "
        "once which of them holds for you. The weights you typed need not be wrong.",
    )
