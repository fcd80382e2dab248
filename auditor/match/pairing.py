"""One shipment to one number: the likeliest whole pairing, and how sure each of its pairs is."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
import pandas as pd

MOST_EXACT = 7
"""Groups of at most so many numbers and shipments are counted out whole; larger ones are approximated."""

BY_ORDER = 3
"""The edits of a pair that only its order reference brought together."""


def paired(pairs: pd.DataFrame) -> pd.DataFrame:
    """Each number's likeliest shipment, in the likeliest pairing of all.

    Args:
        pairs: columns seen, recorded, edits and weight, the log-odds of the pair against the number's having none.

    Returns:
        A row for each number: seen, recorded, confidence (its share over every pairing, weighed), by_order (only its
        order reference brought them together) and others, the shipments that are at least a tenth as likely.
    """
    rows = [row for _, group in pairs.groupby(_groups(pairs)) for row in _of_group(group)]
    return pd.DataFrame(rows, columns=["seen", "recorded", "confidence", "by_order", "others"])


def _groups(pairs: pd.DataFrame) -> npt.NDArray[np.int32]:
    """Pairs that share a number or a shipment, directly or by others, have the same group."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    seen, names = pd.factorize(pairs["seen"])
    recorded, others = pd.factorize(pairs["recorded"])
    size = len(names) + len(others)
    graph = coo_array((np.ones(len(pairs)), (seen, recorded + len(names))), shape=(size, size))
    return np.asarray(connected_components(graph, directed=False)[1][seen])


def _of_group(group: pd.DataFrame) -> Iterator[tuple[int, int, float, bool, tuple[int, ...]]]:
    table = group.pivot(index="seen", columns="recorded", values="weight").fillna(-np.inf)
    odds = table.to_numpy(dtype=float)
    share = _whole(odds) if max(odds.shape) <= MOST_EXACT else _rough(odds)
    edits = group.set_index(["seen", "recorded"])["edits"]
    for place, seen in enumerate(table.index):
        best = int(np.argmax(share[place]))
        recorded = table.columns[best]
        near = share[place] >= share[place, best] / 10
        others = tuple(table.columns[near & (share[place] > 0)])
        yield (
            int(str(seen)),
            int(str(recorded)),
            float(share[place, best]),
            bool(edits[seen, recorded] == BY_ORDER),
            others,
        )


def _whole(odds: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
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


def _step(states: dict[int, float], likely: npt.NDArray[np.float64], none: float) -> dict[int, float]:
    """The weights of the sets of shipments used after one more number."""
    new: dict[int, float] = {}
    for used, weight in states.items():
        new[used] = new.get(used, 0.0) + weight * none
        for column in np.flatnonzero(likely).tolist():
            if not used >> column & 1:
                new[used | 1 << column] = new.get(used | 1 << column, 0.0) + weight * likely[column]
    return new


def _rough(odds: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """The same for large groups: shares by row, lessened by how much others want the shipment (a few rounds)."""
    claim = np.zeros(odds.shape[1])
    for _ in range(20):
        eased = odds - claim
        top = np.maximum(eased.max(axis=1, keepdims=True), 0)
        likely = np.exp(eased - top)
        share = likely / (likely.sum(axis=1, keepdims=True) + np.exp(-top))
        claim = np.log(np.maximum(share.sum(axis=0), 1.0)) + claim
    return np.asarray(share)
