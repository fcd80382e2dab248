"""The facts of the cases that need words, put together from all that was reckoned of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import pandas as pd

from auditor.charges.attribution import Attribution
from auditor.charges.carrier_errors import Charged, Named, named
from auditor.charges.learned.older_tables import Change
from auditor.charges.schema import Cases
from auditor.core.schemas import rows
from auditor.findings.facts import Facts, NotAudited, Row
from auditor.tariff import Priced, Prices, Rulebook, Rules, Unpriced, column_of, priced
from auditor.tariff.prices import plain


@dataclass(frozen=True)
class FactsOfCases:
    """The cases, what was found of them, the outliers among them, and the prices they were reckoned by.

    `doubted`: services of which most labels cost something else than the seller's table says, `apart`: statements for
    which that table does not hold, `changes`: which of the prices are what labels show, see `older_tables`.
    `perhaps_replaced`: see `intake.Intake`.
    """

    cases: Cases
    found: Attribution
    unlike: pd.DataFrame
    book: Rulebook
    prices: Prices
    doubted: frozenset[str] = frozenset()
    changes: tuple[Change, ...] = ()
    apart: frozenset[str] = frozenset()
    perhaps_replaced: frozenset[frozenset[str]] = frozenset()

    def of(self, labels: pd.Index) -> Iterator[Facts | NotAudited]:
        """For each of the cases."""
        cases, found = self.cases, self.found
        tables = {
            "before": cases.before,
            "measured": cases.measured,
            "by_before": found.by_before,
            "by_measured": found.by_measured,
            "players": cases.players,
            "shares": found.shares,
            "undone": found.undone,
            "billed": cases.billed,
            "elsewhere": found.elsewhere,
            "again": found.again,
            "apart": cases.apart,
            "about": cases.about,
        }
        everything = zip(*(rows(table.loc[labels]) for table in tables.values()), strict=True)
        for label, row in zip(labels.tolist(), everything, strict=True):
            yield self._facts(label, dict(zip(tables, row, strict=True)))

    def _facts(self, label: int, row: Mapping[str, Any]) -> Facts | NotAudited:
        service, shipped = row["before"]["service"], row["before"]["shipped_on"]
        rules = None if pd.isna(shipped) else self.book.on(service, shipped.date())
        by_before, by_measured = priced(row["by_before"]), priced(row["by_measured"])
        if rules is None or isinstance(by_before, Unpriced) or isinstance(by_measured, Unpriced):
            billed, earlier = int(self.found.billed[label]), str(row["about"]["earlier"])
            return NotAudited(row["before"], row["measured"], by_before, by_measured, rules, billed, earlier)
        facts = Facts(
            **{**row, "by_before": by_before, "by_measured": by_measured},
            rules=rules,
            unlike=self._unlike.get(label),
            credits=self._credits.get(label, ()),
            by_likeness=str(self.found.by_likeness[label]),
            learned=frozenset(
                (*self._rests_on(rules, by_before, by_measured), *self._changed(row, rules, by_before, by_measured))
            ),
            doubted=plain(row["measured"]["service"]) in self.doubted or row["about"]["statement"] in self.apart,
            perhaps_replaced=frozenset({row["about"]["statement"], row["about"]["made_on"]}) in self.perhaps_replaced,
        )
        off = facts.own["rate"] or facts.own["carrier arithmetic"]
        return Facts(**{**vars(facts), "wrong": self._wrong(facts)}) if off else facts

    def _rests_on(self, rules: Rules, *amounts: Priced) -> Iterator[str]:
        """Which learned tables the amounts of a parcel rest on."""
        charges = [column_of(charge.name) for charge in rules.charges]
        used = {
            "rates": True,
            "fees": any(priced[column] for priced in amounts for column in charges),
            "fuel": rules.fuel_ppm is None and any(priced["fuel_ppm"] for priced in amounts),
        }
        yield from (table for table in self.prices.learned if used[table])

    def _changed(self, row: Mapping[str, Any], rules: Rules, *amounts: Priced) -> Iterator[str]:
        """Which tables the amounts of a parcel rest on as labels show them, and not as they were given."""
        charges = {plain(charge.name): column_of(charge.name) for charge in rules.charges}
        due = {name for name, column in charges.items() if any(priced[column] for priced in amounts)}
        service, shipped = plain(row["measured"]["service"]), row["measured"]["shipped_on"]
        concerned = {"rates": {service}, "fees": due, "fuel": {service}}
        for change in self.changes:
            if change.since <= shipped and (not change.of or change.of in concerned[change.table]):
                yield change.table

    @cached_property
    def _own(self) -> Prices:
        """The tables that the seller gave: a wrong charge is named by no other."""
        tables = {"rates": self.prices.rates, "fees": self.prices.fees, "fuel": self.prices.fuel}
        return Prices(**{name: table[:0] if name in self.prices.learned else table for name, table in tables.items()})

    def _wrong(self, facts: Facts) -> tuple[Named, ...]:
        before = None if facts.about["first"] else facts.by_before
        cents = {
            column: int(billed + facts.elsewhere[column] - facts.again[column]) + (int(before[column]) if before else 0)
            for column, billed in facts.billed.items()
        }
        tariff = self.book.of(facts.measured["service"])
        return named(Charged(facts.measured, facts.by_measured, before, cents, facts.rules, tariff), self._own)

    @cached_property
    def _unlike(self) -> dict[int, Row]:
        return dict(zip(self.unlike.index.tolist(), rows(self.unlike), strict=True))

    @cached_property
    def _credits(self) -> dict[int, tuple[Row, ...]]:
        table = self.cases.credits
        statement = self.cases.about["statement"].loc[table["charged_case"]].to_numpy()
        found: dict[int, tuple[Row, ...]] = {}
        for row in rows(table.assign(statement=statement)):
            found[row["case"]] = (*found.get(row["case"], ()), row)
        return found
