"""Random parcels that stand at the edges of a tariff: on, just under and just over every limit and dated change."""

from __future__ import annotations

import tomllib
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from tests.reference import LENGTHS, amount

NUDGES = (-1, 0, 1, -10_000, 10_000, 254_000, -254_000)
"""Nanometres (or millions of picograms) off an edge: the smallest step, a hundredth of a millimetre, of an inch."""

Random = np.random.Generator


def edges(path: Path) -> tuple[list[int], list[int], list[date]]:
    """Every side (nm), weight (pg) and day at which something in the rule file changes."""
    rules = tomllib.loads(path.read_text(encoding="utf-8"))
    last = rules["known_until"]
    sides, weights, days = set[int](), set[int](), {rules["known_from"], last, last + timedelta(days=400)}
    for value in _values(rules):
        for key in ("from", "until", "known_until"):
            if key in value:
                days |= {value[key], value[key] - timedelta(days=1), value[key] + timedelta(days=1)}
        for key in ("over", "at_least", "weight", "to"):
            if key in value:
                _sort_in(value[key], sides, weights)
    return sorted(sides), sorted(weights), sorted(days)


def _values(table: Any) -> list[dict[str, Any]]:
    if isinstance(table, list):
        return [value for value in table if isinstance(value, dict)]
    return [value for one in table.values() if isinstance(one, dict | list) for value in _values(one)]


def _sort_in(text: str, sides: set[int], weights: set[int]) -> None:
    unit = text.split(" ")[1]
    if unit in ("lb", "oz", "kg", "g"):
        weights.add(int(amount(text)))
    elif unit in ("in", "cm"):
        sides.add(int(amount(text)))


def parcels(path: Path, count: int, services: list[str], zones: list[str], seed: int) -> pd.DataFrame:
    """Parcels of which each figure is an edge, an edge nudged, or a plain one.

    Many get a last side that puts length plus girth on an edge, or next to it.
    """
    random = np.random.default_rng(seed)
    sides, weights, days = edges(path)
    unit = LENGTHS[_rules(path)["length_unit"]]
    chosen = np.stack([_near(random, sides, unit, count, greatest) for greatest in (60, 30, 16)])
    _meet_girths(random, chosen, sides, unit)
    table = {
        "service": random.choice(services, count),
        "zone": random.choice(zones, count),
        "shipped_on": pd.to_datetime(random.choice(np.array(days, dtype="datetime64[D]"), count)).astype(
            "datetime64[s]"
        ),
        "length_nm": chosen[0],
        "width_nm": chosen[1],
        "height_nm": chosen[2],
        "weight_pg": _heavy(random, weights, count),
    }
    flags = ("residential", "address_corrected", "corrected", "size_wrong", "irregular")
    table["correction_cents"] = random.integers(0, 9000, count)
    return pd.DataFrame(table | {flag: random.random(count) < 0.3 for flag in flags})


def _rules(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def _near(random: Random, edges_: list[int], unit: int, count: int, greatest: int) -> npt.NDArray[np.int64]:
    plain = random.integers(2, greatest, count) * unit + random.integers(0, 64, count) * (unit // 64)
    edge = random.choice(np.array([edge for edge in edges_ if edge < 2 * greatest * unit]), count)
    nudged = edge + random.choice(np.array(NUDGES), count)
    return np.maximum(np.where(random.random(count) < 0.25, nudged, plain), 1)


def _meet_girths(random: Random, chosen: npt.NDArray[np.int64], edges_: list[int], unit: int) -> None:
    """Give some parcels a shortest side that puts length plus girth on an edge, give or take a nudge."""
    count = chosen.shape[1]
    longest, second = np.maximum(chosen[0], chosen[1]), np.minimum(chosen[0], chosen[1])
    edge = random.choice(np.array(edges_), count) + random.choice(np.array(NUDGES), count) * 2
    third = (edge - longest - 2 * second) // 2
    fits = (third > unit) & (third < second) & (random.random(count) < 0.5)
    chosen[2] = np.where(fits, third, chosen[2])


def _heavy(random: Random, edges_: list[int], count: int) -> npt.NDArray[np.int64]:
    ounce = 28_349_523_125_000
    plain = random.integers(1, 2500, count) * ounce
    edge = random.choice(np.array(edges_ or [16 * ounce]), count)
    nudged = edge + random.choice(np.array(NUDGES), count) * 1_000_000
    return np.maximum(np.where(random.random(count) < 0.4, nudged, plain), 1)
