"""What charges are: a table of a file's names of charges, and what the user says of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from auditor.cli import questions
from auditor.cli.questions import short
from auditor.core.money import dollars

if TYPE_CHECKING:
    import pandas as pd

    from auditor.intake import Understood
    from auditor.intake.readings import Reading

WIDEST, MOST_SHOWN = 28, 40
SHOWN_BY = {
    "told": "you said so",
    "own": "of its own, you said so",
    "amounts": "by its amounts",
    "word": "by its name",
    "likeness": "by a like name",
    "nothing": "not clear",
}


def pairs(texts: Sequence[str], option: str, form: str) -> dict[str, str]:
    """What stands before and behind the last '=' of each text; one that is not of that form exits with 2."""
    found = {}
    for text in texts:
        name, equals, meant = text.rpartition("=")
        if not equals or not name.strip() or not meant.strip():
            raise click.BadParameter(f"{text!r} is not {form}.", param_hint=option)
        found[" ".join(name.split())] = " ".join(meant.split())
    return found


def told(texts: Sequence[str]) -> list[Reading]:
    """What the user says that names of charges mean, for this time; nothing where that is nothing."""
    from auditor.intake.readings import Reading

    said = pairs(texts, "--charge", "NAME=CHARGE")
    charges = {name: charge.casefold() for name, charge in said.items()}
    return [Reading("statement", "", {}, charges=charges)] if charges else []


def refuse_unknown(found: Understood, said: Sequence[Reading]) -> None:
    """A name that the file does not have, or a charge that nobody knows, exits with 2 and the list of those known."""
    from auditor.intake.reading.charges import plain_name
    from auditor.intake.readings import OTHER

    there = [str(text) for text in found.taken.lines["description"].dropna().unique()]
    for name, charge in [pair for reading in said for pair in reading.charges.items()]:
        if plain_name(name) not in map(plain_name, there):
            listed = ", ".join(there[:MOST_SHOWN]) or "none"
            raise click.BadParameter(f"no charge is called {name!r}. There are: {listed}.", param_hint="--charge")
        if charge not in {*found.charges, OTHER}:
            known = ", ".join(sorted(found.charges))
            message = f"{charge!r} is no known charge. Known are {known}; {OTHER!r} for one that is none of these."
            raise click.BadParameter(message, param_hint="--charge")


def table(found: Understood) -> Iterator[str]:
    """Each name of a charge in the file: what it was taken for, its lines, what they come to, how that was told."""
    lines = found.taken.lines
    if lines["description"].notna().any():
        yield f"  {'charge':<{WIDEST}}  {'taken for':<{WIDEST}}  lines       amount"
    shown = {text: how for names in found.taken.names.values() for text, how in names.shown.items()}
    groups = list(lines.groupby("description", sort=False))
    yield from (_row(str(text), ours, shown) for text, ours in groups[:MOST_SHOWN])
    if more := groups[MOST_SHOWN:]:
        yield f"  {len(more):,} more names of charges."
    yield from [""] if groups else []


def _row(text: str, lines: pd.DataFrame, shown: Mapping[str, str]) -> str:
    taken = lines["charge"].dropna()
    charge = short(str(taken.iloc[0]), WIDEST) if len(taken) else "–"
    how = f"  {SHOWN_BY[shown[text]]}" if text in shown else ""
    cents = dollars(int(lines["amount_cents"].sum()))
    return f"  {short(text, WIDEST):<{WIDEST}}  {charge:<{WIDEST}}  {len(lines):>5,}  {cents:>11}{how}"


def saved(folder: Path, found: Understood, said: Sequence[Reading]) -> Iterator[Path]:
    """Keep what was said for the sender, beside what was kept of it before."""
    from auditor.intake import readings
    from auditor.intake.reading.charges import plain_name
    from auditor.intake.reading.told import with_more

    names = tuple(sorted({plain_name(str(text)) for text in found.taken.lines["description"].dropna().unique()}))
    kept, _ = readings.saved(folder)
    for one in said:
        sender = readings.Reading("statement", "", {}, charges=one.charges, names=names)
        yield questions.saved(folder, with_more(sender, kept))
