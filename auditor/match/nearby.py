"""Numbers that could be misreadings of one another, found without comparing every one with every other.

Two texts within d edits of one another (an edit drops, adds, changes or swaps characters) become equal when at most d
characters are dropped from each. So the texts with up to two characters dropped are hashed, on both sides, and equal
hashes name the pairs worth a look; the look itself is the library's. The work grows with the number of texts.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from rapidfuzz.distance import OSA

Hashes = npt.NDArray[np.uint64]

BASE = np.uint64(1_099_511_628_211)
MOST_EDITS = 2
LEAST_PART = 6
"""A cut-off number must show at least so many characters to be looked for as the beginning or end of another."""

MOST_ALIKE = 64
"""A hash that so many texts of one side share tells nothing and is passed over: it bounds the pairs."""


def nearby(seen: pd.Series, recorded: pd.Series) -> pd.DataFrame:
    """Pairs of texts at most two edits apart, or of which the one seen is cut off from the other.

    Texts two edits apart are looked for only where none is nearer.

    Args:
        seen: texts, by any index.
        recorded: texts, by any index.

    Returns:
        Columns seen, recorded (labels of the two indexes), edits (0 to 2; a cut counts as 2), cut (whether it is one).
    """
    seen_at, recorded_at = seen.reset_index(drop=True), recorded.reset_index(drop=True)
    found = pd.concat([within(1, seen_at, recorded_at), _cut_off(seen_at, recorded_at)], ignore_index=True)
    left = seen_at[~seen_at.index.isin(found["seen"])]
    pairs = pd.concat([found, within(MOST_EDITS, left, recorded_at)], ignore_index=True)
    pairs = pairs.drop_duplicates(["seen", "recorded"], ignore_index=True)
    return pairs.assign(
        seen=seen.index[pairs["seen"].to_numpy(dtype=np.intp)],
        recorded=recorded.index[pairs["recorded"].to_numpy(dtype=np.intp)],
    )


_NONE = pd.DataFrame({"seen": [0], "recorded": [0], "edits": [0], "cut": [False]}).iloc[:0]


def within(edits: int, seen: pd.Series, recorded: pd.Series) -> pd.DataFrame:
    """Pairs at most so many edits apart, as `nearby` gives them, by the labels of the two columns."""
    ours = pd.concat([pd.DataFrame(part) for part in _thinned(seen, edits)] or [_NO_HASHES])
    wanted = np.unique(ours["hash"].to_numpy(dtype=np.uint64))
    theirs = pd.concat([_only(part, wanted) for part in _thinned(recorded, edits)] or [_NO_HASHES]).drop_duplicates()
    theirs = theirs[theirs.groupby("hash")["text"].transform("size") <= MOST_ALIKE]
    ours = ours[ours["hash"].isin(theirs["hash"])]
    pairs = ours.merge(theirs, on="hash", suffixes=("_seen", "_recorded")).drop(columns="hash").drop_duplicates()
    texts = zip(seen[pairs["text_seen"]], recorded[pairs["text_recorded"]], strict=True)
    apart = [OSA.distance(one, other, score_cutoff=edits) for one, other in texts]
    pairs = pairs.rename(columns={"text_seen": "seen", "text_recorded": "recorded"})
    pairs = pairs.assign(edits=np.array(apart, dtype=np.int64), cut=False)
    return pairs[pairs["edits"] <= edits]


_NO_HASHES = pd.DataFrame({"text": np.zeros(0, np.int64), "hash": np.zeros(0, np.uint64)})


def _only(part: dict[str, npt.NDArray[Any]], wanted: Hashes) -> pd.DataFrame:
    """The hashes that are wanted (sorted)."""
    place = np.minimum(np.searchsorted(wanted, part["hash"]), max(len(wanted) - 1, 0))
    hit = wanted[place] == part["hash"] if len(wanted) else np.zeros(len(part["hash"]), bool)
    return pd.DataFrame({"text": part["text"][hit], "hash": part["hash"][hit]})


def _thinned(texts: pd.Series, most: int) -> Iterator[dict[str, npt.NDArray[Any]]]:
    """The hashes of every text with up to so many characters dropped: arrays text (its label) and hash."""
    for labels, letters in _by_length(texts):
        for hashes in _hashes(letters, most):
            yield {"text": labels.to_numpy(), "hash": hashes}


def _by_length(texts: pd.Series) -> Iterator[tuple[pd.Index, Hashes]]:
    """Texts of one length together: their labels, and their characters as (text, place)."""
    lengths = texts.str.len()
    for length, of_length in texts.groupby(lengths):
        codes = np.frombuffer("".join(of_length).encode("utf-32-le"), dtype=np.uint32)
        yield of_length.index, codes.reshape(len(of_length), int(str(length))).astype(np.uint64)


def _hashes(letters: Hashes, most: int) -> Iterator[Hashes]:
    """Polynomial hashes of the texts with up to `most` characters dropped, an array for each set of places.

    A part's hash comes from those of the text's beginnings, so that dropping a character costs no second pass.
    """
    length = letters.shape[1]
    with np.errstate(over="ignore"):
        powers = np.cumprod(np.array([1, *[BASE] * length], dtype=np.uint64))
        begun = np.zeros((length + 1, len(letters)), dtype=np.uint64)
        for place in range(length):
            begun[place + 1] = begun[place] * BASE + letters[:, place]

        def part(start: int, end: int) -> Hashes:
            return np.asarray(begun[end] - begun[start] * powers[end - start])

        for count in range(most + 1):
            for places in combinations(range(length), count):
                total = np.zeros(len(letters), dtype=np.uint64)
                for start, end in zip((0, *(place + 1 for place in places)), (*places, length), strict=True):
                    total = total * powers[end - start] + part(start, end)
                yield total


def _cut_off(seen: pd.Series, recorded: pd.Series) -> pd.DataFrame:
    """Pairs of which the text seen is the beginning or the end of the other, and more than two characters shorter."""
    frames = [_NONE]
    lengths, longest = seen.str.len(), recorded.str.len().max()
    for length, short in seen[(lengths >= LEAST_PART) & (lengths < longest - MOST_EDITS)].groupby(lengths):
        size = int(str(length))
        whole = recorded[recorded.str.len() > size + MOST_EDITS]
        parts = pd.concat([whole.str[:size], whole.str[-size:]]).rename("part").rename_axis("recorded").reset_index()
        frames.append(short.rename("part").rename_axis("seen").reset_index().merge(parts, on="part"))
    pairs = pd.concat(frames, ignore_index=True)[["seen", "recorded"]]
    alike = pairs.groupby("seen")["recorded"].transform("size") <= MOST_ALIKE
    return pairs[alike].drop_duplicates().assign(edits=MOST_EDITS, cut=True)
