"""MOVES → the lines and notices that all later rooms know: money as lines, figures as notices.

What was paid and what would have been right are no charges: only what was taken or given back is a line.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from auditor.core.schemas import LINES, NOTICES, Problem, conform, joined
from auditor.core.sides import FIGURES

STATE_OF = {
    "label": "label charge",
    "correction": "adjustment",
    "returned": "credit",
    "refund": "credit",
    "other": "fee",
}
"""What a movement is as a line of a statement; money put in is none."""
FEE, FREIGHT = "correction fee", "freight"
"""Charges in the words of the rules: a label has one price, which is looked up as its freight."""
PLACE = ["source_file", "source_place"]
SAME_DAYS = pd.Timedelta(days=40)
"""A history, a list and a mail tell of one correction within so many days of one another (chosen)."""


def lines_of(moves: pd.DataFrame) -> pd.DataFrame:
    """LINES of movements: what was taken, and a fee beside it as a line of its own."""
    money = moves[moves["kind"].isin([*STATE_OF])]
    fees = money[money["fee_cents"].fillna(0) != 0]
    taken = _lines(money, money["amount_cents"], money["kind"].map(STATE_OF))
    taken["charge"] = taken["charge"].mask(money["kind"] == "label", FREIGHT)
    fee = _lines(fees, fees["fee_cents"], pd.Series("fee", index=fees.index)).assign(charge=FEE, description=FEE)
    both = pd.concat([taken, fee]).sort_index(kind="stable").reset_index(drop=True)
    return conform(both, LINES)


def _lines(moves: pd.DataFrame, cents: pd.Series, state: pd.Series) -> pd.DataFrame:
    names = ["statement", "tracking", "order", *PLACE, "source_box"]
    described = moves["reason"].fillna(moves["kind"])
    rest = {"description": described, "amount_cents": cents, "state": state.astype("str")}
    return conform(moves[names].assign(statement_on=moves["moved_on"].fillna(moves["statement_on"]), **rest), LINES)


def notices_of(moves: pd.DataFrame) -> pd.DataFrame:
    """NOTICES of corrections that show a figure: what was entered is what notices call declared."""
    shown = {f"declared_{figure}": moves[f"entered_{figure}"] for figure in FIGURES}
    shown |= {f"measured_{figure}": moves[f"measured_{figure}"] for figure in FIGURES}
    rest = {"noticed_on": moves["moved_on"].fillna(moves["statement_on"])}
    table = moves[["tracking", "reason", "amount_cents", *PLACE]].assign(**shown, **rest)
    is_shown = pd.DataFrame(shown).notna().any(axis=1) & moves["kind"].eq("correction") & moves["tracking"].notna()
    return conform(table[is_shown].reset_index(drop=True), NOTICES)


def beside_statements(lines: pd.DataFrame, moves: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame, list[Problem]]:
    """All lines, those of movements last, the movements that count, and a note of those that something else tells too.

    Args:
        lines: LINES of statements, with charge and state.
        moves: MOVES of all papers.
    """
    twice = told_twice(moves)
    kept = moves[~twice].reset_index(drop=True)
    billed = billed_elsewhere(lines, kept)
    told = [*of_told_twice(moves, twice), *of_told_twice(kept, billed)]
    kept = kept[~billed].reset_index(drop=True)
    return (joined([lines, lines_of(kept)], LINES) if len(kept) else lines.reset_index(drop=True)), kept, told


def of_moves(lines: pd.DataFrame, moves: pd.DataFrame) -> pd.Series:
    """Which lines movements gave."""
    key, of = (pd.MultiIndex.from_frame(table[PLACE]) for table in (lines, moves))
    return pd.Series(key.isin(of), index=lines.index)


def told_twice(moves: pd.DataFrame) -> pd.Series:
    """Which movements another paper tells as well: the same parcel, kind and amount; the longer paper's one counts."""
    told = moves.assign(row=range(len(moves)), length=moves.groupby("source_file")["kind"].transform("size"))
    told["whole"] = told["amount_cents"] + told["fee_cents"].fillna(0)
    told["day"] = told["moved_on"].fillna(told["statement_on"])
    ours = told[told["tracking"].notna()].sort_values(["length", "row"], ascending=[False, True], kind="stable")
    twice = pd.Series(data=False, index=moves.index)
    for _, them in ours.groupby(["tracking", "kind"]):
        if len(them["source_file"].unique()) > 1:
            twice.loc[[*_again(them)]] = True
    return twice


def _again(them: pd.DataFrame) -> Iterator[int]:
    """Those of one parcel and kind that stand for one of a longer paper, each for another."""
    counted: list[tuple[str, int, pd.Timestamp, set[str]]] = []
    for label, row in them.iterrows():
        file, cents, day = str(row["source_file"]), int(row["whole"]), row["day"]
        same = next((one for one in counted if file not in one[3] and one[1] == cents and _near(one[2], day)), None)
        if same is None:
            counted.append((file, cents, day, {file}))
        else:
            same[3].add(file)
            yield label  # type: ignore[misc]


def _near(one: pd.Timestamp, other: pd.Timestamp) -> bool:
    return bool(pd.isna(one) or pd.isna(other) or abs(one - other) <= SAME_DAYS)


def of_told_twice(moves: pd.DataFrame, twice: pd.Series) -> Iterator[Problem]:
    """A note for each paper of which movements stand in another one too."""
    for file, them in moves[twice].groupby("source_file", sort=False):
        several = f"{len(them):,} of its movements stand" if len(them) > 1 else "One of its movements stands"
        message = f"{several} in another paper too, with the same parcel and amount. They were counted once."
        yield Problem(str(file), str(them["source_place"].iloc[0]), message, note=True)


def billed_elsewhere(lines: pd.DataFrame, moves: pd.DataFrame) -> pd.Series:
    """Which corrections a statement bills too: a line of that parcel, or its lines but the label's, come to as much."""
    others = lines[lines["tracking"].notna()]
    later = others[others["state"].ne("label charge")].groupby(["tracking", "statement"], as_index=False)
    sums = later["amount_cents"].sum()
    pairs = {*zip(others["tracking"], others["amount_cents"], strict=True)}
    pairs |= {*zip(sums["tracking"], sums["amount_cents"], strict=True)}
    told = [pair in pairs for pair in zip(moves["tracking"], moves["amount_cents"], strict=True)]
    return moves["kind"].isin(["correction", "returned"]) & np.array(told, dtype=bool)
