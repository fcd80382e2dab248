"""Weights and sizes in records: by what was billed for the same parcels, and by what cartons usually weigh."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import combinations

import numpy as np

from auditor.core.arrays import Masked, Places, Yes
from auditor.core.sides import SIDES
from auditor.core.units import NM_PER_INCH, PG_PER_OUNCE, PG_PER_POUND
from auditor.intake import evidence, parsing
from auditor.intake.reading import agreement, measures
from auditor.intake.reading.carton_list import plain
from auditor.intake.reading.cells import Column, of_texts
from auditor.intake.reading.record_scene import HELD, OF_ZERO, SHAPE, SURE, Chosen, One, Scene
from auditor.intake.reading.roles import NEAR_WEIGHT

OUNCES = 16


def usual(scene: Scene, carton: int | None) -> Masked:
    """The usual weight of each row's carton, where a list of cartons has it."""
    names = scene.columns[carton].text() if carton is not None else [""] * len(scene.places)
    return Masked.of(scene.usual.get(plain(str(name))) for name in names)


def _odds_of_weight(found: Masked, scene: Scene, weighs: Masked) -> float:
    """How far weights come, rounded up, to what was billed, and to what cartons usually weigh; beyond chance."""
    rows = np.flatnonzero((scene.places >= 0) & found.known)
    if not len(rows):
        return 0.0
    wanted = scene.billed.known.figures["weight_pg"]
    rounded = -(-found.numbers[rows] // PG_PER_POUND) * PG_PER_POUND

    def agrees(places: Places) -> Yes:
        return np.asarray(wanted.known[places] & (np.abs(rounded - wanted.numbers[places]) < PG_PER_OUNCE))

    odds = agreement.counted(agrees(scene.places[rows]), agreement.by_chance(agrees, scene.places[rows]))
    return odds + _near_usual(found, weighs)


def _near_usual(found: Masked, weighs: Masked) -> float:
    rows = np.flatnonzero(found.known & weighs.known)
    if not len(rows):
        return 0.0

    def agrees(of: Places) -> Yes:
        wanted = weighs.numbers[of]
        return np.asarray(np.abs(found.numbers[rows] - wanted) <= NEAR_WEIGHT * wanted)

    return agreement.counted(agrees(rows), agreement.by_chance(agrees, rows))


def weights(scene: Scene, at: int, weighs: Masked) -> Iterator[One]:
    """The column as the parcels' weights, in each unit that it may be in."""
    column, named = scene.columns[at], scene.unit("weight_pg", at)
    shape = SHAPE if _all(column, lambda text: not parsing.is_bare(text, "weight")) else 0.0
    for unit in [named] if named else measures.UNITS["weight"]:
        found = measures.measured(column, unit, "weight")
        if column.filled.any() and found.known[column.filled].mean() > HELD:
            odds = _odds_of_weight(found, scene, weighs) + shape
            yield One("weight_pg", at, odds, named or (None if shape else unit if odds > SURE else None))


def _all(column: Column, holds: Callable[[str], bool]) -> bool:
    return bool(column.used) and all(map(holds, column.used))


def pounds_and_ounces(scene: Scene, singles: Sequence[One], free: Sequence[int]) -> Chosen | None:
    """Two columns of whole figures that are one weight: as headings say, or as they come to the billed ones together.

    Neither is anything else, nor another column a weight, for which as much speaks.
    """
    whole = [at for at in free if _all(scene.columns[at], _is_small_number)]
    few = [at for at in whole if _all(scene.columns[at], lambda text: int(text) < OUNCES)]
    ways = [way for one in whole for other in few if one != other and (way := _both(scene, one, other))]
    best = max(ways, key=lambda way: way.odds, default=None)
    if best is None:
        return None
    rivals = [one for one in singles if one.field == "weight_pg" or one.at in best.at]
    most = max((one.odds for one in rivals if one.field != "weight_pg" or one.at not in best.at), default=0.0)
    return best if best.odds > most else None


def _is_small_number(text: str) -> bool:
    return text.isdigit() and len(text) <= 3  # noqa: PLR2004 - hundreds of pounds


def _both(scene: Scene, one: int, other: int) -> Chosen | None:
    pounds, ounces = scene.columns[one], scene.columns[other]
    texts = tuple(
        " ".join(f"{text} {unit}" for text, unit in zip(pair, ("lb", "oz"), strict=True) if text)
        for pair in zip(pounds.text(), ounces.text(), strict=True)
    )
    none = Masked.of([None] * len(texts))
    whole = _odds_of_weight(measures.measured(of_texts(texts, one), "lb", "weight"), scene, none)
    alone = _odds_of_weight(measures.measured(pounds, "lb", "weight"), scene, none)
    by_words = (scene.unit("weight_pg", one), scene.unit("weight_pg", other)) == ("lb", "oz")
    odds = whole - alone + (2 * SURE if by_words else 0.0)
    said = "pounds and ounces together are one weight"
    return Chosen(texts, (one, other), None, odds, said, changed=True) if odds > SURE else None


def size(scene: Scene) -> tuple[str, Chosen] | None:
    """Three sides, in one text or in three columns, by what was billed; None where that says nothing."""
    found: list[tuple[str, Chosen]] = []
    for at, column in enumerate(scene.columns):
        if at != scene.number and len(column.used) and _share(column, evidence.LOOKS["size"]) > HELD:
            named = scene.unit("size", at)
            bare = _all(column, lambda text: parsing.is_bare(text, "length"))
            for unit in [named] if named else ("in", "cm", "mm"):
                sides = [measures.side_of(column, unit, nth) for nth in range(len(SIDES))]
                odds = _odds_of_sides(sides, scene) + SHAPE + scene.named("size", at) - scene.named("packed_size", at)
                unit_told = unit if named or (bare and odds > 2 * SHAPE) else None
                found.append(("size", Chosen(tuple(column.text()), (at,), unit_told, odds)))
    found += _three(scene)
    best = max(found, key=lambda one: one[1].odds, default=None)
    return best if best and best[1].odds > 0 else None


def _three(scene: Scene) -> Iterator[tuple[str, Chosen]]:
    """Three columns of lengths that are the billed sides, in whatever order."""
    rows = np.flatnonzero(scene.places >= 0)
    bare = [at for at, column in enumerate(scene.columns) if at != scene.number and _share(column, _is_length) > HELD]
    for unit in ("in", "cm", "mm") if len(rows) else ():
        read = {at: measures.measured(scene.columns[at], unit, "length") for at in bare}
        near = [at for at in bare if _is_any_side(read[at], scene, rows)]
        for three in combinations(near, len(SIDES)):
            if any((named := scene.unit("length_nm", at)) and named != unit for at in three):
                continue
            columns = np.sort(np.vstack([read[at].numbers for at in three]), axis=0)[::-1]
            known = np.logical_and.reduce([read[at].known for at in three])
            odds = _odds_of_sides([Masked(side, known) for side in columns], scene)
            yield "sides", Chosen((), three, unit, odds - OF_ZERO * (three[-1] - three[0]))


def _is_length(text: str) -> bool:
    return evidence.LOOKS["length"](text) and not evidence.LOOKS["day"](text)


def _share(column: Column, holds: Callable[[str], bool]) -> float:
    """Of the cells that are filled, however often each text stands there: one slip spoils no column."""
    return float(column.where(holds)[column.filled].mean()) if column.used else 0.0


def _billed_sides(scene: Scene) -> list[Masked]:
    return [scene.billed.known.figures[side] for side in SIDES]


def _is_any_side(found: Masked, scene: Scene, rows: Places) -> bool:
    """Whether a column is as often as not one of the billed sides."""
    part, at = found[rows], scene.places[rows]
    near = [one.known[at] & (np.abs(part.numbers - one.numbers[at]) < NM_PER_INCH) for one in _billed_sides(scene)]
    return bool((np.logical_or.reduce(near) & part.known).mean() > 1 / 2)


def _odds_of_sides(sides: Sequence[Masked], scene: Scene) -> float:
    """How far sides are those billed, which carriers round to whole inches; beyond chance."""
    rows = np.flatnonzero((scene.places >= 0) & sides[0].known)
    if not len(rows):
        return 0.0
    wanted = _billed_sides(scene)

    def agrees(places: Places) -> Yes:
        near = [
            two.known[places] & (np.abs(one.numbers[rows] - two.numbers[places]) < NM_PER_INCH)
            for one, two in zip(sides, wanted, strict=True)
        ]
        return np.asarray(np.logical_and.reduce(near))

    return agreement.counted(agrees(scene.places[rows]), agreement.by_chance(agrees, scene.places[rows]))
