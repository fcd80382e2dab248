"""Months of tables in which some numbers are misread, with the truth kept: for matching alone, without files."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.core.schemas import LINES, SHIPMENTS, conform
from auditor.core.units import NM_PER_INCH, PG_PER_POUND

LOOKS = {"0": "OD", "1": "I7L", "2": "Z", "5": "S", "6": "G", "8": "B3", "3": "8", "7": "1", "9": "8", "4": "9"}
CARTONS = ((44, 6, 6), (28, 12, 6), (48, 20, 8), (46, 18, 8), (12, 10, 8), (38, 16, 14))
KINDS = ("look-alike", "changed", "swapped", "dropped", "doubled", "cut off", "two changed", "garbled")
LIGHT = (0.45, 0.12, 0.1, 0.1, 0.1, 0.08, 0.05, 0.0)
HEAVY = (0.35, 0.2, 0.05, 0.1, 0.05, 0.05, 0.15, 0.05)
LOST = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.1, 0.9)
"""Shares of the KINDS of misreading: of a fair print, of a bad scan, of numbers that are lost."""

FIGURES = ("shipped_on", "service", "zone", "order", "size", "weight", "amount")


@dataclass(frozen=True)
class Setting:
    """What a month is like.

    `series`: how the carrier numbers parcels: "random", "consecutive" (ours are one in `apart`), or "dated", with the
    day in the number. `misread`: the share of numbers, `kinds` in which ways. `shown`: what the statement prints beside
    the number. `alike`: all parcels go in one carton, to two zones. `missing`: the share of billed parcels that the
    records lack.
    """

    name: str
    series: str
    misread: float = 0.05
    kinds: tuple[float, ...] = LIGHT
    shown: tuple[str, ...] = FIGURES
    alike: bool = False
    missing: float = 0.002
    apart: int = 20


SETTINGS = (
    Setting("random", "random"),
    Setting("consecutive", "consecutive"),
    Setting("dated", "dated"),
    Setting("bad scan", "consecutive", misread=0.2, kinds=HEAVY),
    Setting(
        "one carton", "consecutive", alike=True, apart=5, shown=("shipped_on", "service", "zone", "size", "amount")
    ),
    Setting("few figures", "consecutive", misread=0.1, shown=("shipped_on", "zone")),
    Setting("day only", "dated", misread=0.1, kinds=HEAVY, shown=("shipped_on",)),
    Setting("poor records", "consecutive", misread=0.08, missing=0.1, shown=("shipped_on", "zone", "amount")),
    Setting("poor records, dated", "dated", misread=0.08, missing=0.15, kinds=HEAVY, shown=("shipped_on", "service")),
    Setting("every second number", "consecutive", misread=0.1, alike=True, apart=2, shown=("shipped_on", "zone")),
    Setting("half recorded", "consecutive", misread=0.1, missing=0.5, apart=4, shown=("shipped_on", "zone")),
    Setting("half recorded, dated", "dated", misread=0.1, missing=0.5, kinds=HEAVY, shown=("shipped_on", "service")),
    Setting("lost, order printed", "random", misread=0.05, kinds=LOST, missing=0.02, shown=("shipped_on", "order")),
    Setting("lost", "consecutive", misread=0.05, kinds=LOST, missing=0.02, shown=("shipped_on", "weight", "amount")),
    Setting(
        "lost, one carton", "random", misread=0.05, kinds=LOST, alike=True, shown=("shipped_on", "weight", "amount")
    ),
)
"""The first three are what a fair print of a whole statement is like; each of the others is hard in its way."""

NAMED = {setting.name: setting for setting in SETTINGS}


@dataclass(frozen=True)
class Months:
    """Shipments and lines, and for each number as billed the shipment it is (−1: none of them)."""

    shipments: pd.DataFrame
    lines: pd.DataFrame
    truth: pd.Series


def months(count: int, setting: Setting, *, unbilled: float = 0.02, seed: int = 1) -> Months:
    """`count` shipments, nearly all billed, of which a share is misread; and some parcels that are not recorded."""
    random = np.random.default_rng(seed)
    numbers, days = _numbers(count + int(count * setting.missing), setting, random)
    table = _parcels(numbers, days, random, alike=setting.alike)
    recorded = random.permutation(len(table))[:count]
    place = np.full(len(table), -1)
    place[np.sort(recorded)] = np.arange(len(recorded))
    billed = table.assign(place=place)[random.random(len(table)) >= unbilled]
    wrong = random.random(len(billed)) < setting.misread
    kinds = random.choice(len(KINDS), len(billed), p=setting.kinds)
    texts = [
        misreading(text, KINDS[kind], random) if bad else text
        for text, kind, bad in zip(billed["tracking"], kinds, wrong, strict=True)
    ]
    lines = _lines(billed.assign(tracking=texts), random, setting.shown)
    truth = pd.Series(billed["place"].to_numpy(), index=texts)
    own = table.iloc[np.sort(recorded)].reset_index(drop=True)
    return Months(conform(own, SHIPMENTS), conform(lines, LINES), truth[~truth.index.duplicated(keep=False)])


def _numbers(count: int, setting: Setting, random: np.random.Generator) -> tuple[list[str], npt.NDArray[np.int64]]:
    days = np.sort(random.integers(0, 26, count))
    if setting.series == "random":
        drawn = random.choice(10**12, count, replace=False)
        return [f"LK{number:016d}" for number in drawn], days
    if setting.series == "consecutive":
        # A carrier counts all its customers' parcels: ours are one in `apart` of them.
        drawn = np.cumsum(random.geometric(1 / setting.apart, count)) + 73_000_000
        return [f"LK22{number:014d}" for number in drawn], days
    drawn = random.integers(0, 10**5, count)
    return [f"NP44{day + 1:03d}{number:09d}" for day, number in zip(days, drawn, strict=True)], days


def _parcels(
    numbers: list[str], days: npt.NDArray[np.int64], random: np.random.Generator, *, alike: bool
) -> pd.DataFrame:
    count = len(numbers)
    shares = (1, 0, 0, 0, 0, 0) if alike else (0.25, 0.2, 0.18, 0.12, 0.15, 0.1)
    sizes = np.array(CARTONS)[random.choice(len(CARTONS), count, p=shares)]
    zone = random.integers(2, 4 if alike else 9, count)
    weight = random.integers(4, 7, count) if alike else random.integers(2, 25, count)
    extra = 0 if alike else random.integers(0, 3, count) * 617
    cost = 700 + 60 * weight + 45 * zone + 3 * sizes[:, 0] + extra
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


def _lines(billed: pd.DataFrame, random: np.random.Generator, shown: tuple[str, ...]) -> pd.DataFrame:
    """One label charge a parcel; a part of the orders and zones is not printed, a few figures differ."""
    count = len(billed)
    amount = billed["label_cost_cents"] + np.where(random.random(count) < 0.05, 235, 0)
    weight = np.maximum(billed["weight_pg"], np.where(random.random(count) < 0.4, 18, 0) * PG_PER_POUND)
    late = np.where(random.random(count) < 0.02, 1, 0).astype("timedelta64[D]")
    printed = {
        "shipped_on": {"shipped_on": billed["shipped_on"] + late},
        "service": {"service": billed["service"]},
        "zone": {"zone": billed["zone"].where(random.random(count) > 0.03, "5")},
        "order": {"order": billed["order"].where(random.random(count) < 0.3)},
        "size": {f"billed_{side}": billed[side] for side in ("length_nm", "width_nm", "height_nm")},
        "weight": {"billed_weight_pg": weight},
        "amount": {"amount_cents": amount},
    }
    columns = {name: values for figure in shown for name, values in printed[figure].items()}
    lines = pd.DataFrame({"amount_cents": 100, "tracking": billed["tracking"], "statement": "S-1"} | columns)
    lines = lines.assign(description="Freight", charge="freight", state="label charge")
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
    elif kind == "garbled":
        for at in random.choice(np.arange(2, len(text)), 5, replace=False):
            letters[at] = str(random.choice(list("OISBZ#")))
    else:
        for at in {place, int(random.integers(2, len(text)))} if kind == "two changed" else {place}:
            letters[at] = str(random.choice([digit for digit in "0123456789" if digit != letters[at]]))
    return "".join(letters)
