"""findings.csv and lines.csv: the tables of those names in plain units, safe to open in a spreadsheet.

A column is named as in its table with the unit a reader knows: `billed_cents` becomes `billed` (dollars),
`billed_length_nm` becomes `billed_length_in`, `billed_weight_pg` becomes `billed_weight_lb`.
"""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd

from auditor.audit import Audit
from auditor.core import money, schemas, units
from auditor.core.characters import harmless
from auditor.core.csv_cells import inert, quoted

LINES: schemas.Schema = (
    *schemas.LINES,
    schemas.Column("recorded", schemas.TEXT, "the parcel's number as the seller recorded it"),
    schemas.Column("finding", schemas.TEXT, "the finding it belongs to"),
)
"""What lines.csv holds: a statement line, the parcel it was joined to, and the finding that is about it."""

RENAMED = {"recorded": "shipment_tracking", "measured_weight_lb": "read_weight_lb"}
"""What a column is called in the file where its name in the table says less, or was another when files first had it."""


def findings_csv(audit: Audit) -> str:
    """The findings, a row each, in their order."""
    return csv_text(audit.findings, schemas.FINDINGS)


def lines_csv(audit: Audit) -> str:
    """Every statement line, in its order, and what became of it."""
    return csv_text(audit.lines, LINES)


def _inches(nanometres: int) -> str:
    return units.shown(nanometres, "in", "length", places=6)


def _text(words: str) -> str:
    return inert(harmless(words))


def _pounds(picograms: int) -> str:
    return units.shown(picograms, "lb", "weight", places=6)


BY_UNIT: dict[str, tuple[str, Callable[..., str]]] = {
    "_cents": ("", money.text),
    "_nm": ("_in", _inches),
    "_pg": ("_lb", _pounds),
}
BY_DTYPE: dict[str, Callable[..., str]] = {
    schemas.TEXT: _text,
    schemas.DATE: "{:%Y-%m-%d}".format,
    schemas.SHARE: "{:.3g}".format,
    schemas.WHOLE: str,
    schemas.FLAG: lambda yes: "yes" if yes else "no",
}


def _form(column: schemas.Column) -> tuple[str, Callable[..., str]]:
    for unit, (written_unit, write) in BY_UNIT.items():
        if column.name.endswith(unit):
            name = column.name.removesuffix(unit) + written_unit
            return RENAMED.get(name, name), write
    return RENAMED.get(column.name, column.name), BY_DTYPE[column.dtype]


def _cells(values: pd.Series, write: Callable[..., str]) -> pd.Series:
    # Few values are different in a long column, so each is written once.
    written = {value: quoted(write(value)) for value in values.dropna().drop_duplicates().tolist()}
    return values.astype(object).map(written).astype(object).fillna("")


def csv_text(frame: pd.DataFrame, schema: schemas.Schema) -> str:
    """A table of that schema as CSV in plain units, safe to open in a spreadsheet."""
    forms = {column.name: _form(column) for column in schema}
    columns = [_cells(frame[source], write) for source, (_, write) in forms.items()]
    rows = map(",".join, zip(*columns, strict=True))
    return "".join(f"{row}\n" for row in (",".join(name for name, _ in forms.values()), *rows))
