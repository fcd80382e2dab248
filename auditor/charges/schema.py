"""One row for each parcel and statement: what was declared, what the carrier read, what it billed.

A figure is the carrier's own only where it differs from the declared one after the rule's rounding; otherwise the
carrier's figure is the declared one. Each figure that differs is moved by one player of the attribution: by "rounding"
when the reading lies within the measuring tolerance of the declared figure, by the side or the weight itself otherwise.

A parcel's statements are taken in turn: a second correction is held against the figures of the first, not against the
declared ones, so that only what it changes further counts as explained.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.core.schemas import DATE, SHARE, TEXT, WHOLE, Column, Schema
from auditor.core.sides import FIGURES
from auditor.tariff import Rulebook, Rules

YES, COUNT = "bool", "int64"
"""Dtypes of columns that have a value in every row."""

PLAYERS = ("rounding", "longest side", "other sides", "weight", "address", "service or zone")
ROUNDING, LONGEST, OTHER_SIDES, WEIGHT, ADDRESS, SERVICE = range(len(PLAYERS))
OWN_PLAYER = dict(zip(FIGURES, (LONGEST, OTHER_SIDES, OTHER_SIDES, WEIGHT), strict=True))

ABOUT: Schema = (
    Column("shipment", WHOLE, "row of the shipments"),
    Column("statement", TEXT, "the statement's number"),
    Column("statement_on", DATE, "the statement's date"),
    Column("tracking", TEXT, "the parcel's number as billed"),
    Column("first", YES, "the label's charges are billed here"),
    Column("voided", YES, "the seller cancelled the label"),
    Column("earlier", TEXT, "the statement that corrected the parcel before, '' where none did"),
    Column(
        "made_on", TEXT, "the statement that first made the charges which this one makes again, '' where it makes none"
    ),
    Column("made_again", TEXT, "how those are unlike what was made first, '' where they are not"),
    Column("probability", SHARE, "of a reading that is inferred; missing where it was shown"),
    Column("could_be", TEXT, "what else would fit"),
    Column("silent", YES, "a correction without any figure, which no likely reading explains"),
    Column("in_one_sum", YES, "it does not say of which charges it is made, and comes to what they do"),
    Column("prepaid", YES, "a correction of a label that was bought at one price, which is one sum"),
    Column("partly", YES, "such a correction that does not show every side and the weight"),
    Column("unread", YES, "one of its amounts could not be read"),
    Column("weighed", YES, "the carrier shows a weight of its scale"),
    Column("measured_rounded", YES, "no side is shown but billed ones, rounded already"),
    Column("billed_weight_pg", WHOLE, "the billed weight that is shown"),
    Column("tax_due_cents", COUNT, "see `taxes.doubtful`, as the columns below"),
    Column("tax_ppm", WHOLE, "the percentage that other parcels agree on, missing where they do not"),
    Column("tax_alike", COUNT, "parcels billed alike"),
    Column("tax_taxed", COUNT, "those of them with tax"),
)
"""What a case is about."""

FLAGS_OF_CARRIER = ("address_corrected", "corrected", "size_wrong")
"""Flags that only the carrier sets: they are no in what the seller declares."""


@dataclass(frozen=True)
class Cases:
    """Tables over the same index, a row for each parcel and statement in order of parcel and statement date.

    `about`: ABOUT. `declared`, `before`, `measured`: service, zone, shipped_on, the FIGURES and the flags, ready for
    `price`: the seller's, those that this statement is held against (the seller's, or an earlier correction's), the
    carrier's. `players`: for each of the FIGURES the bit of the player that moves it from before to measured, none
    where it does not differ; and `active`, the bits of all that differs. `billed`: cents by charge, without credits,
    duplicates, charges made again at another amount, taxes and words that are not known, which stand in `apart`.
    `likened`: the words by which each of those charges was told, where they are only like a name of it, "" elsewhere.
    `rest`: which of those charges are the rest of a label that an earlier statement began to bill. `of_line`: the case
    of each statement line; `again`: whether a line bills again what one before it did; `credits`: the charges that
    money back answers, see `credits.answered`.
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
    day_of, days = pd.factorize(declared["shipped_on"])
    service_of, services = pd.factorize(declared["service"], use_na_sentinel=False)
    dated = np.flatnonzero(day_of >= 0)
    pair_of, pairs = pd.factorize((service_of * max(len(days), 1) + day_of)[dated])
    places = [divmod(int(pair), len(days)) for pair in pairs]
    found = [book.on(services[service], days[day].date()) for service, day in places]
    distinct = {id(rules): rules for rules in found if rules is not None}
    of_row = np.array([id(rules) for rules in found], dtype=np.int64)[pair_of]
    return [(rules, declared.index[dated[of_row == own]]) for own, rules in distinct.items()]
