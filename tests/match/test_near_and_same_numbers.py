"""Which numbers are the same, and which could be cut off from one another."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from auditor.match import nearby
from auditor.match.nearby import MOST_ALIKE, cut_off, within
from auditor.match.numbers import normalised, numbers


def texts(*given: str | None) -> pd.Series:
    """A column of texts."""
    return pd.Series(list(given), dtype="str")


def cut_pairs(seen: list[str], recorded: list[str]) -> set[tuple[int, int]]:
    """By place."""
    found = cut_off(texts(*seen), texts(*recorded))
    return set(zip(found["seen"].tolist(), found["recorded"].tolist(), strict=True))


def test_a_beginning_or_end_three_characters_shorter_is_cut_off() -> None:
    """Two characters fewer are edits, and five characters are too few to tell."""
    recorded = ["ABCDEFGHI", "XABCDEFGH", "ABCDEFGH"]
    assert cut_pairs(["ABCDEF"], recorded) == {(0, 0)}
    assert cut_pairs(["DEFGHI"], recorded) == {(0, 0)}
    assert cut_pairs(["CDEFGH"], recorded) == {(0, 1)}
    assert cut_pairs(["BCDEFG"], recorded) == set()
    assert cut_pairs(["ABCDE"], recorded) == set()
    assert cut_pairs(["ABCDEFG"], recorded) == set()
    assert cut_pairs(["ABCABC"], ["ABCABCABC"]) == {(0, 0)}
    assert cut_pairs(["ABCDEF", "DEFGHI"], recorded) == {(0, 0), (1, 0)}


def test_a_part_that_too_many_numbers_have_tells_nothing() -> None:
    """Sixty-four may have it."""
    recorded = [f"ABCDEF{number:04d}" for number in range(MOST_ALIKE + 1)]
    assert len(cut_pairs(["ABCDEF"], recorded[:-1])) == MOST_ALIKE
    assert cut_pairs(["ABCDEF"], recorded) == set()


def test_texts_with_a_hash_that_too_many_share_are_passed_over() -> None:
    """Sixty-four of one side may share it."""
    recorded = [f"ABCDEF{letter}" for letter in map(chr, range(0x100, 0x100 + MOST_ALIKE + 1))]
    assert len(within(1, texts("ABCDEF"), texts(*recorded[:-1]))) == MOST_ALIKE
    assert len(within(1, texts("ABCDEF"), texts(*recorded))) == 0


def test_blocks_and_their_bounds_change_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three texts a block find what one block finds."""
    recorded = texts(*(f"NP{number:06d}" for number in range(0, 700, 7)))
    seen = texts("NP000014", "NP000O21", "NP00070", "NP0000777", "NP100098")
    whole = within(2, seen, recorded)
    monkeypatch.setattr(nearby, "BLOCK", 3)
    assert len(whole) > 5
    order = ["seen", "recorded"]
    pd.testing.assert_frame_equal(
        within(2, seen, recorded).sort_values(order, ignore_index=True), whole.sort_values(order, ignore_index=True)
    )


def test_hashes_tell_texts_apart() -> None:
    """A hundred thousand numbers one after the other have as many hashes, and most of them first bits of their own."""
    letters = np.array([list(f"{number:05d}".encode()) for number in range(100_000)], dtype=np.uint64).T
    [hashes] = nearby._hashes(letters, 0)  # noqa: SLF001
    assert len(np.unique(hashes)) == 100_000
    share = len(np.unique(hashes >> np.uint64(44))) / 100_000
    assert share > 0.5


def test_numbers_are_the_same_but_for_blanks_and_case_and_told_apart_as_printed() -> None:
    """With and without a number, printed two ways, and of two shipments with one number the first."""
    billed = texts("ab-1", None, "AB1", "ab-1", "ZZ 9", "AB1")
    known = numbers(billed, texts("QQ", "AB1", "A B1", "zz9", None))
    assert known.billed.tolist() == ["ab-1", "AB1", "ZZ 9"]
    assert known.of_line.tolist() == [0, -1, 1, 0, 2, 1]
    assert known.first_line.tolist() == [0, 2, 4]
    assert known.text.tolist() == ["AB1", "AB1", "ZZ9"]
    assert known.same.tolist() == [1, 1, 3]
    assert known.identical.tolist() == [False, True, False]
    assert known.twice.tolist() == [True, True, False]
    assert known.recorded_code.tolist()[-1] == -1
    assert (known.code == known.recorded_code[[1, 1, 3]]).all()


def test_numbers_of_no_lines_and_of_no_shipments() -> None:
    """None is the same as any."""
    assert numbers(texts(), texts("A1")).same.tolist() == []
    known = numbers(texts("A1", "B2"), texts())
    assert (known.same.tolist(), known.twice.tolist()) == ([-1, -1], [False, False])
    assert numbers(texts(None, None), texts("A1")).of_line.tolist() == [-1, -1]


def test_bare_numbers_keep_their_places() -> None:
    """Those without blanks beside those with, and labels that are there twice."""
    given = pd.Series(["a-1", "B2", None, "c 3"], dtype="str", index=[5, 5, 6, 7])
    got = normalised(given)
    assert got.index.tolist() == [5, 5, 6, 7]
    assert got.fillna("?").tolist() == ["A1", "B2", "?", "C3"]
