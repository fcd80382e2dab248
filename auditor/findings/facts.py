"""What is known of a case: figures, prices and charges that its sentence, its standing and its claim are made of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from auditor.charges.carrier_errors import Named
from auditor.core import money
from auditor.core.sides import FIGURES
from auditor.tariff import Priced, Rules, Unpriced

Row = Mapping[str, Any]


@dataclass(frozen=True)
class Facts:
    """What is known of a priced case: figures before and measured, both priced, and the rules of the day.

    `before` are the declared figures, or those of the correction on statement `earlier`. `shares` and `undone` hold
    cents by cause (see `credits.AfterCredits`), `billed`, `again` and `apart` cents by charge on this statement,
    `elsewhere` those of a label on another (see `Attribution`). `about` is the row of `Cases.about`. `wrong`: charges
    that could be named; `unlike`: the row of `outliers`, where a side is unlike its carton's; `credits`: the charges
    that money back on this statement answers, and where; `learned`: what of the prices was not given but learned;
    `doubted`: whether the table of rates may not be the one that this service is billed by; `perhaps_replaced`:
    whether the statement may be in the place of the one that made its charges first.
    """

    before: Row
    measured: Row
    by_before: Priced
    by_measured: Priced
    players: Row
    rules: Rules
    shares: Mapping[str, int]
    undone: Mapping[str, int]
    billed: Row
    elsewhere: Row
    again: Row
    apart: Row
    about: Row
    wrong: tuple[Named, ...] = ()
    unlike: Row | None = None
    credits: tuple[Row, ...] = ()
    by_likeness: str = ""
    learned: frozenset[str] = frozenset()
    doubted: bool = False
    perhaps_replaced: bool = False

    def differs(self, figure: str) -> bool:
        """Whether the carrier has another figure than stood before."""
        return bool(self.players[figure])

    def moved_by(self, player: int) -> tuple[str, ...]:
        """The figures whose difference is put down to a player."""
        return tuple(figure for figure in FIGURES if self.players[figure] >> player & 1)

    @property
    def inferred(self) -> bool:
        """Whether the reading was not shown by the carrier but inferred from its bill."""
        return not pd.isna(self.about["probability"])

    @property
    def weighed(self) -> bool:
        """Whether a reading of the carrier's scale is shown, and not no more than the weight it billed by."""
        return bool(self.about["weighed"])

    @property
    def a_cent_off(self) -> bool:
        """Whether figures explain a correction in one sum but for a cent, as fuel is rounded by itself."""
        rest = self.own["unexplained"] - self.apart["odd_tax_cents"] - self.apart["otherwise_cents"]
        return bool(self.about["in_one_sum"]) and abs(rest) == 1

    @property
    def earlier(self) -> str:
        """The statement whose correction this one is held against; "" where it is the declared figures."""
        return str(self.about["earlier"])

    @property
    def due(self) -> Mapping[str, int]:
        """What the carrier's own figures give for each charge on this statement, in cents."""
        before = dict.fromkeys(self.billed, 0) if self.about["first"] else self.by_before
        return {
            column: int(self.by_measured[column] - before[column] - self.elsewhere[column]) for column in self.billed
        }

    @property
    def own(self) -> Mapping[str, int]:
        """The shares of what this statement charges, before money back on what earlier ones charged."""
        return {cause: cents + self.undone[cause] for cause, cents in self.shares.items()}


@dataclass(frozen=True)
class NotAudited:
    """A case of which a price is not known: by the figures before, by those measured, or by both.

    What its fields hold is as in Facts.
    """

    before: Row
    measured: Row
    by_before: Priced | Unpriced
    by_measured: Priced | Unpriced
    rules: Rules | None
    billed_cents: int
    earlier: str

    @property
    def reason(self) -> str:
        """Why there is no price: 'its weight is missing or zero'."""
        unknown = [price.reason for price in (self.by_before, self.by_measured) if isinstance(price, Unpriced)]
        return next(iter(unknown), "no rules are known for its ship date")

    @property
    def sentence(self) -> str:
        """Which price is not known and why, and what is known beside it."""
        if isinstance(self.by_before, Unpriced):
            known = f"Not audited: {self.by_before.reason}."
        elif isinstance(self.by_measured, Unpriced):
            held = f"statement {self.earlier} corrected it to" if self.earlier else "you declared"
            known = (
                f"Not audited: no price is known for the carrier's figures ({self.by_measured.reason}). By what {held} "
                f"the parcel comes to {money.dollars(int(self.by_before['total_cents']))}; what this statement bills "
                f"for it comes to {money.dollars(self.billed_cents)}."
            )
        else:
            known = "Not audited: no rules are known for its ship date."
        return f"{known} The charge may be right or wrong; this tool cannot say."
