"""Which recorded shipment a billed number belongs to, with a reason in words and a confidence that means something.

The number as it stands comes first, then the number without blanks, hyphens and case (`numbers`). What is left, and what
stands there but beside quite other figures, is held against the shipments it could be: those whose number could be
misread as this one (`nearby`), that have the same order reference, or the same day, amount and weight; each weighed by
the number and by what else is printed (`evidence`). One shipment is given to one number (`pairing`). Where two could be
meant, neither is picked.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.match.evidence import OfNone, Records, evidence, series, weights
from auditor.match.figures import AGREES, DIFFERS, States, billed_figures, held_together, recorded_figures
from auditor.match.misreading import CUT, FIGURES, ORDER, SAME, in_words
from auditor.match.nearby import MOST_ALIKE, nearby
from auditor.match.numbers import Numbers, Places, Yes, bare, numbers
from auditor.match.pairing import SURE, paired
from auditor.tables import Column, Schema, conform, rows

__all__ = ["MATCHES", "NOTHING_LIKE_IT", "bare", "likeliest", "match"]

MATCHES: Schema = (
    Column("tracking", "str", "a distinct number as billed"),
    Column("shipment", "Int64", "row of the shipments table; missing when none fits"),
    Column("match", "str", "exact, spacing, misread, reference or none"),
    Column("confidence", "Float64", "chance that the join is right, 0 to 1"),
    Column("match_reason", "str", "how the two were joined, or which could be meant, in words"),
)

HOW = ("none", "exact", "spacing", "misread", "reference")
NONE, EXACT, SPACING = range(3)
NOTHING_LIKE_IT = "no recorded number is like it"
WORDS = (
    NOTHING_LIKE_IT,
    "the number is the same",
    "the number is the same but for blanks, hyphens or case",
)
CONFIDENCE = (np.nan, 0.9999, 0.999)
SHARED = 0.5
"""The confidence of a number that two shipments have, where nothing tells which of them was billed."""

NEAR_DAYS = pd.Timedelta(days=7)
"""So far may a billed ship date lie outside the recorded ones."""

def match(lines: pd.DataFrame, shipments: pd.DataFrame) -> pd.DataFrame:
    """Join each distinct billed number to at most one shipment, and each shipment left to at most one number.

    Args:
        lines: LINES (or NOTICES with the columns it has).
        shipments: SHIPMENTS.

    Returns:
        MATCHES, a row for each distinct number, in the order of the lines. Which shipment a number is joined to does not
        depend on any order.
    """
    known = numbers(lines["tracking"], shipments["tracking"])
    return conform(_table(known, _sure_only(_weighed(known, lines, shipments)), shipments.index), MATCHES)


def likeliest(lines: pd.DataFrame, shipments: pd.DataFrame) -> pd.DataFrame:
    """MATCHES with the likeliest shipment of every number, however unlikely, and `could_be`, all that are near as likely.

    Numbers that stand in the records keep their shipment, unless another one is surely meant.
    """
    known = numbers(lines["tracking"], shipments["tracking"])
    return _table(known, _weighed(known, lines, shipments), shipments.index)


def _sure_only(weighed: pd.DataFrame) -> pd.DataFrame:
    """What was weighed, without guesses that are not sure, and without the shipments that are surely another number's."""
    unlikely, guess = weighed["confidence"] < SURE, weighed["match"].notna()
    given = weighed.loc[guess & ~unlikely, "shipment"]
    unsure = unlikely & (guess | weighed["shipment"].isin(given))
    words = "it could be a misreading of " + weighed["could_be"] + ", and nothing tells which or whether"
    return weighed.assign(
        shipment=weighed["shipment"].mask(unsure, -1),
        match=weighed["match"].mask(unsure, HOW[NONE]),
        confidence=weighed["confidence"].mask(unsure),
        match_reason=weighed["match_reason"].mask(unsure, words),
    )


def _table(known: Numbers, weighed: pd.DataFrame, index: pd.Index) -> pd.DataFrame:
    """MATCHES with `could_be`: the numbers as they stand, and those that were weighed."""
    place = weighed.index.to_numpy(dtype=np.intp)
    how = np.where(known.same < 0, NONE, np.where(known.identical, EXACT, SPACING))
    confidence, shipment, said = np.array(CONFIDENCE)[how], known.same.copy(), how.copy()
    shipment[place] = weighed["shipment"]
    confidence[place] = weighed["confidence"]
    # A number that stands in the records and keeps its shipment is joined as it stands.
    how[place] = np.where(weighed["match"].isna(), how[place], [HOW.index(word) for word in weighed["match"].fillna("none")])
    said[place] = len(WORDS) + np.arange(len(place))
    could_be = np.zeros(len(how), dtype=np.intp)
    could_be[place] = 1 + np.arange(len(place))
    labels = index.to_numpy(dtype=np.int64)[shipment] if len(index) else shipment
    return pd.DataFrame(
        {
            "tracking": known.billed,
            "shipment": pd.arrays.IntegerArray(labels, shipment < 0),
            "match": pd.array(HOW, dtype="str").take(how),
            "confidence": pd.arrays.FloatingArray(confidence, np.isnan(confidence)),
            "match_reason": pd.array([*WORDS, *weighed["match_reason"]], dtype="str").take(said),
            "could_be": pd.array([None, *weighed["could_be"]], dtype="str").take(could_be),
        }
    )


OFTEN = 0.2
"""A figure that differs on more of the joined parcels than this does not tell a wrong join."""


def _beside_others(known: Numbers, lines: pd.DataFrame, shipments: pd.DataFrame) -> Yes:
    """Numbers that stand in the records, but beside two or more other figures: perhaps another's number, misread."""
    joined = np.flatnonzero(known.same >= 0)
    differ = np.zeros(len(known.billed), dtype=np.int8)
    for billed, recorded in _plain_figures(known, lines, shipments):
        one, other = billed.iloc[joined], recorded.iloc[known.same[joined]]
        differs = (one.reset_index(drop=True) != other.reset_index(drop=True)).to_numpy(dtype=bool, na_value=False)
        differs = differs & one.notna().to_numpy() & other.notna().to_numpy()
        if differs.sum() <= OFTEN * len(differs):
            differ[joined] += differs
    return differ >= SEVERAL


SEVERAL = 2


def _plain_figures(
    known: Numbers, lines: pd.DataFrame, shipments: pd.DataFrame
) -> Iterator[tuple[pd.Series, pd.Series]]:
    """Ship date, zone and label price of each billed number, and of the shipments, column beside column."""
    for figure in ("shipped_on", "zone"):
        if figure in lines:
            yield lines[figure].iloc[known.first_line], shipments[figure]
    if "state" in lines:
        labels = (lines["state"] == "label charge").to_numpy(dtype=bool) & (known.of_line >= 0)
        cents = lines["amount_cents"].to_numpy(dtype=float, na_value=0.0)[labels]
        of = known.of_line[labels]
        count = len(known.billed)
        billed = np.bincount(of, cents, minlength=count).astype(np.int64)
        missing = np.bincount(of, minlength=count) == 0
        yield pd.Series(pd.arrays.IntegerArray(billed, missing)), shipments["label_cost_cents"]


def _weighed(known: Numbers, lines: pd.DataFrame, shipments: pd.DataFrame) -> pd.DataFrame:
    """The likeliest shipments of the numbers that do not stand in the records, or beside quite other figures.

    A number with a label's charges is given a shipment that no other number has found, one to one. A number with
    corrections only may belong to a shipment whose label was billed under its right number.

    Returns:
        By the number's place: shipment (its place), match, confidence, match_reason and could_be, see `likeliest`.
    """
    doubted = known.twice | _beside_others(known, lines, shipments)
    weigh = np.flatnonzero((known.same < 0) | doubted)
    if not len(weigh) or not len(shipments):
        return NOTHING
    records = _records(known, doubted, lines, shipments)
    seen = _seen(known, weigh, lines).assign(doubted=doubted[weigh])
    seen = seen[seen["doubted"] | ~_of_other_days(seen["shipped_on"], shipments["shipped_on"])]
    taken = np.zeros(len(shipments) + 1, dtype=bool)
    taken[known.same[~doubted]] = True
    there = known.recorded_code >= 0
    labelled = seen["label_cents"].notna()
    first = _chosen(seen[labelled], known, np.flatnonzero(there & ~taken[:-1]), shipments, records, one_to_one=True)
    later = _chosen(seen[~labelled], known, np.flatnonzero(there), shipments, records, one_to_one=False)
    return pd.concat([part for part in (first, later) if len(part)] or [NOTHING])


NOTHING = pd.DataFrame(
    {
        "shipment": np.zeros(0, np.int64),
        "match": np.zeros(0, object),
        "confidence": np.zeros(0),
        "match_reason": np.zeros(0, object),
        "could_be": np.zeros(0, object),
    }
)


def _seen(known: Numbers, of: Places, lines: pd.DataFrame) -> pd.DataFrame:
    """The text and the figures of some of the billed numbers, by their place."""
    wanted = np.zeros(len(known.billed) + 1, dtype=bool)
    wanted[of] = True
    mine = np.flatnonzero(wanted[known.of_line])
    them = lines.iloc[mine].reset_index(drop=True)
    return billed_figures(them, pd.Series(known.of_line[mine])).reindex(of).assign(text=known.text.iloc[of])


def _records(known: Numbers, doubted: Yes, lines: pd.DataFrame, shipments: pd.DataFrame) -> Records:
    """What is known beforehand, counted on samples that do not depend on the order of the records."""
    texts = known.recorded_text
    chosen = _sample(texts)
    sample = recorded_figures(shipments.iloc[chosen].set_axis(pd.Index(chosen)))
    inside = np.zeros(len(shipments) + 1, dtype=bool)
    inside[chosen] = True
    sure = np.flatnonzero(inside[known.same] & ~doubted)
    right = held_together(_seen(known, sure, lines), sample.loc[known.same[sure]])
    near = _near(texts, chosen)
    by_length = series(texts.iloc[near], recorded_figures(shipments.iloc[near]))
    as_they_stand = int((known.same >= 0).sum() - doubted.sum())
    count = int((known.recorded_code >= 0).sum())
    return Records(count=count, sample=sample, right=right, as_they_stand=as_they_stand, series=by_length)


SAMPLE = 30_000
def _sample(texts: pd.Series) -> Places:
    """Some of the recorded numbers: those with certain last characters."""
    ends, names = pd.factorize(texts.str[-2:])
    step = -(-len(texts) // SAMPLE)
    kept = np.zeros(len(names) + 1, dtype=bool)
    kept[np.argsort(names)[::step]] = True
    return np.flatnonzero(kept[ends])


ENDS, ANCHORS = (3, 5), 40
"""Numbers alike but for so many characters at their end are near; the second where too few are by the first."""

FEW, MANY = 1_000, 4_000
"""About so many near numbers are looked at."""


def _near(texts: pd.Series, chosen: Places) -> Places:
    """Recorded numbers near one another, around some of the chosen ones: each once."""
    for last in ENDS:
        beginnings = texts.str[:-last]
        anchors = beginnings.iloc[chosen].drop_duplicates().sort_values()
        anchors = anchors.iloc[:: max(len(anchors) // ANCHORS, 1)]
        near = np.flatnonzero(beginnings.isin(anchors).to_numpy(dtype=bool))
        if len(near) >= FEW:
            break
    of, names = pd.factorize(beginnings.iloc[near])
    order = np.argsort(names)
    upto = np.empty(len(names), dtype=np.intp)
    upto[order] = np.cumsum(np.bincount(of)[order])
    near = near[(upto <= max(MANY, upto.min(initial=0)))[of]]
    in_order = texts.iloc[near].drop_duplicates().sort_values(kind="stable").iloc[:MANY]
    return near[np.isin(near, in_order.index.to_numpy())]


def _of_other_days(seen: pd.Series, recorded: pd.Series) -> pd.Series:
    """Parcels billed as shipped well before or after all that is recorded: none of it, whatever their number."""
    days = pd.to_datetime(seen)
    outside: pd.Series = (days < recorded.min() - NEAR_DAYS) | (days > recorded.max() + NEAR_DAYS)
    return outside


def _chosen(
    seen: pd.DataFrame, known: Numbers, free: Places, shipments: pd.DataFrame, records: Records, *, one_to_one: bool
) -> pd.DataFrame:
    """The likeliest joins of the numbers seen to the shipments that are free, by their places."""
    if seen.empty or not len(free):
        return NOTHING
    texts = known.recorded_text.iloc[free]
    orders = shipments["order"].iloc[free].set_axis(texts.index)
    of_none = OfNone.of(seen["text"], records.series)

    def weighed(pairs: pd.DataFrame) -> pd.DataFrame:
        return pairs.assign(weight=weights(pairs, of_none, records, len(free), one_to_one=one_to_one))

    near = pd.concat([_same_number(seen, known), _near_number(seen, texts, 1), _same_order(seen, orders)])
    pairs = weighed(_with_evidence(near, seen, known, shipments, records))
    rest = ~seen.index.isin(_explained(pairs))
    if rest.any():
        odd = seen[rest & (of_none.printed == 0)]
        more = pd.concat([_near_number(seen[rest], texts, 2), _same_figures(odd, shipments, texts.index)])
        both = pd.concat([pairs, _with_evidence(more, seen, known, shipments, records)], ignore_index=True)
        pairs = weighed(both.drop_duplicates(["seen", "recorded"], ignore_index=True))
    if pairs.empty:
        return NOTHING
    chosen = paired(pairs, one_to_one=one_to_one)
    named = chosen["others"].explode().unique().tolist()
    texts = dict(zip(named, known.recorded_text.iloc[named].tolist(), strict=True))
    billed = known.text.iloc[chosen["seen"]].tolist()
    chosen = chosen.assign(twice=known.twice[chosen["seen"]])
    said = [_said(pair, text, texts) for pair, text in zip(rows(chosen), billed, strict=True)]
    return pd.DataFrame(said, index=chosen["seen"])


def _with_evidence(
    near: pd.DataFrame, seen: pd.DataFrame, known: Numbers, shipments: pd.DataFrame, records: Records
) -> pd.DataFrame:
    """Pairs (columns seen, recorded: places, edits, kind), each once, with what speaks for them.

    They stand in an order that does not depend on that of the records.
    """
    pairs = near.drop_duplicates(["seen", "recorded"], ignore_index=True)
    wanted = pd.Index(np.unique(pairs["recorded"].to_numpy(dtype=np.intp)))
    recorded = recorded_figures(shipments.iloc[wanted].set_axis(wanted)).assign(text=known.recorded_text.iloc[wanted])
    in_order = recorded.sort_values(["text", "shipped_on", "order", "label_cents"], kind="stable").index
    pairs = pairs.iloc[np.argsort(in_order.get_indexer(pairs["recorded"]), kind="stable")]
    place = seen.index.get_indexer(pairs["seen"])
    return evidence(pairs.assign(place=place), seen, recorded, records)


def _explained(pairs: pd.DataFrame) -> pd.Index:
    """The numbers that likelier belong to a shipment in the pairs than to none."""
    odds = np.exp(pairs["weight"]).groupby(pairs["seen"]).sum()
    return odds.index[odds > 1]


def _near_number(seen: pd.DataFrame, texts: pd.Series, most: int) -> pd.DataFrame:
    near = nearby(seen["text"], texts, most)
    near = near[near["edits"] > 0]  # those that are the same stand in the records, and are doubted
    return near.assign(kind=np.where(near["cut"], CUT, BY_TEXT)).drop(columns="cut")


BY_TEXT = -1


def _pairs(seen: npt.ArrayLike, recorded: npt.ArrayLike, kind: int) -> pd.DataFrame:
    return pd.DataFrame({"seen": seen, "recorded": recorded, "edits": 0, "kind": kind}, dtype="int64")


def _same_number(seen: pd.DataFrame, known: Numbers) -> pd.DataFrame:
    """Doubted numbers with every shipment that has them."""
    doubted = seen.index[seen["doubted"]].to_numpy(dtype=np.intp)
    recorded = np.flatnonzero(np.isin(known.recorded_code, known.code[doubted]))
    left = pd.DataFrame({"seen": doubted, "code": known.code[doubted]})
    both = left.merge(pd.DataFrame({"recorded": recorded, "code": known.recorded_code[recorded]}), on="code")
    return _pairs(both["seen"], both["recorded"], SAME)


def _same_order(seen: pd.DataFrame, orders: pd.Series) -> pd.DataFrame:
    """Numbers and shipments with the same order reference, where one shipment only has it."""
    billed = seen["order"].dropna()
    orders = orders[orders.isin(billed)] if len(billed) else orders.iloc[:0]
    once = orders[~orders.duplicated(keep=False)]
    both = billed.rename_axis("seen").reset_index().merge(once.rename_axis("recorded").reset_index(), on="order")
    return _pairs(both["seen"], both["recorded"], ORDER)


TOGETHER = (("shipped_on", "label_cents"), ("shipped_on", "zone", "weight", "size"))
"""Figures by which a number that is like none is brought together with shipments."""


def _same_figures(seen: pd.DataFrame, shipments: pd.DataFrame, free: pd.Index) -> pd.DataFrame:
    """Numbers that no carrier could have printed, with the few shipments of the same day that have the same figures."""
    days = shipments["shipped_on"].iloc[free].isin(seen["shipped_on"].dropna()).to_numpy(dtype=bool)
    recorded = recorded_figures(shipments.iloc[free[days]].set_axis(free[days])).rename_axis("recorded").reset_index()
    found = [_pairs([], [], FIGURES)]
    for columns in TOGETHER:
        billed = seen.dropna(subset=list(columns)).rename_axis("seen").reset_index()
        both = billed[["seen", *columns]].merge(recorded[["recorded", *columns]], on=list(columns))
        few = both.groupby("seen")["recorded"].transform("size") <= MOST_ALIKE
        found.append(_pairs(both.loc[few, "seen"], both.loc[few, "recorded"], FIGURES))
    return pd.concat(found)


def _said(pair: Mapping[str, Any], text: str, recorded: Mapping[int, str]) -> dict[str, Any]:
    """A pair as a row of `_weighed`; how a number that stands in the records is joined was said before."""
    kind, beside = pair["kind"], pair["beside"]
    if kind == SAME:
        match, words = None, _same_in_words(beside, twice=pair["twice"])
    elif kind in (ORDER, FIGURES):
        match, words = "reference", _figures_in_words(beside, by_order=kind == ORDER)
    else:
        match, words = "misread", in_words(text, recorded[pair["recorded"]])
    return {
        "shipment": pair["recorded"],
        "match": match,
        "confidence": round(pair["confidence"], 4),
        "match_reason": words,
        "could_be": ", ".join(dict.fromkeys(recorded[other] for other in pair["others"])),
    }


NAMES = ("ship date", "service", "zone", "label price", "size", "weight", "order reference")
"""The figures in words."""


def _same_in_words(states: States, *, twice: bool) -> str:
    if twice:
        return "two recorded shipments have this number; the likelier was taken, or the first where nothing tells"
    differ = [name for name, state in zip(NAMES, states, strict=True) if state == DIFFERS]
    return f"the number is the same, but not the {' and the '.join(differ)}"


def _figures_in_words(states: States, *, by_order: bool) -> str:
    if by_order:
        return "the order reference is the same; the number is not"
    agree = [name for name, state in zip(NAMES, states, strict=True) if state == AGREES]
    return f"the number is like none, but the {', '.join(agree)} are those of one parcel that no other number fits"
