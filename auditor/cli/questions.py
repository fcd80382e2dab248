"""Questions at a terminal about columns that could mean two things; nothing is asked anywhere else."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from auditor.cli.terminal import agreed, asked, at_terminal, say
from auditor.core.characters import harmless

if TYPE_CHECKING:
    from auditor.intake.headings import CloseCall, Meaning
    from auditor.intake.readings import Reading

KEEP = "keep"
MOST_ASKED = 10
LONGEST_SAMPLE, LONGEST_HEADING = 24, 40


def answered(close_calls: Sequence[CloseCall]) -> list[Reading]:
    """Ask about close calls, once a layout; the readings that the answers make, none where there is no terminal."""
    open_ = list(_worth_asking(close_calls))
    if not open_ or not at_terminal():
        return []
    from auditor.intake.readings import Reading, digest

    columns: dict[tuple[str, str], dict[str, str]] = {}
    for call in open_[:MOST_ASKED]:
        known = columns.setdefault((call.kind, digest(call.headings)), {})
        if not _settled(call, known):
            meant = _asked(call)
            known[meant.heading] = meant.field
    if more := open_[MOST_ASKED:]:
        say(f"{len(more)} more such questions are left to the notes below.", err=True)
    return [Reading(kind, layout, known) for (kind, layout), known in columns.items()]


def _worth_asking(close_calls: Sequence[CloseCall]) -> Iterator[CloseCall]:
    """Those that an answer can settle, once for all files of one layout."""
    seen = set()
    for call in close_calls:
        key = (call.headings, call.taken.heading, call.taken.field, call.other.heading, call.other.field)
        if call.open and key not in seen:
            seen.add(key)
            yield call


def _settled(call: CloseCall, known: dict[str, str]) -> bool:
    """Whether an answer to an earlier question changed one of the two columns, or gave one of the two fields away."""
    taken, other = call.taken, call.other
    changed = {heading: name for heading, name in known.items() if (heading, name) != (taken.heading, taken.field)}
    return bool({taken.heading, other.heading} & changed.keys() or {taken.field, other.field} & {*changed.values()})


def _asked(call: CloseCall) -> Meaning:
    say(*_question(call), err=True)
    choice = asked(f"Type 1 or 2, or '{KEEP}' to leave it as it is", ("1", "2", KEEP), KEEP)
    return call.other if choice == "2" else call.taken


def _question(call: CloseCall) -> Iterator[str]:
    from auditor.intake.vocabulary import KINDS, called

    taken, other = call.taken, call.other
    this, another = (called(meaning.field, call.kind) for meaning in (taken, other))
    yield ""
    file = short(call.file, LONGEST_HEADING)
    if taken.heading == other.heading:
        yield f"{file}: what does column '{short(taken.heading, LONGEST_HEADING)}' of {KINDS[call.kind]} say?"
        yield f"  Some of its values: {_values(taken)}"
        yield f"  1  the {this} (so it was read)"
        yield f"  2  the {another}"
        return
    yield f"{file}: which column of {KINDS[call.kind]} is the {this}?"
    yield f"  1  '{short(taken.heading, LONGEST_HEADING)}' (so it was read): {_values(taken)}"
    yield f"  2  '{short(other.heading, LONGEST_HEADING)}': {_values(other)}"


def _values(meaning: Meaning) -> str:
    return " | ".join(short(text, LONGEST_SAMPLE) for text in meaning.samples) or "none"


def answered_and_kept(close_calls: Sequence[CloseCall], folder: Path) -> list[Reading]:
    """`answered`; and the answers are saved in the folder if they are to hold from now on."""
    answers = answered(close_calls)
    if answers:
        offer_to_save(answers, folder)
    return answers


def offer_to_save(answers: Sequence[Reading], folder: Path) -> None:
    """Ask whether the answers are to hold from now on; they are written only then."""
    if agreed("Keep these answers for every file with the same headings?"):
        for reading in answers:
            say(f"Saved: {saved(folder, reading)}", err=True)


def saved(folder: Path, reading: Reading) -> Path:
    """Keep a reading; wrong use is said in a sentence."""
    from auditor.intake.readings import save

    try:
        return save(folder, reading)
    except OSError as error:
        raise click.UsageError(
            f"The reading cannot be saved in {folder}: {error.strerror}. Choose --readings."
        ) from error


def short(text: str, most: int) -> str:
    """Harmless, and cut where it is long."""
    plain = harmless(text)
    return plain if len(plain) <= most else f"{plain[: most - 1]}…"
