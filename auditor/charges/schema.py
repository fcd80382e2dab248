"""One row for each parcel and statement: what was declared, what the carrier read, what it billed.

A figure is the carrier's own only where it differs from the declared one after the rule's rounding; otherwise the
carrier's figure is the declared one. Each figure that differs is moved by one player of the attribution: by "rounding"
when the reading lies within the measuring tolerance of the declared figure, by the side or the weight itself otherwise.

A parcel's statements are taken in turn: a second correction is held against the figures of the first, not against the
declared ones, so that only what it changes further counts as explained.
"""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from auditor.core.sides import FIGURES
from auditor.tariff import Rulebook, Rules

PLAYERS = ("rounding", "longest side", "other sides", "weight", "address", "service or zone")
ROUNDING, LONGEST, OTHER_SIDES, WEIGHT, ADDRESS, SERVICE = range(len(PLAYERS))
OWN_PLAYER = dict(zip(FIGURES, (LONGEST, OTHER_SIDES, OTHER_SIDES, WEIGHT), strict=True))

FLAGS_OF_CARRIER = ("address_corrected", "corrected", "size_wrong")
"""Flags that only the carrier sets: they are no in what the seller declares."""


@dataclass(frozen=True)
class Cases:
    """Tables over the same index, a row for each parcel and statement in order of parcel and statement date.

    `about`: statement, shipment (row of shipments), tracking as billed, first (the label's charges are billed here),
    voided (the seller cancelled the label), earlier (the statement that corrected the parcel before, "" where none
    did), made_on (the statement that first made the charges which this one makes again, "" where it makes none
    again), made_again (how those are unlike what was made first, "" where they are not), probability (of a reading
    that is inferred; missing where it was shown) and could_be, what else would fit; silent (a correction without any
    figure, which no likely reading explains), in_one_sum (it does not say of which charges it is made, and comes to
    what they do), unread (one of its amounts could not be read); tax_due_cents, tax_ppm, tax_alike and tax_taxed (see
    `taxes.doubtful`).
    `declared`, `before`, `measured`: service, zone, shipped_on, the FIGURES and the flags, ready for `price`: the
    seller's, those that this statement is held against (the seller's, or an earlier correction's), the carrier's.
    `players`: for each of the FIGURES the player that moves it from before to measured (-1: it does not differ), and
    `active`, a bit for each player that moves something. `billed`: cents by charge, without credits, duplicates,
    charges made again at another amount, taxes and words that are not known, which stand in `apart`. `likened`: the
    words by which each of those charges was told, where they are only like a name of it, "" elsewhere. `rest`: which of
    those charges are the rest of a label that an earlier statement began to bill. `of_line`: the case of each statement
    line; `again`: whether a line bills again what one before it did; `credits`: the charges that money back answers,
    see `credits.answered`.
    """

    about: pd.DataFrame
    declared: pd.DataFrame
    before: pd.DataFrame
    measured: pd.DataFrame
    players: pd.DataFrame
    billed: pd.DataFrame
    likened: pd.DataFrame
    rest: pd.DataFrame
    apart: pd.DataFrame
    of_line: pd.Series
    again: pd.Series
    credits: pd.DataFrame

    def __len__(self) -> int:
        return len(self.about)


def by_rules(book: Rulebook, declared: pd.DataFrame) -> list[tuple[Rules, pd.Index]]:
    """The rules of `declared` parcels, each with the rows that fall under them; a row without rules is left out."""
    dated = declared.dropna(subset=["shipped_on"])
    number = dated.groupby(["service", "shipped_on"], dropna=False).ngroup()
    firsts = dated[~number.duplicated()]
    rules_of = {
        number[label]: book.on(service, day.date())
        for label, service, day in zip(firsts.index, firsts["service"], firsts["shipped_on"], strict=True)
    }
    distinct = {id(rules): rules for rules in rules_of.values() if rules is not None}
    key = number.map({group: id(rules) for group, rules in rules_of.items()})
    return [(rules, dated.index[key == own]) for own, rules in distinct.items()]
