"""The whole run as one function: files in, an Audit out. What the command line, a notebook and a page call."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

import pandas as pd

from auditor import intake
from auditor.charges.attribution import attribute
from auditor.charges.charge_words import contradicted, disbelieved_names, likened, without_other_carriage
from auditor.charges.checks import (
    beyond_rules,
    foreign,
    forgotten,
    of_another_account,
    of_another_table,
    off_table,
    too_early,
    without_label,
    without_price,
)
from auditor.charges.learned.labels import with_label_prices
from auditor.charges.learned.older_tables import more_by_statement
from auditor.charges.learned.shown_rules import as_shown
from auditor.charges.measured.converted import as_meant
from auditor.charges.outliers import outliers
from auditor.charges.reckoning import Found, reckoned
from auditor.charges.schema import Cases
from auditor.charges.service_codes import in_recorded_names
from auditor.core import progress
from auditor.core.money import dollars
from auditor.core.schemas import FINDINGS, READINGS, REPLACED, STATEMENTS, Problem, conform, empty, looked_up, rows
from auditor.core.sides import FIGURES
from auditor.findings.assembly import Finding, of_account_charges, of_cases, of_changed, of_unknown_parcels
from auditor.findings.facts import Facts, NotAudited
from auditor.findings.facts_of_cases import FactsOfCases
from auditor.findings.resting import held_back, questions
from auditor.findings.working import Part, Step, Workings
from auditor.habits import Habits, Recorded, study
from auditor.intake import Proof, of_moves
from auditor.match import match
from auditor.match.strangers import signs
from auditor.tariff import Prices, Rulebook, expecting, opened

__all__ = ["Audit", "Limit", "Part", "Step", "audited", "reconcile"]


@dataclass(frozen=True)
class Limit:
    """A limit of the tariff on the longest side: over `over_nm` a parcel pays `charge`."""

    charge: str
    over_nm: int


@dataclass(frozen=True)
class Audit:
    """What one run found. Every table's columns and units are in `auditor.core.schemas` and docs/tables.md.

    `shipments`, `cartons`, `lines`, `statements`, `readings`, `findings`: tables of the schemas of those names; `lines`
    has more columns: `shipment` (its row of shipments), `recorded` (its number there), `match`, `confidence`,
    `match_reason`, `finding`. `moves`: what papers about prepaid labels say. `never_billed`, `voided_billed`: rows of
    `shipments`. `workings`: for each finding the headed parts of its working, made when asked for. `rulebook` and
    `prices` are what it was reckoned by; prices that were not given are learned. Sums: billed = expected + difference +
    not_audited.
    """

    shipments: pd.DataFrame
    cartons: pd.DataFrame
    lines: pd.DataFrame
    statements: pd.DataFrame
    readings: pd.DataFrame
    findings: pd.DataFrame
    moves: pd.DataFrame
    never_billed: pd.DataFrame
    voided_billed: pd.DataFrame
    problems: tuple[Problem, ...]
    rules_name: str
    rules_version: str
    rules_sources: tuple[str, ...]
    limits: tuple[Limit, ...]
    rulebook: Rulebook
    prices: Prices
    billed_cents: int
    expected_cents: int
    difference_cents: int
    not_audited_cents: int
    disputable_cents: int
    workings: Workings
    replaced: pd.DataFrame = field(default_factory=lambda: empty(REPLACED))

    @cached_property
    def is_prepaid(self) -> bool:
        """Whether all that is billed was said by papers about labels that were paid when they were bought."""
        return bool(len(self.moves)) and bool(of_moves(self.lines, self.moves).all())

    @cached_property
    def habits(self) -> Habits:
        """What the cartons cost and what to change, reckoned when first asked for."""
        return study(self.recorded)

    @property
    def recorded(self) -> Recorded:
        """What a study of the habits is given."""
        tables = (self.shipments, self.cartons, self.lines, self.readings, self.findings)
        return Recorded(*tables, self.rulebook, self.prices)

    @property
    def complete(self) -> bool:
        """Every file was read, and every statement that prints a total ties out to it."""
        return not any(problem.unread for problem in self.problems) and bool(self.statements["ties"].dropna().all())


def reconcile(
    paths: Sequence[str | Path],
    *,
    rules: str | Path | Mapping[str, str | Path] = "us-ground-common",
    given: Mapping[str, Sequence[Path]] | None = None,
    readings: Path | None = None,
    not_mine: Collection[str] = (),
) -> Audit:
    """Account for every statement line in the files and say what each adjustment is.

    Args:
        paths: files and folders, in any mix and order.
        rules: a shipped tariff's name or the path of a rule file; or such by service, "" standing for all others.
        given: files to be read as a table of that kind ("shipments", "statement" …) whatever they look like.
        readings: folder of saved readings of layouts, as `auditor columns --save` keeps them.
        not_mine: numbers of parcels billed that the seller says they did not send.

    Raises:
        auditor.tariff.RuleError: the rules cannot be used.
    """
    book = opened(rules)
    taken = intake.read(
        [Path(path) for path in paths], given=given, charges=book.charges, expecting=expecting(book), readings=readings
    )
    return audited(taken, book, not_mine)


def audited(taken: intake.Intake, book: Rulebook, not_mine: Collection[str] = ()) -> Audit:
    """`reconcile` on what was read already."""
    shipments = taken.shipments
    given = with_label_prices(Prices(taken.rates, taken.fees, taken.fuel), shipments, taken.moves, book)
    progress.at("Matching lines with parcels")
    lines, notices = _with_shipments(taken.lines, shipments), _with_shipments(taken.notices, shipments)
    unrecorded = _unrecorded(lines, shipments)
    others = foreign(lines, ~unrecorded)
    lines.loc[others & ~lines["match"].isin(["exact", "spacing"]), ["shipment", "recorded", "confidence"]] = pd.NA
    unknown = lines["tracking"].notna() & lines["shipment"].isna() & ~unrecorded
    lines["state"] = lines["state"].mask(unknown & (lines["state"] != "not read"), "not ours")
    account = lines["tracking"].isna() & lines["amount_cents"].notna() & (lines["state"] != "tax")
    not_asked = unrecorded | (others & lines["shipment"].isna())

    matched = lines[lines["shipment"].notna()]
    ours = as_meant(matched.assign(service=in_recorded_names(matched, shipments)), shipments, book)
    progress.at("Reckoning what each parcel should have cost")
    ours = without_other_carriage(ours)
    prepaid = of_moves(ours, taken.moves)
    ours = ours.assign(likened=likened(ours, [*book.charges, *given.fees["charge"].dropna()]) & ~prepaid)
    ours = ours.assign(prepaid=prepaid)
    doubted = contradicted(ours, book, given) & ~prepaid
    disbelieved = [*disbelieved_names(ours, doubted)]
    ours = ours.assign(charge=ours["charge"].mask(doubted), state=ours["state"].mask(doubted, "adjustment"))
    asked = as_shown(ours, shipments, given, book)
    ours, book = asked.lines, asked.book
    lines.loc[asked.taken_off, "state"] = ours.loc[asked.taken_off, "state"]
    cases, held = reckoned(Found(ours, shipments, notices.dropna(subset="shipment"), book), given)
    prices = held.prices
    progress.at("Finding where the differences come from")
    attribution = attribute(cases, book, prices)
    whose = signs(lines[unknown & ~others], ours, shipments, taken.cartons)
    facts_of = FactsOfCases(
        cases,
        attribution,
        outliers(cases, shipments, book),
        book,
        prices,
        held.doubted | asked.words.keys(),
        held.changes,
        frozenset(held.apart),
        taken.perhaps_replaced,
    )
    found = [
        *of_cases(facts_of, ours, shipments),
        *of_changed(more_by_statement(cases, held, asked), held, asked.words, cases, ours),
        *of_unknown_parcels(lines[unknown & ~others], whose, not_mine),
        *of_account_charges(lines[account & ~others], prices),
    ]
    found = held_back(found, lines.drop(asked.taken_off), taken.proofs, taken.names)
    numbered = {f"F{number:03d}": one for number, one in enumerate(sorted(found, key=lambda one: one.order), 1)}
    findings = conform(pd.DataFrame([{**one.row, "finding": name} for name, one in numbered.items()]), FINDINGS)
    findings_of_lines = {line: name for name, one in numbered.items() for line in one.lines}
    lines["finding"] = pd.Series(lines.index.map(findings_of_lines), index=lines.index, dtype="str")

    def facts(case: int) -> Facts | NotAudited:
        return next(facts_of.of(pd.Index([case])))

    billed, difference = int(lines["amount_cents"].sum()), int(findings["difference_cents"].sum())
    not_audited = int(findings.loc[findings["expected_cents"].isna(), "billed_cents"].sum())
    not_audited += int(lines.loc[not_asked, "amount_cents"].sum())
    not_billed, elsewhere = _not_billed(shipments, lines)
    not_billed &= ~bought(shipments, lines, taken.moves)
    voided = findings.loc[findings["cause"] == "voided label", "shipment_tracking"]
    return Audit(
        shipments=shipments,
        cartons=taken.cartons,
        lines=lines,
        statements=_statements(lines, taken.printed_totals, taken.proofs),
        readings=_readings(cases, shipments, numbered),
        findings=findings,
        moves=taken.moves,
        never_billed=shipments[not_billed & ~elsewhere],
        voided_billed=shipments[shipments["tracking"].isin(voided)],
        problems=(
            *taken.problems,
            *_missing_tables(taken, prices),
            *_without_statement(shipments[not_billed & elsewhere]),
            *_beyond_records(lines[unrecorded], shipments),
            *of_another_account(lines[others]),
            *disbelieved,
            *questions(lines[~others].drop(asked.taken_off, errors="ignore"), taken.names, taken.paths),
            *forgotten(lines[unknown & ~others], whose),
            *too_early(ours, shipments),
            *without_label(ours, shipments),
            *beyond_rules(cases, book),
            *asked.problems,
            *off_table(held.doubted_names),
            *of_another_table(held.apart),
            *without_price(_reasons(found)),
            *_loose(notices, lines),
        ),
        rules_name=", ".join(tariff.name for tariff in book.tariffs),
        rules_version=", ".join(tariff.version for tariff in book.tariffs),
        rules_sources=tuple(dict.fromkeys(source for tariff in book.tariffs for source in tariff.sources)),
        limits=_limits(book, shipments),
        rulebook=book,
        prices=prices,
        billed_cents=billed,
        expected_cents=billed - difference - not_audited,
        difference_cents=difference,
        not_audited_cents=not_audited,
        disputable_cents=int(findings["disputable_cents"].sum()),
        workings=Workings(numbered, lines, cases.about, facts, prices),
        replaced=taken.replaced,
    )


def _reasons(found: Sequence[Finding]) -> pd.DataFrame:
    """Why each parcel that was not audited has no price, and what was billed for it."""
    unpriced = [(one.unpriced.reason, int(one.row["billed_cents"])) for one in found if one.unpriced]
    return pd.DataFrame(unpriced, columns=["reason", "billed_cents"])


def _with_shipments(rows: pd.DataFrame, shipments: pd.DataFrame) -> pd.DataFrame:
    """The rows with the shipment each belongs to, and how it was found."""
    if "order" not in rows:
        rows = rows.assign(order=pd.Series(pd.NA, index=rows.index, dtype="str"))
    found = match(rows, shipments).set_index("tracking")
    joins = {
        column: looked_up(rows["tracking"], found[column])
        for column in ("shipment", "match", "confidence", "match_reason")
    }
    joined = rows.assign(**joins).astype({"shipment": "Int64", "confidence": "Float64"})
    return joined.assign(recorded=joined["shipment"].map(shipments["tracking"]).astype("str"))


def _unrecorded(lines: pd.DataFrame, shipments: pd.DataFrame) -> pd.Series:
    """Lines of parcels that the records do not reach: shipped before their first day or after their last."""
    first, last = shipments["shipped_on"].min(), shipments["shipped_on"].max()
    unmatched = lines["tracking"].notna() & lines["shipment"].isna()
    outside: pd.Series = (lines["shipped_on"] < first) | (lines["shipped_on"] > last) | shipments.empty
    return outside & unmatched


def _not_billed(shipments: pd.DataFrame, lines: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    """Which labels no line bills, and which are of a service whose statement is not among the files, as it seems."""
    billed = shipments.index.to_series().isin(lines["shipment"].dropna())
    services = shipments["service"].fillna("")
    of_billed_service = services.isin(services[billed]) | (services.eq("") & bool(billed.any()))
    return ~billed & ~shipments["voided"].fillna(value=False).astype(bool), ~of_billed_service


def bought(shipments: pd.DataFrame, lines: pd.DataFrame, moves: pd.DataFrame) -> pd.Series:
    """Which labels were paid when they were bought: of services that papers correct and no statement bills."""
    others = lines[~of_moves(lines, moves) & lines["state"].eq("label charge")]
    services = shipments["service"].fillna("")
    billed = set(services[shipments.index.isin(others["shipment"].dropna())])
    prepaid: pd.Series = shipments["label_cost_cents"].notna() & ~services.isin(billed) & bool(len(moves))
    return prepaid


def _without_statement(shipments: pd.DataFrame) -> Iterator[Problem]:
    for service, count in shipments["service"].fillna("").value_counts(sort=False).items():
        what = f"service {service}" if service else "any service"
        message = (
            f"No statement given bills a parcel of {what}, so its {count:,} recorded labels could not be held against "
            "one. Add that carrier's statement."
        )
        yield Problem("", "", message, note=True)


def _missing_tables(taken: intake.Intake, prices: Prices) -> Iterator[Problem]:
    wanted = {
        "shipments": "your shipping records, so no line can be matched to a parcel of yours",
        "lines": "a statement or a list of corrections, so there is nothing to account for",
    }
    for table, what in wanted.items():
        if getattr(taken, table).empty:
            yield Problem("", "", f"What is missing among the files: {what}. Add that file and run again.")
    names = {"rates": "prices (rates)", "fees": "fees", "fuel": "fuel percentages"}
    lacking = [table for table in names if getattr(taken, table).empty]
    learned = [names[table] for table in lacking if len(getattr(prices, table))]
    silent = [names[table] for table in lacking if table != "fees" and getattr(prices, table).empty]
    if learned and not taken.lines.empty:
        by = "what your labels cost" if len(taken.moves) else "the labels on the statements"
        message = (
            f"There is no table of {' or '.join(learned)} among the files, so they were learned from {by}. Findings "
            "that rest on them are estimates; a price table makes them exact."
        )
        yield Problem("", "", message, note=True)
    if silent and not taken.lines.empty:
        message = (
            f"There is no table of {' or '.join(silent)} among the files, and nothing on the statements tells them, so "
            "what depends on them is not audited. Add a table and run again."
        )
        yield Problem("", "", message)


def _beyond_records(lines: pd.DataFrame, shipments: pd.DataFrame) -> Iterator[Problem]:
    """One problem for each statement with parcels of other days than the records cover."""
    if shipments.empty:
        return
    first, last = shipments["shipped_on"].min(), shipments["shipped_on"].max()
    for (file, statement), them in lines.groupby(["source_file", "statement"], dropna=False):
        days = list(dict.fromkeys(f"{day:%Y-%m-%d}" for day in (them["shipped_on"].min(), them["shipped_on"].max())))
        several = f"{len(them):,} lines", "are about parcels", "They were"
        count, are, were = several if len(them) > 1 else ("1 line", "is about a parcel", "It was")
        message = (
            f"{count} of statement {statement} ({dollars(int(them['amount_cents'].sum()))}) {are} shipped "
            f"{' to '.join(days)}, but your shipping records cover {first:%Y-%m-%d} to {last:%Y-%m-%d}. {were} not "
            "audited. Add the shipping records of those days and run again."
        )
        yield Problem(str(file), str(them["source_place"].iloc[0]), message)


def _loose(notices: pd.DataFrame, lines: pd.DataFrame) -> Iterator[Problem]:
    """Notices about parcels that are not in the records, or that no statement bills."""
    billed = set(lines["shipment"].dropna())
    for notice in rows(notices):
        where = (str(notice["source_file"]), str(notice["source_place"]))
        if pd.isna(notice["shipment"]):
            yield Problem(*where, f"This notice is about parcel {notice['tracking']}, which is not in your records.")
        elif notice["shipment"] not in billed:
            message = f"This notice is about parcel {notice['tracking']}, but no statement among the files bills it."
            yield Problem(*where, message, note=True)


def _statements(lines: pd.DataFrame, printed: pd.DataFrame, proofs: Mapping[str, Proof]) -> pd.DataFrame:
    """Sum of the lines against the printed total, and what proves the reading.

    A line that could not be read leaves its statement untied.
    """
    table = (
        lines.assign(unread=lines["amount_cents"].isna())
        .groupby("statement", dropna=False)
        .agg(
            statement_on=("statement_on", "first"),
            lines=("unread", "size"),
            lines_total_cents=("amount_cents", "sum"),
            unread=("unread", "sum"),
            source_file=("source_file", "first"),
        )
        .reset_index()
    )
    table["printed_total_cents"] = table["statement"].map(_printed(lines, printed)).astype("Int64")
    table["difference_cents"] = table["lines_total_cents"] - table["printed_total_cents"]
    ties = ((table["difference_cents"] == 0) & (table["unread"] == 0)).astype("boolean")
    proven = {number: (proof.grade, proof.sentence) for number, proof in proofs.items()}
    reading = [proven.get(str(number), (None, None)) for number in table["statement"]]
    table[["reading", "proof"]] = pd.DataFrame(reading, columns=["reading", "proof"], dtype="str")
    table = table.assign(ties=ties.mask(table["printed_total_cents"].isna()))
    return conform(table, STATEMENTS)


def _printed(lines: pd.DataFrame, printed: pd.DataFrame) -> pd.Series:
    """The total that each statement prints; of one in several files that each come to their own total, their sum."""
    read = lines.groupby(["statement", "source_file"])["amount_cents"].sum()
    of_file = printed.drop_duplicates(["statement", "source_file"]).set_index(["statement", "source_file"])
    own = of_file["printed_total_cents"].reindex(read.index)
    apart = (own == read).fillna(value=False).groupby("statement").agg(["all", "size"])
    several = apart.index[apart["all"] & (apart["size"] > 1)]
    totals = printed.drop_duplicates("statement").set_index("statement")["printed_total_cents"].copy()
    totals.loc[several] = own.groupby("statement").sum()[several]
    return totals


def _readings(cases: Cases, shipments: pd.DataFrame, numbered: Mapping[str, Finding]) -> pd.DataFrame:
    """Declared and read figures side by side, for every parcel and statement."""
    shipment = shipments.loc[cases.about["shipment"].astype(int), ["tracking", "carton"]].reset_index(drop=True)
    of_case = {one.case: name for name, one in numbered.items() if one.case is not None}
    table = pd.DataFrame(
        {
            "shipment_tracking": shipment["tracking"],
            "statement": cases.about["statement"],
            "carton": shipment["carton"],
            "measured_rounded": cases.about["measured_rounded"],
            "inferred": cases.about["probability"],
            "finding": cases.about.index.map(of_case),
        }
    )
    for figure in FIGURES:
        table[f"declared_{figure}"] = cases.declared[figure]
        table[f"measured_{figure}"] = cases.measured[figure]
    return conform(table, READINGS)


def _limits(book: Rulebook, shipments: pd.DataFrame) -> tuple[Limit, ...]:
    """The limits on the longest side, for the services used, as of the last recorded ship date."""
    last = shipments["shipped_on"].max()
    services = [] if pd.isna(last) else shipments["service"].dropna().unique().tolist()
    in_force = [rules for service in services if (rules := book.on(service, last.date()))]
    limits = [
        Limit(charge.name, int(limit.limit))
        for rules in in_force
        for charge in rules.charges
        for limit in charge.limits
        if limit.measure == "longest side"
    ]
    return tuple(dict.fromkeys(limits))
