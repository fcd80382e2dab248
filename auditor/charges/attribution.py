"""What each cause has to do with a difference, in whole cents that add up to it.

Let v(S) be the charge when the figures moved by the players in S are the carrier's and the rest the seller's. A
player's share is its Shapley value (see `shapley`); the shares add up to v(all) − v(none). What was billed beyond
v(all) the carrier's own figures do not explain; it is told apart by kind.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.charges.credits import after_credits
from auditor.charges.measured.repriced import repriced
from auditor.charges.schema import ADDRESS, PLAYERS, SERVICE, Cases, by_rules
from auditor.charges.shapley import shapley
from auditor.core import money
from auditor.core.arrays import Places, Whole
from auditor.core.schemas import CAUSES
from auditor.core.sides import FIGURES
from auditor.tariff import Prices, Rulebook, column_of, price
from auditor.tariff.figures import Figures, whole
from auditor.tariff.price import Terms, sheet_of

CAUSE_OF_PLAYER = dict(
    zip(
        PLAYERS,
        ("rounding", "box length", "box girth", "declared weight", "address", "service or zone"),
        strict=True,
    )
)


ENOUGH_LINES, SELDOM_OFF = 5, 0.2
"""Words told by likeness are known by their figures where of so many lines at most such a share is off (chosen)."""


@dataclass(frozen=True)
class Attribution:
    """What `attribute` found, all with the index of the cases.

    `billed`, `expected`: cents. `elsewhere`: by charge, what a label owes on later statements than its own; below zero,
    what a later one bills of it. `shares`: a column of cents for each of CAUSES, adding up to billed − expected.
    `by_before`, `by_measured`: `price` of the figures before this statement and of the carrier's. `again`: cents by
    charge that a correction before charged already. `undone`, `returned`: see `credits.AfterCredits`. `by_likeness`:
    the words of a charge that is off and was told by likeness only, "" where there is none. `unpriced`: if a price is
    lacking without which the difference means nothing; then expected and shares mean nothing.
    """

    billed: pd.Series
    expected: pd.Series
    elsewhere: pd.DataFrame
    shares: pd.DataFrame
    by_before: pd.DataFrame
    by_measured: pd.DataFrame
    undone: pd.DataFrame
    again: pd.DataFrame
    returned: pd.DataFrame
    by_likeness: pd.Series

    @property
    def unpriced(self) -> pd.Series:
        """Whether the declared figures have no price, or what is billed is off it and the carrier's have none."""
        before, measured = (priced["unpriced"].notna() for priced in (self.by_before, self.by_measured))
        return before | (measured & (self.billed != self.expected))


def attribute(cases: Cases, book: Rulebook, prices: Prices) -> Attribution:
    """Billed, expected and the share of each cause, for each case."""
    by_before = price(cases.before, book, prices, detail=True)
    by_measured = repriced(cases.measured, by_before, book, prices)
    by_before = _where_all_is_read(by_before, cases.about["unread"])
    priced = by_measured["unpriced"].isna() & by_before["unpriced"].isna()
    voided = cases.about["voided"]
    elsewhere = _label_elsewhere(cases, by_before, by_measured).where(priced & ~voided, 0)
    cases = replace(cases, billed=cases.billed + elsewhere)  # each label as though on one statement
    owed = by_before["total_cents"].fillna(0).astype(np.int64).where(cases.about["first"], 0)
    billed = cases.billed.sum(axis=1)

    shares = pd.DataFrame(0, index=cases.about.index, columns=list(CAUSES))
    players = shapley_shares(cases, book, prices)
    for player, cause in CAUSE_OF_PLAYER.items():
        shares[cause] += players[player].where(priced, 0)
    again = _charged_again(cases, by_before, by_measured, book, prices).where(priced, 0)
    beyond = _beyond_figures(cases, cases.billed - again, by_before, by_measured, book, prices)
    shares[beyond.columns] += _asked_where_silent(beyond, cases.about["silent"]).where(priced, 0)
    shares["duplicate"] += cases.apart["repeated_cents"] + again.sum(axis=1)
    shares["unexplained"] += cases.apart[["unknown_cents", "otherwise_cents", "odd_tax_cents"]].sum(axis=1)
    shares["unexplained"] += (billed - owed).mask(priced, 0)
    shares = shares.mask(voided, 0)
    charged = billed + cases.apart.sum(axis=1) - cases.apart["credit_cents"]
    shares["voided label"] = charged.where(voided, 0)
    after = after_credits(shares, cases.apart["credit_cents"], cases.about)
    return Attribution(
        billed=charged + cases.apart["credit_cents"] - elsewhere.sum(axis=1),
        expected=(owed + cases.apart["tax_cents"]).mask(voided, 0) - elsewhere.sum(axis=1),
        elsewhere=elsewhere,
        shares=after.shares,
        undone=after.undone,
        by_before=by_before,
        by_measured=by_measured,
        again=again,
        returned=after.returned,
        by_likeness=_by_likeness(cases, by_before, by_measured),
    )


def _asked_where_silent(beyond: pd.DataFrame, silent: pd.Series) -> pd.DataFrame:
    """Where a correction shows no figure at all, nothing can be said to follow from its figures, or not to."""
    asked = beyond.sum(axis=1)
    return beyond.mask(silent, 0).assign(unexplained=beyond["unexplained"].mask(silent, asked))


def _by_likeness(cases: Cases, by_before: pd.DataFrame, by_measured: pd.DataFrame) -> pd.Series:
    """By case, the words of a charge that is off and was told by likeness only; "" where there is none.

    Words whose other lines come to what is due, to the cent, are known by their figures.
    """
    place, column = np.nonzero(cases.likened.to_numpy() != "")
    columns = cases.billed.columns
    over = cases.billed + by_before[columns].mask(cases.about["first"], 0) - by_measured[columns]
    off = (over != 0).fillna(value=True).to_numpy(dtype=bool)[place, column]
    found = pd.DataFrame({"case": place, "words": cases.likened.to_numpy()[place, column], "off": off})
    by_words = found.groupby("words")["off"]
    known = (by_words.transform("size") >= ENOUGH_LINES) & (by_words.transform("mean") <= SELDOM_OFF)
    first: pd.Series = found[found["off"] & ~known].groupby("case")["words"].first()
    return first.reindex(cases.about.index).fillna("").astype(object)


UNREAD = "one of its amounts could not be read"


def _where_all_is_read(by_before: pd.DataFrame, unread: pd.Series) -> pd.DataFrame:
    """The prices, none where an amount of the statement was not read: what is billed of that parcel is not known."""
    if not unread.any():
        return by_before
    reason = by_before["unpriced"].astype("str").mask(unread, UNREAD)
    return by_before.assign(unpriced=reason, total_cents=by_before["total_cents"].mask(unread))


def _label_elsewhere(cases: Cases, by_before: pd.DataFrame, by_measured: pd.DataFrame) -> pd.DataFrame:
    """What a label owes on later statements, in cents by charge; below zero: what it owes on this, a later one.

    A charge of which a part was billed before (fuel, once more on what came later) owes the rest of it.
    """
    rest, first, shipment = cases.rest, cases.about["first"], cases.about["shipment"]
    if not rest.any(axis=None):
        return 0 * cases.billed
    of_label = cases.billed.where(rest.mask(first, other=True), 0)
    so_far = of_label.groupby(shipment).cumsum() - of_label
    here = (by_before[rest.columns] - so_far).where(rest, 0)
    later = rest.groupby(shipment).transform("any").mask(~first, other=False)
    return (by_measured[rest.columns] - cases.billed).where(later, 0) - here


def shapley_shares(cases: Cases, book: Rulebook, prices: Prices) -> pd.DataFrame:
    """Each player's share of v(all) − v(none) in cents, zero for players that move nothing.

    Equal parcels are priced once, and a parcel with k players that move something is priced 2^k times.
    """
    shares = np.zeros((len(cases), len(PLAYERS)), dtype=np.int64)
    number = _alike(cases)
    game_of, _ = pd.factorize(number)
    if len(number):
        found = _shares_of_games(cases, number.index[~number.duplicated()], book, prices)
        shares[cases.about.index.get_indexer(number.index)] = found[game_of]
    return pd.DataFrame(shares, index=cases.about.index, columns=list(PLAYERS))


def _shares_of_games(cases: Cases, rows: pd.Index, book: Rulebook, prices: Prices) -> Whole:
    """The shares of each of those rows, in which some player moves something: (rows, players)."""
    games, active = _Games.of(cases, rows, book, prices), cases.players.loc[rows, "active"].to_numpy(dtype=np.int64)
    shares = np.zeros((len(rows), len(PLAYERS)), dtype=np.int64)
    for bits in np.unique(active):
        own, players = np.flatnonzero(active == bits), np.flatnonzero(bits >> np.arange(len(PLAYERS)) & 1)
        shares[np.ix_(own, players)] = shapley(games.worth(own, players.tolist()))
    return shares


def _alike(cases: Cases) -> pd.Series:
    """A number for each set of equal cases in which some player moves something."""
    rows = cases.players.index[cases.players["active"] != 0]
    game = pd.concat([cases.before.loc[rows], cases.measured.loc[rows], cases.players.loc[rows]], axis=1)
    game.columns = pd.RangeIndex(game.shape[1])
    return game.groupby(list(game.columns), sort=False, dropna=False).ngroup()


@dataclass(frozen=True)
class _Games:
    """Parcels by the figures before and by the carrier's, and the players that move each of the FIGURES (bits)."""

    terms: Terms
    declared: Figures
    measured: Figures
    movers: npt.NDArray[np.int8]

    @classmethod
    def of(cls, cases: Cases, rows: pd.Index, book: Rulebook, prices: Prices) -> _Games:
        """Those of some cases."""
        both = pd.concat([cases.before.loc[rows], cases.measured.loc[rows]], ignore_index=True)
        sheet, line_of = sheet_of(both, prices)
        figures, movers = Figures.of_table(both, line_of), cases.players.loc[rows, list(FIGURES)]
        declared, measured = figures.rows(slice(len(rows))), figures.rows(slice(len(rows), None))
        return cls(Terms(sheet, book, prices), declared, measured, movers.to_numpy(dtype=np.int8).T)

    def worth(self, rows: Places, active: list[int]) -> Whole:
        """The charge for every set of the active players, for each of some rows: (rows, 2^players).

        A set without a known price counts as the dearest of the sets within it, so that the shares still add up.
        """
        declared, measured = self.declared.rows(rows), self.measured.rows(rows)
        book = self.terms.book
        fees, addresses = (list(map(column_of, book.called_by(flag))) for flag in ("corrected", "address corrected"))
        worth = np.empty((1 << len(active), len(rows)), dtype=np.int64)
        for number in range(len(worth)):
            players = sum(1 << player for place, player in enumerate(active) if number >> place & 1)
            moved = _moved(declared, measured, self.movers[:, rows], players)
            reckoned = self.terms.reckon(moved, ["total_cents", *fees, *addresses])
            priced = reckoned.columns
            charged = priced["total_cents"] - _together(priced, fees)
            by_figures = charged - _together(priced, addresses)
            if not number:
                undisputed = by_figures
            raised = np.maximum(by_figures - undisputed, 0)
            if book.takes_of_correction:
                priced = self.terms.reckon(replace(moved, correction=raised), fees).columns
            worth[number] = charged + np.where(raised > 0, _together(priced, fees), 0)
            within = [worth[number & ~(1 << place)] for place in range(len(active)) if number >> place & 1]
            if within:
                worth[number] = np.where(reckoned.unpriced, np.max(within, axis=0), worth[number])
        return worth.T


def _together(priced: Mapping[str, Whole], columns: list[str]) -> Whole | np.int64:
    return sum((priced[column] for column in columns), start=np.int64(0))


def _moved(declared: Figures, measured: Figures, movers: npt.NDArray[np.int8], players: int) -> Figures:
    """The parcels with the figures that the players (bits) move as the carrier has them, the others as declared."""
    moved = (movers & players) != 0
    address = bool(players >> ADDRESS & 1)
    flags = dict((measured if address else declared).flags)
    flags["corrected"] = measured.flags["corrected"]
    flags["size missing or wrong"] = measured.flags["size missing or wrong"] & moved[:3].any(axis=0)
    return Figures(
        sides=np.where(moved[:3], measured.sides, declared.sides),
        weight=np.where(moved[3], measured.weight, declared.weight),
        flags=flags,
        irregular=declared.irregular,
        of=(measured if players >> SERVICE & 1 else declared).of,
    )


def _charged_again(
    cases: Cases, by_before: pd.DataFrame, by_measured: pd.DataFrame, book: Rulebook, prices: Prices
) -> pd.DataFrame:
    """Cents by charge that are made once more though an earlier correction made them: a correction of a correction.

    What is over in a charge is just what the earlier correction added to it; in fuel, which is rounded, to the cent.
    """
    columns = cases.billed.columns
    again = pd.DataFrame(0, index=cases.billed.index, columns=columns)
    rows = again.index[(cases.about["earlier"] != "") & ~cases.about["first"]]
    if rows.empty:
        return again
    before, measured = by_before.loc[rows, columns], by_measured.loc[rows, columns]
    already = before - price(cases.declared.loc[rows], book, prices)[columns]
    over = cases.billed.loc[rows] + before - measured
    off = (over - already).abs()
    off["fuel_cents"] = (off["fuel_cents"] - 1).clip(lower=0)
    # Figures alone charge nothing: what was made again was billed.
    made = over.where((off == 0) & (already > 0) & (cases.billed.loc[rows] >= over), 0)
    fees = [column_of(fee) for flag in ("corrected", "address corrected") for fee in book.called_by(flag)]
    made[fees] = over[fees].clip(lower=0).where(made.any(axis=1), 0)
    again.loc[rows] = made
    return again


def _beyond_figures(
    cases: Cases,
    charged: pd.DataFrame,
    by_before: pd.DataFrame,
    by_measured: pd.DataFrame,
    book: Rulebook,
    prices: Prices,
) -> pd.DataFrame:
    """What was charged beyond the charge by the carrier's own figures, by kind: rate or carrier arithmetic.

    Fuel on an amount goes with that amount; what the fuel line is off its own percentage is carrier arithmetic, or
    unexplained beside a charge of unknown words, which may carry fuel.
    """
    columns = charged.columns
    billed = charged + by_before[columns].mask(cases.about["first"], 0)
    over = billed - by_measured[columns]
    of_rate = by_measured[columns] != 0
    of_rate["freight_cents"] = ~_follows_billed_weight(cases, billed, prices)
    plain = [column for column in columns if column != "fuel_cents"]
    rate = over[plain].where(of_rate, 0).sum(axis=1)
    arithmetic = over[plain].mask(of_rate, 0).sum(axis=1)

    fuelled = _fuelled(cases, book)
    base = billed.where(fuelled, 0).sum(axis=1)
    by_percent = money.half_up(money.product(base.to_numpy(), by_measured["fuel_ppm"].to_numpy()), 1_000_000)
    carried = over.where(fuelled, 0)
    fuel = pd.Series(by_percent, index=over.index) - by_measured["fuel_cents"]
    whole_carried = carried.sum(axis=1)
    of_rate_cents = money.product(fuel.to_numpy(), carried.where(of_rate, 0).sum(axis=1).to_numpy())
    fuel_of_rate = pd.Series(of_rate_cents // whole_carried.where(whole_carried != 0, 1).to_numpy(), over.index)
    fuel_of_rate = fuel_of_rate.astype("int64")
    off_percent = billed["fuel_cents"] - by_percent
    asked = (cases.apart[["unknown_cents", "otherwise_cents"]] != 0).any(axis=1)  # what it is may carry fuel as well
    return pd.DataFrame(
        {
            "rate": rate + fuel_of_rate,
            "carrier arithmetic": arithmetic + fuel - fuel_of_rate + off_percent.mask(asked, 0),
            "unexplained": off_percent.where(asked, 0),
        }
    )


def _fuelled(cases: Cases, book: Rulebook) -> pd.DataFrame:
    """Which charges of each case carry fuel."""
    fuelled = pd.DataFrame(data=False, index=cases.billed.index, columns=cases.billed.columns)
    for rules, rows in by_rules(book, cases.measured):
        fuelled.loc[rows, [column for charge in rules.fuel_on if (column := column_of(charge)) in fuelled]] = True
    return fuelled


def _follows_billed_weight(cases: Cases, billed: pd.DataFrame, prices: Prices) -> pd.Series:
    """The freight is the table's price for the billed weight: that weight does not follow from the figures."""
    measured = cases.measured
    sheet, line_of = sheet_of(measured, prices)
    weight = whole(cases.about["billed_weight_pg"])
    by_weight = prices.freight_cents(sheet.line[line_of], weight)
    follows = (by_weight.numbers == billed["freight_cents"]) & by_weight.known & (weight > 0)
    return pd.Series(follows, index=billed.index)
