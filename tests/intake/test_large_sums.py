"""No sum of money wraps around: amounts that leave no room for an exact one are told, and their rows kept."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor import intake, reconcile
from auditor.core import money
from auditor.core.schemas import LINES, Problem, conform
from auditor.intake.summable import summable
from auditor.tariff import load, price
from tests.parcels import parcel, prices, table

HEAD = "Statement,Statement date,Tracking number,Ship date,Service,Zone,Charge,Amount\n"
HUGE = "999999999999.99"


def statement(folder: Path, name: str, lines: int, amount: str = HUGE) -> Path:
    """A statement of so many lines of one amount."""
    rows = (f"{name},2026-04-01,{name}{at:06d},2026-03-04,Ground,5,Freight,{amount}\n" for at in range(lines))
    (folder / f"{name}.csv").write_text(HEAD + "".join(rows), encoding="utf-8")
    return folder / f"{name}.csv"


def test_a_statement_beyond_2_to_the_63_cents_is_told_and_its_lines_are_kept(tmp_path: Path) -> None:
    """95,000 lines of 999,999,999,999.99 once came to a negative sum without a word."""
    audit = reconcile([statement(tmp_path, "NP", 95_000)])
    assert len(audit.lines) == 95_000
    assert audit.lines["amount_cents"].isna().all()
    assert audit.billed_cents == 0
    assert not any("-" in str(cents) for cents in audit.statements["lines_total_cents"])
    told = [problem.message for problem in audit.problems]
    assert (
        f"'{HUGE}' in column 'Amount' is more money than any statement has. The cell was left empty and the rest of "
        "its row kept; correct it and run again."
    ) in told
    assert "94,980 more cells of column 'Amount' have faults like those above." in told


def test_files_that_are_beyond_it_only_together_are_told(tmp_path: Path) -> None:
    """Each by itself has a sum; both have none that is sure."""
    files = [statement(tmp_path, name, 1_500) for name in ("NP", "LP")]
    alone = intake.read(files[:1])
    assert int(alone.lines["amount_cents"].sum()) == 1_500 * 99_999_999_999_999
    assert alone.problems == ()
    both = intake.read(files)
    assert len(both.lines) == 3_000
    assert both.lines["amount_cents"].isna().all()
    assert both.problems[0] == Problem(
        "LP.csv",
        "row 2",
        "1,500 amounts are too large to be added up exactly over 3,000 rows, the first $999,999,999,999.99. Their rows "
        "were kept without them. Look whether they are amounts of money; correct the file and run again.",
    )


def test_ordinary_amounts_beside_a_huge_one_are_counted(tmp_path: Path) -> None:
    """Only what leaves no room is left out."""
    cells = {"source_file": "a.csv", "source_place": "row 2", "amount_cents": [1234] * 2999 + [10**14]}
    within, problems = summable(conform(pd.DataFrame(cells), LINES), LINES)
    assert int(within["amount_cents"].sum()) == 2999 * 1234
    assert [problem.message.split(",")[0] for problem in problems] == [
        "An amount is too large to be added up exactly over 3"
    ]
    assert tmp_path.is_dir()


def test_a_price_that_no_parcel_costs_is_told_and_its_row_left_out(tmp_path: Path) -> None:
    """Prices are multiplied, by fuel and by parcels, so they are held to ten million."""
    file = tmp_path / "rates.csv"
    file.write_text(
        "Service,Zone,Weight up to (lb),Price\nGround,5,1,10000000.01\nGround,5,2,10000000.00\n", encoding="utf-8"
    )
    read = intake.read([file])
    assert read.rates["price_cents"].tolist() == [10**9]
    assert read.problems[0].message.startswith(
        "'10000000.01' in column 'Price' is more money than any parcel costs. The row was left out"
    )


@pytest.mark.parametrize("cents", [10**9, 10**13])
def test_fuel_on_a_price_of_any_size_is_exact(cents: int) -> None:
    """15.25 %, and what came of it by 64 bits alone was not."""
    of = prices(152_500)
    of.rates["price_cents"] = cents
    got = price(table(parcel("10 x 10 x 10", 5)), load("us-ground-common"), of).iloc[0]
    assert int(got["fuel_cents"]) == cents * 1525 // 10_000
    assert int(got["total_cents"]) == cents + cents * 1525 // 10_000


wholes = st.integers(-(2**60), 2**60)


@given(st.lists(st.tuples(wholes, st.integers(0, 10_000_000)), min_size=1))
def test_products_are_exact_whatever_their_size(pairs: list[tuple[int, int]]) -> None:
    """Held against Python's own whole numbers."""
    cents, ppm = (np.array(of, dtype=np.int64) for of in zip(*pairs, strict=True))
    assert money.product(cents, ppm).tolist() == [one * other for one, other in pairs]


WAYS = [
    ("1,234.50", "1,234", "1234.00", "12.34"),
    ("1.234,50", "1.234", "1234.00", "12,34"),
]


@pytest.mark.parametrize(("plain", "unclear", "read", "other"), WAYS)
def test_an_amount_without_decimals_among_others_with_two_is_told_as_it_was_read(
    tmp_path: Path, plain: str, unclear: str, read: str, other: str
) -> None:
    """'1,234' may be 1,234.00, or a slip for 1.234 or 12.34; in either way of writing numbers."""
    rows = "".join(
        f'NP-1,2026-04-01,NP{at},2026-03-04,Ground,5,Freight,"{amount}"\n'
        for at, amount in enumerate((plain, other, unclear, other, unclear))
    )
    file = tmp_path / "statement.csv"
    file.write_text(HEAD + rows, encoding="utf-8")
    taken = intake.read([file])
    assert int(taken.lines["amount_cents"].sum()) == 123450 + 2 * 1234 + 2 * 123400
    assert (
        Problem(
            "statement.csv",
            "row 4",
            f"2 amounts in column 'Amount' have no decimals, where others have two: '{unclear}' was read as {read}. If "
            "that is not what is meant, correct the file and run again.",
            note=True,
        )
        in taken.problems
    )


def test_amounts_of_which_none_has_decimals_need_no_word(tmp_path: Path) -> None:
    """Nor do ones written without a mark for thousands."""
    told = []
    for amounts in (("1,234", "12"), ("1234", "12.34")):
        rows = "".join(f'NP-1,2026-04-01,NP{amount},2026-03-04,Ground,5,Freight,"{amount}"\n' for amount in amounts)
        (tmp_path / "statement.csv").write_text(HEAD + rows, encoding="utf-8")
        told += [problem for problem in intake.read([tmp_path]).problems if "decimals" in problem.message]
    assert told == []
