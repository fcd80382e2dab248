"""Parcels as somebody types them at the bench: '47 1/2 x 6 x 6 in' '3 lb', or the name of a carton of the shop's."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

import pandas as pd

from auditor.core.schemas import PARCELS, conform
from auditor.core.sides import SIDES
from auditor.intake import parsing
from auditor.intake.tidy import shown


def typed(texts: Sequence[str], names: Collection[str] = ()) -> pd.DataFrame:
    """PARCELS of texts: each size or carton name begins a parcel, and a weight after it is that parcel's.

    Args:
        texts: what was typed.
        names: the shop's cartons, in small letters, so that one called '12x10' is not taken for a size.

    Raises:
        ValueError: a text that is no size, weight or name, or that stands in the wrong place; with the reason.
    """
    parcels: list[dict[str, Any]] = []
    for text in texts:
        kind = "carton" if parsing.words(text).casefold() in names else _kind(text)
        if kind == "weight":
            _put_weight(parcels, text)
        elif kind == "size":
            parcels.append({"parcel": parsing.words(text), **dict(zip(SIDES, _read(parsing.size, text), strict=True))})
        else:
            parcels.append({"parcel": parsing.words(text), "carton": parsing.words(text)})
    return conform(pd.DataFrame(parcels, index=range(len(parcels))), PARCELS)


LONE = frozenset({"x", "×", "by", "in", "ft", "cm", "mm", "lb", "lbs", "oz", "kg", "g"})
"""Words that stand alone among the texts only where quotation marks are missing."""


def without_quotation_marks(texts: Sequence[str], names: Collection[str] = ()) -> str:
    """That sizes and weights go in quotation marks, and how; "" where these texts do not lack them.

    Args:
        texts: what was typed, as the terminal parted it, and could not be read.
        names: the shop's cartons, in small letters.
    """
    meant = in_quotation_marks(texts, names)
    if not meant and not any(text.casefold() in LONE for text in texts):
        return ""
    example = meant or '"47 1/2 x 6 x 6 in" "3 lb"'
    said = "A terminal parts what you type at every blank, so each size, name and weight goes in quotation marks"
    return f"{said}, {'like this' if meant else 'as in'}: auditor precheck {example}"


def in_quotation_marks(texts: Sequence[str], names: Collection[str] = ()) -> str:
    """What somebody meant who typed a size, or a name, and a weight without quotation marks; "" where nothing fits.

    A terminal parts what is typed at its blanks, so that '47 1/2 x 6 x 6 in' comes as six texts.
    """
    for place in range(len(texts), 0, -1):
        what, weight = " ".join(texts[:place]), " ".join(texts[place:])
        if place > 1 and _reads(what, names) and (not weight or _weighs(weight)):
            return " ".join(f'"{part}"' for part in (what, weight) if part)
    if len(texts) > 1 and _weighs(" ".join(texts[1:])) and _reads(texts[0], names):
        return f'"{texts[0]}" "{" ".join(texts[1:])}"'
    return ""


def _reads(text: str, names: Collection[str]) -> bool:
    return parsing.words(text).casefold() in names or _is(parsing.size, text)


def _weighs(text: str) -> bool:
    return _is(parsing.heft, text)


def _is(parse: Any, text: str) -> bool:
    try:
        return len(text) <= parsing.LONGEST and bool(parse(text))
    except ValueError:
        return False


def _kind(text: str) -> str:
    """Whether a text is meant as a size, a weight, or the name of a carton."""
    if not text.strip():
        raise ValueError("An empty text is no parcel. Give a size, as in '47 1/2 x 6 x 6 in', or a carton's name.")
    if _is(parsing.length, text):
        return "size"
    begins_with_number = text.strip()[0] in "-−–.'" or text.strip()[0].isnumeric()
    if len(parsing.TIMES.split(text.strip())) > 1 and any(letter.isnumeric() for letter in text):
        return "size"
    return "weight" if begins_with_number else "carton"


def _put_weight(parcels: list[dict[str, Any]], text: str) -> None:
    weight = _read(parsing.heft, text)
    if not parcels:
        raise ValueError(f"{shown(text)} is a weight, but no size or carton stands before it. Give that first.")
    if "weight_pg" in parcels[-1]:
        raise ValueError(
            f"{shown(text)} is a second weight for {shown(parcels[-1]['parcel'])}. Give each parcel one weight."
        )
    parcels[-1]["weight_pg"] = weight
    parcels[-1]["parcel"] = f"{parcels[-1]['parcel']}, {parsing.words(text)}"


def _read(parse: Any, text: str) -> Any:
    if len(text) > parsing.LONGEST:
        raise ValueError(f"{shown(text)} is longer than any size or weight ({len(text)} characters).")
    try:
        return parse(text)
    except ValueError as reason:
        raise ValueError(f"{shown(text)} {reason}.") from None
