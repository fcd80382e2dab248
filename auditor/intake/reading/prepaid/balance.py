"""Where the history of a balance does not run: after a movement there is another one than what is left of the last."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from auditor.core.money import dollars
from auditor.core.schemas import Problem, rows

MOST_TOLD = 3
APART = (
    "The balance beside this movement is {there}; what stands before it, less the {taken} taken, is {due}: {apart} "
    "apart. A movement may be missing there. The rest was used."
)


def breaks(moves: pd.DataFrame) -> Iterator[Problem]:
    """A problem for each movement of one paper (MOVES) after which its balance is not what it should be."""
    before = _before(moves)
    due = before - moves["amount_cents"] - moves["fee_cents"].fillna(0)
    apart = moves.assign(due=due)[(due != moves["balance_cents"]).fillna(value=False)]
    for row in rows(apart.head(MOST_TOLD)):
        there, taken, should = (int(row[name]) for name in ("balance_cents", "amount_cents", "due"))
        cents = {"there": there, "taken": taken, "due": should, "apart": there - should}
        said = APART.format(**{name: dollars(amount) for name, amount in cents.items()})
        yield Problem(str(row["source_file"]), str(row["source_place"]), said)
    if len(apart) > MOST_TOLD:
        last = apart.iloc[-1]
        more = f"After {len(apart) - MOST_TOLD:,} more movements of this history the balance is not what it should be."
        yield Problem(str(last["source_file"]), str(last["source_place"]), more)


def _before(moves: pd.DataFrame) -> pd.Series:
    """The balance before each movement: that of the row above, or of the row below where the latest stands first."""
    left = moves["balance_cents"]
    taken = moves["amount_cents"] + moves["fee_cents"].fillna(0)
    above, below = left.shift(), left.shift(-1)
    down, up = (int((one - taken == left).fillna(value=False).sum()) for one in (above, below))
    return above if down >= up else below
