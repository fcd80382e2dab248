"""Which parcels went in one carton: by its name however it is spelled, or by its size where there is none.

A carton that is cut down is another one than the same carton uncut: it is weaker, bulges otherwise, and passes other
limits. The two are told apart by the declared length against the table of cartons, or against the longest length of
the same name where there is no table, or by the name itself ("keyboard box (cut)").
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from rapidfuzz.distance import OSA

from auditor.core import units
from auditor.core.sides import SIDES
from auditor.core.units import NM_PER_INCH

CUT_WORDS = re.compile(r"\b(cut(?: ?down)?|trimmed|shortened)\b")
UNCUT_WORDS = re.compile(r"\b(uncut|not cut|full (?:length|size))\b")

LEAST_LETTERS = 8
"""Names shorter than this are never taken for misspellings of one another (chosen)."""

NEAR_NM = NM_PER_INCH
"""A length shorter by more than an inch is that of a carton cut down; less may be measuring (chosen)."""

USED = 0.1
"""The longest length that this share of a carton's parcels has is its length uncut (chosen)."""

FEW = 5
"""Sizes without a name that fewer parcels have are put together (chosen)."""

OTHER_SIZES = "other sizes"


@dataclass(frozen=True)
class Cartons:
    """`of_shipment`: each shipment's carton, missing where it has no size. `table`: a row a carton.

    Its columns: carton, name, form ("cut", "uncut" or ""), spelled (every spelling met, parted by "; "), the sides that
    most of its parcels have, parcels.
    """

    table: pd.DataFrame
    of_shipment: pd.Series

    def named(self, text: str) -> list[str]:
        """The cartons that a name, however spelled, may mean: one, or both the cut one and the uncut."""
        same_text = self.table["carton"].map(_spaced) == _spaced(text)
        found = self.table[same_text if same_text.any() else self.table["name"].map(plain_name) == plain_name(text)]
        return [str(carton) for carton in found["carton"]]


def plain_name(text: str) -> str:
    """A carton's name as it is compared: letters and digits only, without the words for cut and uncut."""
    return "".join(CUT_WORDS.sub(" ", UNCUT_WORDS.sub(" ", _spaced(text))).split())


def size_name(sides: Iterable[int], unit: str) -> str:
    """A carton by its size: "48 × 20 × 8 in"."""
    return " × ".join(units.shown(int(side), unit, "length") for side in sides) + f" {unit}"


def _spaced(text: str) -> str:
    return " ".join(re.sub(r"[\W_]+", " ", text.casefold()).split())


def of_shipments(shipments: pd.DataFrame, cartons: pd.DataFrame, unit: str = "in") -> Cartons:
    """Group shipments by carton.

    Args:
        shipments: SHIPMENTS.
        cartons: CARTONS, the seller's own table; it may be empty.
        unit: of lengths, for cartons that are called by their size.
    """
    sized = shipments.dropna(subset=list(SIDES))
    keys = ["carton", *SIDES]
    sized = sized.assign(carton=sized["carton"].fillna(""))
    kinds = sized.groupby(keys, sort=True).size().rename("parcels").reset_index()
    known = _known(cartons)
    kinds["key"], kinds["name"] = _named(kinds, known, unit)
    kinds["form"] = _forms(kinds, known)
    kinds["label"] = kinds["name"] + kinds["form"].map({"": "", "cut": ", cut", "uncut": ", uncut"})
    labels = sized[keys].merge(kinds, on=keys, how="left")["label"].set_axis(sized.index)
    return Cartons(_table(kinds), labels.reindex(shipments.index).astype("str"))


def _known(cartons: pd.DataFrame) -> pd.DataFrame:
    """The seller's cartons by plain name, one row each, with the length of each uncut."""
    sized = cartons.dropna(subset=["carton", *SIDES])
    trim = sized["usual_trim_nm"].fillna(0)
    keyed = sized.assign(key=sized["carton"].map(plain_name), trim=trim, uncut_nm=sized["length_nm"] + trim)
    return keyed.drop_duplicates("key").set_index("key")


def _named(kinds: pd.DataFrame, known: pd.DataFrame, unit: str) -> tuple[pd.Series, pd.Series]:
    """What joins kinds of parcels to one carton, and the carton's name."""
    plain = _texts(kinds["carton"], plain_name)
    meant = _misspelled(kinds.assign(key=plain), known)
    key = plain.replace(meant).mask(plain == "", _by_size(kinds, known))
    rare = (plain == "") & (kinds.groupby(key)["parcels"].transform("sum") < FEW) & ~key.isin(known.index)
    spelling = _spellings(kinds.assign(key=key)) | known["carton"].to_dict()
    sizes = [size_name(sides, unit) for sides in kinds[list(SIDES)].to_numpy()]
    names = [spelling.get(name, size) for name, size in zip(key, sizes, strict=True)]
    name = pd.Series(names, index=kinds.index, dtype="str")
    return key.mask(rare, OTHER_SIZES), name.mask(rare, OTHER_SIZES)


def _texts(names: pd.Series, form: Callable[[str], str]) -> pd.Series:
    return pd.Series([form(name) for name in names], index=names.index, dtype="str")


def _spellings(kinds: pd.DataFrame) -> dict[str, str]:
    """By key the commonest spelling, one without a word for cut before any other."""
    named = kinds[kinds["carton"] != ""].sort_values("parcels", ascending=False, kind="stable")
    clean = [not CUT_WORDS.search(_spaced(carton)) for carton in named["carton"]]
    in_order = pd.concat([named[clean], named])
    return dict(in_order.drop_duplicates("key")[["key", "carton"]].itertuples(index=False, name=None))


def _misspelled(kinds: pd.DataFrame, known: pd.DataFrame) -> dict[str, str]:
    """Plain names one slip away from one of the table of cartons, or from a commoner one, of the same cross-section.

    Digits never differ.
    """
    parcels = kinds.groupby("key")["parcels"].sum().sort_values(ascending=False, kind="stable")
    across = kinds.sort_values("parcels", ascending=False, kind="stable").drop_duplicates("key").set_index("key")
    sizes = {key: sides for key, *sides in pd.concat([known, across])[[*SIDES[1:]]].itertuples()}
    first: dict[str, str] = {}
    meant = {}
    for key in dict.fromkeys([*known.index, *parcels.index]):
        if len(key) < LEAST_LETTERS:
            continue
        nears = (first[part] for part in _without_one(key) if part in first)
        near = next((near for near in nears if _one_slip(near, key) and _close(sizes[near], sizes[key])), None)
        if near and key not in known.index:
            meant[key] = near
        else:
            for part in _without_one(key):
                first.setdefault(part, key)
    return meant


def _without_one(key: str) -> Iterator[str]:
    """The key, and with each letter left out: keys that are one slip apart have one of these in common."""
    yield key
    yield from (key[:place] + key[place + 1 :] for place in range(len(key)))


def _close(sides: Sequence[int], others: Sequence[int]) -> bool:
    return all(abs(side - its) <= NEAR_NM for side, its in zip(sides, others, strict=True))


def _one_slip(text: str, other: str) -> bool:
    return re.sub(r"\D", "", text) == re.sub(r"\D", "", other) and OSA.distance(text, other) <= 1


def _by_size(kinds: pd.DataFrame, known: pd.DataFrame) -> pd.Series:
    """For each kind the carton that has such a size, as used or uncut, or a named one; else the size itself."""
    named = kinds[kinds["carton"] != ""].sort_values("parcels", kind="stable")
    keys = [plain_name(carton) for carton in named["carton"]]
    sizes = dict(zip(named[list(SIDES)].itertuples(index=False, name=None), keys, strict=True))
    for length in ("uncut_nm", "length_nm"):
        sizes |= dict(zip(known[[length, *SIDES[1:]]].itertuples(index=False, name=None), known.index, strict=True))
    own = kinds[list(SIDES)].itertuples(index=False, name=None)
    return pd.Series([sizes.get(size, "x".join(map(str, size))) for size in own], index=kinds.index, dtype="str")


def _forms(kinds: pd.DataFrame, known: pd.DataFrame) -> pd.Series:
    """Whether each kind is "cut" or "uncut"; "" where a carton is only ever used one way."""
    length, key = kinds["length_nm"].astype("float64"), kinds["key"]
    says_cut, says_uncut = (
        pd.Series([bool(words.search(text)) for text in map(_spaced, kinds["carton"])], index=kinds.index, dtype=bool)
        for words in (CUT_WORDS, UNCUT_WORDS)
    )
    says_cut &= ~says_uncut
    share = kinds["parcels"] / kinds.groupby("key")["parcels"].transform("sum")
    longest = length.where(share >= USED).groupby(key).transform("max")
    uncut = key.map(known["uncut_nm"].to_dict()).astype("float64").fillna(longest)
    called_cut = length.where(says_cut).groupby(key).transform("max")
    is_cut = (length < uncut - NEAR_NM) | (length <= called_cut) | says_cut
    is_cut &= ~says_uncut & (kinds["name"] != OTHER_SIZES)
    ever_cut = is_cut.groupby(key).transform("any") | key.map(known["trim"].to_dict()).astype("float64").gt(0)
    return pd.Series(np.select([is_cut, ever_cut], ["cut", "uncut"], ""), index=kinds.index, dtype="str")


def _table(kinds: pd.DataFrame) -> pd.DataFrame:
    """A row a carton, see `Cartons`."""
    common = kinds.sort_values("parcels", ascending=False, kind="stable")
    first = common.drop_duplicates("label").set_index("label")[["name", "form", *SIDES]]
    named = common[common["carton"] != ""].drop_duplicates(["label", "carton"])
    spelled = named.groupby("label")["carton"].agg("; ".join)
    table = first.assign(spelled=spelled, parcels=kinds.groupby("label")["parcels"].sum())
    return table.fillna({"spelled": ""}).rename_axis("carton").sort_index().reset_index()
