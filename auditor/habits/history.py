"""What the shop's own past says of how its cartons are read: all that a check before shipping needs of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from auditor.core.arrays import Floats
from auditor.core.progress import at
from auditor.core.sides import FIGURES, SIDES
from auditor.core.units import NM_PER_INCH, PG_PER_POUND
from auditor.habits.readings.bounds import Parcels, bounded
from auditor.habits.readings.excess import Excess, Fitted, Seen
from auditor.habits.readings.silence import Silent, silent
from auditor.habits.readings.slips import slips
from auditor.habits.readings.tolerance import by_tolerance
from auditor.habits.same_carton import Cartons, of_shipments
from auditor.tariff import Prices, Rulebook

SCALE = {figure: float(NM_PER_INCH if figure in SIDES else PG_PER_POUND) for figure in FIGURES}
"""About how large an excess is thought to be before anything is seen: an inch, a pound (chosen)."""

ROUNDS = 4
"""So many times each figure is fitted anew from the others: with two, intervals of figures that stand for one another
came out a tenth too narrow (see docs/evaluation.md, "Intervals of habits")."""


@dataclass(frozen=True)
class History:
    """The shop's cartons and parcels, and the excess of each figure where anything is known of it.

    `slipped`: which of the parcels were sent otherwise than declared by mistake; the fits leave them out. `tolerance`:
    what to expect where nothing is known. `unit`: of lengths in the tariff of the service most used, "in" or "cm".
    """

    groups: Cartons
    parcels: Parcels
    slipped: pd.Series
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
    at("Learning how each carton is read")
    service = shipments["service"].mode()
    tariff = book.of(service.iloc[0] if len(service) else None)
    unit = "in" if tariff.length_unit in ("in", "ft") else "cm"
    groups = of_shipments(shipments, cartons, unit)
    parcels = bounded(shipments, lines, readings, book, prices)
    slipped = slips(parcels.excess(SIDES[0], groups.of_shipment))
    fits = _fits(parcels, groups, slipped)
    last = parcels.table["shipped_on"].max()
    day = tariff.known_until if pd.isna(last) else last.date()
    rules = tariff.on(max(day, tariff.known_from)) or tariff.by_period[tariff.periods[-1]]
    return History(groups, parcels, slipped, fits, by_tolerance(rules, shipments["weight_pg"]), unit)


def _fits(parcels: Parcels, groups: Cartons, slipped: pd.Series) -> dict[str, Fitted]:
    """The fit of each figure: first by bounds alone, then with what no correction says of all figures together.

    That goes figure by figure, each draw of one given the same draw of the others (Gibbs sampling; Gelman et al.,
    Bayesian Data Analysis, 3rd ed., 11.1).
    """
    excess = {figure: parcels.excess(figure, groups.of_shipment)[~slipped] for figure in FIGURES}
    found = {figure: Seen.of(excess[figure], SCALE[figure]) for figure in FIGURES}
    seen = {figure: one for figure, one in found.items() if one is not None}
    fits = {figure: one.fit(seed=number) for number, (figure, one) in enumerate(seen.items())}
    if len(fits) < len(FIGURES):
        return fits
    quiet = _quiet(parcels, groups, fits)
    chances = {figure: _chances(quiet, figure, fits[figure]) for figure in FIGURES}
    for number in range(ROUNDS * len(FIGURES)):
        figure = FIGURES[number % len(FIGURES)]
        said = {
            carton: [
                one.says(figure, {other: chances[other][carton][place] for other in FIGURES})
                for place, one in enumerate(ones)
            ]
            for carton, ones in quiet.items()
        }
        fits[figure] = seen[figure].fit(said, seed=len(FIGURES) + number)
        chances[figure] = _chances(quiet, figure, fits[figure])
    return fits


def _chances(quiet: Mapping[str, list[Silent]], figure: str, fit: Fitted) -> dict[str, list[Floats]]:
    """By carton, of each of its silent parcels the chances of one figure's steps."""
    return {
        carton: [one.chances(figure, fit.of_carton.get(carton, fit.shop)) for one in ones]
        for carton, ones in quiet.items()
    }


def _quiet(parcels: Parcels, groups: Cartons, fits: Mapping[str, Fitted]) -> dict[str, list[Silent]]:
    """By carton its parcels without a correction."""
    uncorrected = ~parcels.table["reading_shown"].to_numpy()
    kind = pd.Series(parcels.kind, index=parcels.table.index)[uncorrected]
    of_carton = kind.groupby(groups.of_shipment.reindex(kind.index))
    return {
        str(carton): silent(parcels.lot, own.to_numpy(), _of_carton(fits, str(carton))) for carton, own in of_carton
    }


def _of_carton(fits: Mapping[str, Fitted], carton: str) -> dict[str, Excess]:
    return {figure: fit.of_carton.get(carton, fit.shop) for figure, fit in fits.items()}
