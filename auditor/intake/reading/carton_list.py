"""Lists of cartons, whatever they look like, and parcels that name a carton and say no more.

A list is told by its shape, a name and three sides a row, and by the shop's records, in which its names stand. Its unit
is the one in which its sides are what the carrier billed parcels in those cartons by.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import pandas as pd

from auditor.core import units
from auditor.core.arrays import Places
from auditor.core.schemas import Problem
from auditor.core.sides import SIDES
from auditor.core.units import NM_PER_INCH
from auditor.intake import parsing, vocabulary
from auditor.intake.documents import Grid
from auditor.intake.reading import measures
from auditor.intake.reading.cells import of_texts
from auditor.intake.reading.known import Known

FIGURE = r"(?<!\d)\d{1,4}(?:[.,]\d+)?(?:\s*\d/\d)?\s*(?:[\"”″]|''|in(?:ch(?:es)?)?\b|cm\b|mm\b)?\.?"
SIZE = re.compile(rf"{FIGURE}(?:\s*(?:[x×✕⨯*]|\bby\b)\s*{FIGURE}){{2}}", re.IGNORECASE)
AROUND = " :;,.=-–—>→()[]•*\t"
MOST_ROWS = 500
"""Nobody keeps more kinds of cartons. Chosen."""
MOSTLY = 0.5
"""So many of the records that name a carton have no size where it is how they are kept, rather than a gap. Chosen."""
LONGEST_NAME = 60
UNITS = ("in", "cm", "mm")
MOST_TOLD = 8


@dataclass(frozen=True)
class Carton:
    """One line of a list: the name, its three sides as written, where it stands, and the rest by field."""

    name: str
    size: str
    place: str
    more: Mapping[str, str]


@dataclass(frozen=True)
class CartonList:
    """What may be a list of cartons: its lines, the unit that it names, its further columns' headings, its grid."""

    cartons: tuple[Carton, ...]
    unit: str | None
    headings: Mapping[str, str]
    grid: Grid

    @property
    def names(self) -> dict[str, Carton]:
        """The cartons by their names as they are compared."""
        return {plain(one.name): one for one in reversed(self.cartons)}


def plain(name: str) -> str:
    """A carton's name as it is compared: without case and needless blanks."""
    return " ".join(name.split()).casefold()


def carton_list(grid: Grid) -> CartonList | None:
    """What a grid is as a list of cartons; None where it has not the shape of one."""
    rows = [tuple(" ".join(cell.split()) for cell in row) for row in grid.rows]
    if not 1 <= len(rows) <= MOST_ROWS:
        return None
    found = _in_texts(rows, grid.places) or _in_columns(rows, grid.places)
    if not found:
        return None
    cartons, headings = found
    if len({plain(one.name) for one in cartons}) < len(cartons):
        return None
    said = [*grid.above, *(cell for row in rows for cell in row if cell and not SIZE.search(cell))]
    return CartonList(tuple(cartons), _unit_said(said), headings, grid)


Found = tuple[list[Carton], dict[str, str]]


def _in_texts(rows: Sequence[Sequence[str]], places: Sequence[str]) -> Found | None:
    """Cartons whose three sides stand in one text, alone or behind the name."""
    first = next((at for at, row in enumerate(rows) if any(map(SIZE.search, row))), None)
    if first is None:
        return None
    head = next((row for row in reversed(rows[:first]) if sum(map(bool, row)) > 1), ())
    cartons: list[Carton] = []
    headings: dict[str, str] = {}
    for row, place in zip(rows[first:], places[first:], strict=True):
        named = [pair for cell in row for pair in _pairs_in(cell)]
        at = next((nth for nth, cell in enumerate(row) if SIZE.fullmatch(cell)), None)
        if at is not None and not any(name for name, _ in named):
            name = next((cell for nth, cell in enumerate(row) if cell and nth != at), "")
            more, called = _more(row, head, {at, row.index(name)} if name else {at})
            headings |= called
            named = [(name, row[at])]
        else:
            more = {}
        cartons += [Carton(name, size, place, more) for name, size in named if 0 < len(name) <= LONGEST_NAME]
    return (cartons, headings) if cartons else None


def _pairs_in(text: str) -> list[tuple[str, str]]:
    """Names with the sizes that stand behind them, or before them."""
    found = list(SIZE.finditer(text))
    if not found:
        return []
    edges = [0, *(one.end() for one in found)]
    before = [text[edge : one.start()].strip(AROUND) for edge, one in zip(edges, found, strict=False)]
    ends = [*(one.start() for one in found[1:]), len(text)]
    after = [text[one.end() : end].strip(AROUND) for one, end in zip(found, ends, strict=True)]
    names = [name.rsplit(":", 1)[-1].strip() for name in (before if any(before) else after)]
    return [(name, one[0].strip()) for name, one in zip(names, found, strict=True)]


def _more(row: Sequence[str], head: Sequence[str], taken: set[int]) -> tuple[dict[str, str], dict[str, str]]:
    """What else a row says of its carton, by field, and the headings that say so."""
    found: dict[str, str] = {}
    called: dict[str, str] = {}
    for at, heading in enumerate(head):
        like = vocabulary.likeness(heading, "cartons") if heading and at not in taken and at < len(row) else {}
        best = max(like, key=lambda field: like[field][0], default=None)
        if best and best not in {"carton", "size", *SIDES} and best not in found and row[at]:
            found[best], called[best] = row[at], heading
    return found, called


def _in_columns(rows: Sequence[Sequence[str]], places: Sequence[str]) -> Found | None:
    """Cartons whose sides stand in three columns: those whose headings give a length's unit, else the first three."""
    width = max(map(len, rows), default=0)
    wide = [(*row, *[""] * (width - len(row))) for row in rows]
    first = next((at for at, row in enumerate(wide) if sum(map(_is_figure, row)) >= len(SIDES)), None)
    if first is None:
        return None
    head = next((row for row in reversed(wide[:first]) if sum(map(bool, row)) > 1), ("",) * width)
    body = [(row, place) for row, place in zip(wide[first:], places[first:], strict=True) if any(row)]
    figures = [at for at in range(width) if all(_is_figure(row[at]) for row, _ in body)]
    named = next((at for at in range(width) if at not in figures and all(row[at] for row, _ in body)), None)
    if len(figures) < len(SIDES) or named is None:
        return None
    three = max(combinations(figures, len(SIDES)), key=lambda them: _as_sides(them, head))
    taken = {named, *three}
    several = [(_more(row, head, taken), row, place) for row, place in body]
    unit = _unit_said([head[at] for at in three]) or ""
    cartons = [
        Carton(row[named], " x ".join(_measure(row[at], unit) for at in three), place, more)
        for (more, _), row, place in several
    ]
    return cartons, {one: text for (_, called), _, _ in several for one, text in called.items()}


def _as_sides(them: tuple[int, ...], head: Sequence[str]) -> tuple[int, int]:
    """How many of the headings are those of sides or give a length's unit; then how near together they stand."""
    told = sum(
        bool(vocabulary.unit_named(head[at], "length_nm") or {*SIDES} & {*vocabulary.likeness(head[at], "cartons")})
        for at in them
    )
    return told, them[0] - them[-1]


def _measure(text: str, unit: str) -> str:
    return f"{text} {unit}" if unit and parsing.is_bare(text, "length") else text


def _is_figure(text: str) -> bool:
    return bool(text) and bool(re.fullmatch(FIGURE, text, re.IGNORECASE))


def _unit_said(texts: Sequence[str]) -> str | None:
    """The one unit of length that texts name: 'Boxes (cm)', 'all in inches'."""
    words = {word.casefold() for text in texts for word in re.findall(r"[^\W\d_]+", text)} - {"in", "m", "a"}
    found = {unit for word in words if (unit := units.symbol(word, "length")) in UNITS}
    return found.pop() if len(found) == 1 else None


def unit_of(listed: CartonList, names: Sequence[str], places: Places, known: Known) -> str | None:
    """The unit in which the sides are what parcels in those cartons were billed by; what the list says where none is.

    Args:
        listed: the list.
        names: for each row of the records the text in its column of cartons.
        places: for each row its parcel among those billed, −1 where it is none.
        known: what was billed.
    """
    cartons = listed.names
    pairs = [(cartons[plain(name)], at) for name, at in zip(names, places, strict=True) if plain(name) in cartons]
    billed = known.shipments[list(SIDES)].to_numpy(dtype=np.int64, na_value=0)
    held = [(carton, billed[at]) for carton, at in pairs if at >= 0 and billed[at].all()]
    agree = {unit: sum(_as_billed(carton.size, sides, unit) for carton, sides in held) for unit in UNITS}
    best = max(agree, key=lambda unit: (agree[unit], unit == listed.unit))
    return best if 2 * agree[best] > len(held) else listed.unit


def _as_billed(size: str, sides: np.ndarray[tuple[int], np.dtype[np.int64]], unit: str) -> bool:
    """Whether sides are the billed ones, which carriers round to whole inches."""
    column = of_texts([size], 0)
    found = [measures.side_of(column, unit, nth) for nth in range(len(SIDES))]
    return all(one.known[0] and abs(int(one.numbers[0]) - int(side)) < NM_PER_INCH for one, side in zip(found, sides))  # noqa: B905


# Parcels that name a carton and say no more


def with_cartons(shipments: pd.DataFrame, cartons: pd.DataFrame) -> tuple[pd.DataFrame, list[Problem]]:
    """SHIPMENTS with the size, and the usual weight, of the carton that a parcel names where it has none itself.

    Only where most records of the file have none: elsewhere it is a gap, or was not read. What is told: once how many
    took them, once which cartons are in no list, and how many parcels they are of.
    """
    without, light = _mostly_missing(shipments, "length_nm"), _mostly_missing(shipments, "weight_pg")
    if not (without | light).any():
        return shipments, []
    listed = cartons.dropna(subset=["length_nm", "width_nm", "height_nm"])
    listed = listed.set_index(listed["carton"].map(plain))
    listed = listed[~listed.index.duplicated()]
    name = shipments["carton"].map(plain, na_action="ignore")
    filled = shipments.copy()
    for side in SIDES:
        filled[side] = filled[side].mask(without, name.map(listed[side]).astype("Int64"))
    filled["weight_pg"] = filled["weight_pg"].mask(light, name.map(listed["usual_weight_pg"]).astype("Int64"))
    sized = without & filled["length_nm"].notna()
    weighed = light & filled["weight_pg"].notna()
    return filled, [*_told(int(sized.sum()), int(weighed.sum())), *_not_listed(filled[without & ~sized])]


def _mostly_missing(shipments: pd.DataFrame, column: str) -> pd.Series:
    """The records that name a carton and lack a figure, of files in which most that name one lack it."""
    named = shipments["carton"].notna()
    lacks = named & shipments[column].isna()
    share = lacks[named].groupby(shipments["source_file"][named]).mean()
    found: pd.Series = lacks & shipments["source_file"].map(share).gt(MOSTLY).fillna(value=False)
    return found


def _told(sized: int, weighed: int) -> Iterator[Problem]:
    if sized:
        message = f"{_parcels(sized)} took their size from your list of cartons, as your records name the carton alone."
        yield Problem("", "", message, note=True)
    if weighed:
        message = (
            f"{_parcels(weighed)} took their weight from your list of cartons, which is the usual one there and not "
            "what each weighed. What depends on it is as sure as that is."
        )
        yield Problem("", "", message, note=True)


def _not_listed(shipments: pd.DataFrame) -> Iterator[Problem]:
    """Which cartons are in no list; what depends on the size of parcels in them is not audited."""
    if shipments.empty:
        return
    counts = shipments["carton"].value_counts()
    names = ", ".join(f"'{name}' ({_parcels(int(count))})" for name, count in counts.head(MOST_TOLD).items())
    more = f" and {len(counts) - MOST_TOLD:,} more" if len(counts) > MOST_TOLD else ""
    message = (
        f"No list of cartons has {names}{more}, so what depends on the size of {_parcels(int(counts.sum()))} is not "
        "audited. Add each to your list of cartons with its three sides, and run again."
    )
    yield Problem(str(shipments["source_file"].iloc[0]), "", message)


def _parcels(count: int) -> str:
    return f"{count:,} parcel{'' if count == 1 else 's'}"
