"""The shop's own records read with its statements and its list of cartons as their evidence.

A table is records where numbers that statements bill stand in it beside what only the shop knows: the carton, the size,
the weight. What words made of records stays, but for what the figures show to be otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from auditor.core.arrays import Places
from auditor.core.schemas import Problem
from auditor.core.sides import SIDES
from auditor.intake import evidence, vocabulary
from auditor.intake.assignment import completed
from auditor.intake.documents import Grid
from auditor.intake.headings import Fit, Head, Heading, by_names, heads
from auditor.intake.reading.billed import Billed
from auditor.intake.reading.cells import DAMAGED, Column, is_shortened, of_texts, parcel_of
from auditor.intake.reading.known import Known, bare
from auditor.intake.reading.record_roles import roles_of_records
from auditor.intake.reading.record_rows import Rows, distinct_places, plain_rows, rows_of
from auditor.intake.reading.record_scene import SURE, Chosen, Scene
from auditor.intake.recognise import Column as Told
from auditor.intake.recognise import Sheet
from auditor.intake.tidy import USUAL_UNIT

OF_THE_SHOP = ("carton", "size", "length_nm", "weight_pg")
"""What records have beside a number, one of them at least."""
SAMPLES = 3
OF_STATEMENTS = ("label_cost_cents", "buyer_paid_cents")
"""What a table that is a statement too has of its own charges."""


@dataclass(frozen=True, eq=False)
class Records:
    """A table read as the shop's records; `odds`: what figures alone say for each field, and `said` what was done."""

    sheet: Sheet
    odds: Mapping[str, float]
    changed: frozenset[str]
    said: tuple[str, ...]
    numbers: Places
    carton: tuple[str, ...] = ()

    @property
    def problems(self) -> Iterator[Problem]:
        """What was done to read them so."""
        return (Problem(self.sheet.file, "", text, note=True) for text in self.said)


def records_of(
    file: str, grid: Grid, billed: Billed, cartons: Mapping[str, int | None], *, billing: bool = False
) -> Records | None:
    """A grid as the shop's records; None where it has no number of a parcel, or nothing that only the shop knows.

    Args:
        file: the file's name.
        grid: the table.
        billed: what statements say; may be of no parcel.
        cartons: names in lists of cartons as they are compared, each with its usual weight where one is known.
        billing: whether it is a statement at once, whose amounts are no labels' costs.
    """
    known = billed.known
    rows = rows_of(grid, lambda text: parcel_of(text, known) is not None or bool(DAMAGED.fullmatch(text)))
    rows = rows or _by_words(grid)
    if rows is None or not rows.rows:
        return None
    columns = [of_texts(rows.column(at), at, text) for at, text in enumerate(rows.head)]
    words = _fit(rows)
    number, places = _number(columns, billed, words)
    if number is None:
        return None
    columns[number], places, mended = _mended(columns, number, places, billed)
    usual = {name: weight for name, weight in cartons.items() if weight is not None}
    scene = Scene(columns, number, places, billed, words, frozenset(cartons), usual)
    chosen = roles_of_records(scene)
    chosen["tracking"] = replace(chosen["tracking"], changed=bool(mended))
    if billing:
        chosen = {name: one for name, one in chosen.items() if name not in OF_STATEMENTS}
    if not _are_records(chosen, in_statements=bool((places >= 0).any())):
        return None
    if billing:
        rows, chosen, places = _of_the_shop(rows, chosen, places)
    return _records(file, grid, rows, chosen, places, [*rows.said, *mended, *_lacking(chosen)])


def _of_the_shop(rows: Rows, chosen: Mapping[str, Chosen], places: Places) -> tuple[Rows, dict[str, Chosen], Places]:
    """The rows with something that only the shop knows: the others are the carrier's alone."""
    own = [one.texts for name, one in chosen.items() if name in OF_THE_SHOP]
    kept = [at for at, texts in enumerate(zip(*own, strict=True)) if any(texts) and chosen["tracking"].texts[at]]
    fewer = {name: replace(one, texts=tuple(one.texts[at] for at in kept)) for name, one in chosen.items()}
    of_rows = replace(rows, rows=tuple(rows.rows[at] for at in kept), places=tuple(rows.places[at] for at in kept))
    return of_rows, fewer, places[kept]


def _are_records(chosen: Mapping[str, Chosen], *, in_statements: bool) -> bool:
    """Whether enough is there: beside numbers of statements one thing, beside others the carton's name in a list."""
    listed = "carton" in chosen and chosen["carton"].odds > 0
    return listed or (in_statements and any(name in chosen for name in OF_THE_SHOP))


def _lacking(chosen: Mapping[str, Chosen]) -> Iterator[str]:
    """What records have no column for, and what follows from that."""
    sized = {"size", "length_nm", "carton"} & {*chosen}
    lacks = [*([] if sized else ["size"]), *([] if {"weight_pg", "carton"} & {*chosen} else ["weight"])]
    if lacks:
        yield (
            f"These records have no column for the {' and the '.join(lacks)}, so what depends on that is not audited. "
            "Name one so, or the carton and give a list of cartons, and run again."
        )


def _by_words(grid: Grid) -> Rows | None:
    """The rows below the headings that have most of the words of records, a number's among them."""
    fits = [fit for head in heads(grid) if "tracking" in (fit := completed(by_names(head, "shipments"))).columns]
    best = max(fits, key=lambda fit: len(fit.columns), default=None)
    return plain_rows(grid, best.head.row) if best and len(best.columns) > 1 else None


def _fit(rows: Rows) -> Fit | None:
    if not any(rows.head):
        return None
    table = [rows.head, *rows.rows]
    grid = Grid(table, ("", *rows.places), rows.above)
    return completed(by_names(Head(grid, 0, rows.head, evidence.Sample(table)), "shipments"))


def _number(columns: Sequence[Column], billed: Billed, words: Fit | None) -> tuple[int | None, Places]:
    """The column in which most numbers of statements stand, else the one that words say, and each row's parcel."""
    named = words.columns["tracking"][0] if words and "tracking" in words.columns else None
    found = [column.parcels(billed.known) for column in columns]
    counts = [(distinct_places(them), at == named) for at, them in enumerate(found)]
    best = max(range(len(columns)), key=lambda at: counts[at])
    if counts[best][0]:
        return best, found[best]
    short = [at for at, column in enumerate(columns) if column.used and all(map(DAMAGED.fullmatch, column.used))]
    at = short[0] if short else named
    return at, np.full(len(columns[0]), -1, dtype=np.intp)


# Numbers that a spreadsheet has shortened


def _mended(columns: Sequence[Column], number: int, places: Places, billed: Billed) -> tuple[Column, Places, list[str]]:
    """The column of numbers with those made whole that a spreadsheet had written as 1.23E+17."""
    column = columns[number]
    short = column.where(DAMAGED.fullmatch)
    if not short.any() or billed.known.nothing:
        return column, places, []
    orders = max((one.orders(billed.known) for one in columns), key=distinct_places)
    by_order = np.array(
        [
            at if at >= 0 and damaged and _may_be(text, billed.known, at) else -1
            for text, at, damaged in zip(column.text(), orders, short, strict=True)
        ],
        dtype=np.intp,
    )
    found = np.where(by_order >= 0, by_order, places)
    numbers = billed.known.shipments["tracking"].tolist()
    whole = [
        numbers[at] if damaged and at >= 0 else text
        for text, at, damaged in zip(column.text(), found, short, strict=True)
    ]
    told = list(_told_mended(int(short.sum()), int((short & (found < 0)).sum())))
    return of_texts(whole, number, column.heading), found, told


def _may_be(text: str, known: Known, at: int) -> bool:
    """Whether a shortened number may be that parcel's."""
    short = DAMAGED.fullmatch(text)
    return short is not None and is_shortened(short, bare(str(known.shipments["tracking"].iloc[at])))


def _told_mended(short: int, left: int) -> Iterator[str]:
    yield (
        f"{short:,} numbers had been shortened by a spreadsheet (1.23E+17). {short - left:,} were made whole from the "
        "statement, by their orders."
    )
    if left:
        yield f"{left:,} of them could not be made whole. Export the records again with that column as text."


# Columns → a sheet of records


def _records(
    file: str, grid: Grid, rows: Rows, chosen: Mapping[str, Chosen], places: Places, said: Sequence[str]
) -> Records:
    cells = pd.DataFrame({name: pd.Series(one.texts, dtype=object) for name, one in chosen.items()})
    kept, merged = _once_each(cells)
    cells = cells.loc[kept] if merged is None else merged
    index = pd.RangeIndex(len(kept))
    leads = pd.Series([next(filter(None, rows.rows[at]), "") for at in kept], index=index, dtype="str")
    doubled = len(rows.rows) - len(kept)
    if doubled:
        rows_repeat = "1 row repeats" if doubled == 1 else f"{doubled:,} rows repeat"
        said = [*said, f"{rows_repeat} a parcel that stands on another row, and counts with it."]
    sheet = Sheet(
        file=file,
        kind="shipments",
        cells=cells.set_axis(index),
        headings={name: _heading(rows, one) for name, one in chosen.items()},
        places=pd.Series([rows.places[at] for at in kept], index=index, dtype="str"),
        leads=leads,
        above=rows.above,
        columns=tuple(_columns(rows, chosen)),
        grid=grid,
    )
    return Records(
        sheet,
        {name: one.odds for name, one in chosen.items()},
        frozenset(name for name, one in chosen.items() if one.changed),
        tuple(said),
        places,
        chosen["carton"].texts if "carton" in chosen else (),
    )


def _once_each(cells: pd.DataFrame) -> tuple[list[int], pd.DataFrame | None]:
    """The rows that are parcels' first ones, and the cells of these with what is blank there taken from the others.

    Rows of one number that say different things of the parcel all stay.
    """
    numbers = cells["tracking"].map(bare)
    repeated = numbers[(numbers != "") & numbers.duplicated(keep=False)]
    if repeated.empty:
        return list(range(len(cells))), None
    filled = cells.replace("", None)
    several = filled.loc[repeated.index].drop(columns="tracking").groupby(repeated)
    agree = several.nunique().le(1).all(axis=1)
    again = numbers.map(agree).fillna(value=False).astype(bool) & numbers.duplicated()
    first = filled.groupby(numbers).transform("first")
    whole = filled.where(~numbers.map(agree).fillna(value=False).astype(bool), first).fillna("")
    kept = [at for at, is_again in enumerate(again) if not is_again]
    return kept, whole.loc[kept]


def _heading(rows: Rows, one: Chosen) -> Heading:
    texts = [rows.head[at] or f"column {at + 1}" for at in one.at]
    return Heading(" and ".join(texts), one.unit)


def _columns(rows: Rows, chosen: Mapping[str, Chosen]) -> Iterator[Told]:
    fields = {at: name for name, one in chosen.items() for at in one.at}
    for at, text in enumerate(rows.head):
        samples = tuple([text for text in dict.fromkeys(rows.column(at)) if text][:SAMPLES])
        name = fields.get(at)
        why = chosen[name].said if name else "nothing that shipping records need agrees with it"
        yield Told(text, name, 1.0 if name else 0.0, samples, why)


# What words made of records, and what figures say


def better(found: Records, by_words: Sheet) -> Records | None:
    """Records read by evidence, where figures show what words have otherwise; None where they say the same."""
    gains = {name for name in found.odds if _differs(name, found, by_words) and _is_proven(name, found)}
    if (not gains and len(found.sheet.cells) >= len(by_words.cells)) or _has_a_parcel_for_headings(found, by_words):
        return None
    told = [
        f"Column '{found.sheet.headings[name].text}' was read as the {vocabulary.called(name, 'shipments')}, by what "
        f"your statements and cartons say of the same parcels{_how(name, found)}. If that is wrong, set it with "
        "'auditor columns'."
        for name in sorted(gains)
    ]
    return replace(found, said=(*found.said, *told))


def _has_a_parcel_for_headings(found: Records, by_words: Sheet) -> bool:
    """Whether what was taken for the headings is, by words, one of the parcels: they would be lost with it."""
    numbers = by_words.cells.get("tracking", pd.Series(dtype="str"))
    return bool((numbers == found.sheet.headings["tracking"].text).any())


def _is_proven(name: str, found: Records) -> bool:
    return found.odds[name] >= SURE or (name in found.changed and found.odds[name] > 1)


def _how(name: str, found: Records) -> str:
    told = next((column.why for column in found.sheet.columns if column.field == name and column.why), "")
    return f": {told}" if told else ""


def _differs(name: str, found: Records, by_words: Sheet) -> bool:
    """Whether words have no such column, another one, or the same in another unit or sense."""
    if name in SIDES and "size" in by_words.cells:
        return False
    if name == "tracking":
        return name in found.changed or found.sheet.headings[name].text != by_words.headings[name].text
    if name not in by_words.cells:
        return True
    one, other = found.sheet.headings[name], by_words.headings[name]
    usual = USUAL_UNIT.get(vocabulary.quantity(name))
    return name in found.changed or one.text != other.text or (one.unit or usual) != (other.unit or usual)
