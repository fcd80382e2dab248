"""What `auditor whatif` says: a sentence with its uncertainty, a table by carton and month, and what was assumed."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from auditor.core.characters import seen
from auditor.core.money import dollars
from auditor.habits.what_if import EVERY, Scene
from auditor.report.plain import Row, plain_rows
from auditor.report.wording import counted

WIDEST = 24
INTERVAL = (
    "The range holds the true figure nine times in ten, as far as the carrier's readings go; labels are exact. "
    "It says nothing of how many parcels of what kind later months will have."
)
NO_INTERVAL = (
    "There is no history of readings for these parcels, so back-charges rest on the tolerance of the carrier's device "
    "alone and the difference has no range. More months of statements give one."
)


def lines_of(table: pd.DataFrame, before: Scene, after: Scene) -> Iterator[str]:
    """WHAT_IF in words: the answer, the table, what was assumed, and what the answer does not say."""
    total = plain_rows(table[(table["carton"] == EVERY) & (table["month"] == EVERY)])[0]
    months, cartons = before.parcels["month"].nunique(), before.parcels["carton"].nunique()
    yield _answer(total, months)
    if total["unpriced"]:
        yield (
            f"Left out: {counted(total['unpriced'], 'parcel')} without a price before or after the change, as "
            f"{why_unpriced(before) or why_unpriced(after)}."
        )
    yield ""
    # With one month, or one carton, the rows over all say the same again.
    repeated = (table["month"] == EVERY) & (months == 1) | (table["carton"] == EVERY) & (cartons == 1)
    yield from _table(table[~repeated & (table["parcels"] > 0)])
    yield ""
    yield from after.assumed
    yield NO_INTERVAL if total["difference_low_cents"] == total["difference_high_cents"] else INTERVAL
    yield from after.cautions


def why_unpriced(scene: Scene) -> str:
    """The commonest reason why parcels of a scene have no price; "" when all have one."""
    from auditor.tariff import price

    reasons = price(scene.parcels, scene.book, scene.prices)["unpriced"].dropna().astype(str)
    return str(reasons.mode().iloc[0]) if len(reasons) else ""


def _answer(total: Row, months: int) -> str:
    if not total["parcels"]:
        return "No parcel has a price both before and after the change, so nothing can be said."
    if not total["difference_cents"] and total["difference_low_cents"] == total["difference_high_cents"]:
        return f"This would have changed nothing over {counted(total['parcels'], 'parcel')}."
    cents, low, high = (total[f"difference_{end}cents"] for end in ("", "low_", "high_"))
    word = "saved" if cents < 0 else "cost"
    least, most = sorted((-low, -high) if cents < 0 else (low, high))
    interval = "" if low == high else f" (range {dollars(least)} to {dollars(most)})"
    monthly = f", {dollars(round(abs(cents) / months))} a month" if months > 1 else ""
    return (
        f"Over {counted(months, 'month')} and {counted(total['parcels'], 'parcel')} this would have {word} "
        f"{dollars(abs(cents))}{interval}{monthly}: labels {_change(total, 'label')}, expected back-charges "
        f"{_change(total, 'back_charge')}{_other(total)}."
    )


def _change(total: Row, what: str) -> str:
    return f"{dollars(total[f'{what}_before_cents'])} → {dollars(total[f'{what}_after_cents'])}"


def _other(total: Row) -> str:
    more = total["other_cents"]
    return f", cartons {dollars(abs(more))} {'more' if more > 0 else 'less'}" if more else ""


def _table(table: pd.DataFrame) -> Iterator[str]:
    heads = ("labels", "→", "back-charges", "→", "difference", "range")
    yield f"  {'carton':<{WIDEST}} {'month':<8} {'parcels':>7} " + " ".join(f"{head:>12}" for head in heads)
    for row in plain_rows(table):
        cells = [row["label_before_cents"], row["label_after_cents"], row["back_charge_before_cents"]]
        cells += [row["back_charge_after_cents"], row["difference_cents"]]
        ends = f"{dollars(row['difference_low_cents'])} to {dollars(row['difference_high_cents'])}"
        name = seen(row["carton"])[:WIDEST]
        money = " ".join(f"{dollars(cell):>12}" for cell in cells)
        yield f"  {name:<{WIDEST}} {row['month']:<8} {row['parcels']:>7,} {money}  {ends}"


def flat_table(left: pd.DataFrame) -> Iterator[str]:
    """LEFT_OVER as a table."""
    heads = ("paid", "labels", "cartons", "fees", "corrections", "left")
    yield f"  {'':<{WIDEST}} {'parcels':>7} " + " ".join(f"{head:>12}" for head in heads) + "  at a loss"
    for row in plain_rows(left):
        cells = [row["buyer_paid_cents"], row["label_cents"], row["carton_cents"], row["fees_cents"]]
        cells += [row["back_charge_cents"], row["left_cents"]]
        name = EVERY if row["by"] == EVERY else f"{row['by']} {row['group']}"
        plain = seen(name)[:WIDEST]
        money = " ".join(f"{dollars(cell):>12}" for cell in cells)
        yield f"  {plain:<{WIDEST}} {row['parcels']:>7,} {money}  {row['losing']:>9,}"
