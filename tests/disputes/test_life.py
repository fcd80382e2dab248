"""The life of a dispute: what may follow what, that the sums hold whatever happens, and which credit closes which."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.core.schemas import DISPUTE_STATES, EVENTS, HAPPENINGS, LINES, conform, empty, rows
from auditor.disputes import marking, opening
from auditor.disputes.credits import Credits, credits_of, settled
from auditor.disputes.history import added
from auditor.disputes.marking import ClaimError
from auditor.disputes.states import states_of

DAY = date(2026, 4, 20)
SUMS = ["open_cents", "credited_cents", "refused_cents", "given_up_cents"]


def found(*worth: tuple[str, int], statement: str = "S1") -> pd.DataFrame:
    """Findings about those parcels."""
    table = pd.DataFrame(
        [{"statement": statement, "about": about, "worth_cents": cents} for about, cents in worth],
        columns=["statement", "about", "worth_cents"],
    )
    return table.astype({"statement": "str", "about": "str", "worth_cents": "Int64"})


def news(findings: pd.DataFrame, events: pd.DataFrame, *statements: str) -> pd.DataFrame:
    """The history with what the findings add to it."""
    before = states_of(events)
    ours = pd.Series(statements or ("S1",), dtype="str")
    return added(events, opening.from_findings(findings, before, ours, DAY))


def one(events: pd.DataFrame) -> dict[str, Any]:
    """How the only dispute stands."""
    [row] = rows(states_of(events))
    return row


def marked(events: pd.DataFrame, what: str, on: date = DAY, **more: Any) -> pd.DataFrame:
    """The history with a mark."""
    return added(events, marking.marked(one(events), marking.Mark(what, on, **more), today=DAY))


def opened(cents: int = 800) -> pd.DataFrame:
    """The history of one dispute that was just found."""
    return news(found(("NP1", cents)), empty(EVENTS))


def test_what_is_worth_disputing_is_opened_once() -> None:
    """A second run adds nothing; what is worth nothing is no dispute."""
    events = news(found(("NP1", 800), ("NP2", 0)), empty(EVENTS))
    again = news(found(("NP1", 800), ("NP2", 0)), events)
    assert events[["about", "what", "amount_cents"]].to_numpy().tolist() == [["NP1", "opened", 800]]
    assert len(again) == 1
    assert (one(events)["state"], one(events)["open_cents"]) == ("open", 800)


def test_later_documents_change_what_was_not_sent() -> None:
    """The amount follows the finding, down to nothing; other statements' disputes stay."""
    events = news(found(("NP1", 500)), opened())
    assert (one(events)["amount_cents"], list(events["what"])) == (500, ["opened", "changed"])
    gone = news(found(), events)
    assert (one(gone)["state"], one(gone)["amount_cents"]) == ("withdrawn", 0)
    assert one(news(found(), events, "S2"))["amount_cents"] == 500
    assert one(news(found(("NP1", 300)), gone))["state"] == "open"


def test_what_was_sent_keeps_its_amount() -> None:
    """It is what the carrier was told."""
    events = news(found(("NP1", 500)), marked(opened(), "sent"))
    assert one(events)["amount_cents"] == 800


def test_the_usual_life_ends_with_a_credit() -> None:
    """Sent, answered, credited; each with its day and number."""
    events = marked(opened(), "sent", DAY - timedelta(days=2), reference="C-1")
    events = marked(marked(events, "answered", note="they look at it"), "credited")
    stands = one(events)
    assert (stands["state"], stands["credited_cents"], stands["open_cents"]) == ("credited", 800, 0)
    assert (stands["sent_on"].date(), stands["reference"], stands["note"]) == (
        DAY - timedelta(days=2),
        "C-1",
        "they look at it",
    )


def test_a_part_credited_leaves_the_rest_open_to_be_refused() -> None:
    """And the rest taken up again is open again."""
    events = marked(marked(marked(opened(), "sent"), "credited", amount_cents=300), "refused")
    assert [one(events)[name] for name in SUMS] == [0, 300, 500, 0]
    again = marked(events, "taken up again")
    assert (one(again)["state"], [one(again)[name] for name in SUMS]) == ("sent", [500, 300, 0, 0])


@pytest.mark.parametrize(
    ("before", "what", "more", "words"),
    [
        ((), "refused", {}, "cannot be marked as refused: it was never marked as sent. Mark it as sent first."),
        ((), "taken up again", {}, "it is open, not refused or given up."),
        (("given up",), "sent", {}, "it is given up already. Take it up again first."),
        (("credited",), "sent", {}, "it is credited already."),
        (
            (),
            "sent",
            {"on": DAY + timedelta(days=1)},
            "2026-04-21 is still to come. Give the day on which it happened.",
        ),
        ((), "credited", {"amount_cents": 801}, "$8.01 cannot be credited, since $8.00 of it is open."),
        ((), "credited", {"amount_cents": 0}, "$0.00 cannot be credited"),
    ],
)
def test_what_cannot_follow_is_refused_in_words(
    before: tuple[str, ...], what: str, more: dict[str, Any], words: str
) -> None:
    """With what to do."""
    events = opened()
    for mark in before:
        events = marked(events, mark)
    with pytest.raises(ClaimError, match="The dispute about NP1 on statement S1") as error:
        marked(events, what, **more)
    assert words in str(error.value)


@settings(max_examples=25)
@given(st.lists(st.tuples(st.sampled_from(["found", "statement", *HAPPENINGS[2:]]), st.integers(0, 1500)), max_size=12))
def test_the_sums_hold_whatever_happens(happenings: list[tuple[str, int]]) -> None:
    """Disputed = open + credited + refused + given up, none below zero; and only adding makes the history."""
    events = opened()
    standing = states_of(events)
    for what, cents in happenings:
        before = events
        [stands] = rows(standing)
        if what == "found":
            new = opening.from_findings(found(("NP1", cents)), standing, pd.Series(["S1"], dtype="str"), DAY)
        elif what == "statement":
            given_now = found(("NP1", cents)).rename(columns={"worth_cents": "amount_cents"})
            credit = given_now.assign(by_statement="S5", note="as claimed")
            new = settled(credit[credit["amount_cents"] > 0], events, DAY)
        else:
            try:
                mark = marking.Mark(what, DAY, cents if what == "credited" else None)
                new = marking.marked(stands, mark, today=DAY)
            except ClaimError:
                continue
        events = added(events, new)
        standing = states_of(events)
        [stands] = rows(standing)
        assert stands["amount_cents"] == sum(stands[name] for name in SUMS)
        assert min(stands[name] for name in SUMS) >= 0
        assert stands["state"] in DISPUTE_STATES
        assert events.head(len(before)).equals(before)


def credit(
    number: str, cents: int, charge: str | None, statement: str = "S5", on: str = "2026-06-01"
) -> dict[str, Any]:
    """A line of money back."""
    return {
        "statement": statement,
        "statement_on": pd.Timestamp(on),
        "tracking": number,
        "number": number,
        "amount_cents": -cents,
        "charge": charge,
        "state": "credit",
        "source_file": "may.csv",
        "source_place": "row 2",
    }


def given_of(*lines_: dict[str, Any], **disputes: tuple[int, str]) -> Credits:
    """Those credits, given to disputes about parcels with those amounts and charges, on statement S1."""
    lines = conform(pd.DataFrame(lines_), LINES).assign(number=[line["number"] for line in lines_])
    claimed = pd.DataFrame(
        [
            {
                "statement": "S1",
                "about": about,
                "number": about.split("_")[0],
                "charges": charges,
                "amount_cents": cents,
            }
            for about, (cents, charges) in disputes.items()
        ]
    ).assign(statement_on=pd.Timestamp("2026-04-01"))
    return credits_of(lines, claimed)


def shares(found_: Credits) -> list[list[Any]]:
    """What was given to which."""
    return found_.given[["about", "amount_cents", "note"]].to_numpy().tolist()


HANDLING = "additional handling; fuel"


def test_a_credit_of_the_amount_closes_its_dispute() -> None:
    """Also when it stands on two lines, the charge and its fuel."""
    both = given_of(
        credit("NP1", 2650, "additional handling"), credit("NP1", 446, "fuel"), NP1=(3096, "additional handling")
    )
    assert shares(both) == [["NP1", 3096, "as claimed"]]
    assert both.problems == ()


def test_a_short_credit_is_named_and_leaves_the_rest() -> None:
    """With file and row."""
    short = given_of(credit("NP1", 2000, "additional handling"), NP1=(2650, HANDLING))
    assert shares(short) == [["NP1", 2000, "$6.50 short"]]
    [problem] = short.problems
    assert (problem.file, problem.place, problem.note) == ("may.csv", "row 2", False)
    assert problem.message == ("The credit of $20.00 for parcel NP1 is not as claimed on statement S1: $6.50 short.")


def test_more_than_was_disputed_is_named() -> None:
    """Only what was disputed is counted as credited."""
    over = given_of(credit("NP1", 3000, None), NP1=(2650, HANDLING))
    assert shares(over) == [["NP1", 2650, "as claimed"]]
    assert [problem.message for problem in over.problems] == [
        "The credit of $30.00 for parcel NP1 is $3.50 more than was disputed."
    ]


def test_a_credit_for_another_charge_closes_nothing_unless_it_is_of_the_amount() -> None:
    """Both are told."""
    other = given_of(credit("NP1", 500, "residential"), NP1=(2650, HANDLING))
    assert shares(other) == []
    assert other.problems[0].message == (
        "The credit of $5.00 for parcel NP1 names residential, and no open dispute of that parcel is about that or of "
        "that amount. It closed none; if it is for one, mark it: auditor disputes credited."
    )
    same = given_of(credit("NP1", 2650, "residential"), NP1=(2650, HANDLING))
    assert shares(same) == [["NP1", 2650, "of the amount claimed, but for residential"]]
    assert same.problems[0].note


def test_of_two_disputes_the_one_of_the_amount_is_closed_else_the_oldest() -> None:
    """A credit of neither amount is spread over those with its charge."""
    two = {"NP1_a": (800, "freight"), "NP1_b": (500, "freight")}
    assert shares(given_of(credit("NP1", 500, "freight"), **two)) == [["NP1_b", 500, "as claimed"]]
    spread = shares(given_of(credit("NP1", 1000, "freight"), **two))
    assert spread == [["NP1_a", 800, "as claimed"], ["NP1_b", 200, "$3.00 short"]]


def test_two_credits_add_up() -> None:
    """The second is held against what the first has left."""
    both = given_of(credit("NP1", 500, None), credit("NP1", 300, None, "S6", "2026-07-01"), NP1=(800, "freight"))
    assert shares(both) == [["NP1", 500, "$3.00 short"], ["NP1", 300, "as claimed"]]


def test_money_back_on_the_same_or_an_earlier_statement_is_not_for_the_dispute() -> None:
    """It was reckoned with when the dispute was found."""
    same = given_of(credit("NP1", 800, None, "S1", "2026-04-01"), NP1=(800, "freight"))
    earlier = given_of(credit("NP1", 800, None, "S0", "2026-03-01"), NP1=(800, "freight"))
    assert shares(same) == shares(earlier) == []
    assert same.problems == earlier.problems == ()


def test_a_credit_counts_once_and_goes_when_its_statement_goes() -> None:
    """By hand and by statement is not twice; the history says what happened."""
    events = marked(marked(opened(), "sent"), "credited", amount_cents=800)
    given_now = given_of(credit("NP1", 800, None), NP1=(800, "freight")).given
    events = added(events, settled(given_now, events, DAY))
    assert one(events)["credited_cents"] == 800
    assert settled(given_now, events, DAY).empty
    gone = settled(given_now.head(0), events, DAY)
    assert gone[["what", "amount_cents", "note"]].to_numpy().tolist() == [
        ["credited", -800, "the statement with this credit is no longer counted"]
    ]
