"""What was assumed, what cannot be said yet, and what is needed for it, in sentences."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from datetime import date

import pandas as pd

from auditor.habits.advice.best import ENOUGH_PARCELS, LEAST_PARCELS
from auditor.habits.history import History

NAMED = 8
"""So many cartons are named in one sentence (chosen)."""


def notes(past: History, parcels: pd.DataFrame, studied: int) -> Iterator[str]:
    """What was assumed, joined or left aside; `studied` cartons have advice."""
    for carton, spelled in zip(past.groups.table["carton"], past.groups.table["spelled"], strict=True):
        if ";" in spelled:
            yield f"Taken for one carton, {carton}: {spelled}. If they are not, give them different names."
    yield (
        "It is assumed that the carrier measures every parcel and corrects every one whose charge the reading raises; "
        "a parcel without a correction then says that its reading stayed below the next costly step."
    )
    if past.parcels.delay_days:
        yield (
            f"Nineteen in twenty corrections came within {past.parcels.delay_days} days of the label's statement; "
            "parcels billed later than that before the last statement are left out until theirs can have come."
        )
    if past.parcels.lot.lacks_fee:
        yield (
            "No fee for a correction is known, from your fees table or from the statements, so none is counted in what "
            "back-charges are expected to cost. If your carrier takes one, put it into your fees table."
        )
    inferred = int(parcels["inferred"].notna().sum())
    if inferred:
        yield f"{inferred} readings are not shown by the carrier but inferred from its bill."
    large = int((parcels.groupby("carton").size() >= LEAST_PARCELS).sum())
    if large > studied:
        yield f"Cuts and default weights were reckoned for the {studied} of {large} cartons that cost most."


def gaps(past: History, parcels: pd.DataFrame, judged: Container[str]) -> Iterator[str]:
    """What cannot be said yet; `judged` are the cartons of which a default weight is judged."""
    for reason, count in past.parcels.left_out.items():
        yield f"{count} {'parcel does' if count == 1 else 'parcels do'} not count: {reason}."
    if parcels.empty:
        yield (
            "Nothing can be said yet: no parcel counts. Needed: your shipping records with sizes and weights, and the "
            "statements that bill those parcels."
        )
        return
    if parcels["month_on"].min() == parcels["month_on"].max():
        yield (
            "There is one month only, so no trend, no change of habit, and no correction that comes later can be seen. "
            "Needed: the records and statements of two more months at least."
        )
    if not parcels["reading_shown"].any():
        yield (
            "The carrier showed no reading of its own, so how far it reads beyond your figures is known from above "
            "only: no more than what would have been corrected. Needed: statements or notices with corrections."
        )
    sizes = parcels.groupby("carton").size().sort_values(ascending=False, kind="stable")
    yield from _by_count({str(carton): int(count) for carton, count in sizes.items()}, judged)


def untold(changed_on: Mapping[str, date], past: History, changes: pd.DataFrame) -> Iterator[str]:
    """The changes of habit told by the user of which nothing can be said."""
    compared = set(changes.loc[changes["told"], "carton"])
    for name, day in changed_on.items():
        shown = past.groups.table.loc[past.groups.table["carton"].isin(past.groups.named(name)), "name"].unique()
        if not len(shown):
            known = _listed(sorted(set(past.groups.table["name"])))
            yield f"There is no carton {name!r} in the records, so no change of it can be seen. There are: {known}."
        elif not compared.intersection(shown):
            when = f"both before {day:%Y-%m-%d} and from then on"
            yield f"{shown[0]} has no parcels that count {when}, so nothing is compared."


def _by_count(sizes: dict[str, int], judged: Container[str]) -> Iterator[str]:
    few = [f"{carton} ({count})" for carton, count in sizes.items() if count < LEAST_PARCELS]
    if few:
        yield f"Too few parcels to advise anything: {_listed(few)}. Needed: {LEAST_PARCELS} a carton at least."
    enough = {carton: count for carton, count in sizes.items() if count >= LEAST_PARCELS}
    wide = [carton for carton, count in enough.items() if count < ENOUGH_PARCELS]
    if wide:
        yield f"Wide ranges, from fewer than {ENOUGH_PARCELS} parcels each: {_listed(wide)}. Needed: more months."
    silent = [carton for carton in enough if carton not in judged]
    if silent:
        yield (
            f"No default weight is judged for {_listed(silent)}: none is typed on most parcels, or no weight was ever "
            "seen. Needed: weights measured at packing in your records, or corrections that show weights."
        )


def _listed(names: list[str]) -> str:
    more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
    return "; ".join(names[:NAMED]) + more
