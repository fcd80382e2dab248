"""What each cause has to do with a difference, in whole cents that add up to it.

Let v(S) be the charge when the figures moved by the players in S are the carrier's and the rest the seller's. A
player's share is its Shapley value (see `shapley`); the shares add up to v(all) − v(none). What was billed beyond
v(all) the carrier's own figures do not explain; it is told apart by kind.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor import money
from auditor.cases import ADDRESS, FIGURES, PLAYERS, SERVICE, Cases, by_rules
from auditor.shapley import shapley
from auditor.tables import CAUSES
from auditor.tariff import Prices, Rulebook, column_of, price
from auditor.tariff.price import Figures, reckon, sheet_of, whole
from auditor.tariff.prices import NONE

Whole = npt.NDArray[np.int64]

CAUSE_OF_PLAYER = dict(
    zip(
        PLAYERS,
        ("rounding", "box length", "box girth", "declared weight", "address", "service or zone"),
        strict=True,
    )
)


@dataclass(frozen=True)
class Attribution:
    """What `attribute` found, all with the index of the cases.

    `billed`, `expected`: cents. `shares`: a column of cents for each of CAUSES, adding up to billed − expected.
    `by_declared`, `by_read`: `price` of the seller's and of the carrier's figures. `unpriced`: the reason where the
    declared figures have no price; then expected and shares mean nothing.
    """

    billed: pd.Series
    expected: pd.Series
    shares: pd.DataFrame
    by_declared: pd.DataFrame
    by_read: pd.DataFrame

    @property
    def unpriced(self) -> pd.Series:
        """Why the declared figures have no price; missing where they have one."""
        return self.by_declared["unpriced"]


def attribute(cases: Cases, book: Rulebook, prices: Prices) -> Attribution:
    """Billed, expected and the share of each cause, for each case."""
    by_declared = price(cases.declared, book, prices, detail=True)
    by_read = _by_read(cases, by_declared, book, prices)
    priced = by_read["unpriced"].isna() & by_declared["unpriced"].isna()
    owed = by_declared["total_cents"].fillna(0).astype(np.int64).where(cases.about["first"], 0)
    billed = cases.billed.sum(axis=1)

    shares = pd.DataFrame(0, index=cases.about.index, columns=list(CAUSES))
    players = shapley_shares(cases, book, prices)
    for player, cause in CAUSE_OF_PLAYER.items():
        shares[cause] += players[player].where(priced, 0)
    beyond = _beyond_figures(cases, by_declared, by_read, book, prices)
    shares[beyond.columns] += beyond.where(priced, 0)
    shares["duplicate"] += cases.apart["repeated_cents"]
    shares["unexplained"] += cases.apart["unknown_cents"] + (billed - owed).mask(priced, 0)
    return Attribution(
        billed=billed + cases.apart.sum(axis=1),
        expected=owed + cases.apart["tax_cents"],
        shares=_after_credits(shares, cases.apart["credit_cents"]),
        by_declared=by_declared,
        by_read=by_read,
    )


def shapley_shares(cases: Cases, book: Rulebook, prices: Prices) -> pd.DataFrame:
    """Each player's share of v(all) − v(none) in cents, zero for players that move nothing.

    Equal parcels are priced once, and a parcel with k players that move something is priced 2^k times.
    """
    shares = pd.DataFrame(0, index=cases.about.index, columns=list(PLAYERS))
    for bits, rows in cases.players.groupby("active"):
        active = [player for player in range(len(PLAYERS)) if int(str(bits)) >> player & 1]
        if active:
            found, of = _distinct(cases, rows.index)
            values = _game(cases, found, active, book, prices)
            shares.loc[rows.index, [PLAYERS[player] for player in active]] = shapley(values)[of]
    return shares


def _distinct(cases: Cases, rows: pd.Index) -> tuple[pd.Index, npt.NDArray[np.intp]]:
    """One row for each set of equal cases, and which of them every row equals."""
    whole = pd.concat([cases.declared.loc[rows], cases.read.loc[rows], cases.players.loc[rows]], axis=1)
    whole.columns = pd.RangeIndex(whole.shape[1])
    number = whole.groupby(list(whole.columns), sort=False, dropna=False).ngroup()
    return rows[~number.duplicated().to_numpy()], np.asarray(number, dtype=np.intp)


def _game(cases: Cases, rows: pd.Index, active: list[int], book: Rulebook, prices: Prices) -> Whole:
    """The charge for every set of the active players, for each of the rows: (rows, 2^players)."""
    both = pd.concat([cases.declared.loc[rows], cases.read.loc[rows]], ignore_index=True)
    sheet, of = sheet_of(both, prices)
    figures = Figures.of_table(both, of)
    declared, read = figures.rows(slice(len(rows))), figures.rows(slice(len(rows), None))
    moved_by = cases.players.loc[rows, list(FIGURES)].to_numpy(dtype=np.int64).T
    fees, addresses = (list(map(column_of, book.called_by(flag))) for flag in ("corrected", "address corrected"))
    worth = np.empty((1 << len(active), len(rows)), dtype=np.int64)
    for number in range(len(worth)):
        players = sum(1 << player for place, player in enumerate(active) if number >> place & 1)
        moved = _moved(declared, read, moved_by, players)
        priced = reckon(moved, sheet, book, prices, ["total_cents", *fees, *addresses]).columns
        fee, address = (
            sum((priced[column] for column in columns), start=0 * worth[0]) for columns in (fees, addresses)
        )
        by_figures = priced["total_cents"] - fee - address
        if not number:
            undisputed = by_figures
        raised = np.maximum(by_figures - undisputed, 0)
        if book.takes_of_correction:
            again = reckon(replace(moved, correction=raised), sheet, book, prices, fees).columns
            fee = _together(again, fees, len(rows))
        worth[number] = by_figures + address + np.where(raised > 0, fee, 0)
    return worth.T


def _together(priced: Mapping[str, Whole], columns: list[str], count: int) -> Whole:
    return sum((priced[column] for column in columns), start=np.zeros(count, np.int64))


def _moved(declared: Figures, read: Figures, moved_by: Whole, players: int) -> Figures:
    """The parcels with the figures that the players (bits) move as the carrier has them, the others as declared."""
    moved = (moved_by >= 0) & (players >> np.maximum(moved_by, 0) & 1).astype(bool)
    address = bool(players >> ADDRESS & 1)
    flags = dict((read if address else declared).flags)
    flags["corrected"] = read.flags["corrected"]
    flags["size missing or wrong"] = read.flags["size missing or wrong"] & moved[:3].any(axis=0)
    return Figures(
        sides=np.where(moved[:3], read.sides, declared.sides),
        weight=np.where(moved[3], read.weight, declared.weight),
        flags=flags,
        irregular=declared.irregular,
        of=(read if players >> SERVICE & 1 else declared).of,
    )


def _by_read(cases: Cases, by_declared: pd.DataFrame, book: Rulebook, prices: Prices) -> pd.DataFrame:
    """Every charge by the carrier's figures; the correction fee only where they raise the charge."""
    fees, addresses = (list(map(column_of, book.called_by(flag))) for flag in ("corrected", "address corrected"))
    priced = price(cases.read, book, prices, detail=True)
    by_figures = priced["total_cents"] - priced[fees].sum(axis=1) - priced[addresses].sum(axis=1)
    raised = (by_figures - by_declared["total_cents"]).clip(lower=0).fillna(0).astype(np.int64)
    if book.takes_of_correction:
        priced = price(cases.read.assign(correction_cents=raised), book, prices, detail=True)
    unfounded = priced[fees].sum(axis=1).where(raised == 0, 0)
    due = {column: priced[column].where(raised > 0, 0) for column in fees}
    return priced.assign(total_cents=priced["total_cents"] - unfounded, **due)


def _beyond_figures(
    cases: Cases, by_declared: pd.DataFrame, by_read: pd.DataFrame, book: Rulebook, prices: Prices
) -> pd.DataFrame:
    """What was billed beyond the charge by the carrier's own figures, by kind: rate or carrier arithmetic.

    Fuel on an amount goes with that amount; what the fuel line is off its own percentage is carrier arithmetic.
    """
    columns = cases.billed.columns
    billed = cases.billed + by_declared[columns].mask(cases.about["first"], 0)
    over = billed - by_read[columns]
    of_rate = by_read[columns] != 0
    of_rate["freight_cents"] = ~_follows_billed_weight(cases, billed, prices)
    plain = [column for column in columns if column != "fuel_cents"]
    rate = over[plain].where(of_rate, 0).sum(axis=1)
    arithmetic = over[plain].mask(of_rate, 0).sum(axis=1)

    fuelled = _fuelled(cases, book)
    base = billed.where(fuelled, 0).sum(axis=1)
    by_percent = money.half_up(base.to_numpy() * by_read["fuel_ppm"].to_numpy(), 1_000_000)
    carried = over.where(fuelled, 0)
    fuel = pd.Series(by_percent, index=over.index) - by_read["fuel_cents"]
    whole_carried = carried.sum(axis=1)
    fuel_of_rate = fuel * carried.where(of_rate, 0).sum(axis=1) // whole_carried.where(whole_carried != 0, 1)
    off_percent = billed["fuel_cents"] - by_percent
    return pd.DataFrame(
        {"rate": rate + fuel_of_rate, "carrier arithmetic": arithmetic + fuel - fuel_of_rate + off_percent}
    )


def _fuelled(cases: Cases, book: Rulebook) -> pd.DataFrame:
    """Which charges of each case carry fuel."""
    fuelled = pd.DataFrame(data=False, index=cases.billed.index, columns=cases.billed.columns)
    for rules, rows in by_rules(book, cases.read):
        fuelled.loc[rows, [column for charge in rules.fuel_on if (column := column_of(charge)) in fuelled]] = True
    return fuelled


def _follows_billed_weight(cases: Cases, billed: pd.DataFrame, prices: Prices) -> pd.Series:
    """The freight is the table's price for the billed weight: that weight does not follow from the figures."""
    read = cases.read
    sheet, of = sheet_of(read, prices)
    weight = whole(cases.about["billed_weight_pg"])
    by_weight = prices.freight_cents(sheet.row[of], weight)
    follows = (by_weight == billed["freight_cents"]) & (by_weight != NONE) & (weight > 0)
    return pd.Series(follows, index=billed.index)


def _after_credits(shares: pd.DataFrame, credit: pd.Series) -> pd.DataFrame:
    """Shares that add up to what is left after money back: each cause is lessened in proportion."""
    shares = shares.copy()
    for row in credit.index[credit != 0]:
        whole = int(shares.loc[row].sum())
        left = whole + int(credit[row])
        shares.loc[row] = _scaled([int(share) for share in shares.loc[row]], whole, left)
    return shares


def _scaled(shares: list[int], whole: int, left: int) -> list[int]:
    if whole == 0:
        return [*shares[:-1], shares[-1] + left]
    return money.split(left, [Fraction(share * left, whole) for share in shares])
