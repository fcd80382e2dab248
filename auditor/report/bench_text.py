"""What `auditor precheck` says at the packing bench, as lines of plain text."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd

from auditor import units
from auditor.habits.precheck import BACK_CHARGE, BILLABLE_WEIGHT, Checked
from auditor.money import dollars
from auditor.report.plain import Row, plain_rows
from auditor.report.wording import counted

SIDES = ("length_nm", "width_nm", "height_nm")
EIGHTHS = 8
MOST_TRIMS = 3

LIFTING_PG = 51 * units.PG_PER_POUND
"""The load constant of the revised NIOSH lifting equation, 23 kg or 51 lb: the most for one person in the best posture
(Applications Manual for the Revised NIOSH Lifting Equation, DHHS (NIOSH) Publication No. 94-110, revised 9/2021)."""

LIFTING = (
    "Heavy: 51 lb (23 kg) is the most that is recommended for one person to lift, and only in the best posture, close "
    "to the body and now and then (NIOSH lifting equation, Publication No. 94-110). Lift it with somebody else or with "
    "a trolley. Local rules come first."
)
CUTTING = (
    "After a cut, measure the carton again and declare what you then measure. A cut or telescoped carton is weaker: "
    "keep two inches of board on each side of fragile contents and tape all seams anew (common practice, no source). "
    "Cut away from your hand and body, on a firm surface."
)
TOLERANCE = (
    "from nothing but the tolerance of the carrier's device, with no bulge or wear; your own months, given with "
    "--history, say more"
)


def told(checked: Checked) -> Iterator[str]:
    """Every parcel with its charges, limits, chance of a back-charge and trims; then the cautions that apply."""
    for _, checks in checked.checks.groupby(["parcel", "service", "source_place"], sort=False, dropna=False):
        yield from _parcel(checks, checked)
        yield ""
    if len(checked.trims):
        yield CUTTING
    if (checked.checks["weight_pg"] > LIFTING_PG).any():
        yield LIFTING


def _parcel(checks: pd.DataFrame, checked: Checked) -> Iterator[str]:
    """One parcel and service, in the zones that come into question."""
    first = plain_rows(checks.iloc[:1])[0]
    yield _headline(first, checks)
    yield (f"  Counted as {_size(first, 'counted_')}{_dimensional(first)}; billed by {_weight(first['billable_pg'])}.")
    yield f"  {_charge(checks)}"
    yield f"  {_chance(checks)}"
    yield from _limits(checked.rooms[checked.rooms["check"] == checks.index[0]])
    yield from _trims(checked.trims[checked.trims["check"].isin(checks.index)], first)


def _headline(first: Row, checks: pd.DataFrame) -> str:
    zones = checks["zone"].dropna().unique()
    named = f"{first['carton']}: " if first["carton"] else ""
    parts = [f"{named}{_size(first)}, {_weight(first['weight_pg'])}", first["service"]]
    parts += [f"zone {zones[0]}"] if len(zones) == 1 else [f"zones {zones[0]} to {zones[-1]}"] if len(zones) else []
    parts += ["to a home"] if first["residential"] else []
    return ", ".join([*filter(None, parts), f"shipped {first['shipped_on']:%Y-%m-%d}"])


def _size(row: Row, prefix: str = "") -> str:
    return " × ".join(fraction(row[f"{prefix}{side}"]) for side in SIDES) + " in"


def fraction(nanometres: int) -> str:
    """Inches as a tape shows them, where that is exact: 47 1/2; else with two decimals."""
    whole, rest = divmod(int(nanometres) * EIGHTHS * 2, units.NM_PER_INCH)
    if rest or whole % (2 * EIGHTHS) == 0:
        return units.shown(int(nanometres), "in", "length")
    inches, part = divmod(whole, 2 * EIGHTHS)
    common = int(np.gcd(part, 2 * EIGHTHS))
    return f"{f'{inches} ' if inches else ''}{part // common}/{2 * EIGHTHS // common}"


def _weight(picograms: Any) -> str:
    return f"{units.shown(int(picograms), 'lb', 'weight')} lb"


def _dimensional(row: Row) -> str:
    weight = row["dimensional_weight_pg"]
    return f", dimensional weight {_weight(weight)}" if weight else ""


def _charge(checks: pd.DataFrame) -> str:
    priced = checks.dropna(subset=["total_cents"])
    if priced.empty:
        return f"Expected charge: not known, as {checks['unpriced'].iloc[0]}."
    if len(priced) == 1:
        return f"Expected charge: {dollars(int(priced['total_cents'].iloc[0]))}."
    by_zone = [f"zone {row['zone']} {dollars(int(row['total_cents']))}" for row in plain_rows(priced)]
    return f"Expected charge: {', '.join(by_zone)}."


def _chance(checks: pd.DataFrame) -> str:
    likely = checks.dropna(subset=["chance"]).sort_values("chance").iloc[-1:]
    if likely.empty:
        return "Chance of a back-charge: not known."
    row = plain_rows(likely)[0]
    costs = row["back_charge_cents"]
    expected = "" if costs is None else f", {dollars(round(costs))} a parcel on average"
    if row["basis"] == "device tolerance":
        return f"Chance of a back-charge: {row['chance']:.0%}{expected}; {TOLERANCE}."
    whose = "this carton" if row["basis"] == "own history" else "your cartons"
    seen = f"{counted(row['basis_parcels'], 'recorded parcel')} of {whose}, {row['basis_read']} of them with a reading"
    interval = f"{row['chance_low']:.0%} to {row['chance_high']:.0%}"
    return f"Chance of a back-charge: {row['chance']:.0%} ({interval}){expected}; from {seen}."


def _limits(rooms: pd.DataFrame) -> Iterator[str]:
    for room in plain_rows(rooms.sort_values("passed", ascending=False, kind="stable")):
        mark = "OVER" if room["passed"] else "ok"
        yield f"  {mark:<4}  {room['charge']:<22} {room['limit']:<32} counted {room['counted']:<11} {_room(room)}"


def _room(room: Row) -> str:
    if room["side"] is None:
        return "no single side decides"
    amount = room["room_pg"] if room["side"] == "weight" else room["room_nm"]
    text = _weight(abs(amount)) if room["side"] == "weight" else f"{fraction(abs(amount))} in"
    if room["passed"]:
        return f"{text} too much {room['side']}"
    return f"{text} of {room['side']} left" if amount else f"no {room['side']} left at all"


def _trims(trims: pd.DataFrame, first: Row) -> Iterator[str]:
    """The trims, each once however many zones it was reckoned for."""
    shown = trims.drop_duplicates(["reason", "side", "to_nm"])
    for trim in plain_rows(shown.head(MOST_TRIMS)):
        of_all = trims[(trims["side"] == trim["side"]) & (trims["to_nm"] == trim["to_nm"])]
        yield (
            f"  Trim: {fraction(trim['cut_nm'])} in off the {trim['side']}, to {fraction(trim['to_nm'])} in"
            f"{_becomes(trim, first)}{_saving(of_all)}{_then(trim)}."
        )


def _becomes(trim: Row, first: Row) -> str:
    changes = [] if trim["reason"] in {BILLABLE_WEIGHT, BACK_CHARGE} else [f"no {trim['reason']}"]
    if trim["billable_pg"] < first["billable_pg"]:
        changes.append(f"billed by {_weight(trim['billable_pg'])}")
    return f": {', '.join(changes)}" if changes else ""


def _saving(trims: pd.DataFrame) -> str:
    saved = (trims["saves_cents"].astype("Float64") + trims["saves_back_charge_cents"]).dropna()
    if saved.empty:
        return ""
    least, most = (dollars(round(float(end))) for end in (saved.min(), saved.max()))
    return f"; saves {least if least == most else f'{least} to {most}'} a parcel, back-charges counted"


def _then(trim: Row) -> str:
    return "" if trim["chance"] is None else f"; chance of a back-charge then {trim['chance']:.0%}"
