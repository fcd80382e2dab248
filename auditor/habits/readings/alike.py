"""Parcels that are priced alike, so that each kind is reckoned once however many of it were shipped."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import pandas as pd

from auditor.core.arrays import Whole
from auditor.core.sides import FIGURES, SIDES
from auditor.tariff import Prices, Rulebook
from auditor.tariff.figures import FLAGS, Figures
from auditor.tariff.price import Reckoned, Terms, sheet_of
from auditor.tariff.prices import ALWAYS, day_numbers

PRICED_BY = ("service", "zone", "shipped_on", *FIGURES, *FLAGS.values(), "irregular")
"""The columns that `price` looks at."""


def alike(
    parcels: pd.DataFrame, book: Rulebook, prices: Prices, also: tuple[str, ...] = ()
) -> tuple[pd.DataFrame, Whole]:
    """The distinct kinds of parcels, and the kind of each parcel.

    Two ship dates are alike when the same rules, rates, fees and fuel percentage hold on both.

    Args:
        parcels: as `price` takes them.
        book: the rules.
        prices: the prices.
        also: other columns in which parcels of a kind must be equal, such as the carton.

    Returns:
        The first parcel of each kind, numbered anew, with the columns that `price` looks at and those of `also`; and
        for each parcel the number of its kind.
    """
    columns = [column for column in (*PRICED_BY, *also) if column in parcels]
    same = parcels[columns].assign(shipped_on=_tariff_of(parcels, book, prices))
    kind = same.groupby(columns, sort=False, dropna=False).ngroup()
    first = ~kind.duplicated().to_numpy()
    return parcels.loc[first, columns].reset_index(drop=True), np.asarray(kind, dtype=np.int64)


NO_PRICE = -1


@dataclass(frozen=True)
class Charges:
    """What parcels of a table cost by other figures than their own, reckoned on arrays without another table."""

    parcels: Figures
    terms: Terms

    @classmethod
    def of(cls, parcels: pd.DataFrame, book: Rulebook, prices: Prices) -> Charges:
        """Ready to price parcels as `price` takes them."""
        sheet, line = sheet_of(parcels, prices)
        return cls(Figures.of_table(parcels, line), Terms(sheet, book, prices))

    def cents(
        self, rows: Whole, measured: Mapping[str, Whole] | None = None, *, corrected: Whole | None = None
    ) -> Whole:
        """The charges of rows of the table, NO_PRICE where they have none.

        Args:
            rows: row numbers, as often as wanted.
            measured: by figure its values instead of the parcels' own, one for each of `rows`; or all with the same
                number of axes, of which only the first is that of `rows`, for every combination of them.
            corrected: by how many cents a correction raised each charge, if they are corrected.
        """
        reckoned = self._reckoned("total_cents", rows, measured or {}, corrected)
        return np.where(reckoned.unpriced, NO_PRICE, reckoned.columns["total_cents"])

    def column(self, what: str, rows: Whole, measured: Mapping[str, Whole]) -> Whole:
        """A column of `price`, those of its detail included, for rows of the table by other figures, see `cents`."""
        return self._reckoned(what, rows, measured, None).columns[what]

    def _reckoned(self, what: str, rows: Whole, measured: Mapping[str, Whole], corrected: Whole | None) -> Reckoned:
        parcels = self.parcels.rows(rows)
        parcels = replace(
            parcels,
            sides=np.stack(np.broadcast_arrays(*map(measured.get, SIDES, parcels.sides))),
            weight=measured.get("weight_pg", parcels.weight),
        )
        if corrected is not None:
            flags = {**parcels.flags, "corrected": np.ones(rows.shape, bool)}
            parcels = replace(parcels, flags=flags, correction=corrected)
        return self.terms.reckon(parcels, [what])


def _tariff_of(parcels: pd.DataFrame, book: Rulebook, prices: Prices) -> Whole:
    """A number for the rules and prices that hold for each parcel."""
    sheet, of_parcel = sheet_of(parcels, prices)
    changes = np.unique(day_numbers(prices.fees["effective_on"]))
    begun = np.searchsorted(changes, [day for _, _, day in sheet.keys], side="right")
    held = [
        (service, zone, _rules_since(book, service, day), line, fuel, int(fees))
        for (service, zone, day), line, fuel, fees in zip(sheet.keys, sheet.lines, sheet.fuel_ppm, begun, strict=True)
    ]
    number = {key: place for place, key in enumerate(dict.fromkeys(held))}
    return np.array([number[key] for key in held], dtype=np.int64)[of_parcel]


def _rules_since(book: Rulebook, service: str, day: int) -> date | None:
    rules = None if day == ALWAYS else book.on(service, date(1970, 1, 1) + timedelta(days=day))
    return rules.since if rules else None
