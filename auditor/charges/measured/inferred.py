"""What the carrier must have read, where it shows nothing but a billed weight, surcharges or a sum.

The declared figures are changed by whole steps of the rule, sides and weight, until the rules give the very bill; every
change within bounds is tried. Those that do are weighed by how the scanner reads: small excesses are likelier than
large ones, one figure likelier than two, and what it has read of that carton, or of the shop's others, before likelier
still (common practice, no source, as long as the shop has no readings of its own). Each change has a main cause, the
figure that has most to do with the bill. What comes out is the likeliest reading of the likeliest cause: inferred, with
how likely that cause is, and what else fits.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from math import factorial

import numpy as np
import pandas as pd

from auditor.charges.schema import by_rules
from auditor.core.arrays import Floats, Places, Whole, Yes
from auditor.core.sides import SIDES
from auditor.tariff import Prices, Rulebook, Rules, price

MOST_LONGER, MOST_WIDER, MOST_HEAVIER = 8, 3, 40
WITH_LENGTH = 12
"""Weights up to so many steps heavier are tried together with a longer side."""

HABIT = 4.0
"""So many readings of a carton weigh as much as what the shop's other cartons say, and of these as what is thought
beforehand."""

AT_ONCE = 2_000
"""Parcels are tried in blocks of so many, each with every change: it bounds the memory."""

Change = tuple[int, int, int, int]
"""Steps added to the longest, second and shortest side and to the weight."""


def _changes() -> Iterator[Change]:
    """Every change that is tried: sides alone, weight alone, and a longer side with more weight."""
    wider = range(MOST_WIDER + 1)
    yield from ((a, b, c, 0) for a, b, c in product(range(MOST_LONGER + 1), wider, wider) if a or b or c)
    yield from ((0, 0, 0, more) for more in range(1, MOST_HEAVIER + 1))
    yield from ((longer, 0, 0, more) for longer, more in product(range(1, 5), range(1, WITH_LENGTH + 1)))


CHANGES = np.array(list(_changes()), dtype=np.int64)
TRIED = np.concatenate([np.zeros((1, 4), np.int64), CHANGES])
"""What is priced: the declared figures, and every change."""

MOVES = 4
"""The three sides and the weight, each moved or not."""


def _parts() -> Places:
    """For each change the places in TRIED of its parts: for each set of figures (a bit each) only those are moved."""
    place = {tuple(change): number for number, change in enumerate(TRIED.tolist())}
    return np.array(
        [
            [place[tuple(step * (moved >> at & 1) for at, step in enumerate(change))] for moved in range(1 << MOVES)]
            for change in CHANGES.tolist()
        ]
    )


PARTS = _parts()


def kinds(changes: Whole) -> Whole:
    """Which of length (1), other sides (2) and weight (4) a change moves, added up."""
    moved = changes > 0
    return np.asarray(moved[:, 0] + 2 * moved[:, 1:3].any(axis=1) + 4 * moved[:, 3], dtype=np.int64)


def beforehand(changes: Whole, declared: int) -> Floats:
    """How likely each change is of a parcel declared so many weight steps heavy, with nothing known of its carton.

    A scale seldom reads twice the declared weight, whereas a light, bulky parcel is billed by its sides: so the excess
    of weight counts in proportion to what was declared.
    """
    longer = np.where(changes[:, 0] > 0, 0.45 * 0.55 ** changes[:, 0], 1.0)
    wider = changes[:, 1:3].sum(axis=1)
    bulged = np.where(wider > 0, 0.25 * 0.6**wider, 1.0)
    excess = changes[:, 3] / max(declared, 1)
    heavier = np.where(excess > 0, 0.7 * np.exp(-1.2 * excess) / max(declared, 1), 1.0)
    likely = longer * bulged * heavier
    return np.asarray(likely / likely.sum())


def inferred(
    parcels: pd.DataFrame, billed: pd.DataFrame, seen: pd.DataFrame, book: Rulebook, prices: Prices
) -> pd.DataFrame:
    """The likeliest reading of each parcel that gives its bill.

    Args:
        parcels: as `price` takes them, the declared figures with the carrier's flags, and `carton`.
        billed: with the same index: cents by column of `price` (freight_cents … fuel_cents), `lump_cents`, what is
            billed without saying for what, and billed_weight_pg, missing where it is not shown.
        seen: what the scanner has read before: columns carton and the four steps of a change (longer, wider, higher,
            heavier).
        book: the rules.
        prices: the prices.

    Returns:
        A row for each parcel whose bill the declared figures do not give and some change does: the sides and weight
        (nm, pg, whole steps), probability, the chance that their main cause is the true one, and others, what else
        would fit in words.
    """
    found = [
        _one_stretch(rules, parcels.loc[rows[start : start + AT_ONCE]], billed, seen, book, prices)
        for rules, rows in by_rules(book, parcels)
        if rules.side_rounding.way != "none"
        for start in range(0, len(rows), AT_ONCE)
    ]
    stretches = [stretch for stretch in found if not stretch.empty]
    return pd.concat(stretches) if stretches else pd.DataFrame(columns=[*SIDES, "weight_pg", "probability", "others"])


def _one_stretch(
    rules: Rules, parcels: pd.DataFrame, billed: pd.DataFrame, seen: pd.DataFrame, book: Rulebook, prices: Prices
) -> pd.DataFrame:
    """Parcels that fall under the same rules."""
    complete = parcels.dropna(subset=[*SIDES, "weight_pg"])
    printed = billed["billed_weight_pg"].astype("Int64")
    billed = billed.assign(billed_weight_pg=rules.weight_rounding.steps(printed) * rules.weight_rounding.step)
    complete = complete[~_fits(price(complete, book, prices), billed.loc[complete.index], 1)[:, 0]]
    if complete.empty:
        return pd.DataFrame()
    tried = _tried(complete, rules)
    priced = price(tried, book, prices)
    fits = _fits(priced, billed.loc[complete.index], len(TRIED))[:, 1:]
    likely = np.where(fits, _habits(complete, rules, seen), 0.0)
    parcel, change = np.nonzero(likely)
    totals = priced["total_cents"].fillna(0).to_numpy(dtype=np.int64).reshape(len(complete), len(TRIED))
    cause = _main_cause(totals[parcel[:, None], PARTS[change]], _within_tolerance(tried, rules)[parcel, change + 1])
    columns = [*SIDES, "weight_pg"]
    figures = tried[columns].to_numpy(dtype=np.int64).reshape(len(complete), len(TRIED), len(columns))
    answers = [
        (*figures[place, 1 + best].tolist(), *rest)
        for place, best, *rest in _likeliest(parcel, change, cause, likely[parcel, change])
    ]
    rows = complete.index[np.unique(parcel)]
    table = pd.DataFrame(answers, index=rows, columns=[*columns, "probability", "others"])
    return table.astype(dict.fromkeys(columns, "int64") | {"probability": "float64", "others": "str"})


def _tried(parcels: pd.DataFrame, rules: Rules) -> pd.DataFrame:
    """Every parcel with every change, one below the other."""
    tried = parcels.loc[parcels.index.repeat(len(TRIED))].reset_index(drop=True)
    sides = np.sort(parcels[list(SIDES)].to_numpy(dtype=np.int64), axis=1)[:, ::-1]
    side, weight = rules.side_rounding, rules.weight_rounding
    stepped = side.steps(sides)[:, None, :] + TRIED[None, :, :3]
    # A side that is not moved stays as declared, so that an unrounded figure is not taken for a rounded one.
    moved = np.where(TRIED[None, :, :3] > 0, stepped * side.step, sides[:, None, :])
    for at, name in enumerate(SIDES):
        tried[name] = moved[:, :, at].reshape(-1)
    declared = parcels["weight_pg"].to_numpy(dtype=np.int64)
    stepped = (weight.steps(declared)[:, None] + TRIED[None, :, 3]) * weight.step
    heavier = np.where(TRIED[None, :, 3] > 0, stepped, declared[:, None])
    return tried.assign(weight_pg=heavier.reshape(-1))


def _fits(priced: pd.DataFrame, billed: pd.DataFrame, count: int) -> Yes:
    """Which of the `count` sets of figures of each parcel (parcel, set; the declared ones first) come to the very bill.

    Charge by charge, or in all where a lump hides them.

    A billed weight that is the declared parcel's own is the label's: the adjustment showed none, so it tells nothing.
    """
    shown = billed.loc[billed.index.repeat(count)].reset_index(drop=True)
    columns = [column for column in shown if column not in ("lump_cents", "billed_weight_pg")]
    by_charge = (priced[columns].to_numpy() == shown[columns].to_numpy()).all(axis=1)
    lump = shown["lump_cents"].to_numpy() != 0
    total = shown[columns].sum(axis=1).to_numpy() + shown["lump_cents"].to_numpy()
    in_all = priced["total_cents"].fillna(-1).to_numpy(dtype=np.int64) == total
    billable = priced["billable_pg"].to_numpy()
    weight = shown["billed_weight_pg"].fillna(0).to_numpy(dtype=np.int64)
    own = np.repeat(billable[::count], count)
    fits = np.where(lump, in_all, by_charge) & ((weight == billable) | (weight == 0) | (weight == own))
    return np.asarray(fits & priced["unpriced"].isna().to_numpy(), dtype=bool).reshape(-1, count)


def _within_tolerance(tried: pd.DataFrame, rules: Rules) -> Yes:
    """Of each tried parcel (parcel, change), which figures lie within the measuring tolerance of the declared ones."""
    near = []
    for figure in (*SIDES, "weight_pg"):
        weight = figure == "weight_pg"
        rounding = rules.weight_rounding if weight else rules.side_rounding
        measured = tried[figure].to_numpy(dtype=np.int64).reshape(-1, len(TRIED))
        low, _ = rounding.span(measured)
        tolerance = rules.weight_tolerance.at(measured) if weight else rules.side_tolerance_nm
        near.append(low - measured[:, :1] <= tolerance)
    return np.stack(near, axis=2)


WEIGHT_OF_SET = [factorial(size) * factorial(MOVES - size - 1) / factorial(MOVES) for size in range(MOVES)]

ROUNDING, LENGTH, GIRTH, WEIGHT = range(4)
NAMES = ("a reading within the measuring tolerance", "a longer side", "other sides", "more weight")
"""Main causes in words."""


def _main_cause(worth: Whole, near: Yes) -> Whole:
    """The cause with the largest share of each change: the sum of its figures' Shapley values (see `shapley`).

    Args:
        worth: the charge for each set of moved figures (change, set).
        near: which of the moved figures lie within tolerance (change, figure); those are put down to rounding.
    """
    shares = np.zeros(near.shape)
    for figure in range(MOVES):
        for moved in (moved for moved in range(1 << MOVES) if not moved >> figure & 1):
            gain = worth[:, moved | 1 << figure] - worth[:, moved]
            shares[:, figure] += WEIGHT_OF_SET[moved.bit_count()] * gain
    own = np.where(near, 0.0, shares)
    rounding = np.where(near, shares, 0.0).sum(axis=1)
    by_cause = np.stack([rounding, own[:, 0], own[:, 1] + own[:, 2], own[:, 3]], axis=1)
    return np.asarray(np.abs(by_cause).argmax(axis=1), dtype=np.int64)


def _habits(parcels: pd.DataFrame, rules: Rules, seen: pd.DataFrame) -> Floats:
    """How likely each change is of each parcel (parcel, change), reckoned once for each carton and declared weight."""
    steps = rules.weight_rounding.steps(parcels["weight_pg"].to_numpy(dtype=np.int64))
    number, alike = pd.factorize(pd.MultiIndex.from_arrays([parcels["carton"].fillna(""), steps]))
    seen = seen.dropna(subset=[*STEPS])  # of a parcel recorded without a size or weight, a reading says nothing
    shop = seen[[*STEPS]].to_numpy(dtype=np.int64)
    habits = [_of_carton(shop, shop[(seen["carton"] == name).to_numpy()], own) for name, own in alike]
    return np.asarray(np.stack(habits)[number])


STEPS = ("longer", "wider", "higher", "heavier")


def _of_carton(shop: Whole, own: Whole, declared: int) -> Floats:
    """How likely each change is of a carton: from what is thought beforehand, the shop's readings, and its own."""
    by_shop = _learned(beforehand(CHANGES, int(declared)), shop)
    return _learned(by_shop, own)


def _learned(before: Floats, readings: Whole) -> Floats:
    """What readings make of how likely each change is.

    Each speaks half for the very same change, and half for changes of the same figures.
    """
    found, count = np.unique(readings, axis=0, return_counts=True)
    same = (CHANGES[:, None, :] == found[None, :, :]).all(axis=2) @ count
    kind, most = kinds(CHANGES), int(kinds(CHANGES).max()) + 1
    within = before / np.bincount(kind, before, minlength=most)[kind]
    alike = np.bincount(kinds(found), count, minlength=most)[kind] * within
    likely = HABIT * before + 0.5 * same + 0.5 * alike
    return np.asarray(likely / likely.sum())


def _likeliest(
    parcel: Places,
    change: Places,
    cause: Whole,
    likely: Floats,
) -> Iterator[tuple[int, int, float, str]]:
    """For each parcel that some change explains, what is told of it.

    Its place, the likeliest change of the likeliest cause, that cause's chance, and the other causes in words.
    """
    for place, rows in pd.Series(range(len(parcel))).groupby(parcel):
        here = rows.to_numpy()
        share = np.bincount(cause[here], likely[here], minlength=len(NAMES))
        share = share / share.sum()
        best = int(share.argmax())
        chosen = here[np.where(cause[here] == best, likely[here], 0).argmax()]
        others = [other for other in np.argsort(-share).tolist() if other != best and share[other] > WORTH_SAYING]
        words = ", ".join(f"{NAMES[other]} ({share[other]:.0%})" for other in others)
        yield int(str(place)), int(change[chosen]), float(share[best]), words


WORTH_SAYING = 0.02
