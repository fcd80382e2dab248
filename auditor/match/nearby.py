"""Numbers that could be misreadings of one another, found without comparing every one with every other.

Two texts within d edits of one another (an edit drops, adds, changes or swaps characters) become equal when at most d
characters are dropped from each. So the texts with up to two characters dropped are hashed, on both sides, and equal
hashes name the pairs worth a look; the look itself is the library's. The work grows with the number of texts.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt
import pandas as pd
from rapidfuzz.distance import OSA

from auditor.core.arrays import Whole, Yes

Hashes = npt.NDArray[np.uint64]

BASE = np.uint64(1_099_511_628_211)
"""Any large odd number would do; this is the 64-bit prime of Fowler, Noll and Vo's hash (from memory)."""

MOST_EDITS = 2
"""A text further away is no longer looked for: the hashes grow with the square of the length (chosen)."""

LEAST_PART = 6
"""A cut-off number must show at least so many characters to be looked for as the beginning or end of another
(chosen)."""

MOST_ALIKE = 64
"""A hash that so many texts of one side share tells nothing and is passed over: it bounds the pairs
(chosen)."""


def within(edits: int, seen: pd.Series, recorded: pd.Series) -> pd.DataFrame:
    """Pairs of texts at most so many edits apart.

    Args:
        edits: 1 or 2.
        seen: texts, by whole numbers.
        recorded: texts, by whole numbers.

    Returns:
        Columns seen, recorded (labels of the two indexes) and edits.
    """
    billed = _below_one_another(_thinned(seen, edits))
    wanted = _Wanted.of(billed["hash"].to_numpy(dtype=np.uint64))
    own = _below_one_another(map(wanted.only, _thinned(recorded, edits))).drop_duplicates()
    own = own[own.groupby("hash")["text"].transform("size") <= MOST_ALIKE]
    billed = billed[billed["hash"].isin(own["hash"])]
    pairs = billed.merge(own, on="hash", suffixes=("_seen", "_recorded")).drop(columns="hash").drop_duplicates()
    texts = zip(seen.loc[pairs["text_seen"]].tolist(), recorded.loc[pairs["text_recorded"]].tolist(), strict=True)
    apart = [OSA.distance(text, right, score_cutoff=edits) for text, right in texts]
    pairs = pairs.rename(columns={"text_seen": "seen", "text_recorded": "recorded"})
    pairs = pairs.assign(edits=np.array(apart, dtype=np.int64))
    return pairs[pairs["edits"] <= edits]


def cut_off(seen: pd.Series, recorded: pd.Series) -> pd.DataFrame:
    """Pairs (labels) of which the text seen is the other's beginning or end, more than two characters shorter."""
    frames = [pd.DataFrame({"seen": seen.index[:0], "recorded": recorded.index[:0]})]
    lengths, longest = seen.str.len(), recorded.str.len().max()
    for length, short in seen[(lengths >= LEAST_PART) & (lengths < longest - MOST_EDITS)].groupby(lengths):
        size = int(str(length))
        longer = recorded[recorded.str.len() > size + MOST_EDITS]
        parts = pd.concat([longer.str[:size], longer.str[-size:]]).rename("part").rename_axis("recorded").reset_index()
        frames.append(short.rename("part").rename_axis("seen").reset_index().merge(parts, on="part"))
    pairs = pd.concat(frames, ignore_index=True)[["seen", "recorded"]]
    alike = pairs.groupby("seen")["recorded"].transform("size") <= MOST_ALIKE
    return pairs[alike].drop_duplicates()


Part = tuple[Whole, Hashes]
"""Texts, by their labels, and a hash of each."""


def _below_one_another(parts: Iterable[Part]) -> pd.DataFrame:
    labels, hashes = zip((np.zeros(0, np.int64), np.zeros(0, np.uint64)), *parts, strict=True)
    return pd.DataFrame({"text": np.concatenate(labels), "hash": np.concatenate(hashes)})


@dataclass(frozen=True)
class _Wanted:
    """Hashes to look for, sorted, and a mark for the first bits of each, which passes over nearly all others."""

    hashes: Hashes
    marks: Yes

    @classmethod
    def of(cls, hashes: Hashes) -> _Wanted:
        hashes = np.sort(hashes)
        marks = np.zeros(1 << max(len(hashes).bit_length() + SPARE_BITS, LEAST_BITS), dtype=bool)
        marks[_first_bits(hashes, marks)] = True
        return cls(hashes, marks)

    def only(self, part: Part) -> Part:
        """Those of the part that are wanted."""
        labels, hashes = part
        marked = np.flatnonzero(self.marks[_first_bits(hashes, self.marks)])
        hashes = hashes[marked]
        place = np.minimum(np.searchsorted(self.hashes, hashes), max(len(self.hashes) - 1, 0))
        hit = self.hashes[place] == hashes if len(self.hashes) else np.zeros(len(hashes), bool)
        return labels[marked[hit]], hashes[hit]


SPARE_BITS, LEAST_BITS = 5, 12
"""So sparse are the marks: one hash in 32 at most is looked up in vain (chosen; they change no figure)."""


def _first_bits(hashes: Hashes, marks: Yes) -> Whole:
    return (hashes >> np.uint64(65 - len(marks).bit_length())).view(np.int64)


def _thinned(texts: pd.Series, most: int) -> Iterator[Part]:
    """The hashes of every text with up to so many characters dropped."""
    for labels, letters in _by_length(texts):
        for hashes in _hashes(letters, most):
            yield labels, hashes


def _by_length(texts: pd.Series) -> Iterator[tuple[Whole, Hashes]]:
    """Texts of one length, in blocks that fit the processor's cache: labels, and characters as (place, text)."""
    for length, of_length in texts.groupby(texts.str.len()):
        labels = of_length.index.to_numpy(dtype=np.int64)
        codes = np.frombuffer("".join(of_length.to_numpy(dtype=object)).encode("utf-32-le"), dtype=np.uint32)
        letters = codes.reshape(len(of_length), int(str(length)))
        for start in range(0, len(labels), BLOCK):
            block = slice(start, start + BLOCK)
            yield labels[block], np.ascontiguousarray(letters[block].T, dtype=np.uint64)


BLOCK = 1 << 14
"""Texts in a block (chosen; it changes no figure)."""


def _hashes(letters: Hashes, most: int) -> Iterator[Hashes]:
    """Polynomial hashes of the texts with up to `most` characters dropped, an array for each set of places.

    A part's hash comes from those of the text's beginnings, so that dropping a character costs no second pass. The last
    step mixes, so that the first bits of a hash depend on every character.
    """
    length = len(letters)
    with np.errstate(over="ignore"):
        powers = np.cumprod(np.array([1, *[BASE] * length], dtype=np.uint64))
        begun = np.zeros((length + 1, letters.shape[1]), dtype=np.uint64)
        for place in range(length):
            begun[place + 1] = begun[place] * BASE + letters[place]

        def part(start: int, end: int) -> Hashes:
            return np.asarray(begun[end] - begun[start] * powers[end - start])

        for count in range(most + 1):
            for places in combinations(range(length), count):
                total = part(0, places[0] if places else length)
                for start, end in zip(places, (*places[1:], length), strict=bool(places)) if places else ():
                    total = total * powers[end - start - 1] + part(start + 1, end)
                yield total * MIX


MIX = np.uint64(0x9E37_79B9_7F4A_7C15)
"""An odd number near 2^64 over the golden ratio (D. E. Knuth, The Art of Computer Programming, volume 3, 6.4)."""
