"""Charges that a statement makes once more: the same lines again, or a label billed on a second statement."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.charges.charge_words import carried_again
from auditor.core.schemas import looked_up

SAME = (
    *("shipment", "description", "charge", "state", "amount_cents", "service", "zone", "billed_weight_pg"),
    *("billed_length_nm", "billed_width_nm", "billed_height_nm"),
)
"""What is equal on two lines that bill the same."""


def repeats(lines: pd.DataFrame, case: pd.Series) -> tuple[pd.Series, pd.Series]:
    """Which lines bill again what an earlier line billed, and the case that bills each parcel's label.

    A charge that was given back and is made anew is not made again; nor is the fee for a correction that is a new one.

    Args:
        lines: LINES with `shipment`, in order of parcel and time.
        case: the case of each line.

    Returns:
        By line, whether it does; and by shipment, the case with the label. A shipment without a label is left out.
    """
    again = lines.duplicated(list(SAME)) & (lines["amount_cents"] > 0).fillna(value=False)
    made = _made(lines)
    again &= ~(made < 2).reindex(lines.index, fill_value=False)  # noqa: PLR2004 - once, and once again
    label = lines[(lines["state"] == "label charge") & ~again].assign(case=case)
    of_label = label.groupby("shipment")["case"].min()
    once_more = lines[lines["amount_cents"].gt(0).fillna(value=False)].duplicated(
        ["shipment", "charge", "amount_cents"]
    )
    anew = label[
        (made.reindex(label.index) == 1)
        & once_more.reindex(label.index, fill_value=False)
        & label["case"].gt(label["shipment"].map(of_label))
    ]
    of_label.update(anew.groupby("shipment")["case"].max())
    again |= _label_again(label, of_label).reindex(lines.index, fill_value=False)
    return again & ~_fee_renewed(lines.assign(repeated=again, case=case)), of_label


def _made(lines: pd.DataFrame) -> pd.Series:
    """How often each line's charge has been made by then, money back taken off; of parcels with money back only."""
    mine = lines[lines["shipment"].isin(lines.loc[lines["state"] == "credit", "shipment"])]
    amount = mine["amount_cents"].fillna(0).astype(np.int64)
    key = [mine["shipment"], mine["charge"], amount.abs()]
    return pd.Series(np.sign(amount), index=mine.index).groupby(key, dropna=False).cumsum()


def _label_again(label: pd.DataFrame, of_label: pd.Series) -> pd.Series:
    """Which of the label's lines stand on another statement than its case and bill a charge of it, at any amount.

    Fuel beside a charge of the label that was not billed before is not billed again: it is on that.
    """
    its_case = label["shipment"].map(of_label)
    other = label["case"] != its_case
    concerned = label[label["shipment"].isin(label.loc[other, "shipment"])]
    key = pd.MultiIndex.from_frame(
        concerned[["shipment"]].assign(words=concerned["charge"].fillna(concerned["description"]))
    )
    first = key[(concerned["case"] == its_case[concerned.index]).to_numpy()]
    again = pd.Series(key.isin(first), index=concerned.index)
    with_new = (~again).groupby(concerned["case"]).transform("any")
    return other & (again & ~(with_new & (concerned["charge"] == "fuel"))).reindex(label.index, fill_value=False)


def _fee_renewed(lines: pd.DataFrame) -> pd.Series:
    """Which repeated fees go with a new correction on a later statement: for that one the fee is due anew."""
    fees = lines[lines["repeated"] & (lines["state"] == "fee")]
    mine = lines[lines["case"].isin(fees["case"])]
    corrected_anew = mine.loc[(mine["state"] == "adjustment") & ~mine["repeated"], "case"]
    first = ~mine.duplicated(["case", "description", "amount_cents"])
    renewed = fees["case"].isin(corrected_anew) & first[fees.index]
    return renewed.reindex(lines.index, fill_value=False)


def made_on(lines: pd.DataFrame, case: pd.Series, of_label: pd.Series) -> pd.Series:
    """For each case with charges that are made again, the statement that made them first, or that bills the label.

    Args:
        lines: LINES with `shipment` and `repeated`, in order of parcel and time.
        case: the case of each line.
        of_label: the case with the label by shipment, as `repeats` gives it.
    """
    again = lines["repeated"]
    made = lines[lines["shipment"].isin(lines.loc[again, "shipment"])]
    words = made["charge"].fillna(made["description"])
    first = made.groupby([made["shipment"], words, made["state"]], dropna=False)["statement"].transform("first")
    of_case = lines["statement"].groupby(case).first()
    by_label = made["shipment"].map(of_label).map(of_case)
    where = by_label.where((made["state"] == "label charge") & by_label.notna(), first)
    statements: pd.Series = where[again.loc[made.index]].groupby(case).first()
    return statements


def put_in_place(lines: pd.DataFrame, case: pd.Series) -> pd.Series:
    """Which lines a later statement than the label's puts in the place of charges that it takes back in full.

    They are corrections, though they are called as on a label.

    Args:
        lines: LINES with `shipment`, in order of parcel and time.
        case: the case of each line.
    """
    key = lines.assign(words=lines["charge"].fillna(lines["description"]), cents=lines["amount_cents"].abs(), case=case)
    charged, back = (key[sign.fillna(value=False)] for sign in (lines["amount_cents"] > 0, lines["amount_cents"] < 0))
    same = ["shipment", "words", "cents"]
    pairs = back.reset_index(names="line").merge(charged[[*same, "case"]], on=same, suffixes=("", "_charged"))
    taken = back.loc[pairs.loc[pairs["case_charged"] < pairs["case"], "line"].unique()]
    label = charged[charged["state"] == "label charge"]
    began = label["shipment"].map(label.groupby("shipment")["case"].min())
    later = label[(label["case"] > began) & label["case"].isin(taken["case"])]
    returned = pd.MultiIndex.from_frame(taken[["case", "words", "cents"]])
    anew = pd.MultiIndex.from_frame(later[["case", "words", "cents"]]).isin(returned)
    changed = later[later["case"].isin(later.loc[~anew, "case"])]
    return pd.Series(lines.index.isin(changed.index), index=lines.index)


def at_another_amount(lines: pd.DataFrame, case: pd.Series) -> pd.Series:
    """Which of the label's charges stand on a later statement once more, at an amount that the label did not have."""
    label = lines[(lines["state"] == "label charge") & (lines["amount_cents"] > 0).fillna(value=False)]
    its = case[label.index]
    first = its == label["shipment"].map(its.groupby(label["shipment"]).min())
    charges = pd.MultiIndex.from_frame(label[["shipment", "charge"]])
    amounts = pd.MultiIndex.from_frame(label[["shipment", "charge", "amount_cents"]])
    other = ~first & charges.isin(charges[first]) & ~amounts.isin(amounts[first])
    return other.reindex(lines.index, fill_value=False)


def made_otherwise(lines: pd.DataFrame, case: pd.Series, other: pd.Series) -> pd.Series:
    """How each line that makes a charge again is unlike the one before it, in words; "" where it is the very same.

    Args:
        lines: LINES with `shipment` and `repeated`, in order of parcel and time.
        case: the case of each line.
        other: which of them do at another amount, see `at_another_amount`.
    """
    carried = carried_again(lines)
    beside = looked_up(case, lines["description"].where(carried).groupby(case).first())
    words = lines["description"].str.casefold().str.split().str.join(" ").fillna("")
    known = pd.MultiIndex.from_arrays([lines["shipment"], words])
    billed = (lines["amount_cents"] > 0).fillna(value=False).to_numpy(dtype=bool)
    first = known.isin(known[billed & ~lines["repeated"].to_numpy(dtype=bool)])
    same_name = first | known.duplicated() | (words == "").to_numpy()
    found = pd.Series("", index=lines.index, dtype=object)
    found = found.mask(beside.notna(), "beside '" + beside.fillna("") + "'")
    found = found.mask(~same_name, "as '" + lines["description"].fillna("") + "'")
    return found.mask(other, "at another amount")
