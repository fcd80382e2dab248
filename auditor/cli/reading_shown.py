"""How a statement was read, for `auditor columns`: columns by evidence, proof, some lines, the next best reading."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from auditor.cli.questions import short
from auditor.core.money import dollars

if TYPE_CHECKING:
    from auditor.intake import Understood
    from auditor.intake.readings import Reading

WIDEST, SOME = 28, 5


def by_evidence(found: Understood) -> Iterator[str]:
    """Each column that has a heading with what figures showed it to be; nothing where words told it."""
    if found.read is None or found.read.of_words:
        return
    yield f"{found.taken.lines['source_file'].iloc[0]}: a statement, read by its figures"
    yield f"  {'column':<{WIDEST}}  {'read as':<{WIDEST}}  why"
    for column in dict.fromkeys(column for one in found.read.interpreted for column in one.columns if column.heading):
        role = short(column.role or "–", WIDEST)
        yield f"  {short(column.heading, WIDEST):<{WIDEST}}  {role:<{WIDEST}}  {'; '.join(column.evidence)}".rstrip()
    yield ""


def headings(found: Understood) -> list[str]:
    """The headings of all columns, however they were read."""
    by_words = [column.heading for sheet in found.sheets for column in sheet.columns]
    read = [column.heading for one in (found.read.interpreted if found.read else ()) for column in one.columns]
    return [heading for heading in dict.fromkeys([*by_words, *read]) if heading]


def proven(found: Understood) -> Iterator[str]:
    """What proves each statement and how far, some of its lines, and the next best reading."""
    for number, proof in found.taken.proofs.items():
        yield f"Reading of {number}: {proof.grade}; {proof.sentence}."
    lines = found.taken.lines.head(SOME)
    for line in lines[["tracking", "description", "amount_cents"]].astype(object).itertuples(index=False):
        of, name, cents = (None if value != value else value for value in line)  # noqa: PLR0124 - what is missing
        amount = "not read" if cents is None else dollars(int(cents))
        yield f"  {of or 'about no parcel':<{WIDEST}}  {short(name or '–', WIDEST):<{WIDEST}}  {amount:>11}"
    if found.read is not None and found.read.other:
        yield f"Next best reading: {found.read.other}."


def worse(found: Understood, before: Understood) -> Iterator[str]:
    """That what was said makes a statement's proof worse, where it does."""
    now, was = ([*one.taken.proofs.values()] for one in (found, before))
    if sum(one.odds for one in now) < sum(one.odds for one in was):
        yield (
            "What you said makes the reading less proven. Before: "
            f"{'; '.join(f'{one.grade}, {one.sentence}' for one in was)}. Look at it again before you keep it."
        )


def ignored(found: Understood, said: Mapping[str, str]) -> Iterator[str]:
    """Which columns are otherwise than was said, as nothing could be read so."""
    from auditor.intake.readings import NOT_READ, current, meaning_of

    by_words = [column for sheet in found.sheets for column in sheet.columns]
    read = {column.heading: None if column.left_out else column.field for column in by_words}
    read |= {
        one.heading: one.role
        for each in (found.read.interpreted if found.read else ())
        for one in each.columns
        if found.read and not found.read.of_words
    }
    for heading, name in said.items():
        wanted = None if name == NOT_READ else meaning_of(str(current(name))).field
        has = read.get(heading)
        if heading in read and (meaning_of(has).field if has else None) != wanted:
            yield f"Column '{heading}' could not be read as {name}: nothing could be read so. It is {has or NOT_READ}."


def reading(found: Understood) -> Reading | None:
    """What was read by evidence, to be kept: the columns that have a heading; None where words told them."""
    from auditor.intake.reading.told_columns import layout_of, told_in
    from auditor.intake.readings import Reading, fields_of

    if found.read is None or found.read.of_words:
        return None
    fields = fields_of("statement")
    columns = [column for one in found.read.interpreted for column in one.columns if column.heading]
    meant = {column.heading: column.role for column in columns if column.role in fields}
    grid = max(found.grids, key=lambda grid: len(grid.rows))
    told = told_in(grid, found.readings)
    return Reading("statement", layout_of(grid, [*meant, *told]), {**meant, **told})
