"""Rules as the statements show them, where nearly all labels of a service are billed by others than those given.

Another divisor, fuel on other charges, a percentage off the freight as a line of its own: each is one thing to tell,
and no parcel is wrong for it. The labels are reckoned as they show, and it is asked once which holds.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations
from typing import Any

import pandas as pd

from auditor.charges.learned.fuel import MOST, charge_sums, fits_its_week, fits_table, of_labels, percentage
from auditor.charges.learned.rises import LEAST_STEPS
from auditor.charges.other_divisor import shown_divisor
from auditor.core.money import dollars, half_up
from auditor.core.schemas import Problem
from auditor.tariff import Prices, Rulebook, Tariff, column_of
from auditor.tariff.prices import plain
from auditor.tariff.rules import Charge, Dated, Fee

SHOWN = "as the labels on your statements show"
LEAST_LABELS = 8
"""So many labels of a service tell by what rules it is billed (chosen)."""

NO_LEAST = -(10**12)
"""Cents: what a percentage off comes to has no least amount."""

MOST_CHARGES = 6
"""Fuel is tried on every choice of so many charges beside freight."""


@dataclass(frozen=True)
class Shown:
    """The lines and the rules to reckon by, and how those differ from the rules given.

    `given`: the rules given, with percentages off beside them. `words`: what labels show otherwise, by service as it is
    compared. `taken_off`: the lines that take a percentage off. `problems`: what is told of those.
    """

    lines: pd.DataFrame
    book: Rulebook
    given: Rulebook
    words: Mapping[str, tuple[str, ...]]
    taken_off: pd.Index
    problems: tuple[Problem, ...]


def as_shown(lines: pd.DataFrame, shipments: pd.DataFrame, prices: Prices, book: Rulebook) -> Shown:
    """The rules given, changed where nearly all labels of a service show other ones.

    Args:
        lines: LINES with `shipment`, of recorded parcels only.
        shipments: SHIPMENTS.
        prices: the seller's own tables.
        book: the rules given.
    """
    of_line = plain_services(lines, shipments)
    found = dict(_percentages_off(lines, of_line))
    lines = _named(lines, of_line, found)
    given = book
    for service, off in found.items():
        given = _with_tariff(given, service, _taking_off(given.of(service), off))
    shown, words = given, dict[str, tuple[str, ...]]()
    for service, labels in lines[of_labels(lines)].groupby(of_line):
        tariff, told = _of_service(given.of(service), labels, shipments, prices, book)
        if told:
            shown = _with_tariff(shown, str(service), replace(tariff, name=f"{tariff.name}, as {service} is billed"))
            words[str(service)] = told
        elif tariff is not given.of(service):
            shown, given = (_with_tariff(one, str(service), tariff) for one in (shown, given))
    taken = lines.index[lines["charge"].isin([off.name for off in found.values()])]
    return Shown(lines, shown, given, words, taken, tuple(_told(lines.loc[taken], found)))


def plain_services(lines: pd.DataFrame, shipments: pd.DataFrame) -> pd.Series:
    """The service of each line's parcel, as compared: as recorded, else as printed."""
    recorded = shipments["service"].reindex(lines["shipment"].astype("int64")).set_axis(lines.index)
    return recorded.fillna(lines["service"]).map(plain)


def _with_tariff(book: Rulebook, service: str, tariff: Tariff) -> Rulebook:
    return replace(book, by_service={**book.by_service, service: tariff})


@dataclass(frozen=True)
class Off:
    """A line on each label that takes a percentage of its freight off: its words, and the percentage in millionths."""

    words: str
    ppm: int

    @property
    def name(self) -> str:
        """The charge's name."""
        return self.words.strip().casefold()


def _percentages_off(lines: pd.DataFrame, of_line: pd.Series) -> Iterator[tuple[str, Off]]:
    """By service, the negative line that stands on nearly every label, at one percentage of its freight."""
    freight = _freight(lines, "label charge")
    back = lines[(lines["state"] == "credit") & lines["charge"].isna() & lines["description"].notna()]
    back = back[back["amount_cents"].lt(0).fillna(value=False)]
    labels = freight.groupby(_first(of_line, lines, freight.index)).size()
    for (service, words), some in back.groupby([of_line[back.index], "description"]):
        once = some.drop_duplicates(["shipment", "statement"])
        key = pd.MultiIndex.from_frame(once[["shipment", "statement"]])
        seen = pd.DataFrame({"carried_cents": freight.reindex(key), "fuel_cents": -once["amount_cents"].to_numpy()})
        seen = seen[seen["carried_cents"].gt(0)].astype("int64")
        if len(seen) >= max(LEAST_LABELS, MOST * labels.get(service, 0)) and (ppm := percentage(seen)):
            yield str(service), Off(str(words), ppm)


def _freight(lines: pd.DataFrame, state: str) -> pd.Series:
    """The freight of each parcel and statement, of lines of a state."""
    mine = lines[(lines["state"] == state) & (lines["charge"] == "freight") & lines["amount_cents"].notna()]
    found: pd.Series = mine["amount_cents"].astype("int64").groupby([mine["shipment"], mine["statement"]]).sum()
    return found


def _first(of_line: pd.Series, lines: pd.DataFrame, keys: pd.Index) -> pd.Series:
    """The service of each parcel and statement."""
    found: pd.Series = of_line.groupby([lines["shipment"], lines["statement"]]).first().reindex(keys)
    return found


def _named(lines: pd.DataFrame, of_line: pd.Series, found: Mapping[str, Off]) -> pd.DataFrame:
    """The lines with those that take a percentage off called so: of the label, or of a correction."""
    key = pd.MultiIndex.from_frame(lines[["shipment", "statement"]])
    for state in ("label charge", "adjustment"):
        freight = _freight(lines, state).reindex(key).set_axis(lines.index).fillna(0).astype("int64")
        for service, off in found.items():
            due = pd.Series(-half_up(freight.to_numpy() * off.ppm, 1_000_000), index=lines.index)
            its = (of_line == service) & lines["charge"].isna() & (due != 0)
            its &= lines["description"].str.contains(off.words, case=False, regex=False).fillna(value=False)
            its &= ((lines["amount_cents"] - due).abs() <= 1).fillna(value=False)
            lines = lines.assign(charge=lines["charge"].mask(its, off.name), state=lines["state"].mask(its, state))
    return lines


def _taking_off(tariff: Tariff, off: Off) -> Tariff:
    """The tariff with a percentage off every freight beside its charges."""
    fee = Fee(cents=NO_LEAST, ppm=-off.ppm, of=("freight",))
    told = {"percent": f"-{off.ppm / 10_000:g}", "of": ["freight"]}
    dated = Dated(tariff.known_from, None, None, fee, SHOWN, told)
    return replace(
        tariff,
        name=f"{tariff.name}, with {off.name}",
        charges={**tariff.charges, off.name: Charge(off.name)},
        facts={**tariff.facts, f"charges.{off.name}.fee": (dated,)},
    )


def _told(taken: pd.DataFrame, found: Mapping[str, Off]) -> Iterator[Problem]:
    """A note for each percentage off: what it is, on how many labels, and what it comes to."""
    for off in dict.fromkeys(found.values()):
        mine = taken[(taken["charge"] == off.name) & (taken["state"] == "label charge")]
        yield Problem(
            str(mine["source_file"].iloc[0]),
            str(mine["source_place"].iloc[0]),
            f"{off.words!r} takes {off.ppm / 10_000:g} % off the freight of {len(mine):,} labels, "
            f"{dollars(-int(mine['amount_cents'].sum()))} in all. It was taken for a part of their price; look "
            "whether it is the percentage that your contract promises.",
            note=True,
        )


def _of_service(
    tariff: Tariff, labels: pd.DataFrame, shipments: pd.DataFrame, prices: Prices, book: Rulebook
) -> tuple[Tariff, tuple[str, ...]]:
    """The tariff as the labels of a service show it, and in words what they show otherwise than it says."""
    words: list[str] = []
    sums = charge_sums(labels, ["shipment"], tuple(tariff.charges))
    facts = _facts(labels, shipments, sums.index)
    base = _fuel_base(tariff, sums, facts, prices)
    said = tuple(tariff.fuel_on)
    if base != said:
        tariff = _with_fact(tariff, "fuel_on", base, {"charges": list(base)})
        off = [name for name in set(base) ^ set(said) if name in book.charges]
        words += [f"fuel is taken of {_listed(base)}, where the rules say of {_listed(said)}"] * bool(off)
    if divisor := shown_divisor(labels, shipments, tariff, prices):
        tariff = _with_fact(tariff, "dimensional_weight.divisor", divisor.value, {"value": divisor.written})
        words.append(divisor.words)
    return tariff, tuple(words)


def _listed(charges: Sequence[str]) -> str:
    return f"{charges[0]} alone" if len(charges) == 1 else f"{', '.join(charges[:-1])} and {charges[-1]}"


def _with_fact(tariff: Tariff, fact: str, value: Any, told: Mapping[str, Any]) -> Tariff:
    """The tariff with a fact as labels show it, from the first day on."""
    replaced = tariff.facts[fact][-1].written
    dated = Dated(tariff.known_from, None, None, value, SHOWN, told, replaced=replaced)
    return replace(tariff, facts={**tariff.facts, fact: (dated,)})


def _facts(labels: pd.DataFrame, shipments: pd.DataFrame, parcels: pd.Index) -> pd.DataFrame:
    """Service and ship date of each parcel."""
    printed = labels.groupby("shipment")[["service", "shipped_on"]].first().reindex(parcels)
    own = shipments.loc[parcels.astype("int64"), ["service", "shipped_on"]].set_axis(parcels)
    return own.fillna(printed).rename(columns={"shipped_on": "on"})


def _fuel_base(tariff: Tariff, sums: pd.DataFrame, facts: pd.DataFrame, prices: Prices) -> tuple[str, ...]:
    """The charges that the fuel of nearly all labels is a percentage of; those of the rules where these fit as well."""
    said = tuple(tariff.fuel_on)
    whole = (sums["unknown_cents"] == 0) & (sums["freight_cents"] > 0) & facts["on"].notna()
    sums, facts = sums[whole], facts[whole]
    if not said or len(sums) < LEAST_LABELS or not (sums["fuel_cents"] > 0).any():
        return said
    lines = {name: int((sums[column_of(name)] != 0).sum()) for name in tariff.charges}
    seen = sorted((name for name in lines if lines[name]), key=lambda name: -lines[name])[:MOST_CHARGES]
    others = [name for name in said if name not in (*seen, "freight")]
    bases = [
        tuple(name for name in ("freight", *tariff.charges) if name in {"freight", *some, *others})
        for count in range(len(seen) + 1)
        for some in combinations(seen, count)
    ]
    fuel = sums["fuel_cents"]
    of = {base: facts.assign(carried_cents=_carried(base, sums), fuel_cents=fuel) for base in (said, *bases)}
    tests: list[Callable[[pd.DataFrame], pd.Series]] = [fits_its_week]
    if len(prices.fuel):
        tests.insert(0, partial(fits_table, prices=prices))
    for test in tests:
        if test(of[said]).all():
            return said
        fits = {base: test(labels) for base, labels in of.items()}
        best = max(fits, key=lambda base: (int(fits[base].sum()), -len({*base} ^ {*said})))
        if fits[best].mean() >= MOST:
            break
    apart = of[best]["carried_cents"] != of[said]["carried_cents"]
    shows = fits[best].mean() >= MOST and apart.sum() >= LEAST_STEPS and fits[best][apart].mean() >= MOST
    if not shows or fits[said][apart].mean() >= MOST:
        return said
    # What the labels never bear is left as the rules say, but where they show that the rules name too much.
    fewer = bool(set(said) & set(seen) - set(best))
    return tuple(name for name in best if name in seen or name == "freight" or not fewer)


def _carried(base: Sequence[str], sums: pd.DataFrame) -> pd.Series:
    found: pd.Series = sums[[column_of(name) for name in base if column_of(name) in sums]].sum(axis=1)
    return found
