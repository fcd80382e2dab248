"""The evaluation's page is made by the command, its counts are right, and its months hold what they say."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pandas as pd
import pytest
from lxml.etree import fromstring

from tests.benchmarks import linkage
from tests.evaluation import disclosed, layouts, learning, planted
from tests.evaluation.ceiling import likeliest
from tests.evaluation.held import NOTHING, reliability, reliability_rows, scores
from tests.evaluation.measured import Habit, listed, lump, month, surcharges, truths
from tests.evaluation.misreadings import KINDS, SETTINGS, months
from tests.evaluation.page import PLOT, Results, page, plot, shape
from tests.evaluation.plot import reliability_svg

DOCS = Path(__file__).parents[2] / "docs"

NUMBERS = pd.DataFrame(
    {
        "setting": pd.Series(dtype="str"),
        "truth": pd.Series(dtype=int),
        "misread": pd.Series(dtype=bool),
        "shipment": pd.Series(dtype="Int64"),
        "right": pd.Series(dtype=bool),
        "said": pd.Series(dtype="Float64"),
        "said_right": pd.Series(dtype=bool),
    }
)
MEASURED = pd.Series(dtype=float), pd.Series(dtype=float), pd.DataFrame({"known": [], "learned": []})
INTERVALS = pd.DataFrame({"what": pd.Series(dtype="str"), "held": pd.Series(dtype=bool)})
NO_RUN = Results(
    planted=dict.fromkeys(planted.LAYOUTS, NOTHING),
    layouts=dict.fromkeys(layouts.LAYOUTS, NOTHING),
    disclosed=dict.fromkeys(disclosed.NAMED, NOTHING),
    matching=NUMBERS,
    learning=dict.fromkeys(learning.MONTHS, MEASURED),
    habits=INTERVALS,
    uncut=INTERVALS,
)


def test_the_page_has_the_shape_that_the_command_writes() -> None:
    """Its words, tables, headings and the names of its rows: `python -m tests.evaluation --write` writes it anew."""
    written = (DOCS / "evaluation.md").read_text(encoding="utf-8")
    assert shape(written) == shape(page(NO_RUN))


def test_every_figure_of_the_page_is_there() -> None:
    """No row of a table is left without numbers, but for ranges that nothing fell into."""
    written = (DOCS / "evaluation.md").read_text(encoding="utf-8")
    tables = [line for line in written.splitlines() if re.match(r"\| (?!---)", line)]
    empty = [line for line in tables if "| – |" in line and not re.match(r"\| 0\.\d\d to", line)]
    assert [line for line in empty if "all figures" not in line and "a notice" not in line] == []


def test_the_plot_is_a_picture_with_a_title_and_a_dot_for_each_range() -> None:
    """And so is the one in docs/."""
    table = reliability(pd.Series([0.9, 0.92, 0.55]), pd.Series([True, False, True]))
    drawn = fromstring(reliability_svg({"Here & there": table}).encode())
    assert len(drawn.findall(".//{*}circle")) == 2
    assert fromstring(plot(NO_RUN).encode()).findall(".//{*}circle") == []
    picture = fromstring((DOCS / PLOT).read_bytes())
    assert picture.find("{*}title") is not None
    assert len(picture.findall(".//{*}circle")) > 10


def test_reliability_counts_what_was_said_by_range_with_an_interval() -> None:
    """Of nine in ten right at 0.9 the 95 % interval after Wilson is 0.596 to 0.982."""
    table = reliability(pd.Series([0.9] * 10 + [0.2]), pd.Series([True] * 9 + [False, True]))
    row = table[table["count"] > 0].iloc[0]
    assert (row["low"], row["high"], row["count"], row["said"], row["right"]) == (0.87, 0.93, 10, 0.9, 0.9)
    assert (round(row["from"], 3), round(row["to"], 3)) == (0.596, 0.982)
    assert "| 0.87 to 0.93 | 10 | 0.900 | 0.900 | 0.596 to 0.982 |" in reliability_rows(table)


def test_scores_count_planted_found_right_and_false() -> None:
    """Four planted, three found, two with the right cause, one to the cent, and one false finding."""
    table = pd.DataFrame(
        {
            "planted": [True, True, True, True, False],
            "found": [True, True, True, False, True],
            "cause_right": [True, True, False, False, False],
            "cents_right": [True, False, False, False, False],
        }
    )
    assert scores(table) == ("4", "75.0 %", "50.0 %", "25.0 %", "1")


def test_a_month_read_by_chance_has_readings_of_several_causes() -> None:
    """And parcels in order; the same seed gives the same month."""
    made = month(3, 200)
    assert made == month(3, 200)
    causes = {truth.cause for truth in truths(made).values()}
    assert {"box length", "box girth", "rounding"} <= causes
    assert 10 < len(truths(made)) < 100


def test_a_lump_hides_every_figure_and_keeps_the_sum() -> None:
    """So do surcharges alone, charge by charge."""
    made = next(one for one in month(3, 200) if one.truth and any(line.kind == "adjustment" for line in one.lines))
    total = sum(line.cents for line in made.lines)
    for hide in (lump, surcharges):
        lines = list(hide(made.lines))
        assert sum(line.cents for line in lines) == total
        hidden = [line for line in lines if line.kind in {"adjustment", "odd"}]
        assert hidden
        assert all(line.sides is None and line.weight is None and not line.scale for line in hidden)


@pytest.mark.parametrize("setting", SETTINGS, ids=lambda setting: setting.name)
def test_a_setting_gives_the_months_it_describes(setting: object) -> None:
    """About as many misread numbers and missing records as it says, and every kind's share adds up."""
    named = next(one for one in SETTINGS if one is setting)
    made = months(600, named, seed=2)
    recorded = made.shipments["tracking"].reindex(made.truth.where(made.truth >= 0)).to_numpy()
    wrong = (recorded != made.truth.index.to_numpy())[made.truth.to_numpy() >= 0].mean()
    assert abs(wrong - named.misread) < 0.06
    assert abs((made.truth < 0).mean() - named.missing / (1 + named.missing)) < 0.05
    assert len(named.kinds) == len(KINDS)
    assert abs(sum(named.kinds) - 1) < 1e-9


def test_the_benchmark_beside_a_library_that_is_missing_says_how_to_install_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """It is optional: no other test or benchmark needs it."""
    monkeypatch.setitem(sys.modules, "splink", None)
    with pytest.raises(SystemExit, match=r"Install it with: pip install '\.\[benchmarks\]'"):
        linkage.main()


@pytest.mark.slow
def test_statements_of_a_layout_are_found_whole() -> None:
    """One layout in inches and one in centimetres."""
    for name in ("one row a parcel, column a charge", "German CSV, decimal comma"):
        table = layouts.outcomes((name, 1, 40))
        assert table["planted"].sum() > 3
        assert table["cents_right"].all()


def test_the_planted_faults_are_found_whole() -> None:
    """As `tests.run.test_month` holds in detail."""
    assert planted.outcomes(("two CSV files", 3, 180))["cents_right"].all()


def test_what_could_be_told_at_best_rests_on_how_a_carton_is_read_and_on_the_bill() -> None:
    """A bill of more weight is told so of a carton that is only read heavier, and not of one only read longer."""
    heavier, longer = (Habit(kinds, 1.0, 3.0) for kinds in ((0.0, 0.0, 1.0, 0.0), (1.0, 0.0, 0.0, 0.0)))
    one = next(one for one in month(4, 200) if one.truth and one.truth.cause == "declared weight")
    assert likeliest(one, heavier, listed()) == "declared weight"
    assert likeliest(one, longer, listed()) != "declared weight"
