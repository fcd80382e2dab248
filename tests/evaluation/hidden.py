"""Months of which the carrier hides half of its readings: how often the cause is told right from the bill alone.

The other half, by tracking number, is what the scanner has been seen to do to those cartons before.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator
from itertools import groupby
from pathlib import Path
from tempfile import TemporaryDirectory

import pandas as pd

import auditor
from tests.months.make import make_month

Row = dict[str, str]

FIGURES = ("Billed length (in)", "Billed width (in)", "Billed height (in)", "Scale weight (lb)")
MEASURED = ("box length", "box girth", "declared weight", "rounding")


def hidden(number: str) -> bool:
    """Which parcels' readings are hidden: half of them, told by their number."""
    return sum(map(ord, number)) % 2 == 0


def without_readings(rows: list[Row]) -> Iterator[Row]:
    """Adjustments keep their billed weight, but show no side and no scale weight."""
    for row in rows:
        silent = row["Charge"].endswith("adjustment") and hidden(row["Tracking number"])
        yield row | dict.fromkeys(FIGURES, "") if silent else row


def one_lump(rows: list[Row]) -> Iterator[Row]:
    """All adjustments of a parcel in one sum, without any figure."""
    for _, same in groupby(rows, key=lambda row: (row["Tracking number"], row["Charge"].endswith("adjustment"))):
        together = list(same)
        if not together[0]["Charge"].endswith("adjustment") or not hidden(together[0]["Tracking number"]):
            yield from together
            continue
        cents = sum(round(float(row["Amount"]) * 100) for row in together)
        bare = dict.fromkeys((*FIGURES, "Billed weight (lb)"), "")
        yield together[0] | bare | {"Charge": "Adjustment", "Amount": f"{cents / 100:.2f}"}


SHOWN: dict[str, Callable[[list[Row]], Iterator[Row]]] = {
    "billed weight": without_readings,
    "lump sum": one_lump,
}


def outcomes(shown: str, seed: int, parcels: int) -> pd.DataFrame:
    """For each parcel whose readings are hidden: the true main cause, the one told, and how sure the program was."""
    with TemporaryDirectory() as folder:
        month = Path(folder) / "2026-03"
        make_month(seed, parcels, out=month, pdf=False)
        for notice in month.glob("*.eml"):
            notice.unlink()
        for file in ("norrhaven-2026-03.csv", "larkrise-2026-03.csv"):
            _hide(month / file, SHOWN[shown])
        audit = auditor.reconcile([month])
        planted = pd.read_csv(month.with_name("2026-03-planted.csv"), dtype=str)
    truth = planted[planted["cause"].isin(MEASURED) & planted["other"].eq("0.00")].set_index("tracking")["cause"]
    told = audit.findings.dropna(subset="shipment_tracking").set_index("shipment_tracking")
    table = pd.DataFrame({"truth": truth, "told": told["cause"].reindex(truth.index)})
    said = told["explanation"].reindex(truth.index).str.extract(r"inferred, (\d+)% likely")[0].astype(float) / 100
    table = table.assign(probability=said, right=table["truth"] == table["told"])
    return table[[hidden(number) for number in table.index]]


def _hide(file: Path, how: Callable[[list[Row]], Iterator[Row]]) -> None:
    with file.open(encoding="utf-8", newline="") as opened:
        reader = csv.DictReader(opened)
        rows, headings = list(reader), list(reader.fieldnames or ())
    with file.open("w", encoding="utf-8", newline="") as opened:
        writer = csv.DictWriter(opened, headings)
        writer.writeheader()
        writer.writerows(how(rows))


def tables(seeds: range = range(2), parcels: int = 1500) -> Iterator[str]:
    """What share of causes is right, by what the carrier shows, and by how sure the program was."""
    for shown in SHOWN:
        table = pd.concat([outcomes(shown, seed, parcels) for seed in seeds])
        inferred = table.dropna(subset="probability")
        yield f"{shown}: {len(table)} parcels, cause right {table['right'].mean():.3f}, {len(inferred)} inferred"
        yield table.groupby("truth")["right"].agg(["size", "mean"]).round(3).to_string()
        bins = pd.cut(inferred["probability"], (0, 0.5, 0.7, 0.9, 1))
        yield inferred.groupby(bins, observed=True)["right"].agg(["size", "mean"]).round(3).to_string()
