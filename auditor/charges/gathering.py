"""Statement lines, records and notices gathered into cases."""

from __future__ import annotations

import numpy as np
import pandas as pd

from auditor.charges.charge_words import FIGURES_PRINTED, amending
from auditor.charges.credits import answered
from auditor.charges.duplicates import at_another_amount, made_on, made_otherwise, put_in_place, repeats
from auditor.charges.measured.by_statement import Seen, in_turn
from auditor.charges.schema import ABOUT, FLAGS_OF_CARRIER, Cases
from auditor.charges.taxes import doubtful
from auditor.core.schemas import conform
from auditor.core.sides import FIGURES, SIDES
from auditor.tariff import Prices, Rulebook, column_of


def build(lines: pd.DataFrame, shipments: pd.DataFrame, notices: pd.DataFrame, book: Rulebook, prices: Prices) -> Cases:
    """Gather lines, records and notices into cases.

    Args:
        lines: LINES with `shipment`, the row of `shipments` each belongs to, and no line without one; and `likened`,
            whether its charge was told by a likeness of words only; `prepaid`, where some are, whether a paper about
            prepaid labels gave it.
        shipments: SHIPMENTS.
        notices: NOTICES with `shipment` likewise.
        book: for its rounding and tolerance.
        prices: to tell which billed weights the sides explain.
    """
    lines = lines.assign(order_=np.arange(len(lines)))
    lines = lines.sort_values(["shipment", "statement_on", "statement", "order_"], na_position="first")
    groups = lines.groupby(["shipment", "statement"], sort=False, dropna=False)
    about = groups.agg(tracking=("tracking", "first"), statement_on=("statement_on", "first")).reset_index()
    case = groups.ngroup()
    anew, other = put_in_place(lines, case), at_another_amount(lines, case)
    lines["state"] = lines["state"].mask(anew | (other & lines["likened"]), "adjustment")
    lines["repeated"], of_label = repeats(lines, case)
    lines["otherwise"] = lines["repeated"] & (made_again := made_otherwise(lines, case, other)).ne("")
    lines["amends"] = (lines["state"] == "adjustment") | amending(lines) | (lines["otherwise"] & other)
    about["made_on"] = made_on(lines, case, of_label).reindex(about.index).fillna("")
    about["made_again"] = made_again[lines["otherwise"]].groupby(case).first().reindex(about.index).fillna("")
    about["first"] = about.index.isin(of_label)
    amounts = _amounts(lines, case, book.charges, len(about))
    about = about.join(_tax(about, amounts))
    amounts["odd_tax_cents"] = amounts["tax_cents"] - about["tax_due_cents"]
    amounts["tax_cents"] = about["tax_due_cents"]
    shown = _shown(lines, case, len(about))
    corrected = case[lines["state"].isin(["adjustment", "fee"])]
    raw = _raw_reading(about.assign(corrected=about.index.isin(corrected)), notices)
    carton = shipments["carton"].loc[about["shipment"].astype(int)].reset_index(drop=True)
    voided = shipments["voided"].loc[about["shipment"].astype(int)].fillna(value=False).to_numpy(dtype=bool)
    about = about.assign(voided=voided, earlier="", probability=np.nan, could_be="", in_one_sum=False)
    about["prepaid"] = about.index.isin(case[_prepaid(lines)])
    about["partly"] = about["prepaid"] & raw.isna().any(axis=1).to_numpy()
    hidden, mute = _hidden(lines, case, raw, len(about))
    back = _back(lines, case, book.charges, len(about))
    seen = Seen(about, shown, raw, amounts, back, hidden, mute, carton, book, prices)
    declared = _declared(about, shipments, shown)
    before, measured, players = in_turn(seen, declared)
    about["unread"] = lines["amount_cents"].isna().groupby(case).any().reindex(about.index)
    unsaid = mute | (about["partly"] & (players["active"] == 0))
    about["silent"] = unsaid & about["probability"].isna() & ~about["in_one_sum"]
    counted = (lines["state"] != "credit") | case.map(amounts["credit_cents"] != 0)
    about["weighed"] = (raw["weight_pg"].notna() | shown["measured_weight_pg"].notna()).to_numpy()
    about["measured_rounded"] = raw[SIDES[0]].isna().to_numpy()
    about["billed_weight_pg"] = shown["billed_weight_pg"]
    return Cases(
        about=conform(about, ABOUT),
        declared=declared,
        before=before,
        measured=measured,
        players=players,
        billed=amounts[list(seen.billed_columns)],
        likened=_likened(lines, case, amounts[list(seen.billed_columns)]),
        rest=_rest(lines, case, of_label, amounts[list(seen.billed_columns)]),
        apart=amounts[[*APART]],
        of_line=case.sort_index(),
        again=lines["repeated"].sort_index(),
        credits=answered(lines[counted], case[counted], about),
    )


def _prepaid(lines: pd.DataFrame) -> pd.Series:
    """Which lines correct labels that were bought at one price."""
    if "prepaid" not in lines:
        return pd.Series(data=False, index=lines.index)
    return lines["prepaid"] & (lines["state"] == "adjustment")


APART = ("credit_cents", "repeated_cents", "otherwise_cents", "tax_cents", "odd_tax_cents", "unknown_cents")
"""What stands apart from the charges of the rules; `otherwise_cents`: charges made again, but not as they were."""


def _hidden(lines: pd.DataFrame, case: pd.Series, raw: pd.DataFrame, count: int) -> tuple[pd.Series, pd.Series]:
    """Cases whose corrections show no side and no scale weight, and no notice either; and those that show no figure.

    Where the label is billed by the carrier's figures at once, and nothing corrected, a billed weight alone tells as
    little of what was read.
    """
    later = lines["amends"]
    at_once = (lines["state"] == "label charge") & lines["billed_weight_pg"].notna()
    asked = later | (at_once & ~later.groupby(case).transform("any"))
    figures = [f"billed_{side}" for side in SIDES] + ["measured_weight_pg"]
    unread = raw.isna().all(axis=1)
    hidden = _shows(lines, asked, case, figures, count).eq(other=False).fillna(value=False) & unread
    mute = (
        _shows(lines, later, case, [*figures, "billed_weight_pg"], count).eq(other=False).fillna(value=False) & unread
    )
    return hidden, mute


def _shows(lines: pd.DataFrame, asked: pd.Series, case: pd.Series, figures: list[str], count: int) -> pd.Series:
    """By case, whether some of the lines asked shows one of the figures; missing where there are no such lines."""
    shows = lines.loc[asked, figures].notna().any(axis=1).astype("boolean")
    found: pd.Series = shows.groupby(case[asked]).any().reindex(range(count))
    return found


def _amounts(lines: pd.DataFrame, case: pd.Series, charges: tuple[str, ...], count: int) -> pd.DataFrame:
    kind = _kind(lines, charges).mask(lines["state"] == "tax", "tax_cents")
    kind = kind.mask(lines["repeated"], "repeated_cents").mask(lines["otherwise"], "otherwise_cents")
    kind = kind.mask(lines["state"] == "credit", "credit_cents")
    columns = ["freight_cents", *map(column_of, charges), "fuel_cents", "credit_cents", "repeated_cents"]
    return _sums(lines, case, kind, [*columns, "otherwise_cents", "tax_cents", "unknown_cents"], count)


def _back(lines: pd.DataFrame, case: pd.Series, charges: tuple[str, ...], count: int) -> pd.DataFrame:
    """What is given back in each case, by charge."""
    columns = ["freight_cents", *map(column_of, charges), "fuel_cents", "unknown_cents"]
    credit = lines[lines["state"] == "credit"]
    return _sums(credit, case[credit.index], _kind(credit, charges), columns, count)


def _kind(lines: pd.DataFrame, charges: tuple[str, ...]) -> pd.Series:
    known = lines["charge"].isin(["freight", *charges, "fuel"])
    return lines["charge"].where(known, "unknown").map(column_of)


def _sums(lines: pd.DataFrame, case: pd.Series, kind: pd.Series, columns: list[str], count: int) -> pd.DataFrame:
    sums = lines["amount_cents"].fillna(0).astype(np.int64).groupby([case, kind]).sum().unstack(fill_value=0)
    return sums.reindex(index=range(count), columns=columns, fill_value=0)


def _likened(lines: pd.DataFrame, case: pd.Series, billed: pd.DataFrame) -> pd.DataFrame:
    """The words by which a charge of a case was told, where they are only like a name of it."""
    alike = lines[lines["likened"] & (lines["state"] != "credit") & ~lines["repeated"]]
    words = np.full(billed.shape, "", dtype=object)
    place = billed.columns.get_indexer(pd.Index(alike["charge"].fillna("").map(column_of)))
    known = alike[place >= 0]
    words[case[known.index].to_numpy(), place[place >= 0]] = known["description"].to_numpy(dtype=object)
    return pd.DataFrame(words, index=billed.index, columns=billed.columns)


def _rest(lines: pd.DataFrame, case: pd.Series, of_label: pd.Series, billed: pd.DataFrame) -> pd.DataFrame:
    """Which charges of a case belong to a label that an earlier statement began to bill."""
    label = lines[(lines["state"] == "label charge") & ~lines["repeated"]]
    later = label[case[label.index] > label["shipment"].map(of_label)]
    place = billed.columns.get_indexer(pd.Index(later["charge"].fillna("").map(column_of)))
    rest = np.zeros(billed.shape, dtype=bool)
    rest[case[later.index].to_numpy()[place >= 0], place[place >= 0]] = True
    return pd.DataFrame(rest, index=billed.index, columns=billed.columns)


def _tax(about: pd.DataFrame, amounts: pd.DataFrame) -> pd.DataFrame:
    """What of each case's tax fits the other parcels on its statement, see `taxes.doubtful`."""
    charged = about[["statement", "first"]].assign(tax_cents=amounts["tax_cents"])
    base = amounts.sum(axis=1) - amounts["tax_cents"]
    return doubtful(charged.assign(base_cents=base)).add_prefix("tax_")


def _shown(lines: pd.DataFrame, case: pd.Series, count: int) -> pd.DataFrame:
    """The figures the statement shows for each case: an adjustment's before the label's, the last one printed."""
    rows = lines[(~lines["repeated"] | _with_other_figures(lines)) & (lines["state"] != "credit")]
    rows = rows.assign(case=case, no_tax=rows["state"] != "tax", later=rows["amends"] & (rows["state"] != "tax"))
    rows = rows.sort_values(["case", "no_tax", "later"], kind="stable")
    return rows.groupby("case")[["service", "zone", "shipped_on", *FIGURES_PRINTED]].last().reindex(range(count))


def _with_other_figures(lines: pd.DataFrame) -> pd.Series:
    """Which charges made again show other figures than the label: a correction does, a carriage back does not."""
    shown = lines[[*FIGURES_PRINTED]]
    label = shown[(lines["state"] == "label charge") & ~lines["repeated"]]
    of_label = label.groupby(lines["shipment"]).first().reindex(lines["shipment"]).set_axis(lines.index)
    other: pd.Series = (shown.ne(of_label).fillna(value=True) & shown.notna()).any(axis=1)
    return lines["otherwise"] & other


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
    last = pairs.groupby("case")[[f"measured_{figure}" for figure in FIGURES]].last()
    return last.reindex(about.index).rename(columns={f"measured_{figure}": figure for figure in FIGURES})
