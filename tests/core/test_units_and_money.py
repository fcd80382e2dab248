"""Units and money: exact factors, and splits that lose no cent."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.core import money, units


@pytest.mark.parametrize(
    ("unit", "kind", "in_base", "source"),
    [
        ("in", "length", Fraction(25_400_000), "1 in = 2.54 cm exactly: 16 CFR 500.19; NIST SP 811, App. B.8"),
        ("ft", "length", Fraction(304_800_000), "1 ft = 0.3048 m exactly: NIST SP 811, App. B.8"),
        ("lb", "weight", Fraction(453_592_370_000_000), "1 lb = 0.453 592 37 kg exactly: NIST SP 811, App. B.8"),
        ("oz", "weight", Fraction(28_349_523_125_000), "1 oz = 28.349 523 125 g exactly: NIST Handbook 44, App. C"),
        ("kg", "weight", Fraction(10**15), "SI"),
        ("cm", "length", Fraction(10**7), "SI"),
    ],
)
def test_units_have_their_published_factors(unit: str, kind: str, in_base: Fraction, source: str) -> None:
    """The source stands beside each factor."""
    assert source
    assert in_base == units.factor(unit, kind)


@pytest.mark.parametrize(("kind", "small"), [("length", "nanometer"), ("weight", "picogram")])
def test_every_unit_has_the_factor_of_an_independent_registry(kind: str, small: str) -> None:
    """The table holds the units that people's spellings name, and each agrees with a library of units."""
    registry: pint.UnitRegistry[Decimal] = pint.UnitRegistry(non_int_type=Decimal)
    assert set(units.SPELLINGS[kind]) == set(units.FACTORS[kind])
    for unit in units.SPELLINGS[kind]:
        assert Fraction(registry.Quantity(Decimal(1), unit).to(small).magnitude) == units.factor(unit, kind)


def test_121_92_cm_is_48_in_exactly() -> None:
    """No float decides a limit."""
    assert units.small(Decimal("121.92"), "cm", "length") == 48 * units.NM_PER_INCH


def test_every_64th_of_an_inch_and_thousandth_of_an_ounce_is_whole() -> None:
    """The small units lose nothing that people type."""
    assert (units.factor("in", "length") / 64).denominator == 1
    assert (units.factor("oz", "weight") / 1000).denominator == 1
    assert (units.factor("lb", "weight") / 1000).denominator == 1


@pytest.mark.parametrize(
    ("written", "kind", "unit"),
    [('"', "length", "in"), ("Inches", "length", "in"), ("lbs.", "weight", "lb"), ("KG", "weight", "kg")],
)
def test_units_are_known_as_people_write_them(written: str, kind: str, unit: str) -> None:
    """Case, plurals and marks do not matter."""
    assert unit == units.symbol(written, kind)


def test_a_unit_of_another_kind_is_not_known() -> None:
    """A stone is no unit of ours, and a pound is no length."""
    assert units.symbol("stone", "weight") is None
    assert units.symbol("lb", "length") is None


def test_lengths_are_shown_without_needless_zeros() -> None:
    """48 in is shown as 48, 47 1/2 in as 47.5."""
    assert units.shown(48 * units.NM_PER_INCH, "in", "length") == "48"
    assert units.shown(1_206_500_000, "in", "length") == "47.5"
    assert units.shown(100 * units.NM_PER_INCH, "in", "length", places=0) == "100"


def test_money_is_written_plainly_for_files_and_readably_for_people() -> None:
    """Files get 34.96, people get $34.96."""
    assert money.text(3496) == "34.96"
    assert money.text(-5) == "-0.05"
    assert money.dollars(349_600) == "$3,496.00"
    assert money.dollars(-5) == "−$0.05"


def test_half_a_cent_goes_up() -> None:
    """16.47 dollars at 15.25 % is 2.511675: worked example 22 of the trade, common practice, no source."""
    assert money.half_up(np.array([1647 * 152_500]), 1_000_000).tolist() == [251]
    assert money.half_up(np.array([5, 15, -5, 4]), 10).tolist() == [1, 2, -1, 0]


def test_the_cents_left_over_go_to_the_parts_that_lost_most() -> None:
    """Largest remainder; a tie goes to the earlier part."""
    assert money.split(100, [Fraction(100, 3)] * 3) == [34, 33, 33]
    assert money.split(10, [Fraction(1, 4), Fraction(39, 4)]) == [0, 10]


def test_parts_that_do_not_add_up_are_refused() -> None:
    """A split never invents a cent."""
    with pytest.raises(ValueError, match="the parts add up to 9, not to 10"):
        money.split(10, [Fraction(4), Fraction(5)])


@given(st.lists(st.integers(-(10**6), 10**6), min_size=1, max_size=12), st.integers(1, 720))
def test_a_split_adds_up_and_moves_no_part_by_a_cent(numerators: list[int], denominator: int) -> None:
    """For any exact parts with a whole sum."""
    parts = [Fraction(n, denominator) for n in numerators]
    parts.append(Fraction(-sum(parts) % 1))
    total = int(sum(parts))
    whole = money.split(total, parts)
    assert sum(whole) == total
    assert all(abs(cents - part) < 1 for cents, part in zip(whole, parts, strict=True))
