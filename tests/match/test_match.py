"""Numbers are matched by likeness and by what is printed beside them, one to one, and never by chance."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rapidfuzz.distance import OSA

import auditor
from auditor.core.schemas import LINES, SHIPMENTS, conform
from auditor.match import match
from auditor.match.misreading import in_words
from auditor.match.nearby import within
from auditor.match.numbers import normalised
from auditor.match.pairing import paired
from tests import bad_files
from tests.evaluation.matching import outcomes, score


def shipments(*numbers: str, **columns: list[object]) -> pd.DataFrame:
    """Recorded shipments of one day with those numbers."""
    base = {"tracking": list(numbers), "shipped_on": pd.Timestamp("2026-03-04"), "service": "Ground", "zone": "5"}
    return conform(pd.DataFrame(base | columns), SHIPMENTS)


def lines(*numbers: str, **columns: list[object]) -> pd.DataFrame:
    """One label charge for each number."""
    base = {"tracking": list(numbers), "shipped_on": pd.Timestamp("2026-03-04"), "service": "Ground", "zone": "5"}
    return conform(pd.DataFrame(base | {"state": "label charge", "amount_cents": 1000} | columns), LINES)


def found(of: pd.DataFrame, number: str) -> dict[str, object]:
    """The match of one number."""
    return {str(name): value for name, value in of.set_index("tracking").loc[number].to_dict().items()}


FAR = ("LK220726031900000161", "LK220726117744012345", "LK220726995500654321")


@pytest.mark.parametrize(
    ("seen", "how", "words"),
    [
        (FAR[0], "exact", "the number is the same"),
        ("LK22 0726 0319 0000 0161", "spacing", "the number is the same but for blanks, hyphens or case"),
        ("lk220726031900000161", "spacing", "the number is the same but for blanks, hyphens or case"),
        ("LK22O726031900000161", "misread", "the number reads O for 0"),
        ("LK220726031900000191", "misread", "the number reads 9 for 6"),
        ("LK22072603190000161", "misread", "the number has a character too many or too few"),
        ("LK2200726031900000161", "misread", "the number has a character too many or too few"),
        ("LK2207260319000", "misread", "the number is cut off: 5 characters are missing"),
    ],
)
def test_each_way_of_misreading_is_told_in_words(seen: str, how: str, words: str) -> None:
    """With a confidence that a reader can trust, as nothing else is near."""
    got = found(match(lines(seen), shipments(*FAR)), seen)
    assert (got["match"], got["shipment"], got["match_reason"]) == (how, 0, words)
    assert float(str(got["confidence"])) > 0.9


def test_a_number_like_none_is_matched_by_its_order_reference() -> None:
    """Where one shipment only has that order."""
    got = found(match(lines("??", order=["Q-2"]), shipments(*FAR, order=["Q-1", "Q-2", "Q-3"])), "??")
    assert (got["match"], got["shipment"]) == ("reference", 1)


def test_two_that_could_be_meant_are_named_and_neither_is_picked() -> None:
    """Consecutive numbers, the same day, service and zone: nothing tells which."""
    recorded = shipments(*(f"LK2207260319000{number:05d}" for number in range(160, 170)))
    got = found(match(lines("LK22072603190000l160"), recorded.iloc[:0]), "LK22072603190000l160")
    assert got["match"] == "none"
    got = found(match(lines("LK220726031900000"), recorded), "LK220726031900000")
    assert got["match"] == "none"
    assert "it could be a misreading of" in str(got["match_reason"])


def test_a_shipment_is_given_to_one_of_two_misread_numbers() -> None:
    """And the other is left, or given its own."""
    recorded = shipments(FAR[0], FAR[0][:-1] + "2")
    seen = lines(FAR[0][:-1] + "I", FAR[0][:-1] + "Z")
    got = match(seen, recorded).set_index("tracking")["shipment"]
    assert got.tolist() == [0, 1]


def test_a_misread_correction_goes_to_the_parcel_whose_label_was_read_rightly() -> None:
    """The label's lines have the right number; the adjustment's a misread one."""
    seen = lines(FAR[0], FAR[0].replace("22O", "220").replace("0319", "O319"), state=["label charge", "adjustment"])
    assert match(seen, shipments(*FAR))["shipment"].tolist() == [0, 0]


def test_the_order_of_lines_and_shipments_does_not_matter() -> None:
    """Forwards and backwards alike."""
    recorded = shipments(*FAR)
    seen = lines("LK22O726031900000161", FAR[1], "LK22072699550O654321")
    forwards = match(seen, recorded)
    backwards = match(seen.iloc[::-1], recorded.iloc[::-1])
    pd.testing.assert_frame_equal(forwards, backwards.iloc[::-1].reset_index(drop=True))


def test_of_two_shipments_with_one_number_the_one_is_taken_that_the_figures_are_of() -> None:
    """Whatever their order; where nothing tells, the confidence is that of a guess between two."""
    zones: list[object] = ["5", "7"]
    recorded, seen = shipments(FAR[0], FAR[0], zone=zones), lines(FAR[0], zone=["7"])
    for records in (recorded, recorded.iloc[::-1]):
        got = found(match(seen, records), FAR[0])
        assert (got["shipment"], got["match"]) == (1, "exact")
        assert str(got["match_reason"]).startswith("two recorded shipments have this number")
    got = found(match(seen, shipments(FAR[0], FAR[0])), FAR[0])
    assert got["confidence"] == 0.5


def test_a_number_beside_quite_other_figures_is_doubted_and_keeps_its_shipment() -> None:
    """Unless another is surely meant."""
    many = [f"LK2207260319{number:06d}07" for number in range(0, 900_000, 9_000)]
    zones: list[object] = [str(2 + number % 7) for number in range(len(many))]
    days: list[object] = [pd.Timestamp("2026-03-02") + pd.Timedelta(days=number % 20) for number in range(len(many))]
    recorded = shipments(*many, zone=zones, shipped_on=days)
    seen = lines(*many, zone=["8", *zones[1:]], shipped_on=[pd.Timestamp("2026-03-30"), *days[1:]])
    got = found(match(seen, recorded), many[0])
    assert (got["shipment"], got["match"]) == (0, "exact")
    assert got["match_reason"] == "the number is the same, but not the ship date and the zone"
    assert float(str(got["confidence"])) < 0.9999


def test_a_number_misread_as_another_shipments_goes_to_its_own() -> None:
    """The day, zone and price are those of a parcel one character away that no other number fits."""
    many = [f"LK2207260319{number:06d}07" for number in range(0, 900_000, 9_000)]
    zones: list[object] = [str(2 + number % 7) for number in range(len(many))]
    costs: list[object] = [900 + 37 * number for number in range(len(many))]
    days: list[object] = [pd.Timestamp("2026-03-02") + pd.Timedelta(days=number % 20) for number in range(len(many))]
    own = many[0][:-1] + "1"
    about = {"zone": ["9", *zones], "shipped_on": [pd.Timestamp("2026-03-30"), *days]}
    recorded = shipments(own, *many, label_cost_cents=[1234, *costs], **about)
    shown = {name: [values[0], *values[2:]] for name, values in about.items()}
    seen = lines(*many, amount_cents=[1234, *costs[1:]], **shown)
    got = found(match(seen, recorded), many[0])
    assert (got["shipment"], got["match"]) == (0, "misread")


def test_a_lost_number_is_found_by_its_day_price_and_weight() -> None:
    """Where one shipment only has them, and no other number fits it."""
    many = [f"LK2207260319{number:06d}07" for number in range(0, 900_000, 9_000)]
    costs: list[object] = [900 + 37 * number for number in range(len(many))]
    recorded = shipments(*many, label_cost_cents=costs)
    got = found(match(lines("L#??OISB", *many[1:], amount_cents=costs), recorded), "L#??OISB")
    assert (got["shipment"], got["match"]) == (0, "reference")
    assert "label price are those of one parcel that no other number fits" in str(got["match_reason"])


def test_nothing_is_matched_to_nothing() -> None:
    """No lines, no shipments."""
    assert len(match(lines(), shipments())) == 0
    assert match(lines("X1234567"), shipments())["match"].tolist() == ["none"]


def test_blanks_and_hyphens_of_every_width_are_dropped() -> None:
    """No-break and thin spaces too."""
    assert normalised(pd.Series(["lk\u00a022-07\u200926"], dtype="str")).tolist() == ["LK220726"]


digits = st.text("0123", min_size=8, max_size=10)


@given(st.lists(digits, min_size=1, max_size=6, unique=True), st.lists(digits, min_size=1, max_size=6, unique=True))
def test_every_pair_within_two_edits_is_found_and_none_further(seen: list[str], recorded: list[str]) -> None:
    """Held against comparing every pair with the library's optimal string alignment."""
    got = within(2, pd.Series(seen, dtype="str"), pd.Series(recorded, dtype="str"))
    pairs = {(int(one), int(other)): int(edits) for one, other, edits in got[["seen", "recorded", "edits"]].to_numpy()}
    apart = {
        (place, other): distance
        for place, one in enumerate(seen)
        for other, text in enumerate(recorded)
        if (distance := OSA.distance(one, text)) <= 2
    }
    assert pairs == apart


def test_shares_are_counted_over_every_pairing() -> None:
    """Two numbers, two shipments, all odds even: of the seven pairings each pair stands in two."""
    pairs = pd.DataFrame({"seen": [0, 0, 1, 1], "recorded": [0, 1, 0, 1], "kind": -1, "weight": 0.0})
    assert paired(pairs, one_to_one=True)["confidence"].round(6).tolist() == [round(2 / 7, 6)] * 2
    assert paired(pairs, one_to_one=False)["confidence"].round(6).tolist() == [round(1 / 3, 6)] * 2


@pytest.mark.parametrize("series", ["random", "consecutive", "dated"])
def test_one_number_in_twenty_misread_is_found_nearly_always_and_wrongly_next_to_never(series: str) -> None:
    """Recall at least 99 %, precision at least 99.9 %, over all numbers of a generated month."""
    got = score(outcomes((series, 1, 4000)))
    assert got["recall"] >= 0.99
    assert got["precision"] >= 0.999
    assert got["misread recall"] >= 0.98


def test_words_for_numbers_that_are_the_same() -> None:
    """As joined by order reference."""
    assert in_words("A1", "A1") == "the number is the same"


def test_a_statement_without_any_number_of_a_parcel_is_audited(tmp_path: Path) -> None:
    """All its charges are about no parcel; nothing is joined to one."""
    statement = "Statement,Statement date,Tracking number,Charge,Amount\nS-1,2026-03-31,,Pickup service,12.00\n"
    findings = auditor.reconcile([bad_files.write(tmp_path, "statement.csv", statement)]).findings
    assert findings[["match", "billed_cents"]].to_numpy().tolist() == [["none", 1200]]
