"""What proves the reading of a statement, in numbers; and by stated rules how far it is proven."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import pandas as pd

from auditor.core.arrays import Yes
from auditor.intake.reading import agreement
from auditor.intake.reading.charges import Named
from auditor.intake.reading.known import Known
from auditor.intake.reading.lines import Lines, as_expected, labels_paid
from auditor.intake.reading.prepaid.balance import balance_due

Grade = Literal["proven", "likely", "doubtful"]
TIES = agreement.ONE_IN_1000
"""What a sum that comes to the printed total to the cent is worth: of a thousand wrong readings one does (chosen)."""
SEVERAL = 5
"""Fewer parcels than this that do not agree may all be errors of the carrier (chosen)."""
MOST, FEW = 0.8, 0.5
"""From so many of the labels or lines that agree on, a reading is proven; below so many, it is doubtful (chosen)."""

RESTS_ON = {
    "told": "told by you",
    "own": "told by you to be of their own",
    "amounts": "shown by their amounts",
    "word": "by their word alone",
    "likeness": "by a like word",
}


@dataclass(frozen=True)
class Agreement:
    """How many of those that can be held against the records agree; `chance` is the share that does by chance."""

    agree: int = 0
    of: int = 0
    chance: float = 0.5

    @property
    def odds(self) -> float:
        """The log odds of a right reading against one in which they agree by chance."""
        return agreement.held(np.arange(self.of) < self.agree, self.chance, agreement.MEANT)

    @property
    def share(self) -> float:
        """How many of them agree, of 1; 0 of none."""
        return self.agree / self.of if self.of else 0.0


@dataclass(frozen=True)
class Evidence:
    """What the arithmetic of a paper about prepaid labels shows.

    `paid`: amounts paid that are what was recorded; `differences`: what was taken that is what is right less what was
    paid; `runs`: movements after which the balance is what it was less what they took.
    """

    paid: Agreement
    differences: Agreement
    runs: Agreement

    @property
    def every(self) -> tuple[Agreement, ...]:
        """All of them."""
        return self.paid, self.differences, self.runs

    @property
    def said(self) -> Iterator[str]:
        """In words."""
        words = (
            "amounts paid are what you recorded",
            "amounts taken are the right price less what was paid",
            "movements leave the balance that stands beside them",
        )
        yield from (
            f"{one.agree:,} of {one.of:,} {told}" for one, told in zip(self.every, words, strict=True) if one.of
        )


@dataclass(frozen=True)
class Proof:
    """What proves the reading of one statement.

    `lines` and `parcels` are how many were read, `known` how many of the parcels stand in the records. `labels`:
    parcels whose first lines come to what the record says the label cost; `charges`: lines of known parcels whose
    amount is one that its record makes expected; both of labels alone, once it is known which lines are. `ties`:
    whether all lines come to the printed total; None where there is none. `shown`: how many names of charges rest on
    what, as in `Named`. `paper`: what shows it where it is about prepaid labels.
    """

    lines: int
    parcels: int
    known: int
    labels: Agreement
    charges: Agreement
    ties: bool | None
    shown: Mapping[str, int]
    paper: Evidence | None = None

    @property
    def odds(self) -> float:
        """All of it as log odds, by which two readings of one document are held against one another."""
        tied = 0.0 if self.ties is None else TIES if self.ties else -TIES
        return self.labels.odds + self.charges.odds + tied

    @property
    def _held(self) -> tuple[Agreement, ...]:
        return self.paper.every if self.paper else (self.labels, self.charges)

    @property
    def grade(self) -> Grade:
        """How far it is proven.

        proven: the lines come to the printed total, or most labels or charges are as recorded, and nothing speaks
        against it; and what the charges are for is clear for most of their names, and for none by a like word alone,
        as a sum proves amounts and no names. doubtful: the lines do not come to the printed total; or of several labels
        and charges held against the records most agree with neither. likely: all else.
        """
        held = [one for one in self._held if one.of >= SEVERAL]
        best = max((one.share for one in held), default=None)
        if self.ties is False or (best is not None and best < FEW):
            return "doubtful"
        summed = self.ties or (best is not None and best >= MOST)
        return "proven" if summed and self._named else "likely"

    @property
    def _named(self) -> bool:
        """Whether it is clear what the charges are for."""
        names = sum(self.shown.values())
        return not self.shown.get("likeness") and names - self.shown.get("nothing", 0) >= MOST * names

    @property
    def sentence(self) -> str:
        """What proves it, for whoever reads the report."""
        said = [f"{self.lines:,} lines of {self.parcels:,} parcels, {self.known:,} of them in your records"]
        if self.ties is not None:
            said.append("their sum is the printed total" if self.ties else "their sum is not the printed total")
        if self.paper:
            return "; ".join([*said, *self.paper.said])
        if self.labels.of:
            said.append(f"{self.labels.agree:,} of {self.labels.of:,} labels add up to what you recorded paying")
        if self.charges.of:
            said.append(f"{self.charges.agree:,} of {self.charges.of:,} amounts are as your prices make them expected")
        names = sum(self.shown.values())
        if names:
            parts = [f"{self.shown[one]:,} {words}" for one, words in RESTS_ON.items() if self.shown.get(one)]
            parts += [f"{self.shown['nothing']:,} not clear"] if self.shown.get("nothing") else []
            said.append(f"of {names:,} names of charges {', '.join(parts)}")
        return "; ".join(said)


def proof_of(
    lines: pd.DataFrame, printed_cents: pd.Series, known: Known, names: Named | None = None, billed: Yes | None = None
) -> Proof:
    """What proves a reading.

    Args:
        lines: LINES of one statement in the order of the document.
        printed_cents: the totals that it prints; none where it prints none.
        known: what is known beside it.
        names: what its charges' names mean.
        billed: which lines are about a label that an earlier statement bills, so that they are corrections of it.
    """
    row = known.rows_of(lines["tracking"])
    told = lines["state"].notna().any()
    labels = lines["state"].isin(["label charge"]) & (True if billed is None else ~billed) if told else row.notna()
    ours = lines.assign(row=row)[row.notna() & lines["amount_cents"].notna()]
    printed = set(printed_cents.dropna().astype(int))
    shown = list(names.shown.values()) if names else []
    return Proof(
        lines=len(lines),
        parcels=lines["tracking"].nunique(),
        known=int(ours["row"].nunique()),
        labels=_labels(ours[ours["tracking"].isin(lines.loc[labels, "tracking"])], known),
        charges=_charges(ours[labels[ours.index]], known),
        ties=int(lines["amount_cents"].sum()) in printed if printed else None,
        shown={one: shown.count(one) for one in dict.fromkeys(shown)},
    )


def proofs_of(
    lines: pd.DataFrame, totals: pd.DataFrame, known: Known, names: Mapping[str, Named], moves: pd.DataFrame
) -> dict[str, Proof]:
    """What proves the reading of each statement, by its number.

    Args:
        lines: LINES of however many statements.
        totals: PRINTED_TOTALS.
        known: what is known beside them.
        names: by statement what its charges' names mean.
        moves: MOVES of those that are papers about prepaid labels.
    """
    papers = {str(number): _evidence(them, known) for number, them in moves.groupby("statement", sort=False)}
    printed = dict([*totals.groupby("statement")["printed_total_cents"]])
    none = pd.Series(dtype="Int64")
    billed = _billed_before(lines)
    found = {
        str(number): proof_of(
            them, printed.get(number, none), known, names.get(str(number)), billed[them.index].to_numpy(dtype=bool)
        )
        for number, them in lines.groupby("statement", sort=False)
    }
    return {number: replace(proof, paper=papers.get(number)) for number, proof in found.items()}


def _billed_before(lines: pd.DataFrame) -> pd.Series:
    """Which lines are about a parcel whose label an earlier statement bills."""
    label = lines[(lines["state"] == "label charge") & lines["tracking"].notna() & lines["statement_on"].notna()]
    first = label.groupby("tracking")["statement_on"].min()
    return (lines["statement_on"] > first.reindex(lines["tracking"]).set_axis(lines.index)).fillna(value=False)


def _evidence(moves: pd.DataFrame, known: Known) -> Evidence:
    """What the amounts of a paper show."""
    row = known.rows_of(moves["tracking"])
    costs = known.shipments["label_cost_cents"].reindex(row.fillna(-1).astype(int)).set_axis(moves.index)
    corrected = moves["kind"].eq("correction")
    paid, right = moves["paid_cents"], moves["right_cents"]
    left, due = moves["balance_cents"], balance_due(moves)
    return Evidence(
        _agreement(corrected & paid.notna() & costs.notna(), paid == costs),
        _agreement(corrected & paid.notna() & right.notna(), right - paid == moves["amount_cents"]),
        _agreement(left.notna() & due.notna(), due == left),
    )


def _agreement(asked: pd.Series, agrees: pd.Series) -> Agreement:
    yes = agrees.fillna(value=False)
    return Agreement(int((yes & asked).sum()), int(asked.sum()))


def _labels(ours: pd.DataFrame, known: Known) -> Agreement:
    """Parcels with a recorded cost, of which some first lines come to it."""
    _, paid, chance = labels_paid(_lines(ours), known, _none_settled(known))
    return Agreement(int(paid.sum()), len(paid), chance)


def _charges(ours: pd.DataFrame, known: Known) -> Agreement:
    """Lines whose amount is one that the parcel's record makes expected, of parcels whose freight is known.

    What is given back is no charge, and is not held against them.
    """
    if "freight" not in known.charges:
        return Agreement()
    priced = known.expected["freight"].notna().reindex(ours["row"].astype(int)).to_numpy(dtype=bool)
    charged = ours[priced & (ours["amount_cents"] > 0).to_numpy(dtype=bool)]
    expected, chance = as_expected(_lines(charged), known, _none_settled(known))
    return Agreement(int(expected.sum()), len(expected), chance)


def _lines(ours: pd.DataFrame) -> Lines:
    """Lines with their `row` of shipments, as those of a table."""
    count, place = len(ours), ours["row"].to_numpy(dtype=np.intp)
    cents = ours["amount_cents"].to_numpy(dtype=np.int64)
    return Lines(np.arange(count), np.zeros(count, np.intp), cents, place, place, np.ones(count, dtype=bool))


def _none_settled(known: Known) -> Yes:
    return np.zeros(len(known.shipments), dtype=bool)
