"""Rises of all prices: told from two prices for the same thing, an earlier and a later one."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd
import pytest

from auditor.charges.learned.rises import STEPS, Rise, rises

PRICES = (812, 955, 1437, 2216, 3081, 4470)
DAYS = pd.date_range("2026-03-02", periods=28, unit="s")


def of_table(service: str, percent: dict[str, str]) -> pd.DataFrame:
    """A label a day held against the table; `percent`: the rises by day."""
    labels = [(service, PRICES[place % 6], day) for place, day in enumerate(DAYS)]
    rows = [(of, cents, _risen(cents, day, percent), pd.NaT, day) for of, cents, day in labels]
    return _steps(rows)


def of_labels(service: str, percent: dict[str, str]) -> pd.DataFrame:
    """Each label held against the last one of the same price list's row."""
    rows = []
    for place in range(6, len(DAYS)):
        cents, earlier, later = PRICES[place % 6], DAYS[place - 6], DAYS[place]
        rows.append((service, _risen(cents, earlier, percent), _risen(cents, later, percent), earlier, later))
    return _steps(rows)


def _risen(cents: int, day: pd.Timestamp, percent: dict[str, str]) -> int:
    for since, by in percent.items():
        if day >= pd.Timestamp(since):
            cents = (2 * cents * (1_000 + round(float(by) * 10)) + 1_000) // 2_000
    return cents


def _steps(rows: Sequence[tuple[object, ...]]) -> pd.DataFrame:
    table = pd.DataFrame(rows, columns=list(STEPS))
    return table.astype({"before_on": "datetime64[s]", "after_on": "datetime64[s]"})


def told(found: tuple[Rise, ...]) -> list[tuple[str, str, str]]:
    """Service, day and words of each."""
    return [(one.service, f"{one.since:%m-%d}", one.percent) for one in found]


@pytest.mark.parametrize("steps", [of_table, of_labels])
def test_a_rise_is_told_with_its_day_and_percentage(steps: object) -> None:
    """With a table and without one."""
    assert callable(steps)
    found = rises(pd.concat([steps(name, {"2026-03-16": "5.9"}) for name in ("ground", "air")], ignore_index=True))
    assert told(found) == [("", "03-16", "rose by 5.9 %")]


@pytest.mark.parametrize("steps", [of_table, of_labels])
def test_prices_that_stay_have_no_rise(steps: object) -> None:
    """Nor do a few wrong ones make one."""
    assert callable(steps)
    table = steps("ground", {})
    assert rises(table) == ()
    table.loc[20:23, "after_cents"] += 84
    assert rises(table) == ()


def test_two_rises_of_one_table_are_both_told() -> None:
    """Each against what went before it."""
    found = rises(of_table("ground", {"2026-03-11": "4.9", "2026-03-20": "2"}))
    assert [(f"{one.since:%m-%d}") for one in found] == ["03-11", "03-20"]
    assert found[0].percent == "rose by 4.9 %"


def test_a_rise_of_one_service_is_told_of_that_alone() -> None:
    """The other's prices stay."""
    both = pd.concat([of_labels("ground", {"2026-03-16": "5.9"}), of_labels("air", {})], ignore_index=True)
    assert told(rises(both)) == [("ground", "03-16", "rose by 5.9 %")]


def test_prices_that_fall_alike_are_told_as_such() -> None:
    """A discount that begins."""
    assert told(rises(of_table("ground", {"2026-03-16": "-10"}))) == [("", "03-16", "fell by 10 %")]


def test_no_steps_show_no_rise() -> None:
    """A shop without labels."""
    assert rises(_steps([])) == ()
