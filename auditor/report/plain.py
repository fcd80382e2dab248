"""A table's rows as plain values, for text that is written row by row."""

from __future__ import annotations

from typing import Any

import pandas as pd

Row = dict[str, Any]


def plain_rows(frame: pd.DataFrame) -> list[Row]:
    """The rows as dictionaries of plain values by column name, None where one is missing."""
    values = frame.astype(object).mask(frame.isna(), None)
    return [{str(name): value for name, value in row.items()} for row in values.to_dict("records")]
