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
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.core.arrays import Floats, Places, Whole, Yes
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
            for form in known.values():
                odd[place] += of_any(plain[place], form.allowed) * form.density
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
    billed, shipments = seen.loc[pairs["seen"]], recorded.loc[pairs["recorded"]]
    states = held_together(billed, shipments)
    figures = _of_right(states, records.right) - _of_chance(states, shipments, records)
    kind, chance = kinds_and_chances(pairs, billed["text"], shipments["text"])
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
    candidates = _Candidates(
        likeness=pairs["likeness"].to_numpy(dtype=float) + np.log(records.count / free),
        kind=pairs["kind"].to_numpy(dtype=np.intp),
        number=pairs["place"].to_numpy(dtype=np.intp),
        shipment=pd.factorize(pairs["recorded"])[0],
    )
    return _agreed(candidates, of_none, records, free if one_to_one else None)


@dataclass(frozen=True)
class _Candidates:
    """Pairs as arrays: `likeness`, what speaks for each whatever the rates; its kind, number and shipment (rows)."""

    likeness: Weights
    kind: Places
    number: Places
    shipment: Places

    @cached_property
    def by_text(self) -> Yes:
        """Whether the number itself is how they came together."""
        return ~np.isin(self.kind, (SAME, ORDER, BY_FIGURES))


@dataclass(frozen=True)
class _Rates:
    """What is thought of all numbers, at first before any is seen.

    `ways`: the share of each way of misreading among misread numbers. Shares too: `misread`, of all numbers;
    `not_recorded`, of parcels seen; `billed`, of the free shipments. Where they start is chosen, and changes nothing in
    the end; so is how far they may go.
    """

    ways: Weights = field(default_factory=USUAL.copy)
    misread: float = 0.05
    not_recorded: float = 0.1
    billed: float = 0.0


def _agreed(pairs: _Candidates, of_none: OfNone, records: Records, free: int | None) -> Weights:
    """The log-odds with the rates that come out of them.

    Parcels not recorded are counted among numbers of a form that the carrier prints: those of no form that fit nothing
    may well be recorded ones, misread beyond recognition. A shipment that no other number fits is the likelier one, the
    more of the free ones are billed at all.
    """
    rates = _Rates()
    for _ in range(ROUNDS):
        odds = _log_odds(pairs, rates, of_none, records)
        share = (
            np.exp(odds) / (1 + np.bincount(pairs.number, np.exp(odds), minlength=len(of_none.printed)))[pairs.number]
        )
        if free is not None:
            share /= np.maximum(np.bincount(pairs.shipment, share), 1.0)[pairs.shipment]
        billed = min(share.sum() / free, MOST_BILLED) if free is not None else 0.0
        rates = replace(_counted(pairs, share, of_none, records), billed=billed)
    return odds


def _log_odds(pairs: _Candidates, rates: _Rates, of_none: OfNone, records: Records) -> Weights:
    formed, misread = of_none.printed > 0, rates.misread
    by_number = np.where(formed, of_none.printed, misread * np.minimum(of_none.odd @ rates.ways, records.count))
    otherwise = records.count * np.where(formed, 1 / USUAL[ORDER], misread)
    as_it_is = of_none.printed * misread**2 / (1 - misread)
    kinds = [pairs.by_text, pairs.kind == SAME]
    none = np.select(kinds, [by_number[pairs.number], as_it_is[pairs.number]], otherwise[pairs.number])
    number = np.where(pairs.by_text, rates.ways[pairs.kind], 1.0) / np.maximum(none, LEAST)
    recorded = (1 - rates.not_recorded) / rates.not_recorded / (1 - rates.billed)
    return np.asarray(np.clip(pairs.likeness + np.log(np.maximum(number, LEAST)) + np.log(recorded), -60, 60))


def _counted(pairs: _Candidates, share: Weights, of_none: OfNone, records: Records) -> _Rates:
    """The rates among pairs that are the right ones to such a share."""
    found, by_text = share.sum(), pairs.by_text
    of_number = np.bincount(pairs.number, share, minlength=len(of_none.printed))
    not_recorded = (1 - of_number)[of_none.printed > 0].sum()
    ways = np.bincount(pairs.kind[by_text], share[by_text], minlength=len(USUAL)) + AS_MANY * USUAL
    return _Rates(
        ways=ways / ways.sum(),
        misread=float(np.clip((found + 1) / (found + records.as_they_stand + AS_MANY), 0.002, 0.5)),
        not_recorded=float(np.clip((not_recorded + 1) / (not_recorded + found + 2), 0.001, 0.95)),
    )


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


def _by_pattern(states: States) -> Iterator[tuple[Yes, Places]]:
    """The sets of figures that agree, each with its rows."""
    agree = states == AGREES
    patterns, pattern_of = np.unique(agree, axis=0, return_inverse=True)
    for at, pattern in enumerate(patterns):
        yield pattern, np.flatnonzero(pattern_of.reshape(-1) == at)


def _coded(billed: pd.DataFrame, shipments: pd.DataFrame) -> tuple[Whole, Whole]:
    """Both tables of FIGURES as whole numbers, equal where figures are; -1 where one is missing."""
    both = pd.concat([billed[list(FIGURES)], shipments[list(FIGURES)]], ignore_index=True)
    codes = np.stack([pd.factorize(both[figure])[0] for figure in FIGURES], axis=1).astype(np.int64)
    return codes[: len(billed)], codes[len(billed) :]


def _sharing(rows: Whole, among: Whole) -> Whole:
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


def _collision(codes: Whole) -> float:
    """The chance that two parcels agree."""
    there = codes[codes >= 0]
    return float(((np.bincount(there) / len(there)) ** 2).sum()) if len(there) else 0.0
