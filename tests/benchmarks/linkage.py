"""Matching beside a general-purpose record-linkage library, Splink, on the same months: one number in twenty misread.

Run: python -m tests.benchmarks.linkage (needs `pip install '.[benchmarks]'`)

Splink is given what its documentation advises: the same figures, compared for equality, numbers by Damerau and
Levenshtein's distance, rates trained on the month itself; its best pairs are taken one to one, as ours are.
"""

from __future__ import annotations

import logging
import sys
import warnings
from collections.abc import Callable
from typing import Any

import pandas as pd

from auditor.match import match
from auditor.match.figures import FIGURES, billed_figures, recorded_figures
from auditor.match.numbers import normalised
from auditor.match.pairing import SURE
from tests.benchmarks.timing import seconds
from tests.evaluation.misreadings import NAMED, Months, months

COUNT = 5_000
SETTINGS = ("random", "consecutive", "dated", "bad scan")
MISSING = (
    "This benchmark holds our matching beside the library Splink, which is not installed. "
    "Install it with: pip install '.[benchmarks]'"
)

Joins = pd.Series
"""The shipment of each billed number, by the number; missing where none was joined."""


def ours(month: Months) -> Joins:
    """The package's joins."""
    return match(month.lines, month.shipments).set_index("tracking")["shipment"]


def theirs(month: Months) -> Joins:
    """Splink's joins, at the same confidence."""
    from splink import DuckDBAPI, Linker, block_on

    api = DuckDBAPI()
    tables = [api.register(_billed(month.lines)), api.register(_recorded(month.shipments))]
    linker = Linker(tables, _settings(), log_level=None)
    train = linker.training
    train.estimate_probability_two_random_records_match([block_on("number")], recall=0.95)
    train.estimate_u_using_random_sampling(max_pairs=1_000_000, seed=1)
    for rule in (block_on("number"), block_on("shipped_on", "zone")):
        train.estimate_parameters_using_expectation_maximisation(rule)
    predicted: Any = linker.inference.predict(threshold_match_probability=SURE)
    pairs: pd.DataFrame = predicted.as_pandas_dataframe()
    return _one_to_one(pairs.sort_values("match_probability", ascending=False, kind="stable"))


def _settings() -> Any:
    import splink.comparison_library as compare
    from splink import SettingsCreator, block_on

    return SettingsCreator(
        link_type="link_only",
        comparisons=[
            compare.DamerauLevenshteinAtThresholds("number", [1, 2]),
            *(compare.ExactMatch(figure) for figure in FIGURES),
        ],
        blocking_rules_to_generate_predictions=[
            block_on("number"),
            block_on("order"),
            block_on("shipped_on", "zone"),
            block_on("shipped_on", "label_cents"),
            block_on("size", "weight", "label_cents"),
        ],
    )


def _billed(lines: pd.DataFrame) -> pd.DataFrame:
    first = billed_figures(lines, lines["tracking"])
    return _plain(first.assign(number=normalised(first.index.to_series()), unique_id="b" + first.index))


def _recorded(shipments: pd.DataFrame) -> pd.DataFrame:
    own = recorded_figures(shipments).assign(number=normalised(shipments["tracking"]))
    return _plain(own.assign(unique_id="r" + shipments.index.astype("str")))


def _plain(table: pd.DataFrame) -> pd.DataFrame:
    """As texts, since equality is all that is asked of a figure."""
    return (
        table[["unique_id", "number", *FIGURES]]
        .astype("str")
        .astype(object)
        .replace({"<NA>": None, "nan": None, "NaT": None})
    )


def _one_to_one(pairs: pd.DataFrame) -> Joins:
    """The likeliest pairs first, each number and each shipment once."""
    ids = pairs[["unique_id_l", "unique_id_r"]]
    turned = ids["unique_id_l"].str.startswith("r")
    billed = ids["unique_id_l"].mask(turned, ids["unique_id_r"]).str[1:]
    recorded = ids["unique_id_r"].mask(turned, ids["unique_id_l"]).str[1:].astype("Int64")
    best = pd.DataFrame({"billed": billed, "recorded": recorded})
    best = best[~best["billed"].duplicated() & ~best["recorded"].duplicated()]
    return best.set_index("billed")["recorded"]


def measured(name: str, joins: Callable[[Months], Joins]) -> str:
    """Recall, precision and seconds on one month."""
    month = months(COUNT, NAMED[name], seed=11)
    found: list[Joins] = []
    took = seconds(lambda: found.append(joins(month)))
    made = found[0].reindex(month.truth.index)
    right = (made == month.truth).fillna(value=False)
    recall, precision = right[month.truth >= 0].mean(), right[made.notna()].mean()
    return f"recall {recall:.4%}, precision {precision:.4%}, {took:.1f} s"


def main() -> None:
    """Print both, month by month."""
    try:
        import splink  # noqa: F401 - only whether it is there
    except ImportError:
        sys.exit(MISSING)
    logging.disable(logging.WARNING)
    warnings.simplefilter("ignore")
    for name in SETTINGS:
        print(f"{COUNT:,}, {name}: ours {measured(name, ours)}; Splink {measured(name, theirs)}")


if __name__ == "__main__":
    main()
