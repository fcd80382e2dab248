"""What is known before a carrier's file is read: the shop's own records, its prices, and what they make expected."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import pandas as pd

from auditor.core.arrays import Masked, Places
from auditor.core.schemas import FEES, FUEL, RATES, SHIPMENTS, empty
from auditor.core.sides import FIGURES

LEAST_FIGURES = 4
"""A number of fewer letters and digits may stand anywhere by chance (chosen: one in 10,000 for digits)."""
NOT_OF_NUMBERS = re.compile(r"[^0-9A-Z]+")

Expecting = Callable[["pd.DataFrame", "pd.DataFrame", "pd.DataFrame", "pd.DataFrame"], "pd.DataFrame"]
"""Shipments, rates, fees and fuel → what `auditor.tariff.expected` gives; intake does not know the tariff."""


def bare(text: str) -> str:
    """A number as it is compared: letters and digits alone, in capitals."""
    return NOT_OF_NUMBERS.sub("", text.upper())


def zone_text(text: str) -> str:
    """A zone as it is compared: its figures without leading zeros where it has any, otherwise its letters."""
    figures = "".join(filter(str.isdigit, text))
    return figures.lstrip("0") or figures if figures else bare(text)


@dataclass(frozen=True, eq=False)
class Recorded:
    """The texts of a column of records as they are compared: the code of each, and the code of each row's; −1: none."""

    code: Mapping[str, int]
    codes: Places

    @classmethod
    def of(cls, column: pd.Series, plain: Callable[[str], str]) -> Recorded:
        """Each text made `plain`."""
        code = {"": -1}
        codes = [code.setdefault(plain(text), len(code) - 1) for text in column.fillna("").astype(object)]
        return cls({text: place for text, place in code.items() if text}, np.array(codes, dtype=np.intp))


@dataclass(frozen=True)
class Known:
    """What the shop's own files and the book know. Every part may be empty: there is less evidence then.

    `shipments`, `rates`, `fees`, `fuel`: tables of those schemas, shipments numbered from 0 on. `expected`: over the
    same index, for each parcel as declared `billable_pg` and the cents of every charge by its name: 0 where it is not
    due, missing where it is due and its amount is not known.
    """

    shipments: pd.DataFrame = field(default_factory=lambda: empty(SHIPMENTS))
    rates: pd.DataFrame = field(default_factory=lambda: empty(RATES))
    fees: pd.DataFrame = field(default_factory=lambda: empty(FEES))
    fuel: pd.DataFrame = field(default_factory=lambda: empty(FUEL))
    expected: pd.DataFrame = field(default_factory=lambda: pd.DataFrame({"billable_pg": pd.Series(dtype="Int64")}))

    @property
    def nothing(self) -> bool:
        """Whether there is no parcel to hold a file against."""
        return self.shipments.empty

    @cached_property
    def charges(self) -> tuple[str, ...]:
        """The names of the charges that may be expected."""
        return tuple(name for name in self.expected.columns if name != "billable_pg")

    @cached_property
    def whole_cents(self) -> pd.Series:
        """By parcel what all its label's charges come to (Int64), missing where one of them is not known."""
        charges = self.expected[[*self.charges]].astype("Int64")
        found: pd.Series = charges.sum(axis=1, skipna=False).astype("Int64")
        return found

    @cached_property
    def figures(self) -> dict[str, Masked]:
        """The recorded weights and sides, by column."""
        return {figure: Masked.of_column(self.shipments[figure]) for figure in FIGURES}

    @cached_property
    def zones(self) -> Recorded:
        """The recorded zones, as `zone_text`."""
        return Recorded.of(self.shipments["zone"], zone_text)

    @cached_property
    def services(self) -> Recorded:
        """The recorded services, as they stand."""
        return Recorded.of(self.shipments["service"], str)

    @cached_property
    def own_orders(self) -> Recorded:
        """The recorded orders, `bare`."""
        return Recorded.of(self.shipments["order"], bare)

    @cached_property
    def numbers(self) -> dict[str, int]:
        """Parcel's number, `bare` → its row of shipments; a number of two parcels means the first."""
        return _places(self.shipments["tracking"])

    @cached_property
    def orders(self) -> dict[str, int]:
        """Order, `bare` → the row of its parcel; an order of several parcels names none."""
        orders = self.shipments["order"].dropna()
        return _places(orders[~orders.duplicated(keep=False)])

    def rows_of(self, numbers: pd.Series) -> pd.Series:
        """The row of shipments that each text is the number of (Int64), missing where it is none's."""
        distinct = {text: self.numbers.get(bare(text)) for text in numbers.dropna().unique()}
        return numbers.map(distinct).astype("Int64")


def known_of(tables: Mapping[str, pd.DataFrame], expecting: Expecting | None) -> Known:
    """What tables of the shop's own by name (`auditor.intake.TABLES`) make known."""
    own = {name: tables[name] for name in ("shipments", "rates", "fees", "fuel")}
    shipments = own["shipments"].reset_index(drop=True)
    if expecting is None or shipments.empty:
        nothing = pd.DataFrame({"billable_pg": pd.Series(pd.NA, index=shipments.index, dtype="Int64")})
        return Known(**own | {"shipments": shipments}, expected=nothing)
    return Known(
        **own | {"shipments": shipments}, expected=expecting(shipments, own["rates"], own["fees"], own["fuel"])
    )


def _places(texts: pd.Series) -> dict[str, int]:
    pairs = [(bare(str(text)), int(row)) for row, text in texts.dropna().items()]  # type: ignore[call-overload]
    return {text: row for text, row in reversed(pairs) if len(text) >= LEAST_FIGURES}
