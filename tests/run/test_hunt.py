"""The hunt for unforeseen ends: a short run of it, and that it finds, tells and reduces what it is for."""

from __future__ import annotations

import signal
from collections.abc import Callable
from dataclasses import replace

import click
import pytest
from click.testing import CliRunner

from auditor.cli.commands import cartons
from tests.hunt import __main__ as hunt
from tests.hunt.cases import Case, case_of, files_of
from tests.hunt.endings import Ending, ending_of
from tests.hunt.reducing import smallest

SHORT = (2, 5, 6, 7, 8, 9, 10, 16, 20, 22)
LONGER = (1, 3, 4, *range(11, 16), 17, 18, 19, 21, 23, 24)
CASE = replace(case_of(0), months=1, parcels=1, changes=(), commands=(("cartons", 2),))


@pytest.mark.parametrize("number", [*SHORT, *(pytest.param(number, marks=pytest.mark.slow) for number in LONGER)])
def test_every_case_of_a_short_hunt_ends_as_foreseen(number: int) -> None:
    """`python -m tests.hunt --seed NUMBER --runs 1 --traces` says more of one that does not."""
    assert ending_of(case_of(number)) is None


def test_a_case_follows_from_its_number() -> None:
    """So that whoever is told a number sees the same."""
    assert case_of(7) == case_of(7) != case_of(8)
    assert files_of(case_of(7)) == files_of(case_of(7))


def ending_where(does: Callable[[], None], monkeypatch: pytest.MonkeyPatch, longest: int = 0) -> Ending | None:
    """How a case ends whose command does that."""
    monkeypatch.setattr(cartons.command, "callback", lambda **_: does())
    return ending_of(CASE, longest)


def test_an_error_that_nobody_foresaw_is_told_with_its_call(monkeypatch: pytest.MonkeyPatch) -> None:
    """And files and folders by what they are in the case."""

    def fail() -> None:
        raise ZeroDivisionError("no parcels")

    ending = ending_where(fail, monkeypatch)
    assert ending
    assert (ending.what, ending.call) == ("ZeroDivisionError: no parcels", "cartons …/files")
    assert "raise ZeroDivisionError" in ending.trace


@pytest.mark.parametrize("word", ["nan", "NaT", "<NA>", "inf", "for $None", "np.int64(", "Timestamp("])
def test_what_python_calls_a_thing_is_an_unforeseen_end(word: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Wherever a person would read it."""
    ending = ending_where(lambda: click.echo(f"{word} parcels"), monkeypatch)
    assert ending
    assert ending.what == f"no word for people: {word.removeprefix('for $')}"


def test_an_exit_code_that_is_not_documented_is_an_unforeseen_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """0, 1 and 2 are."""
    ending = ending_where(lambda: click.get_current_context().exit(3), monkeypatch)
    assert ending
    assert ending.what == "exit code: 3"


@pytest.mark.skipif(not hasattr(signal, "alarm"), reason="there are no alarms on this system")
def test_a_call_without_an_end_is_an_unforeseen_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """It waits for something that never comes."""
    ending = ending_where(signal.pause, monkeypatch, longest=1)
    assert ending
    assert (ending.what, ending.where) == ("no end in 1 s", "cartons")


def test_what_ends_as_foreseen_is_not_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nor the words that only look like it."""
    assert ending_where(lambda: click.echo("Banana information, 12 parcels. None was lost."), monkeypatch) is None


def test_a_hunt_that_is_stopped_has_said_how_far_it_came(monkeypatch: pytest.MonkeyPatch) -> None:
    """After each 25 cases, and at the end."""
    monkeypatch.setattr(hunt, "ending_of", lambda _, longest: None if longest else Ending("", "", ""))
    said = CliRunner().invoke(hunt.main, ["--seed", "400", "--runs", "60"]).output.splitlines()
    assert said[:2] == [f"{count} cases from 400 on, 0 unforeseen ends so far." for count in (25, 50)]
    assert said[2].startswith("60 cases from 400 on, 0 unforeseen ends, ")


def test_a_case_is_told_without_all_that_its_end_does_not_need() -> None:
    """Here one change and one command, whatever the shop."""
    ending = Ending("", "KeyError: 'zone'", "price.py, priced")

    def run(case: Case) -> Ending | None:
        needed = ("rows cut", 5) in case.changes and ("explain", 3) in case.commands
        return ending if needed else None

    whole = Case(
        seed=9,
        months=12,
        parcels=24,
        carriers=2,
        with_book=False,
        changes=(("no prices", 1), ("rows cut", 5), ("file twice", 2)),
        commands=(("explain", 3), ("cartons", 4)),
    )
    found = replace(whole, months=1, parcels=1, carriers=1, changes=(("rows cut", 5),), commands=(("explain", 3),))
    assert smallest(whole, ending, run) == (found, ending)
