"""A statement whose every heading and charge name is meaningless is read by records, prices and its arithmetic."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pandas as pd
import pytest

from auditor.intake.documents import Grid
from auditor.intake.reading.interpret import Interpreted, interpret
from tests.nonsense import ROLES, STRUCTURES, Drawn, known


def _read(drawn: Drawn, what: str) -> Interpreted:
    found = interpret("statement.csv", drawn.grid, known(what))
    assert found is not None
    return found


def _lines(read: Interpreted) -> Counter[tuple[str | None, int, str]]:
    lines = read.lines
    numbers = [None if pd.isna(one) else one for one in lines["tracking"]]
    return Counter(zip(numbers, lines["amount_cents"], lines["description"], strict=True))


@pytest.mark.sample(6)
@pytest.mark.parametrize("structure", STRUCTURES)
@pytest.mark.parametrize("what", ["all", "half"])
def test_every_line_is_read_with_its_name_and_total_and_no_sum_is_a_line(structure: str, what: str) -> None:
    """With all that is known, with half of the parcels, without prices, without what labels cost as well."""
    drawn = STRUCTURES[structure](4)
    read = _read(drawn, what)
    assert Counter(drawn.planted) == _lines(read)
    assert [drawn.total] == list(read.totals["printed_total_cents"])


@pytest.mark.sample(3)
@pytest.mark.parametrize("structure", STRUCTURES)
def test_the_figures_beside_the_charges_are_told_by_the_records(structure: str) -> None:
    """Day, zone, order, weight and sides, whatever their headings and order."""
    read = _read(STRUCTURES[structure](5), "all")
    assert {*ROLES} <= {column.role for column in read.columns}


def test_a_statement_of_another_shop_is_none() -> None:
    """No number of ours stands in it."""
    drawn = STRUCTURES["a row a charge"](1)
    others = replace(
        known(),
        shipments=known().shipments.assign(tracking="QX0000000" + known().shipments.index.astype(str), order=None),
    )
    assert interpret("statement.csv", drawn.grid, others) is None


def test_a_table_without_amounts_is_none() -> None:
    """Numbers of ours alone are no statement."""
    numbers = known().shipments["tracking"].head(9)
    assert (
        interpret("list.csv", Grid([["Zuma"], *([one] for one in numbers)], [f"row {at}" for at in range(10)]), known())
        is None
    )
