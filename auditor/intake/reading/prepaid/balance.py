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
    due = balance_due(moves)
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


def balance_due(moves: pd.DataFrame) -> pd.Series:
    """What is left after each movement by the one before, in the row above; below, where the latest stands first.

    Missing for the first movement.
    """
    left = moves["balance_cents"]
    taken = moves["amount_cents"] + moves["fee_cents"].fillna(0)
    down, up = left.shift() - taken, left.shift(-1) - taken
    by_rows = [int((one == left).fillna(value=False).sum()) for one in (down, up)]
    return down if by_rows[0] >= by_rows[1] else up
