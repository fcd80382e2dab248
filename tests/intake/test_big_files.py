"""Big files are read by column, and give what they would give row by row, however their rows are arranged."""

from __future__ import annotations

import re
from itertools import chain
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor import intake
from auditor.intake import by_column, csv_file, parsing
from tests import bad_files
from tests.layouts import statement_score, table_layouts
from tests.layouts.table_layouts import Layout
from tests.layouts.table_truth import lines

pytest.importorskip("pyarrow")

TABLES = [
    layout
    for layout in chain(table_layouts.LAYOUTS, *statement_score.SETS.values())
    if isinstance(layout, Layout) and layout.name != "a_web_page"
]
NUMBER, HEADINGS = "NP4410026{0:04d}", "Tracking number,Charge,Amount\n"


def both_ways(path: Path, patch: pytest.MonkeyPatch) -> tuple[intake.Intake, intake.Intake]:
    """What is read of a file row by row, and as of a big one."""
    by_row = intake.read([path])
    patch.setattr(csv_file, "BY_COLUMN_FROM", 0)
    return by_row, intake.read([path])


def assert_alike(one: intake.Intake, other: intake.Intake) -> None:
    """The same tables and the same told of them."""
    pd.testing.assert_frame_equal(one.lines, other.lines)
    pd.testing.assert_frame_equal(one.printed_totals, other.printed_totals)
    assert one.problems == other.problems


@pytest.mark.sample(15)
@pytest.mark.parametrize("layout", TABLES, ids=lambda layout: layout.name)
def test_every_table_is_read_alike_as_a_big_file(
    layout: Layout, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Those written without knowledge of the reader among them."""
    path = layout.write(tmp_path, lines(60, 4, metric=layout.metric, numbers=layout.numbers))
    assert_alike(*both_ways(path, monkeypatch))


def charges(parcels: int) -> str:
    """Two lines for each of so many parcels."""
    return "".join(
        f"{NUMBER.format(n)},{name},{n % 7 + 2}.00\n" for n in range(parcels) for name in ("Freight", "Fuel")
    )


ARRANGEMENTS = {
    "a column a charge, with their sum": "Tracking number,Freight,Fuel surcharge,Total\n"
    + "".join(f"{NUMBER.format(n)},{n % 9 + 1}.00,0.50,{n % 9 + 1}.50\n" for n in range(300)),
    "fees of no parcel": HEADINGS + charges(200) + ",Weekly service fee,12.00\n" + charges(3) + ",Pickup,4.00\n",
    "sums in unknown words": HEADINGS
    + "".join(
        f"{NUMBER.format(n)},Freight,{n}.00\n{NUMBER.format(n)},Fuel,1.00\n,Zusammen,{n + 1}.00\n" for n in range(1, 90)
    ),
    "charges under their parcel": HEADINGS
    + "".join(f"{NUMBER.format(n)},Freight,{n % 9 + 1}.00\n,Fuel,1.00\n" for n in range(150)),
    "charges in the numbers' column": HEADINGS
    + "".join(f"{NUMBER.format(n)},,\nFreight,,{n % 9 + 1}.00\nFuel,,1.00\n" for n in range(150)),
    "figures at a parcel's first charge": "Tracking number,Weight lb,Charge,Amount\n"
    + "".join(f"{NUMBER.format(n)},{n % 9 + 1},Freight,3.00\n{NUMBER.format(n)},,Fuel,1.00\n" for n in range(150)),
    "figures, and two of one number in a row": "Tracking number,Weight lb,Charge,Amount\n"
    + "".join(f"{NUMBER.format(n)},{n % 9 + 1},Freight,3.00\n{NUMBER.format(n + 1)},,Fuel,1.00\n" for n in range(150)),
    "names of days over rows": HEADINGS
    + "".join(f"{day} March 2026,,\n{NUMBER.format(day)},Freight,{day}.00\n" for day in range(1, 29)),
    "names of days over many rows": "1 March 2026,,\n"
    + HEADINGS
    + charges(600)
    + "".join(f"{day} March 2026,,\n" + charges(600) for day in (2, 3)),
    "the top of a page again": "Statement NP-7\n" + (HEADINGS + charges(40)) * 3,
    "the top of a page again, as wide as the table": ("Larkrise Post,,\n" + HEADINGS + charges(40)) * 3,
    "several particulars in one cell": "Tracking number,Service,Charge,Amount\n"
    + "".join(f"{NUMBER.format(n)},Ground Zone {n % 7 + 2},Freight,{n}.00\n" for n in range(1, 200)),
    "credits beside debits": "Tracking number,Charge,Debit,Credit\n"
    + "".join(f"{NUMBER.format(n)},Freight,{'' if n % 5 else n + 1},{n + 1 if n % 5 else ''}\n" for n in range(200)),
    "a mark behind those given back": "Tracking number,Charge,Amount,CR\n"
    + "".join(f"{NUMBER.format(n)},Freight,{n + 1}.00,{'' if n % 5 else 'CR'}\n" for n in range(200)),
    "decimal commas": "Tracking number;Charge;Amount\n"
    + "".join(f"{NUMBER.format(n)};Freight;{n % 3}.{n:03d},50 €\n" for n in range(1, 200)),
    "a cell too long": HEADINGS + charges(100) + f"{'1' * 200_000},Freight,2.00\n" + charges(3),
    "lines that end as long ago": (HEADINGS + charges(100)).replace("\n", "\r"),
    "all in quotation marks": "".join(
        '"{}"\n'.format('","'.join(row.split(","))) for row in (HEADINGS + charges(100)).splitlines()
    ),
}


@pytest.mark.parametrize("content", ARRANGEMENTS.values(), ids=ARRANGEMENTS)
def test_every_arrangement_is_read_alike_in_a_big_file(
    content: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With and without a total, which is found in both ways or in none."""
    by_row, by_col = both_ways(bad_files.write(tmp_path, "statement.csv", content), monkeypatch)
    assert not by_row.lines.empty
    assert_alike(by_row, by_col)


def test_a_plain_statement_is_not_turned_to_rows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nor one with fees of no parcel, nor with a total: a million rows would take half a minute."""
    monkeypatch.setattr(by_column.Columns, "by_row", lambda _: pytest.fail("it was read row by row"))
    monkeypatch.setattr(csv_file, "BY_COLUMN_FROM", 0)
    content = f"{HEADINGS}{charges(500)},Weekly service fee,12.00\nTotal,,{500 * 9}.00\n"
    taken = intake.read([bad_files.write(tmp_path, "statement.csv", content)])
    assert len(taken.lines) == 1001


def test_what_is_no_table_by_column_is_tried_by_row(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And told as such when it is none either way."""
    by_row, by_col = both_ways(bad_files.write(tmp_path, "other.csv", "Colour,Shape\n" + "1,2\n" * 500), monkeypatch)
    assert by_row.problems == by_col.problems
    assert "could not be told from its headings" in by_col.problems[0].message


AMOUNTS = st.from_regex(r"-?[$€£]? ?\d{1,4}([.,]\d{3}){0,3}[.,]\d{0,3} ?[$€]?", fullmatch=True)


@given(text=AMOUNTS, comma=st.booleans())
def test_plain_amounts_are_read_as_by_the_long_way(text: str, *, comma: bool) -> None:
    """Where they are read at all."""
    with pytest.MonkeyPatch.context() as patch:
        quickly = outcome(text, comma=comma)
        patch.setattr(parsing, "BARE_AMOUNT", re.compile("(?!)"))
        patch.setattr(parsing, "PLAIN_AMOUNTS", dict.fromkeys((False, True), re.compile("(?!)")))
        assert quickly == outcome(text, comma=comma)


def outcome(text: str, *, comma: bool) -> int | str:
    """The cents, or the reason that there are none."""
    try:
        return parsing.money(text, decimal_comma=comma)
    except ValueError as reason:
        return str(reason)
