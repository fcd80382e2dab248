"""Whether a parcel that is in no record looks like the shop's own, only forgotten, or like another's.

A number that is not recorded proves nothing: people forget to record parcels. What is printed beside it is held against
the shop's own numbers, sizes and orders. It is taken for another's only where two of these speak for that and none for
the shop.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import takewhile
from typing import NamedTuple

import numpy as np
import pandas as pd

from auditor.core.arrays import Floats
from auditor.core.sides import SIDES
from auditor.core.units import NM_PER_INCH, shown
from auditor.match.numbers import normalised

ENOUGH = 20
"""From so many of the shop's own on, it says something that a parcel is unlike all of them (chosen)."""

FEW_FORMS = 3
"""Order references of more forms than this have none (chosen)."""

LEAST_PREFIX = 4
"""Numbers that all begin with so many characters alike have a beginning of their own (chosen)."""

READ_OVER_NM = 2 * NM_PER_INCH
"""A carrier bills a carton by sides up to so much longer than recorded, or it is another size (chosen)."""

SEVERAL = 2
"""So many signs of another's, and none of the shop's, make it another's (chosen)."""

A_BATCH = 3
"""So many unrecorded parcels alike on one statement are rather a batch that was forgotten (chosen)."""


class Signs(NamedTuple):
    """What speaks for a parcel's being the shop's own, and what for its being another's, in words."""

    own: tuple[str, ...]
    others: tuple[str, ...]

    @property
    def of_another(self) -> bool:
        """Whether it is taken for another's."""
        return not self.own and len(self.others) >= SEVERAL


NO_SIGNS = Signs((), ())
Sign = tuple[bool, str] | None
"""Whether it speaks for the shop, and the words; None where nothing can be told."""


def signs(
    unknown: pd.DataFrame, joined: pd.DataFrame, shipments: pd.DataFrame, cartons: pd.DataFrame
) -> dict[str, Signs]:
    """The signs of each number billed, of parcels that no record fits.

    Args:
        unknown: LINES of those parcels.
        joined: LINES that belong to recorded parcels, which show how the carrier prints the shop's order references.
        shipments: SHIPMENTS.
        cartons: CARTONS.
    """
    printed = unknown.groupby("tracking", sort=False)[["order", *(f"billed_{side}" for side in SIDES)]].first()
    every = zip(
        printed.index.tolist(),
        _of_numbers(pd.Series(printed.index, dtype="str"), shipments["tracking"]),
        _of_sizes(printed[[f"billed_{side}" for side in SIDES]], shipments, cartons),
        _of_batches(unknown),
        _of_orders(printed["order"], pd.concat([shipments["order"], joined["order"]])),
        strict=True,
    )
    return {number: _together(*found) for number, *found in every}


def _together(*found: Sign) -> Signs:
    signs = [sign for sign in found if sign]
    return Signs(tuple(words for own, words in signs if own), tuple(words for own, words in signs if not own))


def _of_numbers(billed: pd.Series, recorded: pd.Series) -> Iterator[Sign]:
    known = normalised(recorded.dropna())
    ranges = {str(form): (numbers.min(), numbers.max(), len(numbers)) for form, numbers in known.groupby(_form(known))}
    begin = {form: _beginning(low, high) for form, (low, high, count) in ranges.items() if count >= ENOUGH}
    plain = normalised(billed)
    for number, form in zip(plain, _form(plain), strict=True):
        low, high, _ = ranges.get(form, ("", "", 0))
        own = begin.get(form, "")
        if low <= number <= high:
            yield True, "its number lies among yours"
        elif form not in ranges and len(known) >= ENOUGH:
            yield False, "its number has another form than any of yours"
        elif len(own) >= LEAST_PREFIX:
            alike = number.startswith(own)
            yield alike, f"its number {'begins' if alike else 'does not begin'} with {own}, as yours of that form do"
        else:
            yield None


def _of_batches(unknown: pd.DataFrame) -> Iterator[Sign]:
    """Whether several of them are alike: of one statement and service, with numbers that begin alike."""
    first = unknown.drop_duplicates("tracking").dropna(subset="tracking")
    number = normalised(first["tracking"])
    alike = [first["statement"].fillna(""), first["service"].fillna(""), _form(number), number.str[:LEAST_PREFIX]]
    for count in number.groupby(alike).transform("size"):
        few = count < A_BATCH
        yield None if few else (True, f"it is one of {count} alike on this statement, as of a batch not written down")


def _beginning(low: str, high: str) -> str:
    """How both begin, and so all between them."""
    return "".join(
        character for character, other in takewhile(lambda pair: pair[0] == pair[1], zip(low, high, strict=True))
    )


def _form(texts: pd.Series) -> pd.Series:
    """Numbers by the kind of their characters: any digit is 9."""
    return texts.str.replace(r"\d", "9", regex=True)


def _of_sizes(billed: pd.DataFrame, shipments: pd.DataFrame, cartons: pd.DataFrame) -> Iterator[Sign]:
    known = _sizes(shipments, cartons)
    enough = int(shipments["length_nm"].notna().sum()) >= ENOUGH
    for sides in billed.to_numpy(dtype=float, na_value=np.nan):
        if np.isnan(sides).any() or not len(known):
            yield None
        elif ((sides >= known) & (sides <= known + READ_OVER_NM)).all(axis=1).any():
            yield True, f"its size, {_size(sides)}, is one that you use"
        else:
            yield (False, f"its size, {_size(sides)}, is none that you use") if enough else None


def _sizes(shipments: pd.DataFrame, cartons: pd.DataFrame) -> Floats:
    """Every size that the shop has recorded, each side in falling order."""
    packed = shipments[[f"packed_{side}" for side in SIDES]].set_axis([*SIDES], axis=1)
    every = pd.concat([shipments[[*SIDES]], packed, cartons[[*SIDES]]]).dropna().drop_duplicates()
    return every.to_numpy(dtype=float)


def _size(sides: Floats) -> str:
    return f"{' × '.join(shown(int(side), 'in', 'length') for side in sides)} in"


def _of_orders(printed: pd.Series, own: pd.Series) -> Iterator[Sign]:
    known = own.dropna()
    forms = set(_order_form(known))
    tells = len(known) >= ENOUGH and len(forms) <= FEW_FORMS
    for order, form in zip(printed, _order_form(printed.fillna("")), strict=True):
        if pd.isna(order) or not tells:
            yield None
        elif form in forms:
            yield True, f"its order reference, {order}, has the form of yours"
        else:
            yield False, "its order reference has another form than any of yours"


def _order_form(texts: pd.Series) -> pd.Series:
    """Order references by their form: however many digits stand for one 9."""
    return texts.str.casefold().str.replace(r"\d+", "9", regex=True)
