"""Tables fit their schema, also where a column is absent or there are no rows."""

from __future__ import annotations

import pandas as pd
import pytest

from auditor.core.schemas import SHIPMENTS, Column, conform
from auditor.core.schemas.conforming import empty, joined, looked_up, names, rows

SCHEMA = (
    Column("tracking", "str", "a number"),
    Column("cents", "Int64", "cents"),
    Column("day", "datetime64[s]", "a day"),
    Column("paid", "boolean", "whether"),
    Column("share", "Float64", "a share"),
)


def test_absent_columns_come_out_missing_in_their_order_and_kind() -> None:
    """Others are left out; the index stays."""
    frame = pd.DataFrame({"cents": [5, 7], "other": "x"}, index=[4, 9])
    table = conform(frame, SCHEMA)
    assert list(table) == names(SCHEMA) == ["tracking", "cents", "day", "paid", "share"]
    assert [str(dtype) for dtype in table.dtypes] == [column.dtype for column in SCHEMA]
    assert table.index.tolist() == [4, 9]
    assert table["cents"].tolist() == [5, 7]
    assert table.drop(columns="cents").isna().all(axis=None)
    assert table.notna().sum().sum() == 2


@pytest.mark.parametrize("count", [0, 1, 3])
def test_a_table_of_nothing_but_rows(count: int) -> None:
    """Every column of the records, all missing."""
    table = conform(pd.DataFrame(index=range(count)), SHIPMENTS)
    assert table.shape == (count, len(SHIPMENTS))
    assert table.isna().all(axis=None)
    assert [str(dtype) for dtype in table.dtypes] == [column.dtype for column in SHIPMENTS]


def test_an_empty_table_that_is_filled_stays_empty_for_others() -> None:
    """Each asks for its own."""
    one = empty(SCHEMA)
    one["cents"] = pd.array([], dtype="Int64")
    one["more"] = ""
    assert list(empty(SCHEMA)) == names(SCHEMA)
    assert len(empty(SCHEMA)) == 0


def test_tables_below_one_another_are_numbered_anew() -> None:
    """Those without a row do not count; of none comes an empty one."""
    one, other = (conform(pd.DataFrame({"cents": cents}), SCHEMA) for cents in ([1, 2], [3]))
    table = joined([one, empty(SCHEMA), other], SCHEMA)
    assert table["cents"].tolist() == [1, 2, 3]
    assert table.index.tolist() == [0, 1, 2]
    assert joined([], SCHEMA).equals(empty(SCHEMA))
    assert joined([empty(SCHEMA)], SCHEMA).equals(empty(SCHEMA))


def test_values_are_looked_up_by_label() -> None:
    """Missing where a key is missing or not there; keys may repeat."""
    keys = pd.Series([7, pd.NA, 5, 7, 6], dtype="Int64", index=list("abcde"))
    found = looked_up(keys, pd.Series(["five", "seven"], index=[5, 7], dtype="str"))
    assert found.index.tolist() == list("abcde")
    assert found.fillna("?").tolist() == ["seven", "?", "five", "seven", "?"]
    none = looked_up(keys.iloc[:0], pd.Series([], index=pd.Index([], dtype="int64"), dtype="str"))
    assert (len(none), str(none.dtype)) == (0, "str")


def test_rows_go_into_words_by_column() -> None:
    """As plain dictionaries."""
    assert rows(pd.DataFrame({"a": [1, 2], "b": ["x", "y"]})) == [{"a": 1, "b": "x"}, {"a": 2, "b": "y"}]
