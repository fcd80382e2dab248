"""A recognised statement → its lines and the totals it prints."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import PurePath
from typing import Any

import numpy as np
import pandas as pd

from auditor.core.money import dollars
from auditor.core.schemas import LINES, PRINTED_TOTALS, STATES, Problem, conform
from auditor.intake import parsing, proof, vocabulary, wording
from auditor.intake.around import with_codes_spelt, with_foot_apart
from auditor.intake.arrangement import ACCOUNT, amounts, arranged
from auditor.intake.currency import currencies
from auditor.intake.evidence import is_code
from auditor.intake.groups import ungrouped
from auditor.intake.recognise import Sheet
from auditor.intake.sums_found import by_arithmetic
from auditor.intake.texts import at_places, by_code, carried, coded, distinct, kept, put, spread, where, where_no_number
from auditor.intake.tidy import shown, tidied, writes_decimal_comma
from auditor.intake.wording import COUNTED_TOTAL, FORWARD, SUM
from auditor.intake.years import with_years

ABOUT_LINE = ("tracking", "description", "amount_cents")
MOST_TOLD = 20
SEVERAL = 2
HAS_FIGURE = re.compile(r"\d")
ONE_SIGN = re.compile(r"\b(?:debits?|credits?|gutschriften?|crédits?|crediti|créditos|abonos?)\b", re.IGNORECASE)
"""What the sums of debits or of credits alone are called by."""
OF_PARCELS = vocabulary.CHARGES.keys() - {*ACCOUNT}


def read(sheet: Sheet) -> tuple[pd.DataFrame, pd.DataFrame, list[Problem]]:
    """The lines (LINES, still without charge and state), the printed totals and what could not be read.

    A row without a tracking number that begins with 'Statement total' or the like, or describes itself so, is a total
    and no line. A line whose amount cannot be read is kept.
    """
    sheet, grouped = ungrouped(sheet)
    sheet, below = with_foot_apart(sheet)
    sheet, spelt = with_codes_spelt(sheet)
    whole = sheet
    sheet, sums, notes = arranged(sheet, _sums(sheet))
    said = _said(sheet, sums)
    words = ~sums & np.logical_and.reduce([(sheet.cells[name] == "").to_numpy() for name in ABOUT_LINE])
    day, first = _day_above(sheet)
    sheet, undated = with_years(sheet, day, day_first=first)
    frame, problems = tidied(_amounts_alone(sheet, sums | words))
    frame["tracking"] = frame["tracking"].where(frame["tracking"].str.contains(HAS_FIGURE, na=False))
    frame["statement"], unnumbered = _numbers(frame["statement"], sheet)
    frame["statement_on"] = _days(frame, day)
    lines = kept(frame, ~sums & ~words)
    called = np.flatnonzero(sums)[[COUNTED_TOTAL.fullmatch(text) is not None for text in said]]
    totals = _of_whole_statements(at_places(frame, called.tolist()), lines)
    if totals.empty and (last := _whole(frame, lines, said.index)) is not None:
        lines = lines.drop(index=last, errors="ignore")
        of = lines.iloc[-1]
        totals = frame.loc[[last]].assign(statement=of["statement"], statement_on=of["statement_on"])
        message = f"{shown(str(sheet.leads[last]))} was taken for the total, as it is the sum of all lines."
        problems.append(Problem(sheet.file, sheet.places[last], message, note=True))
    summary = _summary(lines, totals)
    if len(summary):
        first = summary[0]
        message = (
            f"{shown(str(frame['description'][first]))} and what follows without a parcel's number, {len(summary):,} "
            "rows in all, were taken for a summary and not counted: the printed total is what the lines above come to."
        )
        problems.append(Problem(sheet.file, sheet.places[first], message, note=True))
        lines = lines.drop(index=summary)
    problems += [
        *unnumbered,
        *grouped,
        *below,
        *spelt,
        *notes,
        *undated,
        *currencies(whole),
        *_without_amount(sheet, lines),
        *_without_number(sheet, lines),
        *_given_away(sheet, sums | words),
        *_beside(sheet, words),
        *_other_sums(sheet, said, totals.index),
        *sums_apart(sheet, frame, said.drop(totals.index, errors="ignore"), lines.index),
    ]
    printed = totals.rename(columns={"amount_cents": "printed_total_cents"}).dropna(subset="printed_total_cents")
    if printed.empty:
        printed = _total_on_rows(whole, lines)
    if printed.empty:
        printed, told = _total_above(sheet, lines)
        problems += told
    return conform(lines, LINES), conform(printed, PRINTED_TOTALS), problems


def _whole(frame: pd.DataFrame, lines: pd.DataFrame, sums: pd.Index) -> int | None:
    """The row that is the sum of all lines, though it is not called a total: the last amount, about no known charge."""
    last: Any = frame["amount_cents"].last_valid_index()
    above = lines.drop(index=[last], errors="ignore")
    if last is None or len(above) < SEVERAL or len(above["statement"].unique()) > 1:
        return None
    unnumbered = bool(frame["tracking"].isna()[last]) and not _is_known(frame["description"][last])
    is_sum = int(above["amount_cents"].sum()) == int(frame["amount_cents"][last])
    return int(last) if is_sum and (last in sums or unnumbered) else None


def _summary(lines: pd.DataFrame, totals: pd.DataFrame) -> pd.Index:
    """The lines at the end that have no number and are in the printed total already, as the others come to it.

    They come to it too, or to twice that with one that says it again. None where one of them is known as a charge that
    may be about no parcel.
    """
    last: Any = lines["tracking"].last_valid_index()
    if last is None or lines.index[-1] == last or len(lines["statement"].unique()) > 1:
        return lines.index[:0]
    behind = lines.loc[last:].index[1:]
    above, below = (int(them["amount_cents"].sum()) for them in (lines.drop(index=behind), lines.loc[behind]))
    called = {vocabulary.by_name(text)[0] for text in lines.loc[behind, "description"].dropna()}
    is_one = above != 0 and above in set(totals["amount_cents"].dropna()) and below in {above, 2 * above}
    return behind if is_one and called <= {None, *OF_PARCELS} else lines.index[:0]


def _is_known(description: object) -> bool:
    return isinstance(description, str) and vocabulary.by_name(description)[0] is not None


def _of_whole_statements(totals: pd.DataFrame, lines: pd.DataFrame) -> pd.DataFrame:
    """One total a statement: the one that its lines come to, or else the last, as sums of parts stand before it."""
    if not totals["statement"].duplicated().any():
        return totals
    read = lines.groupby("statement")["amount_cents"].sum()
    ties = (totals["amount_cents"] == totals["statement"].map(read)).fillna(value=False)
    order = totals.assign(ties=ties, given=totals["amount_cents"].notna(), at=range(len(totals)))
    last = order.sort_values(["ties", "given", "at"]).groupby("statement").tail(1)
    return totals.loc[totals.index.isin(last.index) | totals["amount_cents"].isna()]


def _sums(sheet: Sheet) -> pd.Series:
    """For each row whether it is a sum of others and no line.

    Its first text says it, or else its description, and it has no tracking number; or what the rows above come to.
    """
    by_words = where_no_number(sheet.leads, SUM.match) | where(sheet.cells.get("description", sheet.leads), SUM.match)
    said = _said(sheet, by_words)
    tracking = sheet.cells["tracking"][by_words].astype(object)
    without_number = (tracking == "") | (tracking == said) | ~where(tracking, HAS_FIGURE.search)
    by_words.loc[by_words] = without_number.to_numpy()  # by a series, each of all rows would be looked up
    return by_words | by_arithmetic(sheet, by_words)


def _said(sheet: Sheet, rows: pd.Series) -> pd.Series:
    """What stands beside the amounts of rows that are sums, over these only: the first text, or else the charge."""
    leads = sheet.leads[rows].astype(object)
    described = sheet.cells.get("description", sheet.leads)[rows].astype(object)
    return leads.where(where(leads, SUM.match) | (described == ""), described).astype("str")


def _amounts_alone(sheet: Sheet, rows: pd.Series) -> Sheet:
    """The sheet with nothing but the amount in those rows, whose words stand in columns of other things.

    They are of the statement that the row above is of.
    """
    if not rows.any():
        return sheet
    cells = {
        name: column
        if name == "amount_cents"
        else (carried(column, rows) if name in {"statement", "statement_on"} else put(column, rows, ""))
        for name, column in sheet.cells.items()
    }
    return replace(sheet, cells=pd.DataFrame(cells, copy=False))


def _numbers(column: pd.Series, sheet: Sheet) -> tuple[pd.Series, list[Problem]]:
    """Each row's statement: as printed in or above it, otherwise from the text above the table, or the file's name."""
    if column.notna().all():
        return column, []
    if column.notna().any():
        return carried(column, column.isna()), []
    if found := wording.number_in(sheet.above):
        return column.fillna(found), []
    name = PurePath(sheet.file).stem
    message = f"No statement number was found in this file, so the statement is called '{name}', after the file."
    return column.fillna(name), [Problem(sheet.file, "", message, note=True)]


def _days(frame: pd.DataFrame, above: Any) -> pd.Series:
    """Each row's statement date: that of its statement, in a column, or else that in the text above the table."""
    if frame["statement_on"].notna().all():
        return frame["statement_on"]
    days = frame["statement_on"].fillna(frame.groupby("statement")["statement_on"].transform("first"))
    return days if days.notna().any() else days.fillna(above)


def _day_above(sheet: Sheet) -> tuple[Any, bool]:
    """The day in the text above, and whether days come before months, as the table's own days show."""
    shipped = sheet.cells.get("shipped_on", pd.Series(dtype="str"))
    orders = {parsing.day_order(distinct(shipped)), parsing.day_order(wording.days_in(sheet.above))}
    first = "day first" in orders or ("month first" not in orders and writes_decimal_comma(sheet))
    return wording.day_in(sheet.above, day_first=first), first


def named(lines: pd.DataFrame, own: tuple[str, ...]) -> pd.DataFrame:
    """The lines with each charge in the rules' words, and its state; `own` are names that count as known words."""
    codes, texts = coded(lines["description"])
    known = [vocabulary.charge(text, own) if isinstance(text, str) else (None, None) for text in (*texts, None)]
    charge = spread(pd.Series([name for name, _ in known], dtype="str"), codes, lines.index)
    number = {state: at for at, state in enumerate(STATES)}
    state = by_code(np.array([number[state or "fee"] for _, state in known], dtype=np.int8), codes)
    state[(state == number["label charge"]) & lines["tracking"].isna()] = number["fee"]
    carriage_or_fee = (state == number["label charge"]) | (state == number["fee"])
    state[carriage_or_fee & (lines["amount_cents"] < 0).fillna(value=False)] = number["credit"]
    state[lines["amount_cents"].isna()] = number["not read"]
    states = spread(pd.Series(STATES, dtype="str"), state, lines.index)
    return conform(lines.assign(charge=charge, state=states), LINES)


def _without_amount(sheet: Sheet, lines: pd.DataFrame) -> Iterator[Problem]:
    heading = sheet.headings["amount_cents"].text
    for row in lines.index.intersection(sheet.cells.index[sheet.cells["amount_cents"] == ""]):
        message = f"Column '{heading}' is empty, so this line was not read and its statement cannot tie out."
        yield Problem(sheet.file, sheet.places[row], message)


def _given_away(sheet: Sheet, others: pd.Series) -> Iterator[Problem]:
    """A note on the charges that are told by a word in them, as their names are not known; not those of other rows."""
    elsewhere = set(sheet.cells["description"][others].astype(object)) if others.any() else set()
    texts = [text for text in distinct(sheet.cells["description"]) if text and not vocabulary.by_name(text)[0]]
    texts = [text for text in map(parsing.words, texts) if text not in elsewhere]
    found = {text: name for text in texts if (name := vocabulary.charge(text)[0])}
    if found:
        named = ", ".join(f"{shown(text)} for {name}" for text, name in list(found.items())[:MOST_TOLD])
        message = (
            f"Charges whose names are not known were told by a word in them: {named}. Where that is wrong, put the "
            "name as printed into a file of fees, and it is taken for a charge of its own."
        )
        yield Problem(sheet.file, "", message, note=True)


def _without_number(sheet: Sheet, lines: pd.DataFrame) -> Iterator[Problem]:
    """A fault where parcels' charges on printed pages have no number, as where that stands below its charges."""
    unnumbered = lines[lines["tracking"].isna()] if sheet.grid.boxes else lines[:0]
    ours = where(unnumbered["description"].fillna(""), lambda text: vocabulary.charge(text)[0] in OF_PARCELS)
    if ours.sum() < SEVERAL or len(unnumbered) == len(lines):
        return
    first = ours.index[ours][0]
    called = shown(str(lines["description"][first]))
    message = (
        f"{int(ours.sum()):,} charges of parcels stand in this table without a parcel's number, first {called}. Where"
        " the number stands below or in the middle of its charges, others may have been given to the "
        "wrong parcel as well. Hold a few against the statement, or ask for it as CSV."
    )
    yield Problem(sheet.file, sheet.places[first], message)


def _beside(sheet: Sheet, words: pd.Series) -> Iterator[Problem]:
    for row in sheet.cells.index[words]:
        message = f"{shown(sheet.leads[row])} was taken for a remark: the row has no tracking number, charge or amount."
        yield Problem(sheet.file, sheet.places[row], message, note=True)


def _other_sums(sheet: Sheet, sums: pd.Series, totals: pd.Index) -> Iterator[Problem]:
    """Sums that are not the statement's total, and totals without an amount."""
    others = sums.drop(totals, errors="ignore")
    for _, rows in others.groupby(others.str.replace(r"\S*\d\S*", "…", regex=True), sort=False):
        times = "" if len(rows) == 1 else f", each of the {len(rows):,} times such a row stands there,"
        message = f"{shown(rows.iloc[0])} was taken for a sum of other lines{times} and not counted."
        yield Problem(sheet.file, sheet.places[rows.index[0]], message, note=True)
    for row in totals[sheet.cells.loc[totals, "amount_cents"] == ""]:
        message = (
            f"{shown(sums[row])} has no amount in column '{sheet.headings['amount_cents'].text}', so it says nothing."
        )
        yield Problem(sheet.file, sheet.places[row], message)


def sums_apart(sheet: Sheet, frame: pd.DataFrame, said: pd.Series, lines: pd.Index) -> Iterator[Problem]:
    """Subtotals that are the sum of nothing above them.

    Neither of the rows since the last one, nor of all above, nor of the parcel or charge they name. Balances carried
    forward are held against all lines up to them.
    """
    if said.empty:
        return
    cents = frame["amount_cents"].where(frame.index.isin(lines), 0).fillna(0).astype("int64")
    above = cents.cumsum()
    yield from proof.balances_apart(sheet, frame["amount_cents"], cents, said[said.str.match(FORWARD)])
    at_bounds = proof.sums_at(sheet, cents, said)
    by_name = _sums_by_name(frame.loc[lines])
    since, told = 0, 0
    for row, words in zip(said.index.tolist(), said, strict=True):
        printed = frame["amount_cents"][row]
        if pd.isna(printed) or FORWARD.match(words):
            continue
        sums = {int(above[row]) - since, int(above[row]), *at_bounds[row], *_named_sums(by_name, words)}
        sums |= {int(above.iloc[-1])} if not above[row] else set()
        sums |= {*_of_one_sign(cents.loc[:row])} if ONE_SIGN.search(words) else set()
        since = int(above[row])
        if int(printed) not in sums and (told := told + 1) <= MOST_TOLD:
            message = (
                f"{shown(words)} says {dollars(int(printed))}, but the lines above it since the last such sum come to "
                f"{dollars(max(sums, key=lambda one: -abs(one - int(printed))))}. Look whether a line of them is "
                "missing or was misread."
            )
            yield Problem(sheet.file, sheet.places[row], message)


def _of_one_sign(cents: pd.Series) -> Iterator[int]:
    """What is owed and what is given back, each by itself; the latter is printed with a sign or without."""
    yield int(cents[cents > 0].sum())
    yield from (back := int(cents[cents < 0].sum()), -back)


def _sums_by_name(lines: pd.DataFrame) -> dict[str, int]:
    """What the lines come to by parcel and by charge."""
    charges = {text: vocabulary.charge(text)[0] for text in lines["description"].dropna().unique()}
    by_charge = lines["amount_cents"].groupby(lines["description"].map(charges)).sum()
    by_parcel = lines["amount_cents"].groupby(lines["tracking"]).sum()
    return {str(name): int(cents) for sums in (by_parcel, by_charge) for name, cents in sums.items()}


def _named_sums(by_name: Mapping[str, int], words: str) -> Iterator[int]:
    """What the lines come to of the parcels, or of the charge, that the words beside a sum name."""
    named = [word for word in words.split() if is_code(word)]
    if named:
        yield sum(int(by_name.get(word, 0)) for word in named)
    left = SUM.sub("", words)
    charge = vocabulary.charge(left)[0] if left.strip() else None
    if charge and charge in by_name:
        yield int(by_name[charge])


def _total_on_rows(sheet: Sheet, lines: pd.DataFrame) -> pd.DataFrame:
    """The total that a column repeats on each row of a statement."""
    known = lines.index.intersection(sheet.totals.index) if len(sheet.totals) == len(sheet.cells) else lines.index[:0]
    cents = amounts(sheet.totals.loc[known])
    of_each = lines.loc[known, ["statement", "statement_on"]].assign(
        printed_total_cents=cents, source_file=sheet.file, source_place=sheet.places.loc[known]
    )
    return of_each.dropna(subset="printed_total_cents").drop_duplicates(["statement", "printed_total_cents"])


def _total_above(sheet: Sheet, lines: pd.DataFrame) -> tuple[pd.DataFrame, list[Problem]]:
    """The total that stands in the text around the table or on a sheet before it, where one statement is read.

    The one that the lines come to, if there are several; without a word for it, any amount that they come to.
    """
    statements = lines[["statement", "statement_on"]].drop_duplicates()
    read = int(lines["amount_cents"].sum())
    called = list(wording.totals_in(sheet.above)) if len(statements) == 1 else []
    others = list(wording.amounts_in(sheet.above)) if len(statements) == 1 and len(lines) >= SEVERAL else []
    found = next((one for one in (*called, *others) if one[0] == read), called[0] if called else None)
    if not found:
        return statements[:0].assign(printed_total_cents=pd.Series(dtype="Int64")), []
    place = {"source_file": sheet.file, "source_place": found[1]}
    told = []
    if found not in called:
        message = f"The amount in {shown(found[1])} was taken for the total, as it is the sum of all lines."
        told.append(Problem(sheet.file, "", message, note=True))
    return statements.assign(printed_total_cents=found[0], **place), told
