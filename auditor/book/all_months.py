"""All months reckoned together: what is to be written of an Audit of everything that is in the book.

findings → disputes opened, changed, moved and credited, and each statement's balance
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import pandas as pd

from auditor import intake
from auditor.audit import Audit
from auditor.book.keys import keyed
from auditor.book.ledger import Book, recording
from auditor.book.ledger.reading_out import Filed
from auditor.book.ledger.recording import Reckoned
from auditor.core.schemas import EVENTS, LINES, Problem, conform, joined, looked_up, rows
from auditor.disputes import opening, reissues
from auditor.disputes.credits import credits_of, settled
from auditor.disputes.history import KEY, added, came_from
from auditor.disputes.states import states_of
from auditor.match import normalised
from auditor.tariff import Rulebook


@dataclass(frozen=True)
class Before:
    """What the book says before all is reckoned again.

    `statements`, `findings`, `events`: recording.STATEMENT, recording.FINDING and EVENTS, as last reckoned. `files`:
    each file's number by its name. `replaced_lines`: the lines of the statements that others are in the place of
    (LINES), with `by_statement`.
    """

    statements: pd.DataFrame
    findings: pd.DataFrame
    events: pd.DataFrame
    files: Mapping[str, int]
    replaced_lines: pd.DataFrame


def last_reckoned(book: Book, contents: Sequence[tuple[Filed, intake.Part]], replaced: pd.DataFrame) -> Before:
    """What the book says; of what its files gave, with the statements that others are in the place of (REPLACED)."""
    files = {file.name: file.file for file, _ in contents}
    lines = _lines_replaced([part for _, part in contents], replaced)
    with book.reading() as connection:
        reckoned = recording.statements(connection), recording.findings(connection), recording.history(connection)
    return Before(*reckoned, files, lines)


def _lines_replaced(parts: Sequence[intake.Part], replaced: pd.DataFrame) -> pd.DataFrame:
    files = set(replaced["source_file"])
    lines = joined((part.tables["lines"] for part in parts if part.name in files and "lines" in part.tables), LINES)
    by = replaced[["statement", "source_file", "by_statement"]]
    return lines.merge(by, on=["statement", "source_file"])


def reckon(
    audit: Audit, before: Before, rulebook: Rulebook, given: set[str], today: date
) -> tuple[Reckoned, list[Problem]]:
    """What is to be written of an Audit of everything.

    Written are the statements given in this run, those that were never reckoned, and those that were reckoned by the
    same rules: what another run reckoned by other rules stays, and a note says so.

    Args:
        audit: of all that is in the book.
        before: what the book says.
        rulebook: the rules of this run.
        given: the statements given in this run.
        today: the day of the run.
    """
    rules = rules_text(rulebook)
    lines, findings = keyed(audit)
    replaced_by = _replaced_by(audit.replaced, lines)
    kept = set(before.statements.loc[before.statements["rules"] != rules, "statement"]) - given - set(replaced_by)
    written_lines, written = lines[~lines["statement"].isin(kept)], findings[~findings["statement"].isin(kept)]
    events, problems = _happenings(lines, written, kept, replaced_by, before, today)
    states = states_of(added(before.events, events))
    reckoned = Reckoned(
        statements=_balanced(written_lines, states, rules),
        counted=_counted(written_lines, before.files),
        findings=conform(written, recording.FINDING).sort_values(KEY, ignore_index=True),
        events=conform(events, EVENTS),
        balances=states,
        replaced=_numbered(audit.replaced, before.files),
        gone=frozenset(replaced_by),
    )
    return reckoned, [*problems, *_other_rules(before.statements, kept)]


def _happenings(
    lines: pd.DataFrame,
    findings: pd.DataFrame,
    kept: set[str],
    replaced_by: Mapping[str, str],
    before: Before,
    today: date,
) -> tuple[pd.DataFrame, Sequence[Problem]]:
    """What is to be added to the history (EVENTS): by reissues, by findings, by credits; and what is odd of credits."""
    moved = reissues.moved(before.events, {**replaced_by, **_back(lines, replaced_by, before.events)}, today)
    history = added(before.events, moved)
    states = states_of(history)
    gone = set(states["statement"]) - set(lines["statement"])  # their file was set aside, or is read otherwise now
    statements = pd.Series(sorted({*lines["statement"], *gone} - kept), dtype="str")
    found = opening.from_findings(findings, states, statements, today)
    known = pd.concat([findings, before.findings[before.findings["statement"].isin(kept)]])
    worth = {(row["statement"], row["about"]): int(row["worth_cents"]) for row in rows(known)}
    lowered = reissues.lowered(added(history, found), _billed_less(before.replaced_lines, lines), worth, today)
    claimed = _claimed(states_of(added(history, found, lowered)), known, lines, before.replaced_lines)
    credited = credits_of(lines, claimed)
    return added(moved, found, lowered, settled(credited.given, history, today)), credited.problems


def _back(lines: pd.DataFrame, replaced_by: Mapping[str, str], events: pd.DataFrame) -> dict[str, str]:
    """For each statement with which disputes went on, and which is gone itself, the one they came from."""
    here = set(lines["statement"])
    return {
        new: old for new, old in came_from(events).items() if new not in replaced_by and new not in here and old in here
    }


def _counted(lines: pd.DataFrame, files: Mapping[str, int]) -> pd.DataFrame:
    groups = lines.assign(file=lines["source_file"].map(files)).groupby(["statement", "file", "month"], as_index=False)
    counted = groups.agg(lines=("amount_cents", "size"), billed_cents=("amount_cents", "sum"))
    return conform(counted, recording.COUNTED)


def _replaced_by(replaced: pd.DataFrame, lines: pd.DataFrame) -> dict[str, str]:
    """For each statement of which no line is counted, the one in its place."""
    pairs = zip(replaced["statement"], replaced["by_statement"], strict=True)
    here = set(lines["statement"])
    return {old: new for old, new in pairs if old not in here}


def _billed_less(replaced_lines: pd.DataFrame, lines: pd.DataFrame) -> dict[tuple[str, str], int]:
    """What statements bill less for a parcel than those that they are in the place of, by statement and number.

    One that was issued again more than once is several times among those: of each charge, the most that one billed.
    """
    key = ["by_statement", "about"]
    before = replaced_lines.assign(about=normalised(replaced_lines["tracking"]))
    each = before.groupby([*key, "description", "statement", "source_file"], dropna=False)["amount_cents"].sum()
    was = each.groupby([*key, "description"], dropna=False).max().groupby(key).sum()
    numbers = lines.assign(number=normalised(lines["tracking"])).groupby(["statement", "number"])["amount_cents"].sum()
    less = was - numbers.reindex(was.index).fillna(0)
    found = less[less > 0].rename("cents").rename_axis(["statement", "about"]).reset_index()
    return {(row["statement"], row["about"]): int(row["cents"]) for row in rows(found)}


def _numbered(replaced: pd.DataFrame, files: Mapping[str, int]) -> pd.DataFrame:
    """What is replaced, its files by their number in the book."""
    file, by_file = (replaced[name].map(files) for name in ("source_file", "by_file"))
    return conform(replaced.assign(file=file, by_file=by_file), recording.REPLACED)


def rules_text(rulebook: Rulebook) -> str:
    """The tariffs and their versions, by service where there are several."""
    own = [f"{service}: {tariff.name} {tariff.version}" for service, tariff in sorted(rulebook.by_service.items())]
    return "; ".join([f"{rulebook.otherwise.name} {rulebook.otherwise.version}", *own])


def _other_rules(statements: pd.DataFrame, kept: set[str]) -> Iterator[Problem]:
    for row in rows(statements[statements["statement"].isin(kept)]):
        message = (
            f"Statement {row['statement']} was reckoned by other rules before ({row['rules']}); what is written of it "
            "in the book stays. Give its file with this run to have it reckoned by these rules."
        )
        yield Problem("", "", message, note=True)


def _claimed(
    states: pd.DataFrame, known: pd.DataFrame, lines: pd.DataFrame, replaced_lines: pd.DataFrame
) -> pd.DataFrame:
    """The disputes with what a credit for them is told by: number, charges and the statement's first date."""
    about = known[[*KEY, "number", "charges"]] if "number" in known else known.assign(number=known["about"])
    table = states[[*KEY, "amount_cents"]].merge(about[[*KEY, "number", "charges"]], on=KEY, how="left")
    earlier = replaced_lines.assign(statement=replaced_lines["by_statement"])
    days = pd.concat([lines, earlier])[["statement", "statement_on"]].groupby("statement")["statement_on"].min()
    return table.assign(
        number=table["number"].fillna(table["about"]),
        charges=table["charges"].fillna(""),
        statement_on=looked_up(table["statement"], days),
    )


def _balanced(lines: pd.DataFrame, states: pd.DataFrame, rules: str) -> pd.DataFrame:
    """Each statement's balance: accepted is summed thing by thing, as what is billed for it less what is disputed."""
    billed = lines.groupby(KEY)["amount_cents"].sum()
    disputed = states[states["statement"].isin(lines["statement"].unique())].set_index(KEY)["amount_cents"]
    sums = pd.DataFrame({"billed": billed, "disputed": disputed}).fillna(0).astype("Int64")
    accepted = (sums["billed"] - sums["disputed"]).groupby("statement").sum()
    table = lines.groupby("statement").agg(
        statement_on=("statement_on", "first"), lines=("amount_cents", "size"), billed_cents=("amount_cents", "sum")
    )
    table = table.assign(
        rules=rules, accepted_cents=accepted, disputed_cents=sums["disputed"].groupby("statement").sum()
    )
    return conform(table.reset_index(), recording.STATEMENT)
