"""One shipment to one number: the likeliest whole pairing, and how sure each of its pairs is."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import pandas as pd

from auditor.core.arrays import Floats, Places, Yes
from auditor.match.misreading import SAME

MOST_EXACT = 7
"""Groups of at most so many numbers and shipments are counted out whole; larger ones are approximated
(chosen, for the time it takes)."""

SURE = 0.8
"""A join less likely than this is not made (chosen; docs/evaluation.md, "Misread numbers", has what is
right above it and below)."""


def paired(pairs: pd.DataFrame, *, one_to_one: bool) -> pd.DataFrame:
    """Each number's likeliest shipment and how likely it is.

    Args:
        pairs: columns seen, recorded, kind and weight, the log-odds of the pair against the number's having none.
        one_to_one: no shipment belongs to two of the numbers.

    Returns:
        A row for each number, its best pair: the columns of the pairs, confidence (its share over every pairing,
        weighed) and others, the shipments that are at least a tenth as likely. A number that stands in the records as
        it is keeps the shipment that has it, unless another is surely meant.
    """
    share = _shares(pairs, one_to_one=one_to_one)
    rank = np.where((pairs["kind"] == SAME) & (share > 0), np.maximum(share, SURE - 1e-9 * (1 - share)), share)
    pairs = pairs.assign(share=share, rank=rank).sort_values(["seen", "rank"], ascending=[True, False], kind="stable")
    best = pairs.drop_duplicates("seen").set_index("seen")
    chosen = pairs["recorded"].to_numpy() == best["recorded"].reindex(pairs["seen"]).to_numpy()
    near = pairs[chosen | (pairs["share"].to_numpy() >= best["share"].reindex(pairs["seen"]).to_numpy() / 10)]
    ends = np.flatnonzero(np.diff(near["seen"], append=-1))
    shipments = near["recorded"].tolist()
    others = [tuple(shipments[start:end]) for start, end in pairwise((0, *(ends + 1).tolist()))]
    rivals = pd.Series(others, index=best.index, dtype=object)
    return best.assign(confidence=best["share"], others=rivals).reset_index()


def _shares(pairs: pd.DataFrame, *, one_to_one: bool) -> Floats:
    """How likely each pair is. Pairs that stand alone need no counting out."""
    seen, numbers = pd.factorize(pairs["seen"])
    recorded, _ = pd.factorize(pairs["recorded"])
    odds = pairs["weight"].to_numpy(dtype=float)
    top = np.zeros(len(numbers))
    np.maximum.at(top, seen, odds)
    likely = np.exp(odds - top[seen])
    share = likely / (np.bincount(seen, likely)[seen] + np.exp(-top[seen]))
    if one_to_one:
        shared = np.bincount(recorded)[recorded] > 1
        large = np.zeros(len(share), dtype=bool)
        for places in _tangled(seen, recorded, shared):
            if max(len(np.unique(seen[places])), len(np.unique(recorded[places]))) <= MOST_EXACT:
                share[places] = _counted(seen[places], recorded[places], odds[places])
            else:
                large[places] = True
        share[large] = _rough(seen[large], recorded[large], odds[large])
    return np.asarray(share)


def _tangled(seen: Places, recorded: Places, shared: Yes) -> Iterator[Places]:
    """The places of pairs that hang together, directly or by others, and of which some want the same shipment."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    if not shared.any():
        return
    size = seen.max() + recorded.max() + 2
    graph = coo_array((np.ones(len(seen)), (seen, recorded + seen.max() + 1)), shape=(size, size))
    group = connected_components(graph, directed=False)[1][seen]
    wanted = np.isin(group, np.unique(group[shared]))
    places = np.flatnonzero(wanted)[np.argsort(group[wanted], kind="stable")]
    yield from np.split(places, np.flatnonzero(np.diff(group[places])) + 1)


def _counted(seen: Places, recorded: Places, odds: Floats) -> Floats:
    """The shares of the pairs of one small group."""
    rows, row = np.unique(seen, return_inverse=True)
    columns, column = np.unique(recorded, return_inverse=True)
    table = np.full((len(rows), len(columns)), -np.inf)
    table[row, column] = odds
    return np.asarray(_exact_shares(table)[row, column])


def _exact_shares(odds: Floats) -> Floats:
    """The share of each pair over all pairings in which no shipment is given twice and a number may have none."""
    count, width = odds.shape
    likely = np.exp(odds - np.maximum(odds.max(axis=1, keepdims=True), 0))
    none = np.exp(-np.maximum(odds.max(axis=1), 0))
    before: list[dict[int, float]] = [{0: 1.0}]
    for row in range(count):
        before.append(_step(before[-1], likely[row], none[row]))
    after: dict[int, float] = dict.fromkeys(before[-1], 1.0)
    share = np.zeros((count, width))
    for row in range(count - 1, -1, -1):
        earlier: dict[int, float] = {}
        for used, weight in before[row].items():
            ways = none[row] * after.get(used, 0.0)
            for column in np.flatnonzero(likely[row]).tolist():
                if not used >> column & 1:
                    term = likely[row, column] * after.get(used | 1 << column, 0.0)
                    share[row, column] += weight * term
                    ways += term
            earlier[used] = ways
        after = earlier
    return share / after[0]


def _step(states: dict[int, float], likely: Floats, none: float) -> dict[int, float]:
    """The weights of the sets of shipments used after one more number."""
    new: dict[int, float] = {}
    for used, weight in states.items():
        new[used] = new.get(used, 0.0) + weight * none
        for column in np.flatnonzero(likely).tolist():
            if not used >> column & 1:
                new[used | 1 << column] = new.get(used | 1 << column, 0.0) + weight * likely[column]
    return new


def _rough(seen: Places, recorded: Places, odds: Floats) -> Floats:
    """The same for large groups: shares by number, lessened by how much others want the shipment (a few rounds)."""
    claim = np.zeros(int(recorded.max(initial=-1)) + 1)
    count = int(seen.max(initial=-1)) + 1
    share = np.zeros(len(odds))
    for _ in range(20):
        eased = odds - claim[recorded]
        top = np.zeros(count)
        np.maximum.at(top, seen, eased)
        likely = np.exp(eased - top[seen])
        share = likely / (np.bincount(seen, likely, minlength=count) + np.exp(-top))[seen]
        claim += np.log(np.maximum(np.bincount(recorded, share, minlength=len(claim)), 1.0))
    return share
