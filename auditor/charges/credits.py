"""Money back: which charge it answers, whether it is all of it, and what it leaves of each cause."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import pandas as pd

from auditor.core import money
from auditor.core.arrays import Whole

MOST_STATEMENTS = 24
"""Money back is held against the charges on so many statements of a parcel; on later ones it is only counted."""


CREDITS = ("case", "charge", "given_cents", "charged_cents", "charged_case")


def answered(lines: pd.DataFrame, case: pd.Series, about: pd.DataFrame) -> pd.DataFrame:
    """Each credit with the charge it answers: the amount of that parcel and charge that is nearest to it.

    Such an amount is one line's, or all that one statement charges under that name, or, for money back on a charge
    without a known name, all that it adds to the label. Only charges up to the credit's own statement count.

    Args:
        lines: LINES with `shipment`, in order of parcel and time.
        case: the case of each line.
        about: `Cases.about`.

    Returns:
        CREDITS: the case with the credit, the charge's words ("" where they are not known), what was given back and
        what was charged (cents, above zero), and the case that charged it. A credit that nothing answers is left out.
    """
    turn = about.groupby("shipment").cumcount()
    near = lines.assign(case=case)[(case.map(turn) < MOST_STATEMENTS).to_numpy()]
    near = near.assign(words=near["charge"].fillna(""))
    back = near[near["state"] == "credit"].groupby(["shipment", "case", "words"])["amount_cents"].sum()
    given = back.mul(-1).rename("given_cents")
    pairs = given[given > 0].reset_index().merge(_amounts(near), on=["shipment", "words"])
    pairs = pairs[pairs["charged_case"] <= pairs["case"]]
    pairs = pairs.assign(off=(pairs["charged_cents"] - pairs["given_cents"]).abs())
    nearest = pairs.sort_values(["off", "charged_case"], ascending=[True, False], kind="stable")
    nearest = nearest.drop_duplicates(["case", "words"]).sort_values(["case", "words"])
    return nearest.rename(columns={"words": "charge"})[list(CREDITS)].reset_index(drop=True)


def _amounts(lines: pd.DataFrame) -> pd.DataFrame:
    """The amounts that a credit may answer, by shipment, words and the case that charges them."""
    charged = lines[(lines["amount_cents"] > 0).fillna(value=False) & (lines["state"] != "credit")]
    key = ["shipment", "words", "case"]
    added = charged[(charged["state"] != "label charge") | charged["repeated"]].assign(words="")
    sums = [
        table.groupby(key)["amount_cents"].sum().reset_index() for table in (charged, added, charged.assign(words=""))
    ]
    every = pd.concat([charged[[*key, "amount_cents"]], *sums]).drop_duplicates()
    return every.rename(columns={"case": "charged_case", "amount_cents": "charged_cents"})


@dataclass(frozen=True)
class AfterCredits:
    """What money back leaves, each with a row a case.

    `shares`: cents by cause. `undone`: the part of the money back that undoes earlier statements, cents by cause; the
    shares are less by it. `returned`: columns cents, given back on later statements, and on, the last of those.
    """

    shares: pd.DataFrame
    undone: pd.DataFrame
    returned: pd.DataFrame


def after_credits(shares: pd.DataFrame, credit: pd.Series, about: pd.DataFrame) -> AfterCredits:
    """Shares that add up to what is left after money back, and what each case is given back later.

    Money back lessens what its own statement charged too much: a charge made twice first, then each cause in
    proportion. What goes beyond that undoes what the parcel's earlier statements charged too much, latest first, with
    the same causes; what answers nothing at all is unexplained, in the seller's favour.

    Args:
        shares: cents by cause, a row a case.
        credit: cents below zero by case.
        about: `Cases.about`.
    """
    own, causes = shares.to_numpy(dtype=np.int64, copy=True), list(shares.columns)
    twice, unexplained = causes.index("duplicate"), causes.index("unexplained")
    left, undone = own.copy(), np.zeros_like(own)
    returned, returned_on = np.zeros(len(own), dtype=np.int64), np.full(len(own), "", dtype=object)
    shipment, statement = about["shipment"].to_numpy(), about["statement"].fillna("without a number").to_numpy()
    for row in np.flatnonzero(credit.to_numpy() < 0).tolist():
        give = -int(credit.iloc[row])
        own[row] -= (taken := _taken(left[row], give, twice))
        left[row] -= taken
        give -= int(taken.sum())
        for at in range(row - 1, max(row - MOST_STATEMENTS, -1), -1):
            if not give or shipment[at] != shipment[row]:
                break
            left[at] -= (taken := _taken(left[at], give, twice))
            undone[row] += taken
            give -= int(taken.sum())
            if taken.any():
                returned[at] += taken.sum()
                returned_on[at] = statement[row]
        undone[row, unexplained] += give
    return AfterCredits(
        shares=pd.DataFrame(own - undone, index=shares.index, columns=causes),
        undone=pd.DataFrame(undone, index=shares.index, columns=causes),
        returned=pd.DataFrame({"cents": returned, "on": returned_on}, index=shares.index),
    )


def _taken(shares: Whole, give: int, twice: int) -> Whole:
    """At most `give` cents out of the shares, of place `twice` first, then of each in proportion."""
    taken = np.zeros_like(shares)
    give = min(give, max(int(shares.sum()), 0))
    taken[twice] = min(give, max(int(shares[twice]), 0))
    rest, give = shares - taken, give - int(taken[twice])
    if give:
        total = int(rest.sum())
        taken += rest - money.split(total - give, [Fraction(int(cents) * (total - give), total) for cents in rest])
    return taken
