"""The same statement in several files, in two forms or issued again: counted once, and told of."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from auditor.core.schemas import REPLACED, Problem, conform, empty, rows
from auditor.intake.reissues import Unit, Verdict, found, told

SAME_LINES = "the same lines"
"""Why a statement is not counted that is there in another form."""


@dataclass(frozen=True)
class Once:
    """Lines and printed totals of what counts; what does not (`tables.REPLACED`), and what there is to say.

    `perhaps_replaced`: the numbers of every two statements of which one may be in the place of the other.
    """

    lines: pd.DataFrame
    totals: pd.DataFrame
    replaced: pd.DataFrame
    problems: tuple[Problem, ...] = ()
    perhaps_replaced: frozenset[frozenset[str]] = frozenset()


def counted_once(lines: pd.DataFrame, totals: pd.DataFrame, reissues: pd.DataFrame) -> Once:
    """What counts of statements of which several files have lines, or that were issued again.

    Two files hold the same statement when its number is the same and so are its lines, in any order: tracking number,
    charge and amount. Then the one that says more is kept. What was issued again is told by `reissues.found`.

    Args:
        lines: LINES with charge and state.
        totals: PRINTED_TOTALS.
        reissues: REISSUES, what statements say of one another.
    """
    unit = lines.groupby(["statement", "source_file"], dropna=False).ngroup()
    firsts = lines[~unit.duplicated()]
    if len(firsts) < 2:  # noqa: PLR2004 - one statement in one file
        return Once(lines, totals, empty(REPLACED))
    held = pd.DataFrame(
        {
            "unit": unit,
            "number": _by_text(
                lines["tracking"].fillna(lines["order"]), lambda text: re.sub(r"[\W_]", "", text).upper()
            ),
            "charge": lines["charge"].fillna(_by_text(lines["description"], str.casefold)).fillna(""),
            "state": lines["state"].fillna(""),
            "cents": lines["amount_cents"].fillna(0).astype(np.int64),
        }
    )
    units = _units(held, firsts.set_axis(unit[firsts.index]).sort_index(), totals, reissues)
    forms = _same_forms(held, units, lines)
    kept = held[~held["unit"].isin(forms) & (held["number"] != "")]
    others = kept.drop_duplicates(["number", "unit"])["number"]
    several = kept["number"].isin(others[others.duplicated()])
    verdicts, doubts = found({at: one for at, one in units.items() if at not in forms}, kept[several])
    at_of = {(one.statement, one.file): at for at, one in units.items()}
    by = {at_of[one.pair.old.statement, one.pair.old.file]: one for one in verdicts}
    new_of = forms | {at: at_of[one.pair.new.statement, one.pair.new.file] for at, one in by.items()}
    final = {at: _final(at, new_of) for at in new_of}
    gone = unit.isin(new_of)
    dropped = {(units[at].statement, units[at].file) for at in new_of}
    left = [(doubt, pair) for doubt, pair in doubts if not dropped & {(of.statement, of.file) for of in pair.both}]
    kept_totals = [pair not in dropped for pair in zip(totals["statement"], totals["source_file"], strict=True)]
    return Once(
        lines[~gone].reset_index(drop=True),
        totals.loc[kept_totals].reset_index(drop=True),
        _replaced(units, by, final) if new_of else empty(REPLACED),
        (
            *(_told_same(units[at], units[final[at]]) for at in forms),
            *(told(one, units[final[at]]) for at, one in by.items()),
            *(doubt for doubt, _ in left),
        ),
        frozenset(frozenset(of.statement for of in pair.both) for _, pair in left),
    )


def _by_text(column: pd.Series, change: Callable[[str], str]) -> pd.Series:
    """The column with each distinct text changed once."""
    codes, texts = pd.factorize(column)
    changed = np.array([*map(change, texts), ""], dtype=object)
    return pd.Series(changed[codes], index=column.index)


def _units(held: pd.DataFrame, firsts: pd.DataFrame, totals: pd.DataFrame, reissues: pd.DataFrame) -> dict[int, Unit]:
    sums = held.assign(numbered=held["number"] != "", rows=1).groupby("unit")[["numbered", "rows", "cents"]].sum()
    printed = totals.drop_duplicates(["statement", "source_file"]).set_index(["statement", "source_file"])
    printed_cents = printed["printed_total_cents"].dropna().to_dict()
    words = reissues.groupby(["statement", "source_file"])["words"].agg(tuple).to_dict()
    return {
        at: Unit(
            str(first["statement"]),
            str(first["source_file"]),
            numbered,
            count,
            cents,
            None if pd.isna(first["statement_on"]) else first["statement_on"],
            printed_cents.get((first["statement"], first["source_file"])),
            words.get((first["statement"], first["source_file"]), ()),
        )
        for (at, numbered, count, cents), first in zip(
            sums.reset_index().astype(int).itertuples(index=False, name=None), rows(firsts), strict=True
        )
    }


def _same_forms(held: pd.DataFrame, units: Mapping[int, Unit], lines: pd.DataFrame) -> dict[int, int]:
    """Which units are the same statement as another one, line by line; of two forms, the one that says more is kept."""
    numbers = pd.Series({at: one.number for at, one in units.items()})
    shared = numbers[numbers.duplicated(keep=False)]
    theirs = held[held["unit"].isin(shared.index)]
    cells = lines.loc[theirs.index].notna().sum(axis=1).groupby(theirs["unit"]).sum()
    forms: dict[int, int] = {}
    for _, ats in shared.groupby(shared):
        in_order = sorted(ats.index, key=lambda at: (-int(cells[at]), units[at].file))
        first: dict[tuple[object, ...], int] = {}
        for at in in_order:
            mine = theirs.loc[theirs["unit"] == at, ["number", "charge", "cents"]]
            content = tuple(mine.sort_values(["number", "charge", "cents"]).itertuples(index=False, name=None))
            if content in first:
                forms[at] = first[content]
            else:
                first[content] = at
    return forms


def _final(at: int, new_of: Mapping[int, int]) -> int:
    """What is counted in the place of a unit in the end, where that was issued again too."""
    while at in new_of:
        at = new_of[at]
    return at


def _replaced(units: Mapping[int, Unit], by: Mapping[int, Verdict], final: Mapping[int, int]) -> pd.DataFrame:
    each = [
        {
            "statement": units[at].statement,
            "source_file": units[at].file,
            "by_statement": units[new].statement,
            "by_file": units[new].file,
            "billed_cents": units[at].cents,
            "now_cents": units[new].cents,
            "reason": _reason(by[at], units[new]) if at in by else SAME_LINES,
        }
        for at, new in final.items()
    ]
    return conform(pd.DataFrame(each), REPLACED).sort_values(["statement", "source_file"], ignore_index=True)


def _reason(verdict: Verdict, final: Unit) -> str:
    """Why a statement is not counted; of which other file that is said, where that was issued again too."""
    direct = verdict.pair.new
    again = f"{direct.file} was before, as {verdict.why}"
    return verdict.why if direct == final else again


def _told_same(unit: Unit, kept: Unit) -> Problem:
    message = (
        f"Statement {unit.statement} is also in {kept.file}, with the same {unit.rows:,} lines. It was counted "
        f"once, as it stands in {kept.file}."
    )
    return Problem(unit.file, "", message, note=True)
