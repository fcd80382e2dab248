"""What parcels should cost: one column-wise function over a table of parcels.

Everything is whole numbers: sides in steps of the rule's rounding, weights in picograms, money in cents. Parcels under
the same rules are reckoned together, in blocks small enough to stay in the processor's cache.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction
from functools import cache, cached_property, reduce
from math import ceil, floor, prod
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.core import money, units
from auditor.core.arrays import Places, Whole, Yes
from auditor.core.sides import SIDES
from auditor.tariff.prices import ALWAYS, NONE, Prices, Sheet, day_numbers, plain
from auditor.tariff.rulebook import Rulebook
from auditor.tariff.rules import KIND_OF_MEASURE, Charge, Fee, Flag, Measure, Rounding, Rules, Scope, Tariff, Threshold

Columns = dict[str, Whole]

FLAGS: Mapping[Flag, str] = {
    "residential": "residential",
    "address corrected": "address_corrected",
    "corrected": "corrected",
    "size missing or wrong": "size_wrong",
}
"""The rules' word for a flag → the column of parcels that holds it; a column that is not there counts as no."""

CORRECTION = "correction"
"""What a fee can be a percentage of, beside charges: the amount by which a correction raised the charge."""

BLOCK = 1 << 16


def column_of(charge: str) -> str:
    """The column that holds a charge's amount: 'additional handling' → 'additional_handling_cents'."""
    return charge.replace(" ", "_") + "_cents"


def whole(column: pd.Series) -> Whole:
    """The column as int64, 0 where missing."""
    return column.to_numpy(dtype=np.int64, na_value=0) if column.dtype != object else whole(column.astype("Int64"))


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
        `unpriced`, the reason why a parcel has no price (its total is then missing). All whole numbers, exact.
    """
    book = rules if isinstance(rules, Rulebook) else Rulebook(rules)
    sheet, of = sheet_of(parcels, prices)
    wanted = _columns(book.charges, detail=detail)
    priced = Terms(sheet, book, prices).reckon(Figures.of_table(parcels, of), wanted)
    total = pd.arrays.IntegerArray(priced.columns.pop("total_cents"), priced.why >= 0)
    unpriced = pd.Categorical.from_codes(priced.why, categories=pd.Index(priced.reasons, dtype="str"))
    return pd.DataFrame({**priced.columns, "total_cents": total, "unpriced": unpriced}, index=parcels.index, copy=False)


def sheet_of(parcels: pd.DataFrame, prices: Prices) -> tuple[Sheet, Places]:
    """The prices that hold for the parcels, and each one's line in that sheet."""
    return prices.sheet(parcels["service"], parcels["zone"], day_numbers(parcels["shipped_on"]))


@dataclass(frozen=True)
class Figures:
    """Parcels as arrays: sides (3, n) in nm, weight in pg, flags by the rules' word; `of`, their lines of a sheet.

    `correction`: the cents by which a correction raised the charge, where some fee is a percentage of it.

    Arrays may have more axes behind the first, along which a figure that is the same has a length of one: so what
    depends on the sides alone is reckoned once for however many weights. `of` is the same along all but the first.
    """

    sides: Whole
    weight: Whole
    flags: Mapping[Flag, Yes]
    irregular: Yes | None
    of: Places
    correction: Whole | None = None

    @classmethod
    def of_table(cls, parcels: pd.DataFrame, of: Places) -> Figures:
        """The figures of a table of parcels, see `price`."""
        return cls(
            sides=np.stack([whole(parcels[side]) for side in SIDES]),
            weight=whole(parcels["weight_pg"]),
            flags={word: _flag(parcels[column]) for word, column in FLAGS.items() if column in parcels},
            irregular=_flag(parcels["irregular"]) if "irregular" in parcels else None,
            of=of,
            correction=whole(parcels["correction_cents"]) if "correction_cents" in parcels else None,
        )

    def rows(self, rows: Places | slice) -> Figures:
        """Some of the parcels."""
        irregular = None if self.irregular is None else self.irregular[rows]
        flags = {word: flag[rows] for word, flag in self.flags.items()}
        correction = None if self.correction is None else self.correction[rows]
        return Figures(self.sides[:, rows], self.weight[rows], flags, irregular, self.of[rows], correction)


@dataclass(frozen=True)
class Reckoned:
    """Priced figures: columns of cents and weights, and for each parcel the place of its reason in `reasons`, or -1."""

    columns: Columns
    why: npt.NDArray[np.int16]
    reasons: list[str]


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
        why = np.full(shape, -1, dtype=np.int16)
        reasons: list[str] = []
        for applied, rows in self._applied(figures.of):
            if isinstance(applied, str):
                why[rows] = _noted(reasons, applied)
                continue
            for block in _blocks(rows, shape):
                priced = applied.to(figures.rows(block))
                for name in columns.keys() & priced.columns.keys():
                    columns[name][block] = priced.columns[name]
                if priced.failed.any():
                    _note(why, reasons, block, priced.reasons())
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
            rules = _rules_of(tariff, day)
            applied = rules if isinstance(rules, str) else _Applied(rules, self.prices, self.sheet)
            since = rules if isinstance(rules, str) else str(rules.since)
            stretch[line] = found.setdefault((tariff.name, since), (len(found), applied))[0]
        return [applied for _, applied in found.values()], stretch


def _flag(column: pd.Series) -> Yes:
    return (
        column.to_numpy(dtype=bool) if column.dtype == bool else column.astype("boolean").to_numpy(bool, na_value=False)
    )


def _columns(charges: tuple[str, ...], *, detail: bool) -> list[str]:
    between = [
        *("longest_nm", "second_nm", "shortest_nm", "length_plus_girth_nm"),
        *("dimensional_weight_pg", "rounded_weight_pg", "least_billable_pg", "fuel_ppm"),
    ]
    amounts = ["freight_cents", *map(column_of, charges), "fuel_cents", "total_cents"]
    return [*(between if detail else []), "billable_pg", *amounts]


def _rules_of(tariff: Tariff, day: int) -> Rules | str:
    """The rules in force on a day, or why there are none."""
    if day == ALWAYS:
        return "it has no ship date"
    in_force = tariff.on(date(1970, 1, 1) + timedelta(days=day))
    if in_force is None:
        return f"the rules {tariff.name} are known only from {tariff.known_from} on"
    if in_force.unknown:
        ends = (value.known_until or value.until for value in tariff.facts[in_force.unknown])
        last = max(end for end in ends if end and end < in_force.since)
        return f"{in_force.unknown} of {tariff.name} is not known after {last}"
    return in_force


def _blocks(rows: Places | slice, shape: tuple[int, ...]) -> Iterator[Places | slice]:
    count, *others = shape
    size = max(BLOCK // max(prod(others), 1), 1)
    if isinstance(rows, slice):
        yield from (slice(start, start + size) for start in range(0, count, size))
    else:
        yield from (rows[start : start + size] for start in range(0, len(rows), size))


def _noted(reasons: list[str], reason: str) -> int:
    if reason not in reasons:
        reasons.append(reason)
    return reasons.index(reason)


def _note(why: npt.NDArray[np.int16], reasons: list[str], block: Places | slice, held: list[tuple[Yes, str]]) -> None:
    """Put down the first reason that holds for each parcel of the block."""
    found = np.full(why[block].shape, -1, dtype=np.int16)
    for holds, reason in reversed(held):
        if holds.any():
            found[np.broadcast_to(holds, found.shape)] = _noted(reasons, reason)
    why[block] = found


@dataclass(frozen=True)
class Measured:
    """The measures of some parcels, each in whole steps of a size in small units, made when first asked for."""

    rules: Rules
    parcels: Figures

    @cached_property
    def falling(self) -> tuple[Whole, Whole, Whole]:
        """Longest, second and shortest side in steps of the rule's rounding, which comes before everything else."""
        return _falling(self.rules.side_rounding.steps(self.parcels.sides))

    @cached_property
    def girth(self) -> Whole:
        """Length plus girth: the longest side and twice the sum of the others."""
        longest, second, shortest = self.falling
        return longest + 2 * (second + shortest)

    @cached_property
    def volume(self) -> Whole:
        """In cubic steps."""
        return money.product(*self.falling)

    @cached_property
    def exact(self) -> Measured:
        """The same by unrounded sides."""
        return Measured(_unrounded(self.rules), self.parcels)

    def of(self, limit: Threshold, billable: Whole | None = None) -> tuple[Whole, int]:
        """What is held against a limit in whole steps, and the size of one step in nm, nm³ or pg."""
        measure, step = limit.measure, self.rules.side_rounding.step
        if KIND_OF_MEASURE[measure] == "weight":
            return self.parcels.weight if measure == "actual weight" or billable is None else billable, 1
        if limit.measured:
            return self.exact.of(replace(limit, measured=False))
        if measure == "volume":
            return self.volume, step**3
        sides = dict(zip(("longest side", "second side", "shortest side"), self.falling, strict=True))
        return (self.girth if measure == "length plus girth" else sides[measure]), step

    def passes(self, limit: Threshold, billable: Whole | None = None) -> Yes:
        """Which parcels pass a limit, its scope left aside."""
        if limit.measure == "density":
            return self._denser(limit)
        steps, size = self.of(limit, billable)
        return np.asarray(steps >= _least_steps(limit, size), dtype=bool)

    def _denser(self, limit: Threshold) -> Yes:
        per_step = limit.limit * self.rules.side_rounding.step**3
        weight = self.parcels.weight.astype(object) * per_step.denominator
        least = self.volume.astype(object) * per_step.numerator
        return np.asarray(weight >= least if limit.inclusive else weight > least, dtype=bool)


@cache
def _least_steps(limit: Threshold, size: int) -> int:
    """The least whole steps of a size that pass a limit: over it are those over the whole steps that fit in it."""
    edge = limit.limit / size
    return ceil(edge) if limit.inclusive else floor(edge) + 1


def _either(*hold: Yes) -> Yes:
    """Where any of them holds."""
    return reduce(np.logical_or, hold) if hold else np.zeros((), bool)


def _unrounded(rules: Rules) -> Rules:
    return replace(rules, side_rounding=Rounding("none", 1))


def _falling(sides: Whole) -> tuple[Whole, Whole, Whole]:
    one, two, three = sides
    longest = np.maximum(np.maximum(one, two), three)
    shortest = np.minimum(np.minimum(one, two), three)
    return longest, one + two + three - longest - shortest, shortest


@dataclass(frozen=True)
class _Sources:
    """Where prices come from, in the words of the reasons why there are none."""

    rates: str
    fuel: str

    @classmethod
    def of(cls, prices: Prices) -> _Sources:
        """Of the seller's tables, or of what was learned in their place."""
        fuel = "the fuel table does not reach its ship date"
        if prices.fuel.empty:
            fuel = "no fuel percentage is known; give a fuel table, of 0 % where your prices include it"
        elif "fuel" in prices.learned:
            fuel = "no label on the statements tells the fuel percentage of its ship date"
        rates = "your labels on the statements" if "rates" in prices.learned else "the rates"
        return cls("no table of rates was given, and labels on the statements" if prices.rates.empty else rates, fuel)


@dataclass(frozen=True)
class _Priced:
    """A block of priced parcels."""

    rules: Rules
    columns: Columns
    called: Mapping[str, Yes]
    measured: Measured
    line: Whole
    failed: Yes
    words: _Sources

    def reasons(self) -> list[tuple[Yes, str]]:
        """Why parcels have no price, the weightiest reason first."""
        parcels, columns = self.measured.parcels, self.columns
        held = [
            (np.any(parcels.sides <= 0, axis=0), "a side is missing or zero"),
            (parcels.weight <= 0, "its weight is missing or zero"),
        ]
        held += [
            (self.called[f"not accepted {number}"], f"not accepted: {limit_words(limit, self.rules)}")
            for number, limit in enumerate(self.rules.not_accepted)
        ]
        held += [
            (self.line == NONE, f"{self.words.rates} have no price for its service and zone on its ship date"),
            (
                columns["freight_cents"] == NONE,
                f"{self.words.rates} have no price for so heavy a parcel in its service and zone",
            ),
        ]
        held += [(columns[column_of(one.name)] == NONE, _no_fee(one)) for one in self.rules.charges]
        held.append((columns["fuel_ppm"] == NONE, self.words.fuel))
        return [(np.asarray(holds & self.failed, dtype=bool), reason) for holds, reason in held]


def _no_fee(charge: Charge) -> str:
    if charge.fee_ended:
        return f"the amount of {charge.name} is not known after {charge.fee_ended}; put it into your fees table"
    return f"the fees have no amount for {charge.name} on its ship date"


@dataclass(frozen=True)
class _Applied:
    """Rules of one stretch of time with the prices that go with them, ready for blocks of parcels."""

    rules: Rules
    prices: Prices
    sheet: Sheet

    @cached_property
    def fees(self) -> dict[str, Whole]:
        """Each charge's amount for every line of the sheet; NONE where it is not known."""
        return {charge.name: self._fees_of(charge) for charge in self.rules.charges}

    def _fees_of(self, charge: Charge) -> Whole:
        return np.array([self._fee(charge, *key) for key in self.sheet.keys], dtype=np.int64)

    def _fee(self, charge: Charge, service: str, zone: str, day: int) -> int:
        """The seller's own rule file first, then the seller's table, then the tariff."""
        ruled = NONE if charge.fee is None else _flat(charge.fee, service, zone)
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
        inside = np.array([scope.covers(service, zone) for service, zone, _ in self.sheet.keys], dtype=bool)
        return inside[of]

    def to(self, parcels: Figures) -> _Priced:
        """Price a block."""
        rules, measured, of = self.rules, Measured(self.rules, parcels), parcels.of
        called = self._called(measured, of, None)
        dimensional = self._dimensional(measured, of)
        rounded = _rounded(parcels.weight, rules.weight_rounding)
        least = self._least(called, measured, of.shape)
        billable = np.maximum(rounded, np.maximum(dimensional, least))
        if any(limit.measure == "billable weight" for charge in rules.charges for limit in charge.limits):
            called = self._called(measured, of, billable)
        line = self.sheet.row[of]
        freight = self.prices.freight_cents(line, billable)
        amounts = self._amounts(called, freight, billable, parcels)
        ppm = self._fuel_ppm(of)
        fuelled = [amounts[column_of(name)] for name in rules.fuel_on if column_of(name) in amounts]
        carried = sum(fuelled, start=np.zeros(of.shape, np.int64))
        fuel = money.half_up(money.product(carried, ppm), 1_000_000)
        total = sum(amounts.values(), start=fuel)
        refused = {f"not accepted {n}": self._limit(measured, limit, of) for n, limit in enumerate(rules.not_accepted)}
        missing = [amount == NONE for amount in amounts.values()] + list(refused.values())
        failed = _either(np.any(parcels.sides <= 0, axis=0), parcels.weight <= 0, ppm == NONE, *missing)
        longest, second, shortest = measured.falling
        step = rules.side_rounding.step
        columns = {
            "longest_nm": longest * step,
            "second_nm": second * step,
            "shortest_nm": shortest * step,
            "length_plus_girth_nm": measured.girth * step,
            "dimensional_weight_pg": dimensional,
            "rounded_weight_pg": rounded,
            "least_billable_pg": least,
            "billable_pg": billable,
            "fuel_ppm": ppm,
            **amounts,
            "fuel_cents": fuel,
            "total_cents": total,
        }
        return _Priced(rules, columns, called | refused, measured, line, failed, _Sources.of(self.prices))

    def _fuel_ppm(self, of: Places) -> Whole:
        if not self.rules.fuel_on:
            return np.zeros(of.shape, np.int64)
        own = self.rules.fuel_ppm
        return self.sheet.fuel_ppm[of] if own is None else np.full(of.shape, own)

    def _limit(self, measured: Measured, limit: Threshold, of: Places, billable: Whole | None = None) -> Yes:
        passed = measured.passes(limit, billable)
        return passed & self.covered(limit.scope, of) if limit.scope else passed

    def _called(self, measured: Measured, of: Places, billable: Whole | None) -> dict[str, Yes]:
        """Which parcels each charge is due for, after exclusions; a limit on the billable weight waits for it."""
        called = {charge.name: self._calls(charge, measured, of, billable) for charge in self.rules.charges}
        for charge in self.rules.charges:
            for other in charge.excludes:
                if other in called:
                    called[other] = called[other] & ~called[charge.name]
        return called

    def _calls(self, charge: Charge, measured: Measured, of: Places, billable: Whole | None) -> Yes:
        calls = np.ones(of.shape, bool)
        if charge.applies_to:
            calls = measured.parcels.flags.get(charge.applies_to, np.zeros(of.shape, bool))
        limits = [limit for limit in charge.limits if billable is not None or limit.measure != "billable weight"]
        if charge.limits:
            none = np.zeros(of.shape, bool)
            calls = calls & _either(none, *(self._limit(measured, limit, of, billable) for limit in limits))
        return calls & self.covered(charge.scope, of) if charge.scope else calls

    def _dimensional(self, measured: Measured, of: Places) -> Whole:
        """Dimensional weight in pg; 0 where it does not count."""
        dimensional, rounding = self.rules.dimensional, self.rules.weight_rounding
        if dimensional is None:
            return np.zeros(of.shape, np.int64)
        volume, cubic = measured.volume, Fraction(self.rules.side_rounding.step) ** 3
        irregular = measured.parcels.irregular
        if irregular is not None and irregular.any():
            part = dimensional.irregular
            volume = money.product(volume, np.where(irregular, part.numerator, part.denominator))
            cubic /= part.denominator
        per_step = cubic / (dimensional.divisor * rounding.step)
        scaled = money.product(volume, np.array([per_step.numerator]))
        steps = Rounding(rounding.way, per_step.denominator).steps(scaled)
        weight = np.asarray(steps * rounding.step, dtype=np.int64)
        if dimensional.at_most_pg is not None:
            weight = np.minimum(weight, dimensional.at_most_pg)
        if dimensional.only_over:
            weight = np.where(volume > floor(dimensional.only_over / cubic), weight, 0)
        return np.where(self.covered(dimensional.scope, of), weight, 0) if dimensional.scope else weight

    def _least(self, called: Mapping[str, Yes], measured: Measured, shape: tuple[int, ...]) -> Whole:
        least = np.zeros(shape, np.int64)
        for charge in self.rules.charges:
            if charge.least:
                hits = [measured.passes(limit) for limit in charge.limits if limit.measure in charge.least.measures]
                hit = called[charge.name] & _either(*hits)
                least = np.where(hit, np.maximum(least, charge.least.weight_pg), least)
        return least

    def _amounts(self, called: dict[str, Yes], freight: Whole, billable: Whole, parcels: Figures) -> Columns:
        """Freight and every charge in cents; NONE where a charge that is due has no known amount."""
        of = parcels.of
        replaced = [called[charge.name] for charge in self.rules.charges if "freight" in charge.excludes]
        amounts: Columns = {"freight_cents": np.where(_either(*replaced), 0, freight) if replaced else freight}
        for charge in self.rules.charges:
            due = self.fees[charge.name][of]
            if charge.fee and charge.fee.by_weight:
                due = np.where(due == NONE, _by_weight(charge.fee, billable), due)
            amounts[column_of(charge.name)] = np.where(called[charge.name], due, 0)
        for charge in self.rules.charges:
            if charge.fee and charge.fee.ppm:
                parts = [amounts[column_of(name)] for name in charge.fee.of if column_of(name) in amounts]
                if CORRECTION in charge.fee.of and parcels.correction is not None:
                    parts.append(parcels.correction)
                base = sum(parts, start=np.zeros(of.shape, np.int64))
                share = np.maximum(
                    money.half_up(money.product(base, charge.fee.ppm), 1_000_000), amounts[column_of(charge.name)]
                )
                here = called[charge.name] & ~self._listed(charge)[of]
                amounts[column_of(charge.name)] = np.where(here, share, amounts[column_of(charge.name)])
        _keep_dearest(self.rules.charges, amounts)
        return amounts


def _flat(fee: Fee, service: str, zone: str) -> int:
    if fee.by_zone:
        return fee.by_zone.get(zone, NONE)
    if fee.by_service:
        return fee.by_service.get(service, NONE)
    return NONE if fee.by_weight else fee.cents


def _by_weight(fee: Fee, billable: Whole) -> Whole:
    weights = np.array([weight for weight, _ in fee.by_weight])
    cents = np.array([*(amount for _, amount in fee.by_weight), NONE])
    due: Whole = cents[np.searchsorted(weights, billable)]
    return due


def _keep_dearest(charges: tuple[Charge, ...], amounts: Columns) -> None:
    """Of the charges of one group only the dearest stays; of equal ones the first."""
    for group in dict.fromkeys(charge.group for charge in charges if charge.group):
        columns = [column_of(charge.name) for charge in charges if charge.group == group]
        stacked = np.stack(np.broadcast_arrays(*(amounts[column] for column in columns)))
        unknown = np.any(stacked == NONE, axis=0)
        dearest = np.argmax(stacked, axis=0)
        for place, column in enumerate(columns):
            amounts[column] = np.where((dearest == place) | unknown, amounts[column], 0)


def _rounded(weight: Whole, rounding: Rounding) -> Whole:
    coarse: Whole = rounding.steps(weight) * rounding.step
    if rounding.fine_step is None:
        return coarse
    fine: Whole = Rounding(rounding.way, rounding.fine_step).steps(weight) * rounding.fine_step
    return np.where(weight <= rounding.fine_up_to, fine, coarse)


def limits_passed(parcel: Mapping[str, Any], priced: Mapping[str, Any], rules: Rules) -> list[tuple[Charge, Threshold]]:
    """Every limit that one parcel passes, with its charge; `priced` is its row of `price`."""
    sides = np.array([[int(parcel[side])] for side in SIDES])
    measured = Measured(rules, Figures(sides, np.array([int(parcel["weight_pg"])]), {}, None, np.zeros(1, np.intp)))
    billable = np.array([int(priced["billable_pg"])])
    where = plain(parcel["service"]), plain(parcel["zone"])
    return [
        (charge, limit)
        for charge in rules.charges
        for limit in charge.limits
        if limit.scope.covers(*where) and measured.passes(limit, billable)[0]
    ]


def limit_words(limit: Threshold, rules: Rules) -> str:
    """A limit in words and the tariff's units: 'longest side over 48 in', 'volume over 10,368 in³'."""
    edge = "at least" if limit.inclusive else "over"
    return f"{limit.measure} {edge} {measure_words(limit.measure, limit.limit, rules)}"


def measure_words(measure: Measure, amount: Fraction, rules: Rules) -> str:
    """An amount of a measure (nm, nm³, pg or pg per nm³) in the tariff's units: '48 in', '10,368 in³'."""
    length, weight = (units.factor(rules.length_unit, "length"), units.factor(rules.weight_unit, "weight"))
    of, unit = {
        "length": (length, rules.length_unit),
        "volume": (length**3, f"{rules.length_unit}³"),
        "weight": (weight, rules.weight_unit),
        "density": (weight / length**3, f"{rules.weight_unit}/{rules.length_unit}³"),
    }[KIND_OF_MEASURE[measure]]
    return f"{_number(amount / of)} {unit}"


def _number(value: Fraction) -> str:
    plain = f"{float(value):,.4f}"
    return plain.rstrip("0").rstrip(".")
