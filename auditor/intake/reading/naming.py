"""Each line's charge and state, by its name's words and what the amounts of that name show."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from auditor.core.arrays import Yes
from auditor.core.schemas import LINES, Problem, conform
from auditor.intake import statement, vocabulary
from auditor.intake.reading.charges import Named, named
from auditor.intake.reading.known import Known
from auditor.intake.reading.told import Told, charges_known, said_of, told_of
from auditor.intake.readings import OTHER, Reading

MOSTLY = 0.5


def with_charges(
    lines: pd.DataFrame, known: Known, own: Sequence[str] = (), readings: Sequence[Reading] = ()
) -> tuple[pd.DataFrame, dict[str, Named], list[Problem]]:
    """The lines with charge and state, by statement what its names mean, and what there is to say of that.

    What the user said of a name holds. One in the vocabulary is what it says unless its amounts deny it; any other is
    what its amounts show.

    Args:
        lines: LINES of however many statements.
        known: what is known beside them.
        own: names of charges that count as words known.
        readings: those kept, with what was said of charges.
    """
    by_words = statement.named(lines, tuple(own))
    if lines.empty:
        return by_words, {}, []
    groups = lines.groupby("statement", sort=False, dropna=False)
    found = {} if known.nothing else {str(number): named(them, known, own) for number, them in groups}
    shown = _as_shown(by_words, known, found) if found else by_words
    told = told_of(lines, readings, charges_known(known.charges, own))
    names = {**found, **{number: one.over(found.get(number, Named({}, {}))) for number, one in told.items()}}
    return _as_told(shown, known, told), names, [*said_of(lines, told, found)]


def _as_shown(by_words: pd.DataFrame, known: Known, found: dict[str, Named]) -> pd.DataFrame:
    """The lines with what amounts and words of their names show."""
    charge = _of_lines(by_words, found)
    told = charge.notna() & (charge != by_words["charge"]).fillna(value=True)
    denied = charge.isna() & by_words["charge"].notna()
    changed = by_words.assign(charge=by_words["charge"].mask(told, charge).mask(denied))
    changed["state"] = changed["state"].mask(denied & (changed["state"] == "label charge"), "fee")
    changed["state"] = changed["state"].mask(told, _states(changed, told.to_numpy(dtype=bool), known))
    return conform(changed, LINES)


def _as_told(lines: pd.DataFrame, known: Known, told: Mapping[str, Told]) -> pd.DataFrame:
    """The lines of names that the user told, each as the charge that it was said to be."""
    if not told:
        return lines
    none = Told()
    pairs = zip(lines["statement"].astype("str"), lines["description"], strict=True)
    said = pd.Series([told.get(number, none).of.get(text) for number, text in pairs], index=lines.index, dtype="str")
    other = said == OTHER
    changed = lines.assign(charge=lines["charge"].mask(said.notna(), said).mask(other))
    state = _states(changed, (said.notna() & ~other).to_numpy(dtype=bool), known)
    state = state.mask((state == "label charge") & (other | lines["tracking"].isna()), "fee")
    return conform(changed.assign(state=state), LINES)


def _of_lines(lines: pd.DataFrame, found: dict[str, Named]) -> pd.Series:
    """Each line's charge by its statement's names."""
    pairs = zip(lines["statement"].astype("str"), lines["description"], strict=True)
    of = [found[number].of.get(text) if isinstance(text, str) else None for number, text in pairs]
    return pd.Series(of, index=lines.index, dtype="str")


def _states(lines: pd.DataFrame, told: Yes, known: Known) -> pd.Series:
    """The state of lines whose charge the amounts show: a label's own, or what comes after it."""
    own = ~lines["charge"].isin(vocabulary.FEES).to_numpy(dtype=bool)
    negative = (lines["amount_cents"] < 0).fillna(value=False).to_numpy(dtype=bool)
    later = _later(lines, known)
    by_name = (
        pd.Series(later).groupby([lines["statement"].to_numpy(), lines["description"].to_numpy()]).transform("mean")
    )
    later |= (by_name > MOSTLY).to_numpy(dtype=bool)
    state = np.where(own, np.where(later, "adjustment", "label charge"), "fee")
    state = np.where(negative & ~(later & own), "credit", state)
    state = np.where(lines["charge"] == "tax", "tax", state)
    state = np.where(lines["amount_cents"].isna(), "not read", state)
    return pd.Series(np.where(told, state, lines["state"]), index=lines.index, dtype="str")


def _later(lines: pd.DataFrame, known: Known) -> Yes:
    """Which lines come after their parcel's label: a charge it had already, or what stands behind the label's sum."""
    order = lines.assign(at=range(len(lines))).sort_values(["statement_on", "at"], kind="stable")
    again = order.duplicated(["tracking", "charge"]) & order["tracking"].notna() & order["charge"].notna()
    row = known.rows_of(order["tracking"])
    cost = known.shipments["label_cost_cents"].reindex(row.fillna(-1).astype(int)).set_axis(order.index)
    run = order["amount_cents"].fillna(0).groupby(order["tracking"]).cumsum()
    paid = (run == cost).fillna(value=False)
    behind = paid.groupby(order["tracking"]).cumsum() - paid.astype(int) > 0
    later = again | behind.fillna(value=False)
    return later.reindex(lines.index).to_numpy(dtype=bool)
