"""Each pairing counted out, held against the shares that `paired` gives."""

from __future__ import annotations

from itertools import product

import numpy as np
import numpy.typing as npt
import pandas as pd
import pytest

from auditor.match import pairing
from auditor.match.misreading import SAME
from auditor.match.pairing import paired


def counted(odds: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """The share of each pair over all pairings, none given twice, one by one."""
    numbers, width = odds.shape
    shares, total = np.zeros(odds.shape), 0.0
    for given in product(range(-1, width), repeat=numbers):
        taken = [column for column in given if column >= 0]
        if len(set(taken)) == len(taken):
            weight = np.exp(sum(odds[row, column] for row, column in enumerate(given) if column >= 0))
            total += weight
            for row, column in enumerate(given):
                if column >= 0:
                    shares[row, column] += weight
    return shares / total


def pairs_of(odds: npt.NDArray[np.float64], kind: int = -1) -> pd.DataFrame:
    """All pairs that are possible."""
    row, column = np.nonzero(np.isfinite(odds))
    return pd.DataFrame({"seen": row + 10, "recorded": column + 20, "kind": kind, "weight": odds[row, column]})


def confidences(pairs: pd.DataFrame) -> dict[int, float]:
    """By shipment how sure each number's best pair is."""
    found = paired(pairs, one_to_one=True)
    return dict(zip(found["seen"].tolist(), found["confidence"].tolist(), strict=True))


@pytest.mark.parametrize("seed", range(4))
def test_a_small_group_is_counted_out_whole(seed: int) -> None:
    """Three numbers that want the same three shipments, and a pair of two others beside them."""
    chance = np.random.default_rng(seed)
    odds = np.full((5, 5), -np.inf)
    odds[:3, :3], odds[3:, 3:] = chance.normal(0, 2, (3, 3)), chance.normal(0, 2, (2, 2))
    odds[0, 2] = -np.inf
    best = counted(odds).max(axis=1)
    assert list(confidences(pairs_of(odds)).values()) == pytest.approx(best.tolist())


def test_pairs_that_stand_alone_are_shared_by_number_only() -> None:
    """Two shipments for one number, which no other wants: odds 3 and 1 against 1 for none."""
    odds = np.log(np.array([[3.0, 1.0]]))
    found = paired(pairs_of(odds), one_to_one=True).iloc[0]
    assert found["confidence"] == pytest.approx(3 / 5)
    assert found["others"] == (20, 21)


def test_shipments_a_tenth_as_likely_are_named_and_others_not() -> None:
    """Beside the likeliest, which comes first."""
    odds = np.log(np.array([[1.001, 10.0, 1.01, 0.99, 9.99]]))
    found = paired(pairs_of(odds), one_to_one=False).iloc[0]
    assert found["recorded"] == 21
    assert found["others"] == (21, 24, 22, 20)


def test_large_odds_are_no_danger() -> None:
    """Odds of e to the 800 and more."""
    odds = np.array([[800.0, 798.0], [798.0, 800.0]])
    assert list(confidences(pairs_of(odds)).values()) == pytest.approx([1 / (1 + np.exp(-4))] * 2)


def test_a_large_group_is_approximated_near_the_whole_count(monkeypatch: pytest.MonkeyPatch) -> None:
    """A group just above the limit by the same odds: to a tenth, and no shipment is given out twice over."""
    odds = np.random.default_rng(3).normal(0, 1.5, (4, 4))
    whole = counted(odds)
    monkeypatch.setattr(pairing, "MOST_EXACT", 3)
    row, column = np.indices(odds.shape).reshape(2, -1)
    rough = pairing._rough(row, column, odds.ravel()).reshape(4, 4)  # noqa: SLF001
    assert rough.sum(axis=0).max() <= 1.01
    assert np.abs(rough - whole).max() < 0.1
    got = list(confidences(pairs_of(odds)).values())
    assert got == pytest.approx(rough.max(axis=1).tolist())


def test_a_group_of_seven_is_counted_out_and_one_of_eight_is_not() -> None:
    """Seven that want one shipment alike have an eighth of it each; for eight the answer is only near a ninth."""
    for count, near in ((7, 1e-9), (8, 0.02)):
        got = confidences(pairs_of(np.zeros((count, 1))))
        assert list(got.values()) == pytest.approx([1 / (count + 1)] * count, abs=near)
    assert got[10] != pytest.approx(1 / 9, abs=1e-6)


def test_a_number_that_stands_in_the_records_keeps_its_shipment_unless_another_is_surely_meant() -> None:
    """At four fifths another is surely meant, below not; of two that have the number the likelier is kept."""
    for odds, chosen in (([1.0, 3.0], 20), ([1.0, 7.0], 20), ([1.0, 9.0], 21)):
        pairs = pairs_of(np.log(np.array([odds]))).assign(kind=[SAME, 0])
        assert paired(pairs, one_to_one=True)["recorded"].tolist() == [chosen]
    both = pairs_of(np.log(np.array([[1.0, 3.0]]))).assign(kind=SAME)
    assert paired(both, one_to_one=True)["recorded"].tolist() == [21]
