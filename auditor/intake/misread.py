"""Tracking numbers that are told to be misread by their own check digit."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from auditor.core.schemas import Problem
from auditor.intake.check_digits import checked

SAMPLE = 200
"""So many distinct numbers are looked at to tell whether a table's numbers have a check digit at all."""
ROWS = 10_000
"""They are taken from so many rows, spread over the table."""

USUAL = 0.8
"""From this share of right check digits on, a scheme is taken to be the one that the table's numbers follow."""

MOST_TOLD = 20


def misread(table: pd.DataFrame) -> Iterator[Problem]:
    """A note for each number of a table (tracking, source_file, source_place) whose check digit does not fit.

    Only where the table's numbers follow a published scheme at all: a number of a carrier's own shape has no check
    digit that is known here, and none is made up for it.
    """
    step = len(table) // ROWS + 1
    schemes = _schemes(table["tracking"].iloc[::step].dropna().drop_duplicates())
    if not schemes:
        return
    numbers = table["tracking"].dropna().drop_duplicates()
    wrong = table.loc[numbers.index[[_is_wrong(number, schemes) for number in numbers]]]
    for number, file, place in wrong[["tracking", "source_file", "source_place"]].head(MOST_TOLD).to_numpy().tolist():
        message = (
            f"The last digit of tracking number {number} does not fit the others ({' or '.join(sorted(schemes))}), so "
            "a character of it was probably misread or mistyped. Compare it with the label."
        )
        yield Problem(file, place, message, note=True)
    if len(wrong) > MOST_TOLD:
        message = f"{len(wrong) - MOST_TOLD:,} more tracking numbers have a last digit that does not fit the others."
        yield Problem(str(wrong["source_file"].iloc[-1]), "", message, note=True)


def _schemes(numbers: pd.Series) -> set[str]:
    """The schemes that the numbers follow."""
    step = max(len(numbers) // SAMPLE, 1)
    answers = [checked(number) for number in numbers.iloc[::step]]
    right = pd.DataFrame(answers, index=range(len(answers))).agg(["mean", "count"]).T
    return (
        set(right.index[(right["mean"] >= USUAL) & (right["count"] >= USUAL * len(answers))]) if len(right) else set()
    )


def _is_wrong(number: str, schemes: set[str]) -> bool:
    answers = {name: right for name, right in checked(number).items() if name in schemes}
    return bool(answers) and not any(answers.values())
