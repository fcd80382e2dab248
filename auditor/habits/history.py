"""What the shop's own past says of how its cartons are read: all that a check before shipping needs of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from auditor.habits.alike import FIGURES
from auditor.habits.bounds import Parcels, bounded
from auditor.habits.cartons import Cartons, of_shipments
from auditor.habits.excess import Excess, Fitted, by_tolerance, fitted
from auditor.tariff import Prices, Rulebook
from auditor.tariff.price import SIDES
from auditor.units import NM_PER_INCH, PG_PER_POUND


@dataclass(frozen=True)
class History:
    """The shop's cartons and parcels, and the excess of each figure where anything is known of it.

    `tolerance`: what to expect where there is none. `unit`: of lengths in the tariff of the service most used, "in" or
    "cm".
    """

    groups: Cartons
    parcels: Parcels
    fits: Mapping[str, Fitted]
    tolerance: Mapping[str, Excess]
    unit: str

    def excess_of(self, carton: str | None) -> dict[str, Excess]:
        """The excess of each of the FIGURES for a carton, by its name however spelled, or for any carton (None).

        Where a name means a carton both cut and uncut, the one most used is taken. A figure of a carton that is not
        known is expected as in the shop's other cartons, and where those say nothing, by the device's tolerance.
        """
        named = self.groups.named(carton) if carton else []
        used = self.groups.table.set_index("carton")["parcels"]
        known = max(named, key=lambda name: int(used[name]), default=None)
        return {figure: self._excess(figure, known) for figure in FIGURES}

    def _excess(self, figure: str, carton: str | None) -> Excess:
        fit = self.fits.get(figure)
        if fit is None:
            return self.tolerance[figure]
        return fit.of_carton.get(carton, fit.shop) if carton else fit.shop


def history(
    shipments: pd.DataFrame,
    cartons: pd.DataFrame,
    lines: pd.DataFrame,
    readings: pd.DataFrame,
    book: Rulebook,
    prices: Prices,
) -> History:
    """Fit the excess of every carton; the arguments are the tables of an `Audit`, see `auditor.audit`."""
    service = shipments["service"].mode()
    tariff = book.of(service.iloc[0] if len(service) else None)
    unit = "in" if tariff.length_unit in ("in", "ft") else "cm"
    groups = of_shipments(shipments, cartons, unit)
    parcels = bounded(shipments, lines, readings, book, prices)
    fits = {}
    for number, figure in enumerate(FIGURES):
        excess = parcels.excess(figure, groups.of_shipment)
        fit = fitted(excess, float(NM_PER_INCH if figure in SIDES else PG_PER_POUND), seed=number)
        if fit is not None:
            fits[figure] = fit
    last = parcels.table["shipped_on"].max()
    day = tariff.known_until if pd.isna(last) else last.date()
    rules = tariff.on(min(max(day, tariff.known_from), tariff.known_until)) or tariff.by_period[tariff.periods[-1]]
    return History(groups, parcels, fits, by_tolerance(rules), unit)
