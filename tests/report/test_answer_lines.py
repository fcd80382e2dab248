"""The answer on a terminal: sums that are seen to add up, causes by amount, and no more than half a screen."""

from __future__ import annotations

import re
from dataclasses import replace

import pandas as pd

from auditor.core import schemas
from auditor.report.groups import by_cause
from auditor.report.lines.answer import answer
from tests import audits
from tests.read_once import sample

MONTH = audits.month()


def amounts(line: str) -> list[int]:
    """The dollars on a line, in cents."""
    found = re.findall(r"(−?)\$([\d,]+\.\d\d)", line)
    return [(-1 if sign else 1) * int(re.sub(r"\D", "", digits)) for sign, digits in found]


def table(lines: list[str]) -> list[str]:
    """The rows of causes."""
    return [line for line in lines if line.startswith("  ")][1:]


def test_the_sums_on_the_terminal_are_seen_to_add_up() -> None:
    """Billed = expected + over expected + not audited."""
    said = list(answer(MONTH, in_book=True))
    assert said[1] == (
        "Billed $326.07 = $145.57 expected + $136.75 over expected + $43.75 not audited (the report says why)."
    )
    billed, *parts = amounts(said[1])
    assert billed == sum(parts)


def test_a_month_billed_below_what_was_expected_reads_as_a_sum() -> None:
    """In words that need no sign before a sign."""
    [said] = [
        line for line in answer(replace(MONTH, difference_cents=-8909), in_book=True) if line.startswith("Billed")
    ]
    assert "expected − $89.09 under expected" in said


def test_the_list_of_causes_adds_up_to_what_is_over_expected_and_worth_disputing() -> None:
    """In its two columns, by amount, the small ones in one row."""
    said = list(answer(sample(), in_book=True))
    columns = [amounts(row) for row in table(said)]
    assert [sum(column) for column in zip(*columns, strict=True)] == [108_433, sample().disputable_cents]
    assert f"Worth disputing: ${sample().disputable_cents / 100:,.2f}." in said
    assert [over for over, _ in columns[:-1]] == sorted((over for over, _ in columns[:-1]), reverse=True)
    assert table(said)[-1].startswith("  6 other causes")


def test_causes_stand_in_the_same_order_as_in_the_report() -> None:
    """By amount, the largest first."""
    named = [row.split("  ")[1] for row in table(list(answer(sample(), in_book=True)))][:-1]
    assert named == by_cause(sample().findings)["name"].tolist()[: len(named)]


def test_the_answer_takes_half_a_screen() -> None:
    """However many statements and labels there are."""
    statements = pd.concat([sample().statements] * 50, ignore_index=True)
    many = replace(sample(), statements=statements, never_billed=sample().shipments)
    said = list(answer(many, in_book=True))
    assert len(said) <= 13
    assert "100 statements tie out to their own totals: LP-2026-03, NP-2026-03, LP-2026-03 and 97 more." in said
    assert said[-1].endswith(" and 174 more.")


def test_statements_that_do_not_add_up_are_named_with_both_figures() -> None:
    """And one with an unread line with that; those without a printed total are told apart."""
    said = list(answer(MONTH, in_book=True))
    assert "Statement LP-2026-03 DOES NOT TIE OUT: its lines come to $16.50, it prints $25.40; −$8.90 apart." in said
    assert "1 statement ties out to its own total: NP-2026-03." in said
    assert "1 statement prints no total to hold it against: LP-2026-02B." in said
    level = MONTH.statements.assign(difference_cents=pd.array([0, 0, None], dtype="Int64"))
    assert "Statement LP-2026-03 DOES NOT TIE OUT: a line of it could not be read." in answer(
        replace(MONTH, statements=level), in_book=True
    )


def test_a_month_without_findings_has_no_list_of_causes() -> None:
    """Nor a heading for one."""
    assert table(list(answer(replace(MONTH, findings=schemas.empty(schemas.FINDINGS)), in_book=True))) == []
