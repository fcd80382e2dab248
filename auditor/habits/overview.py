"""The whole study: every table that the month's report and `auditor cartons` show."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from auditor.core.arrays import Floats
from auditor.core.progress import each
from auditor.core.schemas import HABIT_ADVICE, HABIT_CUTS, HABIT_WEIGHTS, HABIT_WEIGHTS_SEEN, Schema, conform, joined
from auditor.core.sides import SIDES
from auditor.core.units import PG_PER_POUND
from auditor.habits.advice.best import LEAST_PARCELS, about_length, about_side, about_slips, about_weight
from auditor.habits.advice.caveats import gaps, notes, untold
from auditor.habits.advice.trims import back_charge, cuts, some_of
from auditor.habits.advice.weights import Default, Typed, beyond_default, default_of, defaults
from auditor.habits.changes import changes
from auditor.habits.costs import OF_CARTON, by_carton, by_month, months_of, with_back_charges
from auditor.habits.fit_shown import excess_table, readings_table
from auditor.habits.history import History, history
from auditor.habits.readings.excess import fitted
from auditor.habits.readings.lot import Lot
from auditor.habits.recorded import USUAL, Aims, Recorded
from auditor.habits.same_carton import plain_name

MOST_CARTONS = 40
"""Cuts and default weights are reckoned for so many cartons, those with the dearest back-charges first
(chosen, for the time it takes)."""


@dataclass(frozen=True)
class Habits:
    """What the shop's cartons cost, and what to change. Their columns are in `core/schemas/` and docs/tables.md.

    `cartons` to `advice`: tables HABIT_CARTONS … HABIT_ADVICE. `notes`: what was assumed or joined, in sentences.
    `gaps`: what cannot be said yet, and what is needed for it. `history`: the fitted excess of every carton. `months`
    of shipping that the parcels span; `most_chance` and `cover`, the levels chosen.
    """

    cartons: pd.DataFrame
    by_month: pd.DataFrame
    excess: pd.DataFrame
    readings: pd.DataFrame
    cuts: pd.DataFrame
    weights: pd.DataFrame
    weights_seen: pd.DataFrame
    changes: pd.DataFrame
    advice: pd.DataFrame
    notes: tuple[str, ...]
    gaps: tuple[str, ...]
    history: History
    months: float
    most_chance: float
    cover: float


def study(recorded: Recorded, aims: Aims = USUAL) -> Habits:
    """Study the habits of a shop."""
    shipments, book, prices = recorded.shipments, recorded.rulebook, recorded.prices
    past = history(shipments, recorded.cartons, recorded.lines, recorded.readings, book, prices)
    parcels = with_back_charges(past, shipments, recorded.findings)
    months = months_of(parcels)
    sets = _worth_studying(parcels)
    lots = {carton: Lot.of(some_of(own), book, prices)[0] for carton, own in sets.items()}
    studied = {carton: (lots[carton], past.excess_of(carton)) for carton in sets}
    a_month = {carton: len(own) / months for carton, own in sets.items()}
    expected = {carton: back_charge(*studied[carton]) * a_month[carton] for carton in sets}
    cut = {
        carton: [
            cuts(*studied[carton], side, int(own[side].mode().iloc[0]), past.unit, a_month[carton]) for side in SIDES
        ]
        for carton, own in each([*sets.items()], "Trying shorter cuts of each carton")
    }
    bulges = {
        carton: {
            side: expected[carton] - back_charge(*studied[carton], flat=side) * a_month[carton] for side in SIDES[1:]
        }
        for carton in sets
    }
    typed = _defaults(parcels, sets, months, recorded, aims.cover)
    slips = {carton: own.loc[past.slipped[own.index], OF_CARTON].sum(axis=1) for carton, own in sets.items()}
    advice = [
        {"carton": carton, **row}
        for carton, own in sets.items()
        for row in (
            *about_slips(slips[carton], len(own), past.unit),
            *_advice(cut[carton], bulges[carton], typed.get(carton), past.unit, aims.most_chance),
        )
    ]
    changed = changes(parcels.assign(back_cents=parcels[OF_CARTON].sum(axis=1)), _by_name(aims.changed_on, past))
    return Habits(
        cartons=by_carton(parcels, past, months, expected),
        by_month=by_month(parcels),
        excess=excess_table(past),
        readings=readings_table(past),
        cuts=_with_cartons([(carton, one) for carton, sides in cut.items() for one in sides], HABIT_CUTS),
        weights=_with_cartons([(carton, one.table) for carton, one in typed.items()], HABIT_WEIGHTS),
        weights_seen=_weights_seen(parcels, shipments["packed_weight_pg"]),
        changes=changed,
        advice=conform(pd.DataFrame(advice), HABIT_ADVICE) if advice else joined([], HABIT_ADVICE),
        notes=tuple(notes(past, parcels, len(sets))),
        gaps=(*gaps(past, parcels, set(typed)), *untold(aims.changed_on, past, changed)),
        history=past,
        months=months,
        most_chance=aims.most_chance,
        cover=aims.cover,
    )


def _with_cartons(tables: Iterable[tuple[str, pd.DataFrame]], schema: Schema) -> pd.DataFrame:
    """The tables of some cartons as one of that schema."""
    return conform(joined([table.assign(carton=carton) for carton, table in tables], schema), schema)


def _worth_studying(parcels: pd.DataFrame) -> dict[str, pd.DataFrame]:
    """The parcels of each carton with enough of them, the dearest first."""
    sizes = parcels.groupby("carton").size()
    cents = parcels.groupby("carton")[OF_CARTON].sum().sum(axis=1)
    enough = cents[sizes >= LEAST_PARCELS].sort_values(ascending=False, kind="stable").index[:MOST_CARTONS]
    groups = parcels.groupby("carton")
    return {str(carton): groups.get_group(carton) for carton in enough}


def _defaults(
    parcels: pd.DataFrame, sets: Mapping[str, pd.DataFrame], months: float, recorded: Recorded, cover: float
) -> dict[str, Default]:
    """What is known of the default weight of each carton that has one and of which some weight was seen."""
    packed, book = recorded.shipments["packed_weight_pg"], recorded.rulebook
    now = {carton: weight for carton, own in sets.items() if (weight := default_of(own)) is not None}
    own_default = parcels["carton"].map(now)
    beyond = beyond_default(parcels, packed, own_default)
    fit = fitted(beyond, float(PG_PER_POUND)) if len(beyond) else None
    found = {}
    for carton, weight in now.items():
        if fit is None or carton not in fit.of_carton or not fit.of_carton[carton].measured:
            continue
        own = sets[carton][sets[carton]["weight_pg"] == weight]
        rules = book.on(own["service"].mode().iloc[0], own["shipped_on"].max().date())
        if rules is not None:
            seen, weighed = fit.of_carton[carton], packed.reindex(sets[carton].index)
            typed = Typed(own, weight, seen, weighed, len(own) / months)
            found[carton] = defaults(typed, rules, book, recorded.prices, cover=cover)
    return found


def _advice(
    cut: list[pd.DataFrame],
    bulges: Mapping[str, Floats],
    default: Default | None,
    unit: str,
    most_chance: float,
) -> Iterator[dict[str, Any]]:
    longest, *others = cut
    yield about_length(longest, unit, most_chance)
    for side, table in zip(SIDES[1:], others, strict=True):
        advised = about_side(table, side, unit, most_chance, bulges[side])
        if advised is not None:
            yield advised
    if default is not None:
        yield from about_weight(default, unit)


def _weights_seen(parcels: pd.DataFrame, packed: pd.Series) -> pd.DataFrame:
    """HABIT_WEIGHTS_SEEN."""
    measured = parcels["high_weight_pg"].where(np.isfinite(parcels["low_weight_pg"])).round().astype("Int64")
    kinds = {"typed": parcels["weight_pg"], "packed": packed.reindex(parcels.index), "measured": measured}
    counted = [
        pd.DataFrame({"carton": parcels["carton"], "kind": kind, "weight_pg": weight})
        .dropna()
        .value_counts(sort=False)
        .rename("parcels")
        .reset_index()
        for kind, weight in kinds.items()
    ]
    return conform(joined([table for table in counted if len(table)], HABIT_WEIGHTS_SEEN), HABIT_WEIGHTS_SEEN)


def _by_name(changed_on: Mapping[str, date], past: History) -> dict[str, date]:
    """The days told, by the carton's name as it is shown."""
    shown = {plain_name(name): name for name in past.groups.table["name"]}
    return {shown[plain_name(name)]: day for name, day in changed_on.items() if plain_name(name) in shown}
