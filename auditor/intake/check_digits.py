"""Check digits of published parcel numbers: what tells a tracking number from another number, and a misread one.

Each scheme is a function of the whole number that answers whether its check digit is right, or None where the number is
not of that shape. No scheme catches every error: GS1's misses swapped neighbours that differ by five, S10 gives check
digit 5 to two remainders, the air waybill's misses 0 for 7, 1 for 8 and 2 for 9.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

S10_WEIGHTS = (8, 6, 4, 2, 3, 5, 9, 7)


def s10_digit(serial: str) -> int:
    """The check digit of eight digits. Universal Postal Union, standard S10: weights 8 6 4 2 3 5 9 7, modulo 11."""
    rest = 11 - sum(int(digit) * weight for digit, weight in zip(serial, S10_WEIGHTS, strict=True)) % 11
    return {10: 0, 11: 5}.get(rest, rest)


def gs1_digit(digits: str) -> int:
    """The check digit of any GS1 key. GS1 General Specifications, 7.9.1: weights 3 and 1 from the right, modulo 10."""
    weighted = (int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(digits)))
    return -sum(weighted) % 10


def air_waybill_digit(serial: str) -> int:
    """The check digit of an air waybill's seven-digit serial number: the remainder by 7 (IATA, Resolution 600a)."""
    return int(serial) % 7


def s10(number: str) -> bool | None:
    """An international postal item, AA 99999999 9 AA (UPU S10)."""
    found = re.fullmatch(r"[A-Z]{2}(\d{8})(\d)[A-Z]{2}", number)
    return None if found is None else s10_digit(found[1]) == int(found[2])


def postal_barcode(number: str) -> bool | None:
    """A domestic package barcode of the Postal Service (Publication 199): 20 to 22 digits, or 26, from 91 to 95.

    The routing prefix, 420 and a ZIP code of 5 or 9 digits, is not reckoned in.
    """
    found = re.fullmatch(r"(?:420(?:\d{5}|\d{9}))?(9[1-5]\d{18,20}|9[1-5]\d{24})", number)
    return None if found is None else gs1_digit(found[1][:-1]) == int(found[1][-1])


def sscc(number: str) -> bool | None:
    """A serial shipping container code, 18 digits, with or without its identifier 00 (GS1)."""
    found = re.fullmatch(r"(?:00)?(\d{17})(\d)", number)
    return None if found is None else gs1_digit(found[1]) == int(found[2])


def air_waybill(number: str) -> bool | None:
    """An air waybill: a three-digit prefix and eight digits, the last the check digit of the seven before."""
    found = re.fullmatch(r"\d{3}-?(\d{7})(\d)", number)
    return None if found is None else air_waybill_digit(found[1]) == int(found[2])


SCHEMES: Mapping[str, Callable[[str], bool | None]] = {
    "UPU S10": s10,
    "Postal Service barcode": postal_barcode,
    "GS1 SSCC": sscc,
    "air waybill": air_waybill,
}


def checked(number: str) -> dict[str, bool]:
    """The schemes whose shape the number has, and whether its check digit is right in each; blanks do not matter."""
    bare = re.sub(r"\s", "", number).upper()
    answers = {name: scheme(bare) for name, scheme in SCHEMES.items()}
    return {name: right for name, right in answers.items() if right is not None}
