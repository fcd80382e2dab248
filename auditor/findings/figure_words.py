"""Figures in words: lengths, weights and sizes in the tariff's unit."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from auditor.core import units
from auditor.core.sides import SIDES
from auditor.tariff import Priced, Rules


def length(nm: int, rules: Rules) -> str:
    """A length for people, in the tariff's unit: '48 in'."""
    return f"{units.shown(nm, rules.length_unit, 'length')} {rules.length_unit}"


def weight(pg: int, rules: Rules) -> str:
    """A weight for people, in the tariff's unit: '14 lb'."""
    return f"{units.shown(pg, rules.weight_unit, 'weight')} {rules.weight_unit}"


def size(sides: tuple[int, ...], rules: Rules) -> str:
    """Three sides for people, the longest first: '48 × 20 × 8 in'."""
    shown = (units.shown(side, rules.length_unit, "length") for side in sorted(sides, reverse=True))
    return f"{' × '.join(shown)} {rules.length_unit}"


def sides_of(parcel: Mapping[str, Any]) -> tuple[int, ...]:
    """The sides of a parcel, in nm."""
    return tuple(int(parcel[side]) for side in SIDES)


def rounded_sides(priced: Priced) -> tuple[int, ...]:
    """The sides of a priced parcel as the rule rounds them, in nm."""
    return int(priced["longest_nm"]), int(priced["second_nm"]), int(priced["shortest_nm"])
