"""Numbers that do not stand in the records, or beside quite other figures: which shipments they could be, weighed."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from auditor.core.arrays import Places, Yes
from auditor.match.candidates import cut_number, near_number, same_figures, same_number, same_order
from auditor.match.evidence import OfNone, evidence, weights
from auditor.match.figures import AGREES, DIFFERS, States, billed_figures, held_together, recorded_figures
from auditor.match.misreading import FIGURES, ORDER, SAME, in_words
from auditor.match.numbers import Numbers
from auditor.match.pairing import paired
from auditor.match.records import Records, sample, series

NEAR_DAYS = pd.Timedelta(days=7)
"""So far may a billed ship date lie outside the recorded ones (chosen)."""


def weighed(known: Numbers, lines: pd.DataFrame, shipments: pd.DataFrame) -> pd.DataFrame:
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


OFTEN = 0.2
"""A figure that differs on more of the joined parcels than this does not tell a wrong join (chosen)."""


def _beside_others(known: Numbers, lines: pd.DataFrame, shipments: pd.DataFrame) -> Yes:
    """Numbers that stand in the records, but beside two or more other figures: perhaps another's number, misread."""
    joined = np.flatnonzero(known.same >= 0)
    differ = np.zeros(len(known.billed), dtype=np.int8)
    for billed, recorded in _plain_figures(known, lines, shipments):
        printed, own = billed.iloc[joined], recorded.iloc[known.same[joined]]
        differs = (printed.reset_index(drop=True) != own.reset_index(drop=True)).to_numpy(dtype=bool, na_value=False)
        differs = differs & printed.notna().to_numpy() & own.notna().to_numpy()
        if differs.sum() <= OFTEN * len(differs):
            differ[joined] += differs
    return differ >= SEVERAL


SEVERAL = 2
"""So many other figures make a number doubted (chosen)."""


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
        number = known.of_line[labels]
        count = len(known.billed)
        billed = np.bincount(number, cents, minlength=count).astype(np.int64)
        missing = np.bincount(number, minlength=count) == 0
        yield pd.Series(pd.arrays.IntegerArray(billed, missing)), shipments["label_cost_cents"]


def _records(known: Numbers, doubted: Yes, lines: pd.DataFrame, shipments: pd.DataFrame) -> Records:
    """What is known beforehand."""
    chosen = sample(known.recorded_text)
    figures = recorded_figures(shipments.iloc[chosen].set_axis(pd.Index(chosen)))
    inside = np.zeros(len(shipments) + 1, dtype=bool)
    inside[chosen] = True
    sure = np.flatnonzero(inside[known.same] & ~doubted)
    return Records(
        count=int((known.recorded_code >= 0).sum()),
        sample=figures,
        right=held_together(_seen(known, sure, lines), figures.loc[known.same[sure]]),
        as_they_stand=int((known.same >= 0).sum() - doubted.sum()),
        series=series(known.recorded_text, chosen, shipments),
    )


def _seen(known: Numbers, wanted: Places, lines: pd.DataFrame) -> pd.DataFrame:
    """The text and the figures of some of the billed numbers, by their place."""
    is_wanted = np.zeros(len(known.billed) + 1, dtype=bool)
    is_wanted[wanted] = True
    mine = np.flatnonzero(is_wanted[known.of_line])
    own_lines = lines.iloc[mine].reset_index(drop=True)
    return (
        billed_figures(own_lines, pd.Series(known.of_line[mine])).reindex(wanted).assign(text=known.text.iloc[wanted])
    )


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

    def with_weight(pairs: pd.DataFrame) -> pd.DataFrame:
        return pairs.assign(weight=weights(pairs, of_none, records, len(free), one_to_one=one_to_one))

    near = [near_number(seen, texts, 1), cut_number(seen, texts)]
    likely = pd.concat([same_number(seen, known), *near, same_order(seen, orders)])
    pairs = with_weight(_with_evidence(likely, seen, known, shipments, records))
    rest = ~seen.index.isin(_explained(pairs))
    if rest.any():
        odd = seen[rest & (of_none.printed == 0)]
        more = pd.concat([near_number(seen[rest], texts, 2), same_figures(odd, shipments, texts.index)])
        both = pd.concat([pairs, _with_evidence(more, seen, known, shipments, records)], ignore_index=True)
        pairs = with_weight(both.drop_duplicates(["seen", "recorded"], ignore_index=True))
    if pairs.empty:
        return NOTHING
    return _as_joins(paired(pairs, one_to_one=one_to_one), known)


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
    pairs = pairs.iloc[np.argsort(in_order.get_indexer(pd.Index(pairs["recorded"])), kind="stable")]
    place = seen.index.get_indexer(pd.Index(pairs["seen"]))
    return evidence(pairs.assign(place=place), seen, recorded, records)


def _explained(pairs: pd.DataFrame) -> pd.Index:
    """The numbers that likelier belong to a shipment in the pairs than to none."""
    odds = pd.Series(np.exp(pairs["weight"].to_numpy(dtype=float))).groupby(pairs["seen"].to_numpy()).sum()
    return odds[odds > 1].index


def _as_joins(chosen: pd.DataFrame, known: Numbers) -> pd.DataFrame:
    """The pairs chosen as rows of `weighed`."""
    others = chosen["others"].tolist()
    named = list({other for rivals in others for other in rivals} | set(chosen["recorded"].tolist()))
    recorded = dict(zip(named, known.recorded_text.iloc[named].tolist(), strict=True))
    pairs = zip(
        chosen["kind"].tolist(),
        known.text.iloc[chosen["seen"]].tolist(),
        [recorded[place] for place in chosen["recorded"].tolist()],
        chosen["beside"].tolist(),
        known.twice[chosen["seen"]].tolist(),
        strict=True,
    )
    # How a number that stands in the records is joined was said before: its match is missing here.
    matches, reasons = zip(*(_match_and_reason(*pair) for pair in pairs), strict=True)
    return pd.DataFrame(
        {
            "shipment": chosen["recorded"].to_numpy(),
            "match": np.array(matches, dtype=object),
            "confidence": chosen["confidence"].round(4).to_numpy(),
            "match_reason": np.array(reasons, dtype=object),
            "could_be": [", ".join(dict.fromkeys(recorded[other] for other in rivals)) for rivals in others],
        },
        index=chosen["seen"].to_numpy(),
    )


def _match_and_reason(kind: int, text: str, recorded: str, beside: States, twice: bool) -> tuple[str | None, str]:  # noqa: FBT001 - a column's value
    """The match and the reason of a pair."""
    if kind == SAME:
        return None, _same_in_words(beside, twice=twice)
    if kind in (ORDER, FIGURES):
        return "reference", _figures_in_words(beside, by_order=kind == ORDER)
    return "misread", in_words(text, recorded)


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
