"""`auditor columns`: what a file was understood to be, and how to put that right."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from auditor.cli import charges_told, endings, options, questions, reading_shown
from auditor.cli.charges_told import pairs
from auditor.cli.questions import short
from auditor.cli.terminal import say
from auditor.core.money import dollars

if TYPE_CHECKING:
    from auditor.core.schemas import Problem
    from auditor.intake import Against, Intake, Understood
    from auditor.intake.readings import Reading
    from auditor.intake.recognise import Sheet

WIDEST, LONGEST_SAMPLE, MOST_SHOWN = 28, 24, 20


@click.command("columns", no_args_is_help=True)
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option(
    "--set",
    "corrections",
    multiple=True,
    metavar="HEADING=FIELD",
    help='What a column means; "not read" leaves it out, "charge" makes it a charge of its own, "not residential" says '
    'the opposite, "voided: Storno" that this word of it means cancelled.',
)
@click.option(
    "--charge",
    "charges",
    multiple=True,
    metavar="NAME=CHARGE",
    help='What a charge is, by its name as printed; "other" for one that is none of those with a price of their own.',
)
@click.option(
    "--with",
    "others",
    multiple=True,
    type=click.Path(path_type=Path, exists=True),
    metavar="PATH",
    help="Your records and prices, a file or a folder: FILE is read as 'auditor reconcile' would read it with them.",
)
@options.rules
@click.option("--as", "kind", type=click.Choice(options.KINDS), help="Read the file as that kind.")
@click.option(
    "--picture",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Draw each page of a PDF into that folder, with the rows, columns and totals that were found.",
)
@click.option("--save", is_flag=True, help="Keep this reading for every file of the same headings.")
@options.readings
@options.asking
@click.pass_context
def command(
    ctx: click.Context,
    file: Path,
    corrections: tuple[str, ...],
    charges: tuple[str, ...],
    others: tuple[Path, ...],
    rules: tuple[str, ...],
    kind: str | None,
    readings: Path | None,
    picture: Path | None,
    *,
    save: bool,
    ask: bool,
) -> None:
    r"""Show what each column of FILE was taken for, how surely, and what was skipped.

    Below stand the statement's total held against its lines, and what there is to say. Exits with 1 when FILE could not
    be read or does not tie out.

    \b
    For example:
      auditor columns statement.csv
      auditor columns statement.csv --set "Wgt basis=billed_weight_pg" --save
      auditor columns statement.csv --charge "Route equalisation=fuel" --save
      auditor columns statement.csv --with orders.csv --with prices/
      auditor columns statement.pdf --picture pages
    """
    _refuse_without_pages(file, picture)
    folder = options.readings_folder(readings)
    told = charges_told.told(charges)
    given = pairs(corrections, "--set", "HEADING=FIELD")
    understand = partial(_understood, file, kind, folder, given, _against(others, rules))
    found = understand(told)
    charges_told.refuse_unknown(found, told)
    answers = questions.answered(found.taken.close_calls) if ask and not corrections else []
    if answers:
        found = understand([*answers, *told])
    sheets, taken = found.sheets, found.taken
    _refuse_unknown_headings(found, corrections)
    for sheet in sheets:
        say(*_table(sheet))
    say(*reading_shown.by_evidence(found), *charges_told.table(found))
    ties = list(_totals(taken))
    say(*(reading_shown.proven(found) if others else ()))
    before = _understood(file, kind, folder, {}, _against(others, rules), ()) if corrections or told else found
    say(*reading_shown.worse(found, before), *reading_shown.ignored(found, given))
    say(*(line for line, _ in ties), *map(_in_words, taken.problems))
    say(*(_drawn(file, found, picture) if picture else ()))
    for sheet in sheets if save and (corrections or not told) else ():
        say(f"Saved: {_saved(folder, sheet)}")
    if save and (corrections or not told) and (by_figures := reading_shown.reading(found)):
        say(f"Saved: {questions.saved(folder, by_figures)}")
    say(*(f"Saved: {path}" for path in (charges_told.saved(folder, found, told) if save else ())))
    if answers and not save:
        questions.offer_to_save(answers, folder)
    unread = not (sheets or found.read) or any(problem.unread for problem in taken.problems)
    ctx.exit(1 if unread or any(tied is False for _, tied in ties) else 0)


def _in_words(problem: Problem) -> str:
    kind = "Note" if problem.note else "Problem"
    return f"{kind}: {', '.join(filter(None, (problem.place, problem.message)))}"


def _refuse_without_pages(file: Path, picture: Path | None) -> None:
    with file.open("rb") as opened:
        if picture and b"%PDF" not in opened.read(1024):
            raise click.BadParameter(f"{file} is no PDF, so it has no pages to draw.", param_hint="--picture")


def _drawn(file: Path, found: Understood, folder: Path) -> Iterator[str]:
    """Draw the pages; which files were written, and what was left out."""
    from auditor.intake import TABLES
    from auditor.intake.drawn_pages import draw

    rows = [getattr(found.taken, name) for name in TABLES if name not in {"printed_totals", "reissues"}]
    totals = found.taken.printed_totals
    with endings.writing_to(folder, "The pictures", "--picture"):
        drawn = draw(file, folder, sheets=found.sheets, strange=found.strange, rows=rows, totals=totals)
    if drawn.files:
        others = f" to {drawn.files[-1].name}" if len(drawn.files) > 1 else ""
        yield f"Drawn: {drawn.files[0]}{others}"
    yield from map(_in_words, drawn.problems)


def _against(others: Sequence[Path], rules: Sequence[str]) -> Against:
    """What the file is held against; the rules' names of charges are known without other files too."""
    from auditor.intake import Against
    from auditor.tariff import expecting

    book = options.rulebook_of(rules)
    return Against(others, book.charges, expecting(book))


def _understood(
    file: Path,
    kind: str | None,
    folder: Path,
    corrections: Mapping[str, str],
    against: Against,
    more: Sequence[Reading],
) -> Understood:
    """What the file is understood to be; a correction that cannot be exits with 2."""
    from auditor import intake

    try:
        return intake.understood(
            file, kind=kind, readings=folder, corrections=corrections, answers=more, against=against
        )
    except ValueError as error:
        raise click.BadParameter(f"{error}.", param_hint="--set") from error


def _refuse_unknown_headings(found: Understood, corrections: Sequence[str]) -> None:
    """A correction of a heading that the file does not have would do nothing."""
    there = reading_shown.headings(found)
    for heading in pairs(corrections, "--set", "HEADING=FIELD"):
        if there and heading not in there:
            raise click.BadParameter(
                f"no column is called {heading!r}. There are: {', '.join(there)}.", param_hint="--set"
            )
    for sheet in found.sheets:
        _refuse_unknown_words(sheet)


def _refuse_unknown_words(sheet: Sheet) -> None:
    """A word that no cell of its column has would mean nothing."""
    from auditor.intake.readings import meaning_of

    for at, column in enumerate(sheet.columns):
        words = meaning_of(column.field or "").words
        cells = {row[at].strip() for row in sheet.grid.rows if len(row) > at} - {"", column.heading} if words else ()
        missing = [word for word in words if word.casefold() not in map(str.casefold, cells)]
        if missing:
            listed = ", ".join(sorted(cells)[:MOST_SHOWN])
            message = f"no cell of {column.heading!r} says {missing[0]!r}. There are: {listed}."
            raise click.BadParameter(message, param_hint="--set")


def _table(sheet: Sheet) -> Iterator[str]:
    from auditor.intake.vocabulary import CALLED

    place = str(sheet.places.iloc[0]) if len(sheet.places) else ""
    yield f"{sheet.file}: {CALLED[sheet.kind]}, {len(sheet.places):,} rows from {place} on"
    yield f"  {'column':<{WIDEST}}  {'read as':<{WIDEST}}  score  values"
    for column in sheet.columns:
        samples = " | ".join(short(text, LONGEST_SAMPLE) for text in column.samples)
        heading = short(column.heading or "(no heading)", WIDEST)
        read_as = short(column.field or "–", WIDEST)
        score = f"{column.score:5.2f}" if column.field else "     "
        yield f"  {heading:<{WIDEST}}  {read_as:<{WIDEST}}  {score}  {samples}"
        if column.why:
            yield f"  {'':<{WIDEST}}  {column.why}"
    yield ""


def _totals(taken: Intake) -> Iterator[tuple[str, bool | None]]:
    """Each statement's lines against its printed total: a sentence, and whether they agree (None: none is printed)."""
    printed = taken.printed_totals.drop_duplicates("statement").set_index("statement")["printed_total_cents"]
    for statement, lines in taken.lines.groupby("statement", sort=False):
        total = int(lines["amount_cents"].sum())
        lines_words = f"Statement {statement}: {len(lines):,} lines, {dollars(total)}"
        if statement not in printed.index:
            yield f"{lines_words}; no printed total was found to hold that against.", None
        elif (printed_cents := int(printed[statement])) == total and lines["amount_cents"].notna().all():
            yield f"{lines_words}, ties out to its own total.", True
        else:
            yield f"{lines_words}; it prints {dollars(printed_cents)}, {dollars(total - printed_cents)} apart.", False


def _saved(folder: Path, sheet: Sheet) -> Path:
    from auditor.intake.readings import NOT_READ, Reading, digest

    columns = {column.heading: column.field for column in sheet.columns if column.heading and column.field}
    left_out = {column.heading: NOT_READ for column in sheet.columns if column.left_out}
    layout = digest([column.heading for column in sheet.columns])
    return questions.saved(folder, Reading(sheet.kind, layout, columns | left_out))
