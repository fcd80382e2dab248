"""Money back on later statements, given to the disputes it is for: by parcel, then by amount and reason."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

import pandas as pd

from auditor.core.money import dollars
from auditor.core.schemas import EVENTS, Problem, conform, rows
from auditor.disputes.history import KEY, on_statements

AGREED = "as claimed"


@dataclass(frozen=True)
class Credits:
    """Credits of later statements given to the disputes they are for.

    `given`: statement, about, by_statement, amount_cents, note. `problems`: credits that are short, too much, for
    another charge or for no dispute.
    """

    given: pd.DataFrame
    problems: tuple[Problem, ...]


def credits_of(lines: pd.DataFrame, disputes: pd.DataFrame) -> Credits:
    """Give each credit on a later statement to the dispute it is for: by parcel, then by amount and reason.

    All that a statement credits for a parcel is one credit. One of the very amount of a dispute is for it; others go
    to the disputes of that parcel about the same charges, the oldest first. A credit that names another charge, and
    is not of the amount, is for none of them.

    Args:
        lines: LINES with `number`, the parcel's as it is compared.
        disputes: statement, about, statement_on, number, charges, amount_cents.
    """
    order = ["statement_on", *KEY]
    # Whatever its words: money back may also stand there as a lower adjustment, or for a parcel that is not known.
    credit = lines[(lines["amount_cents"] < 0) & lines["number"].isin(disputes["number"].dropna())]
    by_number: dict[str, list[dict[str, Any]]] = {}
    for claim in rows(disputes.dropna(subset=["number"]).sort_values(order)):
        by_number.setdefault(str(claim["number"]), []).append(claim)
    left = {_key(claim): int(claim["amount_cents"]) for claims in by_number.values() for claim in claims}
    given: list[dict[str, Any]] = []
    problems: list[Problem] = []
    in_order = credit.sort_values(["statement_on", "statement"], kind="stable")
    for (number, statement), part in in_order.groupby(["number", "statement"], sort=False):
        claims = [claim for claim in by_number[str(number)] if _is_later(part, claim)]
        if not claims:
            continue
        cents = -int(part["amount_cents"].sum())
        shares = list(_shares(cents, set(part["charge"].dropna()), claims, left))
        for claim, share, note in shares:
            left[_key(claim)] -= share
            given.append(_given(claim, share, note) | {"by_statement": statement})
        problems += _problems(part, cents, shares, left)
    return Credits(pd.DataFrame(given, columns=[*KEY, "by_statement", "amount_cents", "note"]), tuple(problems))


def _key(claim: dict[str, Any]) -> tuple[str, str]:
    return claim["statement"], claim["about"]


def _given(claim: dict[str, Any], cents: int, note: str) -> dict[str, Any]:
    return {name: claim[name] for name in KEY} | {"amount_cents": cents, "note": note}


def _is_later(credit: pd.DataFrame, claim: dict[str, Any]) -> bool:
    """Whether a credit can be for a claim: it stands on another statement, and not on an earlier one."""
    on, since = credit["statement_on"].iloc[0], claim["statement_on"]
    return bool(credit["statement"].iloc[0] != claim["statement"] and not on < since)


def _shares(
    cents: int, charges: set[str], claims: list[dict[str, Any]], left: dict[tuple[str, str], int]
) -> Iterator[tuple[dict[str, Any], int, str]]:
    """The claims that a credit is for, with its cents for each and in words how they agree."""
    remaining = [(claim, left[_key(claim)]) for claim in claims]
    fitting = [(claim, rest) for claim, rest in remaining if rest and _same_reason(charges, str(claim["charges"]))]
    exact = [claim for claim, rest in (*fitting, *remaining) if rest == cents]
    if exact:
        same = _same_reason(charges, str(exact[0]["charges"]))
        yield exact[0], cents, AGREED if same else f"of the amount claimed, but for {', '.join(sorted(charges))}"
        return
    for claim, rest in fitting:
        share = min(rest, cents)
        if share > 0:
            yield claim, share, AGREED if share == rest else f"{dollars(rest - share)} short"
            cents -= share


def _same_reason(charges: set[str], claimed: str) -> bool:
    """Whether the credited charges are among those claimed. Fuel goes with any charge; one without a name with all."""
    return charges - {"fuel"} <= set(claimed.split("; ")) or not charges


def _problems(
    credit: pd.DataFrame,
    cents: int,
    shares: list[tuple[dict[str, Any], int, str]],
    left: dict[tuple[str, str], int],
) -> Iterator[Problem]:
    """What is not as claimed about a credit."""
    first = credit.iloc[0]
    where = str(first["source_file"]), str(first["source_place"])
    about = f"The credit of {dollars(cents)} for parcel {first['tracking']}"
    over = cents - sum(share for _, share, _ in shares)
    if not shares:
        named = ", ".join(sorted(credit["charge"].dropna())) or "no charge"
        message = (
            f"{about} names {named}, and no open dispute of that parcel is about that or of that amount. It closed "
            "none; if it is for one, mark it: auditor disputes credited."
        )
        yield Problem(*where, message)
    elif over > 0:
        yield Problem(*where, f"{about} is {dollars(over)} more than was disputed.", note=True)
    for claim, share, note in shares:
        if note != AGREED:
            short = left[_key(claim)]
            message = f"{about} is not as claimed on statement {claim['statement']}: {note}."
            yield Problem(*where, message, note=not short or not share)


def settled(given: pd.DataFrame, events: pd.DataFrame, day: date) -> pd.DataFrame:
    """The events (EVENTS) that bring the history to the credits that statements show now.

    Args:
        given: `Credits.given`.
        events: the history so far.
        day: the day of the run.
    """
    key = [*KEY, "by_statement"]
    known = events[on_statements(events)].groupby(key)["amount_cents"].sum().rename("known").reset_index()
    both = given.merge(known, on=key, how="outer").sort_values(key)
    more = both["amount_cents"].astype("Int64").fillna(0) - both["known"].astype("Int64").fillna(0)
    note = both["note"].fillna("the statement with this credit is no longer counted")
    new = both.assign(amount_cents=more, note=note, what="credited", happened_on=pd.Timestamp(day))
    return conform(new[more != 0], EVENTS).reset_index(drop=True)
