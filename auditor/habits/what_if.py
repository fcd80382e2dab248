"""Recorded months repriced with one change: a cut carton, another default weight, carton, tariff, price list or day.

Labels are exact, by `price`. Back-charges are expected ones, before and after over the same draws of how far readings
lie beyond declared figures, so that a difference's interval leaves out what both have in common. A declared figure
below what was measured at packing or read by the carrier is refused.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from auditor.charges.schema import by_rules
from auditor.core import units
from auditor.core.arrays import Floats, Whole, Yes
from auditor.core.progress import each
from auditor.core.schemas import WHAT_IF, conform, rows
from auditor.core.sides import FIGURES, SIDES
from auditor.habits.advice.cautions import CUTTING
from auditor.habits.bench.precheck import expected_excess
from auditor.habits.history import History
from auditor.habits.known_cartons import unknown_carton
from auditor.habits.outlook import Outlook, outlook
from auditor.habits.readings.excess import Excess, ends
from auditor.habits.same_carton import plain_name
from auditor.tariff import Prices, Rulebook
from auditor.tariff.prices import plain

EVERY = "all"
NEEDED = ("service", "shipped_on", *FIGURES)


class RefusedError(ValueError):
    """A change that cannot be reckoned, or that is refused; the message says why."""


@dataclass(frozen=True)
class Scene:
    """Parcels as they were, or would be, declared and priced.

    `parcels`: as `price` takes them, over the index of shipments, with carton and month. `excess`: for each of these
    cartons how far readings lie beyond each of the FIGURES. `history`: what that, and the cartons' names, are taken
    from. `other_cents`: other costs of each parcel, such as its carton. `assumed`: sentences that say what is taken for
    granted; `cautions`: what to heed when the change is made.
    """

    parcels: pd.DataFrame
    excess: Mapping[str, Mapping[str, Excess]]
    history: History
    book: Rulebook
    prices: Prices
    other_cents: pd.Series
    assumed: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    def only(self, labels: pd.Series | pd.Index) -> Scene:
        """The same of some parcels."""
        return replace(self, parcels=self.parcels.loc[labels], other_cents=self.other_cents.loc[labels])


def as_recorded(
    shipments: pd.DataFrame, lines: pd.DataFrame, history: History, book: Rulebook, prices: Prices
) -> Scene:
    """The recorded months: parcels with all that is needed to price them, voided ones left out.

    Args:
        shipments: SHIPMENTS.
        lines: LINES with `shipment`; service, zone and ship date are the carrier's where the seller recorded none.
        history: the shop's cartons, and how far readings lie beyond declared figures.
        book: the rules.
        prices: the prices.

    Raises:
        RefusedError: there is nothing to reprice.
    """
    billed = lines.dropna(subset=["shipment"]).groupby("shipment")[["service", "zone", "shipped_on"]].first()
    table = shipments.loc[~shipments["voided"].fillna(value=False)].copy()
    for column in billed:
        table[column] = table[column].fillna(billed[column].reindex(table.index))
    table = table.dropna(subset=list(NEEDED))
    parcels = table[["carton", "service", "zone", "shipped_on", *FIGURES, "residential"]].assign(
        carton=history.groups.of_shipment.reindex(table.index),
        residential=table["residential"].fillna(value=False),
        month=table["shipped_on"].dt.strftime("%Y-%m"),
    )
    ruled = by_rules(book, parcels)
    if not ruled:
        raise RefusedError(
            "No recorded parcel has a service, a ship date, a size and a weight by which it could be repriced."
        )
    excess = {
        str(carton): expected_excess(str(carton), ruled[0][0], history.excess_of, group["weight_pg"])
        for carton, group in parcels.groupby("carton", sort=False, dropna=False)
    }
    return Scene(parcels, excess, history, book, prices, pd.Series(0, index=parcels.index, dtype=np.int64))


def cut(scene: Scene, carton: str, to_nm: int) -> tuple[Scene, Scene]:
    """The parcels of a carton as they were, and with its longest side really cut to `to_nm`.

    Raises:
        RefusedError: no such carton, or no parcel of it is longer than that.
    """
    before = scene.only(_named(scene, carton))
    longer = before.parcels["length_nm"] > to_nm
    if not longer.any():
        most = _inches(int(before.parcels["length_nm"].max()))
        raise RefusedError(
            f"Cutting '{carton}' to {_inches(to_nm)} takes nothing off: its parcels are declared {most}."
        )
    before = before.only(longer)
    cut_down = (
        f"The {len(before.parcels)} parcels of '{carton}' declared longer are taken to be really cut to "
        f"{_inches(to_nm)} and declared so. Their contents have to fit."
    )
    assumed = (
        cut_down,
        "The scanner is taken to read as far beyond the cut carton as it did beyond the uncut one.",
        "Widths, heights, weights, services, zones and days stay as recorded.",
    )
    shorter = before.parcels.assign(length_nm=to_nm)
    return before, replace(before, parcels=shorter, assumed=assumed, cautions=CUTTING)


def default_weight(scene: Scene, carton: str, weight_pg: int, measured: pd.Series) -> tuple[Scene, Scene]:
    """The parcels of a carton declared at its default weight, the one most often typed, and at another default.

    Args:
        scene: the recorded months.
        carton: its name.
        weight_pg: the other default.
        measured: the greatest weight measured of each shipment, at packing or by the carrier; missing where none was.

    Raises:
        RefusedError: no such carton; some of those parcels were measured heavier than that; or none was weighed and it
            is lower than the default typed now.
    """
    before = scene.only(_named(scene, carton))
    default = int(before.parcels["weight_pg"].mode().iloc[0])
    before = before.only(before.parcels["weight_pg"] == default)
    heaviest = measured.reindex(before.parcels.index).dropna()
    if weight_pg < default and heaviest.empty:
        raise RefusedError(
            f"A default below {_pounds(default)} for '{carton}' is refused: none of these parcels was weighed, so "
            "nothing shows that they are lighter. Weigh some at packing, and record it in a column 'Packed weight'."
        )
    if (heaviest > weight_pg).any():
        raise RefusedError(_too_light(carton, weight_pg, heaviest))
    if weight_pg == default:
        raise RefusedError(f"{_pounds(weight_pg)} is what is declared for '{carton}' now, so nothing changes.")
    excess = {name: _lighter(excess_of, weight_pg - default) for name, excess_of in before.excess.items()}
    weighed = f"weights measured among them: {len(heaviest)}" if len(heaviest) else "none was weighed, so weigh some"
    declared = (
        f"The {len(before.parcels)} parcels of '{carton}' declared {_pounds(default)} are declared "
        f"{_pounds(weight_pg)} instead; {weighed}. Parcels declared at another weight stay as they are."
    )
    assumed = (
        declared,
        "What they truly weigh stays the same, and so do sizes, services, zones and days.",
    )
    after = before.parcels.assign(weight_pg=weight_pg)
    return before, replace(before, parcels=after, excess=excess, assumed=assumed)


def _lighter(excess: Mapping[str, Excess], by_pg: int) -> dict[str, Excess]:
    """The excess over a default that is so much higher: parcels weigh what they weigh, so it loses what that gains."""
    weight = excess["weight_pg"]
    return {**excess, "weight_pg": replace(weight, mean=weight.mean - by_pg)}


def _too_light(carton: str, weight_pg: int, measured: pd.Series) -> str:
    over = measured[measured > weight_pg]
    return (
        f"A default of {_pounds(weight_pg)} for '{carton}' is refused: {len(over)} of {len(measured)} measured parcels "
        f"weighed more, the heaviest {_pounds(int(over.max()))}. Nothing is reckoned that declares less than was "
        f"measured. The least that covers them all is {_pounds(int(over.max()))}; or weigh each parcel."
    )


def other_carton(
    scene: Scene, carton: str, other: str, cartons: pd.DataFrame, shipments: pd.DataFrame
) -> tuple[Scene, Scene]:
    """The parcels of a carton as they were, and in another carton of the shop's list.

    Args:
        scene: the recorded months.
        carton: the carton used.
        other: the one to be used instead.
        cartons: CARTONS.
        shipments: SHIPMENTS, for what was measured at packing of the other carton.

    Raises:
        RefusedError: a carton is not known; or the list gives the other one a size below what was measured.
    """
    before = scene.only(_named(scene, carton))
    listed = cartons.assign(key=cartons["carton"].map(plain_name)).drop_duplicates("key").set_index("key")
    if plain_name(other) not in listed.dropna(subset=list(SIDES)).index:
        raise RefusedError(unknown_carton(other, listed))
    old, new = (rows(listed.reindex([plain_name(name)]))[0] for name in (carton, other))
    _refuse_undersized(new, shipments)
    heavier, dearer = (_more(old[column], new[column]) for column in ("empty_weight_pg", "unit_cost_cents"))
    weight = before.parcels["weight_pg"] + (heavier or 0)
    if (weight <= 0).any():
        raise RefusedError(
            f"'{other}' is lighter than '{carton}' by more than some parcels weigh: look at the empty weights."
        )
    parcels = before.parcels.assign(weight_pg=weight, **{side: int(new[side]) for side in SIDES})
    its = scene.history.excess_of(str(new["carton"]))
    sides = {side: its[side] for side in SIDES}
    assumed = (
        f"The {len(parcels)} parcels of '{carton}' are packed in '{new['carton']}', {_size(new)}; they have to fit.",
        "The scanner is taken to read them as it reads that carton now.",
        "Declared weights change by the difference of the empty cartons."
        if heavier is not None
        else "Empty weights are not in your list of cartons, so declared weights stay as they are.",
        "The price of the cartons is counted."
        if dearer is not None
        else "Prices of the cartons are not in your list, so they are not counted.",
    )
    return before, replace(
        before,
        parcels=parcels,
        excess={name: {**excess_of, **sides} for name, excess_of in before.excess.items()},
        other_cents=before.other_cents + (dearer or 0),
        assumed=assumed,
    )


def _more(before: Any, after: Any) -> int | None:
    """By how much the other is more; None where either is missing."""
    return None if pd.isna(before) or pd.isna(after) else int(after) - int(before)


def _refuse_undersized(carton: Mapping[str, Any], shipments: pd.DataFrame) -> None:
    """A list that makes a carton smaller than it is mostly measured would have the shop declare too little."""
    packed = shipments[shipments["carton"].fillna("").map(plain_name) == plain_name(carton["carton"])]
    for side in SIDES:
        mostly = packed[f"packed_{side}"].dropna().median()
        if pd.notna(mostly) and mostly > carton[side] + TAPE_NM:
            raise RefusedError(
                f"Your list of cartons gives '{carton['carton']}' {_inches(int(carton[side]))}, but at packing it was "
                f"mostly measured {_inches(int(mostly))}. Nothing is reckoned that declares less than was measured: "
                "put the list right first."
            )


TAPE_NM = units.NM_PER_INCH // 16
"""A household tape is read to 1/16 in (common practice, no source)."""


def priced_otherwise(scene: Scene, book: Rulebook, prices: Prices, on: pd.Timestamp | None) -> tuple[Scene, Scene]:
    """All parcels as they were, and under other rules or prices, or as if shipped on another day."""
    day = "" if on is None else f" as if all were shipped on {on:%Y-%m-%d}"
    assumed = (f"All figures, services and zones stay as recorded; only rules and prices are others{day}.",)
    parcels = scene.parcels if on is None else scene.parcels.assign(shipped_on=on.as_unit("s"))
    return scene, replace(scene, parcels=parcels, book=book, prices=prices, assumed=assumed)


def measured_weights(shipments: pd.DataFrame, readings: pd.DataFrame) -> pd.Series:
    """The greatest weight measured of each shipment, at packing or by the carrier, over the index of shipments.

    Args:
        shipments: SHIPMENTS.
        readings: READINGS; those that were only inferred from a bill are no measurement.
    """
    own = readings[readings["inferred"].isna() & (readings["measured_weight_pg"] != readings["declared_weight_pg"])]
    measured = own.groupby("shipment_tracking")["measured_weight_pg"].max()
    both = pd.DataFrame({"packed": shipments["packed_weight_pg"], "measured": shipments["tracking"].map(measured)})
    return both.astype("Int64").max(axis=1)


def compared(before: Scene, after: Scene) -> pd.DataFrame:
    """WHAT_IF: what the change would have made of the recorded months, by carton and month and over all.

    The parcels of both have the same index; those with a price in one only are left out and counted.
    """
    of_carton = before.parcels.groupby("carton", sort=True)
    parts = [_Part.of(before, after, group) for _, group in each([*of_carton], "Repricing each carton")]
    months = sorted(before.parcels["month"].unique())
    wanted = [(carton, month) for carton in (*(part.carton for part in parts), EVERY) for month in (*months, EVERY)]
    table = [
        _row(carton, month, [part for part in parts if carton in {part.carton, EVERY}]) for carton, month in wanted
    ]
    return conform(pd.DataFrame([row for row in table if row["parcels"] or row["unpriced"]]), WHAT_IF)


@dataclass(frozen=True)
class _Part:
    """The parcels of one carton: what to expect of them before and after, which have a price in both, other costs."""

    carton: str
    month: pd.Series
    outlooks: tuple[Outlook, Outlook]
    labels: Whole
    priced: Yes
    other: Whole

    @classmethod
    def of(cls, before: Scene, after: Scene, parcels: pd.DataFrame) -> _Part:
        old, new = before.only(parcels.index), after.only(parcels.index)
        outlooks = _outlook(old), _outlook(new)
        labels = np.stack([out.declared_cents[out.kind] for out in outlooks])
        other = (new.other_cents - old.other_cents).to_numpy(dtype=np.int64)
        return cls(
            str(parcels["carton"].iloc[0]), parcels["month"], outlooks, labels, np.all(labels >= 0, axis=0), other
        )

    def back_charges(self, at: int, rows: Yes) -> Floats:
        """Expected back-charges of some parcels, before (0) or after (1), in each draw."""
        out = self.outlooks[at]
        return np.asarray(np.bincount(out.kind[rows], minlength=len(out.cents)) @ out.cents)


def _outlook(scene: Scene) -> Outlook:
    carton = str(scene.parcels["carton"].iloc[0])
    return outlook(scene.parcels, scene.excess[carton], scene.book, scene.prices)


def _row(carton: str, month: str, parts: list[_Part]) -> dict[str, object]:
    """One row of WHAT_IF: the sums of the parts over a month."""
    inside = [((part.month == month) | (month == EVERY)).to_numpy() for part in parts]
    counted = [wanted & part.priced for wanted, part in zip(inside, parts, strict=True)]
    pairs = list(zip(parts, counted, strict=True))
    labels = sum((part.labels[:, wanted].sum(axis=1) for part, wanted in pairs), np.zeros(2, np.int64))
    before, after = (sum((part.back_charges(at, wanted) for part, wanted in pairs), np.zeros(1)) for at in (0, 1))
    other = sum(int(part.other[wanted].sum()) for part, wanted in pairs)
    difference = labels[1] - labels[0] + other + (after - before)
    low, high = ends(difference)
    return {
        "carton": carton,
        "month": month,
        "parcels": sum(int(wanted.sum()) for wanted in counted),
        "unpriced": sum(int((wanted & ~part.priced).sum()) for wanted, part in zip(inside, parts, strict=True)),
        "label_before_cents": int(labels[0]),
        "label_after_cents": int(labels[1]),
        "back_charge_before_cents": round(float(np.mean(before))),
        "back_charge_after_cents": round(float(np.mean(after))),
        "other_cents": other,
        "difference_cents": round(float(np.mean(difference))),
        "difference_low_cents": round(float(low)),
        "difference_high_cents": round(float(high)),
    }


def _named(scene: Scene, carton: str) -> pd.Series:
    """Which parcels are of a carton."""
    found: pd.Series = scene.parcels["carton"].isin(scene.history.groups.named(carton))
    if not found.any():
        known = scene.parcels[["carton"]].drop_duplicates()
        raise RefusedError(unknown_carton(carton, known.set_index(known["carton"].map(plain))))
    return found


def _inches(nanometres: int) -> str:
    return f"{units.shown(nanometres, 'in', 'length')} in"


def _size(carton: Mapping[str, Any]) -> str:
    return " × ".join(units.shown(int(carton[side]), "in", "length") for side in SIDES) + " in"


def _pounds(picograms: int) -> str:
    return f"{units.shown(picograms, 'lb', 'weight')} lb"
