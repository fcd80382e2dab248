"""What findings rest on: a reading or a name that is not proven makes a question of them first, never a dispute."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

import pandas as pd

from auditor.core.money import dollars
from auditor.core.schemas import Problem
from auditor.findings.assembly import Finding, standing_columns
from auditor.findings.standing import A_QUESTION, alone
from auditor.intake import Names, Proof

DOUBTFUL = f"{A_QUESTION}: how its statement was read is not proven, so look at the line itself"
UNCLEAR = f"{A_QUESTION}: what '{{}}' is for is not clear from its name, nor from its amounts"

OF_ITS_OWN = "nothing to dispute: '{}' is a charge of its own, as you said, and there is no price to hold it against"

WHAT_TO_DO = (
    "Neither its name nor its amounts say it, so nothing was made of it. Ask the carrier; then say what it is, in "
    "place of CHARGE (fuel, residential …; 'other' for one of its own): {}. That is kept for this sender."
)


def held_back(
    found: Sequence[Finding], lines: pd.DataFrame, proofs: Mapping[str, Proof], names: Mapping[str, Names]
) -> list[Finding]:
    """The findings, with those that rest on what is not proven as questions.

    Args:
        found: the findings.
        lines: LINES that they are about.
        proofs: by statement what proves its reading.
        names: by statement what its charges' names mean.
    """
    described = dict(zip(lines.index.tolist(), lines["description"], strict=True))
    return [_held_back(one, described, proofs, names) for one in found]


def _held_back(
    finding: Finding, described: Mapping[int, object], proofs: Mapping[str, Proof], names: Mapping[str, Names]
) -> Finding:
    statement = str(finding.row["statement"])
    if finding.standing.strength == "none":
        return finding
    if statement in proofs and proofs[statement].grade == "doubtful":
        return _asked(finding, DOUBTFUL)
    shown = names[statement].shown if statement in names else {}
    for rests_on, why in (("nothing", UNCLEAR), ("own", OF_ITS_OWN)):
        texts = [text for line in finding.lines if (text := str(described.get(line))) and shown.get(text) == rests_on]
        if texts:
            return _asked(finding, why.format(texts[0]))
    return finding


def _asked(finding: Finding, why: str) -> Finding:
    stands = alone("none", why)
    return replace(finding, row={**finding.row, **standing_columns(stands), "dispute_by": pd.NaT}, standing=stands)


def questions(
    lines: pd.DataFrame, names: Mapping[str, Names], paths: Mapping[str, str] = MappingProxyType({})
) -> Iterator[Problem]:
    """One question for each name of a charge that is not clear, with how often it stands there and its amounts.

    Where all that it stands on is accounted for, with no finding, nothing hangs on the name, and nothing is asked.

    Args:
        lines: LINES with `finding`.
        names: by statement what its charges' names mean.
        paths: by its name where a file lies, for the command that answers.
    """
    statements = lines["statement"].astype("str")
    for number, them in lines.groupby(statements, sort=False):
        shown = names[str(number)].shown if str(number) in names else {}
        for text, ours in them.groupby("description", sort=False):
            if shown.get(str(text)) == "nothing" and ours["finding"].notna().any():
                where = str(ours["source_file"].iloc[0]), str(ours["source_place"].iloc[0])
                answer = command(paths.get(where[0], where[0]), str(text))
                yield Problem(*where, f"{_question(str(text), ours)} {WHAT_TO_DO.format(answer)}", asks=True)


def command(path: str, text: str) -> str:
    """What says what a charge is, ready to be copied: the charge itself is to be put in."""
    return f"auditor columns {as_typed(path)} --charge {as_typed(f'{text}=CHARGE')} --save"


def as_typed(text: str) -> str:
    """A text as an argument at a terminal of any system, unless it has signs in it that these take otherwise."""
    return shlex.quote(text) if set(text) & set('"$`\\!%') else f'"{text}"'


def _question(text: str, lines: pd.DataFrame) -> str:
    amounts = lines["amount_cents"].dropna().astype(int)
    parcels = lines["tracking"].nunique()
    low, high = (dollars(int(cents)) for cents in (amounts.min(), amounts.max())) if len(amounts) else ("", "")
    several = f"{dollars(int(amounts.sum()))} in all, {low} to {high}"
    once = f"{dollars(int(amounts.iloc[0]))}{' each time' if len(amounts) > 1 else ''}" if len(amounts) else "unread"
    each = once if len(set(amounts)) < 2 else several  # noqa: PLR2004 - all the same
    where = f", on {parcels:,} parcels" if parcels > 1 else ", on 1 parcel" if parcels else ", about no parcel"
    return f"What is the charge '{text}', {each}{where}?"
