"""Papers about prepaid labels, in forms and words that the reader was not made for, are read from their figures."""

from __future__ import annotations

from pathlib import Path

import pytest

from auditor import intake
from auditor.tariff import expecting, opened
from tests.layouts.drawn import draw as statement
from tests.layouts.prepaid import FORMS, draw
from tests.layouts.prepaid.score import Score, score

CHOSEN = [(form, pool) for form in FORMS for pool in ("unheard", "nonsense")]


def _read(paths: list[Path]) -> intake.Intake:
    book = opened("us-ground-common")
    return intake.read(paths, charges=book.charges, expecting=expecting(book))


def _scored(tmp_path: Path, seed: int, pool: str, form: str, writer: str = "csv") -> Score:
    paper = draw(seed, pool, form=form, writer=writer)
    return score(paper, _read(paper.write(tmp_path)))


@pytest.mark.sample(6)
@pytest.mark.parametrize(("form", "pool"), CHOSEN)
def test_every_correction_and_figure_is_read(tmp_path: Path, form: str, pool: str) -> None:
    """Each correction with all figures shown, the sum to the cent, and nothing too many."""
    got = _scored(tmp_path, 301, pool, form)
    assert (got.found, got.more, got.summed) == (got.planted, 0, True)
    assert got.cells == got.of_cells


@pytest.mark.parametrize("writer", ["xlsx", "html", "pdf by reportlab"])
def test_a_list_is_read_from_any_kind_of_file(tmp_path: Path, writer: str) -> None:
    """A list of corrections as a workbook, a page of the web and a PDF."""
    got = _scored(tmp_path, 302, "nonsense", "list", writer)
    assert (got.found, got.cells, got.summed) == (got.planted, got.of_cells, True)


@pytest.mark.parametrize("form", ["list", "before and after", "by day"])
def test_what_was_paid_and_what_is_right_are_no_charges(tmp_path: Path, form: str) -> None:
    """Only what was taken becomes a line."""
    paper = draw(303, "plain", form=form, writer="csv")
    taken = _read(paper.write(tmp_path))
    assert not set(taken.lines["state"]) - {"adjustment", "credit", "fee"}
    assert int(taken.lines["amount_cents"].sum()) == sum(one.cents for one in paper.corrections)


def test_a_balance_has_labels_corrections_and_payments(tmp_path: Path) -> None:
    """Each movement is what it was planted as, and money put in is no line."""
    paper = draw(304, "nonsense", form="balance", writer="csv")
    taken = _read(paper.write(tmp_path))
    planted = sorted((one.kind, one.cents) for one in paper.planted)
    assert sorted(zip(taken.moves["kind"], taken.moves["amount_cents"], strict=True)) == planted
    assert "top-up" in set(taken.moves["kind"])
    assert len(taken.lines) == sum(kind != "top-up" for kind, _ in planted)


@pytest.mark.sample(2)
@pytest.mark.parametrize("seed", [7, 16, 28, 43])
def test_a_statement_is_none_of_these_papers(tmp_path: Path, seed: int) -> None:
    """Statements whose amounts may look like corrections: a charge of few parcels, a sum beside its parts."""
    assert _read(list(statement(seed, "plain").write(tmp_path))).moves.empty


def test_a_balance_that_does_not_run_is_told_where(tmp_path: Path) -> None:
    """A movement left out of a history is missed beside the next one; all others are used."""
    paper = draw(305, "plain", form="balance", writer="csv")
    paths = paper.write(tmp_path)
    lines = paths[-1].read_text(encoding="utf-8-sig").splitlines(keepends=True)
    paths[-1].write_text("".join(lines[:20] + lines[21:]), encoding="utf-8")
    taken = _read(paths)
    told = [problem.message for problem in taken.problems if "The balance beside this movement is" in problem.message]
    assert len(told) == 1
    assert len(taken.moves) == len(paper.planted) - 1


def test_what_two_papers_tell_is_counted_once(tmp_path: Path) -> None:
    """A history of the balance and a list of the same corrections: each correction is one line, with its figures."""
    paper = draw(306, "plain", form="balance", writer="csv")
    again = draw(306, "plain", form="list", writer="csv")
    paths = paper.write(tmp_path)
    paths[-1] = paths[-1].rename(tmp_path / "history.csv")
    taken = _read(list({*paths, *again.write(tmp_path)}))
    corrected = taken.lines[taken.lines["state"].isin(["adjustment", "credit", "fee"])]
    due = [one.cents for one in paper.planted if one.kind in {"correction", "returned", "refund"}]
    assert int(corrected["amount_cents"].sum()) == sum(due)
    assert any("They were counted once." in problem.message for problem in taken.problems)


@pytest.mark.parametrize(("seed", "pool"), [(710, "unheard"), (803, "nonsense"), (713, "unheard"), (636, "nonsense")])
def test_figures_on_both_sides_show_corrections(tmp_path: Path, seed: int, pool: str) -> None:
    """Lists that look like records or cartons by their words, and pages that are not read rightly at first sight."""
    paper = draw(seed, pool)
    got = score(paper, _read(paper.write(tmp_path)))
    assert (got.found, got.cells, got.more, got.summed) == (got.planted, got.of_cells, 0, True)
