"""Numbers with their units as rule files have them, exact."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from fractions import Fraction

from auditor.core import units


def quantity(text: object, kind: str) -> Fraction:
    """A number and its unit as nm, pg, nm³ or (density) pg per nm³: "48 in", "0.1 lb", "10368 in3", "6 lb/ft3".

    Raises:
        ValueError: not a number and a unit of that kind, or not above zero.
    """
    number, _, unit = str(text).strip().partition(" ")
    try:
        value = Decimal(number)
    except InvalidOperation:
        raise ValueError(f"{text!r} does not begin with a number") from None
    if not value.is_finite() or value <= 0:
        raise ValueError(f"{text!r} must be above zero")
    factor = _factor(unit.strip(), kind)
    if factor is None:
        raise ValueError(f"{text!r} is not a {kind} with a known unit")
    return Fraction(value) * factor


def _factor(unit: str, kind: str) -> Fraction | None:
    if kind == "density":
        weight, _, volume = unit.partition("/")
        of_weight, of_volume = _factor(weight, "weight"), _factor(volume, "volume")
        return of_weight / of_volume if of_weight and of_volume else None
    root = unit.removesuffix("3").removesuffix("³") if kind == "volume" else unit
    known = units.symbol(root, "length" if kind == "volume" else kind)
    if known is None or (kind == "volume" and root == unit):
        return None
    return units.factor(known, "length" if kind == "volume" else kind) ** (3 if kind == "volume" else 1)


def whole(text: object, kind: str) -> int:
    """A quantity that is a whole number of nm, pg or nm³; raises ValueError where it is not."""
    exact = quantity(text, kind)
    if exact.denominator != 1:
        raise ValueError(f"{text!r} is finer than this program's smallest unit")
    return int(exact)


def cents(text: object) -> int:
    """An amount as whole cents, '4.00' → 400; raises ValueError for what is none, or was written as a float."""
    try:
        amount = Decimal(str(text)) * 100
    except InvalidOperation:
        raise ValueError(f"{text!r} is not an amount like '4.00'") from None
    if isinstance(text, float) or not amount.is_finite() or amount != int(amount) or amount < 0:
        raise ValueError(f"{text!r} is not an amount like '4.00', in quotation marks")
    return int(amount)


def ppm(text: object) -> int:
    """A percentage as whole millionths, '6 %' → 60000; raises ValueError for what is none."""
    try:
        millionths = Decimal(str(text).removesuffix("%").strip()) * 10_000
    except InvalidOperation:
        raise ValueError(f"{text!r} is not a percentage like '6 %'") from None
    if not str(text).endswith("%") or not millionths.is_finite() or millionths != int(millionths) or millionths < 0:
        raise ValueError(f"{text!r} is not a percentage like '6 %'")
    return int(millionths)


def texts(value: object, what: str) -> tuple[str, ...]:
    """A list of texts; raises ValueError, which names it as `what`, for anything else."""
    if not isinstance(value, list) or not value or not all(isinstance(one, str) for one in value):
        raise ValueError(f"{what} = {value!r} is not a list of texts")
    return tuple(value)
