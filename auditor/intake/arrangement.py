"""Statements of other arrangements → one row a charge.

Three arrangements are known: one row a charge; one row a parcel with a column a charge; and a row a parcel with its
charges under it, where the number stands once. Sums that stand among them are held against what they sum.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from auditor.core.money import dollars, most_in
from auditor.core.schemas import Problem
from auditor.intake import evidence, parsing, vocabulary, words
from auditor.intake.headings import Heading
from auditor.intake.parsing import parsed
from auditor.intake.recognise import Sheet, own_name
from auditor.intake.texts import distinct, where, where_no_number

MOST_TOLD = 20
SHORTEST_NUMBER = 8
DIGIT = re.compile(r"\d")
TIES = 0.8
"""The share of rows in which a sum must be that of the others for its column to be taken for one."""
OFTEN = 0.5
CONTINUED = re.compile(
    r"\(?(?:continued|cont['’]?d\.?|suite|fortsetzung|seguito|vervolg|continuación|ditto)\)?", re.IGNORECASE
)
"""What stands in place of a parcel's figures where it goes on at the top of a page."""
SUMS = {"amount", "charge", "billed", "statement", "parcel"}
"""What a row's sum is called by, as `canonical` words, beside a total."""
AMOUNT = "amount_cents"
ACCOUNT = ("pickup service", "tax")
"""Charges that are about no parcel, so that a row of theirs without a number is not the parcel's above it."""


def arranged(sheet: Sheet, sums: pd.Series) -> tuple[Sheet, pd.Series, list[Problem]]:
    """The statement with one row a charge, which of its rows are sums, and what was found on the way.

    Args:
        sheet: a recognised statement.
        sums: for each row, whether it is a sum of others.
    """
    if sheet.grid.itemised:
        return sheet, sums, []
    if len(sheet.charges.columns):
        return _melted(sheet, sums)
    return _carried_down(_carried_along(sheet), sums)


def amounts(texts: pd.Series) -> pd.Series:
    """Cents of texts, as Int64; missing where there is none or it cannot be read."""
    comma = parsing.has_decimal_comma(distinct(texts))
    most = most_in(len(texts))
    values, _ = parsed(texts, lambda text: parsing.money(text, decimal_comma=comma, most=most), "Int64")
    return values


# Several parcels in one row of the seller's records

BETWEEN = re.compile(r"\s*[;,|/\n]\s*|\s+(?=\S*\d)")


def parcels_apart(sheet: Sheet) -> tuple[Sheet, list[Problem]]:
    """Records with a row for each parcel, where a row has several tracking numbers in one cell."""
    numbers = sheet.cells["tracking"]
    several = where(numbers, _has_several)
    if not several.any():
        return sheet, []
    split = numbers.astype(object).where(~several, numbers.astype(object).map(BETWEEN.split))
    cells = sheet.cells.assign(tracking=split).explode("tracking")
    rows, new = cells.index, pd.RangeIndex(len(cells))
    count = int(several.sum())
    message = (
        f"{count:,} {'row has' if count == 1 else 'rows have'} more than one tracking number. Each was read as a "
        "parcel with the row's figures."
    )
    places, leads = (series.loc[rows].set_axis(new) for series in (sheet.places, sheet.leads))
    whole = replace(sheet, cells=cells.set_axis(new), places=places, leads=leads)
    return whole, [Problem(sheet.file, str(sheet.places[several].iloc[0]), message, note=True)]


def _has_several(text: str) -> bool:
    parts = BETWEEN.split(text)
    return len(parts) > 1 and all(len(part) >= SHORTEST_NUMBER and evidence.is_code(part) for part in parts)


# One row a parcel, a column a charge


def _melted(sheet: Sheet, sums: pd.Series) -> tuple[Sheet, pd.Series, list[Problem]]:
    sheet = replace(sheet, charges=sheet.charges.mask(sheet.charges.isin(evidence.NOTHING), ""))
    cents = sheet.charges.apply(amounts)
    read = pd.DataFrame({name: amounts(sheet.sums[name]) for name in sheet.sums}, index=sheet.cells.index)
    more, total, notes = _told_apart(sheet, cents[~sums], read[~sums])
    charges = _as_printed(sheet, pd.concat([sheet.charges, sheet.sums[more]], axis=1))
    cents = pd.concat([cents, read[more]], axis=1)[charges.columns]
    problems = [*notes, *(_sum_of_row(sheet, cents[~sums], read.loc[~sums, total], total) if total else ())]
    problems += _sums_of_columns(sheet, cents, sums)
    named = charges.where((cents != 0).fillna(value=True), "")
    named.loc[sums] = ""
    if total:
        named = named.assign(**{_WHOLE: sheet.sums[total].where(sums, "")})
    else:
        named = named.assign(**{_WHOLE: _whole_of_sums(charges, cents).where(sums, "")})
    return _one_row_a_charge(sheet, named, sums), _kept_sums(named, sums), problems


def _as_printed(sheet: Sheet, charges: pd.DataFrame) -> pd.DataFrame:
    """The columns of charges from left to right."""
    headings = [column.heading for column in sheet.columns]
    names = [own_name(headings, at) for at in range(len(headings))]
    return charges[[name for name in names if name in charges]]


_WHOLE = ""
"""The name of the column of whole sums among the charges' names, which are never blank."""


def _whole_of_sums(charges: pd.DataFrame, cents: pd.DataFrame) -> pd.Series:
    """What a row of sums sums up in all: its one amount, or its columns' amounts together."""
    first = charges.apply(lambda row: next(filter(None, row), ""), axis=1)
    one = (charges != "").sum(axis=1) == 1
    both = cents.sum(axis=1).map(lambda value: f"{value / 100:.2f}")
    return first.where(one, both.where((charges != "").any(axis=1), ""))


def _told_apart(sheet: Sheet, cents: pd.DataFrame, read: pd.DataFrame) -> tuple[list[str], str | None, list[Problem]]:
    """The columns of amounts without a known name that are charges, the one that is the row's sum, and the rest told.

    A column is the sum where it equals the others in most rows; one without a known name is a charge where the sums
    come right only with it.
    """
    known = cents.sum(axis=1)
    names = [str(name) for name in read]
    named = sorted(names, key=lambda name: "total" not in words.canonical(name))
    for total in named:
        rest = [name for name in names if name != total]
        for with_them in ([], *([name] for name in rest), rest):
            if ((known + read[with_them].sum(axis=1)) == read[total]).mean() >= TIES:
                others = [name for name in rest if name not in with_them]
                return with_them, total, list(_not_counted(sheet, others))
    called = next((name for name in named if _is_called_a_sum(name)), None)
    return [], called, list(_not_counted(sheet, [name for name in names if name != called]))


def _is_called_a_sum(name: str) -> bool:
    """Whether a column is called a total, or by nothing but words that a row's sum is called by: 'Net charge'."""
    said = {*words.canonical(name)}
    return "total" in said or ("amount" in said and said <= SUMS)


def _not_counted(sheet: Sheet, names: list[str]) -> Iterator[Problem]:
    for name in names:
        message = (
            f"Column '{name}' has amounts, but is not known as a charge and the rows' sums do not need it. It was not "
            f'counted. If it is a charge, run: auditor columns FILE --set "{name}=charge" --save'
        )
        yield Problem(sheet.file, "", message, note=True)


def _sum_of_row(sheet: Sheet, cents: pd.DataFrame, printed: pd.Series, name: str) -> Iterator[Problem]:
    """Rows whose charges do not come to the sum they print."""
    reckoned = cents.sum(axis=1)
    apart = printed.index[(printed != reckoned).fillna(value=False)]
    for row in apart[:MOST_TOLD]:
        message = (
            f"The charges of this row come to {dollars(int(reckoned[row]))}, but its column '{name}' says "
            f"{dollars(int(printed[row]))}. The charges were counted as they stand."
        )
        yield Problem(sheet.file, sheet.places[row], message)
    more = len(apart) - MOST_TOLD
    if more > 0:
        message = f"{more:,} more rows do not come to their column '{name}'."
        yield Problem(sheet.file, sheet.places[apart[-1]], message)


def _sums_of_columns(sheet: Sheet, cents: pd.DataFrame, sums: pd.Series) -> Iterator[Problem]:
    """The last row of sums, held against each column of charges."""
    for row in cents.index[sums][-1:]:
        reckoned = cents.loc[~sums].loc[:row].sum()
        for name, printed in cents.loc[row].dropna().items():
            if cents.loc[row].notna().sum() > 1 and printed != reckoned[name]:
                message = (
                    f"Column '{name}' comes to {dollars(int(reckoned[name]))}, but the row of sums says "
                    f"{dollars(int(printed))}."
                )
                yield Problem(sheet.file, sheet.places[row], message)


def _filled(named: pd.DataFrame) -> pd.Series:
    """The amounts of a table of charges below one another, by row and name, in the order of the rows."""
    long = pd.Series(named.stack())  # noqa: PD013 - melt would go column by column, and lose the rows' order
    return long[long != ""]


def _one_row_a_charge(sheet: Sheet, named: pd.DataFrame, sums: pd.Series) -> Sheet:
    del sums
    long = _filled(named)
    rows = long.index.get_level_values(0)
    new = pd.RangeIndex(len(long))
    cells = sheet.cells.loc[rows].set_axis(new)
    cells["description"] = pd.Series(long.index.get_level_values(1).to_list(), index=new, dtype=object)
    cells[AMOUNT] = pd.Series(long.to_list(), index=new, dtype=object)
    headings = {**sheet.headings, "description": Heading("charge"), AMOUNT: Heading(" / ".join(map(str, named))[:60])}
    return replace(
        sheet,
        cells=cells,
        headings=headings,
        places=sheet.places.loc[rows].set_axis(new),
        leads=sheet.leads.loc[rows].set_axis(new),
    )


def _kept_sums(named: pd.DataFrame, sums: pd.Series) -> pd.Series:
    rows = _filled(named).index.get_level_values(0)
    return sums.loc[rows].set_axis(pd.RangeIndex(len(rows)))


# A row a parcel, its charges under it


def _carried_down(sheet: Sheet, sums: pd.Series) -> tuple[Sheet, pd.Series, list[Problem]]:
    unnumbered = (sheet.cells["tracking"] == "") & ~sums & (sheet.cells[AMOUNT] != "")
    mixed = _charges_in_the_numbers_column(sheet.cells, sums)
    if not unnumbered.any() and not mixed.any():
        return sheet, sums, []
    cells = _with_charges_beside_numbers(sheet.cells, mixed) if mixed.any() else sheet.cells
    continued = where_no_number(cells["tracking"], CONTINUED.fullmatch)
    heads = (cells["tracking"] != "") & ~continued & ~sums
    loose = ~heads & ~sums & (cells[AMOUNT] != "") & where(cells["description"], _may_be_of_a_parcel)
    if not _stands_once(cells["tracking"], heads, loose):
        return sheet, sums, []
    cells = cells.astype(object)
    cells = cells.mask(cells.apply(lambda column: where(column, CONTINUED.fullmatch)), "")
    tracking = cells["tracking"]
    again = _again(tracking, heads)
    parcel = (heads & ~again).cumsum()
    under = (loose | again) & (parcel > 0)
    figures = [name for name in cells if name not in {"description", AMOUNT}]
    of_parcel = {str(name): cells[name].where(heads & ~again).groupby(parcel).ffill().fillna("") for name in figures}
    carried = cells.assign(
        **{name: cells[name].where(~(under & (cells[name] == "")), figure) for name, figure in of_parcel.items()}
    )
    bare = heads & (cells["description"] == "")
    notes = [_told_of_carrying(sheet, int(under.sum()))]
    gone, problems = _parcel_sums(sheet, carried, bare, under, parcel)
    return replace(sheet, cells=carried).where(~gone), sums[~gone].reset_index(drop=True), [*notes, *problems]


def _with_charges_beside_numbers(cells: pd.DataFrame, rows: pd.Series) -> pd.DataFrame:
    """The cells with what stands in the numbers' column in those rows moved to that of the charges."""
    tracking = cells["tracking"].astype(object)
    return cells.assign(
        description=cells["description"].astype(object).where(~rows, tracking), tracking=tracking.where(~rows, "")
    )


def _may_be_of_a_parcel(description: str) -> bool:
    """Whether that is a charge of one parcel, as far as it is known."""
    goes_on = not description or CONTINUED.fullmatch(description) is not None
    return not goes_on and vocabulary.charge(description)[0] not in ACCOUNT


def _carried_along(sheet: Sheet) -> Sheet:
    """The statement with a parcel's figures on all rows of its number, where they stand at the first of these only.

    A row with any figure of its own, as that of a later adjustment, is left as it is.
    """
    others = {"tracking", "description", AMOUNT, "statement", "statement_on"}
    figures = [name for name in sheet.cells if name not in others]
    bare = np.full(len(sheet.cells), fill_value=bool(figures))
    for name in figures:
        bare &= (sheet.cells[name] == "").to_numpy()
        if not bare.any():
            return sheet
    tracking = sheet.cells["tracking"]
    if not (tracking[bare] != "").any():
        return sheet
    at = np.arange(len(tracking))
    last = np.maximum.accumulate(np.where(bare, 0, at))
    other = np.cumsum(bare & ~_as_above(tracking, bare))
    ours = bare & (tracking != "").to_numpy() & ~bare[last] & (other == other[last])
    if not ours.any():
        return sheet
    rows = np.where(ours, last, at)
    carried = {str(name): sheet.cells[name].take(rows).set_axis(sheet.cells.index) for name in figures}
    return replace(sheet, cells=sheet.cells.assign(**carried))


def _as_above(tracking: pd.Series, rows: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Which of those rows have the number of the row above; of other rows it is not told."""
    found, at = np.zeros(len(rows), dtype=bool), np.flatnonzero(rows)
    at = at[at > 0]
    found[at] = tracking.iloc[at].astype(object).to_numpy() == tracking.iloc[at - 1].astype(object).to_numpy()
    return found


def _charges_in_the_numbers_column(cells: pd.DataFrame, sums: pd.Series) -> pd.Series:
    """Rows whose number's column has words instead: a charge that stands under the parcel in the same column."""
    blank = pd.Series(data=False, index=cells.index)
    if not (cells["description"] == "").all():
        return blank
    wordy = where_no_number(cells["tracking"], lambda text: text and not DIGIT.search(text))
    if not (wordy & ~sums).any():
        return blank
    coded = where(cells["tracking"], evidence.is_code)
    return wordy & ~sums if coded.any() else blank


def _stands_once(tracking: pd.Series, heads: pd.Series, loose: pd.Series) -> bool:
    """Whether each number stands on one row, few on the next too, and charges without one follow half of them."""
    followed = loose.shift(-1, fill_value=False) & heads
    if not heads.any() or followed.sum() < OFTEN * heads.sum():
        return False
    numbers = tracking[heads].astype(object)
    once = numbers[numbers != numbers.shift()]
    return not once.duplicated().any() and len(once) >= (1 - OFTEN / 2) * len(numbers)


def _again(tracking: pd.Series, heads: pd.Series) -> pd.Series:
    """Rows that repeat the number of the head before them, as where a parcel goes on at the top of a page."""
    numbers = tracking[heads]
    return heads & (numbers == numbers.shift()).reindex(heads.index, fill_value=False)


def _told_of_carrying(sheet: Sheet, count: int) -> Problem:
    message = (
        f"{count:,} charges stand under the row of their parcel without its number. They were read as that parcel's, "
        "with its figures."
    )
    return Problem(sheet.file, "", message, note=True)


def _parcel_sums(
    sheet: Sheet, cells: pd.DataFrame, bare: pd.Series, under: pd.Series, parcel: pd.Series
) -> tuple[pd.Series, list[Problem]]:
    """Parcels' rows that are no charges of their own: without an amount, or with the sum of the charges under them."""
    cents = amounts(cells[AMOUNT])
    sums = cents.where(under).groupby(parcel).sum()
    reckoned = parcel.map(sums)
    printed = cents.where(bare)
    given = printed.notna()
    if given.any() and (printed[given] == reckoned[given]).mean() < TIES:
        return bare & (cells[AMOUNT] == ""), []
    problems = []
    for row in printed.index[(given & (printed != reckoned)).fillna(value=False)][:MOST_TOLD]:
        message = (
            f"The charges under this parcel come to {dollars(int(reckoned[row]))}, but its row says "
            f"{dollars(int(printed[row]))}. The charges were counted as they stand."
        )
        problems.append(Problem(sheet.file, sheet.places[row], message))
    return bare, problems
