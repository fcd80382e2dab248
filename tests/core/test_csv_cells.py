"""Cells that we write are run by no spreadsheet, and read back as they were."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.core.csv_cells import inert, may_be_formula, row


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@SUM(A1)", "\u00a0=1", " =1", "\uff1d1", "\ufe62", "\u200b@x", "\tfine", " \rfine"]
)
def test_what_may_be_run_is_held_by_a_mark(text: str) -> None:
    """Signs in full width or small, behind blanks and behind what is not seen; what goes on to the next cell."""
    assert may_be_formula(text)
    assert inert(text) == f"'{text}"


@pytest.mark.parametrize("text", ["", "1=1", "a-b", "NP-1", "'=1", " x", "a\tb", "½", "\u200bx"])
def test_what_is_harmless_stays(text: str) -> None:
    """Signs within, and no text at all."""
    assert not may_be_formula(text)
    assert inert(text) == text


@given(st.lists(st.text(st.characters(exclude_categories=["Cs", "Cc"]) | st.sampled_from(',"\r\n')), min_size=1))
def test_a_row_reads_back_as_it_was(cells: list[str]) -> None:
    """By Python's own reader."""
    assert list(csv.reader(io.StringIO(row(cells), newline=""))) == [cells]


def test_cells_stand_bare_where_they_may() -> None:
    """Quotation marks only where a cell holds what parts cells or rows (RFC 4180, 2)."""
    assert row(["a b", "1", ""]) == "a b,1,\n"
    assert row(['say "x"', "a,b", "c\rd", "e\nf"]) == '"say ""x""","a,b","c\rd","e\nf"\n'
    assert row([""]) == '""\n'
