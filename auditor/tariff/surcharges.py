"""Which charges are due for parcels, and what they come to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from auditor.core import money
from auditor.core.arrays import Masked, Places, Whole, Yes
from auditor.tariff.figures import Figures
from auditor.tariff.limits import Measured, either
from auditor.tariff.prices import Prices, Sheet
from auditor.tariff.rules import Charge, Fee, Rules, Scope, Threshold

Amounts = dict[str, Masked]
"""Cents by column; not known where a charge is due of which no amount is known."""

FREIGHT = "freight_cents"
CORRECTION = "correction"
"""What a fee can be a percentage of, beside charges: the amount by which a correction raised the charge."""

WHOLE_PPM = 1_000_000


def column_of(charge: str) -> str:
    """The column that holds a charge's amount: 'additional handling' → 'additional_handling_cents'."""
    return charge.replace(" ", "_") + "_cents"


@dataclass(frozen=True)
class Surcharges:
    """The charges of rules of one stretch of time, with the prices that go with them."""

    rules: Rules
    prices: Prices
    sheet: Sheet

    @cached_property
    def fees(self) -> dict[str, Masked]:
        """Each charge's amount for every line of the sheet."""
        return {
            charge.name: Masked.of(self._fee(charge, *key) for key in self.sheet.keys) for charge in self.rules.charges
        }

    def _fee(self, charge: Charge, service: str, zone: str, day: int) -> int | None:
        """The seller's own rule file first, then the seller's table, then the tariff."""
        ruled = None if charge.fee is None else _flat(charge.fee, service, zone)
        if charge.fee and charge.fee.own:
            return ruled
        listed = self.prices.fee(charge.name, zone, day)
        return ruled if listed is None else listed

    def _listed(self, charge: Charge) -> Yes:
        """For which lines of the sheet the seller's table, and not the tariff, has the charge's amount."""
        own = charge.fee is not None and charge.fee.own
        listed = [not own and self.prices.fee(charge.name, zone, day) is not None for _, zone, day in self.sheet.keys]
        return np.array(listed, dtype=bool)

    def covered(self, scope: Scope, of: Places) -> Yes:
        """Which parcels, by their lines of the sheet, lie in the scope."""
        return np.array([scope.covers(service, zone) for service, zone, _ in self.sheet.keys], dtype=bool)[of]

    def refused(self, measured: Measured) -> list[Yes]:
        """For each limit of acceptance the parcels that pass it."""
        return [self._passed(measured, limit) for limit in self.rules.not_accepted]

    def called(self, measured: Measured, billable: Whole | None = None) -> dict[str, Yes]:
        """Which parcels each charge is due for, after exclusions; a limit on the billable weight waits for it."""
        called = {charge.name: self._calls(charge, measured, billable) for charge in self.rules.charges}
        for charge in self.rules.charges:
            for other in charge.excludes:
                if other in called:
                    called[other] = called[other] & ~called[charge.name]
        return called

    def _calls(self, charge: Charge, measured: Measured, billable: Whole | None) -> Yes:
        of = measured.parcels.of
        calls = np.ones(of.shape, bool)
        if charge.applies_to:
            calls = measured.parcels.flags.get(charge.applies_to, np.zeros(of.shape, bool))
        limits = [limit for limit in charge.limits if billable is not None or limit.measure != "billable weight"]
        if charge.limits:
            none = np.zeros(of.shape, bool)
            calls = calls & either(none, *(self._passed(measured, limit, billable) for limit in limits))
        return calls & self.covered(charge.scope, of) if charge.scope else calls

    def _passed(self, measured: Measured, limit: Threshold, billable: Whole | None = None) -> Yes:
        passed = measured.passes(limit, billable)
        return passed & self.covered(limit.scope, measured.parcels.of) if limit.scope else passed

    def amounts(self, called: Mapping[str, Yes], freight: Masked, billable: Whole, parcels: Figures) -> Amounts:
        """Freight and every charge."""
        replaced = [called[charge.name] for charge in self.rules.charges if "freight" in charge.excludes]
        amounts = {FREIGHT: _left_out(freight, either(*replaced)) if replaced else freight}
        for charge in self.rules.charges:
            fee = self.fees[charge.name][parcels.of]
            if charge.fee and charge.fee.by_weight:
                fee = fee.otherwise(_by_weight(charge.fee, billable))
            amounts[column_of(charge.name)] = _left_out(fee, ~called[charge.name])
        for charge in self.rules.charges:
            if charge.fee and charge.fee.ppm:
                here = called[charge.name] & ~self._listed(charge)[parcels.of]
                self._take_percentage(column_of(charge.name), charge.fee, amounts, here, parcels)
        _keep_dearest(self.rules.charges, amounts)
        return amounts

    @staticmethod
    def _take_percentage(column: str, fee: Fee, amounts: Amounts, here: Yes, parcels: Figures) -> None:
        """Put the percentage of other charges in the place of the flat amount, which is its least."""
        parts = [amounts[column_of(name)].numbers for name in fee.of if column_of(name) in amounts]
        if CORRECTION in fee.of and parcels.correction is not None:
            parts.append(parcels.correction)
        base = sum(parts, start=np.zeros(parcels.of.shape, np.int64))
        flat = amounts[column]
        share = np.maximum(money.half_up(money.product(base, fee.ppm), WHOLE_PPM), flat.numbers)
        amounts[column] = Masked(np.where(here, share, flat.numbers), flat.known | here)


def _left_out(amount: Masked, where: Yes) -> Masked:
    """An amount that is nought, and known to be, in some places."""
    return Masked(np.where(where, 0, amount.numbers), amount.known | where)


def _flat(fee: Fee, service: str, zone: str) -> int | None:
    if fee.by_zone:
        return fee.by_zone.get(zone)
    if fee.by_service:
        return fee.by_service.get(service)
    return None if fee.by_weight else fee.cents


def _by_weight(fee: Fee, billable: Whole) -> Masked:
    """The amount of the next weight listed; not known above them all."""
    place = np.searchsorted(np.array([weight for weight, _ in fee.by_weight]), billable)
    return Masked.of([*(amount for _, amount in fee.by_weight), None])[place]


def _keep_dearest(charges: tuple[Charge, ...], amounts: Amounts) -> None:
    """Of the charges of one group only the dearest stays, of equal ones the first; all where one is not known."""
    for group in dict.fromkeys(charge.group for charge in charges if charge.group):
        columns = [column_of(charge.name) for charge in charges if charge.group == group]
        known = np.logical_and.reduce(np.broadcast_arrays(*(amounts[column].known for column in columns)))
        stacked = np.stack(np.broadcast_arrays(*(amounts[column].numbers for column in columns)))
        dearest = np.argmax(stacked, axis=0)
        for place, column in enumerate(columns):
            kept = np.where((dearest == place) | ~known, amounts[column].numbers, 0)
            amounts[column] = Masked(kept, amounts[column].known)
