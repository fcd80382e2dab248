"""The shop's own cartons by name: their sizes and weights for parcels that name a carton only, or have its size."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import pandas as pd
from rapidfuzz import fuzz, process

from auditor.core import units
from auditor.core.schemas import Problem, rows
from auditor.core.sides import FIGURES, SIDES
from auditor.tariff.prices import plain

NEAR = 60.0
"""How alike two names are, of 100, for the one to be suggested for the other (chosen)."""


def known_cartons(cartons: pd.DataFrame, shipments: pd.DataFrame) -> pd.DataFrame:
    """Name, sides and weight of each carton: from the list of cartons, else as the shop declared it most often.

    Args:
        cartons: CARTONS; the weight is the one usually declared.
        shipments: SHIPMENTS.

    Returns:
        Columns carton and the FIGURES, over the names as they are compared; a weight may be missing.
    """
    listed = cartons.dropna(subset=list(SIDES)).rename(columns={"usual_weight_pg": "weight_pg"})
    sizes = shipments.dropna(subset=["carton", *SIDES])[["carton", *FIGURES]]
    often = sizes.groupby(sizes["carton"].map(plain))[["carton", *FIGURES]].agg(_most_often)
    columns = ["carton", *FIGURES]
    found = pd.concat([listed[columns].set_index(listed["carton"].map(plain)), often[columns]])
    return found[~found.index.duplicated()].astype({"carton": "str", **dict.fromkeys(FIGURES, "Int64")})


def _most_often(values: pd.Series) -> object:
    common = values.mode()
    return common.iloc[0] if len(common) else pd.NA


def completed(parcels: pd.DataFrame, known: pd.DataFrame) -> tuple[pd.DataFrame, list[Problem]]:
    """The parcels that have a size and a weight, what they lack taken from the carton they name.

    A parcel without a carton's name but with the very size of one of the shop's is taken for it; a parcel that names a
    carton and gives no weight has the carton's usual one. Both are told.

    Args:
        parcels: PARCELS.
        known: see `known_cartons`.

    Returns:
        PARCELS, numbered from 0, and a problem for each that was left out.
    """
    same = known.reset_index(names="name").drop_duplicates(list(SIDES)).set_index(list(SIDES))["name"]
    sized = parcels[list(SIDES)].notna().all(axis=1)
    by_size = parcels[sized].join(same, on=list(SIDES))["name"].reindex(parcels.index)
    name = parcels["carton"].map(plain).astype("str").where(parcels["carton"].notna(), by_size)
    table = parcels.assign(carton=name.map(known["carton"]).astype("str").fillna(parcels["carton"]))
    for side in SIDES:
        table[side] = table[side].mask(~sized, name.map(known[side]).astype("Int64"))
    usual = name.map(known["weight_pg"]).astype("Int64").where(parcels["carton"].notna())
    table["weight_pg"] = table["weight_pg"].fillna(usual)
    complete = table[list(FIGURES)].notna().all(axis=1)
    problems = [_lack(row, known) for row in rows(table[~complete])]
    problems += _taken_for(table[parcels["carton"].isna() & by_size.notna() & complete])
    problems += _usual_weight(table[parcels["weight_pg"].isna() & complete])
    return table[complete].reset_index(drop=True), problems


def _usual_weight(parcels: pd.DataFrame) -> Iterator[Problem]:
    for row in rows(parcels):
        weight = f"{units.shown(int(row['weight_pg']), 'lb', 'weight')} lb"
        message = f"No weight was given for '{row['carton']}', so its usual one was taken, {weight}. Weigh the parcel."
        yield Problem(*place_of(row), message, note=True)


def place_of(row: Mapping[str, Any]) -> tuple[str, str]:
    """File and place of a row, "" for what was typed."""
    file, place = ("" if pd.isna(row[name]) else str(row[name]) for name in ("source_file", "source_place"))
    return file, place


def _taken_for(parcels: pd.DataFrame) -> Iterator[Problem]:
    for row in rows(parcels):
        yield Problem(*place_of(row), f"A parcel of this size was taken for your carton '{row['carton']}'.", note=True)


def _lack(parcel: Mapping[str, Any], known: pd.DataFrame) -> Problem:
    """Why a parcel cannot be checked."""
    where, named = place_of(parcel), not pd.isna(parcel["carton"])
    called = "This parcel" if pd.isna(parcel["parcel"]) else f"'{parcel['parcel']}'"
    if all(pd.notna(parcel[side]) for side in SIDES):
        message = f"{called} has no weight, so it was not checked. Weigh it and add that, as in '3 lb 4 oz'."
    elif named:
        message = unknown_carton(str(parcel["carton"]), known)
    else:
        message = f"{called} has no size that could be read and names no carton, so it was not checked."
    return Problem(*where, message)


def unknown_carton(name: str, known: pd.DataFrame) -> str:
    """What to say of a name that is no carton of the shop's."""
    if known.empty:
        return (
            f"'{name}' is neither a size nor a weight, and no carton is known by that name: give your list of cartons "
            "or your shipping records with --history, or a size as in '47 1/2 x 6 x 6 in'."
        )
    near = process.extractOne(plain(name), list(known.index), scorer=fuzz.ratio, score_cutoff=NEAR)
    meant = f" Did you mean '{known.loc[near[0], 'carton']}'?" if near else ""
    return f"No carton is called '{name}'.{meant} Known are: {', '.join(known['carton'])}."
