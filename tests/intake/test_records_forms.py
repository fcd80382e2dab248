"""A shop's records in the forms that shops keep them in, beside a plain statement: what each parcel was must come out.

The truth is the sample month's own records; each form writes them another way.
"""

from __future__ import annotations

import csv
import shutil
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from openpyxl import Workbook

from auditor import intake

MONTH = Path(__file__).parents[2] / "sample_statements" / "2026-03"
STATEMENT = "norrhaven-2026-03.csv"
INCH, OUNCE = 25_400_000, 28_349_523_125_000
Rows = list[dict[str, Any]]
Table = Sequence[Sequence[Any]]


def recorded() -> Rows:
    """The parcels that the statement's carrier took, as the shop recorded them."""
    with (MONTH / "shipments.csv").open(newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["Tracking number"].startswith("NP")]
    for row in rows:
        figures = row["Weight"].split()
        row["oz"] = int(figures[0]) * 16 + (int(figures[2]) if len(figures) > 2 else 0)
        row["sides"] = row["Size"].removesuffix(" in").split(" x ")
    return rows


def listed() -> dict[str, list[str]]:
    """Sides of the cartons by name, longest first."""
    with (MONTH / "cartons.csv").open(newline="") as file:
        return {
            row["Carton"]: [row[f"{side} (in)"] for side in ("Length", "Width", "Height")]
            for row in csv.DictReader(file)
        }


def written(path: Path, rows: Table) -> None:
    """Rows as a CSV file."""
    with path.open("w", newline="") as file:
        csv.writer(file).writerows(rows)


def beside_the_statement(folder: Path, *, cartons: bool = True) -> None:
    """The statement and prices of the month, and its list of cartons."""
    for name in (STATEMENT, "fees.csv", "fuel.csv", *(["cartons.csv"] if cartons else [])):
        shutil.copy(MONTH / name, folder)


def pounds_and_ounces(folder: Path) -> None:
    """In two columns."""
    head = ["Date", "Number", "Box", "L", "W", "H", "Lb", "Oz", "Label"]
    rows = [
        [one["Ship date"], one["Tracking number"], one["Carton"], *one["sides"], one["oz"] // 16, one["oz"] % 16]
        for one in recorded()
    ]
    costs = [one["Label cost"] for one in recorded()]
    written(folder / "sales.csv", [head, *([*row, cost] for row, cost in zip(rows, costs, strict=True))])


def two_rows_an_order(folder: Path) -> None:
    """What was sold above how it was sent."""
    head = [["Order", "Day", "Buyer", "Service", "Zone"], ["", "Tracking", "Box", "Size", "Weight", "Label"]]
    pairs = (
        (
            [one["Order"], one["Ship date"], one["Buyer"], one["Service"], one["Zone"]],
            ["", one["Tracking number"], one["Carton"], one["Size"], one["Weight"], one["Label cost"]],
        )
        for one in recorded()
    )
    written(folder / "orders.csv", [*head, *(row for pair in pairs for row in pair)])


def parcels_in_columns(folder: Path) -> None:
    """Two parcels of an order beside one another."""
    rows = recorded()
    part = ("Tracking number", "Carton", "Size", "Weight", "Label cost")
    head = [
        "Order",
        "Date",
        *(f"{name} {nth}" for nth in (1, 2) for name in ("Parcel", "Box", "Size", "Weight", "Cost")),
    ]
    pairs = [
        [one["Order"], one["Ship date"], *(each[name] for each in (one, other) for name in part)]
        for one, other in zip(rows[::2], rows[1::2], strict=False)
    ]
    last = [[rows[-1]["Order"], rows[-1]["Ship date"], *(rows[-1][name] for name in part), *[""] * 5]]
    written(folder / "orders.csv", [head, *pairs, *(last if len(rows) % 2 else [])])


def numbers_twice(folder: Path) -> None:
    """A row for each thing sold."""
    head = ["Order", "Item", "Tracking", "Box", "Size", "Weight", "Label cost"]
    rows = []
    for nth, one in enumerate(recorded()):
        whole = [one["Carton"], one["Size"], one["Weight"], one["Label cost"]]
        rows.append([one["Order"], f"item {nth}", one["Tracking number"], *whole])
        if nth % 3 == 0:
            rows.append([one["Order"], f"strap {nth}", one["Tracking number"], *[""] * 4])
    written(folder / "lines.csv", [head, *rows])


def words_of_no_list(folder: Path) -> None:
    """Headings that mean nothing."""
    names = ("Tracking number", "Carton", "Size", "Weight", "Label cost", "Ship date", "Zone")
    head = ("Tros", "Zant", "Kel", "Ux", "Pim", "Vaj", "Lorg")
    written(folder / "book.csv", [head, *([one[name] for name in names] for one in recorded())])


def no_headings(folder: Path) -> None:
    """Rows alone."""
    names = ("Ship date", "Tracking number", "Carton", "Size", "Weight", "Label cost")
    written(folder / "list.csv", [[one[name] for name in names] for one in recorded()])


WHOLE: list[Callable[[Path], None]] = [
    pounds_and_ounces,
    two_rows_an_order,
    parcels_in_columns,
    numbers_twice,
    words_of_no_list,
    no_headings,
]


@pytest.mark.sample(3)
@pytest.mark.parametrize("form", WHOLE, ids=lambda form: form.__name__)
def test_records_of_every_form_come_out_as_they_are(tmp_path: Path, form: Callable[[Path], None]) -> None:
    """Each parcel once, with its carton, size, weight and cost; and the statement stays what it was."""
    beside_the_statement(tmp_path)
    form(tmp_path)
    taken = intake.read([tmp_path])
    found = taken.shipments.set_index("tracking")
    truth = pd.DataFrame(recorded()).set_index("Tracking number")
    assert sorted(found.index) == sorted(truth.index)
    found = found.loc[truth.index]
    assert found["carton"].tolist() == truth["Carton"].tolist()
    sides = [[float(side) * INCH for side in them] for them in truth["sides"]]
    assert found[["length_nm", "width_nm", "height_nm"]].to_numpy(dtype=float).tolist() == sides
    assert found["weight_pg"].tolist() == (truth["oz"] * OUNCE).tolist()
    assert found["label_cost_cents"].tolist() == [round(float(cost) * 100) for cost in truth["Label cost"]]
    assert len(taken.lines) == len(intake.read([MONTH / STATEMENT]).lines)


# A carton's name and no more


def log(folder: Path) -> None:
    """A parcel by its number and carton, and what the label cost."""
    head = ["Sent", "Label no", "Box", "Paid"]
    names = ("Ship date", "Tracking number", "Carton", "Label cost")
    written(folder / "log.csv", [head, *([one[name] for name in names] for one in recorded())])


def in_another_sheet(folder: Path) -> None:
    """The list of cartons beside the log, in one workbook."""
    (folder / "log.csv").unlink()
    book = Workbook()
    sheet, boxes = book.create_sheet("March"), book.create_sheet("Boxes")
    names = ("Ship date", "Tracking number", "Carton", "Label cost")
    for row in [["Sent", "Label no", "Box", "Paid"], *([one[name] for name in names] for one in recorded())]:
        sheet.append(row)
    for row in [["Code", "Size in inches"], *([name, " x ".join(sides)] for name, sides in listed().items())]:
        boxes.append(row)
    book.save(folder / "march.xlsx")


def in_a_letter(folder: Path) -> None:
    """A line for each in a text."""
    lines = [f"{name}: {'x'.join(sides)}" for name, sides in listed().items()]
    (folder / "boxes.txt").write_text("\n".join(["Hi Ana,", "", "the boxes we use:", "", *lines, "", "Best, Tom"]))


def in_centimetres(folder: Path) -> None:
    """Under a title, in three columns, with what is left of each."""
    rows = [[name, *(round(float(side) * 2.54, 2) for side in sides), 20] for name, sides in listed().items()]
    written(
        folder / "packaging.csv", [["Our boxes, spring"], ["Which", "Long cm", "Wide cm", "Deep cm", "Left"], *rows]
    )


def in_one_cell_each(folder: Path) -> None:
    """Name and sides in one cell."""
    rows = [
        [f"{name}: {'x'.join(str(round(float(side) * 2.54, 1)) for side in sides)}"] for name, sides in listed().items()
    ]
    written(folder / "boxes.csv", [["Boxes (cm)"], *rows])


@pytest.mark.sample(2)
@pytest.mark.parametrize("kept", [in_another_sheet, in_a_letter, in_centimetres, in_one_cell_each])
def test_a_carton_s_name_is_size_enough(tmp_path: Path, kept: Callable[[Path], None]) -> None:
    """Whatever the list of cartons looks like and wherever it stands; and that is told, once."""
    beside_the_statement(tmp_path, cartons=False)
    log(tmp_path)
    kept(tmp_path)
    taken = intake.read([tmp_path])
    found = taken.shipments
    assert len(found) == len(recorded())
    wanted = [[float(side) for side in listed()[name]] for name in found["carton"]]
    sides = (found[["length_nm", "width_nm", "height_nm"]].to_numpy(dtype=float) / INCH).round(1).tolist()
    assert sides == wanted
    assert found["weight_pg"].isna().all()
    assert [problem.message for problem in taken.problems if "took their size" in problem.message] == [
        f"{len(found)} parcels took their size from your list of cartons, as your records name the carton alone."
    ]


def test_a_carton_in_no_list_is_told_with_its_name_and_count(tmp_path: Path) -> None:
    """Nothing is invented for it."""
    beside_the_statement(tmp_path)
    rows = [["Label no", "Box"], *([one["Tracking number"], one["Carton"]] for one in recorded())]
    for row in rows[1:4]:
        row[1] = "old trunk"
    written(tmp_path / "log.csv", rows)
    taken = intake.read([tmp_path])
    assert taken.shipments["length_nm"].isna().sum() == 3
    assert any("'old trunk' (3 parcels)" in problem.message for problem in taken.problems)


# What a column says, by what was billed


def labels(folder: Path, heading: str, texts: Iterator[str], more: Table = ()) -> pd.DataFrame:
    """What is read of records with a further column."""
    names = ("Tracking number", "Ship date", "Size", "Weight", "Label cost")
    rows = [[*(one[name] for name in names), text] for one, text in zip(recorded(), texts, strict=True)]
    written(folder / "labels.csv", [["Tracking", "Shipped", "Size", "Weight", "Postage", heading], *rows, *more])
    return intake.read([folder]).shipments


def test_a_column_that_says_the_opposite_of_residential_is_read_so(tmp_path: Path) -> None:
    """Its yes goes with parcels that no home delivery was charged for."""
    beside_the_statement(tmp_path)
    found = labels(tmp_path, "Business?", ("N" if one["Residential"] == "yes" else "Y" for one in recorded()))
    assert found["residential"].tolist() == [one["Residential"] == "yes" for one in recorded()]


def test_what_was_refunded_to_a_buyer_and_billed_is_no_cancelled_label(tmp_path: Path) -> None:
    """A word that may mean the label does so where its parcels are not billed."""
    beside_the_statement(tmp_path)
    told = ("Refunded" if nth % 10 == 3 else "Sent" for nth, _ in enumerate(recorded()))
    assert not labels(tmp_path, "Status", told)["voided"].fillna(value=False).any()


def test_labels_cancelled_by_their_status_are_so_by_what_was_billed(tmp_path: Path) -> None:
    """Their parcels are not billed, where others of the same days are; those of later days say nothing."""
    beside_the_statement(tmp_path)
    size = ["44 x 6 x 6 in", "5 lb", "9.99"]
    cancelled = [[f"NP44100260309{90000 + nth}", "2026-03-09", *size, "Refunded"] for nth in range(4)]
    later = [[f"NP44100260409{90000 + nth}", "2026-04-09", *size, "In transit"] for nth in range(9)]
    found = labels(tmp_path, "State", ("Sent" for _ in recorded()), [*cancelled, *later]).set_index("tracking")[
        "voided"
    ]
    assert found[[row[0] for row in cancelled]].all()
    assert not found[[row[0] for row in later]].fillna(value=False).any()


def test_numbers_that_a_spreadsheet_shortened_are_made_whole_by_their_orders(tmp_path: Path) -> None:
    """1.23E+17 may be many numbers; the order says which."""
    beside_the_statement(tmp_path)
    with (tmp_path / STATEMENT).open(newline="") as file:
        lines = list(csv.reader(file))
    whole = {row[2]: f"94{int(row[2][2:]) * 7919 % 10**18:019}" for row in lines[1:] if row[2].startswith("NP")}
    written(tmp_path / STATEMENT, [[whole.get(cell, cell) for cell in row] for row in lines])
    rows = [one for one in recorded() if one["Tracking number"] in whole]
    head = ["Order", "Tracking", "Size", "Weight", "Label cost"]
    table = [
        [one["Order"], f"{float(whole[one['Tracking number']]):.5E}", one["Size"], one["Weight"], one["Label cost"]]
        for one in rows
    ]
    written(tmp_path / "orders.csv", [head, *table])
    found = intake.read([tmp_path]).shipments
    assert found["tracking"].tolist() == [whole[one["Tracking number"]] for one in rows]


def test_a_file_that_is_records_and_statement_at_once_is_both(tmp_path: Path) -> None:
    """Its lines are billed, and its parcels recorded once each."""
    beside_the_statement(tmp_path)
    with (tmp_path / STATEMENT).open(newline="") as file:
        lines = list(csv.reader(file))
    (tmp_path / STATEMENT).unlink()
    own = {one["Tracking number"]: [one["Carton"], one["Size"], one["Weight"]] for one in recorded()}
    kept = [[*row[:7], row[13]] for row in lines]
    head = [*kept[0], "Our box", "Declared size", "Declared weight"]
    written(tmp_path / "all.csv", [head, *([*row, *own.get(row[2], [""] * 3)] for row in kept[1:])])
    taken = intake.read([tmp_path])
    billed = {row[2] for row in lines} & own.keys()
    assert sorted(taken.shipments["tracking"]) == sorted(billed)
    assert taken.shipments["length_nm"].notna().all()
    assert len(taken.lines) == len(intake.read([MONTH / STATEMENT]).lines)


def test_labels_of_a_carrier_whose_statement_is_not_there_are_not_cancelled() -> None:
    """A service that no statement bills is none that the shop gave up."""
    folder = Path(__file__).parents[2] / "sample_statements" / "2026-03"
    read = intake.read([folder / "norrhaven-2026-03.csv", folder / "shipments.csv"]).shipments
    assert set(read["service"].dropna()) == {"Ground", "Parcel"}
    assert read["voided"].fillna(value=False).sum() < len(read) / 4


def test_one_bad_size_is_told_and_takes_no_other_column_in_its_place(tmp_path: Path) -> None:
    """The parcel of that row has no size; all others keep the one that was declared, not the one at packing."""
    folder = Path(__file__).parents[2] / "sample_statements" / "2026-03"
    months = shutil.copytree(folder, tmp_path / "month")
    before = intake.read([months]).shipments
    records = months / "shipments.csv"
    records.write_text(records.read_text(encoding="utf-8").replace("46 x 18 x 8 in", "46 x 18", 1), encoding="utf-8")
    read = intake.read([months])
    sides = ["length_nm", "width_nm", "height_nm"]
    assert read.shipments[sides].iloc[0].isna().all()
    assert read.shipments[sides].iloc[1:].equals(before[sides].iloc[1:])
    assert any("'46 x 18' in column 'Size'" in problem.message for problem in read.problems)
