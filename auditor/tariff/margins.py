"""How far parcels are from each limit of their tariff, and how large each figure may be on this side of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction

import numpy as np
import pandas as pd

from auditor.core.arrays import Masked, Whole, Yes
from auditor.core.sides import FIGURES, SIDES
from auditor.tariff.figures import FLAGS, Figures, whole
from auditor.tariff.limits import Measured, limit_words, measure_words
from auditor.tariff.prices import plain
from auditor.tariff.rules import Charge, Rules, Scope, Threshold

FARTHEST = {**dict.fromkeys(SIDES, 10 * 10**9), "weight_pg": 10**18}
"""10 m and 1 t: no limit lies beyond."""

AT_ONCE = 63
NOT_ACCEPTED = "not accepted"

Billable = Callable[[pd.DataFrame], Whole]


def margins(parcels: pd.DataFrame, rules: Rules, billable: Billable) -> pd.DataFrame:
    """Each limit that holds for each parcel, and for each figure how large it may be, the others as they are.

    Args:
        parcels: as `price` takes them, all under `rules`.
        rules: the tariff as it stands on their day.
        billable: the billable weights (pg) of such parcels, for limits on that.

    Returns:
        Columns parcel (the row's label), charge ("not accepted" for limits of acceptance), limit (in words), counted
        (what is held against it, in words), passed, figure (one of FIGURES) and most, the greatest value of that
        figure (nm or pg) with which the limit is not passed. Only figures that decide alone have a row; where none
        does, each has one and `most` is missing.
    """
    frames = [
        _of_limit(parcels.loc[rows], name, limit, rules, billable)
        for name, limit, rows in _in_force(parcels, rules)
        if len(rows)
    ]
    columns = ["parcel", "charge", "limit", "counted", "passed", "figure", "most"]
    return pd.concat(frames, ignore_index=True) if frames else pd.DataFrame(columns=columns)


def _in_force(parcels: pd.DataFrame, rules: Rules) -> Iterator[tuple[str, Threshold, pd.Index]]:
    """Every limit with the name of its charge and the parcels it holds for."""
    for charge in rules.charges:
        for limit in charge.limits:
            yield charge.name, limit, parcels.index[_flagged(parcels, charge) & _covered(parcels, charge.scope, limit)]
    for limit in rules.not_accepted:
        yield NOT_ACCEPTED, limit, parcels.index[_covered(parcels, limit.scope)]


def _flagged(parcels: pd.DataFrame, charge: Charge) -> Yes:
    """The parcels that a charge's flag, where it has one, does not leave out."""
    if charge.applies_to is None:
        return np.ones(len(parcels), dtype=bool)
    column = FLAGS[charge.applies_to]
    flag = parcels[column] if column in parcels else pd.Series(data=False, index=parcels.index)
    return flag.astype("boolean").to_numpy(bool, na_value=False)


def _covered(parcels: pd.DataFrame, *of: Scope | Threshold) -> Yes:
    scopes = [one.scope if isinstance(one, Threshold) else one for one in of]
    where = zip(parcels["service"].map(plain), parcels["zone"].map(plain), strict=True)
    return np.array([all(scope.covers(*one) for scope in scopes) for one in where], dtype=bool)


def _of_limit(parcels: pd.DataFrame, name: str, limit: Threshold, rules: Rules, billable: Billable) -> pd.DataFrame:
    figures = {figure: whole(parcels[figure]) for figure in FIGURES}

    def passes(those: Mapping[str, Whole]) -> Yes:
        return _measured(those, rules).passes(limit, _billable(those))

    def _billable(those: Mapping[str, Whole]) -> Whole | None:
        return billable(parcels.assign(**those)) if limit.measure == "billable weight" else None

    most = [_most(figures, figure, passes) for figure in FIGURES]
    known = np.stack([one.known for one in most])
    times, count = len(FIGURES), len(parcels)
    table = pd.DataFrame(
        {
            "parcel": parcels.index.take(np.tile(np.arange(count), times)),
            "charge": name,
            "limit": limit_words(limit, rules),
            "counted": _counted(figures, limit, rules, _billable(figures)) * times,
            "passed": np.tile(passes(figures), times),
            "figure": [figure for figure in FIGURES for _ in range(count)],
            "most": pd.arrays.IntegerArray(np.concatenate([one.numbers for one in most]), ~known.ravel()),
        }
    )
    return table[(known | ~known.any(axis=0)).ravel()]


def _measured(figures: Mapping[str, Whole], rules: Rules) -> Measured:
    sides, weight = np.stack([figures[side] for side in SIDES]), figures["weight_pg"]
    return Measured(rules, Figures(sides, weight, {}, None, np.zeros(len(weight), dtype=np.intp)))


def _counted(figures: Mapping[str, Whole], limit: Threshold, rules: Rules, billable: Whole | None) -> list[str]:
    """What is held against the limit, in words."""
    measured = _measured(figures, rules)
    if limit.measure == "density":
        cubic = rules.side_rounding.step**3
        pairs = zip(figures["weight_pg"].tolist(), measured.volume.tolist(), strict=True)
        return [measure_words("density", Fraction(pg, max(steps, 1) * cubic), rules) for pg, steps in pairs]
    steps, size = measured.of(limit, billable)
    return [measure_words(limit.measure, one * size, rules) for one in steps.tolist()]


def _most(figures: Mapping[str, Whole], figure: str, passes: Callable[[Mapping[str, Whole]], Yes]) -> Masked:
    """The greatest value of a figure that does not pass; not known where it does not decide alone.

    Found by trying AT_ONCE values evenly between a low end that does not pass and a high end that does, over and over.
    """
    low = np.ones_like(figures[figure])
    high = np.full_like(low, FARTHEST[figure])
    decides = ~passes({**figures, figure: low}) & passes({**figures, figure: high})
    many = {name: np.repeat(values, AT_ONCE) for name, values in figures.items()}
    while decides.any() and (high - low).max() > 1:
        tried = low[:, None] + (high - low)[:, None] // (AT_ONCE + 1) * np.arange(1, AT_ONCE + 1)
        close = np.minimum(low[:, None] + np.arange(1, AT_ONCE + 1), high[:, None])
        tried = np.where((high - low)[:, None] > AT_ONCE, tried, close)
        over = passes({**many, figure: tried.ravel()}).reshape(tried.shape)
        ends = np.concatenate([low[:, None], tried, high[:, None]], axis=1)
        first = np.where(over.any(axis=1), over.argmax(axis=1), AT_ONCE) + 1
        low, high = (np.take_along_axis(ends, place[:, None], axis=1)[:, 0] for place in (first - 1, first))
    return Masked(low, decides)
