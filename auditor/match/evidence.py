"""How much what is printed beside a number speaks for one shipment or another.

Fellegi and Sunter's weights ("A Theory for Record Linkage", 1969): for each field the logarithm of how often it agrees
on the right shipment over how often it agrees on any shipment. How often a right one agrees is common practice, no
source; how often any agrees is counted in the records themselves, so that agreement on a rare ship date weighs more.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from rapidfuzz.distance import Levenshtein

from auditor.match.nearby import MOST_EDITS, within

Weights = npt.NDArray[np.float64]

AGREES = {"shipped_on": 0.97, "service": 0.97, "zone": 0.96, "order": 0.998, "label_cents": 0.9, "size": 0.93}
"""How often a field of a billed parcel agrees with its own shipment's, where both are there."""

LOOK_ALIKES = tuple(
    frozenset(pair) for pair in ("0O", "0D", "0Q", "1I", "1L", "IL", "17", "2Z", "5S", "6G", "8B", "38", "69")
)
HOW = {"look-alike": 0.5, "changed": 0.1, "swapped": 0.12, "dropped or doubled": 0.18, "cut off": 0.08, "two": 0.02}
"""Of misread numbers, the share misread in each way: common practice, no source."""


@dataclass(frozen=True)
class Neighbours:
    """What recorded numbers say of one another: how dense their series is, and how alike near numbers' parcels are.

    `density` is the chance that a text one edit from a recorded number is another number of the series: next to nothing
    for random numbers, large where a carrier issues them one after the other, and a likeness then says little. `agree`
    is how often each field agrees between parcels whose numbers are near: a carrier that puts the day into its numbers
    makes the ship date of near numbers agree, and that then says nothing either.
    """

    density: float
    agree: Mapping[str, float]


def neighbours(shipments: pd.DataFrame) -> Neighbours:
    """Counted among recorded numbers (columns text and those of AGREES) that differ only in their last characters."""
    series = shipments["text"].str[:-LAST]
    anchors = series.iloc[:: max(len(series) // ANCHORS, 1)].drop_duplicates()
    sample = shipments[series.isin(anchors)].drop_duplicates("text").reset_index(drop=True)
    near = within(MOST_EDITS, sample["text"], sample["text"])
    near = near[near["edits"] > 0]
    alike = int((near["edits"] == 1).sum()) / max(len(sample), 1)
    variants = VARIANTS * float(sample["text"].str.len().median()) if len(sample) else 1.0
    one, other = sample.loc[near["seen"]], sample.loc[near["recorded"]]
    agree = {field: _agreeing(one[field], other[field]) for field in AGREES}
    return Neighbours(max(alike / variants, 1e-9), agree)


def _agreeing(one: pd.Series, other: pd.Series) -> float:
    there = one.notna().to_numpy() & other.notna().to_numpy()
    same = (one.to_numpy() == other.to_numpy())[there]
    return float(same.mean()) if len(same) >= ENOUGH else 0.0


LAST, ANCHORS = 3, 40
"""Numbers alike but for so many characters at their end are compared, around so many of them."""

ENOUGH = 30
"""From so many pairs of near numbers on, how often their fields agree is counted."""

VARIANTS = 21
"""Texts one edit from a number, for each of its places: nine changed, one dropped, ten added, one swapped."""


def weights(pairs: pd.DataFrame, seen: pd.DataFrame, shipments: pd.DataFrame, near: Neighbours) -> Weights:
    """The log-odds that the parcel seen is that shipment, against its being none of the recorded ones.

    How many of the numbers seen are none of the recorded ones is not known beforehand; it is what makes the odds agree
    with themselves (expectation and maximisation, a few rounds).

    Args:
        pairs: columns seen, recorded (labels), edits, cut.
        seen: columns text and those of AGREES, a row for each number not yet matched.
        shipments: the same columns, every recorded shipment: how common a figure is, is counted among all of them.
        near: see `neighbours`.
    """
    total = _of_number(pairs, seen["text"], shipments["text"], near.density)
    for field, agrees in AGREES.items():
        one, other = seen[field].loc[pairs["seen"]], shipments[field].loc[pairs["recorded"]]
        total += _of_field(one, other, shipments[field], agrees, near.agree[field])
    group = pd.factorize(pairs["seen"])[0]
    none, odds = 0.1, np.exp(np.clip(total, -50, 50))
    together = np.bincount(group, odds)
    for _ in range(ROUNDS):
        share = (1 - none) * together / ((1 - none) * together + none)
        none = float(np.clip((len(seen) - share.sum() + 1) / (len(seen) + 2), 0.001, 0.95))
    odds_of_any: Weights = total + np.log((1 - none) / none)
    return odds_of_any


ROUNDS = 20


def _of_field(seen: pd.Series, recorded: pd.Series, whole: pd.Series, agrees: float, near: float) -> Weights:
    """log(m/u) where the field agrees, log((1 − m)/(1 − u)) where it does not, 0 where it is missing."""
    there = seen.notna().to_numpy() & recorded.notna().to_numpy()
    same = seen.to_numpy() == recorded.to_numpy()
    common = recorded.map(whole.value_counts(normalize=True)).fillna(0).to_numpy(dtype=float)
    chance = np.clip(np.maximum(common, near), 1 / (len(whole) + 1), 0.99)
    weight = np.where(same, np.log(agrees / np.minimum(chance, agrees)), np.log((1 - agrees) / (1 - chance)))
    return np.where(there, np.minimum(weight, np.log(agrees * (len(whole) + 1))), 0.0)


def _of_number(pairs: pd.DataFrame, seen: pd.Series, recorded: pd.Series, density: float) -> Weights:
    """How much likelier the number is as this shipment's, misread, than as another number of the series."""
    texts = zip(seen.loc[pairs["seen"]], recorded.loc[pairs["recorded"]], pairs["edits"], pairs["cut"], strict=True)
    likely = [_likelihood(one, other, int(edits), cut=bool(cut)) for one, other, edits, cut in texts]
    return np.log(np.array(likely, dtype=float) / density)


def _likelihood(seen: str, recorded: str, edits: int, *, cut: bool) -> float:
    """The chance of reading this number where that one stands."""
    places = max(len(recorded), 1)
    if edits == 0:
        return 1.0
    if cut:
        return HOW["cut off"] / places
    if edits > 1:
        return HOW["two"] / (places * places * 4)
    if len(seen) != len(recorded):
        return HOW["dropped or doubled"] / (2 * places)
    changed = [place for place, (one, other) in enumerate(zip(seen, recorded, strict=True)) if one != other]
    if len(changed) > 1:
        return HOW["swapped"] / places
    pair = frozenset((seen[changed[0]].upper(), recorded[changed[0]].upper()))
    return HOW["look-alike"] / (3 * places) if pair in LOOK_ALIKES else HOW["changed"] / (9 * places)


def in_words(seen: str, recorded: str) -> str:
    """How the number seen differs from the recorded one, in words."""
    if len(seen) + 2 < len(recorded):
        return f"the number is cut off: {len(recorded) - len(seen)} characters are missing"
    steps = Levenshtein.editops(seen, recorded)
    replaced = [f"{seen[step.src_pos]} for {recorded[step.dest_pos]}" for step in steps if step.tag == "replace"]
    other = len(steps) - len(replaced)
    words = [f"reads {' and '.join(replaced)}"] if replaced else []
    words += [
        f"has {other} characters too many or too few" if other > 1 else "has a character too many or too few"
    ] * bool(other)
    return f"the number {' and '.join(words)}" if words else "the number is the same"
