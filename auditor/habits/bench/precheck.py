"""Before shipping: what a parcel will cost, how far it is from every limit, how likely a back-charge is, what to trim.

A trim is a real cut of the carton, after which it is measured again: nothing here declares less than was measured.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from auditor.charges.schema import by_rules
from auditor.core import units
from auditor.core.schemas import (
    CHECKS,
    FEES,
    FUEL,
    PARCELS,
    RATES,
    ROOMS,
    TRIMS,
    Problem,
    conform,
    empty,
    joined,
    names,
    rows,
)
from auditor.core.sides import FIGURES, SIDES
from auditor.habits.advice.trims import COSTLY_CENTS
from auditor.habits.bench.prices import learned
from auditor.habits.known_cartons import place_of
from auditor.habits.outlook import outlooks
from auditor.habits.readings.excess import Excess
from auditor.habits.readings.tolerance import by_tolerance
from auditor.tariff import Prices, Rulebook, Rules, margins, price
from auditor.tariff.figures import whole
from auditor.tariff.prices import plain

ExcessOf = Callable[[str | None], Mapping[str, Excess]]
"""What gives, for a carton's name (None: any carton), how far readings lie beyond each figure; see `History`."""

WORD = dict(zip(FIGURES, ("length", "width", "height", "weight"), strict=True))
COUNTED = dict(zip(("longest_nm", "second_nm", "shortest_nm"), (f"counted_{side}" for side in SIDES), strict=True))
BILLABLE_WEIGHT, BACK_CHARGE = "billable weight", "back-charge"
CUTS = 8
"""So many cuts of a side are tried, each a quarter of an inch (5 mm) more than the last (chosen)."""

LEAST_GAIN, NEARLY = 50, 0.95
"""A cut has to save so many cents to be worth the work (chosen), and nearly as much as any longer one of that side."""

_SOURCE = ("source_file", "source_place")
_NO_CUT = pd.DataFrame({"parcel": [], "reason": [], "figure": [], "to": pd.array([], dtype="Int64")})

LEAST_FEE_CENTS = 10_000
"""A made-up fee that all steps of weight together stay below, so that what is more is a limit passed (chosen: any
sum far above a pound more would do)."""

STEPS_OF_WEIGHT = 1000
"""The steps of a price list that does no more than tell a higher weight from a lower one (chosen)."""


@dataclass(frozen=True)
class Checked:
    """`checks` (CHECKS) has a row for each parcel; `rooms` (ROOMS) and `trims` (TRIMS) name its row there.

    `units_of`: for each tariff's name its units of length and weight.
    """

    checks: pd.DataFrame
    rooms: pd.DataFrame
    trims: pd.DataFrame
    units_of: Mapping[str, tuple[str, str]]


def everywhere(parcels: pd.DataFrame, prices: Prices) -> pd.DataFrame:
    """PARCELS, those without a service or a zone once for each that the price list offers them."""
    listed = prices.rates[["service", "zone"]].drop_duplicates().astype("str")
    pairs = parcels.reset_index(names="row").merge(listed, how="cross", suffixes=("", "_listed"))
    fits = pd.Series(data=True, index=pairs.index)
    for column in ("service", "zone"):
        same = pairs[column].map(plain) == pairs[f"{column}_listed"].map(plain)
        fits &= same | pairs[column].isna()
        pairs[column] = pairs[column].fillna(pairs[f"{column}_listed"])
    offered = pairs[fits]
    others = parcels.loc[~parcels.index.isin(offered["row"])].reset_index(names="row")
    return conform(joined_in_order(offered, others), PARCELS)


def joined_in_order(first: pd.DataFrame, second: pd.DataFrame) -> pd.DataFrame:
    """Both tables' rows, by their column `row`."""
    filled = [table for table in (first, second) if len(table)]
    return (
        pd.concat(filled, ignore_index=True).sort_values("row", kind="stable", ignore_index=True) if filled else first
    )


def reckonable(parcels: pd.DataFrame, book: Rulebook) -> tuple[pd.DataFrame, list[Problem]]:
    """The parcels, numbered anew, for which there are rules on their day, and a problem for each other one.

    Rules that were last looked at before some parcel is shipped are told in a note.
    Where the rules differ by service or zone, a parcel without it is never given one by guess.
    """
    reasons = [_unruled(row, book) for row in rows(parcels)]
    notes = {
        (row["source_file"], row["source_place"], reason): Problem(*place_of(row), reason)
        for row, reason in zip(rows(parcels), reasons, strict=True)
        if reason
    }
    kept = parcels[np.array([not reason for reason in reasons], dtype=bool)].reset_index(drop=True)
    return kept, [*notes.values(), *_aged(kept, book)]


def _aged(parcels: pd.DataFrame, book: Rulebook) -> Iterator[Problem]:
    """One note for each tariff that was last looked at before one of the parcels is shipped."""
    tariffs = parcels["service"].map(lambda service: book.of(service).name)
    for tariff in book.tariffs:
        if (parcels.loc[tariffs == tariff.name, "shipped_on"].dt.date > tariff.known_until).any():
            message = (
                f"The rules {tariff.name} were last looked at on {tariff.known_until}, so the check is by the last "
                "that this version knows; what has changed since is not in it."
            )
            yield Problem("", "", message, note=True)


def _unruled(row: Mapping[str, Any], book: Rulebook) -> str:
    """Why nothing can be said of a parcel by the rules; "" where something can."""
    tariff, day = book.of(row["service"]), row["shipped_on"].date()
    rules = tariff.on(day)
    if rules is None:
        return (
            f"The rules {tariff.name} are known from {tariff.known_from} on, not for {day}. "
            "Choose another day with --on."
        )
    if rules.unknown:
        return f"By the rules {tariff.name} {rules.unknown} is not known for {day}. Choose another day with --on."
    lacking = [what for what in rules.differs_by if pd.isna(row[what])]
    options = " and ".join(f"--{what}" for what in lacking)
    return f"The rules {tariff.name} differ by {' and '.join(lacking)}. Add {options}." if lacking else ""


def check(
    parcels: pd.DataFrame, book: Rulebook, prices: Prices, excess_of: ExcessOf, *, cutting: bool = True
) -> Checked:
    """What to expect of parcels.

    Args:
        parcels: PARCELS, numbered from 0, each with a size, a weight and a ship date.
        book: the rules.
        prices: the prices; where a parcel has none, weights and limits are told all the same.
        excess_of: see `ExcessOf`; where nothing is known, only the tolerance of the carrier's device counts.
        cutting: also look for what to trim, which takes most of the time.
    """
    priced = price(parcels, book, prices, detail=True)
    checks, rooms, trims = parcels.join(priced.rename(columns=COUNTED)), [], []
    checks["price_basis"] = pd.Series("learned" if learned(prices) else "table", index=parcels.index, dtype="str")
    checks["rules"] = parcels["service"].map(lambda service: book.of(service).name).astype("str")
    checks["over"] = pd.Series(pd.NA, index=parcels.index, dtype="boolean")
    for rules, labels in by_rules(book, parcels):
        own = parcels.loc[labels]
        limits = margins(own, rules, lambda table: whole(price(table, book, prices)["billable_pg"]))
        checks.loc[labels, "over"] = limits.groupby("parcel")["passed"].any().reindex(labels, fill_value=False)
        chances_of = chances(own, rules, book, prices, excess_of)
        checks.loc[labels, chances_of.columns] = chances_of
        rooms.append(_rooms(limits, own))
        cuts = _cuts([_under_limits(limits, own, rules), _tries(own, rules)]) if cutting else _NO_CUT
        trims.append(_trims(cuts, checks.loc[labels], rules, book, prices, excess_of))
    units_of = {tariff.name: (tariff.length_unit, tariff.weight_unit) for tariff in book.tariffs}
    return Checked(conform(checks, CHECKS), joined(rooms, ROOMS), joined(trims, TRIMS), units_of)


def chances(parcels: pd.DataFrame, rules: Rules, book: Rulebook, prices: Prices, excess_of: ExcessOf) -> pd.DataFrame:
    """Chance and amount of a back-charge of parcels under the same rules, and what that rests on (see CHECKS).

    Where the charge is not known, so is not what a back-charge comes to; the chance is then that of a higher billable
    weight or of a limit passed, and the chance of a costly one that of a limit passed.
    """
    tables = []
    for carton, group in parcels.groupby("carton", dropna=False):
        of_carton = expected_excess(None if pd.isna(carton) else str(carton), rules, excess_of, group["weight_pg"])
        at_stake = _at_stake(group, of_carton, book, prices, COSTLY_CENTS)
        unknown = at_stake["chance"].isna()
        if unknown.any():
            blind = _at_stake(group[unknown], of_carton, book, any_rise(group, rules, book), LEAST_FEE_CENTS - 1)
            at_stake.loc[unknown, CHANCES] = blind[CHANCES]
        length = of_carton["length_nm"]
        tables.append(at_stake.assign(basis=length.basis, basis_parcels=length.parcels, basis_read=length.measured))
    return pd.concat(tables)


CHANCES = ["chance", "chance_low", "chance_high", "costly_chance"]


def _at_stake(
    parcels: pd.DataFrame, excess: Mapping[str, Excess], book: Rulebook, prices: Prices, costly: int
) -> pd.DataFrame:
    """CHANCES, back_charge_cents and costly_cents of parcels of one carton; costly are those of more than that."""
    every, dear = (outlook.table(parcels.index) for outlook in outlooks(parcels, excess, book, prices, (0, costly)))
    cents = {"back_charge_cents": every["cents"], "costly_cents": dear["cents"]}
    return every[CHANCES[:3]].assign(
        costly_chance=dear["chance"], **{name: amounts.round().astype("Int64") for name, amounts in cents.items()}
    )


def expected_excess(carton: str | None, rules: Rules, excess_of: ExcessOf, weights: pd.Series) -> dict[str, Excess]:
    """How far readings lie beyond each figure; by the device's tolerance of those rules where nothing else is known.

    `weights`: of the parcels that it is for, in pg.
    """
    tolerance, known = by_tolerance(rules, weights), excess_of(carton)
    seen = {figure: fit for figure, fit in known.items() if fit.basis != "device tolerance"}
    return {**tolerance, **seen}


def any_rise(parcels: pd.DataFrame, rules: Rules, book: Rulebook) -> Prices:
    """Prices under which every step of weight, and every limit passed, costs more: to tell that, and nothing else."""
    rounding = rules.weight_rounding
    step = rounding.step if rounding.way != "none" else units.PG_PER_POUND // 10
    weights = np.arange(1, STEPS_OF_WEIGHT + 1, dtype=np.int64) * step
    if rounding.fine_step:
        weights = np.union1d(weights, np.arange(rounding.fine_step, rounding.fine_up_to + 1, rounding.fine_step))
    places = parcels[["service", "zone"]].drop_duplicates()
    rates = places.merge(
        pd.DataFrame({"up_to_pg": weights, "price_cents": np.arange(1, len(weights) + 1)}), how="cross"
    )
    limited = {charge.name for charge in rules.charges if charge.limits}
    amounts = [LEAST_FEE_CENTS * at * (name in limited) for at, name in enumerate(book.charges, 1)]
    fees = {"charge": list(book.charges), "amount_cents": amounts}
    fuel = conform(pd.DataFrame({"fuel_ppm": [0]}), FUEL)
    return Prices(conform(rates, RATES), conform(pd.DataFrame(fees), FEES), fuel)


def _rooms(limits: pd.DataFrame, parcels: pd.DataFrame) -> pd.DataFrame:
    """ROOMS: each limit once, with the side that has least to change to be on its other side."""
    table = _with_room(limits, parcels)
    nearest = table.sort_values(["is_weight", "distance"], kind="stable", na_position="last")
    closest = nearest.drop_duplicates(["parcel", "charge", "limit"]).sort_index()
    side = closest["figure"].map(WORD).where(closest["most"].notna())
    length = closest["figure"] != "weight_pg"
    return conform(
        closest.rename(columns={"parcel": "check"}).assign(
            side=side, room_nm=closest["room"].where(length), room_pg=closest["room"].mask(length)
        ),
        ROOMS,
    )


def _with_room(limits: pd.DataFrame, parcels: pd.DataFrame) -> pd.DataFrame:
    """The limits with `now`, each figure as it is, `room` left in it, and how far that is from none."""
    figures = parcels[list(FIGURES)].rename_axis("parcel").reset_index()
    now = figures.melt("parcel", var_name="figure", value_name="now").astype({"now": "Int64"})
    table = limits.merge(now, how="left", on=["parcel", "figure"])
    room = table["most"] - table["now"]
    # A parcel exactly at a limit that is passed from there on has to lose something too.
    return table.assign(room=room, distance=room.abs(), is_weight=table["figure"] == "weight_pg")


def _under_limits(limits: pd.DataFrame, parcels: pd.DataFrame, rules: Rules) -> pd.DataFrame:
    """For each charge with a limit passed the shortest cut of one side after which it has none, tolerance included."""
    passed = _with_room(limits[limits["passed"].astype(bool)], parcels)
    asked = passed.groupby(["parcel", "charge"])["limit"].nunique().rename("asked")
    sides = passed[~passed["is_weight"]].dropna(subset=["most"]).groupby(["parcel", "charge", "figure"], sort=False)
    cut = sides.agg(to=("most", "min"), now=("now", "first"), met=("limit", "nunique")).reset_index()
    cut = cut.join(asked, on=["parcel", "charge"])
    cut = cut[cut["met"] == cut["asked"]]
    to = (cut["to"] - rules.side_tolerance_nm) // _tape(rules) * _tape(rules)
    least = cut.assign(to=to, cut=cut["now"] - to).sort_values("cut", kind="stable")
    return least.drop_duplicates(["parcel", "charge"]).rename(columns={"charge": "reason"})[list(_NO_CUT)]


def _tries(parcels: pd.DataFrame, rules: Rules) -> pd.DataFrame:
    """Each side cut to the CUTS next lower quarters of an inch, or half centimetres."""
    quarter = _tape(rules) * (4 if rules.length_unit == "in" else 5)
    tables = [
        pd.DataFrame(
            {
                "parcel": parcels.index,
                "reason": "",
                "figure": side,
                "to": ((parcels[side] - 1) // quarter - cut) * quarter,
            }
        )
        for side in SIDES
        for cut in range(CUTS)
    ]
    return pd.concat(tables, ignore_index=True)


def _tape(rules: Rules) -> int:
    """The finest mark of a tape, in nm: 1/16 in, or 1 mm."""
    return units.NM_PER_INCH // 16 if rules.length_unit == "in" else 1_000_000


def _cuts(tables: Sequence[pd.DataFrame]) -> pd.DataFrame:
    """The cuts that leave something of a side, numbered anew."""
    cuts = pd.concat([table.astype({"to": "Int64"}) for table in tables if len(table)] or [_NO_CUT], ignore_index=True)
    return cuts[cuts["to"] > 0].reset_index(drop=True)


def _trims(
    cuts: pd.DataFrame, checks: pd.DataFrame, rules: Rules, book: Rulebook, prices: Prices, excess_of: ExcessOf
) -> pd.DataFrame:
    """TRIMS: the cuts that change something, for each parcel the one that saves most first."""
    if cuts.empty:
        return empty(TRIMS)
    before = checks.loc[cuts["parcel"]].reset_index(drop=True)
    after = before[names(PARCELS)[: -len(_SOURCE)]].copy()
    for side in SIDES:
        after[side] = after[side].mask(cuts["figure"] == side, cuts["to"])
    now = price(after, book, prices).join(chances(after, rules, book, prices, excess_of))
    sizes = before[list(SIDES)].to_numpy()[np.arange(len(cuts)), cuts["figure"].map(SIDES.index).to_numpy()]
    table = pd.DataFrame(
        {
            "check": cuts["parcel"],
            "reason": cuts["reason"],
            "side": cuts["figure"].map(WORD),
            "to_nm": cuts["to"],
            "cut_nm": sizes - cuts["to"],
            "billable_pg": now["billable_pg"],
            "saves_cents": before["total_cents"] - now["total_cents"],
            "chance": now["chance"],
            "saves_back_charge_cents": before["back_charge_cents"] - now["back_charge_cents"],
        }
    )
    return conform(_worth_it(table, before), TRIMS)


def _worth_it(table: pd.DataFrame, before: pd.DataFrame) -> pd.DataFrame:
    """The cuts that bring something: under a limit, and of each side's others the shortest nearly as good as any.

    Where prices are not known, a pound less billed and a back-charge that is sure to be avoided count alike, and a
    limit no longer passed is worth it. None of the others makes a back-charge likelier: cut to just a whole step, a
    side is soon read as the next.
    """
    lighter = (before["billable_pg"] - table["billable_pg"]).astype("Float64")
    cents = table["saves_cents"].astype("Float64") + table["saves_back_charge_cents"]
    blind = 100 * (lighter / units.PG_PER_POUND + before["chance"] - table["chance"])
    table = table.assign(gain=cents.fillna(blind).fillna(0), lighter=lighter > 0)
    helps, clears = table["gain"] >= LEAST_GAIN, table["reason"] != ""
    safer = (table["chance"] <= before["chance"]).fillna(value=True)
    tries = table[~clears & helps & safer]
    best = tries.groupby(["check", "side"])["gain"].transform("max")
    near = tries[tries["gain"] >= NEARLY * best].sort_values("cut_nm", kind="stable").drop_duplicates(["check", "side"])
    reason = near["lighter"].map({True: BILLABLE_WEIGHT, False: BACK_CHARGE})
    kept = pd.concat([table[clears & (helps | cents.isna())], near.assign(reason=reason)])
    kept = kept.drop_duplicates(["check", "side", "to_nm"])
    return kept.sort_values(["check", "gain", "cut_nm"], ascending=[True, False, True], kind="stable")
