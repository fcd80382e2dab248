"""Both sides of every limit and every dated change of every shipped tariff, made from the rule files themselves.

A limit or a day that is put into a file is tested here without anybody writing a test for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pandas as pd
import pytest

from auditor.tariff import load, price, shipped
from auditor.tariff.limits import limits_passed
from auditor.tariff.rules import Rounding, Rules, Threshold
from tests.agreement import prices

SMALL = 3
"""Sides that do not matter to a limit are this many steps."""

Sides = tuple[int, int, int]


def every_limit() -> Iterator[Any]:
    """Each limit of each charge, and of what is not accepted, in each stretch of time."""
    for name in shipped():
        for since, rules in load(name).by_period.items():
            limits = [limit for charge in rules.charges for limit in charge.limits] + list(rules.not_accepted)
            for limit in limits:
                yield pytest.param(rules, limit, id=f"{name}-{since}-{limit.measure}-{float(limit.limit):.3g}")


def step_of(rules: Rules, limit: Threshold) -> int:
    """The steps in which a limit's measure goes up: the rule's, or single nanometres for sides as measured."""
    return 1 if limit.measured else rules.side_rounding.step


def least_more(rules: Rules, limit: Threshold) -> int:
    """The least that a side on a whole step must grow to count as a step more."""
    rounding = Rounding("none", 1) if limit.measured else rules.side_rounding
    return {"up": 1, "none": 1, "down": rounding.step, "nearest": (rounding.step + 1) // 2}[rounding.way]


def sides_at(rules: Rules, limit: Threshold) -> Sides:
    """Sides, in whole steps of the rule, that stand exactly on a limit."""
    step = rules.side_rounding.step
    at = limit.limit
    if limit.measure == "longest side":
        return int(at), SMALL * step, SMALL * step
    if limit.measure == "second side":
        return int(at), int(at), SMALL * step
    if limit.measure == "length plus girth":
        short = int(at / step) // 8 * step
        return int(at) - 4 * short, short, short
    assert limit.measure == "volume"
    return whole_factors(int(at / step**3), step)


def whole_factors(volume: int, step: int) -> Sides:
    """Three whole numbers as near to one another as may be whose product is the volume."""
    shortest = next(n for n in range(round(volume ** (1 / 3)) + 1, 0, -1) if volume % n == 0)
    rest = volume // shortest
    second = next(n for n in range(round(rest**0.5) + 1, 0, -1) if rest % n == 0)
    longest, second, shortest = sorted((rest // second, second, shortest), reverse=True)
    return longest * step, second * step, shortest * step


def parcel(rules: Rules, limit: Threshold, sides: Sides, weight: int) -> dict[str, Any]:
    """A parcel within the limit's scope."""
    service = min(limit.scope.services, default="priority mail")
    zone = min(limit.scope.zones, default="4")
    named = dict(zip(("length_nm", "width_nm", "height_nm"), sides, strict=True))
    shipped_on = pd.Timestamp(rules.since)
    return {"service": service, "zone": zone, "shipped_on": shipped_on, "weight_pg": weight, **named}


def passed(rules: Rules, limit: Threshold, sides: Sides, weight: int) -> bool:
    """Whether the engine says that the limit is passed."""
    one = parcel(rules, limit, sides, weight)
    charged = [found for _, found in limits_passed(one, {"billable_pg": 0}, rules)]
    if limit not in rules.not_accepted:
        return limit in charged
    reason = price(pd.DataFrame([one]), load(rules.tariff), prices())["unpriced"].iloc[0]
    return isinstance(reason, str) and reason.startswith("not accepted")


@pytest.mark.parametrize(("rules", "limit"), list(every_limit()))
def test_each_limit_is_passed_just_beyond_it_and_not_on_it(rules: Rules, limit: Threshold) -> None:
    """'Over' leaves the limit itself out, 'at least' takes it in; rounding comes first where the rule says so."""
    light = 10**14
    if limit.measure == "actual weight":
        sides = (SMALL * rules.side_rounding.step,) * 3
        assert passed(rules, limit, sides, int(limit.limit)) is limit.inclusive
        assert passed(rules, limit, sides, int(limit.limit) + 1)
        assert not passed(rules, limit, sides, int(limit.limit) - 1)
        return
    longest, second, shortest = sides_at(rules, limit)
    assert passed(rules, limit, (longest, second, shortest), light) is limit.inclusive
    assert not passed(rules, limit, (longest - step_of(rules, limit), second - step_of(rules, limit), shortest), light)
    more = least_more(rules, limit)
    assert passed(rules, limit, (longest + more, second + more, shortest), light)
    if more > 1:
        assert not passed(rules, limit, (longest + more - 1, second, shortest), light) or limit.inclusive


def every_change() -> Iterator[Any]:
    """Each day on which some fact of a tariff changes."""
    for name in shipped():
        for before, after in pairwise(load(name).periods):
            yield pytest.param(name, before, after, id=f"{name}-{after}")


@pytest.mark.parametrize(("name", "before", "after"), list(every_change()))
def test_each_dated_change_holds_from_its_day_and_not_the_day_before(name: str, before: date, after: date) -> None:
    """The rules of the day before are those of the stretch before; on the day itself something is cited otherwise."""
    tariff = load(name)
    eve, day = tariff.on(after - timedelta(days=1)), tariff.on(after)
    assert eve is tariff.by_period[before]
    assert day is tariff.by_period[after]
    assert eve is not None
    assert day is not None
    ends = [charge.fee_ended for charge in day.charges] != [charge.fee_ended for charge in eve.charges]
    looked = after - timedelta(days=1) == tariff.known_until
    assert dict(eve.cited) != dict(day.cited) or ends or looked
    assert day.last_known == (tariff.known_until if after > tariff.known_until else None)
