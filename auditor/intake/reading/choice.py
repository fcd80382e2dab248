"""A file's statements, read by words or by evidence: whichever its sums and the shop's records prove better."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import chain
from pathlib import Path

import numpy as np
import pandas as pd

from auditor.core.money import dollars
from auditor.core.schemas import LINES, PRINTED_TOTALS, Problem, joined
from auditor.intake.documents import Grid, Page
from auditor.intake.reading.agreement import ONE_IN_1000
from auditor.intake.reading.beside import corrected
from auditor.intake.reading.cells import columns_of
from auditor.intake.reading.interpret import Interpreted, interpret
from auditor.intake.reading.known import Known
from auditor.intake.reading.pages import standing, ways
from auditor.intake.reading.plumbed import BY, plumbed
from auditor.intake.reading.proof import FEW, MOST, SEVERAL, TIES, Proof, proof_of
from auditor.intake.readings import Reading

OF_STATEMENTS = frozenset({"lines", "printed_totals", "reissues", "notices"})
"""What a carrier's file may have been read as; one with anything else in it is the shop's own."""
KNOWN_WORDS = ONE_IN_1000
"""How much better than a reading by words that were known another has to be (chosen, as what a sum to the cent is)."""
BY_FIGURES = (
    "The words of this file did not tell what its columns are, so it was read by its figures, held against your "
    "records: {}. {}."
)


BESIDE = "Some figures beside the charges ({}) were read as they agree with your records. {}."
MOST_ROWS = 20_000
"""Larger tables are not read a second time for the figures beside their lines (chosen, for the time it takes)."""


MOST_PAGES, FIRST, LAST, FOREMOST = 8, 4, 2, 3
"""Of more pages than the first so many of the first and last ones tell in which further ways all of them are read."""
NEARLY_ALL = 0.95
"""So many of the numbers of ours that stand on pages have lines, where all of the lines were found."""


@dataclass(frozen=True)
class Printed:
    """The pages of a statement, and the PDF that they are of."""

    path: Path
    pages: tuple[Page, ...]


@dataclass(frozen=True)
class Read:
    """A statement's lines and printed totals, and what was understood of each table.

    `of_words`: the lines are as words told them, with other figures beside them. `other`: the next best reading.
    """

    tables: Mapping[str, pd.DataFrame]
    interpreted: tuple[Interpreted, ...]
    problem: Problem
    of_words: bool = False
    other: str = ""


@dataclass(frozen=True)
class Said:
    """What the user said of a file's columns; `by_words` where what words made of it is read so already."""

    readings: Sequence[Reading] = ()
    by_words: bool = True


Way = Callable[[Sequence[Page]], Sequence[Grid]]
"""A way to see pages as tables."""


@dataclass(frozen=True)
class _Tried:
    """What a document was read as, and what proves it.

    `settled`: it is proven, by what labels cost and by what charges are expected where that is known, nothing is left
    out: no amount, none of our parcels that stand there; and most lines are about a parcel.
    `prior`: what speaks for it beforehand, as log odds. `obeys`: its columns are what the user said, if he did.
    """

    tables: Mapping[str, pd.DataFrame]
    interpreted: tuple[Interpreted, ...]
    proof: Proof
    settled: bool
    prior: float = 0.0
    obeys: bool = True

    @property
    def worth(self) -> tuple[bool, bool, bool, float]:
        """By what readings of one document are held against one another: the user's word, settled ones that tie.

        A table more has columns of its own, so that it proves less: by as much as a sum that ties proves (chosen).
        """
        price = TIES * max(len(self.interpreted) - 1, 0)
        return self.obeys, self.settled and bool(self.proof.ties), self.settled, self.proof.odds + self.prior - price

    @property
    def said(self) -> tuple[int, int]:
        """How many lines it has, and their sum: readings made in different ways that agree in both need no third."""
        cents = self.tables["lines"]["amount_cents"]
        return int((cents != 0).sum()), int(cents.sum())

    def is_finer_than(self, other: _Tried) -> bool:
        """Whether it tells the same sum in more lines, as charges are where another reading has their sums alone."""
        (lines, cents), (fewer, same) = self.said, other.said
        return cents == same and lines > fewer


def by_evidence(
    file: str,
    grids: Iterable[Grid],
    tables: Mapping[str, pd.DataFrame],
    known: Known,
    printed: Printed | None = None,
    said: Said | None = None,
) -> Read | None:
    """What a carrier's file is by evidence; None where what words made of it is proven, or proven better.

    Args:
        file: the file's name.
        grids: its tables as they stand in the file.
        tables: what words made of it, by name (`auditor.intake.TABLES`).
        known: what is known beside it.
        printed: where it is printed on pages: these are seen in other ways until one is proven.
        said: what the user said of columns.
    """
    if known.nothing or not tables.keys() <= OF_STATEMENTS:
        return None
    grids = [*grids]
    there = standing(printed.pages, known) if printed else _standing(grids, known)
    said = said or Said()
    reader = _Reader(file, known, there, _printed(tables), said.readings)
    by_words = reader.by_words(tables, obeys=said.by_words)
    if by_words is not None and by_words.obeys and by_words.settled and (printed is None or by_words.proof.ties):
        best = None if printed else reader.tried(_of_few_rows(grids))
        if best is None or not best.settled:
            return None
        if not best.is_finer_than(by_words):
            return reader.with_figures(best, by_words)
    else:
        best = reader.best(chain([grids], reader.seen(printed, ways(known))), by_words)
        if printed is not None and (best is None or not best.settled):
            best = reader.best(reader.seen(printed, (partial(plumbed, printed.path, by) for by in BY)), best)
        if best is None or best is by_words:
            return None
    kept = {name: table for name, table in tables.items() if name not in {*best.tables, "notices"}}
    problem = Problem(file, "", BY_FIGURES.format(best.proof.sentence, _columns_told(best.interpreted)), note=True)
    return Read({**kept, **best.tables}, best.interpreted, problem, other=_next_best(best, by_words))


def _next_best(best: _Tried, by_words: _Tried | None) -> str:
    """What else the statement could be: what its words say; where they say nothing, how far the next way is behind."""
    if by_words is not None:
        lines, cents = by_words.said
        return f"by its words {lines:,} lines, {dollars(cents)}: {by_words.proof.sentence}"
    ahead = min(one.evidence - one.runner_up for one in best.interpreted)
    return f"another way to see its columns, for which less speaks by {ahead:,.0f} in log odds"


def _columns_told(found: Sequence[Interpreted]) -> str:
    """What the columns that have a heading were taken for."""
    named = (column for one in found for column in one.columns if column.heading and column.role)
    told = dict.fromkeys(f"'{column.heading}' as {column.role}" for column in named)
    return f"Its columns were read so: {', '.join(told)}" if told else "Its columns have no headings"


@dataclass(frozen=True)
class _Reader:
    """Reads one file's tables in whatever way they are seen; `standing` of our parcels have their numbers there.

    `printed_cents` are the totals that words found: another reading has to come to them as well.
    """

    file: str
    known: Known
    standing: int
    printed_cents: Collection[int]
    readings: Sequence[Reading] = ()

    def best(self, seen: Iterable[Sequence[Grid]], best: _Tried | None) -> _Tried | None:
        """The best proven of several readings; the search ends where one leaves no doubt, or two agree."""
        said = {best.said} if best is not None and best.settled else set()
        for grids in seen:
            tried = self.tried(grids)
            if tried is None:
                continue
            if best is None or tried.worth > best.worth:
                best = tried
            if all(best.worth[:2]) or (tried.settled and tried.said in said):
                break
            said |= {tried.said} if tried.settled else set()
        return best

    def with_figures(self, tried: _Tried, by_words: _Tried) -> Read | None:
        """What words made of tables, with the figures beside the lines that agree with the records, if others do."""
        lines, changed = corrected(by_words.tables["lines"], tried.tables["lines"], self.known)
        told = ", ".join(name.rpartition("_")[0] or name for name in changed)
        problem = Problem(self.file, "", BESIDE.format(told, _columns_told(tried.interpreted)), note=True)
        return Read({**by_words.tables, "lines": lines}, tried.interpreted, problem, of_words=True) if changed else None

    def seen(self, printed: Printed | None, ways: Iterable[Way]) -> Iterator[Sequence[Grid]]:
        """The grids of pages seen in several ways; of many pages only in those that are best for some of them."""
        pages = printed.pages if printed else ()
        if len(pages) <= MOST_PAGES:
            yield from (way(pages) for way in ways if pages)
            return
        some = [*pages[:FIRST], *pages[-LAST:]]

        def odds(way: Way) -> float:
            tried = self.tried(way(some))
            return tried.proof.odds if tried else 0.0

        yield from (way(pages) for way in sorted(ways, key=odds, reverse=True)[:FOREMOST])

    def tried(self, grids: Iterable[Grid]) -> _Tried | None:
        """What grids are by evidence."""
        every = (interpret(self.file, grid, self.known, self.readings) for grid in grids)
        found = tuple(one for one in every if one is not None)
        lines, totals = [one.lines for one in found], [one.totals for one in found]
        tables = {"lines": joined(lines, LINES), "printed_totals": joined(totals, PRINTED_TOTALS)}
        return self._judged(tables, found, self.printed_cents, 0.0)

    def by_words(self, tables: Mapping[str, pd.DataFrame], *, obeys: bool) -> _Tried | None:
        """What words made of the file; `obeys` where that is as the user said."""
        judged = self._judged(tables, (), (), KNOWN_WORDS)
        return replace(judged, obeys=obeys) if judged else None

    def _judged(
        self, tables: Mapping[str, pd.DataFrame], found: tuple[Interpreted, ...], also: Collection[int], prior: float
    ) -> _Tried | None:
        """Those tables with what proves them; None without lines."""
        proof = _proof(tables, self.known, also)
        if proof is None:
            return None
        by_labels = not proof.labels.of or proof.labels.share >= MOST
        by_charges = proof.charges.of < SEVERAL or proof.charges.share >= FEW
        lines = tables["lines"]
        whole = proof.known >= NEARLY_ALL * self.standing and bool(lines["amount_cents"].notna().all())
        of_parcels = bool(lines["tracking"].notna().mean() > FEW)
        settled = proof.grade == "proven" and by_labels and by_charges and whole and of_parcels
        return _Tried(tables, found, proof, settled, prior)


def _of_few_rows(grids: Iterable[Grid]) -> list[Grid]:
    return [grid for grid in grids if len(grid.rows) <= MOST_ROWS]


def _standing(grids: Iterable[Grid], known: Known) -> int:
    """How many parcels of the shop have their numbers in cells of tables."""
    columns = (column for grid in _of_few_rows(grids) for column in columns_of(grid, slice(None)))
    return len({int(place) for column in columns for place in np.unique(column.parcels(known))} - {-1})


def _printed(tables: Mapping[str, pd.DataFrame]) -> Collection[int]:
    """The totals that words found: another reading has to come to them as well."""
    totals = tables["printed_totals"]["printed_total_cents"].dropna() if "printed_totals" in tables else ()
    return [int(cents) for cents in totals]


def _proof(tables: Mapping[str, pd.DataFrame], known: Known, also: Collection[int]) -> Proof | None:
    """What proves the reading of all of a file's statements together; None where there are no lines."""
    if "lines" not in tables or tables["lines"].empty:
        return None
    lines, totals = tables["lines"], tables["printed_totals"]
    whole = lines.groupby("statement", dropna=False)["amount_cents"].sum()
    printed = totals.drop_duplicates("statement").set_index("statement")["printed_total_cents"].dropna()
    if printed.empty and not also:
        return proof_of(lines, printed, known)
    read = int(lines["amount_cents"].sum())
    ties = bool(len(printed)) and bool(whole.reindex(printed.index).eq(printed).fillna(value=False).all())
    ties = (ties or printed.empty) and (not also or read in {*also, sum(also)})
    return proof_of(lines, pd.Series([read if ties else read + 1], dtype="Int64"), known)
