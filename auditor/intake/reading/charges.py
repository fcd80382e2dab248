"""What each charge's name means, by what its amounts do over all lines at once; words lean.

A name is one thing to classify. For every charge that it could be, each of its lines is held against what the parcel's
record makes expected of that charge: a hit is worth the more the rarer its amount is otherwise on the statement (the
likelihood of a mixture, as in Fellegi and Sunter, 1969: agreement against chance, with chance counted in the document).
Where no price is known, a charge is told by how it behaves: a percentage of the lines beside it (percents.py), an
amount that falls on the parcels that it is due on, an amount that goes with service, zone and weight (behaviour.py).
The logarithms of the odds add up; what a name's words say is one more term.
"""

from __future__ import annotations

import re
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from auditor.core.arrays import Floats, Places, Whole, Yes
from auditor.intake import vocabulary
from auditor.intake.reading.behaviour import by_figures, falls_on
from auditor.intake.reading.known import Known
from auditor.intake.reading.ladders import Ladders, plain_texts, with_learned
from auditor.intake.reading.marks import shared
from auditor.intake.reading.percents import Beside, percents

FIGURES = re.compile(r"\d+(?:[.,]\d+)*")
HIT = 0.9
"""How many of a charge's amounts are as expected: the carrier is right in most (chosen; ten times as many hits as
misses or a tenth would lead to the same choice wherever several lines agree)."""
MOST, SOME = 0.8, 0.1
"""Of a name's lines most are a label's own and some a later correction, or the other way round; some are charges taken
back (chosen, as above)."""
SURE = 0.95
"""The posterior from which a name is shown by its amounts."""
MOSTLY = 0.5
"""Of fewer lines than half an expected price tells too little of the others (chosen)."""
CLEAR = 0.5
"""A class that is less likely than not is not taken."""
BY_NAME, BY_LIKENESS = np.log(50.0), np.log(5.0)
"""What words weigh: one of fifty names that are in the vocabulary means something else, one of five likenesses does
(from memory of 24 % wrong classes among words told by likeness on statements nobody had tuned for)."""


@dataclass(frozen=True)
class Named:
    """What the names of charges mean.

    `of` is by name as printed: its charge (None when that is not clear); `shown` by name what it rests on: "amounts",
    "word", "likeness" or "nothing"; "told" where the user said it, "own" where that is a charge of its own.
    """

    of: Mapping[str, str | None]
    shown: Mapping[str, str]


def plain_name(text: str) -> str:
    """A charge's name without figures, which are a percentage, a day or a number, and no part of it."""
    return " ".join(FIGURES.sub("#", text.casefold()).split())


def named(lines: pd.DataFrame, known: Known, own: Sequence[str] = ()) -> Named:
    """What each charge's name means.

    What the label's own charges cost, where no table says it, is learned from those that are clear at a first look;
    a second one finds corrections of them.

    Args:
        lines: LINES of one statement in the order of the document; `charge` and `state` are not looked at.
        known: what is known beside it.
        own: names of charges that count as words known: of the rules, and in the seller's fees.
    """
    texts = [str(text) for text in lines["description"].dropna().unique()]
    if not texts:
        return Named({}, {})
    classes = list(dict.fromkeys([*known.charges, *vocabulary.CHARGES, *own]))
    words = np.stack([_words(text, classes, tuple(own)) for text in texts])
    figures = _figures(lines, texts, classes, known)
    first = _chosen(texts, classes, figures, words)
    learned = with_learned(known, lines, {text: charge for text, charge in first.of.items() if charge})
    if learned is known:
        return first
    figures = np.maximum(figures, _figures(lines, texts, classes, learned))
    return _chosen(texts, classes, figures, words)


def _words(text: str, classes: Sequence[str], own: tuple[str, ...]) -> Floats:
    """What a name's words say for each class, as log odds."""
    found, _ = vocabulary.charge(text, own)
    weight = BY_NAME if vocabulary.is_named(text, own) else BY_LIKENESS
    return np.array([weight if name == found else 0.0 for name in classes])


def _chosen(texts: Sequence[str], classes: Sequence[str], figures: Floats, words: Floats) -> Named:
    """Each name's class of most evidence; one by its name in the vocabulary where no other class is shown."""
    names = [plain_name(text) for text in texts]
    distinct = list(dict.fromkeys(names))
    pooled = shared(distinct, figures[[names.index(name) for name in distinct]])
    figures = pooled[[distinct.index(name) for name in names]]
    of: dict[str, str | None] = {}
    shown: dict[str, str] = {}
    for text, by_amounts, by_words in zip(texts, figures, words, strict=True):
        both, alone = _posterior(by_amounts + by_words), _posterior(by_amounts)
        best, said = int(np.argmax(both)), float(by_words.max())
        if said >= BY_NAME and (best == len(classes) or alone[best] < SURE):
            best, shown[text] = int(np.argmax(by_words)), "word"
        elif best == len(classes) or both[best] < CLEAR:
            best, shown[text] = len(classes), "nothing"
        else:
            shown[text] = "amounts" if alone[best] >= SURE else "likeness"
        of[text] = classes[best] if best < len(classes) else None
    return Named(of, shown)


def _posterior(odds: Floats) -> Floats:
    """The probability of each class, and behind them of none of them."""
    every = np.append(odds, 0.0)
    grown = np.exp(every - every.max())
    shares: Floats = grown / grown.sum()
    return shares


def _figures(lines: pd.DataFrame, texts: Sequence[str], classes: Sequence[str], known: Known) -> Floats:
    """For each name and class the log odds of the class against none of them, by the figures alone."""
    names = {text: plain_name(text) for text in texts}
    distinct = list(dict.fromkeys(names.values()))
    odds = dict(zip(distinct, _listed(lines, distinct, classes, known), strict=True))
    held = Held.of(lines, known)
    if held is not None:
        for name, of_parcels in zip(held.names, held.odds(classes), strict=True):
            odds[name] = odds[name] + of_parcels
    return np.stack([odds[name] for name in names.values()])


def _listed(lines: pd.DataFrame, names: Sequence[str], classes: Sequence[str], known: Known) -> Floats:
    """Names × classes: the log odds by the amounts that a list of fees has for what no parcel's record makes due."""
    found = np.zeros((len(names), len(classes)))
    ours = lines[lines["description"].notna() & (lines["amount_cents"] != 0).fillna(value=False)]
    cents = ours["amount_cents"].to_numpy(dtype=np.int64)
    places = {name: at for at, name in enumerate(names)}
    name = np.array([places[plain_name(str(text))] for text in ours["description"]], dtype=np.intp)
    chance = _chance(cents)
    for column, charge in enumerate(classes):
        listed = known.fees.loc[plain_texts(known.fees["charge"]) == charge, "amount_cents"].unique()
        if charge in known.charges or not len(listed):
            continue
        given = HIT * np.isin(np.abs(cents), listed) / (2 * len(listed)) + (1 - HIT) * chance
        found[:, column] = np.bincount(name, weights=np.log(given / chance), minlength=len(names))
    return found


@dataclass(frozen=True)
class Held:
    """A statement's lines of known parcels, each beside its parcel's record: name, row of shipments, cents, chance."""

    names: tuple[str, ...]
    name: Places
    parcel: Places
    cents: Whole
    chance: Floats
    known: Known
    ladders: Ladders

    @classmethod
    def of(cls, lines: pd.DataFrame, known: Known) -> Held | None:
        """The lines with a name, an amount and a known parcel; None where there are none."""
        rows = known.rows_of(lines["tracking"])
        kept = rows.notna() & lines["description"].notna() & (lines["amount_cents"] != 0).fillna(value=False)
        if not kept.any():
            return None
        ours = lines[kept]
        plain = {text: plain_name(str(text)) for text in ours["description"].unique()}
        name, names = pd.factorize(ours["description"].map(plain))
        cents = ours["amount_cents"].to_numpy(dtype=np.int64)
        parcel = rows[kept].to_numpy(dtype=np.intp)
        return cls(tuple(names), name, parcel, cents, _chance(cents), known, Ladders(known))

    def odds(self, classes: Sequence[str]) -> Floats:
        """Names × classes: the log odds that a name's lines are a charge's, by all that can be held against them."""
        shares = percents(Beside.sorted(self.parcel, self.name, self.cents), len(self.names))
        found = np.zeros((len(self.names), len(classes)))
        for column, charge in enumerate(classes):
            found[:, column] = self._by_amounts(charge, frozenset(shares))
            for row, told in shares.items():
                if charge in told:  # a percentage that is another than expected is still one
                    found[row, column] = max(found[row, column], 0.0) + told[charge]
        return found

    def _by_amounts(self, charge: str, shares: Container[int]) -> Floats:
        """For each name the log odds by amounts expected, or by how the charge behaves where none is."""
        if charge not in self.known.charges:
            return np.zeros(len(self.names))
        due = self.known.expected[charge].iloc[self.parcel]
        known, amount = due.notna().to_numpy(dtype=bool), due.fillna(0).to_numpy(dtype=np.int64)
        falling = self._falling(~known | (amount != 0))
        if self._without_price(charge, known, amount):
            return np.array([self._behaviour(name, charge, falling, shares) for name in range(len(self.names))])
        hits, back = known & (amount == self.cents), known & (amount == -self.cents)
        if charge == "freight":  # one sum for the whole label has the carriage in it
            hits |= (self.known.whole_cents.iloc[self.parcel] == self.cents).fillna(value=False).to_numpy(dtype=bool)
        later = self.ladders.later(charge, self.parcel, self.cents) if self.ladders.steps(charge) else self.chance
        odds = np.logaddexp(
            *(self._odds_of(own * hits + SOME * back + (1 - own - SOME) * later) for own in (MOST, SOME))
        )
        odds -= np.log(2)
        return odds + np.maximum(falling, 0.0)

    def _falling(self, due: Yes) -> Floats:
        """For each name how far its lines fall on the parcels that a charge is due on, told for each line's parcel."""
        first, having = self._parcels
        return np.array([falls_on(has, due[first]) for has in having])

    @cached_property
    def _parcels(self) -> tuple[Places, Yes]:
        """The first line of each parcel, and for each name which of the parcels have a line of it."""
        parcels, first, parcel = np.unique(self.parcel, return_index=True, return_inverse=True)
        having = np.zeros((len(self.names), len(parcels)), dtype=bool)
        having[self.name, parcel] = True
        return first, having

    def _odds_of(self, given: Floats) -> Floats:
        """For each name the log odds of its lines, given how likely each line's amount is for a charge."""
        odds = np.log((HIT * given + (1 - HIT) * self.chance) / self.chance)
        return np.bincount(self.name, weights=odds, minlength=len(self.names)).astype(np.float64)

    def _without_price(self, charge: str, known: Yes, amount: Whole) -> bool:
        """Whether no price tells what a charge comes to: of freight, for most of the lines' parcels."""
        if charge == "freight":
            return bool(known.mean() < MOSTLY)
        return not (known & (amount != 0)).any() and not self.ladders.steps(charge)

    def _behaviour(self, name: int, charge: str, falling: Floats, shares: Container[int]) -> float:
        mine = self.name == name
        if charge == "freight":
            # A percentage of others goes with service, zone and weight because those do, which makes it no freight.
            return 0.0 if name in shares else by_figures(self.parcel[mine], self.cents[mine], self.known)
        if charge == "fuel":
            return 0.0
        amounts = len(np.unique(np.abs(self.cents[mine])))
        return float(falling[name]) if amounts * FEES_DIFFER <= mine.sum() else 0.0


FEES_DIFFER = 4
"""A fee has one amount, or a few by zone: a quarter as many as lines at most (chosen)."""


def _chance(cents: Whole) -> Floats:
    """How likely each line's amount is whatever the charge: as often as others have it, or anywhere in their range."""
    _, place, count = np.unique(cents, return_inverse=True, return_counts=True)
    others = (count[place] - 1) / max(len(cents) - 1, 1)
    anywhere = 1 / max(int(np.ptp(cents)), RANGE)
    share: Floats = (others + anywhere) / 2
    return share


RANGE = 1_000
"""Amounts lie in a range of ten units of money at least."""
