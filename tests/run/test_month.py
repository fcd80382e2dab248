"""The main job: a month with known faults is read, and exactly those are found, to the cent, and nothing else."""

from __future__ import annotations

import csv
from functools import cache
from pathlib import Path

import pandas as pd
import pytest

import auditor
from auditor.audit import Audit
from auditor.core import money
from auditor.core.schemas import CAUSES, STATES
from tests.months.make import make_month

SAMPLE = Path(__file__).parents[2] / "sample_statements" / "2026-03"
AMOUNTS = ("billed", "expected", "difference", "box_length", "box_girth", "declared_weight", "rounding", "other")

Row = tuple[str, ...]


@cache
def audit(folder: Path = SAMPLE) -> Audit:
    """One month, read once."""
    return auditor.reconcile([folder])


def planted(folder: Path) -> list[Row]:
    """The faults planted, as (statement, number, cause, amounts …)."""
    with folder.with_name(f"{folder.name}-planted.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return sorted((row["statement"], row["tracking"], row["cause"], *(row[name] for name in AMOUNTS)) for row in rows)


def found(of: Audit) -> list[Row]:
    """The findings in the same form, with labels never billed among them."""
    table = of.findings.assign(tracking=of.findings["shipment_tracking"].fillna(of.findings["tracking"]))
    amounts = table[[f"{name}_cents" for name in AMOUNTS]].map(money.text, na_action="ignore")
    rows = zip(table["statement"], table["tracking"], table["cause"], *amounts.to_numpy().T, strict=True)
    never = [("", tracking, "never billed", *("" for _ in AMOUNTS)) for tracking in of.never_billed["tracking"]]
    return sorted([*rows, *never])


def test_exactly_the_planted_faults_are_found_to_the_cent() -> None:
    """The truth was reckoned by tests/months/plainly.py, which shares no code with the package."""
    assert found(audit()) == planted(SAMPLE)


@pytest.mark.parametrize("seed", [7, pytest.param(11, marks=pytest.mark.slow)])
def test_other_months_come_out_as_planted_too(seed: int, tmp_path: Path) -> None:
    """The sample is not a special case."""
    folder = tmp_path / "2026-03"
    make_month(seed, 400, out=folder, pdf=False)
    assert found(auditor.reconcile([folder])) == planted(folder)


def test_a_month_in_order_has_no_findings(tmp_path: Path) -> None:
    """Nothing is made up."""
    folder = tmp_path / "2026-03"
    make_month(3, 200, faults=0, out=folder, pdf=False)
    clean = auditor.reconcile([folder])
    assert clean.findings.empty
    assert clean.billed_cents == clean.expected_cents
    assert clean.complete


def test_every_cause_is_planted_and_the_sample_asks_four_questions() -> None:
    """The sample shows the whole of what the program can tell: two charges of no known name, parcels in no record."""
    assert set(audit().findings["cause"]) == set(CAUSES)
    messages = [problem.message for problem in audit().problems]
    assert [message.startswith("What is the charge '") for message in messages].count(True) == 2
    assert ["in no record of yours" in message for message in messages].count(True) == len(messages) - 2 == 2
    assert len(audit().shipments) >= 150


def test_statements_tie_out_and_every_line_is_in_one_state() -> None:
    """Sums of lines against the printed totals."""
    assert audit().statements["ties"].all()
    assert set(audit().lines["state"]) <= set(STATES)
    assert audit().lines["state"].notna().all()
    assert audit().complete


def test_sums_hold() -> None:
    """Billed = expected + difference + not audited; each difference is the sum of its shares."""
    of = audit()
    assert of.billed_cents == int(of.lines["amount_cents"].sum())
    assert of.billed_cents == of.expected_cents + of.difference_cents + of.not_audited_cents
    shares = of.findings[[f"{name}_cents" for name in AMOUNTS[3:]]].sum(axis=1)
    assert shares.tolist() == of.findings["difference_cents"].tolist()
    assert (of.findings["billed_cents"] - of.findings["expected_cents"]).tolist() == shares.tolist()


def test_the_voided_label_that_is_billed_is_listed_and_the_credited_one_is_not() -> None:
    """A voided label whose charges were given back is in order."""
    of = audit()
    wrongly = of.findings.loc[of.findings["cause"] == "voided label", "shipment_tracking"]
    assert sorted(of.voided_billed["tracking"]) == sorted(wrongly)
    assert int(of.shipments["voided"].sum()) > len(wrongly)


def test_the_order_of_the_files_does_not_matter() -> None:
    """Nor whether a folder or its files are named."""
    files = sorted(SAMPLE.iterdir(), reverse=True)
    assert found(auditor.reconcile(files)) == found(audit())


def test_each_sentence_says_what_was_declared_and_read_and_what_it_cost() -> None:
    """For the box that is 48 in on the tape and 48.2 in on the scanner."""
    of = audit().findings
    row = of[(of["cause"] == "rounding") & of["explanation"].str.contains("48.2")].iloc[0]
    assert row["explanation"].startswith(
        "You declared 48 × 20 × 8 in and the carrier read 48.2 × 20 × 8 in, no further"
    )
    assert "longest side over 48 in means additional handling" in row["explanation"]
    assert f"which cost {money.dollars(int(row['difference_cents']))}" in row["explanation"]
    assert "a box 0.25 in smaller there would be out of doubt" in row["explanation"]


def test_no_sentence_advises_declaring_less() -> None:
    """The tool never helps anyone declare less than was measured."""
    assert not audit().findings["explanation"].str.contains("declare less|declaring less|type less").any()


def test_buyers_stay_out_of_every_table() -> None:
    """Their names are in the shipping records and in one notice."""
    with (SAMPLE / "shipments.csv").open(encoding="utf-8", newline="") as file:
        buyers = {row["Buyer"] for row in csv.DictReader(file)}
    tables = (audit().shipments, audit().lines, audit().findings, audit().readings)
    held = " ".join(table.astype("str").to_csv() for table in tables)
    assert buyers
    assert not [buyer for buyer in buyers if buyer in held]


def test_a_working_leads_from_the_line_to_the_cent() -> None:
    """File and row, each step with rule, version and source, and shares that add up."""
    of = audit()
    plain = ~of.findings["explanation"].str.contains("unlike its carton|besides")
    row = of.findings[(of.findings["cause"] == "box length") & plain].iloc[0]
    parts = dict(of.workings[row["finding"]])
    assert list(parts) == [
        "The statement's lines",
        "By the figures you declared",
        "By the carrier's figures",
        "The difference, by cause",
    ]
    assert all(step.source for step in parts["The statement's lines"])
    read = parts["By the carrier's figures"]
    assert [step.version for step in read if step.what == "Additional handling: longest side over 48 in"] == [
        "since 2022-01-01"
    ]
    assert read[-1].figure == money.dollars(int(row["expected_cents"] + row["difference_cents"])) or row["other_cents"]
    assert parts["The difference, by cause"][-1].figure == money.dollars(int(row["difference_cents"]))


def test_readings_hold_both_figures_of_every_parcel() -> None:
    """Sides in falling order, the carrier's own where it read otherwise."""
    readings = audit().readings
    assert len(readings) == audit().lines.dropna(subset="shipment")["shipment"].nunique()
    for prefix in ("declared", "measured"):
        sides = readings[[f"{prefix}_{side}_nm" for side in ("length", "width", "height")]].to_numpy(dtype="int64")
        assert (pd.DataFrame(sides).diff(axis=1).iloc[:, 1:] <= 0).all(axis=None)
