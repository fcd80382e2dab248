"""Statement lines, records and notices gathered into cases."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.cases import FIGURES, FLAGS_OF_CARRIER, SIDES, Cases
from auditor.credits import answered
from auditor.tariff import Prices, Rulebook, column_of
from auditor.taxes import doubtful
from auditor.turns import Seen, in_turn


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
    lines["repeated"] |= _label_again(lines, case)
    lines["repeated"] &= ~_fee_renewed(lines, case)
    about["made_on"] = _made_on(lines, case).reindex(about.index).fillna("")
    about["first"] = _first_with_label(lines, case, len(about))
    amounts = _amounts(lines, case, book.charges, len(about))
    about = about.join(_tax(about, amounts))
    amounts["odd_tax_cents"], amounts["tax_cents"] = (
        amounts["tax_cents"] - about["tax_due_cents"],
        about["tax_due_cents"],
    )
    shown = _shown(lines, case, len(about))
    corrected = case[lines["state"].isin(["adjustment", "fee"])]
    raw = _raw_reading(about.assign(corrected=about.index.isin(corrected)), notices)
    carton = shipments["carton"].loc[about["shipment"].astype(int)].reset_index(drop=True)
    voided = shipments["voided"].loc[about["shipment"].astype(int)].fillna(value=False).to_numpy(dtype=bool)
    about = about.assign(voided=voided, earlier="", probability=np.nan, could_be="")
    seen = Seen(about, shown, raw, amounts, _hidden(lines, case, raw, amounts, len(about)), carton, book, prices)
    declared = _declared(about, shipments, shown)
    before, read, players = in_turn(seen, declared)
    about["read_rounded"] = raw[SIDES[0]].isna().to_numpy()
    about["billed_weight_pg"] = shown["billed_weight_pg"]
    return Cases(
        about=about,
        declared=declared,
        before=before,
        read=read,
        players=players,
        billed=amounts[list(seen.billed_columns)],
        apart=amounts[["credit_cents", "repeated_cents", "tax_cents", "odd_tax_cents", "unknown_cents"]],
        of_line=case.sort_index(),
        again=lines["repeated"].sort_index(),
        credits=answered(lines, case, about),
    )


def _hidden(lines: pd.DataFrame, case: pd.Series, raw: pd.DataFrame, amounts: pd.DataFrame, count: int) -> pd.Series:
    """Cases with adjustments that show no side and no scale weight, and about which there is no notice."""
    adjusted = lines["state"] == "adjustment"
    figures = [f"billed_{side}" for side in SIDES] + ["read_weight_pg"]
    shows = lines.loc[adjusted, figures].notna().any(axis=1).groupby(case[adjusted]).any().reindex(range(count))
    silent = ~shows.astype("boolean").fillna(value=True)  # missing is a case without adjustments
    return silent & raw.isna().all(axis=1) & (amounts["credit_cents"] == 0)


def repeated(lines: pd.DataFrame) -> pd.Series:
    """Which lines bill again what an earlier line billed: the same parcel, charge, amount and figures."""
    same = ["shipment", "description", "charge", "state", "amount_cents", "service", "zone", "billed_weight_pg"]
    same += [f"billed_{side}" for side in SIDES]
    in_time = lines.sort_values(["statement_on"], kind="stable", na_position="first")
    again = in_time.duplicated(same).reindex(lines.index)
    return again & (lines["amount_cents"] > 0).fillna(value=False)


def _label_again(lines: pd.DataFrame, case: pd.Series) -> pd.Series:
    """Which lines bill a label's charge again that an earlier statement billed, at whatever amount."""
    label = lines[(lines["state"] == "label charge") & ~lines["repeated"]]
    words = label["charge"].fillna(label["description"])
    first_case = case.loc[label.index].groupby([label["shipment"], words], dropna=False).transform("min")
    return (case.loc[label.index] > first_case).reindex(lines.index, fill_value=False)


def _fee_renewed(lines: pd.DataFrame, case: pd.Series) -> pd.Series:
    """Which repeated fees go with a new correction on a later statement: for that one the fee is due anew."""
    corrected_anew = case[(lines["state"] == "adjustment") & ~lines["repeated"]]
    in_case = lines[["description", "amount_cents"]].assign(case=case)
    return (lines["state"] == "fee") & ~in_case.duplicated() & case.isin(corrected_anew)


def _made_on(lines: pd.DataFrame, case: pd.Series) -> pd.Series:
    """For each case with charges that are made again, the statement that made them first."""
    again = lines["repeated"]
    made = lines[lines["shipment"].isin(lines.loc[again, "shipment"])]
    words = made["charge"].fillna(made["description"])
    first = made.groupby([made["shipment"], words, made["state"]], dropna=False)["statement"].transform("first")
    made_on: pd.Series = first[again.loc[made.index]].groupby(case).first()
    return made_on


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


def _tax(about: pd.DataFrame, amounts: pd.DataFrame) -> pd.DataFrame:
    """What of each case's tax fits the other parcels on its statement, see `taxes.doubtful`."""
    charged = about[["statement", "first"]].assign(tax_cents=amounts["tax_cents"])
    base = amounts.sum(axis=1) - amounts["tax_cents"]
    return doubtful(charged.assign(base_cents=base)).add_prefix("tax_")


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
    """What notices say was measured, unrounded, for each case; missing where there is no notice.

    A notice belongs to its parcel's first statement with a correction from its day on, else to the last one before.
    """
    case = about.index.to_series().rename("case")
    pairs = notices.assign(notice=np.arange(len(notices))).merge(about.assign(case=case), on="shipment")
    late = (pairs["statement_on"] < pairs["noticed_on"]).fillna(value=False)
    pairs = pairs.assign(late=late, near=pairs["case"].mask(late, -pairs["case"]))
    pairs = pairs.sort_values(["corrected", "late", "near"], ascending=[False, True, True], kind="stable")
    pairs = pairs.drop_duplicates("notice").sort_values(["noticed_on", "notice"], kind="stable", na_position="first")
    last = pairs.groupby("case")[[f"read_{figure}" for figure in FIGURES]].last()
    return last.reindex(about.index).rename(columns={f"read_{figure}": figure for figure in FIGURES})
