"""Tables made to fit a schema, and what is done with any table that does."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any

from auditor.core.schemas.columns import Column, Schema

if TYPE_CHECKING:
    import pandas as pd


def names(schema: Schema) -> list[str]:
    """The column names of a schema, in order."""
    return [column.name for column in schema]


def conform(frame: pd.DataFrame, schema: Schema) -> pd.DataFrame:
    """The frame with just the schema's columns, in its order and dtypes; an absent column comes out missing."""
    import pandas as pd

    def values(column: Column) -> Any:
        if column.name not in frame:
            return _missing(column.dtype, frame.index)
        given: Any = frame[column.name]
        return given if given.dtype == column.dtype else given.astype(column.dtype)

    return pd.DataFrame({column.name: values(column) for column in schema}, index=frame.index, copy=False)


def _missing(dtype: str, index: pd.Index) -> pd.Series:
    """A column without any value, made from one of it, which is quicker than to turn as many blanks into its dtype."""
    import numpy as np
    import pandas as pd

    one = _one_missing(dtype)
    if isinstance(one, pd.arrays.ArrowStringArray):
        return pd.Series(pd.array(_nulls(len(index)), dtype=dtype), index=index)
    if isinstance(one, pd.arrays.IntegerArray | pd.arrays.BooleanArray):
        kind: Any = one.dtype
        zeros = np.zeros(len(index), dtype=kind.numpy_dtype)  # no memory is taken before it is written to
        array = kind.construct_array_type()(zeros, np.ones(len(index), dtype=bool))
        return pd.Series(array, index=index, copy=False)
    return pd.Series(one.take(np.zeros(len(index), dtype=np.int64)), index=index)


@lru_cache(maxsize=1)
def _nulls(count: int) -> Any:
    """So many missing texts; pyarrow's arrays do not change, so that several columns may have the same."""
    import pyarrow as pa

    return pa.nulls(count, pa.large_string())


@cache
def _one_missing(dtype: str) -> Any:
    import pandas as pd

    return pd.Series([None], dtype=object).astype(dtype).array  # type: ignore[call-overload]


@cache
def _empty(schema: Schema) -> pd.DataFrame:
    import pandas as pd

    return conform(pd.DataFrame(index=pd.RangeIndex(0)), schema)


def empty(schema: Schema) -> pd.DataFrame:
    """A table of that schema with no rows."""
    return _empty(schema).copy()


def joined(frames: Iterable[pd.DataFrame], schema: Schema) -> pd.DataFrame:
    """The tables below one another, numbered anew; an empty table of the schema when there are none."""
    import pandas as pd

    filled = [frame for frame in frames if len(frame)]
    return pd.concat(filled, ignore_index=True) if filled else empty(schema)


def looked_up(keys: pd.Series, values: pd.Series) -> pd.Series:
    """For each key the value at that label, missing where there is none; of the values' dtype also when it is empty."""
    known = keys.dropna()
    return values.reindex(known).set_axis(known.index).reindex(keys.index)


def rows(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """The table's rows as plain dictionaries by column name, for its few rows that go into words."""
    return [{str(name): value for name, value in row.items()} for row in frame.to_dict("records")]
