"""What the carrier read of each parcel, statement by statement, and which player moves each figure.

Every parcel's first statement is read against the declared figures, its second against those by which the parcel stands
billed after the first, and so on.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

import numpy as np
import pandas as pd

from auditor.charges.measured.inferred import inferred
from auditor.charges.measured.repriced import repriced
from auditor.charges.schema import ADDRESS, FLAGS_OF_CARRIER, OWN_PLAYER, ROUNDING, SERVICE, by_rules
from auditor.core.arrays import Whole
from auditor.core.sides import FIGURES, SIDES
from auditor.tariff import Prices, Rounding, Rulebook, column_of, price
from auditor.tariff.figures import FLAGS, whole

MOST_TURNS = 24
"""So many statements about one parcel are held each against the one before; later ones against the last of those."""


@dataclass(frozen=True)
class Seen:
    """What statements and notices say of each case. Inference puts the readings it finds into `shown` and `amounts`.

    `back`: money back by charge, as a part of `amounts["credit_cents"]`. `hidden`: no reading is shown; `mute`: a
    correction shows no figure at all.
    """

    about: pd.DataFrame
    shown: pd.DataFrame
    raw: pd.DataFrame
    amounts: pd.DataFrame
    back: pd.DataFrame
    hidden: pd.Series
    mute: pd.Series
    carton: pd.Series
    book: Rulebook
    prices: Prices

    @property
    def billed_columns(self) -> tuple[str, ...]:
        """The columns of `amounts` for the charges of the rules."""
        return ("freight_cents", *map(column_of, self.book.charges), "fuel_cents")


class Turn(NamedTuple):
    """The figures before, the figures read and the players of some cases, see `Cases`."""

    before: pd.DataFrame
    measured: pd.DataFrame
    players: pd.DataFrame

    def of(self, rows: pd.Index) -> Turn:
        """Those of fewer cases."""
        return Turn(*(table.loc[rows] for table in self))


def in_turn(seen: Seen, declared: pd.DataFrame) -> Turn:
    """The figures before, those read, and the players: of each parcel's first statement, of its second, and so on."""
    earlier_turns: list[Turn] = []
    stands = _Standing(declared, pd.Series("", declared.index), pd.Series(0, declared.index))
    for rows, previous in _by_turn(seen.about):
        if previous is not None:
            stands = _standing(seen, stands.of(previous), earlier_turns[-1].of(previous), declared).as_rows(rows)
        first = seen.about.loc[rows, "first"]
        before = stands.figures.loc[rows].mask(first, declared.loc[rows])
        seen.about.loc[rows, "earlier"] = stands.earlier.loc[rows].mask(first, "")
        earlier_turns.append(Turn(before, *_read_or_inferred(seen, before, earlier_turns)))
    return Turn(*(pd.concat(tables).sort_index() for tables in zip(*earlier_turns, strict=True)))


def _by_turn(about: pd.DataFrame) -> Iterator[tuple[pd.Index, pd.Index | None]]:
    """The cases that are their parcels' first, second …, each with the cases before them (None for the first)."""
    turn = about.groupby("shipment").cumcount()
    yield turn.index[turn == 0], None
    later = turn[turn > 0].clip(upper=MOST_TURNS)
    for number, turn_of in later.groupby(later):
        yield turn_of.index, turn_of.index - (turn.loc[turn_of.index] - int(str(number)) + 1).to_numpy()


@dataclass(frozen=True)
class _Standing:
    """By which figures parcels stand billed, which statement corrected them so, and what corrections come to so far."""

    figures: pd.DataFrame
    earlier: pd.Series
    net_cents: pd.Series

    def of(self, rows: pd.Index) -> _Standing:
        """Those of some cases."""
        return _Standing(self.figures.loc[rows], self.earlier.loc[rows], self.net_cents.loc[rows])

    def as_rows(self, rows: pd.Index) -> _Standing:
        """The same handed on to the parcels' next cases."""
        return _Standing(self.figures.set_axis(rows), self.earlier.set_axis(rows), self.net_cents.set_axis(rows))


def _standing(seen: Seen, stood: _Standing, turn: Turn, declared: pd.DataFrame) -> _Standing:
    """By which figures the parcels stand billed after these cases.

    By those read, where the bill is nearer to them than to those before; by the declared ones, where money back has
    undone all corrections.
    """
    before, measured, players = turn
    about, amounts = seen.about.loc[before.index], seen.amounts.loc[before.index]
    by_before, by_measured = (price(parcels, seen.book, seen.prices)["total_cents"] for parcels in (before, measured))
    on_this = amounts[list(seen.billed_columns)].sum(axis=1)
    billed = on_this + by_before.mask(about["first"], 0)
    takes = (players["active"] != 0) & ((billed - by_measured).abs() <= (billed - by_before).abs()).fillna(value=True)
    corrections = on_this - by_before.where(about["first"], 0) + amounts["repeated_cents"] + amounts["credit_cents"]
    net = stood.net_cents + corrections.fillna(0).astype(np.int64)
    undone = (amounts["credit_cents"] < 0) & (net <= 0)
    figures = stood.figures.mask(takes, measured).mask(undone, declared.loc[before.index])
    return _Standing(
        figures=figures.assign(**dict.fromkeys(FLAGS_OF_CARRIER, False)),
        earlier=stood.earlier.mask(takes, about["statement"].fillna("without a number")).mask(undone, ""),
        net_cents=net,
    )


def _read_or_inferred(
    seen: Seen, before: pd.DataFrame, earlier_turns: Sequence[Turn]
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The figures read and the players, where nothing is shown as the bill implies them."""
    _put_together(seen, before)
    measured, players = _read(seen, before)
    if _summed(seen, before, measured, players):
        measured, players = _read(seen, before)
    rows = before.index
    unsaid = (seen.about.loc[rows, "partly"] & (players["active"] == 0)).reindex(seen.about.index, fill_value=False)
    shown = (seen.amounts["credit_cents"] == 0) & ~seen.about["in_one_sum"]
    hidden = ((seen.hidden | unsaid) & shown).loc[rows]
    if not hidden.any():
        return measured, players
    so_far = [pd.concat(tables) for tables in zip(*earlier_turns, (before, measured, players), strict=True)]
    readings = _seen_before(seen, *so_far)
    _put_down(seen, _unsaid(seen, before, _inferred(seen, before.loc[hidden], measured.loc[hidden], readings)))
    left = hidden & (seen.mute | unsaid).loc[rows] & seen.about.loc[rows, "probability"].isna()
    if left.any():
        of_sums = _inferred(seen, before.loc[left], measured.loc[left], readings, in_one_sum=True)
        of_sums = _unsaid(seen, before, of_sums)
        _put_down(seen, of_sums)
        seen.about.loc[of_sums.index, "in_one_sum"] = True
    return _read(seen, before)


def _unsaid(seen: Seen, before: pd.DataFrame, guessed: pd.DataFrame) -> pd.DataFrame:
    """The readings that were inferred, but for those that move a figure which is shown as it was declared."""
    raw, declared = seen.raw.loc[guessed.index], before.loc[guessed.index]
    moves = [(guessed[name] != declared[name]) & raw[name].notna() for name in FIGURES if name in guessed]
    against = pd.concat(moves, axis=1).any(axis=1) if moves else pd.Series(data=False, index=guessed.index)
    kept: pd.DataFrame = guessed[~(against.fillna(value=False) & seen.about.loc[guessed.index, "partly"])]
    return kept


def _put_down(seen: Seen, guessed: pd.DataFrame) -> None:
    """Put readings that were inferred, and the bill charge by charge as they give it, among what is seen."""
    seen.about.loc[guessed.index, "probability"] = guessed["probability"]
    seen.about.loc[guessed.index, "could_be"] = guessed["others"]
    # A weight is put down as billed, not as read: it is known in whole steps only.
    printed = {f"billed_{side}": guessed[side] for side in SIDES} | {"billed_weight_pg": guessed["billable_pg"]}
    for column, values in printed.items():
        seen.shown[column] = values.astype("Int64").reindex(seen.shown.index).fillna(seen.shown[column])
    columns = list(seen.billed_columns)
    seen.amounts.loc[guessed.index, columns] = guessed[columns]
    lumps = ["unknown_cents", "otherwise_cents"]
    seen.amounts.loc[guessed.index, lumps] = seen.amounts.loc[guessed.index, lumps].mask(guessed["lump_cents"] != 0, 0)


def _put_together(seen: Seen, before: pd.DataFrame) -> None:
    """Take money back for a part of a correction, where a charge that is due by the figures before gives way to others.

    Of a parcel of which something was charged twice, it may be the second charge that is given back.
    """
    twice = seen.about.loc[seen.amounts["repeated_cents"] != 0, "shipment"]
    rows = before.index[(seen.amounts["credit_cents"] < 0).loc[before.index]]
    rows = rows[~seen.about.loc[rows, "shipment"].isin(twice)]
    if rows.empty:
        return
    columns, first = list(seen.billed_columns), seen.about.loc[rows, "first"]
    due = price(before.loc[rows], seen.book, seen.prices)[columns]
    amounts, back = seen.amounts.loc[rows], seen.back.loc[rows]
    taken = ((back[columns] < 0) & (back[columns] == -due)).any(axis=1)
    made = (amounts[columns] - due.mask(~first, 0)).clip(lower=0).sum(axis=1)
    made += amounts[["unknown_cents", "otherwise_cents"]].clip(lower=0).sum(axis=1)
    answered = rows[(taken & (made > 0)).to_numpy()]
    seen.amounts.loc[answered, [*columns, "unknown_cents"]] += seen.back.loc[answered, [*columns, "unknown_cents"]]
    seen.amounts.loc[answered, "credit_cents"] = 0


def _summed(seen: Seen, before: pd.DataFrame, measured: pd.DataFrame, players: pd.DataFrame) -> bool:
    """Put down charge by charge what the carrier's figures explain in all, to the cent, whatever its words say.

    With the fee for a correction, or without where a word taken for it stands for the whole. A cent more or less, as
    fuel is rounded by itself, is put among what is not known.
    """
    columns, lumps = list(seen.billed_columns), ["unknown_cents", "otherwise_cents"]
    one_sum = seen.about["first"] & (seen.amounts["unknown_cents"] != 0) & (seen.amounts[columns] == 0).all(axis=1)
    one_sum |= seen.about["prepaid"] & (seen.amounts["unknown_cents"] != 0)
    rows = before.index[((players["active"] != 0) | one_sum.loc[before.index]).to_numpy()]
    if rows.empty:
        return False
    plain = [column for column in columns if column != "fuel_cents"]
    first = seen.about.loc[rows, "first"]
    by_before = price(before.loc[rows], seen.book, seen.prices)
    amounts = seen.amounts.loc[rows]
    billed = amounts[[*columns, *lumps]].sum(axis=1)
    found = pd.Series(data=False, index=rows)
    every = [
        _added(seen, figures, by_before, first)
        for figures in (measured.loc[rows], measured.loc[rows].assign(corrected=False))
    ]
    for cents, due in product((0, 1, -1), every):
        asked = (amounts[columns] != due).any(axis=1)
        if cents:
            asked = (amounts[plain] != due[plain]).any(axis=1) & (due["fuel_cents"] != 0)
        fits = rows[(asked & ~found & (due.sum(axis=1, skipna=False) + cents == billed)).fillna(value=False).to_numpy()]
        if fits.empty:
            continue
        seen.amounts.loc[fits, columns] = due.loc[fits].astype(np.int64)
        seen.amounts.loc[fits, lumps] = cents, 0
        found[fits] = True
    found |= _at_one_price(seen, rows[~found.to_numpy()], every[0])
    seen.about.loc[rows[found.to_numpy()], "in_one_sum"] = True
    return bool(found.any())


def _at_one_price(seen: Seen, asked: pd.Index, due: pd.DataFrame) -> pd.Series:
    """Put down as due what corrections of prepaid labels come to by the figures they show, and what is off as freight.

    A label has one price, so that what does not follow is off in that, and in none of the charges it is made of.
    """
    columns, lumps = list(seen.billed_columns), ["unknown_cents", "otherwise_cents"]
    known = due.loc[asked].notna().all(axis=1) & seen.about.loc[asked, "prepaid"] & ~seen.about.loc[asked, "partly"]
    rows = asked[known.to_numpy()]
    owed = due.loc[rows].astype(np.int64)
    off = seen.amounts.loc[rows, [*columns, *lumps]].sum(axis=1) - owed.sum(axis=1)
    seen.amounts.loc[rows, columns] = owed.assign(freight_cents=owed["freight_cents"] + off)
    seen.amounts.loc[rows, lumps] = 0
    return pd.Series(due.index.isin(rows), index=due.index)


def _added(seen: Seen, figures: pd.DataFrame, by_before: pd.DataFrame, first: pd.Series) -> pd.DataFrame:
    """What statements owe by these figures, by charge: all, or what is added; missing where a price is not known."""
    columns = list(seen.billed_columns)
    by_measured = repriced(figures, by_before, seen.book, seen.prices)
    known = by_before["unpriced"].isna() & by_measured["unpriced"].isna()
    return (by_measured[columns] - by_before[columns].mask(first, 0)).where(known)


def _inferred(
    seen: Seen, before: pd.DataFrame, measured: pd.DataFrame, seen_before: pd.DataFrame, *, in_one_sum: bool = False
) -> pd.DataFrame:
    """Readings inferred from the bill alone, with the bill charge by charge as they give it where it was a lump.

    `in_one_sum`: the bill is taken for a lump as a whole, whatever its words say.
    """
    rows, book, prices = before.index, seen.book, seen.prices
    amounts, first = seen.amounts.loc[rows], seen.about.loc[rows, "first"]
    parcels = before.assign(carton=seen.carton.loc[rows])
    of_carrier = ["service", "zone", *FLAGS.values()]
    parcels[of_carrier] = measured[of_carrier]
    columns = list(seen.billed_columns)
    charged_before = price(before, book, prices)[columns].mask(first, 0)
    lump = amounts["unknown_cents"] + amounts["otherwise_cents"]
    if in_one_sum:
        lump += amounts[columns].sum(axis=1)
        amounts = amounts.assign(**dict.fromkeys(columns, 0))
    weight = seen.shown.loc[rows, "billed_weight_pg"].mask(lump != 0)
    billed = (amounts[columns] + charged_before).assign(lump_cents=lump, billed_weight_pg=weight)
    guessed = inferred(parcels, billed, seen_before, book, prices)
    if guessed.empty:
        return guessed.assign(lump_cents=0, billable_pg=0, **dict.fromkeys(columns, 0))
    as_read = price(parcels.loc[guessed.index].assign(**{name: guessed[name] for name in FIGURES}), book, prices)
    charged = as_read[columns] - charged_before.loc[guessed.index]
    return guessed.join(charged).assign(lump_cents=lump.loc[guessed.index], billable_pg=as_read["billable_pg"])


def _seen_before(seen: Seen, before: pd.DataFrame, measured: pd.DataFrame, players: pd.DataFrame) -> pd.DataFrame:
    """The steps by which the carrier's shown readings went beyond the figures before them, by carton.

    A parcel of which a figure is not known tells nothing of how its figures move together.
    """
    frames = [pd.DataFrame({"carton": [], "longer": [], "wider": [], "higher": [], "heavier": []})]
    for rules, rows in by_rules(seen.book, before):
        known = rows[(~seen.hidden.loc[rows] & (players.loc[rows, list(FIGURES)] != 0).any(axis=1)).to_numpy()]
        steps = {
            name: (rounding.steps(measured.loc[known, figure]) - rounding.steps(before.loc[known, figure])).clip(
                lower=0
            )
            for name, figure, rounding in zip(
                ("longer", "wider", "higher", "heavier"),
                FIGURES,
                (rules.side_rounding, rules.side_rounding, rules.side_rounding, rules.weight_rounding),
                strict=True,
            )
        }
        frames.append(pd.DataFrame({"carton": seen.carton.loc[known], **steps}))
    return pd.concat(frames, ignore_index=True).dropna(subset=["longer", "wider", "higher", "heavier"])


def _read(seen: Seen, before: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The carrier's figures and the player that moves each."""
    book, shown, raw, amounts = seen.book, *(one.loc[before.index] for one in (seen.shown, seen.raw, seen.amounts))
    measured = before.copy()
    players = pd.DataFrame(0, index=before.index, columns=list(FIGURES))
    for rules, rows in by_rules(book, before):
        for side in SIDES:
            reading, near = _against(
                before.loc[rows, side],
                raw.loc[rows, side],
                shown.loc[rows, f"billed_{side}"],
                rules.side_rounding,
                rules.side_tolerance_nm,
            )
            measured.loc[rows, side] = reading
            players.loc[rows, side] = _player(before.loc[rows, side], reading, near, side)
    for column in ("service", "zone"):
        measured[column] = shown[column].fillna(before[column])
    for word, column in FLAGS.items():
        billed = amounts[[column_of(charge) for charge in book.called_by(word)]].gt(0).any(axis=1)
        measured[column] = before[column] | billed
    scale = raw["weight_pg"].fillna(shown["measured_weight_pg"])
    by_billed = _by_billed_weight(measured, shown["billed_weight_pg"].mask(scale.notna()), book, seen.prices)
    for rules, rows in by_rules(book, before):
        reading, near = _against(
            before.loc[rows, "weight_pg"],
            scale.loc[rows],
            by_billed.loc[rows],
            rules.weight_rounding,
            rules.weight_tolerance.at(whole(scale.loc[rows].fillna(by_billed.loc[rows]))),
        )
        measured.loc[rows, "weight_pg"] = reading
        players.loc[rows, "weight_pg"] = _player(before.loc[rows, "weight_pg"], reading, near, "weight_pg")
    players["active"] = _active(before, measured, players)
    return measured, players


def _against(
    declared: pd.Series, raw: pd.Series, printed: pd.Series, rounding: Rounding, tolerance: int | Whole
) -> tuple[pd.Series, pd.Series]:
    """The carrier's figure where it rounds to another step than the declared one, and whether it lies within tolerance.

    A printed figure that is whole steps may stand for any reading that rounds to it, so it is the nearest of those that
    is held against the declared figure.
    """
    reading = raw.fillna(printed)
    differs = (rounding.steps(reading) != rounding.steps(declared)).fillna(value=False) & reading.notna()
    low, high = rounding.span(reading)
    low = low.mask(raw.notna() | (reading % rounding.step != 0), reading)
    high = high.mask(raw.notna() | (reading % rounding.step != 0), reading)
    distance = (low - declared).clip(lower=0) + (declared - high).clip(lower=0)
    return reading.where(differs, declared), (distance <= tolerance).fillna(value=False)


def _player(declared: pd.Series, reading: pd.Series, near: pd.Series, figure: str) -> pd.Series:
    """The bit of the player that moves a figure, none where it does not differ."""
    differs = (declared != reading).fillna(value=True)
    return near.map({True: 1 << ROUNDING, False: 1 << OWN_PLAYER[figure]}).where(differs, 0).astype(np.int64)


def _by_billed_weight(measured: pd.DataFrame, billed: pd.Series, book: Rulebook, prices: Prices) -> pd.Series:
    """What a billed weight says of the scale's reading: nothing where the sides and the declared weight explain it.

    Nor where it lies below what the sides alone come to: then it does not follow from the carrier's own figures.
    """
    priced = price(measured.assign(**dict.fromkeys(FLAGS_OF_CARRIER, False)), book, prices, detail=True)
    by_sides = priced[["dimensional_weight_pg", "least_billable_pg"]].max(axis=1)
    silent = (billed == priced["billable_pg"]) | (billed < by_sides)
    return billed.mask(silent.fillna(value=True))


def _active(declared: pd.DataFrame, measured: pd.DataFrame, players: pd.DataFrame) -> pd.Series:
    """A bit for each player that moves something."""
    address = (measured["residential"] != declared["residential"]) | measured["address_corrected"]
    service = _plain_differs(declared["service"], measured["service"]) | _plain_differs(
        declared["zone"], measured["zone"]
    )
    bits = np.where(address, 1 << ADDRESS, 0) | np.where(service, 1 << SERVICE, 0)
    return pd.Series(bits | np.bitwise_or.reduce(players[list(FIGURES)].to_numpy(), axis=1), index=declared.index)


def _plain_differs(left: pd.Series, right: pd.Series) -> pd.Series:
    differs: pd.Series = left.str.casefold().str.strip() != right.str.casefold().str.strip()
    return differs & left.notna() & right.notna()
