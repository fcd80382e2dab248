"""Columns by code: what is spread over the rows is what pandas itself looks up, whatever the kind and the runs."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import pytest

from auditor.core.schemas import DATE, FLAG, TEXT, WHOLE, Column, conform
from auditor.intake.texts import RUN, repeated, spread

VALUES: dict[str, list[Any]] = {
    WHOLE: [3, None, 2**62 + 1],
    FLAG: [True, None, False],
    DATE: [pd.Timestamp("2026-03-01"), None, pd.Timestamp("2026-03-31")],
    TEXT: ["Freight", None, "Fuel surcharge"],
    "object": [(1, 2), None, "x"],
}
LONG = np.repeat([0, 1, 2, 0], RUN)
ORDERS: dict[str, npt.NDArray[Any]] = {
    "none": np.array([], dtype=np.int8),
    "few": np.array([2, 0, 1, 1], dtype=np.int8),
    "the last by a code of -1": np.array([0, -1, 1], dtype=np.int8),
    "alternating": np.arange(2 * RUN + 5, dtype=np.int64) % 3,
    "one throughout": np.full(2 * RUN, 2, dtype=np.int8),
    "long runs, the last one short": LONG[: -RUN // 2].astype(np.int16),
    "runs between others": np.concatenate([np.arange(RUN) % 3, LONG, [1, 2, -1]]),
}


@pytest.mark.parametrize("dtype", VALUES)
@pytest.mark.parametrize("order", ORDERS)
def test_each_row_has_the_value_of_its_code(order: str, dtype: str) -> None:
    """As of pandas' own `take`, for every kind of values and every order of codes."""
    values: Any = pd.Series(VALUES[dtype], dtype=object)
    values, codes = values.astype(dtype), ORDERS[order]
    index = pd.RangeIndex(7, 7 + len(codes))
    pd.testing.assert_series_equal(spread(values, codes, index), values.take(codes).set_axis(index))


def test_a_text_in_every_row_takes_the_memory_of_one_run() -> None:
    """All its pieces are the same bytes."""
    column = repeated("statement.csv", pd.RangeIndex(10 * RUN))
    assert column.eq("statement.csv").all()
    chunks = column.array.__arrow_array__().chunks
    assert len({chunk.buffers()[2].address for chunk in chunks}) == 1


@pytest.mark.parametrize("dtype", [WHOLE, FLAG, DATE, TEXT])
def test_a_column_that_a_table_lacks_is_missing_in_each_row(dtype: str) -> None:
    """And is of the schema's kind."""
    frame = conform(pd.DataFrame(index=range(3)), (Column("one", dtype, ""), Column("other", dtype, "")))
    missing: Any = pd.Series([None] * 3, dtype=object)
    missing = missing.astype(dtype)
    pd.testing.assert_frame_equal(frame, pd.DataFrame({"one": missing, "other": missing}))
