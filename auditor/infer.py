"""What the carrier must have read, where it shows nothing but a billed weight, surcharges or a sum.

The declared figures are changed by whole steps of the rule, sides and weight, until the rules give the very bill; every
change within bounds is tried. Those that do are weighed by how the scanner reads: small excesses are likelier than
large ones, one figure likelier than two, and what it has read of that carton before likelier still (common practice,
no source, as long as the shop has no readings of its own). What comes out is a reading that is inferred: it says how
likely it is, and what else would fit.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.tariff import Prices, Rulebook, Rules, price

SIDES = ("length_nm", "width_nm", "height_nm")
MOST_LONGER, MOST_WIDER, MOST_HEAVIER = 8, 3, 40
WITH_LENGTH = 12
"""Weights up to so many steps heavier are tried together with a longer side."""

HABIT = 4.0
"""How many readings of a carton weigh as much as what is thought beforehand."""

Change = tuple[int, int, int, int]
"""Steps added to the longest, second and shortest side and to the weight."""


def _changes() -> Iterator[Change]:
    """Every change that is tried: sides alone, weight alone, and a longer side with more weight."""
    wider = range(MOST_WIDER + 1)
    yield from ((a, b, c, 0) for a, b, c in product(range(MOST_LONGER + 1), wider, wider) if a or b or c)
    yield from ((0, 0, 0, more) for more in range(1, MOST_HEAVIER + 1))
    yield from ((longer, 0, 0, more) for longer, more in product(range(1, 5), range(1, WITH_LENGTH + 1)))


CHANGES = np.array(list(_changes()), dtype=np.int64)


def kinds(changes: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Which of length (1), other sides (2) and weight (4) a change moves, added up."""
    moved = changes > 0
    return np.asarray(moved[:, 0] + 2 * moved[:, 1:3].any(axis=1) + 4 * moved[:, 3], dtype=np.int64)


def beforehand(changes: npt.NDArray[np.int64], declared: int) -> npt.NDArray[np.float64]:
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
        A row for each parcel that some change explains: the sides and weight (nm, pg, whole steps), probability, the
        chance that just these kinds of figures were read otherwise, and others, what else would fit in words.
    """
    found = [
        _one_stretch(rules, parcels.loc[rows], billed.loc[rows], seen, book, prices)
        for rules, rows in _stretches(parcels, book)
    ]
    columns = [*SIDES, "weight_pg", "probability", "others"]
    return pd.concat(found) if found else pd.DataFrame(columns=columns)


def _stretches(parcels: pd.DataFrame, book: Rulebook) -> Iterator[tuple[Rules, pd.Index]]:
    for (service, day), rows in parcels.dropna(subset=["shipped_on"]).groupby(["service", "shipped_on"]):
        rules = book.on(service, pd.Timestamp(str(day)).date())
        if rules is not None and rules.side_rounding.way != "none":
            yield rules, rows.index


def _one_stretch(
    rules: Rules, parcels: pd.DataFrame, billed: pd.DataFrame, seen: pd.DataFrame, book: Rulebook, prices: Prices
) -> pd.DataFrame:
    """Parcels that fall under the same rules."""
    whole = parcels.dropna(subset=[*SIDES, "weight_pg"])
    if whole.empty:
        return pd.DataFrame()
    tried = _tried(whole, rules)
    fits = _fits(price(tried, book, prices), billed.loc[whole.index]).reshape(len(whole), len(CHANGES))
    declared = rules.weight_rounding.steps(whole["weight_pg"].to_numpy(dtype=np.int64))
    weights = np.array([_weights(one, int(steps), seen) for one, steps in zip(whole["carton"], declared, strict=True)])
    likely = np.where(fits, weights, 0.0)
    some = likely.sum(axis=1) > 0
    columns = [*SIDES, "weight_pg"]
    figures = tried[columns].to_numpy(dtype=np.int64).reshape(len(whole), len(CHANGES), len(columns))
    said = [_likeliest(likely[place], figures[place]) for place in np.flatnonzero(some)]
    table = pd.DataFrame(said, index=whole.index[some], columns=[*columns, "probability", "others"])
    return table.astype(dict.fromkeys(columns, "int64") | {"probability": "float64", "others": "str"})


def _tried(parcels: pd.DataFrame, rules: Rules) -> pd.DataFrame:
    """Every parcel with every change, one below the other."""
    tried = parcels.loc[parcels.index.repeat(len(CHANGES))].reset_index(drop=True)
    sides = np.sort(parcels[list(SIDES)].to_numpy(dtype=np.int64), axis=1)[:, ::-1]
    side, weight = rules.side_rounding, rules.weight_rounding
    stepped = side.steps(sides)[:, None, :] + CHANGES[None, :, :3]
    # A side that is not moved stays as declared, so that an unrounded figure is not taken for a rounded one.
    moved = np.where(CHANGES[None, :, :3] > 0, stepped * side.step, sides[:, None, :])
    for at, name in enumerate(SIDES):
        tried[name] = moved[:, :, at].reshape(-1)
    declared = parcels["weight_pg"].to_numpy(dtype=np.int64)
    stepped = (weight.steps(declared)[:, None] + CHANGES[None, :, 3]) * weight.step
    heavier = np.where(CHANGES[None, :, 3] > 0, stepped, declared[:, None])
    return tried.assign(weight_pg=heavier.reshape(-1))


def _fits(priced: pd.DataFrame, billed: pd.DataFrame) -> npt.NDArray[np.bool_]:
    """Which of the tried parcels come to the very bill: charge by charge, or in all where a lump hides them."""
    shown = billed.loc[billed.index.repeat(len(CHANGES))].reset_index(drop=True)
    columns = [column for column in shown if column not in ("lump_cents", "billed_weight_pg")]
    by_charge = (priced[columns].to_numpy() == shown[columns].to_numpy()).all(axis=1)
    lump = shown["lump_cents"].to_numpy() != 0
    total = shown[columns].sum(axis=1).to_numpy() + shown["lump_cents"].to_numpy()
    in_all = priced["total_cents"].fillna(-1).to_numpy(dtype=np.int64) == total
    weight = shown["billed_weight_pg"].fillna(priced["billable_pg"]).to_numpy(dtype=np.int64)
    fits = np.where(lump, in_all, by_charge) & (weight == priced["billable_pg"].to_numpy())
    return np.asarray(fits & priced["unpriced"].isna().to_numpy(), dtype=bool)


def _weights(carton: object, declared: int, seen: pd.DataFrame) -> npt.NDArray[np.float64]:
    """How likely each change is of that carton: what is thought beforehand, and what was read of it before.

    A reading seen before speaks half for the very same change, and half for changes of the same figures.
    """
    base = beforehand(CHANGES, declared)
    own = seen.loc[seen["carton"] == carton, ["longer", "wider", "higher", "heavier"]].to_numpy(dtype=np.int64)
    same = (CHANGES[:, None, :] == own[None, :, :]).all(axis=2).sum(axis=1)
    of_kind = np.bincount(kinds(CHANGES), base, minlength=len(NAMES) + 1)[kinds(CHANGES)]
    alike = (kinds(CHANGES)[:, None] == kinds(own)[None, :]).sum(axis=1) * base / of_kind
    return np.asarray((HABIT * base + 0.5 * same + 0.5 * alike) / (HABIT + len(own)))


def _likeliest(likely: npt.NDArray[np.float64], figures: npt.NDArray[np.int64]) -> tuple[object, ...]:
    """The likeliest change of the likeliest kinds of figures, its chance, and the other kinds in words."""
    kind = kinds(CHANGES)
    share = np.bincount(kind, likely, minlength=len(NAMES) + 1) / likely.sum()
    best = int(share.argmax())
    place = int(np.where(kind == best, likely, 0).argmax())
    others = [other for other in np.argsort(-share).tolist() if other != best and share[other] > WORTH_SAYING]
    words = ", ".join(f"{NAMES[other]} ({share[other]:.0%})" for other in others)
    return (*(int(value) for value in figures[place]), float(share[best]), words)


WORTH_SAYING = 0.02
NAMES = {
    1: "a longer side",
    2: "other sides",
    3: "all sides",
    4: "more weight",
    5: "a longer side and more weight",
    6: "other sides and more weight",
    7: "all sides and more weight",
}
"""Kinds of figures (see `kinds`) in words."""
