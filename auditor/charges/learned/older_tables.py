"""The seller's own tables where the carrier's prices have changed since: brought up to what all labels show.

Where every label of a time shows the same change (all prices higher by one percentage, one charge's amounts, another
fuel percentage), the table is older than the prices. That is one thing to tell; no single parcel is wrong for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np
import pandas as pd

from auditor.charges.learned.fuel import fuel_seen, learned_fuel
from auditor.charges.learned.rates import labels_seen
from auditor.charges.learned.rises import LEAST_STEPS, STEPS, UNIT, Rise, rises, since_when
from auditor.charges.learned.shown_rules import Shown
from auditor.charges.schema import Cases
from auditor.core.arrays import Masked, Whole
from auditor.core.money import half_up
from auditor.core.schemas import FEES, FUEL, RATES, conform
from auditor.tariff import Prices, Rulebook, price
from auditor.tariff.price import sheet_of
from auditor.tariff.prices import day_numbers, plain

HALF = 0.5
"""Where more labels than this share cost something else than the table says, it need not be the carrier's."""


class Change(NamedTuple):
    """From `since` on amounts of a table ("rates", "fees", "fuel") are those that labels show.

    `of`: the service or charge that it concerns, as they are compared; "" for all.
    """

    table: str
    of: str
    since: pd.Timestamp


@dataclass(frozen=True)
class Raised:
    """The prices to reckon by; and where labels show the tables given to be older, how, and the prices as given.

    `changes`: of which tables amounts are no longer the seller's own, and since when.

    `apart`: the statements for which the table of rates does not hold, each with how its prices differ.

    `doubted`: the services, as they are compared, of which most labels cost neither what the table says nor one
    percentage more.
    """

    prices: Prices
    older: Prices | None = None
    words: tuple[str, ...] = ()
    doubted: frozenset[str] = frozenset()
    changes: tuple[Change, ...] = ()
    apart: Mapping[str, str] = field(default_factory=dict)

    @property
    def doubted_names(self) -> list[str]:
        """Those as the table spells them."""
        names = _spelled(self.prices.rates["service"])
        return sorted(names[service] for service in self.doubted)


def raised(prices: Prices, lines: pd.DataFrame, shipments: pd.DataFrame, book: Rulebook) -> Raised:
    """The prices with the seller's own tables brought up to what all labels show.

    Args:
        prices: the seller's tables, and learned ones in the place of those not given; these stay.
        lines: LINES with `shipment`, of recorded parcels only.
        shipments: SHIPMENTS.
        book: the rules.
    """
    held = Raised(prices)
    if "rates" not in prices.learned and len(prices.rates):
        seen = labels_seen(lines, shipments, prices, book)
        statement = lines[lines["state"] == "label charge"].groupby("shipment")["statement"].first()
        held = Raised(prices, apart=dict(_apart(seen, statement.reindex(seen.index), prices)))
        lines = lines[~lines["statement"].isin(list(held.apart))]
        held = _with_rates(held, seen[~statement.reindex(seen.index).isin(list(held.apart))])
    if "fees" not in prices.learned and len(prices.fees):
        held = _with_fees(held, lines)
    if "fuel" not in prices.learned and len(prices.fuel):
        held = _with_fuel(held, lines, shipments, book)
    return replace(held, older=prices) if held.words else held


def _apart(seen: pd.DataFrame, statement: pd.Series, prices: Prices) -> Iterator[tuple[str, str]]:
    """Statements whose labels all differ from the table alike, while others of that time and service follow it."""
    seen = _listed(prices, seen)
    statement = statement.loc[seen.index]
    steps = _steps(seen["service"], seen["listed_cents"], seen["cents"], seen["shipped_on"])
    follows = steps[steps["before_cents"] == steps["after_cents"]]
    for name, mine in steps.groupby(statement):
        found = rises(mine)
        begun = follows["after_on"] >= mine["after_on"].min()
        others = follows[begun & (statement != name)[follows.index] & follows["service"].isin(mine["service"])]
        if len(found) == 1 and found[0].since == mine["after_on"].min() and len(others) >= LEAST_STEPS:
            more = "higher" if found[0].ppm > UNIT else "lower"
            yield str(name), f"{abs(found[0].ppm - UNIT) / 10_000:g} % {more}"


def _with_rates(held: Raised, seen: pd.DataFrame) -> Raised:
    """A further list from each day on which the prices of all labels rise by one percentage."""
    listed = _listed(held.prices, seen)
    found = rises(_steps(listed["service"], listed["listed_cents"], listed["cents"], listed["shipped_on"]))
    rates, names = held.prices.rates, _spelled(held.prices.rates["service"])
    for rise in found:
        table = _in_force(rates, rates["service"], ["service"], rise)
        further = _further(table, "price_cents", rise)
        further = further.assign(price_cents=_as_shown(further, seen[seen["shipped_on"] >= rise.since]))
        rates = conform(pd.concat([rates, further], ignore_index=True), RATES)
    of_service = (f" of {names[rise.service]}" if rise.service else "" for rise in found)
    words = tuple(
        f"prices{service} {rise.percent} on {rise.since:%Y-%m-%d}, for all zones and weights alike"
        for rise, service in zip(found, of_service, strict=True)
    )
    prices = Prices(rates, held.prices.fees, held.prices.fuel)
    changes = tuple(Change("rates", rise.service, rise.since) for rise in found)
    return replace(held, prices=prices, words=words, doubted=frozenset(_doubted(prices, seen)), changes=changes)


def _with_fees(held: Raised, lines: pd.DataFrame) -> Raised:
    """Further amounts from each day on which all lines of a charge are higher by one percentage."""
    prices = held.prices
    charged = lines[lines["charge"].notna() & lines["amount_cents"].gt(0).fillna(value=False)]
    charged = charged[charged["shipped_on"].notna() & charged["state"].isin(["label charge", "adjustment", "fee"])]
    keys = zip(charged["charge"], charged["zone"].map(plain), day_numbers(charged["shipped_on"]).tolist(), strict=True)
    listed = pd.Series([prices.fee(*key) for key in keys], index=charged.index, dtype="Int64").fillna(0).astype("int64")
    steps = _steps(charged["charge"], listed, charged["amount_cents"].astype("int64"), charged["shipped_on"])
    found = [
        replace(rise, service=str(service))
        for service, steps_of in steps.groupby("service")
        for rise in rises(steps_of)
    ]
    fees, names = prices.fees, _spelled(prices.fees["charge"])
    for rise in found:
        table = _in_force(fees, fees["charge"], ["charge", "zone"], rise)
        fees = conform(pd.concat([fees, _further(table, "amount_cents", rise)], ignore_index=True), FEES)
    words = (f"the amount of {names[rise.service]} {rise.percent} on {rise.since:%Y-%m-%d}" for rise in found)
    changes = (Change("fees", rise.service, rise.since) for rise in found)
    return replace(
        held,
        prices=Prices(prices.rates, fees, prices.fuel),
        words=(*held.words, *words),
        changes=(*held.changes, *changes),
    )


def _with_fuel(held: Raised, lines: pd.DataFrame, shipments: pd.DataFrame, book: Rulebook) -> Raised:
    """Other percentages from the day on from which nearly all labels of a service show them."""
    prices = held.prices
    learned: Prices | None = None
    fuel, words, changes = prices.fuel, dict.fromkeys(held.words), list(held.changes)
    for service, labels in fuel_seen(lines, shipments, book).groupby("service"):
        name, days = plain(service), day_numbers(labels["on"])
        given = _ppm(prices, name, days)
        off = _fuel(labels, given.numbers) != labels["fuel_cents"]
        if off.sum() < LEAST_STEPS:
            continue
        learned = learned or Prices(prices.rates, prices.fees, learned_fuel(lines, shipments, prices, book))
        shown = _ppm(learned, name, days)
        by_shown = _fuel(labels, shown.numbers) == labels["fuel_cents"]
        since = since_when(by_shown & off & given.known & shown.known, labels["on"])
        if since is not None:
            fuel = _other_fuel(fuel, learned.fuel, str(service), since)
            changes.append(Change("fuel", name, since))
            day = int(day_numbers(pd.Series([since]))[0])
            old, new = ((table.fuel_ppm(name, day) or 0) / 10_000 for table in (prices, learned))  # both are known then
            words[f"fuel is {new:g} % from {since:%Y-%m-%d} on, and your table says {old:g} %"] = None
    raised_fuel = Prices(prices.rates, prices.fees, fuel)
    return replace(held, prices=raised_fuel, words=tuple(words), changes=tuple(changes))


def _ppm(prices: Prices, service: str, days: Whole) -> Masked:
    return Masked.of(prices.fuel_ppm(service, day) for day in days.tolist())


def _fuel(labels: pd.DataFrame, ppm: Whole) -> Whole:
    return half_up(labels["carried_cents"].to_numpy(dtype=np.int64) * ppm, 1_000_000)


def _other_fuel(fuel: pd.DataFrame, learned: pd.DataFrame, service: str, since: pd.Timestamp) -> pd.DataFrame:
    """The fuel table with rows of its own for a service: those given until a day, those learned from then on."""
    own = fuel[fuel["service"].map(plain) == plain(service)]
    own = own if len(own) else fuel[fuel["service"].isna()]
    shown = learned[learned["service"].isna() | (learned["service"].map(plain) == plain(service))]
    before = own[own["effective_on"].isna() | (own["effective_on"] < since)]
    begun = shown[shown["effective_on"] <= since].tail(1).assign(effective_on=since)
    rows = pd.concat([before, begun, shown[shown["effective_on"] > since]]).assign(service=service)
    others = fuel[fuel["service"].map(plain) != plain(service)]
    return conform(pd.concat([others, rows], ignore_index=True), FUEL)


def _steps(names: pd.Series, before: pd.Series, after: pd.Series, on: pd.Series) -> pd.DataFrame:
    """A step from the table to each label, as `rises` takes them."""
    always = pd.Series(pd.NaT, index=names.index, dtype="datetime64[s]")
    columns = (names.map(plain), before, after, always, on)
    return pd.DataFrame(dict(zip(STEPS, columns, strict=True)))


def _listed(prices: Prices, seen: pd.DataFrame) -> pd.DataFrame:
    """The labels of which the table has a price, with that as `listed_cents`."""
    sheet, line_of = sheet_of(seen, prices)
    found = prices.freight_cents(sheet.line[line_of], seen["billable_pg"].to_numpy(dtype=np.int64))
    return seen.assign(listed_cents=found.numbers)[found.known]


def _doubted(prices: Prices, seen: pd.DataFrame) -> Iterator[str]:
    """The services of which most labels cost something else than the table says."""
    listed = _listed(prices, seen)
    off = listed["listed_cents"] != listed["cents"]
    for service, is_off in off.groupby(listed["service"].map(plain)):
        if is_off.sum() >= LEAST_STEPS and is_off.mean() > HALF:
            yield str(service)


def _spelled(names: pd.Series) -> dict[str, str]:
    """Names by how they are compared, as the table spells them."""
    return {plain(name): str(name) for name in names.dropna().unique()}


def _in_force(table: pd.DataFrame, names: pd.Series, keys: list[str], rise: Rise) -> pd.DataFrame:
    """The rows in force on the day of a rise, of what it concerns."""
    begun = pd.Series(day_numbers(table["effective_on"]), index=table.index)
    mine = table[(begun <= int(day_numbers(pd.Series([rise.since]))[0])) & rise.covers(names.map(plain))]
    by = [mine[key].map(plain) for key in keys]
    return mine[begun.loc[mine.index] == begun.loc[mine.index].groupby(by).transform("max")]


def _further(table: pd.DataFrame, amount: str, rise: Rise) -> pd.DataFrame:
    """Those rows from the day of the rise on."""
    words = f"; {rise.percent} on {rise.since:%Y-%m-%d}, as your labels show"
    return table.assign(
        **{amount: rise.of(table[amount].to_numpy(dtype=np.int64))},
        effective_on=rise.since,
        source_place=table["source_place"].fillna("") + words,
    )


def _as_shown(table: pd.DataFrame, seen: pd.DataFrame) -> pd.Series:
    """The prices of a list, each that labels show within a cent as most of those show it."""
    keys = ["service", "zone"]
    listed = table.assign(row=table.index, **{key: table[key].map(plain) for key in keys}).sort_values("up_to_pg")
    labels = seen.assign(**{key: seen[key].map(plain) for key in keys}).sort_values("billable_pg")
    joined = pd.merge_asof(
        labels.astype({"billable_pg": "int64"}),
        listed.astype({"up_to_pg": "int64"})[["row", "up_to_pg", "price_cents", *keys]],
        left_on="billable_pg",
        right_on="up_to_pg",
        by=keys,
        direction="forward",
    ).dropna(subset=["row"])
    near = joined[(joined["cents"] - joined["price_cents"].astype("int64")).abs() <= 1]
    count = near.groupby(["row", "cents"]).size().rename("labels").reset_index().sort_values("labels")
    shown = count.drop_duplicates("row", keep="last").set_index("row")["cents"]
    prices: pd.Series = table["price_cents"].where(~table.index.isin(shown.index), shown.reindex(table.index))
    return prices.astype("int64")


def more_by_statement(cases: Cases, held: Raised, rules: Shown) -> pd.DataFrame:
    """What labels cost by the prices and rules reckoned by and by those given, where that differs.

    Returns:
        A row for each statement: the case of its first such label, labels (their count), raised_cents, given_cents, and
        services, of those labels, as compared.
    """
    service = cases.before["service"].map(plain)
    changed = service.isin(list(rules.words)) | (held.older is not None)
    label = cases.before[cases.about["first"] & ~cases.about["voided"] & changed]
    by_raised = price(label, rules.book, held.prices)
    by_given = price(label, rules.given, held.older or held.prices)
    both = pd.DataFrame({"given_cents": by_given["total_cents"], "raised_cents": by_raised["total_cents"]}).dropna()
    both = both[both["given_cents"] != both["raised_cents"]].astype("int64")
    summed = both.assign(case=both.index, service=service[both.index]).groupby(
        cases.about["statement"].loc[both.index], dropna=False
    )
    return summed.agg(
        case=("case", "first"),
        labels=("case", "size"),
        raised_cents=("raised_cents", "sum"),
        given_cents=("given_cents", "sum"),
        services=("service", frozenset),
    )
