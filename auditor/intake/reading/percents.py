"""Which names are a percentage of the lines beside them: fuel, or a tax; by arithmetic alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from auditor.core.arrays import Floats, Places, Whole, Yes

FEWEST = 4
"""Fewer lines of a name than this agree on a percentage by chance (chosen)."""
MOST = 400
"""So many lines of a name tell as much as more of them (chosen)."""
MOST_RATES = 6
"""A month has no more percentages: fuel changes by the week at most."""
LEAST_OF_RATE = 3
AGREES = 0.9
LARGEST = 0.6
"""No fuel and no tax is a larger share of what it is taken of (common practice, no source)."""
OTHER = float(np.log(3.0))
"""What speaks for fuel rather than tax, or the other way round, where no amount says it."""
LAST = (1, 2, 3)
"""A correction's percentage is of so many lines just before it."""


@dataclass(frozen=True)
class Beside:
    """Lines of known parcels in order of parcel and document: code of parcel, code of name, cents."""

    parcel: Places
    name: Places
    cents: Whole

    @classmethod
    def sorted(cls, parcel: Places, name: Places, cents: Whole) -> Beside:
        """Of lines in the order of the document."""
        order = np.argsort(parcel, kind="stable")
        return cls(parcel[order], name[order], cents[order])


@dataclass(frozen=True)
class Share:
    """How surely a name is a percentage of others, as log odds, and whether that is of each of the others too."""

    odds: float = 0.0
    base: int = -1


def percents(beside: Beside, names: int) -> Mapping[int, Mapping[str, float]]:
    """The names that are a percentage of others beside them, each with the log odds of its being fuel, and a tax.

    A percentage that is taken of another one as well is a tax; one by itself is sooner fuel.
    """
    bases = list(_bases(beside, beside.name))
    found = {name: _best(beside, bases, name) for name in range(names)}
    found = {name: share for name, share in found.items() if share.odds > 0}
    told: dict[int, dict[str, float]] = {}
    for name, share in found.items():
        of_others = any(_takes_in(beside, share.base, name, other) for other in found.keys() - {name})
        fuel, tax = (-OTHER, OTHER) if of_others else (OTHER, -OTHER)
        told[name] = {"fuel": share.odds + fuel, "tax": share.odds + tax}
    return told


def _bases(beside: Beside, names: Places) -> Iterator[Whole]:
    """For each line what it may be taken of: the lines before it, the first, all the others, or the last few."""
    starts = np.flatnonzero(np.r_[True, beside.parcel[1:] != beside.parcel[:-1]])
    group = np.cumsum(np.r_[True, beside.parcel[1:] != beside.parcel[:-1]]) - 1
    run = np.cumsum(beside.cents)
    before_parcel = np.r_[0, run][starts][group]
    before = np.r_[0, run[:-1]] - before_parcel
    yield before
    yield np.where(np.arange(len(group)) == starts[group], 0, beside.cents[starts][group])
    yield np.add.reduceat(beside.cents, starts)[group] - beside.cents
    place = np.arange(len(group)) - starts[group]
    for last in LAST:
        from_ = np.arange(len(group)) - last
        yield np.where(place > last, np.r_[0, run[:-1]] - np.r_[0, run][np.maximum(from_, 0)], 0)
    whole = np.add.reduceat(beside.cents, starts)[group] - beside.cents
    for name in np.unique(names):
        theirs = np.where(beside.name == name, beside.cents, 0)
        yield whole - np.add.reduceat(theirs, starts)[group] + theirs


def _best(beside: Beside, bases: Sequence[Whole], name: int) -> Share:
    mine = np.flatnonzero((beside.name == name) & (beside.cents != 0))[:MOST]
    if len(mine) < FEWEST:
        return Share()
    shares = [Share(_odds(beside.cents[mine], base[mine]), at) for at, base in enumerate(bases)]
    return max(shares, key=lambda share: share.odds)


def _odds(cents: Whole, of: Whole) -> float:
    """The log odds that amounts are a percentage of what they stand beside, against of what others stand beside."""
    usable = (of != 0) & (np.sign(of) == np.sign(cents)) & (np.abs(cents) <= LARGEST * np.abs(of))
    amounts, base = np.abs(cents[usable]), np.abs(of[usable])
    if len(amounts) < FEWEST or len(np.unique(base)) < FEWEST:
        return 0.0
    agrees = int(_agreeing(amounts, base).sum())
    if agrees <= len(cents) // 2:
        return 0.0
    order = np.argsort(base)
    shifted = (_agreeing(amounts[order], np.roll(base[order], len(base) // part)).sum() for part in (2, 3))
    chance = float(np.clip(max(shifted) / len(amounts), 1 / (len(amounts) + 1), 0.95))
    missed = len(cents) - agrees
    return float(agrees * np.log(AGREES / chance) + missed * np.log((1 - AGREES) / (1 - chance)))


def _takes_in(beside: Beside, base: int, name: int, other: int) -> bool:
    """Whether what a name is taken of has another name's amounts in it, where there are any."""
    without = replace(beside, cents=np.where(beside.name == other, 0, beside.cents))
    mine = (beside.name == name) & np.isin(beside.parcel, beside.parcel[beside.name == other])
    whole, less = (list(_bases(one, beside.name))[base][mine] for one in (beside, without))
    of_all = int((beside.name == name).sum())
    return bool((whole != less).sum() > of_all * AGREES / 2)


def _agreeing(cents: Whole, of: Whole) -> Yes:
    """Which amounts are, rounded to the cent, one of a few percentages of what they are taken of."""
    low, high = (cents - 0.51) / of, (cents + 0.51) / of
    agrees = np.zeros(len(cents), dtype=bool)
    for _ in range(MOST_RATES):
        left = ~agrees
        rate = _commonest(low[left], high[left])
        if rate is None:
            break
        here = left & (low <= rate) & (rate <= high)
        if here.sum() < max(LEAST_OF_RATE, len(cents) // 20):
            break
        agrees |= here
    return agrees


def _commonest(low: Floats, high: Floats) -> float | None:
    """The percentage that lies in most of the intervals."""
    if not len(low):
        return None
    ends = np.concatenate([low, high])
    step = np.concatenate([np.ones(len(low), dtype=np.int64), -np.ones(len(high), dtype=np.int64)])
    order = np.lexsort((-step, ends))
    return float(ends[order][int(np.argmax(np.cumsum(step[order])))])
