"""Which measures an accepted parcel can have at the most, and so which limits nothing reaches."""

from __future__ import annotations

from fractions import Fraction

from auditor.core.units import NM_PER_INCH
from auditor.tariff import load
from auditor.tariff.checks import _greatest


def test_no_side_is_longer_than_the_longest_one_accepted() -> None:
    """Over 108 in, or over 165 in with the girth, is not accepted: so neither is a second side over 108 in."""
    longest = Fraction(108 * NM_PER_INCH)
    rules = list(load("us-ground-common").by_period.values())[-1]
    greatest = _greatest(rules)
    assert {name: greatest[name] for name in ("longest side", "second side", "shortest side")} == dict.fromkeys(
        ("longest side", "second side", "shortest side"), longest
    )
    assert greatest["volume"] == longest**3
    assert greatest["length plus girth"] == 165 * NM_PER_INCH
