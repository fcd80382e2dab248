"""The chapter on cartons: what the study of the shop's habits says, as the page's template needs it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice

import pandas as pd

from auditor.audit import Audit
from auditor.habits import Habits
from auditor.habits.advice import cautions
from auditor.habits.advice.trims import COSTLY_CENTS
from auditor.habits.advice.words import changes_told, trends_told
from auditor.habits.flat_charge import EVERY, flat_charges, left_over, parcel_costs, sentences
from auditor.report import wording
from auditor.report.groups import by_carton
from auditor.report.html.carton_charts import chance_chart, cuts_of, density, weights_chart, weights_seen
from auditor.report.html.chart import Bar, bars
from auditor.report.html.ruler import own_readings, ruler
from auditor.report.plain import Row, plain_rows

MOST_PICTURES = 24
PARTS = list(wording.SHARES.values())
PAID_BY = {EVERY: "All parcels", "carton": "By carton", "zone": "By zone", "month": "By month of shipping"}


def chapter(audit: Audit) -> Row:
    """What the template is given of habits, by name."""
    habits = audit.habits
    months = _months(habits)
    return {
        "cartons": plain_rows(habits.cartons),
        "advice": {str(carton): list(own["sentence"]) for carton, own in habits.advice.groupby("carton", sort=False)},
        "costly_cents": COSTLY_CENTS,
        "cautions": cautions.of_advice(habits.advice, habits.history.parcels.table["weight_pg"]),
        "months": months,
        "parts": _parts(months),
        "looks": {name: look for look, name in enumerate(PARTS)},
        "changes": list(changes_told(habits.changes)),
        "trends": list(trends_told(habits.cartons)),
        "gaps": habits.gaps,
        "notes": habits.notes,
        "paid": _paid(audit),
        "pictures": list(islice(_pictures(audit, habits), MOST_PICTURES)),
    }


def _months(habits: Habits) -> tuple[Bar, ...]:
    """What was over expected by month of shipping, in parts by cause."""
    sums = habits.by_month.groupby("month_on")[list(wording.SHARES)].sum()
    amounts = ([(name, int(cents)) for name, cents in zip(PARTS, row, strict=True)] for row in sums.to_numpy())
    return bars(zip(map(wording.month, sums.index), amounts, strict=True), PARTS)


def _parts(months: Sequence[Bar]) -> list[str]:
    """The causes that cost something in some month, the dearest first."""
    cents = {name: sum(bar.amounts[name] for bar in months) for name in PARTS}
    shown = [name for name in PARTS if any(bar.amounts[name] for bar in months)]
    return sorted(shown, key=lambda name: -cents[name])


def _paid(audit: Audit) -> Row:
    """What buyers paid for shipping against what it cost: sentences, and a row a group; no row where it is not known.

    No sentence either where nothing was shipped.
    """
    costs = parcel_costs(audit.shipments, audit.lines, audit.cartons)
    left, flat = left_over(costs), flat_charges(costs, audit.habits.cover)
    both = left.merge(flat.drop(columns="parcels"), on=["by", "group"], how="left")
    days = pd.to_datetime(both["group"].where(both["by"] == "month"), format="%Y-%m", errors="coerce")
    both["group"] = both["group"].mask(days.notna(), days.map(wording.month, na_action="ignore"))
    groups = [(PAID_BY[str(by)], plain_rows(group)) for by, group in both.groupby("by", sort=False)]
    words = list(sentences(left, flat[flat["by"] == EVERY])) if len(audit.shipments) else []
    every = left.loc[left["by"] == EVERY, "back_charge_cents"]
    corrections = int(every.iloc[0]) if len(every) else None
    return {"sentences": words, "groups": groups, "share": audit.habits.cover, "corrections_cents": corrections}


def _pictures(audit: Audit, habits: Habits) -> Iterator[Row]:
    """For each carton, dearest first, what can be drawn of it; nothing for one of which nothing can."""
    readings = dict(iter(audit.readings.groupby(_carton_of_readings(audit, habits))))
    declared = {row["carton"]: row["length_nm"] for row in plain_rows(habits.cartons)}
    dearest = [*declared, *by_carton(audit.findings)["name"], *readings]
    for name in dict.fromkeys(name for name in dearest if name in declared or name in readings):
        own = readings.get(name, audit.readings[:0])
        drawn = {
            "ruler": ruler(name, own, audit.limits, density(habits, name, declared.get(name))),
            "chance": chance_chart(habits, name),
            "weights": weights_chart(habits, name),
        }
        if any(drawn.values()):
            fit = habits.readings[(habits.readings["carton"] == name) & (habits.readings["figure"] == "length_nm")]
            tables = {"fit": fit, "cuts": cuts_of(habits, name), "seen": weights_seen(habits, name)}
            in_rows = {what: plain_rows(table) for what, table in tables.items()}
            yield {"carton": name, "readings": _counted_readings(own), **drawn, **in_rows}


def _carton_of_readings(audit: Audit, habits: Habits) -> pd.Series:
    """The carton of each reading, as the study of habits names it; as recorded where it says nothing of it."""
    first = audit.shipments.drop_duplicates("tracking")
    carton = habits.history.groups.of_shipment.reindex(first.index)
    studied = audit.readings["shipment_tracking"].map(pd.Series(carton.to_numpy(), index=first["tracking"]))
    return studied.astype("str").fillna(audit.readings["carton"])


def _counted_readings(readings: pd.DataFrame) -> list[Row]:
    key = ["declared_length_nm", "measured_length_nm", "measured_rounded"]
    return plain_rows(own_readings(readings).groupby(key).size().rename("parcels").reset_index())
