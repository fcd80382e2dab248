"""A recognised statement → its lines and the totals it prints."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import partial
from pathlib import PurePath

import numpy as np
import pandas as pd

from auditor.intake import parsing, proof, vocabulary
from auditor.intake.arrangement import arranged
from auditor.intake.currency import currencies
from auditor.intake.evidence import is_code
from auditor.intake.parsing import parsed
from auditor.intake.recognise import Sheet
from auditor.intake.texts import carried, coded, distinct, kept, put, spread, where
from auditor.intake.tidy import shown, tidied, writes_decimal_comma
from auditor.money import dollars
from auditor.tables import LINES, PRINTED_TOTALS, STATES, Problem, conform

WHOLE = (
    r"(?:total|totale|totaal|gesamt(?:betrag|summe)?|rechnungsbetrag|endbetrag|summe|sum|suma|somme|"
    r"(?:amount|balance) (?:now )?(?:due|payable)|balance (?:of|on|for) "
    r"(?:this |the |your )?(?:statement|invoice|bill|account))"
)
TOTAL = re.compile(
    rf"(?:(?:statement|invoice|bill|grand|account|overall|importe|montant|importo)[ -])?{WHOLE}"
    r"(?: (?:due|amount|charges|payable|to pay|à payer|a pagar|da pagare|te betalen|factura|fattura|facture|ttc))*\W*",
    re.IGNORECASE,
)
"""What a statement calls the sum of all its lines."""
COUNTED_TOTAL = re.compile(
    rf"{TOTAL.pattern}(?:(?:(?:for|of|in|all) ){{0,2}}\d[\d,]*(?: [^\W\d]+)?)?\W*", re.IGNORECASE
)
"""The same with how many there are behind it, as in a row whose amount stands in a column of its own."""
SUM = re.compile(
    r"(?:(?:sub-?|zwischen|sous-|sub)?"
    r"(?:(?:statement|invoice|bill|grand|account|overall|page|parcel|importe|montant) )?"
    rf"{WHOLE}\b|sub-?total|carried|brought forward|(?:previous|opening) balance|balance (?:brought|carried)|übertrag|"
    r"zwischensumme|riporto|[^\d,;]{1,40}\b(?:carried|brought) forward)",
    re.IGNORECASE,
)
"""How the words begin that stand beside any sum. A balance carried forward may have a few words before it."""
FORWARD = re.compile(
    r"[^\d,;]{0,40}\b(?:carried|brought) forward|carried|brought|(?:previous|opening) balance|"
    r"balance(?! (?:of|on|for|due))|übertrag|riporto",
    re.IGNORECASE,
)
NUMBERED = (
    r"(?:(?:statement|stmt)(?: of (?:charges|account))?|invoice|bill|rechnung(?:snummer|s-nr)?|facture|factura|"
    r"fattura|factuur(?:nummer)?)\s*(?:number|nbr|no\.?|n[°ºr]?\.?|núm\.?|num\.?|nummer|id|#)?"
)
NUMBER = re.compile(rf"\b{NUMBERED}\s*:?\s*((?=\S*\d)[\w./-]+)", re.IGNORECASE)
DATED = re.compile(
    r"(?:\b(?:statement|stmt|invoice|bill) date|\b(?:dated|drawn up on)\b|\brechnungsdatum|\bdate de (?:la )?facture|"
    r"\bfecha de (?:la )?factura|"
    r"\bdata (?:della )?fattura|\bfactuurdatum)\s*:?\s*(\S+)(?: (\S+) (\S+))?",
    re.IGNORECASE,
)
ABOUT_LINE = ("tracking", "description", "amount_cents")
MOST_TOLD = 20


def read(sheet: Sheet) -> tuple[pd.DataFrame, pd.DataFrame, list[Problem]]:
    """The lines (LINES, still without charge and state), the printed totals and what could not be read.

    A row without a tracking number that begins with 'Statement total' or the like, or describes itself so, is a total
    and no line. A line whose amount cannot be read is kept.
    """
    said, whole = _sums(sheet), sheet
    sheet, sums, notes = arranged(sheet, pd.Series(sheet.leads.index.isin(said.index), index=sheet.leads.index))
    said = said if sheet is whole else _sums(sheet)[sums]
    words = ~sums & np.logical_and.reduce([(sheet.cells[name] == "").to_numpy() for name in ABOUT_LINE])
    frame, problems = tidied(_amounts_alone(sheet, sums | words))
    frame["statement"], unnumbered = _numbers(frame["statement"], sheet)
    frame["statement_on"] = _days(frame, sheet)
    lines = kept(frame, ~sums & ~words)
    totals = frame.loc[said.index[said.str.fullmatch(COUNTED_TOTAL).astype(bool)]]
    problems += [
        *unnumbered,
        *notes,
        *currencies(whole),
        *_without_amount(sheet, lines),
        *_beside(sheet, words),
        *_other_sums(sheet, said, totals.index),
        *sums_apart(sheet, frame, said.drop(totals.index), lines.index),
    ]
    printed = totals.rename(columns={"amount_cents": "printed_total_cents"}).dropna(subset="printed_total_cents")
    if printed.empty:
        printed = _total_above(sheet, lines)
    return conform(lines, LINES), conform(printed, PRINTED_TOTALS), problems


def _sums(sheet: Sheet) -> pd.Series:
    """What the rows say they are that are a sum of others and have no tracking number, over these rows only.

    A row's first text says it, or else its description.
    """
    described = sheet.cells.get("description", sheet.leads)
    by_lead = where(sheet.leads, SUM.match)
    rows = by_lead | where(described, SUM.match)
    leads, described, tracking = (one[rows].astype(object) for one in (sheet.leads, described, sheet.cells["tracking"]))
    said = leads.where(by_lead[rows], described).astype("str")
    return said[(tracking == "") | (tracking == said)]


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
    if found := next(filter(_is_no_day, (match[1] for match in NUMBER.finditer("\n".join(sheet.above)))), None):
        return column.fillna(found), []
    name = PurePath(sheet.file).stem
    message = f"No statement number was found in this file, so the statement is called '{name}', after the file."
    return column.fillna(name), [Problem(sheet.file, "", message, note=True)]


def _is_no_day(text: str) -> bool:
    """Whether a text is no date, as in 'invoice 02/04/2026'."""
    return not (parsing.YEAR_LAST.fullmatch(text) or parsing.YEAR_FIRST.fullmatch(text)) or text.isdecimal()


def _days(frame: pd.DataFrame, sheet: Sheet) -> pd.Series:
    """Each row's statement date: that of its statement, in a column or in the text above the table."""
    if frame["statement_on"].notna().all():
        return frame["statement_on"]
    days = frame["statement_on"].fillna(frame.groupby("statement")["statement_on"].transform("first"))
    return days if days.notna().any() else days.fillna(_day_above(sheet))


def _day_above(sheet: Sheet) -> pd.Timestamp:
    """The day in the text above, in the order of day and month that the table's own days show."""
    found = DATED.search(" ".join(sheet.above))
    texts = (found[1], " ".join(filter(None, found.groups()))) if found else ()
    plain = pd.Series(texts, dtype="str").str.strip(",;.")
    shipped = sheet.cells.get("shipped_on", plain)
    orders = {parsing.day_order(distinct(texts)) for texts in (plain, shipped)}
    first = "day first" in orders or ("month first" not in orders and writes_decimal_comma(sheet))
    days, _ = parsed(plain, partial(parsing.date, day_first=first))
    return pd.to_datetime(days.dropna()).max()


def named(lines: pd.DataFrame, own: tuple[str, ...]) -> pd.DataFrame:
    """The lines with each charge in the rules' words, and its state; `own` are names that count as known words."""
    codes, texts = coded(lines["description"])
    known = [vocabulary.charge(text, own) if isinstance(text, str) else (None, None) for text in (*texts, None)]
    charge = spread(pd.Series([name for name, _ in known], dtype="str"), codes, lines.index)
    number = {state: at for at, state in enumerate(STATES)}
    state = np.array([number[state or "fee"] for _, state in known])[codes]
    state[(state == number["label charge"]) & lines["tracking"].isna()] = number["fee"]
    carriage_or_fee = np.isin(state, [number["label charge"], number["fee"]])
    state[carriage_or_fee & (lines["amount_cents"] < 0).fillna(value=False)] = number["credit"]
    state[lines["amount_cents"].isna()] = number["not read"]
    states = spread(pd.Series(STATES, dtype="str"), state, lines.index)
    return conform(lines.assign(charge=charge, state=states), LINES)


def _without_amount(sheet: Sheet, lines: pd.DataFrame) -> Iterator[Problem]:
    heading = sheet.headings["amount_cents"].text
    for row in lines.index.intersection(sheet.cells.index[sheet.cells["amount_cents"] == ""]):
        message = f"Column '{heading}' is empty, so this line was not read and its statement cannot tie out."
        yield Problem(sheet.file, sheet.places[row], message)


def _beside(sheet: Sheet, words: pd.Series) -> Iterator[Problem]:
    for row in sheet.cells.index[words]:
        message = f"{shown(sheet.leads[row])} was taken for a remark: the row has no tracking number, charge or amount."
        yield Problem(sheet.file, sheet.places[row], message, note=True)


def _other_sums(sheet: Sheet, sums: pd.Series, totals: pd.Index) -> Iterator[Problem]:
    """Sums that are not the statement's total, and totals without an amount."""
    others = sums.drop(totals)
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
        since = int(above[row])
        if int(printed) not in sums and (told := told + 1) <= MOST_TOLD:
            message = (
                f"{shown(words)} says {dollars(int(printed))}, but the lines above it since the last such sum come to "
                f"{dollars(max(sums, key=lambda one: -abs(one - int(printed))))}. Look whether a line of them is "
                "missing or was misread."
            )
            yield Problem(sheet.file, sheet.places[row], message)


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


def _total_above(sheet: Sheet, lines: pd.DataFrame) -> pd.DataFrame:
    """The total that stands in the text around the table or on a sheet before it, where one statement is read."""
    statements = lines[["statement", "statement_on"]].drop_duplicates()
    for text in sheet.above if len(statements) == 1 else ():
        found = re.fullmatch(
            rf"({TOTAL.pattern})\s*(\S*\d\S*)(?: (?:for|in|on|from|over|by) .*)?", text.strip(), re.IGNORECASE
        )
        if found:
            comma = parsing.has_decimal_comma([found[2]])
            cents, _ = parsed(pd.Series([found[2]]), partial(parsing.money, decimal_comma=comma))
            if cents.notna().all():
                place = {"source_file": sheet.file, "source_place": text.strip()}
                return statements.assign(printed_total_cents=cents.iloc[0], **place)
    return statements[:0].assign(printed_total_cents=pd.Series(dtype="Int64"))
