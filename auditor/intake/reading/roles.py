"""What the other columns are: what their cells agree with in their parcels' records, more than in others' records."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from auditor.core.arrays import Masked, Places, Yes
from auditor.core.sides import SIDES
from auditor.core.units import PG_PER_POUND
from auditor.intake import vocabulary
from auditor.intake.best_pairs import best_pairs
from auditor.intake.reading import agreement, measures
from auditor.intake.reading.cells import Column
from auditor.intake.reading.known import Known, Recorded, bare, zone_text
from auditor.intake.reading.tables import Anchors, Table

MOST_HELD = 0.75
"""The same of billed figures, which are what corrections change."""
NEAR_WEIGHT = 0.2
"""A scale reads within a fifth of what was declared, for most."""
SAID = 1e6
"""What the user's word adds: more than all evidence."""
LEAN = 1.5
"""What a known heading adds in log odds: enough where figures say nothing, outvoted where they speak. Chosen."""


@dataclass(frozen=True, eq=False)
class Role:
    """What a column may be: its log odds, the sentence that says why, and the unit or way it is read in."""

    name: str
    odds: float
    said: str
    way: str = ""


@dataclass(frozen=True, eq=False)
class Pairs:
    """One row of a table for each distinct text of a column beside each recorded parcel."""

    rows: Places
    parcels: Places


def roles_of(table: Table, where: Anchors, rows: Yes, known: Known, taken: set[int]) -> dict[int, Role]:
    """The role of each column that has one; no two columns have the same, and a size takes three or one."""
    free = [at for at in range(len(table.columns)) if at not in taken and at != where.at]
    found = {at: list(_roles(table.columns[at], where, rows, known)) for at in free}
    if not any(found.values()):
        return {}
    chosen = _assigned(found)
    sides = {f"billed_{side}" for side in SIDES}
    if len([role for role in chosen.values() if role.name in sides]) < len(sides):
        chosen = _assigned({at: [one for one in them if one.name not in sides] for at, them in found.items()})
    elif any(role.name == "billed_size" for role in chosen.values()):
        chosen = {at: role for at, role in chosen.items() if role.name not in sides}
    return chosen


def _assigned(found: dict[int, list[Role]]) -> dict[int, Role]:
    """Columns and roles for the greatest sum of log odds, none below zero."""
    names = sorted({role.name for roles in found.values() for role in roles if role.odds > 0})
    places = [at for at, roles in found.items() if roles]
    if not names:
        return {}
    best: dict[tuple[int, str], Role] = {}
    for at in places:
        for role in sorted(found[at], key=lambda role: role.odds):
            best[at, role.name] = role
    scores = np.array(
        [[max(best[at, name].odds, 0.0) if (at, name) in best else 0.0 for name in names] for at in places]
    )
    pairs = [(places[row], names[column]) for row, column in best_pairs(scores) if scores[row, column] > 0]
    return {at: best[at, name] for at, name in pairs}


def _roles(column: Column, where: Anchors, rows: Yes, known: Known) -> Iterator[Role]:
    """What a column may be."""
    pairs = _pairs(column, where, rows)
    if len(pairs.rows):
        part = column.take(pairs.rows)
        for roles in (_days, _zones, _services, _orders, _weights, _sides, _sizes):
            for role in roles(part, pairs.parcels, known):
                if column.told == role.name:
                    yield replace(role, odds=role.odds + SAID, said="you said so")
                elif column.may_be():
                    yield role


def plain_roles(column: Column, parcels: Places, known: Known) -> Iterator[Role]:
    """Whether a column, a row for each of those parcels, has their days, zones, services or orders."""
    for roles in (_days, _zones, _services, _orders):
        yield from roles(column, parcels, known)


def _pairs(column: Column, where: Anchors, rows: Yes) -> Pairs:
    at = np.flatnonzero(rows & (where.place >= 0) & column.filled)
    _, first = np.unique(np.column_stack([where.place[at], column.codes[at]]), axis=0, return_index=True)
    return Pairs(at[first], where.place[at][first])


def lean(heading: str, role: str) -> float:
    """What the heading's words add: only where they are known."""
    meant = vocabulary.meaning(heading, "statement") if heading else None
    return LEAN if meant and meant[0] == role else 0.0


def _odds(
    column: Column, role: str, agrees: Callable[[Places], Yes], parcels: Places, expected: float = agreement.MEANT
) -> tuple[float, str]:
    """Log odds of a role by agreement, and the sentence."""
    yes = agrees(parcels)
    chance = agreement.by_chance(agrees, parcels)
    said = f"{int(yes.sum()):,} of {len(yes):,} agree with the parcel's record, {chance:.0%} would by chance"
    return agreement.held(yes, chance, expected) + lean(column.heading, role), said


def _days(column: Column, parcels: Places, known: Known) -> Iterator[Role]:
    days = known.shipments["shipped_on"].to_numpy().astype("datetime64[D]")
    wanted = Masked(days.astype(np.int64), ~np.isnat(days))
    for first in (False, True):
        found = column.days(day_first=first)
        if found.known.mean() < 1 / 2:
            continue
        way = "day first" if first else "month first"
        yield Role("shipped_on", *_odds(column, "shipped_on", _equal(found, wanted), parcels), way)


def _equal(found: Masked, wanted: Masked) -> Callable[[Places], Yes]:
    return lambda parcels: np.asarray(found.known & wanted.known[parcels] & (found.numbers == wanted.numbers[parcels]))


def _same_text(column: Column, recorded: Recorded, plain: Callable[[str], str], name: str) -> Callable[[Places], Yes]:
    found = column.read(lambda text: recorded.code.get(plain(text)), (name, id(recorded)))
    return lambda parcels: np.asarray(found.known & (found.numbers == recorded.codes[parcels]))


def _zones(column: Column, parcels: Places, known: Known) -> Iterator[Role]:
    zones = known.shipments["zone"].nunique()
    if zones and len({zone_text(text) for text in column.used}) <= max(3 * zones, 4):
        yield Role("zone", *_odds(column, "zone", _same_text(column, known.zones, zone_text, "zone"), parcels))


def _orders(column: Column, parcels: Places, known: Known) -> Iterator[Role]:
    if known.shipments["order"].notna().any():
        agrees = _same_text(column, known.own_orders, bare, "order")
        yield Role("order", *_odds(column, "order", agrees, parcels))


def service_map(column: Column, parcels: Places, known: Known) -> dict[str, str]:
    """Text → the recorded service that it stands beside most; only where no two texts mean the same."""
    services, of_row = list(known.services.code), known.services.codes[parcels]
    both = np.flatnonzero(column.filled & (of_row >= 0))
    pairs, first, counts = np.unique(
        column.codes[both] * len(services) + of_row[both], return_index=True, return_counts=True
    )
    counted: Counter[tuple[str, str]] = Counter()
    for at in np.argsort(first):
        text, service = divmod(int(pairs[at]), len(services))
        counted[column.texts[text], services[service]] += int(counts[at])
    found = {text: service for (text, service), _ in reversed(counted.most_common())}
    return found if len(set(found.values())) == len(found) else {}


def _services(column: Column, parcels: Places, known: Known) -> Iterator[Role]:
    services = known.shipments["service"].nunique()
    if not services or len(column.used) > 2 * services + 1:
        return
    meant, recorded = service_map(column, parcels, known), known.services
    exact = {bare(text) for text in column.used} <= {bare(text) for text in recorded.code}
    found = Masked.of(recorded.code.get(meant.get(text, "?")) for text in column.texts)[column.codes]

    def agrees(them: Places) -> Yes:
        return np.asarray(found.known & (found.numbers == recorded.codes[them]))

    odds, said = _odds(column, "service", agrees, parcels)
    if meant or exact:
        yield Role("service", odds + (LEAN if exact else 0.0), said)


def _weights(column: Column, parcels: Places, known: Known) -> Iterator[Role]:
    declared = known.figures["weight_pg"]
    billable = (
        Masked.of_column(known.expected["billable_pg"])
        if len(known.expected)
        else Masked(declared.numbers, declared.known & False)
    )
    rounded = Masked(-(-declared.numbers // PG_PER_POUND) * PG_PER_POUND, declared.known)
    for unit in measures.UNITS["weight"]:
        found = measures.measured(column, unit, "weight")
        if found.known.mean() < 1 / 2:
            continue
        off = measures.half_a_step(column, unit, "weight")
        yield _weight(column, "billed_weight_pg", found, (billable, rounded), off, parcels, unit)
        yield _weight(column, "declared_weight_pg", found, (declared,), off, parcels, unit)
        yield _scale(column, found, declared, parcels, unit)


def _weight(
    column: Column, role: str, found: Masked, wanted: Sequence[Masked], off: Any, parcels: Places, unit: str
) -> Role:
    def agrees(places: Places) -> Yes:
        return np.asarray(np.logical_or.reduce([measures.near(found, one[places], off) for one in wanted]))

    return Role(role, *_odds(column, role, agrees, parcels, MOST_HELD), unit)


def _scale(column: Column, found: Masked, declared: Masked, parcels: Places, unit: str) -> Role:
    def agrees(places: Places) -> Yes:
        wanted = declared[places]
        far = np.abs(found.numbers - wanted.numbers) > NEAR_WEIGHT * wanted.numbers
        return np.asarray(found.known & wanted.known & ~far)

    return Role("measured_weight_pg", *_odds(column, "measured_weight_pg", agrees, parcels, MOST_HELD), unit)


def _sides(column: Column, parcels: Places, known: Known) -> Iterator[Role]:
    for unit in measures.UNITS["length"]:
        found = measures.measured(column, unit, "length")
        if found.known.mean() < 1 / 2:
            continue
        off = measures.half_a_step(column, unit, "length")
        for side in SIDES:
            agrees = _nearly(found, known.figures[side], off)
            yield Role(f"billed_{side}", *_odds(column, f"billed_{side}", agrees, parcels, MOST_HELD), unit)


def _nearly(found: Masked, wanted: Masked, off: Any) -> Callable[[Places], Yes]:
    return lambda parcels: measures.near(found, wanted[parcels], off)


def _sizes(column: Column, parcels: Places, known: Known) -> Iterator[Role]:
    """Three sides in one text."""
    for unit in measures.UNITS["length"]:
        found = [measures.side_of(column, unit, place) for place in range(len(SIDES))]
        if found[0].known.mean() < 1 / 2:
            continue
        off = measures.half_a_step(column, unit, "length")
        wanted = [known.figures[side] for side in SIDES]

        def agrees(places: Places, found: list[Masked] = found, wanted: list[Masked] = wanted, off: Any = off) -> Yes:
            them = [measures.near(one, other[places], off) for one, other in zip(found, wanted, strict=True)]
            return np.asarray(np.logical_and.reduce(them))

        yield Role("billed_size", *_odds(column, "billed_size", agrees, parcels, MOST_HELD), unit)
