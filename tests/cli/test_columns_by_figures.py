"""A statement that figures read is shown with its proof, and corrected by its headings like any other."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from auditor import intake
from auditor.cli.commands.columns import command as columns
from auditor.intake.readings import saved
from auditor.tariff import expecting, opened
from tests.intake.test_charge_names import NORRHAVEN, SAMPLE

BESIDE = ("shipments.csv", "rates.csv", "fees.csv", "fuel.csv")
HEADINGS = ",".join(f"qw{letter}" for letter in "abcdefghijklmn")


@pytest.fixture
def statement(tmp_path: Path) -> Path:
    """The sample's statement under headings that mean nothing."""
    rows = (SAMPLE / NORRHAVEN).read_text(encoding="utf-8").splitlines()
    path = tmp_path / "strange.csv"
    path.write_text("\n".join([HEADINGS, *rows[1:], ""]), encoding="utf-8")
    return path


def run(file: Path, *options: str) -> Result:
    """The command with the shop's records and prices."""
    others = [f"--with={SAMPLE / name}" for name in BESIDE]
    return CliRunner().invoke(columns, [str(file), "--readings", str(file.parent / "readings"), *others, *options])


def test_it_is_shown_as_reconcile_reads_it(statement: Path) -> None:
    """Its columns with the reason, what proves it and how far, its first lines, and the next best."""
    shown = run(statement)
    lines = [" ".join(line.split()) for line in shown.output.splitlines()]
    assert "qwc tracking the shop's own numbers stand there" in lines
    assert any(line.startswith("qwf zone 112 of 113 agree with the parcel's record") for line in lines)
    assert any(line.startswith("Reading of strange: proven; 358 lines of 116 parcels") for line in lines)
    assert "NP4410026030200001 Freight $22.39" in lines
    assert any(line.startswith("Next best reading: ") for line in lines)
    assert shown.exit_code == 0


def test_what_is_set_aside_is_not_read_and_stays_so_next_month(statement: Path) -> None:
    """Though the records show what it is; the other figures beside the charges are read all the same."""
    run(statement, "--set", "qwf=not read", "--save")
    [kept] = saved(statement.parent / "readings")[0]
    assert kept.columns["qwf"] == "not read"
    april = statement.with_name("april.csv")
    april.write_text(statement.read_text(encoding="utf-8").replace("2026-03,", "2026-04,"), encoding="utf-8")
    paths = [april, *(SAMPLE / name for name in BESIDE)]
    due = expecting(opened("us-ground-common"))
    taken = intake.read(paths, expecting=due, readings=statement.parent / "readings")
    assert taken.lines["zone"].isna().all()
    assert taken.lines["billed_weight_pg"].notna().any()
    assert intake.read(paths, expecting=due).lines["zone"].notna().any()


def test_what_makes_the_reading_worse_is_said(statement: Path) -> None:
    """And what cannot be read at all."""
    shown = run(statement, "--set", "qwn=not read")
    assert "What you said makes the reading less proven. Before: proven, 358 lines" in shown.output
    assert shown.exit_code == 1
