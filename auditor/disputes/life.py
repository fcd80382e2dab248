"""The life of a dispute, as functions on tables: open → sent → answered → credited, refused or given up.

What happened is kept as a history (EVENTS) to which is only added; how a dispute stands follows from it. At every time

    disputed = open + credited + refused + given up, to the cent.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from auditor.core.money import dollars
from auditor.core.schemas import EVENTS, Column, Problem, Schema, conform, empty, joined, rows

KEY = ["statement", "about"]

STANDING: Schema = (
    *(Column(name, "str", "which dispute") for name in KEY),
    Column("state", "str", "one of DISPUTE_STATES"),
    *(Column(f"{name}_cents", "Int64", name) for name in ("amount", "open", "credited", "refused", "given_up")),
    Column("opened_on", "datetime64[s]", "first found"),
    Column("sent_on", "datetime64[s]", "last sent"),
    Column("reference", "str", "the carrier's number for it, as last marked"),
    Column("note", "str", "the last note"),
    Column("touched", "boolean", "something was marked by hand: its amount no longer follows what is found"),
)
"""How disputes stand, a row each."""

TURNS = ("refused", "given up", "taken up again")
BY_HAND = ("sent", "answered", "refused", "given up", "taken up again")

AGREED = "as claimed"
AS_WAS = "it is billed again as it was"


class ClaimError(Exception):
    """A dispute cannot be marked so; why, and what to do, in words for the user."""


@dataclass(frozen=True)
class Credits:
    """Credits of later statements given to the disputes they are for.

    `given`: statement, about, by_statement, amount_cents, note. `problems`: credits that are short, too much, for
    another charge or for no dispute.
    """

    given: pd.DataFrame
    problems: tuple[Problem, ...]


def standing(events: pd.DataFrame) -> pd.DataFrame:
    """How each dispute stands (STANDING), from the whole history of all, in order."""
    if events.empty:
        return empty(STANDING)
    # By a plain number for each dispute, since an index of two columns is slow.
    events = events.set_index(events.groupby(KEY, sort=False).ngroup().rename(None))
    first = events.loc[~events.index.duplicated(), KEY]
    amount = _last(events, ("opened", "changed"), "amount_cents", first.index).astype(np.int64)
    by_hand, by_statements = _credited(events, first.index, by_hand=True), _credited(events, first.index)
    credited = np.minimum(amount, np.maximum(by_hand, by_statements))
    rest = amount - credited
    turn = _last(events, TURNS, "what", first.index)
    refused, given_up = rest.where(turn == "refused", 0), rest.where(turn == "given up", 0)
    hand = events["what"].isin(BY_HAND) | ((events["what"] == "credited") & events["by_statement"].isna())
    table = first.assign(
        amount_cents=amount,
        credited_cents=credited,
        refused_cents=refused,
        given_up_cents=given_up,
        open_cents=rest - refused - given_up,
        opened_on=_last(events, ("opened",), "happened_on", first.index),
        sent_on=_last(events, ("sent",), "happened_on", first.index),
        reference=events["reference"].groupby(level=0).last(),
        note=events["note"].groupby(level=0).last(),
        touched=hand.groupby(level=0).any(),
    )
    table["state"] = _state(table, _last(events, ("sent", "answered"), "what", first.index), turn)
    return conform(table, STANDING).reset_index(drop=True)


def _last(events: pd.DataFrame, what: tuple[str, ...], column: str, disputes: pd.Index) -> pd.Series:
    """The column's value in the last event of those kinds, for each dispute; missing where there is none."""
    chosen = events.loc[events["what"].isin(what), column]
    return chosen[~chosen.index.duplicated(keep="last")].reindex(disputes)


def _credited(events: pd.DataFrame, disputes: pd.Index, *, by_hand: bool = False) -> pd.Series:
    """What was credited: as marked by hand, or as later statements show. The greater of the two counts."""
    counted = (events["what"] == "credited") & (events["by_statement"].isna() == by_hand)
    cents = events.loc[counted, "amount_cents"].groupby(level=0).sum()
    return cents.reindex(disputes, fill_value=0).astype(np.int64)


def _state(table: pd.DataFrame, stage: pd.Series, turn: pd.Series) -> pd.Series:
    decided = {
        "withdrawn": table["amount_cents"] == 0,
        "credited": table["credited_cents"] == table["amount_cents"],
        "refused": turn == "refused",
        "given up": turn == "given up",
        "answered": stage == "answered",
        "sent": stage == "sent",
    }
    return pd.Series(np.select(list(decided.values()), list(decided), "open"), index=table.index)


def news(findings: pd.DataFrame, before: pd.DataFrame, statements: pd.Series, day: date) -> pd.DataFrame:
    """What findings open, change or leave nothing of (EVENTS). A dispute marked by hand keeps its amount.

    Args:
        findings: statement, about, worth_cents.
        before: STANDING.
        statements: the statements that were reckoned; disputes of others stay as they are.
        day: the day of the run.
    """
    worth = findings.loc[findings["worth_cents"] > 0, [*KEY, "worth_cents"]]
    of_these = before[before["statement"].isin(statements)]
    both = worth.merge(of_these[[*KEY, "amount_cents", "touched"]], on=KEY, how="outer").sort_values(KEY)
    now = both["worth_cents"].astype("Int64").fillna(0)
    is_new = both["amount_cents"].isna()
    changed = ~is_new & ~both["touched"].fillna(value=False) & (now != both["amount_cents"]).fillna(value=False)
    events = both.assign(
        amount_cents=now, happened_on=pd.Timestamp(day), what=np.where(is_new, "opened", "changed")
    ).astype({"what": "str"})
    return conform(events[is_new | changed], EVENTS).reset_index(drop=True)


def moved(events: pd.DataFrame, to: Mapping[str, str], day: date) -> pd.DataFrame:
    """The events (EVENTS) by which disputes marked by hand go on with the statement in whose place theirs was issued.

    What was written to the carrier, and what came of it, is put down again for the new one; the old one is left with
    nothing open. One that was marked on both stays with the new one as it is.

    Args:
        events: the history so far.
        to: for each statement that is not counted any more, the one in its place.
        day: the day of the run.
    """
    stood = standing(events)
    of_these = stood[stood["touched"] & (stood["amount_cents"] > 0) & stood["statement"].isin(list(to))]
    there = {(one["statement"], one["about"]) for one in rows(stood[stood["touched"] & (stood["amount_cents"] > 0)])}
    made: list[dict[str, Any]] = []
    for one in rows(of_these):
        old, new = str(one["statement"]), to[str(one["statement"])]
        mine = events[(events["statement"] == old) & (events["about"] == one["about"])]
        if (new, one["about"]) not in there:
            made += _gone_on(one, new, mine, events[(events["statement"] == new) & (events["about"] == one["about"])])
        made += _left_behind(one, new, mine, day)
    return conform(pd.DataFrame(made, columns=[column.name for column in EVENTS]), EVENTS)


def _gone_on(dispute: dict[str, Any], new: str, events: pd.DataFrame, there: pd.DataFrame) -> Iterator[dict[str, Any]]:
    """What happened to a dispute, put down for the statement with which it goes on; nothing of it twice."""
    about, old = dispute["about"], dispute["statement"]
    yield {
        "statement": new,
        "about": about,
        "happened_on": dispute["opened_on"],
        "what": "opened",
        "amount_cents": dispute["amount_cents"],
        "by_statement": old,
        "note": f"goes on from statement {old}, in the place of which this one was issued",
    }
    kept = ["happened_on", "what", "amount_cents", "reference", "note"]
    by_hand = events[events["what"].isin(BY_HAND) | ((events["what"] == "credited") & events["by_statement"].isna())]
    seen = {tuple(map(str, row)) for row in there[kept].itertuples(index=False, name=None)}
    for row in rows(by_hand[kept]):
        if tuple(map(str, row.values())) not in seen:
            yield row | {"statement": new, "about": about}


def _left_behind(dispute: dict[str, Any], new: str, events: pd.DataFrame, day: date) -> Iterator[dict[str, Any]]:
    """What leaves nothing of a dispute that goes on with another statement, nor of what was credited of it."""
    base = {name: dispute[name] for name in KEY} | {"happened_on": pd.Timestamp(day)}
    note = f"goes on with statement {new}, which was issued in the place of this one"
    yield base | {"what": "changed", "amount_cents": 0, "by_statement": new, "note": note}
    shown = events[(events["what"] == "credited") & events["by_statement"].notna()]
    for by, cents in shown.groupby("by_statement")["amount_cents"].sum().items():
        if cents:
            yield base | {"what": "credited", "amount_cents": -int(cents), "by_statement": by, "note": note}


def lowered(events: pd.DataFrame, less: Mapping[tuple[str, str], int], day: date) -> pd.DataFrame:
    """The events (EVENTS) of what a statement, issued again, bills less for what was claimed; or bills again after all.

    Args:
        events: the history so far.
        less: cents by statement and what a dispute is about, of statements that are counted.
        day: the day of the run.
    """
    stood = standing(events)
    of_these = stood[stood["touched"] & stood["state"].isin(["open", "sent", "answered", "withdrawn"])]
    own = events[(events["what"] == "opened") | ((events["what"] == "changed") & events["by_statement"].isna())]
    claimed = own.drop_duplicates(KEY, keep="last").set_index(KEY)["amount_cents"]
    now = {(one["statement"], one["about"]): one for one in rows(of_these) if _is_here(events, one)}
    made = []
    for (statement, about), one in now.items():
        cents = less.get((statement, about), 0)
        rest = int(claimed[statement, about]) - min(cents, int(claimed[statement, about]))
        if rest != one["amount_cents"]:
            note = f"{dollars(cents)} of it is no longer billed, as the statement was issued again" if cents else AS_WAS
            base = {"statement": statement, "about": about, "happened_on": pd.Timestamp(day)}
            made.append(base | {"what": "changed", "amount_cents": rest, "by_statement": statement, "note": note})
    return conform(pd.DataFrame(made, columns=[column.name for column in EVENTS]), EVENTS)


def _is_here(events: pd.DataFrame, dispute: dict[str, Any]) -> bool:
    """Whether a dispute has not gone on with another statement, by the last that was opened or changed of it."""
    mine = events[(events["statement"] == dispute["statement"]) & (events["about"] == dispute["about"])]
    last = mine[mine["what"].isin(["opened", "changed"])].iloc[-1]
    return bool(
        last["what"] == "opened"
        or last["by_statement"] in {None, dispute["statement"]}
        or pd.isna(last["by_statement"])
    )


def came_from(events: pd.DataFrame) -> dict[str, str]:
    """For each statement with which disputes of another went on, that other one."""
    came = events[(events["what"] == "opened") & events["by_statement"].notna()]
    return dict(zip(came["statement"], came["by_statement"], strict=True))


def settled(given: pd.DataFrame, events: pd.DataFrame, day: date) -> pd.DataFrame:
    """The events (EVENTS) that bring the history to the credits that statements show now.

    Args:
        given: `Credits.given`.
        events: the history so far.
        day: the day of the run.
    """
    key = [*KEY, "by_statement"]
    seen = events[(events["what"] == "credited") & events["by_statement"].notna()]
    known = seen.groupby(key)["amount_cents"].sum().rename("known").reset_index()
    both = given.merge(known, on=key, how="outer").sort_values(key)
    more = both["amount_cents"].astype("Int64").fillna(0) - both["known"].astype("Int64").fillna(0)
    note = both["note"].fillna("the statement with this credit is no longer counted")
    new = both.assign(amount_cents=more, note=note, what="credited", happened_on=pd.Timestamp(day))
    return conform(new[more != 0], EVENTS).reset_index(drop=True)


def credits_of(lines: pd.DataFrame, disputes: pd.DataFrame) -> Credits:
    """Give each credit on a later statement to the dispute it is for: by parcel, then by amount and reason.

    All that a statement credits for a parcel is one credit. One of the very amount of a dispute is for it; others go
    to the disputes of that parcel about the same charges, the oldest first. A credit that names another charge, and
    is not of the amount, is for none of them.

    Args:
        lines: LINES with `number`, the parcel's as it is compared.
        disputes: statement, about, statement_on, number, charges, amount_cents.
    """
    # Whatever its words: money back may also stand there as a lower adjustment, or for a parcel that is not known.
    credit = lines[(lines["amount_cents"] < 0) & lines["number"].isin(disputes["number"].dropna())]
    open_ = {str(number): rows(them) for number, them in disputes.sort_values(["statement_on", *KEY]).groupby("number")}
    left = {(one["statement"], one["about"]): int(one["amount_cents"]) for them in open_.values() for one in them}
    given: list[dict[str, Any]] = []
    problems: list[Problem] = []
    groups = credit.sort_values(["statement_on", "statement"], kind="stable").groupby(
        ["number", "statement"], sort=False
    )
    for (number, statement), them in groups:
        claims = [one for one in open_[str(number)] if _is_later(them, one)]
        if not claims:
            continue
        cents = -int(them["amount_cents"].sum())
        shares = list(_shares(cents, set(them["charge"].dropna()), claims, left))
        for claim, share, note in shares:
            left[claim["statement"], claim["about"]] -= share
            given.append({**{name: claim[name] for name in KEY}, "amount_cents": share, "note": note})
            given[-1]["by_statement"] = statement
        problems += _told(them, cents, shares, left)
    return Credits(pd.DataFrame(given, columns=[*KEY, "by_statement", "amount_cents", "note"]), tuple(problems))


def _is_later(credit: pd.DataFrame, claim: dict[str, Any]) -> bool:
    """Whether a credit can be for a claim: it stands on another statement, and not on an earlier one."""
    on, since = credit["statement_on"].iloc[0], claim["statement_on"]
    return bool(credit["statement"].iloc[0] != claim["statement"] and not on < since)


def _shares(
    cents: int, charges: set[str], claims: list[dict[str, Any]], left: dict[tuple[str, str], int]
) -> Iterator[tuple[dict[str, Any], int, str]]:
    """The claims that a credit is for, with its cents for each and in words how they agree."""
    remaining = [(one, left[one["statement"], one["about"]]) for one in claims]
    fitting = [(one, rest) for one, rest in remaining if rest and _same_reason(charges, str(one["charges"]))]
    exact = [one for one, rest in (*fitting, *remaining) if rest == cents]
    if exact:
        same = _same_reason(charges, str(exact[0]["charges"]))
        yield exact[0], cents, AGREED if same else f"of the amount claimed, but for {', '.join(sorted(charges))}"
        return
    for one, rest in fitting:
        share = min(rest, cents)
        if share > 0:
            yield one, share, AGREED if share == rest else f"{dollars(rest - share)} short"
            cents -= share


def _same_reason(charges: set[str], claimed: str) -> bool:
    """Whether the credited charges are among those claimed. Fuel goes with any charge; one without a name with all."""
    return charges - {"fuel"} <= set(claimed.split("; ")) or not charges


def _told(
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
            short = left[claim["statement"], claim["about"]]
            message = f"{about} is not as claimed on statement {claim['statement']}: {note}."
            yield Problem(*where, message, note=not short or not share)


def marked(
    dispute: dict[str, Any],
    what: str,
    on: date,
    *,
    today: date,
    amount_cents: int | None = None,
    reference: str | None = None,
    note: str | None = None,
) -> pd.DataFrame:
    """The event (EVENTS, one row) of marking a dispute by hand.

    Args:
        dispute: its row of STANDING.
        what: sent, answered, credited, refused, given up or taken up again.
        on: the day it happened.
        today: the day it is marked.
        amount_cents: what was credited; all that is open where it is not given.
        reference: the carrier's number for it.
        note: anything worth remembering.

    Raises:
        ClaimError: it cannot be marked so.
    """
    name = f"The dispute about {dispute['about']} on statement {dispute['statement']}"
    if why := _impossible(dispute, what, on, today):
        raise ClaimError(f"{name} cannot be marked as {what}: {why}.")
    open_cents = int(dispute["open_cents"])
    if what == "credited":
        amount_cents = open_cents if amount_cents is None else amount_cents
        if not 0 < amount_cents <= open_cents:
            raise ClaimError(
                f"{name}: {dollars(amount_cents)} cannot be credited, since {dollars(open_cents)} of it is open. Give "
                "an amount up to that."
            )
    event = {name: dispute[name] for name in KEY} | {
        "happened_on": pd.Timestamp(on),
        "what": what,
        "amount_cents": amount_cents if what == "credited" else None,
        "reference": reference,
        "note": note,
    }
    return conform(pd.DataFrame([event]), EVENTS)


def _impossible(dispute: dict[str, Any], what: str, on: date, today: date) -> str:
    """Why a dispute cannot be marked so; "" when it can."""
    state = dispute["state"]
    closed = state in {"credited", "refused", "given up", "withdrawn"}
    if on > today:
        return f"{on} is still to come. Give the day on which it happened"
    if what == "taken up again":
        return "" if state in {"refused", "given up"} else f"it is {state}, not refused or given up"
    if closed and not (what == "answered" and state == "refused"):
        again = ". Take it up again first" if state in {"refused", "given up"} else ""
        return f"it is {state} already{again}"
    if what in {"answered", "refused"} and state == "open":
        return "it was never marked as sent. Mark it as sent first"
    return ""


def added(events: pd.DataFrame, *more: pd.DataFrame) -> pd.DataFrame:
    """The history with events added at its end."""
    return joined((events, *more), EVENTS)
