"""Tax unlike that of the statement's other parcels, on both sides of each bound."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from auditor.charges.taxes import doubtful


def charged(taxes: list[int], bases: list[int] | int = 1000, statement: str | None = "S-1") -> pd.DataFrame:
    """Parcels with their label's statement."""
    return pd.DataFrame({"statement": statement, "first": True, "tax_cents": taxes, "base_cents": bases})


def rounded(bases: list[int], percent: float) -> list[int]:
    """Tax on each base."""
    return [int(base * percent / 100 + 0.5) for base in bases]


def _told(found: pd.DataFrame) -> list[int | None]:
    """The percentages that the others agree on; None where they agree on none."""
    return [None if pd.isna(ppm) else int(ppm) for ppm in found["ppm"]]


BASES = [1000 + 137 * number for number in range(20)]


@pytest.mark.parametrize(("parcels", "taxed", "due"), [(20, 1, 0), (19, 1, 80), (40, 2, 0), (39, 2, 80), (40, 3, 80)])
def test_tax_on_one_in_twenty_is_odd(parcels: int, taxed: int, due: int) -> None:
    """Of twenty at the least."""
    found = doubtful(charged([80] * taxed + [0] * (parcels - taxed)))
    assert found["due_cents"].iloc[0] == due
    assert found["alike"].tolist() == [parcels] * parcels
    assert found["taxed"].tolist() == [taxed] * parcels


def test_labels_and_corrections_and_statements_are_not_held_against_one_another() -> None:
    """Ten labels without tax and ten corrections say nothing of one correction with it."""
    table = charged([80] + [0] * 19)
    assert doubtful(table.assign(first=[True] * 10 + [False] * 10))["due_cents"].iloc[0] == 80
    parted = pd.Series(["S-1"] * 10).reindex(table.index)
    assert doubtful(table.assign(statement=parted))["due_cents"].iloc[0] == 80
    assert doubtful(table.assign(statement=None))["due_cents"].iloc[0] == 0


@pytest.mark.parametrize("percent", [8.0, 19.0, 8.25])
def test_the_percentage_that_all_agree_on_is_found(percent: float) -> None:
    """The roundest that all taxes round from."""
    found = doubtful(charged(rounded(BASES, percent), BASES))
    assert found["ppm"].unique().tolist() == [round(percent * 10_000)]
    assert found["due_cents"].tolist() == rounded(BASES, percent)


@pytest.mark.parametrize(("over", "due"), [(2, 2), (3, 0)])
def test_two_cents_above_the_percentage_are_rounding_and_three_are_not(over: int, due: int) -> None:
    """What fits is then the tax by the percentage."""
    taxes = rounded(BASES, 8)
    found = doubtful(charged([taxes[0] + over, *taxes[1:]], BASES))
    assert found["due_cents"].iloc[0] == taxes[0] + due
    assert found["due_cents"].iloc[1:].tolist() == taxes[1:]


@pytest.mark.parametrize(("count", "ppm"), [(4, None), (5, 80_000)])
def test_from_five_parcels_on_they_agree_on_a_percentage(count: int, ppm: int | None) -> None:
    """Four may by chance."""
    found = doubtful(charged(rounded(BASES[:count], 8), BASES[:count]))
    assert _told(found) == [ppm] * count


@pytest.mark.parametrize(("odd", "ppm"), [(5, 80_000), (6, None)])
def test_three_in_four_must_agree(odd: int, ppm: int | None) -> None:
    """Of twenty, fifteen."""
    taxes = rounded(BASES, 8)
    wild = [taxes[number] * 2 + 50 * number for number in range(odd)]
    assert set(_told(doubtful(charged([*wild, *taxes[odd:]], BASES)))) == {ppm}


def test_tax_on_nothing_and_less_tax_than_the_others_are_left() -> None:
    """Only what is above the percentage is to be asked about."""
    taxes = rounded(BASES, 8)
    found = doubtful(charged([0, taxes[1] - 40, 33, *taxes[3:]], [BASES[0], BASES[1], 0, *BASES[3:]]))
    assert found["due_cents"].tolist()[:2] == [0, taxes[1] - 40]
    assert found["due_cents"].iloc[2] == 33
    assert pd.isna(found["ppm"].iloc[2])


def test_each_statement_has_a_percentage_of_its_own() -> None:
    """Eight and nineteen."""
    one, other = charged(rounded(BASES, 8), BASES), charged(rounded(BASES, 19), BASES, "S-2")
    found = doubtful(pd.concat([one, other], ignore_index=True))
    assert found["ppm"].tolist() == [80_000] * 20 + [190_000] * 20
    assert np.array_equal(found["due_cents"], [*one["tax_cents"], *other["tax_cents"]])
