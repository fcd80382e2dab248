"""The command line: what it prints, where, and with which exit code."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from click.testing import CliRunner, Result

from auditor import cli, report
from auditor.audit import Audit
from auditor.cli import COMMANDS, group, options
from tests import books, small_book
from tests.read_once import read_once
from tests.run.test_month import SAMPLE, audit


def run(*arguments: str | Path) -> Result:
    """One call of the command line."""
    return CliRunner().invoke(group, [str(argument) for argument in arguments], catch_exceptions=False)


@pytest.fixture(scope="module")
def reconciled(tmp_path_factory: pytest.TempPathFactory) -> tuple[Result, Path]:
    """What a run over the sample month prints, and the folder it writes into."""
    folder = tmp_path_factory.mktemp("reconciled")
    more = ("--book", folder / "book.sqlite", "--today", "2026-04-10")
    return run("reconcile", SAMPLE, "--out", folder / "out", *more), folder / "out"


def test_reconcile_prints_the_answer_and_writes_four_files(reconciled: tuple[Result, Path]) -> None:
    """The answer on stdout, what is going on on stderr, exit code 0."""
    result, out = reconciled
    assert result.exit_code == 0
    assert "Billed $5,176.44 = $4,092.11 expected + $1,084.33 over expected.\n" in result.stdout
    assert "Worth disputing: $676.66.\n" in result.stdout
    assert "2 statements tie out to their own totals: LP-2026-03, NP-2026-03." in result.stdout
    assert "  box length                 5        $200.27           $87.66" in result.stdout
    assert "3 labels never billed: LK220726031400000013, NP4410026032400041, NP4410026032700055." in result.stdout
    assert f"Written to {out}: report.html, findings.csv, lines.csv, summary.json" in result.stdout
    assert result.stderr.startswith("Reading ")
    assert sorted(file.name for file in out.iterdir()) == [
        "findings.csv",
        "lines.csv",
        "report.html",
        "summary.json",
    ]
    summary = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    assert summary["amounts"]["difference"] == "1084.33"


@pytest.mark.slow
def test_small_files_have_their_texts_kept_plainly(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """While the command runs; pandas is as it was afterwards, and the report is the same as of larger ones."""
    storages, write = [], report.write

    def storage(texts: pd.Series) -> str:
        dtype: Any = texts.dtype
        return str(dtype.storage)

    def noted(audit: Audit, out: Path, *, reminders: Sequence[str]) -> list[Path]:
        storages.append(storage(audit.lines["tracking"]))
        return write(audit, out, reminders=reminders)

    monkeypatch.setattr(report, "write", noted)
    usual = storage(pd.Series(["NP1"], dtype="str"))
    for name in ("small", "large"):
        run("reconcile", SAMPLE, "--out", tmp_path / name, "--no-book", "--today", "2026-04-10")
        assert storage(pd.Series(["NP1"], dtype="str")) == usual
        monkeypatch.setattr(options, "SMALL", 1)
    assert storages == ["python", usual]
    for file in (tmp_path / "small").iterdir():
        assert file.read_bytes() == (tmp_path / "large" / file.name).read_bytes()


def test_the_same_month_gives_the_same_bytes(reconciled: tuple[Result, Path], tmp_path: Path) -> None:
    """No clock and no chance in any of the files; in another process, which hashes otherwise and keeps no study."""
    _, before = reconciled
    command = [
        sys.executable,
        "-m",
        "auditor",
        "reconcile",
        str(SAMPLE),
        "--out",
        str(tmp_path),
        "--today",
        "2026-04-10",
    ]
    subprocess.run(command, env={**os.environ, "PYTHONHASHSEED": "7"}, check=True, capture_output=True)
    for file in before.iterdir():
        assert file.read_bytes() == (tmp_path / file.name).read_bytes()


def test_many_labels_never_billed_are_counted(tmp_path: Path) -> None:
    """The first three are named: a statement of another month bills none of hundreds."""
    month = small_book.march(tmp_path / "month")
    head, row, *_ = small_book.SHIPMENTS.splitlines()
    others = [row.replace("NP1,Q-1", f"NP{number},Q-{number}") for number in range(101, 114)]
    small_book.file(month, "others.csv", "\n".join([head, *others]) + "\n")
    printed = run("reconcile", month, "--out", tmp_path / "out").stdout
    [said] = [line for line in printed.splitlines() if " labels never billed: " in line]
    assert said.startswith("14 labels")  # thirteen, and NP4
    assert said.endswith(" and 11 more.")
    assert said.count("NP") == 3


def test_buyers_are_in_none_of_the_files_written(reconciled: tuple[Result, Path]) -> None:
    """Their names are in the shipping records and in one of the notices."""
    names = {line.split(",")[2] for line in (SAMPLE / "shipments.csv").read_text(encoding="utf-8").splitlines()[1:]}
    written = "".join(file.read_text(encoding="utf-8") for file in reconciled[1].iterdir())
    assert not [name for name in names if name in written]


def test_a_statement_that_does_not_tie_out_exits_with_1_and_says_by_how_much(tmp_path: Path) -> None:
    """Still written, and told loudly."""
    month = small_book.march(tmp_path / "month")
    small_book.file(month, "march.csv", small_book.MARCH.replace("87.00", "87.13"))
    result = run("reconcile", month, "--out", tmp_path / "out")
    assert result.exit_code == 1
    assert "Statement NP-2026-03 DOES NOT TIE OUT: its lines come to $87.00, it prints $87.13; −$0.13 apart." in (
        result.stdout
    )


def test_a_file_that_cannot_be_read_exits_with_1_and_is_named(tmp_path: Path) -> None:
    """The others are read."""
    month = small_book.march(tmp_path / "month")
    (month / "april.csv").write_bytes(b"")
    result = run("reconcile", month, "--out", tmp_path / "out")
    assert result.exit_code == 1
    assert "Problem: april.csv: This file is empty." in result.stderr
    assert "Billed $87.00" in result.stdout


def test_an_empty_folder_says_what_is_missing(tmp_path: Path) -> None:
    """No traceback, no report of nothing passed off as an answer."""
    (tmp_path / "empty").mkdir()
    result = run("reconcile", tmp_path / "empty", "--out", tmp_path / "out")
    assert result.exit_code == 2
    assert "There is no file in this folder." in result.stderr
    assert not (tmp_path / "out").exists()


def test_records_alone_say_that_a_statement_is_missing(tmp_path: Path) -> None:
    """They are taken all the same."""
    small_book.file(tmp_path / "records", "shipments.csv", small_book.SHIPMENTS)
    result = run("reconcile", tmp_path / "records", "--out", tmp_path / "out")
    assert result.exit_code == 0
    assert (
        "What is missing among the files: a statement or a list of corrections, so there is nothing to account for."
        in result.stderr
    )


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("reconcile", SAMPLE, "--out", SAMPLE / "report"), "lies inside"),
        (("reconcile", SAMPLE, "--rules", "lunar"), "There are no rules named lunar. Shipped are: air-iata"),
        (("reconcile", SAMPLE, "--rules", "air-iata", "--rules", "us-postal"), "two tariffs for all services"),
        (("reconcile", SAMPLE, "--as", "parcels=x.csv"), "'parcels=x.csv' is not KIND=FILE. Kinds are: shipments"),
        (("reconcil",), "No such command"),
    ],
)
def test_wrong_use_exits_with_2_and_says_what_was_wrong(arguments: tuple[str, ...], words: str) -> None:
    """In a sentence."""
    result = run(*arguments)
    assert result.exit_code == 2
    assert words in " ".join(result.output.split())


def test_a_report_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    """Where a file stands in the place of the folder."""
    (tmp_path / "out").write_text("in the way")
    result = run("reconcile", small_book.march(tmp_path / "month"), "--out", tmp_path / "out" / "deeper")
    assert result.exit_code == 2
    assert "The report cannot be written to" in result.output


def test_a_file_can_be_read_as_what_the_user_says_it_is(tmp_path: Path) -> None:
    """`--as` goes before what the file looks like."""
    (tmp_path / "prices.csv").write_text("Service,Zone,Weight up to (lb),Price\nGround,2,1,5.81\n", encoding="utf-8")
    result = run(
        "reconcile", tmp_path / "prices.csv", "--as", f"shipments={tmp_path / 'prices.csv'}", "--out", tmp_path / "o"
    )
    assert "This looks like shipping records, but has no column for the tracking number" in result.stderr


def test_explain_prints_the_working_with_rule_source_and_place(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every number can be followed."""
    read_once(monkeypatch)
    finding = audit().findings[audit().findings["cause"] == "box length"].iloc[0]
    result = run("explain", finding["tracking"], SAMPLE)
    assert result.exit_code == 0
    assert f"{finding['tracking']}, {finding['finding']}" in result.stdout
    assert (
        "us-ground-common: charges.additional handling.limits.longest side = over 48 in, since 2022-01-01"
        in result.stdout
    )
    assert f"source: {finding['source_file']}, {finding['source_place']}" in result.stdout
    assert "The difference, by cause" in result.stdout


def test_explain_tells_of_a_parcel_that_is_in_order_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """By statement, as there is no finding; blanks in the number do not matter."""
    read_once(monkeypatch)
    lines = audit().lines
    number = str(lines.loc[lines["finding"].isna() & lines["shipment"].notna(), "tracking"].iloc[0])
    result = run("explain", f"{number[:4]} {number[4:]}", SAMPLE)
    assert result.exit_code == 0
    assert "billed as expected" in result.stdout
    assert "By the carrier's figures" in result.stdout


def test_explain_says_when_there_is_nothing_to_explain(monkeypatch: pytest.MonkeyPatch) -> None:
    """A number nobody knows, and one that was never billed."""
    read_once(monkeypatch)
    assert "No record or statement has it." in run("explain", "ZZ1", SAMPLE).output
    never = str(audit().never_billed["tracking"].iloc[0])
    result = run("explain", never, SAMPLE)
    assert result.exit_code == 1
    assert "It is in your records, but no statement read here bills it." in result.output


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_an_example(command: str) -> None:
    """And the group lists it."""
    result = run(command, "--help")
    assert result.exit_code == 0
    assert "\n  For example:\n    auditor " in result.output
    assert command in run("--help").output


def test_help_loads_nothing_heavy() -> None:
    """So that it answers at once."""
    heavy = "pandas", "numpy", "pint", "pdfplumber", "lxml", "jinja2", "openpyxl"
    code = f"import sys, auditor.cli, auditor; sys.exit(any(name in sys.modules for name in {heavy}))"
    for arguments in (["-c", code], ["-m", "auditor", "--help"], ["-m", "auditor", "--version"]):
        assert subprocess.run([sys.executable, *arguments], check=False, capture_output=True).returncode == 0


def test_a_fault_of_the_program_is_told_in_a_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without a traceback, exit code 70; with --debug the traceback is shown."""

    def fail(**_: object) -> None:
        raise KeyError("box")

    monkeypatch.setattr(cli.group, "main", fail)
    monkeypatch.setattr(sys, "argv", ["auditor"])
    with pytest.raises(SystemExit) as stopped:
        cli.main()
    assert stopped.value.code == 70
    assert "The program itself failed (KeyError: 'box'). None of your files was changed." in capsys.readouterr().err
    monkeypatch.setattr(sys, "argv", ["auditor", "--debug"])
    with pytest.raises(KeyError):
        cli.main()


@pytest.mark.parametrize("command", [["explain"], ["evidence", "--out", "papers"], ["precheck"]])
def test_a_word_too_long_to_name_a_file_is_taken_as_a_word(
    command: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is told that nothing is known of it, and the command ends as wrong use does."""
    monkeypatch.chdir(tmp_path)
    books.march(Path(os.environ["AUDITOR_BOOK"]))
    assert run(*command, "x" * 5000).exit_code in (1, 2)
