"""How far the reading of a statement is proven, by stated rules."""

from __future__ import annotations

import pandas as pd
import pytest

from auditor.core.schemas import LINES, MOVES, SHIPMENTS, conform, empty
from auditor.intake.reading.charges import Named
from auditor.intake.reading.known import Known
from auditor.intake.reading.proof import Proof, proof_of, proofs_of

COSTS = [1000 + 37 * at for at in range(10)]


def known(costs: list[int] | None = None) -> Known:
    """Ten parcels with what their labels cost."""
    rows = {"tracking": [f"NN{at:08d}" for at in range(10)], "label_cost_cents": costs or COSTS}
    return Known(conform(pd.DataFrame(rows), SHIPMENTS))


def lines(amounts: list[int]) -> pd.DataFrame:
    """A line for each of the ten parcels, and one more for the first, of 5.00."""
    rows = {"statement": "S", "tracking": [f"NN{at:08d}" for at in range(10)], "amount_cents": amounts}
    more = pd.DataFrame({"statement": ["S"], "tracking": ["NN00000000"], "amount_cents": [500]})
    return conform(pd.concat([pd.DataFrame(rows), more], ignore_index=True), LINES)


def proof(amounts: list[int], printed: list[int], of: Known) -> Proof:
    """What proves lines of those amounts with those printed totals."""
    return proof_of(lines(amounts), pd.Series(printed, dtype="Int64"), of)


@pytest.mark.parametrize(
    ("amounts", "printed", "grade"),
    [
        (COSTS, [sum(COSTS) + 500], "proven"),
        (COSTS, [], "proven"),
        (COSTS, [sum(COSTS)], "doubtful"),
        ([cents + 1 for cents in COSTS], [], "doubtful"),
        ([cents + 1 for cents in COSTS[:3]] + COSTS[3:], [], "likely"),
        ([cents + 1 for cents in COSTS[:7]] + COSTS[7:], [sum(COSTS) + 507], "doubtful"),
    ],
)
def test_the_grade_follows_from_the_printed_total_and_the_labels(
    amounts: list[int], printed: list[int], grade: str
) -> None:
    """A total that does not tie, or labels of which most cost something else, leave it doubtful."""
    assert proof(amounts, printed, known()).grade == grade


def test_with_nothing_to_hold_it_against_a_reading_is_likely() -> None:
    """Neither proven nor doubtful."""
    assert proof(COSTS, [], Known()).grade == "likely"


def test_a_right_reading_has_better_odds_than_one_with_another_parcels_amounts() -> None:
    """Agreement is counted against what other parcels would agree by chance."""
    assert proof(COSTS, [], known()).odds > 0 > proof(COSTS[1:] + COSTS[:1], [], known()).odds


def test_the_sentence_says_the_numbers() -> None:
    """For whoever reads the report."""
    assert proof(COSTS, [sum(COSTS) + 500], known()).sentence == (
        "11 lines of 10 parcels, 10 of them in your records; their sum is the printed total; 10 of 10 labels add up to "
        "what you recorded paying"
    )


@pytest.mark.parametrize(
    ("shown", "grade"),
    [
        (["amounts", "word"], "proven"),
        (["amounts", "word", "word", "word", "nothing"], "proven"),
        (["amounts", "nothing"], "likely"),
        (["told", "own"], "proven"),
        (["amounts", "word", "word", "word", "likeness"], "likely"),
    ],
)
def test_a_sum_proves_amounts_and_no_names(shown: list[str], grade: str) -> None:
    """What the charges are for must be clear too: of most, and of none by a like word alone."""
    texts = [f"Zonk {at}" for at in range(len(shown))]
    names = Named(dict.fromkeys(texts, "freight"), dict(zip(texts, shown, strict=True)))
    totals = pd.Series([sum(COSTS) + 500], dtype="Int64")
    assert proof_of(lines(COSTS), totals, known(), names).grade == grade


def test_lines_of_a_label_billed_before_are_no_labels_to_hold_against_the_records() -> None:
    """A statement of corrections alone is not doubtful for it."""
    of_label = lines(COSTS).assign(state="label charge", statement_on=pd.Timestamp("2026-04-01"))
    later = lines([1] * 10).assign(statement="T", state="label charge", statement_on=pd.Timestamp("2026-05-01"))
    totals = pd.DataFrame({"statement": ["S", "T"], "printed_total_cents": [sum(COSTS) + 500, 510]})
    both = conform(pd.concat([of_label, later], ignore_index=True), LINES)
    found = proofs_of(both, totals, known(), {}, empty(MOVES))
    assert {name: one.grade for name, one in found.items()} == {"S": "proven", "T": "proven"}
    assert found["T"].labels.of == 0
