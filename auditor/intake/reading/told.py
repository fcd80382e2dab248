"""What the user said that charges' names mean, kept for their sender: it comes before what amounts and words say."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import pandas as pd

from auditor.core.schemas import Problem
from auditor.intake import vocabulary
from auditor.intake.reading.charges import Named, plain_name
from auditor.intake.readings import OTHER, Reading

MOSTLY = 0.5
"""A sender is known by this share of a statement's names of charges (chosen: months differ in their rarer ones)."""


@dataclass(frozen=True)
class Told:
    """What one statement's names were said to mean: by name as printed a charge, or OTHER; and the readings used."""

    of: Mapping[str, str] = field(default_factory=dict)
    used: tuple[Reading, ...] = ()

    def over(self, named: Named) -> Named:
        """What names mean, with what was said in the place of what was found."""
        of = {text: None if charge == OTHER else charge for text, charge in self.of.items()}
        shown = {text: "own" if charge == OTHER else "told" for text, charge in self.of.items()}
        return Named({**named.of, **of}, {**named.shown, **shown})


def charges_known(*more: Iterable[str]) -> set[str]:
    """What a name can be said to be: the vocabulary's charges, and those of rules and fees."""
    own = {" ".join(name.casefold().split()) for names in more for name in names}
    return {*vocabulary.CHARGES, *vocabulary.FEES, *own}


def told_of(lines: pd.DataFrame, readings: Sequence[Reading], known: Collection[str]) -> dict[str, Told]:
    """By statement what the readings say of its names; nothing of those that they say nothing of.

    Args:
        lines: LINES of however many statements.
        readings: those kept, the first coming before the others.
        known: what a name can be (`charges_known`); anything else is left out.
    """
    ours = [reading for reading in readings if reading.charges]
    names = lines[["statement", "description"]].dropna().drop_duplicates() if ours else lines[:0]
    return {
        str(number): told
        for number, texts in names.groupby("statement", sort=False)["description"]
        if (told := _told([*map(str, texts)], ours, known)).of
    }


def _told(texts: Sequence[str], readings: Sequence[Reading], known: Collection[str]) -> Told:
    names = {text: plain_name(text) for text in texts}
    told = Told()
    for reading in reversed([one for one in readings if is_sender(one, names.values())]):
        said = {plain_name(text): charge for text, charge in reading.charges.items() if charge in {*known, OTHER}}
        of = {text: said[name] for text, name in names.items() if name in said}
        told = Told({**told.of, **of}, (*told.used, reading)) if of else told
    return told


def is_sender(reading: Reading, names: Iterable[str]) -> bool:
    """Whether most of a statement's names of charges, as `plain_name` has them, are those of the reading's sender.

    One without names holds for all: it was given for this time.
    """
    distinct = {*names}
    return not reading.names or len(distinct & {*reading.names}) >= MOSTLY * len(distinct)


def said_of(lines: pd.DataFrame, told: Mapping[str, Told], found: Mapping[str, Named]) -> Iterator[Problem]:
    """A note for each file and reading that was used; and where a name's amounts are those of another charge.

    Args:
        lines: LINES of however many statements.
        told: by statement what was said of its names.
        found: by statement what its names mean by their amounts and words.
    """
    files = lines.drop_duplicates("statement").set_index("statement")["source_file"].astype("str")
    for number, one in told.items():
        if kept := ", ".join(dict.fromkeys(reading.file for reading in one.used if reading.file)):
            words = ", ".join(f"'{text}' as {_called(charge)}" for text, charge in one.of.items())
            message = f"Statement {number}: charges were taken as kept for their sender in {kept}: {words}."
            yield Problem(files[number], "", message, note=True)
        yield from (Problem(files[number], "", message) for message in _denied(one, found.get(number)))


def _denied(told: Told, found: Named | None) -> Iterator[str]:
    """What is said of names that amounts show to be another charge."""
    for text, charge in told.of.items():
        by_amounts = found.of.get(text) if found and found.shown.get(text) == "amounts" else None
        if by_amounts and by_amounts != charge:
            yield (
                f"You said that the charge '{text}' is {_called(charge)}, but its amounts are those of {by_amounts}. "
                "It was taken as you said."
            )


def _called(charge: str) -> str:
    return "a charge of its own" if charge == OTHER else charge


def with_more(reading: Reading, kept: Sequence[Reading]) -> Reading:
    """The reading with what was kept of the same sender before, in the same file."""
    before = next((one for one in kept if one.charges and is_sender(one, reading.names)), None)
    if before is None:
        return reading
    names = tuple(sorted({*before.names, *reading.names}))
    return replace(reading, file=before.file, charges={**before.charges, **reading.charges}, names=names)
