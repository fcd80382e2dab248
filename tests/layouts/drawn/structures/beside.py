"""Corrections beside the labels: in columns of their own on the parcel's row, or as amounts before and after."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from tests.layouts.drawn import columns
from tests.layouts.drawn.look import Column, Look
from tests.layouts.drawn.month import CHARGES, CORRECTION, KINDS, LABEL, Event, Line
from tests.layouts.drawn.page import BLANK, Cell, Planted, Sheet, planted


def in_columns(events: Sequence[Event], look: Look) -> Sheet:
    """One row a parcel: a column for each charge of the label, and for each that came later, by what brought it."""
    by_parcel: dict[str, list[Event]] = {}
    for place, event in enumerate(events):
        by_parcel.setdefault(event.about.tracking if event.about else f"account {place}", []).append(event)
    rows = {first.about.tracking if (first := one[0]).about else key: one for key, one in by_parcel.items()}
    merged = [replace(_first(one), lines=tuple(line for event in one for line in event.lines)) for one in rows.values()]
    whole = {id(row): one for row, one in zip(merged, rows.values(), strict=True)}
    there = sorted(
        {(event.kind, line.charge) for event in events for line in event.lines},
        key=lambda pair: (KINDS.index(pair[0]), CHARGES.index(pair[1])),
    )
    charges = [Column("charge", _heading(look, *pair), _of(whole, pair, look)) for pair in there]
    summed = [columns.amount(look, "sum")] if look.whether("row sum") else []
    chosen = [*columns.of_parcel(look), *charges, *summed]
    lines = [Planted(_first(one), line, look.fields) for one in rows.values() for event in one for line in event.lines]
    return Sheet((columns.table(chosen, ((row, None) for row in merged)),), tuple(lines))


def _first(events: Sequence[Event]) -> Event:
    """The label, whose figures stand on the row."""
    return min(events, key=lambda event: KINDS.index(event.kind))


def _heading(look: Look, kind: str, charge: str) -> str:
    plain = kind == LABEL or charge in {"address correction", "correction fee", "pickup service"}
    return look.words[charge] if plain else f"{look.words[charge]} {look.words[f'kind {kind}']}"


def _of(whole: dict[int, list[Event]], pair: tuple[str, str], look: Look) -> Callable[[Event, Line | None], Cell]:
    zero = look.style.money(0) if look.whether("zeros") else BLANK

    def cell(row: Event, _: Line | None) -> Cell:
        found = [line.cents for e in whole[id(row)] for line in e.lines if (e.kind, line.charge) == pair]
        return look.style.money(sum(found)) if found else zero

    return cell


def before_and_after(events: Sequence[Event], look: Look) -> Sheet:
    """The labels' charges in one table; in another each charge that was corrected, before, after and the difference."""
    labels = [event for event in events if event.kind != CORRECTION]
    corrected = [event for event in events if event.kind == CORRECTION]
    first = look.arranged(columns.of_parcel(look), [*columns.of_kind(look), columns.name(look), columns.amount(look)])
    tables = [columns.table(first, columns.each_line(labels), look.words["labels title"])]
    lines = [*planted(labels, look.fields)]
    if corrected:
        fields = tuple(field for field in look.fields if look.whether(f"{field} of corrections"))
        second = [*columns.of_parcel(replace(look, fields=fields)), columns.name(look), *_trio(labels, look)]
        tables.append(columns.table(second, columns.each_line(corrected), look.words["corrections title"]))
        lines += planted(corrected, fields)
    return Sheet(tuple(tables), tuple(lines))


def _trio(labels: Sequence[Event], look: Look) -> list[Column]:
    paid = {
        (event.about.tracking, line.charge): line.cents
        for event in labels
        if event.about and event.kind == LABEL
        for line in event.lines
    }

    def was(event: Event, line: Line | None) -> int:
        return paid.get((event.about.tracking, line.charge), 0) if event.about and line else 0

    return [
        Column("before", look.words["before"], lambda e, line: look.style.money(was(e, line))),
        Column("after", look.words["after"], lambda e, line: look.style.money(was(e, line) + (line or e).cents)),
        columns.amount(look, "difference"),
    ]
