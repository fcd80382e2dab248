"""The whole job for labels that were paid when they were bought: corrections, their causes, and what is said."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pytest

import auditor
from auditor.book import accounting
from auditor.report.html.page import report_html
from auditor.report.lines.answer import answer
from tests.layouts.prepaid import draw
from tests.layouts.prepaid.audited import Counts, counts

WRONG_HERE = ("never billed", "statement", "your table", "price table")


def _audit(tmp_path: Path, seed: int, form: str, *, tables: bool) -> auditor.Audit:
    return auditor.reconcile(draw(seed, "plain", form=form, writer="csv", tables=tables).write(tmp_path))


def _together(tmp_path: Path, seeds: Sequence[int], *, tables: bool) -> Counts:
    whole = Counts()
    for seed in seeds:
        folder = tmp_path / str(seed)
        folder.mkdir()
        paper = draw(seed, "plain", form="list", writer="csv", tables=tables)
        whole += counts(paper, auditor.reconcile(paper.write(folder)))
    return whole


@pytest.mark.parametrize("tables", [True, False])
def test_corrections_are_spread_over_their_causes(tmp_path: Path, *, tables: bool) -> None:
    """Each has a finding that comes to what was taken, for the planted cause, with price tables and without."""
    got = _together(tmp_path, (401, 402), tables=tables)
    assert (got.found, got.cents) == (got.planted, got.planted)
    assert got.causes >= 0.9 * got.shown > 0


def test_only_what_is_not_theirs_to_take_is_strong(tmp_path: Path) -> None:
    """With price tables all planted wrongs are worth disputing, and nothing else is strong."""
    got = _together(tmp_path, (401, 402), tables=True)
    assert got.theirs > 0
    assert (got.asked, got.truly) == (got.theirs, got.strong)


def test_the_answer_says_what_was_bought_and_taken(tmp_path: Path) -> None:
    """Labels and their cost, corrections and what for, what is worth disputing; nothing that is wrong here."""
    paper = draw(404, "plain", form="list", writer="csv", tables=False)
    audit = auditor.reconcile(paper.write(tmp_path))
    said = "\n".join(answer(audit, in_book=False))
    cost = sum(label.cents for label in paper.shop.labels)
    assert said.startswith(f"You bought {len(paper.shop.labels)} labels for ${cost / 100:,.2f}.")
    taken = sum(one.cents for one in paper.corrections if one.kind == "correction")
    assert f" corrections took ${taken / 100:,.2f} more" in said
    assert "worth disputing" in said
    assert not [words for words in WRONG_HERE if words in said]


def test_a_balance_is_accounted_for(tmp_path: Path) -> None:
    """What was put in, what labels and corrections took; no label is called never billed."""
    paper = draw(405, "plain", form="balance", writer="csv")
    audit = auditor.reconcile(paper.write(tmp_path))
    said = "\n".join(answer(audit, in_book=False))
    put_in = -sum(one.cents for one in paper.planted if one.kind == "top-up")
    assert f"${put_in / 100:,.2f} put in" in said
    assert audit.never_billed.empty


def test_the_book_keeps_what_papers_say(tmp_path: Path) -> None:
    """Taken into a book, a paper gives the same findings as without, this month and when it is read out again."""
    folder = tmp_path / "month"
    folder.mkdir()
    draw(404, "plain", form="list", writer="csv", tables=False).write(folder)
    alone, path = auditor.reconcile([folder]), tmp_path / "book.sqlite"
    for again in (False, True):
        booked = accounting.reconcile([] if again else [folder], book=path, today=date(2026, 3, 20))
        assert booked.audit.disputable_cents == alone.disputable_cents
        assert len(booked.audit.moves) == len(alone.moves) > 0


def test_the_report_has_no_word_of_labels_that_were_not_billed(tmp_path: Path) -> None:
    """They were paid when they were bought."""
    audit = _audit(tmp_path, 404, "list", tables=False)
    assert "never billed" not in report_html(audit).casefold()
