"""One sentence a carton, and what cannot be said yet."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pandas as pd

from auditor.core import money, units
from auditor.core.arrays import Floats
from auditor.core.sides import SIDES
from auditor.habits.advice.trims import COSTLY_CENTS, REACH, safe, worthwhile
from auditor.habits.advice.weights import Default
from auditor.habits.readings.excess import ends
from auditor.habits.readings.slips import GAP_NM

LEAST_PARCELS = 10
"""With fewer parcels that count nothing is advised about a carton (chosen)."""

ENOUGH_PARCELS = 30
"""About so many make intervals narrow enough to act on (common practice, no source)."""

WORTH_CENTS = 100
"""Less than a dollar a month is not worth a cut (chosen)."""

SAVING = ("saving_cents", "saving_cents_low", "saving_cents_high")
COSTS = f"costs over ${COSTLY_CENTS // 100} in back-charges"
NO_FEE = ", without the fee for a correction, which is not known"
IF_ROOM = "if what you pack leaves half an inch of air"
NAMES = {"length_nm": "length", "width_nm": "width", "height_nm": "height"}
QUARTERS = {1: "¼", 2: "½", 3: "¾"}


def on_tape(length: int, unit: str) -> str:
    """A length as a tape shows it: "46½ in", "118.5 cm"."""
    if unit != "in":
        return f"{units.shown(length, unit, 'length')} {unit}"
    inches, part = divmod(length, units.NM_PER_INCH)
    quarters, rest = divmod(4 * part, units.NM_PER_INCH)
    if rest or not quarters:
        return f"{units.shown(length, unit, 'length')} in"
    return f"{inches or ''}{QUARTERS[quarters]} in"


def on_scale(weight: int, unit: str) -> str:
    """A weight for people, in pounds with inches and kilograms with centimetres."""
    shown = "lb" if unit == "in" else "kg"
    return f"{units.shown(weight, shown, 'weight')} {shown}"


def about_slips(cents: pd.Series, parcels: int, unit: str) -> Iterator[dict[str, Any]]:
    """Advice on the slips of a carton, if it has any; told first, since the rest is about the other parcels.

    Args:
        cents: what each slip was back-charged.
        parcels: how many there are of the carton, slips included.
        unit: of lengths.
    """
    if cents.empty:
        return
    words = (
        f"{len(cents)} of {parcels} were read far longer than declared, by {on_tape(GAP_NM, unit)} or more beyond all "
        "others, as if sent uncut, in another carton or under another's label, for "
        f"{money.dollars(int(cents.sum()))} in back-charges: measure each before its label is made. What else is said "
        "here of this carton leaves them out"
    )
    yield {"about": "slips", "now": pd.NA, "then": pd.NA, "sentence": words}


def about_side(table: pd.DataFrame, side: str, unit: str, most_chance: float, bulges: Floats) -> dict[str, Any] | None:
    """Advice on the second or shortest side of a carton; None where there is nothing to say of it.

    The shortest is cut where a little surely pays; a side that bulges, at a cost that is sure, is to be kept flat.

    Args:
        table: HABIT_CUTS of that side.
        side: one of SIDES but the first.
        unit: of lengths.
        most_chance: of a back-charge that nothing is said about.
        bulges: cents a month that the side costs by being read longer than declared (D).
    """
    now, row = table.iloc[0], worthwhile(table) if side == SIDES[2] else None
    about = {"about": side, "now": now["cut_to_nm"], "then": pd.NA}
    if row is not None and row["saving_cents"] >= WORTH_CENTS:
        there = on_tape(int(row["cut_to_nm"]), unit)
        words = f"cut its height to {there}, {IF_ROOM}: {saved(*_ends(row))}{_why(row, now)}"
        return {**about, "then": row["cut_to_nm"], **_saving(row), "sentence": words}
    cents, low, high = _quantiles(bulges)
    if now["any_chance"] <= most_chance or cents < WORTH_CENTS or low <= 0:
        return None
    often = _odds(now["any_chance"])
    words = f"its {NAMES[side]} is back-charged {often}, as by a bulge: kept flat, {saved(cents, low, high)}"
    return {**about, **dict(zip(SAVING, (cents, low, high), strict=True)), "sentence": words}


def about_length(table: pd.DataFrame, unit: str, most_chance: float) -> dict[str, Any]:
    """Advice on a carton's longest side, from its HABIT_CUTS: the longest safe one, or why there is none or no need."""
    now, row = table.iloc[0], safe(table, most_chance)
    if row is None:
        return _no_cut(table, unit, most_chance)
    about = {"about": SIDES[0], "now": now["cut_to_nm"], "then": pd.NA}
    there = on_tape(int(row["cut_to_nm"]), unit)
    if row["cut_to_nm"] == now["cut_to_nm"]:
        return {**about, "sentence": f"no need to cut: at {there} its length {COSTS} {_odds(now['chance'])}"}
    if row["saving_cents"] < WORTH_CENTS:
        words = f"no cut pays: to {there} it would bring {saved(*_ends(row))}{_why(row, now)}"
        return {**about, **_saving(row), "sentence": words}
    words = f"cut to {there}, {IF_ROOM}: {saved(*_ends(row))}{_why(row, now)}"
    return {**about, "then": row["cut_to_nm"], **_saving(row), "sentence": words}


def _no_cut(table: pd.DataFrame, unit: str, most_chance: float) -> dict[str, Any]:
    longest, _, step = REACH[unit]
    best = table.iloc[int(table["chance"].argmin())]
    words = (
        f"no cut within {on_tape(longest * step, unit)} brings the chance that its length {COSTS} to "
        f"{most_chance:.0%} or less; it is least, {best['chance']:.0%}, at {on_tape(int(best['cut_to_nm']), unit)} "
        f"({saved(*_ends(best))})"
    )
    return {"about": SIDES[0], "now": table.iloc[0]["cut_to_nm"], "then": pd.NA, "sentence": words} | _saving(best)


def _why(row: pd.Series, now: pd.Series) -> str:
    """What the cut changes: the chance, and the billed weight of so many parcels."""
    then, before = _odds(row["chance"]), _odds(now["chance"])
    words = f"; that side then {COSTS} {then} instead of {before}" if then != before else ""
    share = "all" if row["lighter"] == 1 else f"{row['lighter']:.0%} of the"
    return words + (f"; {share} parcels are billed lighter" if row["lighter"] > 0 else "")


def _odds(chance: float) -> str:
    return "next to never" if chance < 0.005 else f"{chance:.0%} of the time"  # noqa: PLR2004 would read as 0 %


def _ends(row: pd.Series) -> tuple[int, int, int]:
    return int(row["saving_cents"]), int(row["saving_cents_low"]), int(row["saving_cents_high"])


def _saving(row: pd.Series) -> dict[str, int]:
    return dict(zip(SAVING, _ends(row), strict=True))


def saved(cents: int, low: int, high: int) -> str:
    """Such as "about $31 a month less (range $12 to $55)"; the other way round where it costs more."""
    less = cents >= 0
    ends = (low, high) if less else (-high, -low)
    from_, to = (("−" if end < 0 else "") + _whole_dollars(abs(end)) for end in ends)
    return f"about {_whole_dollars(abs(cents))} a month {'less' if less else 'more'} (range {from_} to {to})"


def _whole_dollars(cents: int) -> str:
    """Estimates are told in whole dollars, and in cents below ten of them."""
    shown = money.dollars(cents)
    return shown if cents < 1000 else money.dollars(round(cents, -2)).removesuffix(".00")  # noqa: PLR2004 ten dollars


def about_weight(found: Default, unit: str) -> Iterator[dict[str, Any]]:
    """Advice on a carton's default weight, and on weighing each parcel."""
    typed, now = on_scale(found.now_pg, unit), found.table[found.table["now"]].iloc[0]
    weighing, default = _quantiles(found.weighing_saving), _quantiles(found.saving)
    about = {"about": "weight_pg", "now": found.now_pg, "then": pd.NA}
    covers = f"{typed} covers {now['covered']:.0%}"
    no_fee = "" if found.fee_known else NO_FEE
    if max(*map(abs, weighing), *map(abs, default)) < WORTH_CENTS:
        yield {**about, "sentence": f"its typed weight of {typed} hardly matters: it is billed by its size"}
        return
    if found.then_pg is None:
        yield {
            **about,
            "sentence": f"no default weight within reach covers {found.share:.0%} of the parcels ({covers})",
        }
    elif found.then_pg == found.now_pg:
        yield {**about, "sentence": f"the default of {covers} of the parcels; keep it where you do not weigh"}
    else:
        words = (
            f"where you do not weigh, type {on_scale(found.then_pg, unit)}: it covers {found.share:.0%} of the parcels "
            f"({covers}), for {saved(*default)}{no_fee}"
        )
        yield {**about, "then": found.then_pg, **dict(zip(SAVING, default, strict=True)), "sentence": words}
    if weighing[1] > 0 and weighing[0] >= max(WORTH_CENTS, default[0]):
        words = f"weighing each parcel beats any default: {saved(*weighing)}{no_fee}"
        about = {"about": "weighing", "now": pd.NA, "then": pd.NA}
        yield {**about, **dict(zip(SAVING, weighing, strict=True)), "sentence": words}


def _quantiles(draws: Floats) -> tuple[int, int, int]:
    low, high = ends(draws)
    return round(float(draws.mean())), round(float(low)), round(float(high))
