"""The generator of layouts draws what it says: the same seed the same bytes, the sums planted, words apart."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from auditor import intake
from auditor.core.schemas import LINES, conform
from tests.layouts.drawn import KNOWN, POOLS, STRUCTURES, WRITERS, Drawn, draw
from tests.layouts.drawn.month import CHARGES, LABEL
from tests.layouts.drawn.score import score
from tests.layouts.drawn.words import plain_words, pool

LETTERS = 4
"""Shorter words are units and months, which are figures' own."""


def texts(drawn: Drawn) -> list[str]:
    """Every cell of the statement."""
    return [cell.text for row in drawn.document.rows for cell in row.cells]


@pytest.mark.parametrize("writer", WRITERS)
def test_the_same_seed_gives_the_same_bytes(writer: str, tmp_path: Path) -> None:
    """Whenever it is written."""
    folders = [tmp_path / "once", tmp_path / "again"]
    for folder in folders:
        folder.mkdir()
    once, again = ([path.read_bytes() for path in draw(7, "plain", writer=writer).write(folder)] for folder in folders)
    assert once == again


@pytest.mark.sample(32)
@pytest.mark.parametrize("structure", STRUCTURES)
@pytest.mark.parametrize("writer", WRITERS)
def test_every_writer_writes_every_structure(structure: str, writer: str, tmp_path: Path) -> None:
    """A statement that is a file with something in it, and the shop's own files beside it."""
    *own, statement = draw(3, "nonsense", structure=structure, writer=writer, known="all").write(tmp_path)
    assert [path.stem for path in own] == ["records", "cartons", "rates", "fees", "fuel"]
    assert statement.stat().st_size > 1000


@pytest.mark.parametrize("structure", STRUCTURES)
def test_planted_lines_sum_to_the_printed_total(structure: str) -> None:
    """In whatever structure, a charge stands once in the truth."""
    for seed in range(4):
        drawn = draw(seed, "plain", structure=structure)
        assert (
            sum(event.cents for event in drawn.month.events) == drawn.total_cents == drawn.truth["amount_cents"].sum()
        )
        if drawn.prints_total:
            total = drawn.look.style.money(drawn.total_cents).text
            assert any(text.endswith(total) for text in texts(drawn))


@pytest.mark.parametrize("structure", STRUCTURES)
def test_nonsense_holds_no_plain_word(structure: str) -> None:
    """What stands on a statement of nonsense is none of the words that carriers use."""
    for seed in range(4):
        found = {
            word for text in texts(draw(seed, "nonsense", structure=structure)) for word in re.findall(r"\w+", text)
        }
        told = {word for word in plain_words() if len(word) >= LETTERS}
        assert not told & {word.casefold() for word in found}


def test_pools_hold_no_word_of_one_another() -> None:
    """A reader that has learned one pool has not learned the other."""
    plain, unheard = (
        {word.casefold() for keys in pool(name).values() for words in keys.values() for word in words}
        for name in POOLS[:2]
    )
    assert not plain & unheard


@pytest.mark.parametrize("name", POOLS[:2])
def test_each_charge_has_a_word_of_its_own(name: str) -> None:
    """In each language."""
    for keys in pool(name).values():
        words = [word for charge in CHARGES for word in keys[charge]]
        assert len(set(words)) == len(words)


def read_as(lines: pd.DataFrame) -> intake.Intake:
    """What a reader gives that found these lines and nothing else."""
    return replace(intake.together([]), lines=conform(lines, LINES))


def test_what_is_read_as_planted_is_whole() -> None:
    """Every cell right, tied, each charge in its class."""
    drawn = draw(5, "plain", structure="row a charge")
    counted = score(drawn, read_as(drawn.truth))
    assert counted.whole
    assert counted.cells == counted.of_cells
    assert not counted.wrong


@pytest.mark.parametrize("fault", ["charge", "amount", "line missing", "line twice"])
def test_what_is_misread_is_not_whole(fault: str) -> None:
    """One charge, one cent, one line of hundreds is enough."""
    drawn = draw(5, "plain", structure="row a charge")
    lines = drawn.truth.copy()
    if fault == "charge":
        lines.loc[0, "charge"] = "tax"
    elif fault == "amount":
        lines["amount_cents"] = [drawn.truth["amount_cents"][0] + 1, *drawn.truth["amount_cents"][1:]]
    lines = {"line missing": lines[1:], "line twice": pd.concat([lines, lines[:1]])}.get(fault, lines)
    counted = score(drawn, read_as(lines))
    assert counted.wrong
    assert not counted.whole


def test_wrong_and_called_proven_is_silent() -> None:
    """A reader that gives no grade is not judged by it."""
    drawn = draw(5, "plain", structure="row a charge")
    counted = score(drawn, read_as(drawn.truth[1:]))
    assert counted.silent is None
    assert replace(counted, grades=("proven",)).silent
    assert not replace(counted, grades=("likely",)).silent


def test_a_label_costs_what_its_lines_sum_to() -> None:
    """With its tax or without, as the shop records it; what came later is not in it."""
    for seed in range(8):
        its_month = draw(seed, "plain").month
        labels = {event.about.tracking: event for event in its_month.events if event.about and event.kind == LABEL}
        assert len(labels) == len(its_month.shipments)
        for shipment in its_month.shipments:
            lines = labels[shipment.tracking].lines
            net = sum(line.cents for line in lines if line.state == "label charge")
            assert shipment.label_cents in {net, sum(line.cents for line in lines)}


def test_what_is_not_known_is_not_written(tmp_path: Path) -> None:
    """Half of the records, no costs, no prices, nothing."""
    names = {}
    for known in KNOWN:
        folder = tmp_path / known
        folder.mkdir()
        names[known] = {path.stem for path in draw(2, "plain", known=known).write(folder)}
    assert names["nothing"] == {"statement"}
    assert names["all"] - names["no prices"] == {"rates", "fees", "fuel"}
    rows, half = ((tmp_path / known / "records.csv").read_text().count("\n") for known in ("all", "half"))
    assert half == rows // 2 + 1
    assert "cost" not in (tmp_path / "no label costs" / "records.csv").read_text()
