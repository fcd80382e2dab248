"""One row for each parcel and statement: what was declared, what the carrier read, what it billed.

A figure is the carrier's own only where it differs from the declared one after the rule's rounding; otherwise the
carrier's figure is the declared one. Each figure that differs is moved by one player of the attribution: by "rounding"
when the reading lies within the measuring tolerance of the declared figure, by the side or the weight itself otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.infer import inferred
from auditor.tariff import Prices, Rounding, Rulebook, Rules, column_of, price
from auditor.tariff.price import FLAGS

SIDES = ("length_nm", "width_nm", "height_nm")
FIGURES = (*SIDES, "weight_pg")
PLAYERS = ("rounding", "longest side", "other sides", "weight", "address", "service or zone")
ROUNDING, LONGEST, OTHER_SIDES, WEIGHT, ADDRESS, SERVICE = range(len(PLAYERS))
OWN_PLAYER = dict(zip(FIGURES, (LONGEST, OTHER_SIDES, OTHER_SIDES, WEIGHT), strict=True))

FLAGS_OF_CARRIER = ("address_corrected", "corrected", "size_wrong")
"""Flags that only the carrier sets: they are no in what the seller declares."""

Whole = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Cases:
    """Tables over the same index, a row for each parcel and statement in order of parcel and statement date.

    `about`: statement, shipment (row of shipments), tracking as billed, first (the label's charges are billed here),
    probability (of a reading that is inferred; missing where it was shown) and could_be, what else would fit.
    `declared`, `read`: service, zone, shipped_on, the FIGURES and the flags, ready for `price`. `players`: for each of
    the FIGURES the player that moves it (-1: it does not differ), and `active`, a bit for each player that moves
    something. `billed`: cents by charge, without credits, duplicates, taxes and words that are not known, which stand
    in `apart`. `of_line`: the case of each statement line; `again`: whether a line bills again what one before it did.
    """

    about: pd.DataFrame
    declared: pd.DataFrame
    read: pd.DataFrame
    players: pd.DataFrame
    billed: pd.DataFrame
    apart: pd.DataFrame
    of_line: pd.Series
    again: pd.Series

    def __len__(self) -> int:
        return len(self.about)


def build(lines: pd.DataFrame, shipments: pd.DataFrame, notices: pd.DataFrame, book: Rulebook, prices: Prices) -> Cases:
    """Gather lines, records and notices into cases.

    Args:
        lines: LINES with `shipment`, the row of `shipments` each belongs to, and no line without one.
        shipments: SHIPMENTS.
        notices: NOTICES with `shipment` likewise.
        book: for its rounding and tolerance.
        prices: to tell which billed weights the sides explain.
    """
    lines = lines.assign(repeated=repeated(lines), order_=np.arange(len(lines)))
    lines = lines.sort_values(["shipment", "statement_on", "statement", "order_"], na_position="first")
    groups = lines.groupby(["shipment", "statement"], sort=False, dropna=False)
    about = groups.agg(tracking=("tracking", "first"), statement_on=("statement_on", "first")).reset_index()
    case = groups.ngroup()
    about["first"] = _first_with_label(lines, case, len(about))
    amounts = _amounts(lines, case, book.charges, len(about))
    shown = _shown(lines, case, len(about))
    declared = _declared(about, shipments, shown)
    raw = _raw_reading(about, notices)
    billed_columns = ["freight_cents", *map(column_of, book.charges), "fuel_cents"]
    read, players = _read(declared, shown, raw, amounts, book, prices)
    about = about.assign(probability=np.nan, could_be="")
    hidden = _hidden(lines, case, raw, amounts, len(about))
    if hidden.any():
        carton = shipments["carton"].loc[about["shipment"].astype(int)].reset_index(drop=True)
        guessed = _inferred(hidden, declared, read, players, amounts, shown, carton, book, prices, about["first"])
        about.loc[guessed.index, "probability"] = guessed["probability"]
        about.loc[guessed.index, "could_be"] = guessed["others"]
        # A weight is put down as billed, not as read: it is known in whole steps only.
        printed = {f"billed_{side}": guessed[side] for side in SIDES} | {"billed_weight_pg": guessed["billable_pg"]}
        for column, values in printed.items():
            shown[column] = values.astype("Int64").reindex(shown.index).fillna(shown[column])
        amounts.loc[guessed.index, billed_columns] = guessed[billed_columns]
        amounts.loc[guessed.index, "unknown_cents"] -= guessed["lump_cents"]
        read, players = _read(declared, shown, raw, amounts, book, prices)
    about["read_rounded"] = raw[SIDES[0]].isna().to_numpy()
    about["billed_weight_pg"] = shown["billed_weight_pg"]
    return Cases(
        about=about,
        declared=declared,
        read=read,
        players=players,
        billed=amounts[billed_columns],
        apart=amounts[["credit_cents", "repeated_cents", "tax_cents", "unknown_cents"]],
        of_line=case.sort_index(),
        again=lines["repeated"].sort_index(),
    )


def _hidden(lines: pd.DataFrame, case: pd.Series, raw: pd.DataFrame, amounts: pd.DataFrame, count: int) -> pd.Series:
    """Cases with adjustments that show no side and no scale weight, and about which there is no notice."""
    adjusted = lines["state"] == "adjustment"
    figures = [f"billed_{side}" for side in SIDES] + ["read_weight_pg"]
    shows = lines.loc[adjusted, figures].notna().any(axis=1).groupby(case[adjusted]).any().reindex(range(count))
    silent = ~shows.astype("boolean").fillna(value=True)  # missing is a case without adjustments
    return silent & raw.isna().all(axis=1) & (amounts["credit_cents"] == 0)


def _inferred(
    hidden: pd.Series,
    declared: pd.DataFrame,
    read: pd.DataFrame,
    players: pd.DataFrame,
    amounts: pd.DataFrame,
    shown: pd.DataFrame,
    carton: pd.Series,
    book: Rulebook,
    prices: Prices,
    first: pd.Series,
) -> pd.DataFrame:
    """Readings inferred from the bill alone, with the bill charge by charge as they give it where it was a lump."""
    rows = hidden.index[hidden]
    parcels = declared.loc[rows].assign(carton=carton.loc[rows])
    of_carrier = ["service", "zone", *FLAGS.values()]
    parcels[of_carrier] = read.loc[rows, of_carrier]
    before = price(declared.loc[rows], book, prices)
    columns = ["freight_cents", *map(column_of, book.charges), "fuel_cents"]
    billed = amounts.loc[rows, columns] + before[columns].mask(first.loc[rows], 0)
    lump = amounts.loc[rows, "unknown_cents"]
    weight = shown.loc[rows, "billed_weight_pg"].mask(lump != 0)
    billed = billed.assign(lump_cents=lump, billed_weight_pg=weight)
    before_this = _seen_before(declared, read, players, carton, hidden, book)
    guessed = inferred(parcels, billed, before_this, book, prices)
    if guessed.empty:
        return guessed.assign(lump_cents=0, billable_pg=0, **dict.fromkeys(columns, 0))
    as_read = price(parcels.loc[guessed.index].assign(**{name: guessed[name] for name in FIGURES}), book, prices)
    charged = as_read[columns] - before.loc[guessed.index, columns].mask(first.loc[guessed.index], 0)
    return guessed.join(charged).assign(lump_cents=lump.loc[guessed.index], billable_pg=as_read["billable_pg"])


def _seen_before(
    declared: pd.DataFrame,
    read: pd.DataFrame,
    players: pd.DataFrame,
    carton: pd.Series,
    hidden: pd.Series,
    book: Rulebook,
) -> pd.DataFrame:
    """The steps by which the carrier's shown readings went beyond the declared figures, by carton."""
    frames = [pd.DataFrame({"carton": [], "longer": [], "wider": [], "higher": [], "heavier": []})]
    for rules, rows in by_rules(book, declared):
        known = rows[(~hidden.loc[rows] & (players.loc[rows, list(FIGURES)] >= 0).any(axis=1)).to_numpy()]
        steps = {
            name: (rounding.steps(read.loc[known, figure]) - rounding.steps(declared.loc[known, figure])).clip(lower=0)
            for name, figure, rounding in zip(
                ("longer", "wider", "higher", "heavier"),
                FIGURES,
                (rules.side_rounding, rules.side_rounding, rules.side_rounding, rules.weight_rounding),
                strict=True,
            )
        }
        frames.append(pd.DataFrame({"carton": carton.loc[known], **steps}))
    return pd.concat(frames, ignore_index=True)


def repeated(lines: pd.DataFrame) -> pd.Series:
    """Which lines bill again what an earlier line billed: the same parcel, charge, amount and figures."""
    same = ["shipment", "description", "charge", "state", "amount_cents", "service", "zone", "billed_weight_pg"]
    same += [f"billed_{side}" for side in SIDES]
    in_time = lines.sort_values(["statement_on"], kind="stable", na_position="first")
    again = in_time.duplicated(same).reindex(lines.index)
    return again & (lines["amount_cents"] > 0).fillna(value=False)


def _first_with_label(lines: pd.DataFrame, case: pd.Series, count: int) -> npt.NDArray[np.bool_]:
    """Whether the case is its parcel's first that bills the label itself."""
    label = case[(lines["state"] == "label charge") & ~lines["repeated"]]
    first = label.groupby(lines["shipment"].loc[label.index]).min()
    return np.isin(np.arange(count), first.to_numpy())


def _amounts(lines: pd.DataFrame, case: pd.Series, charges: tuple[str, ...], count: int) -> pd.DataFrame:
    known = lines["charge"].isin(["freight", *charges, "fuel"])
    kind = lines["charge"].where(known, "unknown").map(column_of)
    kind = kind.mask(lines["state"] == "tax", "tax_cents")
    kind = kind.mask(lines["repeated"], "repeated_cents").mask(lines["state"] == "credit", "credit_cents")
    sums = lines["amount_cents"].fillna(0).astype(np.int64).groupby([case, kind]).sum().unstack(fill_value=0)
    columns = ["freight_cents", *map(column_of, charges), "fuel_cents"]
    columns += ["credit_cents", "repeated_cents", "tax_cents", "unknown_cents"]
    return sums.reindex(index=range(count), columns=columns, fill_value=0)


def _shown(lines: pd.DataFrame, case: pd.Series, count: int) -> pd.DataFrame:
    """The figures the statement shows for each case: an adjustment's before the label's, the last one printed."""
    figures = ["service", "zone", "shipped_on", "billed_weight_pg", "read_weight_pg"]
    figures += [f"billed_{side}" for side in SIDES]
    later = lines["state"].map({"adjustment": 1}).fillna(0)
    rows = lines[~lines["repeated"] & (lines["state"] != "credit")]
    rows = rows.assign(case=case, later=later).sort_values(["case", "later"], kind="stable")
    return rows.groupby("case")[figures].last().reindex(range(count))


def _declared(about: pd.DataFrame, shipments: pd.DataFrame, shown: pd.DataFrame) -> pd.DataFrame:
    """The seller's figures; service, zone and ship date are the carrier's where the seller recorded none."""
    columns = ["service", "zone", "shipped_on", *FIGURES, "residential"]
    own = shipments.loc[about["shipment"].to_numpy(dtype=np.int64), columns].reset_index(drop=True)
    for column in ("service", "zone", "shipped_on"):
        own[column] = own[column].fillna(shown[column])
    return own.assign(residential=own["residential"].fillna(value=False), **dict.fromkeys(FLAGS_OF_CARRIER, False))


def _raw_reading(about: pd.DataFrame, notices: pd.DataFrame) -> pd.DataFrame:
    """What notices say was measured, unrounded, for each case; missing where there is no notice."""
    last = notices.sort_values("noticed_on", kind="stable").groupby("shipment")[[f"read_{f}" for f in FIGURES]].last()
    raw = last.reindex(about["shipment"]).reset_index(drop=True)
    return raw.rename(columns={f"read_{figure}": figure for figure in FIGURES})


def _read(
    declared: pd.DataFrame,
    shown: pd.DataFrame,
    raw: pd.DataFrame,
    amounts: pd.DataFrame,
    book: Rulebook,
    prices: Prices,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The carrier's figures and the player that moves each."""
    read = declared.copy()
    players = pd.DataFrame(-1, index=declared.index, columns=list(FIGURES))
    for rules, rows in by_rules(book, declared):
        for side in SIDES:
            reading, near = _against(
                declared.loc[rows, side],
                raw.loc[rows, side],
                shown.loc[rows, f"billed_{side}"],
                rules.side_rounding,
                rules.side_tolerance_nm,
            )
            read.loc[rows, side] = reading
            players.loc[rows, side] = _player(declared.loc[rows, side], reading, near, side)
    for column in ("service", "zone"):
        read[column] = shown[column].fillna(declared[column])
    for word, column in FLAGS.items():
        billed = amounts[[column_of(charge) for charge in book.called_by(word)]].gt(0).any(axis=1)
        read[column] = declared[column] | billed
    scale = raw["weight_pg"].fillna(shown["read_weight_pg"])
    told = _told_by_billed_weight(read, shown["billed_weight_pg"].mask(scale.notna()), book, prices)
    for rules, rows in by_rules(book, declared):
        reading, near = _against(
            declared.loc[rows, "weight_pg"],
            scale.loc[rows],
            told.loc[rows],
            rules.weight_rounding,
            rules.weight_tolerance_pg,
        )
        read.loc[rows, "weight_pg"] = reading
        players.loc[rows, "weight_pg"] = _player(declared.loc[rows, "weight_pg"], reading, near, "weight_pg")
    players["active"] = _active(declared, read, players)
    return read, players


def by_rules(book: Rulebook, declared: pd.DataFrame) -> list[tuple[Rules, pd.Index]]:
    """The rules of `declared` parcels, each with the rows that fall under them; a row without rules is left out."""
    dated = declared.dropna(subset=["shipped_on"])
    number = dated.groupby(["service", "shipped_on"], dropna=False).ngroup()
    firsts = dated[~number.duplicated()]
    rules_of = {
        number[label]: book.on(service, day.date())
        for label, service, day in zip(firsts.index, firsts["service"], firsts["shipped_on"], strict=True)
    }
    distinct = {id(rules): rules for rules in rules_of.values() if rules is not None}
    key = number.map({one: id(rules) for one, rules in rules_of.items()})
    return [(rules, dated.index[key == of]) for of, rules in distinct.items()]


def _against(
    declared: pd.Series, raw: pd.Series, printed: pd.Series, rounding: Rounding, tolerance: int
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
    differs = (declared != reading).fillna(value=True)
    return near.map({True: ROUNDING, False: OWN_PLAYER[figure]}).where(differs, -1).astype(np.int64)


def _told_by_billed_weight(read: pd.DataFrame, billed: pd.Series, book: Rulebook, prices: Prices) -> pd.Series:
    """What a billed weight says of the scale's reading: nothing where the sides and the declared weight explain it.

    Nor where it lies below what the sides alone come to: then it does not follow from the carrier's own figures.
    """
    priced = price(read.assign(**dict.fromkeys(FLAGS_OF_CARRIER, False)), book, prices, detail=True)
    by_sides = priced[["dimensional_weight_pg", "least_billable_pg"]].max(axis=1)
    silent = (billed == priced["billable_pg"]) | (billed < by_sides)
    return billed.mask(silent.fillna(value=True))


def _active(declared: pd.DataFrame, read: pd.DataFrame, players: pd.DataFrame) -> pd.Series:
    """A bit for each player that moves something."""
    address = (read["residential"] != declared["residential"]) | read["address_corrected"]
    service = _plain_differs(declared["service"], read["service"]) | _plain_differs(declared["zone"], read["zone"])
    bits = np.where(address, 1 << ADDRESS, 0) | np.where(service, 1 << SERVICE, 0)
    for figure in FIGURES:
        player = players[figure].to_numpy(dtype=np.int64)
        bits |= np.where(player < 0, 0, 1 << np.maximum(player, 0))
    return pd.Series(bits, index=declared.index)


def _plain_differs(one: pd.Series, other: pd.Series) -> pd.Series:
    differs: pd.Series = one.str.casefold().str.strip() != other.str.casefold().str.strip()
    return differs & one.notna() & other.notna()
