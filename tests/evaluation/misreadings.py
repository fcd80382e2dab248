"""Months of tables in which some numbers are misread, with the truth kept: for matching alone, without files."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.tables import LINES, SHIPMENTS, conform
from auditor.units import NM_PER_INCH, PG_PER_POUND

LOOKS = {"0": "OD", "1": "I7L", "2": "Z", "5": "S", "6": "G", "8": "B3", "3": "8", "7": "1", "9": "8", "4": "9"}
CARTONS = ((44, 6, 6), (28, 12, 6), (48, 20, 8), (46, 18, 8), (12, 10, 8), (38, 16, 14))
SERIES = ("random", "consecutive", "dated")
KINDS = ("look-alike", "changed", "swapped", "dropped", "doubled", "cut off", "two changed")
SHARES = (0.45, 0.12, 0.1, 0.1, 0.1, 0.08, 0.05)


SCANT = ("order", "service", "billed_length_nm", "billed_width_nm", "billed_height_nm")


@dataclass(frozen=True)
class Months:
    """Shipments and lines, and for each number as billed the shipment it is (−1: none of them)."""

    shipments: pd.DataFrame
    lines: pd.DataFrame
    truth: pd.Series


def months(
    count: int,
    series: str,
    *,
    misread: float,
    strangers: float = 0.002,
    unbilled: float = 0.02,
    seed: int = 1,
    scanty: bool = False,
) -> Months:
    """`count` shipments, nearly all billed, of which a share is misread; some strangers' parcels among them.

    `scanty`: the statement prints little beside the number: no order, size, service or label price of use.
    """
    random = np.random.default_rng(seed)
    numbers, days = _numbers(count + int(count * strangers), series, random)
    table = _parcels(numbers, days, random)
    recorded = table.iloc[:count].reset_index(drop=True)
    billed = table[random.random(len(table)) >= unbilled]
    wrong = random.random(len(billed)) < misread
    kinds = random.choice(len(KINDS), len(billed), p=SHARES)
    texts = [
        misreading(text, KINDS[kind], random) if bad else text
        for text, kind, bad in zip(billed["tracking"], kinds, wrong, strict=True)
    ]
    lines = _lines(billed.assign(tracking=texts), random)
    if scanty:
        lines = lines.drop(columns=[column for column in lines if column in SCANT]).assign(amount_cents=100)
    owner = np.where(billed.index < count, billed.index, -1)
    truth = pd.Series(owner, index=texts)
    return Months(conform(recorded, SHIPMENTS), conform(lines, LINES), truth[~truth.index.duplicated(keep=False)])


def _numbers(count: int, series: str, random: np.random.Generator) -> tuple[list[str], np.ndarray]:
    days = np.sort(random.integers(0, 26, count))
    if series == "random":
        drawn = random.choice(10**12, count, replace=False)
        return [f"LK{number:016d}" for number in drawn], days
    if series == "consecutive":
        # A carrier counts all its customers' parcels: ours are one in twenty of them.
        drawn = np.cumsum(random.geometric(0.05, count)) + 73_000_000
        return [f"LK22{number:014d}" for number in drawn], days
    drawn = random.integers(0, 10**5, count)
    return [f"NP44{day + 1:03d}{number:09d}" for day, number in zip(days, drawn, strict=True)], days


def _parcels(numbers: list[str], days: np.ndarray, random: np.random.Generator) -> pd.DataFrame:
    count = len(numbers)
    sizes = np.array(CARTONS)[random.choice(len(CARTONS), count, p=[0.25, 0.2, 0.18, 0.12, 0.15, 0.1])]
    zone, weight = random.integers(2, 9, count), random.integers(2, 25, count)
    cost = 700 + 60 * weight + 45 * zone + 3 * sizes[:, 0] + random.integers(0, 3, count) * 617
    return pd.DataFrame(
        {
            "tracking": numbers,
            "order": [f"Q-{number}" for number in random.choice(10**7, count, replace=False)],
            "shipped_on": np.datetime64("2026-03-02", "s") + days.astype("timedelta64[D]"),
            "service": random.choice(["Ground", "Parcel"], count, p=[0.6, 0.4]),
            "zone": zone.astype(str),
            **{f"{side}_nm": sizes[:, at] * NM_PER_INCH for at, side in enumerate(("length", "width", "height"))},
            "weight_pg": weight * PG_PER_POUND,
            "label_cost_cents": cost,
        }
    ).drop_duplicates("tracking", ignore_index=True)


def _lines(billed: pd.DataFrame, random: np.random.Generator) -> pd.DataFrame:
    """One label charge a parcel; a part of the orders and zones is not printed, a few figures differ."""
    count = len(billed)
    zone = billed["zone"].where(random.random(count) > 0.03, "5")
    amount = billed["label_cost_cents"] + np.where(random.random(count) < 0.05, 235, 0)
    lines = pd.DataFrame(
        {
            "statement": "S-1",
            "tracking": billed["tracking"],
            "description": "Freight",
            "charge": "freight",
            "amount_cents": amount,
            "state": "label charge",
            "shipped_on": billed["shipped_on"],
            "service": billed["service"],
            "zone": zone,
            "order": billed["order"].where(random.random(count) < 0.3),
            **{f"billed_{side}": billed[side] for side in ("length_nm", "width_nm", "height_nm")},
        }
    )
    return lines.reset_index(drop=True)


def misreading(text: str, kind: str, random: np.random.Generator) -> str:
    """The text misread in one way."""
    letters, place = list(text), int(random.integers(2, len(text) - 1))
    if kind == "dropped":
        del letters[place]
    elif kind == "doubled":
        letters.insert(place, letters[place])
    elif kind == "swapped":
        letters[place], letters[place - 1] = letters[place - 1], letters[place]
    elif kind == "cut off":
        letters = letters[: -int(random.integers(3, 6))]
    elif kind == "look-alike":
        letters[place] = str(random.choice(list(LOOKS.get(letters[place], "0"))))
    else:
        for at in {place, int(random.integers(2, len(text)))} if kind == "two changed" else {place}:
            letters[at] = str(random.choice([digit for digit in "0123456789" if digit != letters[at]]))
    return "".join(letters)
