"""The run with a book: files are taken in, all months are reckoned together, and what comes of it is written down.

taken      each file given → the book, unless it is there already
reckoned   findings → disputes opened, changed and credited, and each statement's balance
shown      the Audit of the statements given in this run, from the Audit of everything
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from datetime import date, datetime
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from auditor import intake
from auditor.audit import Audit, audited
from auditor.book.ledger import Book, BookError, closing, opened, reading_out, recording
from auditor.book.ledger.check import Health, check
from auditor.book.ledger.documents import digest_of, ending_of, keep
from auditor.book.ledger.opening import plainly
from auditor.book.ledger.reading_out import Filed
from auditor.book.ledger.recording import ChangedMeanwhileError, Reckoned
from auditor.book.ledger.taking_in import Document, take_in
from auditor.core import progress
from auditor.core.money import dollars
from auditor.core.schemas import EVENTS, LINES, Problem, conform, joined, looked_up, rows
from auditor.disputes import life
from auditor.intake.files import base_name
from auditor.intake.headings import CloseCall
from auditor.intake.readings import Reading
from auditor.match import bare
from auditor.tariff import Rulebook
from auditor.tariff import opened as rules_opened

KEY = ["statement", "about"]
TRIES = 5
"""So often is everything reckoned again because another run wrote to the book meanwhile."""

PHOTOGRAPH = "photograph"
"""What a picture was read by that is a photograph taken at packing, and so was not read."""


@dataclass(frozen=True)
class Booked:
    """What a run with a book gave.

    `audit`: of the statements given in this run, by what the whole book knows. `disputes`: all of the book
    (`tables.DISPUTES`). `corrections`: what later documents changed of closed months (`tables.CORRECTIONS`). `kept`: in
    words, what was taken in; "" for nothing.
    """

    audit: Audit
    disputes: pd.DataFrame
    corrections: pd.DataFrame
    kept: str = ""


def reconcile(
    paths: Sequence[str | Path],
    *,
    book: Path,
    rules: str | Path | Mapping[str, str | Path] = "us-ground-common",
    given: Mapping[str, Sequence[Path]] | None = None,
    readings: Path | None = None,
    today: date | None = None,
    answer: Callable[[Sequence[CloseCall]], Sequence[Reading]] | None = None,
) -> Booked:
    """Take files into the book, and account for every line of their statements by all that the book knows.

    Args:
        paths: files and folders; none for all that is in the book.
        book: the book's file, made where there is none.
        rules: as in `auditor.reconcile`.
        given: as in `auditor.reconcile`.
        readings: as in `auditor.reconcile`.
        today: the day of the run, put down beside what happened; the clock's by default.
        answer: asked about the close calls between the columns of each new file; its readings hold for that file.

    Raises:
        auditor.tariff.RuleError: the rules cannot be used.
        auditor.book.BookError: the book cannot be used.
        intake.NothingReadError: of the paths nothing could be read; no book is made then, nor is one changed.
    """
    rulebook = rules_opened(rules)
    files, problems = intake.gathered_files([Path(path) for path in paths], given=given, readings=readings)
    parts = {} if book.exists() or not paths else _until_something_is_read(files, problems)
    with opened(book) as held, _telling_what_is_kept(held) as kept:
        digests, told = _taken(held, files, answer or (lambda _: ()), parts)
        if paths and not digests:
            raise intake.NothingReadError([*problems, *told])
        recording.note_rules(held, _used(rules, rulebook))
        for left in reversed(range(TRIES)):
            try:
                chosen = digests if paths else None
                audit = _reckoned_together(
                    held, rulebook, chosen, [*problems, *told], today or datetime.now().astimezone().date()
                )
                break
            except ChangedMeanwhileError:
                if not left:
                    raise
        return Booked(audit, disputes(held), closing.corrections(held), kept())


def _until_something_is_read(files: Sequence[intake.File], problems: Sequence[Problem]) -> dict[Path, intake.Part]:
    """What files give, by path, up to the first that gives anything, so that no book is made for nothing."""
    parts: dict[Path, intake.Part] = {}
    for file in sorted(files, key=intake.is_picture):
        parts[file.path] = intake.part_of(file)
        if parts[file.path].tables:
            return parts
    raise intake.NothingReadError([*problems, *(problem for part in parts.values() for problem in part.problems)])


@contextmanager
def _telling_what_is_kept(book: Book) -> Iterator[Callable[[], str]]:
    """What ends the run has a note beside it of what the book has taken in by then, which is given, too."""
    before = _count(book)

    def kept() -> str:
        taken = _count(book) - before
        files = "1 file was" if taken == 1 else f"{taken:,} files were"
        return f"{files} taken into the book {book.path}; it is whole, and your own files are as they were."

    try:
        yield lambda: kept() if _count(book) > before else ""
    except BaseException as error:
        with suppress(BookError, sqlite3.Error):
            if _count(book) > before:
                error.add_note(kept())
        raise


def _count(book: Book) -> int:
    with book.reading() as connection:
        return int(connection.execute("SELECT count(*) FROM file").fetchone()[0])


def _used(rules: str | Path | Mapping[str, str | Path], rulebook: Rulebook) -> list[tuple[str, str, Path | None]]:
    """The tariffs used, with the file of each that is the shop's own."""
    chosen = rules if isinstance(rules, Mapping) else {"": rules}
    own = {rulebook.of(service).name: Path(name) for service, name in chosen.items() if Path(name).is_file()}
    return [(tariff.name, tariff.version, own.get(tariff.name)) for tariff in rulebook.tariffs]


def disputes(book: Book) -> pd.DataFrame:
    """Every dispute as it stands, with the finding it is about (`tables.DISPUTES`)."""
    with book.reading() as connection:
        stands = life.standing(recording.history(connection)).set_index(KEY)
    table = recording.disputes(book).set_index(KEY)
    for column in ("opened_on", "sent_on", "reference", "note"):
        table[column] = stands[column].reindex(table.index)
    return table.reset_index()


def _taken(
    book: Book,
    files: Sequence[intake.File],
    answer: Callable[[Sequence[CloseCall]], Sequence[Reading]],
    parts: Mapping[Path, intake.Part],
) -> tuple[list[str], list[Problem]]:
    """Take each file in that is not there yet, photographs last; the digests of all, and what was not taken in.

    `parts` are what some of them give, where that was read already.
    """
    known = {one.digest: one for one in reading_out.files(book)}
    digests: list[str] = []
    problems: list[Problem] = []
    for file in progress.each(sorted(files, key=intake.is_picture), intake.turn_of):
        try:
            digest = digest_of(file.path)
        except OSError:
            problems += intake.part_of(file).problems
            continue
        before = known.get(digest)
        if before:
            file = replace(file, kind=file.kind or before.kind)  # noqa: PLW2901 - read as the user said the last time
            problems += _told_again(file, before)
        part, reading = _read(book, file, before, parts.get(file.path))
        if part and part.close_calls and (answers := answer(part.close_calls)):
            part = intake.part_of(replace(file, readings=(*answers, *file.readings)))
        if part is None:
            with plainly(book.path):
                keep(book.documents, file.path, digest, ending_of(before.name if before else file.name))
        elif part.tables or reading == PHOTOGRAPH:
            take_in(book, _document(file, digest, part, reading), intake.TABLES)
        else:
            problems += part.problems
            continue
        digests.append(digest)
    return digests, problems


def _read(
    book: Book, file: intake.File, before: Filed | None, part: intake.Part | None
) -> tuple[intake.Part | None, str]:
    """What a file gives, and by what it was read; None when the book has just that already."""
    if intake.is_picture(file):
        with book.reading() as connection:
            query = "SELECT photo FROM shipments WHERE photo IS NOT NULL"
            photos = {base_name(name) for (name,) in connection.execute(query)}
        if base_name(file.name) in photos:
            is_new = before is None
            return (intake.Part(file.name, picture=True) if is_new else None), PHOTOGRAPH
    reading = _reading_of(file)
    return (None if before and before.reading == reading else part or intake.part_of(file)), reading


def _reading_of(file: intake.File) -> str:
    """What decides how a file is read: what the user said of it, the saved readings, and this program's version."""
    saved = sorted((one.kind, one.layout, sorted(one.columns.items())) for one in file.readings)
    by = json.dumps([file.kind, saved, version("auditor")])
    return hashlib.sha256(by.encode()).hexdigest()[:16]


def _document(file: intake.File, digest: str, part: intake.Part, reading: str) -> Document:
    layouts = [
        (sheet.kind, {column.heading: column.field or "" for column in sheet.columns if column.heading})
        for sheet in part.sheets
    ]
    return Document(file.name, file.path, digest, file.kind, part.picture, reading, part.tables, part.problems, layouts)


def _told_again(file: intake.File, before: Filed) -> Iterator[Problem]:
    if before.set_aside is not None:
        message = (
            f"This file was set aside in the book ({before.set_aside or 'no reason was given'}), so it is not counted. "
            f"To count it again: auditor book take-back '{before.name}'."
        )
        yield Problem(before.name, "", message, note=True)
    elif base_name(before.own_name) != base_name(file.name):
        message = f"This file is in the book already, as {before.name}, byte for byte. It was counted once."
        yield Problem(file.name, "", message, note=True)


@dataclass(frozen=True)
class Mark:
    """What is to be marked of disputes: `what` of tables.HAPPENINGS, the day, and what the carrier wrote."""

    what: str
    on: date
    amount_cents: int | None = None
    reference: str | None = None
    note: str | None = None


def mark(
    book: Book, names: Sequence[str], how: Mark, *, today: date, statement: str | None = None
) -> list[dict[str, Any]]:
    """Mark disputes, all of those named or none; how they stand afterwards, a row of life.STANDING each.

    Args:
        book: the book.
        names: parcels' numbers as billed or recorded, or what a dispute about no parcel is called.
        how: what happened.
        today: the day of the run.
        statement: its number, where a parcel is disputed on several.

    Raises:
        life.ClaimError: there is no such dispute, or it cannot be marked so.
    """
    with book.writing() as connection:
        events, found = recording.history(connection), recording.findings(connection)
        stands = life.standing(events)
        chosen = [_chosen(name, statement, stands, found) for name in names]
        details = {"amount_cents": how.amount_cents, "reference": how.reference, "note": how.note}
        new = [life.marked(one, how.what, how.on, today=today, **details) for one in chosen]  # type: ignore[arg-type]
        after = life.standing(life.added(events, *new))
        recording.write_disputes(connection, life.added(*new), after)
    wanted = {(one["statement"], one["about"]) for one in chosen}
    return [one for one in rows(after) if (one["statement"], one["about"]) in wanted]


def _chosen(name: str, statement: str | None, stands: pd.DataFrame, found: pd.DataFrame) -> dict[str, Any]:
    """The dispute that is meant: of several, the one that is still open."""
    mine = stands[_called(name, stands, found)]
    mine = mine[mine["statement"] == statement] if statement else mine
    open_ = mine[mine["open_cents"] > 0]
    one = open_ if len(mine) > 1 and len(open_) == 1 else mine
    if one.empty:
        where = f" on statement {statement}" if statement else ""
        raise life.ClaimError(f"There is no dispute about {name}{where}. 'auditor disputes' lists all.")
    if len(one) > 1:
        several = ", ".join(sorted(one["statement"]))
        raise life.ClaimError(f"{name} is disputed on several statements: {several}. Name one with --statement.")
    return rows(one)[0]


def history_of(book: Book, name: str) -> pd.DataFrame:
    """All that happened to the disputes of that name (EVENTS), in order."""
    with book.reading() as connection:
        events, found = recording.history(connection), recording.findings(connection)
    mine = events[_called(name, events, found)]
    if mine.empty:
        raise life.ClaimError(f"There is no dispute about {name}. 'auditor disputes' lists all.")
    return mine


def checked(book: Book) -> Health:
    """`book.check`, and whether each dispute stands as its history says."""
    health = check(book)
    if health.damaged:
        return health
    with book.reading() as connection:
        stands = life.standing(recording.history(connection))
        written = reading_out.table(connection, "SELECT * FROM dispute", recording.BALANCE)
    columns = [column.name for column in recording.BALANCE]
    both = written.merge(stands[columns], on=columns, how="outer", indicator=True)
    apart = both[both["_merge"] != "both"].drop_duplicates(KEY)
    faults = [
        f"the dispute about {one['about']} on statement {one['statement']} does not stand as its history says"
        for one in rows(apart)
    ]
    return replace(health, faults=(*health.faults, *faults))


def parts_of(book: Book) -> list[tuple[Filed, intake.Part]]:
    """What each file in the book gave, but for those set aside."""
    filed = [one for one in reading_out.files(book) if one.set_aside is None]
    with book.reading() as connection:
        return [
            (
                one,
                intake.Part(
                    one.name,
                    reading_out.tables(connection, one, intake.TABLES),
                    tuple(reading_out.problems(connection, one)),
                    one.picture,
                ),
            )
            for one in progress.each(filed, "Taking files out of the book")
        ]


def _reckoned_together(
    book: Book, rulebook: Rulebook, digests: Sequence[str] | None, problems: Sequence[Problem], today: date
) -> Audit:
    """Reckon all that is in the book, write down what comes of it, and give the Audit of the files of those digests.

    None stands for all files.
    """
    changes = book.changes
    held = parts_of(book)
    taken = intake.together([part for _, part in held], charges=rulebook.charges, problems=problems)
    whole = audited(taken, rulebook)
    chosen = {one.name for one, _ in held if digests is None or one.digest in digests}
    instead = rows(taken.replaced[taken.replaced["source_file"].isin(chosen)])
    chosen |= {str(one["by_file"]) for one in instead}
    statements = {
        str(name)
        for one, part in held
        if one.name in chosen and "lines" in part.tables
        for name in part.tables["lines"]["statement"].unique()
    }
    before_it = _lines_replaced([part for _, part in held], taken.replaced)
    files = {one.name: one.file for one, _ in held}
    with book.reading() as connection:
        before = Before(recording.statements(connection), recording.findings(connection), recording.history(connection))
    given = set() if digests is None else statements
    reckoned, told = reckon(whole, before, files, rulebook, given, today, before_it)
    recording.record(book, reckoned, changes=changes)
    audit = whole if digests is None else shown(whole, chosen, statements)
    others = {one.name for one, _ in held} - chosen
    of_these = [one for one in (*audit.problems, *told) if one.file not in others or one in problems]
    return replace(audit, problems=tuple(of_these))


def _called(name: str, table: pd.DataFrame, found: pd.DataFrame) -> pd.Series:
    """Which rows (statement, about) a name means: a number as billed or as recorded, or the words of a charge."""
    number = bare(pd.Series([name], dtype="str"))[0]
    recorded = found.loc[(bare(found["shipment_tracking"]) == number).fillna(value=False), KEY]
    keys = set(recorded.itertuples(index=False, name=None))
    of_record = np.array([key in keys for key in zip(*(table[one] for one in KEY), strict=True)], dtype=bool)
    return pd.Series(table["about"].isin([name, number]).to_numpy() | of_record, index=table.index, dtype=bool)


@dataclass(frozen=True)
class Before:
    """What the book said before this run: recording.STATEMENT, recording.FINDING, tables.EVENTS."""

    statements: pd.DataFrame
    findings: pd.DataFrame
    events: pd.DataFrame


def _lines_replaced(parts: Sequence[intake.Part], replaced: pd.DataFrame) -> pd.DataFrame:
    """The lines of the statements that others are in the place of (LINES), with `by_statement`."""
    of_files = set(replaced["source_file"])
    lines = joined((part.tables["lines"] for part in parts if part.name in of_files and "lines" in part.tables), LINES)
    by = replaced[["statement", "source_file", "by_statement"]]
    return lines.merge(by, on=["statement", "source_file"])


def reckon(
    audit: Audit,
    before: Before,
    files: Mapping[str, int],
    rulebook: Rulebook,
    given: set[str],
    today: date,
    before_it: pd.DataFrame,
) -> tuple[Reckoned, list[Problem]]:
    """What is to be written of an Audit of everything.

    Written are the statements given in this run, those that were never reckoned, and those that were reckoned by the
    same rules: what another run reckoned by other rules stays, and that is told.

    Args:
        audit: of all that is in the book.
        before: what the book said.
        files: number in the book by name.
        rulebook: the rules of this run.
        given: the statements given in this run.
        today: the day of the run.
        before_it: the lines of statements that others are in the place of, with `by_statement`.
    """
    by = rules_text(rulebook)
    others = before.statements.loc[before.statements["rules"] != by, "statement"]
    lines, found = keyed(audit)
    replaced_by = _replaced_by(audit.replaced, lines)
    kept = set(others) - given - set(replaced_by)
    here = set(lines["statement"])
    ours = lines[~lines["statement"].isin(kept)]
    findings = found[~found["statement"].isin(kept)]
    back = {new: old for new, old in life.came_from(before.events).items() if new not in replaced_by}
    back = {new: old for new, old in back.items() if old in here and new not in here}
    gone_on = life.moved(before.events, replaced_by | back, today)
    history = life.added(before.events, gone_on)
    stood = life.standing(history)
    gone = set(stood["statement"]) - here  # their file was set aside, or is read otherwise now
    of_these = pd.Series(sorted({*ours["statement"], *gone}), dtype="str")
    events = life.news(findings, stood, of_these, today)
    less = life.lowered(life.added(history, events), _billed_less(before_it, lines), today)
    events = life.added(gone_on, events, less)
    stands = life.standing(life.added(before.events, events))
    known = pd.concat([findings, before.findings[before.findings["statement"].isin(kept)]])
    credited = life.credits_of(lines, _claimed(stands, known, lines, before_it))
    events = life.added(events, life.settled(credited.given, history, today))
    stands = life.standing(life.added(before.events, events))
    statements = _balanced(ours, stands, by)
    counted = (
        ours.assign(file=ours["source_file"].map(files))
        .groupby(["statement", "file", "month"], as_index=False)
        .agg(lines=("amount_cents", "size"), billed_cents=("amount_cents", "sum"))
    )
    reckoned = Reckoned(
        statements=statements,
        counted=conform(counted, recording.COUNTED),
        findings=conform(findings, recording.FINDING).sort_values(KEY, ignore_index=True),
        events=conform(events, EVENTS),
        balances=stands,
        replaced=_numbered(audit.replaced, files),
        gone=frozenset(replaced_by),
    )
    return reckoned, [*credited.problems, *_other_rules(before.statements, kept)]


def _replaced_by(replaced: pd.DataFrame, lines: pd.DataFrame) -> dict[str, str]:
    """For each statement of which no line is counted, the one in its place."""
    pairs = zip(replaced["statement"], replaced["by_statement"], strict=True)
    here = set(lines["statement"])
    return {old: new for old, new in pairs if old not in here}


def _billed_less(before_it: pd.DataFrame, lines: pd.DataFrame) -> dict[tuple[str, str], int]:
    """What statements bill less for a parcel than those that they are in the place of, by statement and number."""
    was = before_it.assign(about=bare(before_it["tracking"])).groupby(["by_statement", "about"])["amount_cents"].sum()
    numbers = lines.assign(number=bare(lines["tracking"])).groupby(["statement", "number"])["amount_cents"].sum()
    less = was - numbers.reindex(was.index).fillna(0)
    found = less[less > 0].rename("cents").rename_axis(["statement", "about"]).reset_index()
    return {(one["statement"], one["about"]): int(one["cents"]) for one in rows(found)}


def _numbered(replaced: pd.DataFrame, files: Mapping[str, int]) -> pd.DataFrame:
    """What is replaced, its files by their number in the book."""
    file, by_file = (replaced[name].map(files) for name in ("source_file", "by_file"))
    return conform(replaced.assign(file=file, by_file=by_file), recording.REPLACED)


def rules_text(rulebook: Rulebook) -> str:
    """The tariffs and their versions, by service where there are several."""
    own = [f"{service}: {one.name} {one.version}" for service, one in sorted(rulebook.by_service.items())]
    return "; ".join([f"{rulebook.otherwise.name} {rulebook.otherwise.version}", *own])


def _other_rules(statements: pd.DataFrame, kept: set[str]) -> Iterator[Problem]:
    for one in rows(statements[statements["statement"].isin(kept)]):
        message = (
            f"Statement {one['statement']} was reckoned by other rules before ({one['rules']}); what is written of it "
            "in the book stays. Give its file with this run to have it reckoned by these rules."
        )
        yield Problem("", "", message, note=True)


def keyed(audit: Audit) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The lines and findings of an Audit with what tells them apart from run to run.

    Both get `about`: the parcel's number as billed, without blanks and signs, or for a charge about no parcel its name
    and amount, and which of several such on that statement it is. Both get `month`, of shipping. The lines get
    `number`, by which parcels are compared; the findings `worth_cents`, what is worth disputing.
    """
    lines, findings = audit.lines, audit.findings
    lines = lines.assign(statement=lines["statement"].fillna(""), month=_months(lines, audit.shipments))
    lines["number"] = bare(lines["recorded"].fillna(lines["tracking"]))
    worth = {name: one.standing.claim_cents for name, one in audit.workings.findings.items()}
    # A finding about all labels of a statement has no lines of its own; it stands in the month of the first.
    of_statement = lines.drop_duplicates("statement").set_index("statement")["month"]
    findings = findings.assign(
        statement=findings["statement"].fillna(""),
        about=_about(findings),
        worth_cents=findings["finding"].map(worth).astype("Int64"),
        month=looked_up(
            findings["finding"], lines.dropna(subset="finding").drop_duplicates("finding").set_index("finding")["month"]
        ).fillna(looked_up(findings["statement"].fillna(""), of_statement)),
        number=bare(findings["shipment_tracking"].fillna(findings["tracking"])),
    )
    by_finding = findings.set_index("finding")["about"]
    lines["about"] = looked_up(lines["finding"], by_finding).fillna(bare(lines["tracking"])).fillna("")
    lines["amount_cents"] = lines["amount_cents"].fillna(0)
    return lines, findings


def states_of(audit: Audit, disputes: pd.DataFrame) -> dict[str, str]:
    """How the disputes about an Audit's findings stand, by the findings' numbers."""
    both = keyed(audit)[1][[*KEY, "finding"]].merge(disputes[[*KEY, "state"]], on=KEY)
    return dict(zip(both["finding"], both["state"], strict=True))


def _about(findings: pd.DataFrame) -> pd.Series:
    charge = findings["charges"] + " " + findings["billed_cents"].map(dollars).astype("str")
    nth = findings.assign(charge=charge).groupby(["statement", "charge"], dropna=False).cumcount() + 1
    charge = charge.where(nth == 1, charge + " (" + nth.astype("str") + ")")
    number = bare(findings["tracking"])
    return number.where(number.notna() & (number != ""), findings["tracking"].fillna(charge)).astype("str")


def _months(lines: pd.DataFrame, shipments: pd.DataFrame) -> pd.Series:
    """The month in which each line's parcel was shipped, by the record, else as billed; else the statement's."""
    day = looked_up(lines["shipment"], shipments["shipped_on"])
    day = day.fillna(lines["shipped_on"]).fillna(lines["statement_on"])
    months: pd.Series = day.dt.strftime("%Y-%m").fillna("").astype("str")
    return months


def _claimed(stands: pd.DataFrame, known: pd.DataFrame, lines: pd.DataFrame, before_it: pd.DataFrame) -> pd.DataFrame:
    """The disputes with what a credit for them is told by: number, charges and the statement's first date."""
    about = known[[*KEY, "number", "charges"]] if "number" in known else known.assign(number=known["about"])
    table = stands[[*KEY, "amount_cents"]].merge(about[[*KEY, "number", "charges"]], on=KEY, how="left")
    earlier = before_it.assign(statement=before_it["by_statement"])
    days = pd.concat([lines, earlier])[["statement", "statement_on"]].groupby("statement")["statement_on"].min()
    return table.assign(
        number=table["number"].fillna(table["about"]),
        charges=table["charges"].fillna(""),
        statement_on=looked_up(table["statement"], days),
    )


def _balanced(lines: pd.DataFrame, stands: pd.DataFrame, rules: str) -> pd.DataFrame:
    """Each statement's balance: accepted is summed thing by thing, as what is billed for it less what is disputed."""
    billed = lines.groupby(KEY)["amount_cents"].sum()
    disputed = stands[stands["statement"].isin(lines["statement"].unique())].set_index(KEY)["amount_cents"]
    apart = pd.DataFrame({"billed": billed, "disputed": disputed}).fillna(0).astype("Int64")
    accepted = (apart["billed"] - apart["disputed"]).groupby("statement").sum()
    table = lines.groupby("statement").agg(
        statement_on=("statement_on", "first"), lines=("amount_cents", "size"), billed_cents=("amount_cents", "sum")
    )
    table = table.assign(
        rules=rules, accepted_cents=accepted, disputed_cents=apart["disputed"].groupby("statement").sum()
    )
    return conform(table.reset_index(), recording.STATEMENT)


def shown(audit: Audit, files: set[str], statements: set[str]) -> Audit:
    """The part of an Audit of everything that is about some statements, its findings numbered anew.

    Args:
        audit: of everything.
        files: the names of the files given; labels never billed are shown of these.
        statements: the statements to show.
    """
    lines = audit.lines[audit.lines["statement"].isin(statements)]
    findings = audit.findings[audit.findings["statement"].isin(statements)]
    names = {old: f"F{number:03d}" for number, old in enumerate(findings["finding"], 1)}
    lines = lines.assign(finding=lines["finding"].map(names).astype("str"))
    findings = findings.assign(finding=findings["finding"].map(names).astype("str")).reset_index(drop=True)
    readings = audit.readings[audit.readings["statement"].isin(statements)]
    shipments = audit.shipments
    of_files = shipments["source_file"].isin(files) | shipments.index.isin(lines["shipment"].dropna())
    numbered = {names[old]: one for old, one in audit.workings.findings.items() if old in names}
    unrecorded = lines["tracking"].notna() & lines["shipment"].isna() & (lines["state"] != "not ours")
    billed, difference = int(lines["amount_cents"].sum()), int(findings["difference_cents"].sum())
    not_audited = int(findings.loc[findings["expected_cents"].isna(), "billed_cents"].sum())
    not_audited += int(lines.loc[unrecorded, "amount_cents"].sum())
    voided = findings.loc[findings["cause"] == "voided label", "shipment_tracking"]
    return replace(
        audit,
        shipments=shipments[of_files],
        lines=lines,
        statements=audit.statements[audit.statements["statement"].isin(statements)].reset_index(drop=True),
        readings=readings.assign(finding=readings["finding"].map(names).astype("str")).reset_index(drop=True),
        findings=findings,
        never_billed=audit.never_billed[audit.never_billed["source_file"].isin(files)],
        voided_billed=audit.voided_billed[audit.voided_billed["tracking"].isin(voided)],
        billed_cents=billed,
        expected_cents=billed - difference - not_audited,
        difference_cents=difference,
        not_audited_cents=not_audited,
        disputable_cents=int(findings["disputable_cents"].sum()),
        workings=replace(audit.workings, findings=numbered, lines=lines),
        replaced=audit.replaced[audit.replaced["by_statement"].isin(statements)].reset_index(drop=True),
    )


__all__ = [
    "BookError",
    "Booked",
    "Mark",
    "checked",
    "disputes",
    "history_of",
    "mark",
    "reconcile",
    "shown",
    "states_of",
]
