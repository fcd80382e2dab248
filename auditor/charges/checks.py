"""What is odd about a statement as a whole, or about dates: told as problems, so that no finding rests on it unsaid."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date

import pandas as pd

from auditor.charges.schema import Cases, by_rules
from auditor.core.money import dollars
from auditor.core.schemas import Problem
from auditor.match.strangers import Signs
from auditor.tariff import Rulebook
from auditor.tariff.prices import plain

ENOUGH_NUMBERS, HARDLY_ANY = 10, 0.1
"""A statement with at least so many numbers, of which at most this share is recorded, seems to be another account's."""

EARLY_DAYS = 7
"""A label may be bought, and billed, so many days before the parcel is shipped."""

MOST_NAMED = 3


def foreign(lines: pd.DataFrame, asked: pd.Series) -> pd.Series:
    """Which lines are of a statement that seems to be another account's: hardly any of its numbers is recorded.

    Args:
        lines: LINES with `shipment`.
        asked: which of them are about parcels that the records should have.
    """
    numbers = lines[asked & lines["tracking"].notna()].drop_duplicates(["statement", "tracking"])
    own = numbers["shipment"].notna().groupby(numbers["statement"], dropna=False)
    share, count = own.mean(), own.size()
    found: pd.Series = lines["statement"].isin(share.index[(count >= ENOUGH_NUMBERS) & (share <= HARDLY_ANY)])
    return found


def beyond_rules(cases: Cases, book: Rulebook) -> Iterator[Problem]:
    """One note for each tariff that was last looked at before some parcels were shipped."""
    counts: dict[tuple[str, date], int] = {}
    for rules, rows in by_rules(book, cases.before):
        if rules.last_known:
            parcels = cases.about.loc[rows, "shipment"].nunique()
            counts[rules.tariff, rules.last_known] = counts.get((rules.tariff, rules.last_known), 0) + parcels
    for (tariff, day), parcels in counts.items():
        several = "parcels were", "They are", "them"
        were, are, pronoun = several if parcels > 1 else ("parcel was", "It is", "it")
        message = (
            f"{parcels:,} {were} shipped after {day}, when the rules {tariff} were last looked at. {are} priced by the "
            f"rules of that day, the last that this version knows; each finding about {pronoun} says so. Look for a "
            "newer version of the program, or write what your carrier changed into a rule file of your own "
            "(docs/rules.md)."
        )
        yield Problem("", "", message, note=True)


def of_another_account(lines: pd.DataFrame) -> Iterator[Problem]:
    """One problem for each statement of such `lines`."""
    for (file, statement), billed in lines.groupby(["source_file", "statement"], dropna=False):
        numbers = billed["tracking"].dropna().drop_duplicates()
        own = billed.loc[numbers.index, "match"].isin(["exact", "spacing"]).sum()
        cents = int(billed.loc[billed["shipment"].isna(), "amount_cents"].sum())
        kept = f" What it bills for {'that one' if own == 1 else f'those {own}'} was audited." if own else ""
        yield Problem(
            str(file),
            "",
            f"Of the {len(numbers)} parcels on statement {statement} {own or 'none'} "
            f"{'is' if own < 2 else 'are'} in your shipping records, so it seems to be another account's. "  # noqa: PLR2004
            f"{dollars(cents)} of it was not audited.{kept} If the account is yours, add the shipping records of its "
            "parcels and run again; otherwise take the file out.",
        )


def forgotten(lines: pd.DataFrame, signs: Mapping[str, Signs]) -> Iterator[Problem]:
    """One question for each statement with parcels of `lines`, in no record, that look like the shop's own."""
    own = lines[lines["tracking"].isin({number for number, sign in signs.items() if sign.own})]
    for (file, statement), billed in own.groupby(["source_file", "statement"], dropna=False):
        numbers, cents = list(billed["tracking"].drop_duplicates()), int(billed["amount_cents"].sum())
        several = "parcels", "are in no record of yours but look like yours", "them"
        parcels, are, pronoun = (
            several if len(numbers) > 1 else ("parcel", "is in no record of yours but looks like yours", "it")
        )
        yield Problem(
            str(file),
            str(billed["source_place"].iloc[0]),
            f"{len(numbers):,} {parcels} on statement {statement} ({dollars(cents)}) {are}: {_first_few(numbers)}. Did "
            f"you forget to record {pronoun}? Add {pronoun} to your shipping records and run again. If you did not "
            f"send {pronoun}, say so: auditor disputes not-mine. Until then nothing can be said of that bill.",
            asks=True,
        )


def too_early(lines: pd.DataFrame, shipments: pd.DataFrame) -> Iterator[Problem]:
    """One problem for each statement that bills parcels before they were shipped.

    Either the statement is dated before the day recorded, or its ship date is, by more than EARLY_DAYS.
    """
    shipped = shipments["shipped_on"].reindex(lines["shipment"].astype("int64")).set_axis(lines.index)
    billed_as = lines["shipped_on"] + pd.Timedelta(days=EARLY_DAYS)
    early = (lines["statement_on"] < shipped) | (billed_as < shipped)
    parcels = lines.assign(recorded_on=shipped)[early].drop_duplicates(["statement", "shipment"])
    for (file, statement), billed in parcels.groupby(["source_file", "statement"], dropna=False):
        named = [
            f"{number} (recorded as shipped on {day:%Y-%m-%d})"
            for number, day in zip(billed["tracking"], billed["recorded_on"], strict=True)
        ]
        yield Problem(
            str(file),
            str(billed["source_place"].iloc[0]),
            f"Statement {statement}{_dated(billed)} bills before the day on which you shipped it: {_first_few(named)}. "
            "Look which date is wrong, and whether the number was used before; what is said of it rests on your date.",
        )


def without_label(lines: pd.DataFrame, shipments: pd.DataFrame) -> Iterator[Problem]:
    """A note for each statement that corrects parcels whose label no statement bills.

    Only for services of which some labels are on the statements: others are paid for when they are bought.
    """
    labelled = lines.loc[lines["state"] == "label charge", "shipment"].unique()
    unlabelled = ~lines["shipment"].isin(labelled) & lines["state"].isin(["adjustment", "credit"])
    services = set(map(plain, shipments["service"].loc[labelled].unique()))
    parcels = lines[unlabelled].drop_duplicates(["statement", "shipment"])
    service = parcels["shipment"].map(shipments["service"]).map(plain)
    parcels = parcels[service.isin(services)]
    for (file, statement), billed in parcels.groupby(["source_file", "statement"], dropna=False):
        message = (
            f"Statement {statement} changes the charge of a parcel whose label no statement among the files bills: "
            f"{_first_few(list(billed['tracking']))}. The label was taken to have cost what your declared figures come "
            "to. Add the statement with its first charge to have that checked too."
        )
        yield Problem(str(file), str(billed["source_place"].iloc[0]), message, note=True)


def without_price(reasons: pd.DataFrame) -> Iterator[Problem]:
    """One problem for each reason why parcels could not be priced, with how many they are and what was billed for them.

    Args:
        reasons: columns reason and billed_cents, a row for each parcel and statement that was not audited.
    """
    summed = reasons.groupby("reason")["billed_cents"].agg(["size", "sum"]).sort_values("sum", ascending=False)
    for reason, (parcels, cents) in zip(summed.index, summed.to_numpy().tolist(), strict=True):
        count = f"{parcels:,} parcels were" if parcels > 1 else "1 parcel was"
        yield Problem("", "", f"{count} not audited, {dollars(cents)} as billed: {reason}.")


def of_another_table(apart: Mapping[str, str]) -> Iterator[Problem]:
    """A note for each statement that the table of rates does not hold for, see `older_tables.Raised`."""
    for statement, words in apart.items():
        message = (
            f"All labels of statement {statement} have prices {words} than your price table says, from its first day "
            "on, and those of other statements follow that table: it does not hold for this one. Give the prices of "
            "its sender under a service name of their own; until then no difference from the table is called strong."
        )
        yield Problem("", "", message)


def off_table(services: Iterable[str]) -> Iterator[Problem]:
    """One problem for each service that is not billed by the seller's table."""
    for service in services:
        yield Problem(
            "",
            "",
            f"Most labels of service {service} cost something else than your price table says, and not by one "
            "percentage. Look whether it is that carrier's table, and of that time; until then no difference from it "
            "is called strong.",
        )


def _dated(lines: pd.DataFrame) -> str:
    day = lines["statement_on"].iloc[0]
    return "" if pd.isna(day) else f" of {day:%Y-%m-%d}"


def _first_few(names: list[str]) -> str:
    more = len(names) - MOST_NAMED
    return ", ".join(names[:MOST_NAMED]) + (f" and {more:,} more" if more > 0 else "")
