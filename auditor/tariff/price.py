"""What parcels should cost: one column-wise function over a table of parcels.

Everything is whole numbers: sides in steps of the rule's rounding, weights in picograms, money in cents. Parcels under
the same rules are reckoned together, in blocks small enough to stay in the processor's cache.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import prod

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.core import money
from auditor.core.arrays import Masked, Places, Whole, Yes
from auditor.tariff.figures import Figures
from auditor.tariff.limits import Measured
from auditor.tariff.prices import Prices, Sheet, day_numbers
from auditor.tariff.reasons import Missing, rules_of
from auditor.tariff.rulebook import Rulebook
from auditor.tariff.rules import Rules, Tariff
from auditor.tariff.surcharges import WHOLE_PPM, Amounts, Surcharges, column_of
from auditor.tariff.weights import dimensional_weight, least_weight, rounded_weight

Columns = dict[str, Whole]
Numbers = npt.NDArray[np.int16]

BLOCK = 1 << 16


def price(parcels: pd.DataFrame, rules: Tariff | Rulebook, prices: Prices, *, detail: bool = False) -> pd.DataFrame:
    """The billable weight and every charge of each parcel by the rules and prices of its service and ship date.

    Args:
        parcels: columns service, zone, shipped_on, length_nm, width_nm, height_nm (any order of size), weight_pg, and
            the flags residential, address_corrected, corrected, size_wrong and irregular where they are known; and
            correction_cents, by which a correction raised the charge, where a fee is a percentage of that.
        rules: one tariff, or a rulebook with several.
        prices: the seller's prices.
        detail: also the steps between: sides as rounded, in falling order, length plus girth (nm), dimensional, rounded
            and least billable weight (pg), and the fuel percentage (ppm).

    Returns:
        With the index of `parcels`: billable_pg, a column of cents for each charge, fuel_cents, total_cents, and
        `unpriced`, the reason why a parcel has no price: its total is then missing, and what stands in its other
        amounts says nothing. All whole numbers, exact.
    """
    book = rules if isinstance(rules, Rulebook) else Rulebook(rules)
    sheet, of = sheet_of(parcels, prices)
    wanted = _columns(book.charges, detail=detail)
    priced = Terms(sheet, book, prices).reckon(Figures.of_table(parcels, of), wanted)
    total = pd.arrays.IntegerArray(priced.columns.pop("total_cents"), priced.unpriced)
    # pandas' codes number the categories from 0 on.
    unpriced = pd.Categorical.from_codes(priced.why - 1, categories=pd.Index(priced.reasons[1:], dtype="str"))
    return pd.DataFrame({**priced.columns, "total_cents": total, "unpriced": unpriced}, index=parcels.index, copy=False)


def sheet_of(parcels: pd.DataFrame, prices: Prices) -> tuple[Sheet, Places]:
    """The prices that hold for the parcels, and each one's line in that sheet."""
    return prices.sheet(parcels["service"], parcels["zone"], day_numbers(parcels["shipped_on"]))


@dataclass(frozen=True)
class Reckoned:
    """Priced figures: columns of cents and weights; `why`, the place in `reasons` of why a parcel has no price.

    The first of the reasons is None: there is a price.
    """

    columns: Columns
    why: Numbers
    reasons: list[str | None]

    @property
    def unpriced(self) -> Yes:
        """Which parcels have no price: what stands in their columns of cents says nothing."""
        return self.why > 0


@dataclass(frozen=True)
class Terms:
    """The rules and prices that hold for each line of a sheet, looked up once for however many figures."""

    sheet: Sheet
    book: Rulebook
    prices: Prices

    def reckon(self, figures: Figures, wanted: Sequence[str]) -> Reckoned:
        """`price` on arrays: only the columns wanted are kept."""
        shape = np.broadcast_shapes(figures.of.shape, figures.weight.shape, figures.sides.shape[1:])
        columns = {name: np.zeros(shape, np.int64) for name in wanted}
        why = np.zeros(shape, dtype=np.int16)
        reasons: list[str | None] = [None]
        for applied, rows in self._applied(figures.of):
            if isinstance(applied, str):
                why[rows] = _noted(reasons, applied)
                continue
            for block in _blocks(rows, shape):
                priced, missing = applied.to(figures.rows(block))
                for name in columns.keys() & priced.keys():
                    columns[name][block] = priced[name]
                failed = missing.holds()
                if failed.any():
                    why[block] = _noted_first(reasons, failed, missing.reasons(self.prices))
        return Reckoned(columns, why, reasons)

    def _applied(self, of: Places) -> Iterator[tuple[_Applied | str, Places | slice]]:
        """The rules that some parcels fall under, or why there are none, with the rows of those parcels."""
        found, stretch = self._stretches
        for number, applied in enumerate(found):
            of_first = of.reshape(len(of), -1)[:, 0] if of.ndim > 1 else of
            yield applied, slice(None) if len(found) == 1 else np.flatnonzero(stretch[of_first] == number)

    @cached_property
    def _stretches(self) -> tuple[list[_Applied | str], Places]:
        """What holds somewhere in the sheet, and which of it each line falls under."""
        found: dict[tuple[str, str], tuple[int, _Applied | str]] = {}
        stretch = np.zeros(len(self.sheet.keys), dtype=np.intp)
        for line, (service, _, day) in enumerate(self.sheet.keys):
            tariff = self.book.of(service)
            rules = rules_of(tariff, day)
            applied = rules if isinstance(rules, str) else _Applied(rules, self.prices, self.sheet)
            since = rules if isinstance(rules, str) else str(rules.since)
            stretch[line] = found.setdefault((tariff.name, since), (len(found), applied))[0]
        return [applied for _, applied in found.values()], stretch


def _columns(charges: tuple[str, ...], *, detail: bool) -> list[str]:
    between = [
        *("longest_nm", "second_nm", "shortest_nm", "length_plus_girth_nm"),
        *("dimensional_weight_pg", "rounded_weight_pg", "least_billable_pg", "fuel_ppm"),
    ]
    amounts = ["freight_cents", *map(column_of, charges), "fuel_cents", "total_cents"]
    return [*(between if detail else []), "billable_pg", *amounts]


def _blocks(rows: Places | slice, shape: tuple[int, ...]) -> Iterator[Places | slice]:
    count, *others = shape
    size = max(BLOCK // max(prod(others), 1), 1)
    if isinstance(rows, slice):
        yield from (slice(start, start + size) for start in range(0, count, size))
    else:
        yield from (rows[start : start + size] for start in range(0, len(rows), size))


def _noted(reasons: list[str | None], reason: str) -> int:
    if reason not in reasons:
        reasons.append(reason)
    return reasons.index(reason)


def _noted_first(reasons: list[str | None], failed: Yes, held: Iterable[tuple[Yes, str]]) -> Numbers:
    """The number of the first reason that holds for each parcel without a price."""
    found = np.zeros(failed.shape, dtype=np.int16)
    for holds, reason in reversed(list(held)):
        here = failed & holds
        if here.any():
            found[here] = _noted(reasons, reason)
    return found


@dataclass(frozen=True)
class _Applied:
    """Rules of one stretch of time with the prices that go with them, ready for blocks of parcels."""

    rules: Rules
    prices: Prices
    sheet: Sheet

    @cached_property
    def surcharges(self) -> Surcharges:
        return Surcharges(self.rules, self.prices, self.sheet)

    def to(self, parcels: Figures) -> tuple[Columns, Missing]:
        """Price a block: its columns, and what is missing for a price."""
        measured = Measured(self.rules, parcels)
        weights, called = self._weights(measured)
        line = self.sheet.line[parcels.of]
        freight = self.prices.freight_cents(line, weights["billable_pg"])
        amounts = self.surcharges.amounts(called, freight, weights["billable_pg"], parcels)
        fuel = self._fuel_ppm(parcels.of)
        columns = {**self._sides(measured), **weights, **self._totals(amounts, fuel)}
        return columns, Missing(measured, self.surcharges.refused(measured), line, amounts, fuel)

    def _sides(self, measured: Measured) -> Columns:
        names = ("longest_nm", "second_nm", "shortest_nm", "length_plus_girth_nm")
        steps = (*measured.falling, measured.girth)
        return {name: side * self.rules.side_rounding.step for name, side in zip(names, steps, strict=True)}

    def _weights(self, measured: Measured) -> tuple[Columns, dict[str, Yes]]:
        """The weights up to the billable one, and the charges called for, of which some may depend on that."""
        called = self.surcharges.called(measured)
        dimensional, scope = dimensional_weight(measured), self.rules.dimensional and self.rules.dimensional.scope
        if scope:
            dimensional = np.where(self.surcharges.covered(scope, measured.parcels.of), dimensional, 0)
        rounded = rounded_weight(measured.parcels.weight, self.rules.weight_rounding)
        least = least_weight(self.rules, called, measured)
        billable = np.maximum(rounded, np.maximum(dimensional, least))
        if any(limit.measure == "billable weight" for charge in self.rules.charges for limit in charge.limits):
            called = self.surcharges.called(measured, billable)
        names = ("dimensional_weight_pg", "rounded_weight_pg", "least_billable_pg", "billable_pg")
        return dict(zip(names, (dimensional, rounded, least, billable), strict=True)), called

    def _fuel_ppm(self, of: Places) -> Masked:
        if self.rules.fuel_on and self.rules.fuel_ppm is None:
            return self.sheet.fuel[of]
        own = self.rules.fuel_ppm if self.rules.fuel_on else 0
        return Masked(np.full(of.shape, own, np.int64), np.ones(of.shape, bool))

    def _totals(self, amounts: Amounts, ppm: Masked) -> Columns:
        cents = {column: amount.numbers for column, amount in amounts.items()}
        fuelled = [cents[column_of(name)] for name in self.rules.fuel_on if column_of(name) in cents]
        carried = sum(fuelled, start=np.zeros(ppm.numbers.shape, np.int64))
        fuel = money.half_up(money.product(carried, ppm.numbers), WHOLE_PPM)
        return {**cents, "fuel_ppm": ppm.numbers, "fuel_cents": fuel, "total_cents": sum(cents.values(), start=fuel)}
