"""A carrier's or label seller's file → MOVES, where it is a paper about prepaid labels by its figures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import PurePath

import numpy as np
import pandas as pd

from auditor.core.arrays import Masked, Yes
from auditor.core.schemas import MOVE_KINDS, MOVES, PRINTED_TOTALS, conform, joined
from auditor.intake import wording
from auditor.intake.by_column import Columns
from auditor.intake.documents import Grid
from auditor.intake.reading.cells import parcel_of
from auditor.intake.reading.known import Known
from auditor.intake.reading.prepaid.figures import figures
from auditor.intake.reading.prepaid.kinds import CORRECTION, LABEL, RETURNED, Kinds, kinds_of
from auditor.intake.reading.prepaid.money import Money, label_costs, ways
from auditor.intake.reading.prepaid.sheets import Seen, seen
from auditor.intake.reading.prepaid.texts import days, words

MOSTLY, NEARLY_ALL, HALF = 0.6, 0.9, 0.5
MOST = 0.8
"""A paper with nearly all labels of a shop, at their cost, is a statement of them, no list of corrections (chosen)."""
MANY = 2
"""So many columns of amounts that none of this explains are a statement's charges."""
ONCE = 0.7
"""So many rows of a list of corrections are each about another parcel; a statement has a row a charge (chosen)."""
KIND_WORDS = {
    "label": ("label bought", "labels bought"),
    "correction": ("correction", "corrections"),
    "returned": ("correction given back", "corrections given back"),
    "refund": ("label refunded", "labels refunded"),
    "top-up": ("payment into the balance", "payments into the balance"),
    "other": ("other movement", "other movements"),
}
DISCOUNT = 0.5
"""Where so many differences are one share of the larger amount, they are a discount, and no corrections (chosen)."""
FEW = 3


@dataclass(frozen=True, eq=False)
class Paper:
    """A paper: movements and printed totals; what speaks for it, as log odds; how many parcels it has.

    `proven`: whether its amounts are shown to be what they were taken for; `pairs`: whether it has two rows of each.
    """

    moves: pd.DataFrame
    totals: pd.DataFrame
    odds: float
    parcels: int
    proven: bool
    pairs: bool

    @property
    def worth(self) -> tuple[bool, int, float, int]:
        """By what readings of one document are held against one another: what is proven comes first."""
        return self.proven, self.parcels, self.odds, int(self.moves.notna().sum().sum())

    @property
    def of_both(self) -> bool:
        """Whether each movement has what was entered beside what was measured, as no record of the shop's own has."""
        shown = [self.moves.filter(regex=f"^{whose}_").notna().any(axis=1) for whose in ("entered", "measured")]
        return bool((shown[0] & shown[1]).all())

    @property
    def said(self) -> str:
        """What it was taken for, and what shows it."""
        kinds = self.moves["kind"].value_counts()
        told = ", ".join(f"{count:,} {KIND_WORDS[str(kind)][count != 1]}" for kind, count in kinds.items())
        return f"This was read as a paper about labels that were paid when they were bought: {told}."


@dataclass(frozen=True, eq=False)
class _Way:
    seen: Seen
    money: Money
    kinds: Kinds
    figures: Mapping[str, Masked]
    figures_at: set[int]
    used: set[int]

    @property
    def moves(self) -> Yes:
        return np.asarray(self.kinds >= 0, dtype=bool)


def paper(
    file: str, grids: Iterable[Grid], known: Known, billed: frozenset[int], *, alone: bool = True
) -> Paper | None:
    """The movements of all tables of a file; None where it has none that are about prepaid labels.

    Args:
        file: its name.
        grids: its tables.
        known: what is known beside it.
        billed: rows of the records whose label stands on a statement among the files: what is said of those is billed.
        alone: whether amounts may be corrections that nothing shows to be so but that they are no label's cost.
    """
    read = [_best(file, grid, known, billed, alone=alone) for grid in grids if _has_parcels(grid, known)]
    found = [one for one in read if one is not None]
    if not found or len(found) < len(read):
        return None
    return Paper(
        joined((one.moves for one in found), MOVES),
        joined((one.totals for one in found), PRINTED_TOTALS),
        sum(one.odds for one in found),
        sum(one.parcels for one in found),
        all(one.proven for one in found),
        all(one.pairs for one in found),
    )


def _has_parcels(grid: Grid, known: Known) -> bool:
    """Whether several parcels of ours stand in a table, or nothing else does."""
    if isinstance(grid.rows, Columns):
        return True
    rows = [row for row in grid.rows if any(row)]
    ours = sum(any(parcel_of(cell, known) is not None for cell in row) for row in rows)
    return ours >= FEW or 2 * ours >= len(rows) > 0


def _best(file: str, grid: Grid, known: Known, billed: frozenset[int], *, alone: bool) -> Paper | None:
    """The way to read a table for which most speaks."""
    ways = (way for way in _ways(grid, known) if alone or way.money.odds > 0)
    likely = ((way.money.odds + bool(way.figures), way) for way in ways if _is_prepaid(way, known, billed))
    best = max(likely, key=lambda pair: pair[0], default=None)
    return None if best is None else _paper(file, grid, best[1], best[0], known)


def _ways(grid: Grid, known: Known) -> Iterator[_Way]:
    for one in seen(grid, known):
        costs = label_costs(one, known)
        for money in ways(one, known):
            kinds = kinds_of(one, money, costs)
            measured, used = figures(one, known, money.used)
            yield _Way(one, money, kinds, measured, used, {*money.used, *used, one.where.at})


def _is_prepaid(way: _Way, known: Known, billed: frozenset[int]) -> bool:
    """Whether rows are about labels that were paid when bought, and not lines of a statement."""
    money, rows = way.money, way.moves & way.seen.numbered
    if not rows.any() or way.seen.ours[rows].mean() < HALF:
        return False
    if "balance_cents" in money.columns:
        return _is_balance(way)
    place = way.seen.where.place[rows & way.seen.ours]
    if np.isin(place, np.array([*billed], dtype=np.intp)).mean() > HALF:
        return False
    left = money.others - {*way.figures_at}
    if _share(way.moves, way.seen.numbered) < MOST or ("paid_cents" in money.columns and _is_share(way, rows)):
        return False
    costs = label_costs(way.seen, known)
    paid = _share(money.agrees, rows & costs.known) if "paid_cents" in money.columns else 0.0
    if (rows & costs.known).any() and "paid_cents" in money.columns and paid < HALF:
        return False
    proven = _share(money.holds | money.agrees, rows) >= MOSTLY and len(np.unique(place)) < MOST * len(known.shipments)
    return bool(len(left) < MANY and proven) or (not left and _is_elsewhere(way, rows, place, known))


def _is_balance(way: _Way) -> bool:
    """Whether labels are taken from a balance, each in one sum; and something else beside them."""
    labels, own = way.kinds == LABEL, way.kinds == CORRECTION
    mostly = labels.sum() >= max(FEW, HALF * len(np.unique(way.seen.where.key[way.seen.numbered])))
    given = way.moves & (way.money.taken.numbers < 0)
    return bool(mostly and (own.any() or given.any()))


def _is_share(way: _Way, rows: Yes) -> bool:
    """Whether most differences are one share of the larger amount, as discounts and taxes are."""
    money = way.money
    paid = money.of["paid_cents"].numbers
    larger = np.maximum(money.of["right_cents"].numbers, paid)[rows] if "right_cents" in money.of else paid[rows]
    shares = np.round(np.abs(money.taken.numbers[rows]) / np.maximum(larger, 1), 3)
    return bool(np.unique(shares, return_counts=True)[1].max() >= max(DISCOUNT * len(shares), FEW))


def _is_elsewhere(way: _Way, rows: Yes, place: np.ndarray[tuple[int], np.dtype[np.intp]], known: Known) -> bool:
    """Whether amounts are none of the labels' own: of parcels with a known cost, a row each, hardly one is that."""
    costs = Masked.of_column(known.shipments["label_cost_cents"])
    taken, ours = way.money.taken, rows & way.seen.ours
    dear = costs.known[place]
    at_cost = (costs.numbers[place] == np.abs(taken.numbers[ours])) & dear
    once = len(np.unique(place)) >= ONCE * len(place)
    share = len(np.unique(place)) / max(len(known.shipments), 1)
    return bool(dear.mean() >= NEARLY_ALL and at_cost.mean() < 1 - NEARLY_ALL and once and share < MOSTLY)


def _paper(file: str, grid: Grid, way: _Way, odds: float, known: Known) -> Paper:
    table, where, moves = way.seen.table, way.seen.where, way.moves
    day, of_days = days(way.seen, known, moves)
    order, reason = words(way.seen, known, {*way.used, *of_days}, moves)
    values: dict[str, object] = {
        "kind": pd.Series([MOVE_KINDS[one] if one >= 0 else None for one in way.kinds], dtype="str"),
        "tracking": _numbers(way.seen, known),
        "order": order,
        "reason": reason,
        "moved_on": pd.Series(day.numbers.astype("datetime64[D]")).where(pd.Series(day.known)),
        "amount_cents": _whole(way.money.taken),
        "source_file": file,
        "source_place": pd.Series([grid.places[at] for at in table.rows], dtype="str"),
    }
    values |= {name: _whole(cents) for name, cents in way.money.of.items()}
    values |= {name: _whole(figure) for name, figure in way.figures.items()}
    if grid.boxes:
        values["source_box"] = pd.Series([grid.boxes[at] for at in table.rows], dtype="str")
    above = [*grid.above, *(" ".join(filter(None, row)) for row in grid.rows[: int(table.rows[moves][0])])]
    number = wording.number_in(above) or PurePath(file).stem
    frame = pd.DataFrame(values, index=pd.RangeIndex(len(table)))
    frame = frame.assign(statement=number, statement_on=wording.day_in(above, day_first=False))[moves]
    found = conform(frame.reset_index(drop=True), MOVES)
    of_parcels = moves & way.seen.numbered
    proven = _share(way.money.holds | way.money.runs | way.money.agrees, of_parcels) >= NEARLY_ALL
    parcels = len(np.unique(where.place[moves & way.seen.ours]))
    return Paper(found, _totals(file, grid, way, found), odds, parcels, proven, way.seen.pairs)


def _share(yes: Yes, rows: Yes) -> float:
    return float(yes[rows].mean()) if rows.any() else 0.0


def _whole(values: Masked) -> pd.Series:
    return pd.Series(pd.arrays.IntegerArray(values.numbers.astype(np.int64), ~values.known))


def _numbers(one: Seen, known: Known) -> pd.Series:
    """The parcel's number of each row: as recorded where it is, otherwise as printed."""
    recorded = known.shipments["tracking"].to_numpy(dtype=object)[np.maximum(one.where.place, 0)]
    texts = np.where(one.where.place >= 0, recorded, one.where.column.text())
    return pd.Series([text if has else None for text, has in zip(texts, one.numbered, strict=True)], dtype="str")


def _totals(file: str, grid: Grid, way: _Way, moves: pd.DataFrame) -> pd.DataFrame:
    """The printed total, where the column of what was taken has its sum in a row without a parcel, or words have it."""
    if "taken" not in way.money.columns:
        return pd.DataFrame()
    corrected = moves["kind"].isin([MOVE_KINDS[CORRECTION], MOVE_KINDS[RETURNED]])
    sums = [int(moves.loc[corrected, "amount_cents"].sum())]
    sums.append(sums[0] + int(moves["fee_cents"].sum()))
    printed = way.seen.table.columns[way.money.columns["taken"]].money()
    rows = np.flatnonzero(printed.known & ~way.seen.numbered & np.isin(np.abs(printed.numbers), np.abs(sums)))
    if not len(rows):
        return pd.DataFrame()
    place = grid.places[way.seen.table.rows[rows[-1]]]
    of = moves.iloc[:1][["statement", "statement_on"]]
    table = of.assign(printed_total_cents=sums[-1], source_file=file, source_place=place)
    return conform(table.reset_index(drop=True), PRINTED_TOTALS)


def labels_billed(files: Iterable[tuple[str, Mapping[str, pd.DataFrame]]], known: Known) -> dict[str, frozenset[int]]:
    """By file the rows of the records whose label its statement bills: some first lines of it come to the cost.

    A statement that bills some labels so bills those of its other parcels with several lines too, to another sum.
    """
    return {name: frozenset(_billed(tables["lines"], known)) for name, tables in files if "lines" in tables}


def _billed(lines: pd.DataFrame, known: Known) -> Iterator[int]:
    row = known.rows_of(lines["tracking"])
    ours = lines.assign(row=row)[row.notna()]
    costs = known.shipments["label_cost_cents"].reindex(ours["row"]).set_axis(ours.index)
    run = ours["amount_cents"].fillna(0).groupby(ours["row"]).cumsum()
    at_cost = ours.loc[(run == costs).fillna(value=False), "row"].astype(int).unique()
    yield from at_cost
    if len(at_cost) >= FEW:
        yield from ours.loc[ours["row"].duplicated(keep=False), "row"].astype(int)
