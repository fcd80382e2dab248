"""How much a number, and what is printed beside it, speaks for one shipment or another, or for none of the recorded.

Fellegi and Sunter's weights ("A Theory for Record Linkage", 1969), with every rate counted in the records and the
statement themselves. How often figures agree on the right shipment, and which do so together, is counted on the numbers
that stand in the records as they are. How often they agree by chance is counted among the recorded parcels, together
too: a parcel of the usual carton, zone and price is no rare thing. Against each shipment stands the chance that the
parcel is none of the recorded ones: how many such there are, and how the numbers were misread, is what makes the odds
agree with themselves (expectation and maximisation, a few rounds).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.core.arrays import Floats, Places
from auditor.match.figures import AGREES, DIFFERS, FIGURES, MISSING, States, held_together
from auditor.match.misreading import FIGURES as BY_FIGURES
from auditor.match.misreading import ORDER, SAME, USUAL, kinds_and_chances, of_any
from auditor.match.records import Records, Series, well_formed

Weights = Floats

USUALLY_AGREES = np.array((0.97, 0.97, 0.96, 0.9, 0.93, 0.5, 0.99))
"""How often each of the FIGURES agrees on the right shipment, before any is seen: common practice, no source."""

AS_MANY = 20
"""What is thought beforehand counts as much as so many parcels or numbers seen (chosen; measured with
all else here: docs/evaluation.md, "Misread numbers")."""

ENOUGH = 30
"""From so many pairs of near numbers on, how often their figures agree is counted (chosen)."""

ROUNDS = 20
"""Chosen: twice as many change no weight by a ten-thousandth (`tests/match/test_weights.py`)."""


@dataclass(frozen=True)
class OfNone:
    """How likely a parcel that is not recorded shows each number, in units of one recorded number.

    `printed`: of a number of a form that the carrier prints, and so may well be printed as it is; 0 for the others.
    `odd`: of one of no such form, which must itself be misread, by way of misreading.
    """

    printed: Weights
    odd: Weights

    @classmethod
    def of(cls, texts: pd.Series, known: Mapping[int, Series]) -> OfNone:
        """For each text."""
        plain = texts.tolist()
        printed = np.array([known[len(text)].density if well_formed(text, known) else 0.0 for text in plain])
        odd = np.zeros((len(plain), len(USUAL)))
        for place in np.flatnonzero(printed == 0).tolist():
            for one in known.values():
                odd[place] += of_any(plain[place], one.allowed) * one.density
        return cls(printed, odd)


def evidence(pairs: pd.DataFrame, seen: pd.DataFrame, recorded: pd.DataFrame, records: Records) -> pd.DataFrame:
    """What speaks for each pair, whatever the shares of each way of misreading and of parcels not recorded.

    Args:
        pairs: columns seen, recorded (labels), edits and kind (see `kinds_and_chances`).
        seen: column text and the FIGURES, a row for each number to be joined.
        recorded: the same for the shipments in the pairs at least.
        records: what is known beforehand.

    Returns:
        The pairs with their kind as the texts tell it; `likeness`, log of how likely a number misread in that way reads
        just so, and the figures stand as they do, against those of a parcel that is not recorded; and `beside`, how the
        figures stand to one another (see `held_together`).
    """
    one, other = seen.loc[pairs["seen"]], recorded.loc[pairs["recorded"]]
    states = held_together(one, other)
    figures = _of_right(states, records.right) - _of_chance(states, other, records)
    kind, chance = kinds_and_chances(pairs, one["text"], other["text"])
    return pairs.assign(kind=kind, likeness=figures + np.log(chance), beside=list(states))


def weights(pairs: pd.DataFrame, of_none: OfNone, records: Records, free: int, *, one_to_one: bool) -> Weights:
    """The log-odds that the parcel seen is that shipment, against its being none of the recorded ones.

    Args:
        pairs: as `evidence` gives them, and `place`, the row of the number in `of_none`.
        of_none: for the numbers seen.
        records: what is known beforehand.
        free: the number of shipments that these numbers could belong to.
        one_to_one: no shipment belongs to two of the numbers.
    """
    return _agreed(
        fixed=pairs["likeness"].to_numpy(dtype=float) + np.log(records.count / free),
        kind=pairs["kind"].to_numpy(dtype=np.intp),
        seen=pairs["place"].to_numpy(dtype=np.intp),
        recorded=pd.factorize(pairs["recorded"])[0],
        of_none=of_none,
        records=records,
        free=free if one_to_one else None,
    )


def _agreed(
    *,
    fixed: Weights,
    kind: Places,
    seen: Places,
    recorded: Places,
    of_none: OfNone,
    records: Records,
    free: int | None,
) -> Weights:
    """The log-odds with the shares that come out of them.

    Those are the shares of each way of misreading, of misread numbers among all, of parcels that are not recorded, and
    of free shipments that are billed. Parcels not recorded are counted among numbers of a form that the carrier prints:
    those of no form that fit nothing may well be recorded ones, misread beyond recognition. A shipment that no other
    number fits is the likelier one, the more of the free ones are billed at all.
    """
    own, formed = ~np.isin(kind, (SAME, ORDER, BY_FIGURES)), of_none.printed > 0
    # Where the shares start is chosen, and changes nothing in the end; so is how far they may go.
    ways, nobody, billed, misread = USUAL.copy(), 0.1, 0.0, 0.05
    for _ in range(ROUNDS):
        by_number = np.where(formed, of_none.printed, misread * np.minimum(of_none.odd @ ways, records.count))[seen]
        otherwise = records.count * np.where(formed, 1 / USUAL[ORDER], misread)[seen]
        as_it_is = of_none.printed[seen] * misread**2 / (1 - misread)
        none = np.where(own, by_number, np.where(kind == SAME, as_it_is, otherwise))
        number = np.where(own, ways[kind], 1.0) / np.maximum(none, LEAST)
        total = np.clip(
            fixed + np.log(np.maximum(number, LEAST)) + np.log((1 - nobody) / nobody / (1 - billed)), -60, 60
        )
        share = np.exp(total) / (1 + np.bincount(seen, np.exp(total), minlength=len(formed)))[seen]
        if free is not None:
            share /= np.maximum(np.bincount(recorded, share), 1.0)[recorded]
            billed = min(share.sum() / free, MOST_BILLED)
        found = share.sum()
        unrecorded = (1 - np.bincount(seen, share, minlength=len(formed)))[formed].sum()
        nobody = float(np.clip((unrecorded + 1) / (unrecorded + found + 2), 0.001, 0.95))
        misread = float(np.clip((found + 1) / (found + records.as_they_stand + AS_MANY), 0.002, 0.5))
        ways = np.bincount(kind[own], share[own], minlength=len(USUAL)) + AS_MANY * USUAL
        ways /= ways.sum()
    return np.asarray(total)


LEAST = 1e-30
"""A chance no less than this has a logarithm (chosen)."""

MOST_BILLED = 0.95
"""Of the free shipments at most so many are thought to be among the numbers seen (chosen)."""


def _of_right(states: States, right: States) -> Weights:
    """Log of how likely the figures stand so to those of the right shipment."""
    there, agree = (right != MISSING).sum(axis=0), (right == AGREES).sum(axis=0)
    rate = np.clip((agree + AS_MANY * USUALLY_AGREES) / (there + AS_MANY), 0.002, 0.998)
    each = np.where(states == AGREES, rate, np.where(states == DIFFERS, 1 - rate, 1.0)).prod(axis=1)
    alike, same_missing = _times(states, right), _times(states == MISSING, right == MISSING)
    return np.asarray(np.log((alike + AS_MANY * each) / (same_missing + AS_MANY)))


def _times(rows: npt.NDArray[np.generic], among: npt.NDArray[np.generic]) -> Weights:
    """How often each of the rows stands among the others."""
    power = 3 ** np.arange(rows.shape[1])
    wanted, have = rows.astype(np.int64) @ power, among.astype(np.int64) @ power
    known, count = np.unique(have, return_counts=True)
    place = np.minimum(np.searchsorted(known, wanted), max(len(known) - 1, 0))
    return np.where(known[place] == wanted, count[place], 0).astype(float) if len(known) else np.zeros(len(wanted))


def _of_chance(states: States, recorded: pd.DataFrame, records: Records) -> Weights:
    """Log of how likely the figures of a parcel that is not recorded agree with those of this shipment as they do."""
    codes, sample = _coded(recorded, records.sample)
    chance, lengths = np.empty(len(states)), recorded["text"].str.len().to_numpy(dtype=np.int64)
    inside = recorded.index.isin(records.sample.index)
    # Figures that nearly all have alike may still be misprinted: one in twenty (chosen).
    once = 1 - np.array([_collision(sample[:, place]) for place in range(len(FIGURES))])
    for agree, rows in _by_pattern(states):
        figures = [place for place in np.flatnonzero(agree).tolist() if place != ORDER_PLACE]
        others = _sharing(codes[rows][:, figures], sample[:, figures]) - inside[rows]
        chance[rows] = (others + 1) / (len(sample) + 1)
        if agree[ORDER_PLACE]:
            chance[rows] *= (_sharing(codes[rows][:, [ORDER_PLACE]], sample[:, [ORDER_PLACE]]) - inside[rows]) / (
                len(sample) + 1
            ) + 1 / records.count
        for length in np.unique(lengths[rows]).tolist():
            near = records.series[length].near if length in records.series else states[:0]
            if len(near) >= ENOUGH:
                share = (near[:, agree] == AGREES).all(axis=1).mean() if agree.any() else 1.0
                own = rows[lengths[rows] == length]
                chance[own] = np.maximum(chance[own], share)
        differ = states[rows] == DIFFERS
        chance[rows] *= np.where(differ, np.maximum(once, 0.05), 1.0).prod(axis=1)
    return np.log(np.maximum(chance, 1e-12))


ORDER_PLACE = FIGURES.index("order")


def _by_pattern(states: States) -> Iterator[tuple[npt.NDArray[np.bool_], npt.NDArray[np.intp]]]:
    """The sets of figures that agree, each with its rows."""
    agree = states == AGREES
    patterns, of = np.unique(agree, axis=0, return_inverse=True)
    for number, pattern in enumerate(patterns):
        yield pattern, np.flatnonzero(of.reshape(-1) == number)


def _coded(one: pd.DataFrame, other: pd.DataFrame) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Both tables of FIGURES as whole numbers, equal where figures are; -1 where one is missing."""
    both = pd.concat([one[list(FIGURES)], other[list(FIGURES)]], ignore_index=True)
    codes = np.stack([pd.factorize(both[figure])[0] for figure in FIGURES], axis=1).astype(np.int64)
    return codes[: len(one)], codes[len(one) :]


def _sharing(rows: npt.NDArray[np.int64], among: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """How many of the others have the very same codes."""
    keys, size = np.zeros(len(rows) + len(among), np.int64), 1
    for place in range(rows.shape[1]):
        codes = np.concatenate([rows[:, place], among[:, place]]) + 1
        if size * (int(codes.max(initial=0)) + 1) > MOST_KEYS:
            _, keys = np.unique(keys, return_inverse=True)
            size = len(keys)
        keys = keys * (int(codes.max(initial=0)) + 1) + codes
        size *= int(codes.max(initial=0)) + 1
    have = np.sort(keys[len(rows) :])
    first, last = (np.searchsorted(have, keys[: len(rows)], side=side) for side in ("left", "right"))
    return np.asarray(last - first)


MOST_KEYS = 1 << 40
"""So many keys, and as many codes as a table has rows, fit into 64 bits (chosen; it changes no figure)."""


def _collision(codes: npt.NDArray[np.int64]) -> float:
    """The chance that two parcels agree."""
    there = codes[codes >= 0]
    return float(((np.bincount(there) / len(there)) ** 2).sum()) if len(there) else 0.0
