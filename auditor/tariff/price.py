"""What parcels should cost: one column-wise function over a table of parcels."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor import money, units
from auditor.tariff.prices import NONE, Prices, Sheet, day_numbers
from auditor.tariff.rules import Charge, Measure, Rounding, Rules, Tariff, Threshold

Whole = npt.NDArray[np.int64]
Yes = npt.NDArray[np.bool_]
Columns = dict[str, npt.NDArray[np.int64]]

SIDES = ("length_nm", "width_nm", "height_nm")
FLAGS = {"residential": "residential", "address corrected": "address_corrected", "corrected": "corrected"}
"""The rules' word for a flag → the column of parcels that holds it; a column that is not there counts as no."""


def column_of(charge: str) -> str:
    """The column that holds a charge's amount: 'additional handling' → 'additional_handling_cents'."""
    return charge.replace(" ", "_") + "_cents"


def price(parcels: pd.DataFrame, tariff: Tariff, prices: Prices) -> pd.DataFrame:
    """The billable weight and every charge of each parcel by the rules and prices of its ship date.

    Args:
        parcels: columns service, zone, shipped_on, length_nm, width_nm, height_nm (any order of size), weight_pg, and
            the flags residential, address_corrected, corrected where they are known.
        tariff: the rules.
        prices: the seller's prices.

    Returns:
        With the index of `parcels`: the rounded sides in falling order and length plus girth (nm), dimensional, rounded
        actual, least and billable weight (pg), a column of cents for each charge, total_cents, fuel_ppm, and
        `unpriced`, the reason why a parcel has no price (then its total is missing). All whole numbers, exact.
    """
    day = day_numbers(parcels["shipped_on"])
    sides = np.stack([whole(parcels[side]) for side in SIDES])
    weight = whole(parcels["weight_pg"])
    charges = tuple(tariff.charges)
    sheet = prices.sheet(parcels["service"], parcels["zone"], day, charges)
    flags = {
        word: parcels[column].fillna(value=False).to_numpy(dtype=bool)
        if column in parcels
        else np.zeros(len(parcels), bool)
        for word, column in FLAGS.items()
    }
    columns = {name: np.zeros(len(parcels), np.int64) for name in _result_columns(charges)}
    reason = np.full(len(parcels), "", dtype=object)
    for rules, rows in _by_period(tariff, day):
        if rules is None:
            reason[rows] = f"the rules {tariff.name} are known only from {tariff.known_from} to {tariff.known_until}"
            continue
        block, why = _block(
            rules, prices, sheet, sheet.of[rows], sides[:, rows], weight[rows], {k: v[rows] for k, v in flags.items()}
        )
        for name, values in block.items():
            columns[name][rows] = values
        reason[rows] = why
    reason[np.isnat(parcels["shipped_on"].to_numpy())] = "it has no ship date"
    priced = pd.DataFrame(columns, index=parcels.index)
    priced["unpriced"] = pd.Series(reason, index=parcels.index, dtype="str").mask(reason == "")
    priced["total_cents"] = priced["total_cents"].astype("Int64").mask(priced["unpriced"].notna())
    return priced


def _result_columns(charges: tuple[str, ...]) -> list[str]:
    weights = ["dimensional_weight_pg", "rounded_weight_pg", "least_billable_pg", "billable_pg"]
    amounts = ["freight_cents", *map(column_of, charges), "fuel_cents", "total_cents"]
    return ["longest_nm", "second_nm", "shortest_nm", "length_plus_girth_nm", *weights, "fuel_ppm", *amounts]


def whole(column: pd.Series) -> Whole:
    """The column as int64, 0 where missing."""
    return np.asarray(column.astype("Int64").fillna(0), dtype=np.int64)


def _by_period(tariff: Tariff, day: Whole) -> list[tuple[Rules | None, npt.NDArray[np.intp] | slice]]:
    """The rules of each stretch of time that some parcels fall in, with their rows."""
    starts = np.array(tariff.periods, dtype="datetime64[D]").astype(np.int64)
    end = np.datetime64(tariff.known_until, "D").astype(np.int64)
    stretch = np.where(day > end, -1, np.searchsorted(starts, day, side="right") - 1)
    found = np.unique(stretch).tolist()
    rules = {number: None if number < 0 else tariff.on(tariff.periods[number]) for number in found}
    if len(found) == 1:
        return [(rules[found[0]], slice(None))]
    return [(rules[number], np.flatnonzero(stretch == number)) for number in found]


def _block(
    rules: Rules,
    prices: Prices,
    sheet: Sheet,
    of: npt.NDArray[np.intp],
    sides: Whole,
    weight: Whole,
    flags: dict[str, Yes],
) -> tuple[Columns, npt.NDArray[np.object_]]:
    """Prices of parcels that fall under the same rules; the reason is "" where there is one."""
    longest, second, shortest = _falling(rules.side_rounding.steps(sides))
    girth = longest + 2 * (second + shortest)
    volume = longest * second * shortest
    step = rules.side_rounding.step
    passes = _passes(
        {
            "longest side": (longest, step),
            "second side": (second, step),
            "length plus girth": (girth, step),
            "volume": (volume, step**3),
            "actual weight": (weight, 1),
        }
    )
    called = _called(rules, passes, flags)

    weight_step = rules.weight_rounding.step
    per_volume = Fraction(step**3) / (rules.divisor * weight_step)
    scaled = Rounding(rules.weight_rounding.way, per_volume.denominator)
    dimensional = scaled.steps(volume * per_volume.numerator)
    rounded = rules.weight_rounding.steps(weight)
    least = _least_pg(rules, called, passes, len(weight))
    billable = np.maximum(np.maximum(dimensional, rounded) * weight_step, least)

    line = sheet.row[of]
    amounts: Columns = {"freight_cents": prices.freight_cents(line, billable)}
    for charge in rules.charges:
        amounts[column_of(charge.name)] = np.where(called[charge.name], sheet.fees[charge.name][of], 0)
    fuel_ppm = sheet.fuel_ppm[of]
    carried = sum((amounts[column_of(name)] for name in rules.fuel_on), start=np.zeros(len(weight), np.int64))
    fuel = money.half_up(carried * fuel_ppm, 1_000_000)
    columns = {
        "longest_nm": longest * step,
        "second_nm": second * step,
        "shortest_nm": shortest * step,
        "length_plus_girth_nm": girth * step,
        "dimensional_weight_pg": dimensional * weight_step,
        "rounded_weight_pg": rounded * weight_step,
        "least_billable_pg": least,
        "billable_pg": billable,
        "fuel_ppm": fuel_ppm,
        **amounts,
        "fuel_cents": fuel,
        "total_cents": sum(amounts.values()) + fuel,
    }
    return columns, _reasons(rules, sides, weight, passes, columns, line)


def _falling(sides: Whole) -> tuple[Whole, Whole, Whole]:
    longest, shortest = sides.max(axis=0), sides.min(axis=0)
    return longest, sides.sum(axis=0) - longest - shortest, shortest


def _passes(measured: dict[Measure, tuple[Whole, int]]) -> Callable[[Threshold], Yes]:
    """A test of a limit: each measure comes in whole steps, with the step's size in small units."""

    def over(limit: Threshold) -> Yes:
        steps, size = measured[limit.measure]
        # Whole steps are over the limit exactly when they are over the whole steps that fit in it.
        return steps > limit.over // size

    return over


def _called(rules: Rules, passes: Callable[[Threshold], Yes], flags: dict[str, Yes]) -> dict[str, Yes]:
    """Which parcels each charge is due for, after exclusions."""
    none = np.zeros_like(flags["corrected"])
    called = {
        charge.name: flags[charge.applies_to]
        if charge.applies_to
        else np.logical_or.reduce([none, *map(passes, charge.limits)])
        for charge in rules.charges
    }
    for charge in rules.charges:
        for other in charge.excludes:
            called[other] = called[other] & ~called[charge.name]
    return called


def _least_pg(rules: Rules, called: dict[str, Yes], passes: Callable[[Threshold], Yes], count: int) -> Whole:
    least = np.zeros(count, np.int64)
    for charge in rules.charges:
        if charge.least:
            hit = called[charge.name] & _any(passes, charge, charge.least.measures)
            least = np.where(hit, np.maximum(least, charge.least.weight_pg), least)
    return least


def _any(passes: Callable[[Threshold], Yes], charge: Charge, measures: tuple[Measure, ...]) -> Yes:
    hits = [passes(limit) for limit in charge.limits if limit.measure in measures]
    return np.asarray(np.logical_or.reduce(hits), dtype=bool)


def _reasons(
    rules: Rules, sides: Whole, weight: Whole, passes: Callable[[Threshold], Yes], columns: Columns, line: Whole
) -> npt.NDArray[np.object_]:
    """Why a parcel has no price, the first reason that holds; "" where it has one."""
    reasons: list[tuple[Yes, str]] = [
        (np.any(sides <= 0, axis=0), "a side is missing or zero"),
        (weight <= 0, "its weight is missing or zero"),
    ]
    reasons += [(passes(limit), f"not accepted: {over_words(limit)}") for limit in rules.not_accepted]
    reasons += [
        (line == NONE, "the rates have no price for its service and zone on its ship date"),
        (columns["freight_cents"] == NONE, "the rates have no price for so heavy a parcel in its service and zone"),
    ]
    reasons += [
        (columns[column_of(charge.name)] == NONE, f"the fees have no amount for {charge.name} on its ship date")
        for charge in rules.charges
    ]
    reasons.append((columns["fuel_ppm"] == NONE, "the fuel table does not reach its ship date"))
    return np.select([held for held, _ in reasons], [text for _, text in reasons], default="").astype(object)


def over_words(limit: Threshold) -> str:
    """A limit in words: 'longest side over 48 in'."""
    if limit.measure == "volume":
        return f"volume over {limit.over // units.NM_PER_INCH**3:,} in³"
    kind, unit = ("weight", "lb") if limit.measure == "actual weight" else ("length", "in")
    return f"{limit.measure} over {units.shown(limit.over, unit, kind)} {unit}"
