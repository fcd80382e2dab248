"""What a schema is made of: columns, each with its dtype and meaning, and those that many tables have."""

from __future__ import annotations

from dataclasses import dataclass

TEXT = "str"
WHOLE = "Int64"
FLAG = "boolean"
DATE = "datetime64[s]"
SHARE = "Float64"


@dataclass(frozen=True)
class Column:
    """One column: its name carries its unit, `dtype` is a pandas dtype, a row without a `needed` value is useless."""

    name: str
    dtype: str
    meaning: str
    needed: bool = False


Schema = tuple[Column, ...]


def sides(prefix: str, of: str) -> Schema:
    """The three sides, each a column whose name begins with the prefix."""
    return tuple(
        Column(f"{prefix}{side}_nm", WHOLE, f"{which} side {of}; sides stand in falling order")
        for side, which in (("length", "longest"), ("width", "second"), ("height", "shortest"))
    )


SOURCE: Schema = (
    Column("source_file", TEXT, "name of the file the row was read from"),
    Column("source_place", TEXT, "where in that file: 'row 12', 'page 2, row 7', 'sheet Labels, row 3'"),
)
BOX = Column("source_box", TEXT, "where on its page, in points from the top left corner: 'x0 top x1 bottom'; PDF only")


def with_interval(name: str, dtype: str, meaning: str) -> Schema:
    """An estimate and the ends of its 90 % interval."""
    return (
        Column(name, dtype, meaning),
        Column(f"{name}_low", dtype, "lower end of its 90 % interval"),
        Column(f"{name}_high", dtype, "upper end of its 90 % interval"),
    )
