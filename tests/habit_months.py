"""Months of an invented shop whose scanner's excess is known: the tables an audit would give, made directly."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.core.schemas import CARTONS, FINDINGS, LINES, READINGS, SHIPMENTS, conform, empty
from auditor.core.sides import FIGURES, SIDES
from auditor.tariff import Prices, Rulebook, opened, price
from tests.parcels import FEE_CENTS, inches, pounds, prices

UNIT = {figure: inches(1) if figure in SIDES else pounds(1) for figure in FIGURES}


@dataclass(frozen=True)
class Kind:
    """A carton: inches, pounds typed, parcels, and the truth: mean and spread of the excess of each figure.

    The excess is in inches and pounds. `since`: parcels are shipped from that day for `days` days. `uncut`: the share
    of parcels sent uncut by mistake, and how many inches longer those are.
    """

    name: str
    sides: tuple[float, float, float]
    weight: float
    parcels: int
    excess: Mapping[str, tuple[float, float]]
    since: str = "2026-03-02"
    days: int = 28
    uncut: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True)
class Shop:
    """The tables of an audit, as `auditor.habits.study` takes them."""

    shipments: pd.DataFrame
    cartons: pd.DataFrame
    lines: pd.DataFrame
    readings: pd.DataFrame
    findings: pd.DataFrame
    book: Rulebook
    prices: Prices


@cache
def book() -> Rulebook:
    """The rules of these months."""
    return opened("us-ground-common")


@cache
def price_list() -> Prices:
    """And their prices."""
    return prices()


def usual(
    length: tuple[float, float], others: tuple[float, float] = (-0.6, 0.2), weight: tuple[float, float] = (-0.5, 0.3)
) -> dict[str, tuple[float, float]]:
    """The excess of all figures; by default only the longest side is ever read into the next step."""
    return {"length_nm": length, "width_nm": others, "height_nm": others, "weight_pg": weight}


def shop(kinds: Sequence[Kind], seed: int, *, corrected_on: str = "2026-05-01") -> Shop:
    """What the carrier bills for such parcels: a correction for each whose charge the readings raise.

    All labels stand on a statement of 30 April 2026, all corrections on one of the day given.
    """
    rng = np.random.default_rng(seed)
    declared = pd.concat([_declared(kind, rng) for kind in kinds], ignore_index=True)
    excess = {
        figure: np.concatenate([rng.normal(*kind.excess[figure], kind.parcels) for kind in kinds]) for figure in FIGURES
    }
    slipped = np.concatenate([_slipped(kind, rng) for kind in kinds])
    excess["length_nm"] = excess["length_nm"] + slipped
    read = declared.assign(
        **{
            figure: (declared[figure] + (excess[figure] * UNIT[figure]).round().astype(np.int64)).clip(lower=1)
            for figure in FIGURES
        }
    )
    before, after = (price(parcels, book(), price_list(), detail=True) for parcels in (declared, read))
    more = (after["total_cents"] - before["total_cents"]).fillna(0).astype("int64")
    shown = _shown(declared, read, after, more > 0)
    shipments = conform(declared.assign(voided=False), SHIPMENTS)
    return Shop(
        shipments=shipments,
        cartons=empty(CARTONS),
        lines=_lines(shipments, more, after["billable_pg"], corrected_on),
        readings=_readings(declared, shown),
        findings=_findings(declared, more),
        book=book(),
        prices=price_list(),
    )


def _slipped(kind: Kind, rng: np.random.Generator) -> npt.NDArray[np.float64]:
    """How many inches longer than meant each parcel is."""
    share, inches_more = kind.uncut
    return np.asarray(inches_more * (rng.random(kind.parcels) < share) if share else np.zeros(kind.parcels))


def _declared(kind: Kind, rng: np.random.Generator) -> pd.DataFrame:
    days = pd.Timestamp(kind.since) + pd.to_timedelta(np.sort(rng.integers(0, kind.days, kind.parcels)), unit="D")
    figures = [*map(_inches, kind.sides), round(kind.weight * pounds(1))]
    return pd.DataFrame(
        {
            "tracking": [f"{kind.name}-{kind.since}-{number}" for number in range(kind.parcels)],
            "carton": kind.name,
            "service": "Ground",
            "zone": rng.integers(2, 9, kind.parcels).astype(str),
            "shipped_on": days,
            "residential": False,
            **dict(zip(FIGURES, figures, strict=True)),
        }
    )


def _inches(side: float) -> int:
    return round(side * inches(1))


def _shown(declared: pd.DataFrame, read: pd.DataFrame, after: pd.DataFrame, corrected: pd.Series) -> pd.DataFrame:
    """The figures a correction shows: sides rounded up, and the weight where it is the scale's that is billed."""
    sides = {side: -(-read[side] // inches(1)) * inches(1) for side in SIDES}
    steps = {side: -(-declared[side] // inches(1)) * inches(1) for side in SIDES}
    shown = {side: sides[side].where(corrected & (sides[side] != steps[side]), declared[side]) for side in SIDES}
    weight = -(-read["weight_pg"] // pounds(1)) * pounds(1)
    by_size = after[["dimensional_weight_pg", "least_billable_pg"]].max(axis=1)
    by_scale = corrected & (weight > by_size) & (weight != -(-declared["weight_pg"] // pounds(1)) * pounds(1))
    return pd.DataFrame({**shown, "weight_pg": weight.where(by_scale, declared["weight_pg"])})


def _lines(shipments: pd.DataFrame, more: pd.Series, billed: pd.Series, corrected_on: str) -> pd.DataFrame:
    label = pd.DataFrame({"shipment": shipments.index, "state": "label charge", "amount_cents": 1000})
    label = label.assign(statement="one", statement_on=pd.Timestamp("2026-04-30"))
    adjusted = pd.DataFrame({"shipment": shipments.index[more > 0], "amount_cents": more[more > 0]})
    adjusted = adjusted.assign(
        state="adjustment",
        billed_length_nm=1,
        billed_weight_pg=billed[more > 0],
        statement="two",
        statement_on=pd.Timestamp(corrected_on),
    )
    last = pd.DataFrame({"state": ["fee"], "amount_cents": [0], "statement": ["two"]})
    lines = pd.concat([label, adjusted, last.assign(statement_on=pd.Timestamp(corrected_on))], ignore_index=True)
    return conform(lines, LINES).assign(shipment=lines["shipment"].astype("Int64"))


def _readings(declared: pd.DataFrame, shown: pd.DataFrame) -> pd.DataFrame:
    named = {f"declared_{figure}": declared[figure] for figure in FIGURES}
    named |= {f"measured_{figure}": shown[figure] for figure in FIGURES}
    table = pd.DataFrame({"shipment_tracking": declared["tracking"], "carton": declared["carton"], **named})
    return conform(table.assign(statement="one", measured_rounded=True), READINGS)


def _findings(declared: pd.DataFrame, more: pd.Series) -> pd.DataFrame:
    found = declared[more > 0]
    cents = more[more > 0] + FEE_CENTS["correction fee"]
    shares = {"box_length_cents": cents, "box_girth_cents": 0, "declared_weight_cents": 0, "rounding_cents": 0}
    table = pd.DataFrame({"shipment_tracking": found["tracking"], "carton": found["carton"], **shares})
    return conform(table.assign(other_cents=0, difference_cents=cents, cause="box length"), FINDINGS)
