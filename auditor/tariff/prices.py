"""The seller's own prices (rates, fees, fuel percentages) as lookups that serve whole columns at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

Whole = npt.NDArray[np.int64]

ALWAYS = np.datetime64("0001-01-01", "D").astype(np.int64)
NONE = -1
"""Stands in a looked-up column where there is no price."""


def plain(text: object) -> str:
    """A service, zone or charge as it is compared: without case or outer blanks; "" when missing."""
    return "" if pd.isna(text) else " ".join(str(text).casefold().split())  # type: ignore[call-overload]


def day_numbers(dates: pd.Series) -> Whole:
    """Days since 1970 of a date column; ALWAYS where missing."""
    days = dates.to_numpy(dtype="datetime64[D]")
    return np.where(np.isnat(days), ALWAYS, days.astype(np.int64))


@dataclass(frozen=True)
class Sheet:
    """The prices that hold for each distinct (service, zone, day) of some parcels.

    `row` is the line of `Prices.grid` (NONE: no rate), `fees[charge]` cents (NONE: not in the table), `fuel_ppm`
    millionths (NONE: not known that day). `of` gives each parcel's place in them.
    """

    of: npt.NDArray[np.intp]
    row: Whole
    fees: dict[str, Whole]
    fuel_ppm: Whole


@dataclass(frozen=True)
class Prices:
    """Tables of the schemas RATES, FEES and FUEL of `auditor.tables`."""

    rates: pd.DataFrame
    fees: pd.DataFrame
    fuel: pd.DataFrame

    @cached_property
    def weights_pg(self) -> Whole:
        """Every weight at which some price ends, rising."""
        return np.unique(self.rates["up_to_pg"].to_numpy(dtype=np.int64))

    @cached_property
    def grid(self) -> Whole:
        """Price in cents by (line, place in `weights_pg`): that of the next weight listed, NONE above them all."""
        grid = np.full((max(len(self._lines), 1), len(self.weights_pg) + 1), NONE, dtype=np.int64)
        place = np.searchsorted(self.weights_pg, self.rates["up_to_pg"].to_numpy(dtype=np.int64))
        grid[self._line_of_rate, place] = self.rates["price_cents"].to_numpy(dtype=np.int64)
        for column in range(grid.shape[1] - 2, -1, -1):
            grid[:, column] = np.where(grid[:, column] == NONE, grid[:, column + 1], grid[:, column])
        return grid

    @cached_property
    def _keys(self) -> list[tuple[str, int, str]]:
        service = self.rates["service"].map(plain)
        zone = self.rates["zone"].map(plain)
        return list(zip(service, day_numbers(self.rates["effective_on"]).tolist(), zone, strict=True))

    @cached_property
    def _lines(self) -> dict[tuple[str, int, str], int]:
        return {key: line for line, key in enumerate(dict.fromkeys(self._keys))}

    @cached_property
    def _line_of_rate(self) -> npt.NDArray[np.intp]:
        return np.array([self._lines[key] for key in self._keys], dtype=np.intp)

    @cached_property
    def _rate_days(self) -> dict[str, list[int]]:
        """The first days of each service's price lists, latest first."""
        days: dict[str, set[int]] = {}
        for service, day, _ in self._keys:
            days.setdefault(service, set()).add(day)
        return {service: sorted(found, reverse=True) for service, found in days.items()}

    @cached_property
    def _fees(self) -> dict[tuple[str, ...], list[tuple[int, int]]]:
        """(charge, zone or "") → its (first day, cents), latest first."""
        return _by_key(self.fees, ("charge", "zone"), "amount_cents")

    @cached_property
    def _fuel(self) -> dict[tuple[str, ...], list[tuple[int, int]]]:
        return _by_key(self.fuel, ("service",), "fuel_ppm")

    def fee(self, charge: str, zone: str, day: int) -> int:
        """A charge's amount in cents in that zone on that day (days since 1970); NONE when the table has none."""
        own = _in_force(self._fees.get((plain(charge), zone), []), day)
        return own if own != NONE else _in_force(self._fees.get((plain(charge), ""), []), day)

    def fuel_ppm(self, service: str, day: int) -> int:
        """The fuel percentage in millionths; 0 with no fuel table at all, NONE when it does not reach that day."""
        if self.fuel.empty:
            return 0
        own = _in_force(self._fuel.get((service,), []), day)
        return own if own != NONE else _in_force(self._fuel.get(("",), []), day)

    def line(self, service: str, zone: str, day: int) -> int:
        """The line of `grid` for that service, zone and day, in the latest list begun by then; NONE if not there."""
        begun = next((start for start in self._rate_days.get(service, []) if start <= day), None)
        return NONE if begun is None else self._lines.get((service, begun, zone), NONE)

    def sheet(self, service: pd.Series, zone: pd.Series, day: Whole, charges: Sequence[str]) -> Sheet:
        """Look everything up once for each distinct (service, zone, day)."""
        services, service_of = _distinct(service)
        zones, zone_of = _distinct(zone)
        days, day_of = np.unique(day, return_inverse=True)
        key = (service_of * len(zones) + zone_of) * len(days) + day_of
        keys, of = np.unique(key, return_inverse=True)
        triples = [
            (services[k // len(days) // len(zones)], zones[k // len(days) % len(zones)], int(days[k % len(days)]))
            for k in keys.tolist()
        ]
        return Sheet(
            of=of,
            row=np.array([self.line(*triple) for triple in triples], dtype=np.int64),
            fees={
                charge: np.array([self.fee(charge, zone, day) for _, zone, day in triples], dtype=np.int64)
                for charge in charges
            },
            fuel_ppm=np.array([self.fuel_ppm(service, day) for service, _, day in triples], dtype=np.int64),
        )

    def freight_cents(self, line: Whole, billable_pg: Whole) -> Whole:
        """The base price for each line of `grid` and billable weight; NONE with no line, or when too heavy."""
        place = np.searchsorted(self.weights_pg, billable_pg)
        return np.where(line == NONE, NONE, self.grid[np.maximum(line, 0), place])


def _distinct(column: pd.Series) -> tuple[list[str], npt.NDArray[np.intp]]:
    codes, values = pd.factorize(column, use_na_sentinel=False)
    return [plain(value) for value in values], codes


def _by_key(table: pd.DataFrame, columns: tuple[str, ...], amount: str) -> dict[tuple[str, ...], list[tuple[int, int]]]:
    keys = zip(*(table[column].map(plain) for column in columns), strict=True)
    dated = zip(day_numbers(table["effective_on"]).tolist(), table[amount].to_list(), strict=True)
    found: dict[tuple[str, ...], list[tuple[int, int]]] = {}
    for key, value in zip(keys, dated, strict=True):
        found.setdefault(key, []).append(value)
    return {key: sorted(values, reverse=True) for key, values in found.items()}


def _in_force(values: list[tuple[int, int]], day: int) -> int:
    return next((amount for start, amount in values if start <= day), NONE)
