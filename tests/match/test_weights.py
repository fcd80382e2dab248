"""What speaks for a pair, each part of it worked out plainly from the few parcels given."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest

from auditor.core.schemas import LINES, SHIPMENTS, conform
from auditor.core.units import NM_PER_INCH, PG_PER_POUND
from auditor.match import evidence as module
from auditor.match.evidence import AS_MANY, ENOUGH, ROUNDS, USUALLY_AGREES, OfNone, evidence, weights
from auditor.match.figures import AGREES, DIFFERS, FIGURES, MISSING, States, billed_figures, recorded_figures
from auditor.match.misreading import BY_TEXT, CHANGED, LOOK_ALIKE, ORDER, SAME, USUAL
from auditor.match.records import FEW, MANY, Records, Series, sample, series, well_formed

ALLOWED = tuple(frozenset("0123456789") for _ in range(4))
NONE_RIGHT: States = np.zeros((0, len(FIGURES)), np.int8)


def parcels(count: int) -> pd.DataFrame:
    """Figures of recorded parcels: zones by turns 2 to 5, all of one service, every one with its own label price."""
    return pd.DataFrame(
        {
            "shipped_on": pd.array([pd.NaT] * count, dtype="datetime64[s]"),
            "service": pd.array(["Ground"] * count, dtype="str"),
            "zone": pd.array([str(2 + number % 4) for number in range(count)], dtype="str"),
            "label_cents": pd.array(range(900, 900 + count), dtype="Int64"),
            "size": pd.array([pd.NA] * count, dtype="Int64"),
            "weight": pd.array([pd.NA] * count, dtype="Int64"),
            "order": pd.array([f"Q{number // 2}" for number in range(count)], dtype="str"),
            "text": pd.array([f"{number:04d}" for number in range(count)], dtype="str"),
        }
    )


def records(right: States = NONE_RIGHT, near: States = NONE_RIGHT, **known: int) -> Records:
    """Eight recorded parcels, a sample of all."""
    of = {"count": 8, "as_they_stand": 0} | known
    return Records(sample=parcels(8)[[*FIGURES]], right=right, series={4: Series(0.01, near, ALLOWED)}, **of)


def speaks(seen: Mapping[str, object], known: Records, recorded: int = 0) -> float:
    """The log of how much figures that differ from those of a recorded parcel as given speak for it."""
    own = parcels(8).loc[[recorded]]
    shown = {name: pd.Series([value], index=own.index).astype(own[name].dtype) for name, value in seen.items()}
    one = own.assign(**shown, text="000?").set_axis([5])
    pairs = pd.DataFrame({"seen": [5], "recorded": [recorded], "edits": [1], "kind": [BY_TEXT]})
    found = evidence(pairs, one, own, known).iloc[0]
    assert found["kind"] == CHANGED
    return float(found["likeness"] - np.log(1 / 36))


def usual(*, agrees: str, differs: str = "") -> float:
    """How likely figures of the right parcel stand so before any is seen."""
    rate = dict(zip(FIGURES, USUALLY_AGREES, strict=True))
    return float(
        np.prod([rate[name] for name in agrees.split()]) * np.prod([1 - rate[name] for name in differs.split()])
    )


def test_figures_of_the_right_parcel_against_those_of_any() -> None:
    """One of eight has all, the other seven none: one in nine, and the order of one other in nine and one in eight."""
    chance = (0 + 1) / 9 * (1 / 9 + 1 / 8)
    got = speaks({}, records())
    assert got == pytest.approx(np.log(usual(agrees="service zone label_cents order") / chance))


def test_a_common_zone_says_little() -> None:
    """The price differs, as it does between any two: seven in eight; the zone is that of one other of seven."""
    chance = (1 + 1) / 9 * (1 / 9 + 1 / 8) * (1 - 1 / 8)
    got = speaks({"label_cents": 5}, records())
    assert got == pytest.approx(np.log(usual(agrees="service zone order", differs="label_cents") / chance))


def test_a_figure_that_all_have_alike_hardly_differs_by_chance() -> None:
    """One in twenty at least: the service is the same on all."""
    chance = (1 + 1) / 9 * 0.05 * (1 - 1 / 4)
    got = speaks({"service": "Air", "label_cents": pd.NA, "order": "none"}, records())
    expected = usual(agrees="zone", differs="service order") / chance
    assert got == pytest.approx(np.log(expected))


def test_what_was_seen_of_right_parcels_moves_what_was_thought() -> None:
    """Thirty numbers whose zone differs every third time, all else missing: shares of them, and of the very pattern."""
    right = np.full((30, len(FIGURES)), MISSING, np.int8)
    right[:, 2] = [DIFFERS if number % 3 == 0 else AGREES for number in range(30)]
    missing = {"service": pd.NA, "label_cents": pd.NA, "order": pd.NA}
    rate = (20 + AS_MANY * 0.96) / (30 + AS_MANY)
    of_right = (20 + AS_MANY * rate) / (30 + AS_MANY)
    assert speaks(missing, records(right)) == pytest.approx(np.log(of_right / ((1 + 1) / 9)))


def test_what_near_numbers_share_says_nothing() -> None:
    """From thirty pairs of near numbers on: their zones agree, nine times in ten."""
    missing = {"service": pd.NA, "label_cents": pd.NA, "order": pd.NA}
    for count, chance in ((ENOUGH - 1, 2 / 9), (ENOUGH, 27 / 30)):
        near = np.full((count, len(FIGURES)), AGREES, np.int8)
        near[:3, 2] = DIFFERS
        assert speaks(missing, records(near=near)) == pytest.approx(np.log(usual(agrees="zone") / chance))


def test_the_right_parcel_outside_the_sample_is_not_counted_twice() -> None:
    """Of a sample without it, all that share its figures are others."""
    known = records()
    without = Records(known.count, known.sample.drop(index=0), known.right, known.series, 0)
    missing = {"service": pd.NA, "label_cents": pd.NA, "order": pd.NA}
    assert speaks(missing, without) == pytest.approx(np.log(usual(agrees="zone") / (2 / 8)))


def test_agreement_that_no_other_has_is_not_taken_for_impossible() -> None:
    """Of many keys at a time as of few."""
    rows = np.random.default_rng(1).integers(0, 3, (40, 3))
    plain = [int((rows == row).all(axis=1).sum()) for row in rows]
    assert module._sharing(rows, rows).tolist() == plain  # noqa: SLF001
    wide = rows * 10**6
    assert module._sharing(wide, wide).tolist() == plain  # noqa: SLF001


def agreed(known: Records, *, one_to_one: bool, free: int) -> tuple[pd.DataFrame, OfNone]:
    """Six numbers: four misread or as they stand with one or two shipments each, one by its order, one of no form."""
    pairs = pd.DataFrame(
        {
            "place": [0, 0, 1, 2, 3, 4, 5],
            "recorded": [1, 2, 2, 3, 4, 5, 6],
            "kind": [LOOK_ALIKE, CHANGED, LOOK_ALIKE, SAME, ORDER, LOOK_ALIKE, CHANGED],
            "likeness": [1.0, 2.0, -3.0, 0.5, 2.5, -6.0, -1.0],
        }
    )
    odd = np.zeros((6, len(USUAL)))
    odd[5] = 0.3
    of_none = OfNone(np.array([0.01, 0.01, 0.02, 0.01, 0.01, 0.0]), odd)
    return pairs.assign(weight=weights(pairs, of_none, known, free, one_to_one=one_to_one)), of_none


@pytest.mark.parametrize("one_to_one", [True, False])
def test_the_odds_agree_with_the_shares_that_come_out_of_them(one_to_one: bool) -> None:  # noqa: FBT001 - a case
    """Worked out once more from the odds themselves, pair by pair: they stay as they are."""
    known, free = records(as_they_stand=3), 7
    pairs, of_none = agreed(known, one_to_one=one_to_one, free=free)
    odds = np.exp(pairs["weight"])
    share = odds / (1 + odds.groupby(pairs["place"]).transform("sum"))
    billed = 0.0
    if one_to_one:
        share = share / share.groupby(pairs["recorded"]).transform("sum").clip(lower=1)
        billed = share.sum() / free
    own = pairs["kind"].isin([LOOK_ALIKE, CHANGED])
    there = pairs["place"].map(lambda place: of_none.printed[place] > 0)
    nobody = (5 - share[there].sum() + 1) / (5 - share[there].sum() + share.sum() + 2)
    misread = (share.sum() + 1) / (share.sum() + 3 + AS_MANY)
    ways = AS_MANY * USUAL + [share[own & (pairs["kind"] == kind)].sum() for kind in range(len(USUAL))]
    ways = ways / ways.sum()
    for place, kind, likeness, weight in pairs[["place", "kind", "likeness", "weight"]].itertuples(index=False):
        printed = of_none.printed[place]
        if kind == SAME:
            ratio = 1 / (printed * misread**2 / (1 - misread))
        elif kind == ORDER:
            ratio = 1 / (known.count / USUAL[ORDER])
        else:
            ratio = ways[kind] / (printed or misread * (of_none.odd[place] @ ways))
        before = (1 - nobody) / nobody / (1 - billed)
        assert weight == pytest.approx(likeness + np.log(known.count / free * ratio * before), abs=1e-4)


@dataclass(frozen=True)
class Alike:
    """Numbers joined by their orders, all alike: so many of a printed form and so many of none, each with a shipment.

    `alone`: so many more of the form that fit nothing. `stand`: how many numbers stand in the records as they are.
    """

    likeness: float
    printed: int = 1
    odd: int = 0
    alone: int = 0
    stand: int = 0
    one_to_one: bool = False

    def weights(self) -> list[float]:
        """Of the first of a form, and the first of none, less what the records and the order say alone."""
        count = self.printed + self.odd
        pairs = pd.DataFrame(
            {"place": range(count), "recorded": range(count), "kind": ORDER, "likeness": self.likeness}
        )
        printed = np.repeat([0.01, 0.0, 0.01], [self.printed, self.odd, self.alone])
        of_none = OfNone(printed, np.zeros((len(printed), len(USUAL))))
        known = records(as_they_stand=self.stand)
        found = weights(pairs, of_none, known, count, one_to_one=self.one_to_one) + np.log(count)
        return [float(found[0]), float(found[min(self.printed, count - 1)])]


@pytest.mark.parametrize(
    ("alike", "nobody", "billed"),
    [
        (Alike(-30, alone=1000), 0.95, 0),
        (Alike(40, printed=3000), 0.001, 0),
        (Alike(20, printed=60, one_to_one=True), 1 / 62, 0.95),
        (Alike(20, printed=60), 1 / 62, 0),
    ],
)
def test_shares_go_only_so_far(alike: Alike, nobody: float, billed: float) -> None:
    """However many are recorded, or are not, or are billed, a number may yet be another's."""
    expected = alike.likeness + np.log(USUAL[ORDER] * (1 - nobody) / nobody / (1 - billed))
    assert alike.weights()[0] == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize(
    ("alike", "misread"), [(Alike(20, printed=30, odd=30), 0.5), (Alike(-40, odd=1, stand=100_000), 0.002)]
)
def test_a_number_is_misread_neither_always_nor_never(alike: Alike, misread: float) -> None:
    """One of no form must be misread, one of a form may be none of the recorded."""
    of_form, of_none = alike.weights()
    assert of_none - of_form == pytest.approx(np.log(1 / USUAL[ORDER] / misread))


@pytest.mark.parametrize("likeness", [-500.0, 500.0])
def test_no_weight_is_beyond_measure(likeness: float) -> None:
    """Odds are reckoned from e to the −60 to e to the 60."""
    assert abs(Alike(likeness).weights()[0]) == 60


def test_enough_rounds_are_made(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twice as many change nothing that is shown; a fifth of them do."""
    known = records(as_they_stand=3)
    pairs, _ = agreed(known, one_to_one=True, free=7)
    monkeypatch.setattr(module, "ROUNDS", 2 * ROUNDS)
    assert np.abs(agreed(known, one_to_one=True, free=7)[0]["weight"] - pairs["weight"]).max() < 1e-4
    monkeypatch.setattr(module, "ROUNDS", ROUNDS // 5)
    assert np.abs(agreed(known, one_to_one=True, free=7)[0]["weight"] - pairs["weight"]).max() > 1e-4


def test_a_number_printed_in_the_form_of_recorded_ones_may_be_one_that_was_not_recorded() -> None:
    """By how densely the numbers stand; another must be misread itself."""
    of_none = OfNone.of(pd.Series(["1234", "12345", "12X4"]), {4: Series(0.02, NONE_RIGHT, ALLOWED)})
    assert of_none.printed.tolist() == [0.02, 0, 0]
    assert of_none.odd[0].sum() == 0
    assert of_none.odd[1].sum() == pytest.approx(0.02 * 5 / 8)
    assert of_none.odd[2, CHANGED] == pytest.approx(0.02 * 10 / 36)


def test_sides_weights_and_label_prices_as_they_are_compared() -> None:
    """Rounded up to whole inches and pounds; a label's lines together, without corrections; the first printed."""
    inches = {"length_nm": 44 * NM_PER_INCH, "width_nm": 6 * NM_PER_INCH + 1, "height_nm": 5 * NM_PER_INCH}
    shipments = pd.DataFrame({**inches, "weight_pg": 3 * PG_PER_POUND - 1, "label_cost_cents": 1200}, index=[0])
    own = recorded_figures(conform(shipments.assign(tracking="A"), SHIPMENTS)).iloc[0]
    assert (own["size"], own["weight"], own["label_cents"]) == (44_007_005, 3, 1200)
    billed = {f"billed_{side}": [None, size, None] for side, size in inches.items()}
    lines = pd.DataFrame(
        {
            "tracking": "A",
            "state": ["label charge", "label charge", "adjustment"],
            "amount_cents": [1000, 200, 700],
            "zone": [None, "5", "6"],
            "billed_weight_pg": [None, 3 * PG_PER_POUND, 9 * PG_PER_POUND],
            **billed,
        }
    )
    seen = billed_figures(conform(lines, LINES), pd.Series([0, 0, 0])).iloc[0]
    assert (seen["size"], seen["weight"], seen["label_cents"], seen["zone"]) == (44_007_005, 3, 1200, "5")


def numbered(texts: list[str]) -> tuple[pd.Series, pd.DataFrame]:
    """Recorded numbers and their shipments."""
    column = pd.Series(texts, dtype="str")
    return column, conform(pd.DataFrame({"tracking": column, "zone": "5"}), SHIPMENTS)


def test_a_series_is_as_dense_as_its_numbers_have_neighbours() -> None:
    """A hundred numbers 00 to 99: of eighteen others one character away each is there, and for ninety one swapped."""
    texts, shipments = numbered([f"NP0000{number:02d}" for number in range(100)])
    found = series(texts, np.arange(100), shipments)
    assert list(found) == [8]
    assert found[8].density == (100 * 18 + 90) / (100 * 18)
    assert [len(characters) for characters in found[8].allowed] == [1] * 6 + [10] * 2
    assert found[8].near.shape == (100 * 18 + 90, len(FIGURES))
    assert well_formed("NP000099", found)
    assert not well_formed("NP00009X", found)
    assert not well_formed("NP00009", found)
    texts, shipments = numbered([f"NP0000{number:02d}" for number in range(0, 100, 11)])
    assert series(texts, np.arange(10), shipments)[8].density == pytest.approx(1e-9)


def test_three_different_digits_or_letters_stand_for_any() -> None:
    """Two do not."""
    texts, shipments = numbered(["A10", "B21", "C30"])
    [found] = series(texts, np.arange(3), shipments).values()
    assert [len(characters) for characters in found.allowed] == [26, 10, 2]


def test_of_many_numbers_some_are_looked_at_whatever_their_order() -> None:
    """All where they are few; else those with some of the last two characters, about so many as wanted."""
    few = pd.Series([f"N{number:06d}" for number in range(20_000)], dtype="str")
    assert len(sample(few)) == 20_000
    many = pd.Series([f"N{number:06d}" for number in range(20_001)], dtype="str")
    chosen = sample(many)
    assert 9_900 < len(chosen) < 10_100
    assert set(many.iloc[::-1].iloc[sample(many.iloc[::-1])]) == set(many.iloc[chosen])


def test_the_near_numbers_looked_at_are_some_thousands() -> None:
    """Of ten thousand one after the other: enough to count on, and not all."""
    texts, shipments = numbered([f"N{number:06d}" for number in range(10_000)])
    [found] = series(texts, sample(texts), shipments).values()
    pairs = len(found.near) / (6 * 9)
    assert FEW / 4 <= pairs <= MANY
