"""The seller's own prices (rates, fees, fuel percentages) as lookups that serve whole columns at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise

import numpy as np
import pandas as pd

from auditor.core.arrays import Masked, Places, Whole

Dated = dict[tuple[str, ...], list[tuple[int, int]]]
"""By what rows of a table are for, the first day of each and an amount."""

ALWAYS = np.datetime64("0001-01-01", "D").astype(np.int64)
LEARNED = "learned from the statements"
"""The source of prices that the seller did not give."""

REGULAR = 3
"""From so many dates on, a fuel table is taken to be one that goes on changing."""

FEW = 1 << 20
"""Codes below this are told apart by a table of that size at most."""


@lru_cache(maxsize=1 << 12, typed=True)
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

    `keys` are those. `lines` are those of `Prices.grid` (None: no rate), `fuel_ppm` millionths (None: not known that
    day).
    """

    keys: list[tuple[str, str, int]]
    lines: list[int | None]
    fuel_ppm: list[int | None]

    @cached_property
    def line(self) -> Masked:
        """`lines` for many parcels at once."""
        return Masked.of(self.lines)

    @cached_property
    def fuel(self) -> Masked:
        """`fuel_ppm` for many parcels at once."""
        return Masked.of(self.fuel_ppm)


@dataclass(frozen=True)
class Prices:
    """Tables of the schemas RATES, FEES and FUEL of `auditor.core.schemas`."""

    rates: pd.DataFrame
    fees: pd.DataFrame
    fuel: pd.DataFrame

    @cached_property
    def _up_to_pg(self) -> Whole:
        return self.rates["up_to_pg"].to_numpy(dtype=np.int64)

    @cached_property
    def learned(self) -> frozenset[str]:
        """Which of the tables were not given but learned."""
        tables = {"rates": self.rates, "fees": self.fees, "fuel": self.fuel}
        return frozenset(name for name, table in tables.items() if table["source_file"].eq(LEARNED).any())

    @cached_property
    def weights_pg(self) -> Whole:
        """Every weight at which some price ends, rising."""
        return np.unique(self._up_to_pg)

    @cached_property
    def grid(self) -> Whole:
        """Price in cents by (line, place in `weights_pg`): that of the next weight listed, if there is one."""
        grid = np.zeros((max(len(self._lines), 1), len(self.weights_pg) + 1), dtype=np.int64)
        listed = np.zeros(grid.shape, dtype=bool)
        at = self._line_of_rate, self._place_of_rate
        grid[at], listed[at] = self.rates["price_cents"].to_numpy(dtype=np.int64), True
        for column in range(grid.shape[1] - 2, -1, -1):
            grid[:, column] = np.where(listed[:, column], grid[:, column], grid[:, column + 1])
        return grid

    @cached_property
    def _ends(self) -> Places:
        """For each line of the grid the first place that is heavier than every weight it lists."""
        ends = np.zeros(len(self.grid), dtype=np.intp)
        np.maximum.at(ends, self._line_of_rate, self._place_of_rate + 1)
        return ends

    @cached_property
    def _place_of_rate(self) -> Places:
        return np.searchsorted(self.weights_pg, self._up_to_pg)

    @cached_property
    def _lists(self) -> tuple[list[tuple[str, int, str]], Places]:
        """The price lists (service, first day, zone) in the order of the table, and which of them each rate is of."""
        services, service_of = _distinct(self.rates["service"])
        zones, zone_of = _distinct(self.rates["zone"])
        day_of, days = pd.factorize(day_numbers(self.rates["effective_on"]))
        code_of, codes = pd.factorize((service_of * len(zones) + zone_of) * len(days) + day_of)
        place, day = np.divmod(codes, max(len(days), 1))
        names = [
            (services[s], int(days[d]), zones[z])
            for s, z, d in zip(*np.divmod(place, max(len(zones), 1)), day, strict=True)
        ]
        # Names that differ in case or blanks are those of one list.
        lines = {name: line for line, name in enumerate(dict.fromkeys(names))}
        return list(lines), np.array([lines[name] for name in names], dtype=np.intp)[code_of]

    @cached_property
    def _lines(self) -> dict[tuple[str, int, str], int]:
        return {name: line for line, name in enumerate(self._line_names)}

    @property
    def _line_names(self) -> list[tuple[str, int, str]]:
        return self._lists[0]

    @property
    def _line_of_rate(self) -> Places:
        return self._lists[1]

    def lists_with(self, billable_pg: int, cents: int) -> list[tuple[str, int, str]]:
        """The price lists (service, first day, zone) that have that price for that billable weight."""
        place = self._place(np.array([billable_pg], dtype=np.int64))[0]
        listed = (self.grid[:, place] == cents) & (place < self._ends)
        return [self._line_names[line] for line in np.flatnonzero(listed).tolist()]

    @cached_property
    def rate_days(self) -> dict[str, list[int]]:
        """The first days of each service's price lists, latest first."""
        days: dict[str, set[int]] = {}
        for service, day, _ in self._line_names:
            days.setdefault(service, set()).add(day)
        return {service: sorted(found, reverse=True) for service, found in days.items()}

    @cached_property
    def fees_by_day(self) -> Dated:
        """(charge, zone or "") → its (first day, cents), latest first."""
        return _latest_first(_by_key(self.fees, ("charge", "zone"), self.fees["amount_cents"].to_list()))

    @cached_property
    def fuel_by_day(self) -> Dated:
        """(service or "",) → its (first day, millionths), latest first."""
        return _latest_first(_by_key(self.fuel, ("service",), self.fuel["fuel_ppm"].to_list()))

    @cached_property
    def _rows_of_fees(self) -> Dated:
        return _by_key(self.fees, ("charge", "zone"), range(len(self.fees)))

    @cached_property
    def _rows_of_fuel(self) -> Dated:
        return _by_key(self.fuel, ("service",), range(len(self.fuel)))

    def rate_row(self, service: str, zone: str, day: int, billable_pg: int) -> int | None:
        """The row of `rates` that the base price comes from."""
        of_line = np.flatnonzero(self._line_of_rate == self.line(service, zone, day))
        enough = of_line[self._up_to_pg[of_line] >= billable_pg]
        return int(enough[np.argmin(self._up_to_pg[enough])]) if len(enough) else None

    def fee_row(self, charge: str, zone: str, day: int) -> int | None:
        """The first row of `fees` in force that day for a charge and exactly that zone."""
        return _first_in_force(self._rows_of_fees.get((charge, zone), []), day)

    def fuel_row(self, service: str, day: int) -> int | None:
        """The first row of `fuel` in force that day for exactly that service."""
        return _first_in_force(self._rows_of_fuel.get((service,), []), day)

    def fee(self, charge: str, zone: str, day: int) -> int | None:
        """A charge's amount in cents in that zone on that day (days since 1970); None when the table has none."""
        key = (charge, zone, day)
        if key not in self._fees_found:
            own = _in_force(self.fees_by_day.get((plain(charge), zone), []), day)
            every = _in_force(self.fees_by_day.get((plain(charge), ""), []), day)
            self._fees_found[key] = every if own is None else own
        return self._fees_found[key]

    @cached_property
    def _fees_found(self) -> dict[tuple[str, str, int], int | None]:
        """Amounts looked up so far; there are only so many charges, zones and days."""
        return {}

    def fuel_ppm(self, service: str, day: int) -> int | None:
        """The fuel percentage in millionths; None when no table has it for that day."""
        key = (service,) if self.fuel_by_day.get((service,)) else ("",)
        return None if day >= self._fuel_end.get(key, day) else _in_force(self.fuel_by_day[key], day)

    @cached_property
    def _fuel_end(self) -> dict[tuple[str, ...], int]:
        return {key: _end(values) for key, values in self.fuel_by_day.items()}

    def line(self, service: str, zone: str, day: int) -> int | None:
        """The line of `grid` for that service, zone and day, in the latest list begun by then."""
        begun = next((start for start in self.rate_days.get(service, []) if start <= day), None)
        return None if begun is None else self._lines.get((service, begun, zone))

    def sheet(self, service: pd.Series, zone: pd.Series, day: Whole) -> tuple[Sheet, Places]:
        """Look everything up once for each distinct (service, zone, day), and say which of them each row is."""
        services, service_of = _distinct(service)
        zones, zone_of = _distinct(zone)
        days, day_of = _distinct_days(day)
        pair, of = _distinct_pairs(service_of * len(zones) + zone_of, day_of, len(days))
        keys = [(services[k // len(zones)], zones[k % len(zones)], int(days[d])) for k, d in pair]
        sheet = Sheet(
            keys=keys,
            lines=[self.line(*key) for key in keys],
            fuel_ppm=[self.fuel_ppm(service, day) for service, _, day in keys],
        )
        return sheet, of

    def freight_cents(self, line: Masked, billable_pg: Whole) -> Masked:
        """The base price for each line of `grid` and billable weight; not known without a line, or when too heavy."""
        place = self._place(billable_pg)
        known = line.known & (place < self._ends[line.numbers])
        cents = self.grid[line.numbers, place]
        return Masked(cents if known.all() else np.where(known, cents, 0), known)

    def _place(self, billable_pg: Whole) -> Whole:
        """The place in `weights_pg` of the least weight that is not below each billable weight.

        Weights in a price list are multiples of some step, so a table by steps serves in the place of a search.
        """
        step, places = self._by_step
        if not len(places):
            return np.searchsorted(self.weights_pg, billable_pg)
        return places[np.minimum(-(-billable_pg // step), len(places) - 1)]

    @cached_property
    def _by_step(self) -> tuple[int, Whole]:
        step = int(np.gcd.reduce(self.weights_pg, initial=0)) or 1
        count = int(self.weights_pg.max(initial=0)) // step + 2
        steps = np.arange(count if count < FEW else 0, dtype=np.int64)
        return step, np.searchsorted(self.weights_pg, steps * step).astype(np.int64)


def _distinct(column: pd.Series) -> tuple[list[str], Places]:
    codes, values = pd.factorize(column, use_na_sentinel=False)
    return [plain(value) for value in values], codes


def _distinct_days(day: Whole) -> tuple[Whole, Places]:
    """The distinct days and each one's place in them, without sorting when they lie within some years."""
    if len(day) and day.max() - day.min() < FEW:
        days, of = _distinct_small(day - day.min())
        return days + day.min(), of
    days, inverse = np.unique(day, return_inverse=True)
    return days, inverse


def _distinct_pairs(one: Places, other: Places, others: int) -> tuple[list[tuple[int, int]], Places]:
    """The distinct pairs of two codes, and each row's place in them."""
    key = one * others + other
    if len(key) and key.max() < FEW:
        keys, of = _distinct_small(key)
    else:
        keys, of = np.unique(key, return_inverse=True)
    return [divmod(int(k), max(others, 1)) for k in keys], of


def _distinct_small(codes: Whole) -> tuple[Whole, Places]:
    """The distinct values of small codes and each one's place, by a table instead of a sort."""
    there = np.zeros(int(codes.max()) + 1, dtype=bool)
    there[codes] = True
    place = np.cumsum(there) - 1
    return np.flatnonzero(there), place[codes]


def _by_key(table: pd.DataFrame, columns: tuple[str, ...], amounts: Sequence[int]) -> Dated:
    keys = zip(*(table[column].map(plain) for column in columns), strict=True)
    dated = zip(day_numbers(table["effective_on"]).tolist(), amounts, strict=True)
    found: Dated = {}
    for key, value in zip(keys, dated, strict=True):
        found.setdefault(key, []).append(value)
    return found


def _latest_first(found: Dated) -> Dated:
    return {key: sorted(values, reverse=True) for key, values in found.items()}


def _end(values: list[tuple[int, int]]) -> int:
    """The day from which a percentage that changes at regular times is not known: the last one is not reused for ever.

    Told from the widest gap between the dates of the table; a table with fewer than three dates has no end.
    """
    days = sorted(day for day, _ in values if day != ALWAYS)
    if len(days) < REGULAR:
        return int(np.iinfo(np.int64).max)
    return days[-1] + max(after - before for before, after in pairwise(days))


def _first_in_force(rows: list[tuple[int, int]], day: int) -> int | None:
    """The first row of the last day that has begun."""
    last = max((start for start, _ in rows if start <= day), default=None)
    return next((row for start, row in rows if start == last), None)


def _in_force(values: list[tuple[int, int]], day: int) -> int | None:
    return next((amount for start, amount in values if start <= day), None)
