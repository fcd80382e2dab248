"""What `auditor precheck` says at the packing bench, as lines of plain text."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

import pandas as pd

from auditor.core import units
from auditor.core.money import dollars
from auditor.core.sides import SIDES
from auditor.habits.advice import cautions
from auditor.habits.advice.trims import COSTLY_CENTS
from auditor.habits.bench.precheck import BACK_CHARGE, BILLABLE_WEIGHT, Checked
from auditor.report.plain import Row, plain_rows
from auditor.report.wording import counted, share

SIXTEENTHS, OUNCES = 16, 16
MOST_TRIMS = 3
REACH_IN, AN_INCH = 4, 8
"""A limit within so many inches is drawn, with so many letters to the inch."""

TOLERANCE = (
    "it rests on nothing but the tolerance of the carrier's device, with no bulge or wear; your own months, given with "
    "--history, say more"
)
NO_PRICES = "what that comes to is not known without prices (--history)"
SELDOM = 0.0005
"""Of a chance below this nothing is said."""


def lines_of(checked: Checked) -> Iterator[str]:
    """Every parcel with its charges, limits, chance of a back-charge and trims; then the cautions that apply."""
    same_parcel = ["parcel", "source_place", "rules", "billable_pg"]
    for _, checks in checked.checks.groupby(same_parcel, sort=False, dropna=False):
        yield from _parcel(checks, checked)
        yield ""
    yield from cautions.CUTTING if len(checked.trims) else ()
    yield from cautions.of_lifting(checked.checks["weight_pg"])


def _parcel(checks: pd.DataFrame, checked: Checked) -> Iterator[str]:
    """One parcel, in the services and zones that come into question."""
    first = plain_rows(checks.iloc[:1])[0]
    rooms = checked.rooms[checked.rooms["check"].isin(checks.index)].drop_duplicates(["charge", "limit"])
    named = f"{first['carton']}: " if first["carton"] else ""
    home = ", to a home" if first["residential"] else ""
    written = Written(*checked.units_of[first["rules"]])
    own, counted = written.size(first), written.size(first, "counted_")
    yield f"{named}{own}, {written.weight(first['weight_pg'])}{home}, shipped {first['shipped_on']:%Y-%m-%d}"
    yield f"  Counted as {counted}{_dimensional(first, written)}; billed by {written.weight(first['billable_pg'])}."
    yield from _charges(checks)
    yield from (f"  {line}" for line in _chance(checks))
    yield from _limits(rooms, written)
    yield from ruler(first["length_nm"], plain_rows(rooms)) if written.length_unit == "in" else ()
    yield from _trims(checked.trims[checked.trims["check"].isin(checks.index)], first, written)


@dataclass(frozen=True)
class Written:
    """How sizes and weights are written, in the units of a tariff."""

    length_unit: str
    weight_unit: str

    def length(self, nanometres: int) -> str:
        """'47 1/2 in', as a tape shows it, where that is exact; else with two decimals."""
        return f"{self._number(int(nanometres))} {self.length_unit}"

    def _number(self, nanometres: int) -> str:
        parts, rest = divmod(nanometres * SIXTEENTHS, units.NM_PER_INCH)
        if self.length_unit != "in" or rest or parts % SIXTEENTHS == 0:
            return units.shown(nanometres, self.length_unit, "length")
        inches, part = divmod(parts, SIXTEENTHS)
        return f"{inches or ''} {Fraction(part, SIXTEENTHS)}".strip()

    def size(self, row: Row, prefix: str = "") -> str:
        """'47 1/2 × 6 × 6 in'."""
        return f"{' × '.join(self._number(int(row[f'{prefix}{side}'])) for side in SIDES)} {self.length_unit}"

    def weight(self, picograms: int) -> str:
        """'5 lb 3 oz' where that is exact; else with two decimals."""
        pounds, ounces = divmod(int(picograms) // units.PG_PER_OUNCE, OUNCES)
        if self.weight_unit != "lb" or picograms % units.PG_PER_OUNCE or not ounces:
            return f"{units.shown(int(picograms), self.weight_unit, 'weight')} {self.weight_unit}"
        return f"{pounds} lb {ounces} oz" if pounds else f"{ounces} oz"


def _dimensional(row: Row, written: Written) -> str:
    weight = row["dimensional_weight_pg"]
    return f", dimensional weight {written.weight(weight)}" if weight else ""


def _charges(checks: pd.DataFrame) -> Iterator[str]:
    """What each service costs, by zone where none was named."""
    estimate = " (an estimate, by prices learned from your own labels)" if _is_learned(checks) else ""
    for service, rows in checks.groupby("service", sort=False, dropna=False):
        if pd.isna(service) or rows["zone"].isna().all():
            yield "  Expected charge: not known; no price list given with --history has its service and zone."
            continue
        charges = [
            f"zone {row['zone']} {dollars(row['total_cents'])}"
            for row in plain_rows(rows.dropna(subset=["total_cents"]))
        ]
        estimated = estimate if charges else ""
        charges += [f"not known, as {reason}" for reason in rows["unpriced"].dropna().unique()]
        yield f"  Expected charge, {service!s}: {', '.join(charges)}{estimated}."


def _is_learned(checks: pd.DataFrame) -> bool:
    return bool((checks["price_basis"] == "learned").any())


def _chance(checks: pd.DataFrame) -> Iterator[str]:
    """How likely a back-charge is, of how much, and what that rests on: where it is likeliest."""
    likely = checks.dropna(subset=["chance"]).sort_values("chance").iloc[-1:]
    if likely.empty:
        yield "Chance of a back-charge: not known."
        return
    row = plain_rows(likely)[0]
    interval = (
        "" if row["basis"] == "device tolerance" else f" ({share(row['chance_low'])} to {share(row['chance_high'])})"
    )
    yield f"Chance of a back-charge: {share(row['chance'])}{interval}{_on_average(checks)}"
    yield from _stakes(checks, row)
    yield f"  {TOLERANCE if row['basis'] == 'device tolerance' else _basis(row)}."


def _on_average(checks: pd.DataFrame) -> str:
    cents = checks["back_charge_cents"].dropna()
    return f"; over all such parcels, {_span(cents)} each." if len(cents) else f"; {NO_PRICES}."


def _stakes(checks: pd.DataFrame, row: Row) -> Iterator[str]:
    """The small back-charges and the costly ones apart: a step of weight and a surcharge are different news."""
    priced = checks.dropna(subset=["back_charge_cents"])
    costly, small = row["costly_chance"], row["chance"] - row["costly_chance"]
    limit = dollars(COSTLY_CENTS)
    kinds = [
        (small, f"of {limit} or less", "of a heavier billed weight"),
        (costly, f"of more than {limit}", "of a limit passed"),
    ]
    means = [
        (priced["back_charge_cents"] - priced["costly_cents"]) / (priced["chance"] - priced["costly_chance"]),
        priced["costly_cents"] / priced["costly_chance"],
    ]
    for (chance, in_dollars, in_words), mean in zip(kinds, means, strict=True):
        if chance >= SELDOM:
            amount = f"{in_dollars}: {_span(mean.dropna())} each time" if len(priced) else in_words
            yield f"  {share(chance):>9}  {amount}"


def _basis(row: Row) -> str:
    whose = "this carton" if row["basis"] == "own history" else "your cartons"
    parcels = counted(row["basis_parcels"], "recorded parcel")
    return f"from {parcels} of {whose}, {row['basis_read']} of them with a reading"


def _limits(rooms: pd.DataFrame, written: Written) -> Iterator[str]:
    for room in plain_rows(rooms.sort_values("passed", ascending=False, kind="stable")):
        mark = "OVER" if room["passed"] else "ok"
        limit = f"{room['charge']:<22} {room['limit']:<32} counted {room['counted']:<11}"
        yield f"  {mark:<4}  {limit} {_room(room, written)}"


def _room(room: Row, written: Written) -> str:
    if room["side"] is None:
        return "no single side decides"
    amount = room["room_pg"] if room["side"] == "weight" else room["room_nm"]
    text = (written.weight if room["side"] == "weight" else written.length)(abs(amount))
    if room["passed"]:
        return f"{text} too much {room['side']}"
    return f"{text} of {room['side']} left" if amount else f"no {room['side']} left at all"


def _trims(trims: pd.DataFrame, first: Row, written: Written) -> Iterator[str]:
    """The trims, each once however many zones it was reckoned for."""
    shown = trims.drop_duplicates(["reason", "cut_nm", "to_nm"])
    for trim in plain_rows(shown.head(MOST_TRIMS)):
        of_all = trims[(trims["side"] == trim["side"]) & (trims["to_nm"] == trim["to_nm"])]
        yield (
            f"  Trim: {written.length(trim['cut_nm'])} off the {trim['side']}, to {written.length(trim['to_nm'])}"
            f"{_becomes(trim, first, written)}{_saving(of_all, trim)}."
        )


def _becomes(trim: Row, first: Row, written: Written) -> str:
    changes = [] if trim["reason"] in {BILLABLE_WEIGHT, BACK_CHARGE} else [f"no {trim['reason']}"]
    if trim["billable_pg"] < first["billable_pg"]:
        changes.append(f"billed by {written.weight(trim['billable_pg'])}")
    return f": {', '.join(changes)}" if changes else ""


def _saving(trims: pd.DataFrame, trim: Row) -> str:
    saved = (trims["saves_cents"].astype("Float64") + trims["saves_back_charge_cents"]).dropna()
    if len(saved):
        return f"; saves {_span(saved)} a parcel, chances of back-charges counted"
    then = "" if trim["chance"] is None else f"; chance of a back-charge then {share(trim['chance'])}"
    return f"; {NO_PRICES}{then}"


def _span(cents: pd.Series) -> str:
    """'$1.20', or '$1.20 to $1.60' over the services and zones."""
    least, most = (dollars(round(float(end))) for end in (cents.min(), cents.max()))
    return least if least == most else f"{least} to {most}"


def ruler(length_nm: int, rooms: list[Row]) -> Iterator[str]:
    """A tape around the longest side with the limit next to it, where one is near: plain signs, for any terminal."""
    near = [room for room in rooms if room["limit"].startswith("longest side") and room["side"] == "length"]
    near = [room for room in near if abs(room["room_nm"]) <= REACH_IN * units.NM_PER_INCH]
    if not near:
        return
    edge = length_nm + near[0]["room_nm"]
    first = min(length_nm, edge) // units.NM_PER_INCH - 1
    last = -(-max(length_nm, edge) // units.NM_PER_INCH) + 1
    inches = range(first, last + 1)
    yield "  " + "".join(f"{inch:<{AN_INCH}}" for inch in inches)
    yield "  " + "|...:..." * (len(inches) - 1) + "|"
    for place, words in sorted([(length_nm, "yours"), (edge, f"the most without {near[0]['charge']}")]):
        yield " " * (2 + round((place - first * units.NM_PER_INCH) * AN_INCH / units.NM_PER_INCH)) + f"^ {words}"
