"""What the user says of a charge's name holds for its sender's next statements, and is asked about no more."""

from __future__ import annotations

import shlex
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from auditor import intake, reconcile
from auditor.book import accounting
from auditor.book.kept_audit import recalled
from auditor.cli.commands.columns import command as columns
from auditor.core.schemas import Problem
from auditor.intake.reading.naming import with_charges
from auditor.intake.readings import Reading, save, saved
from tests.intake import test_charge_names

SAMPLE = test_charge_names.SAMPLE
STATEMENT = SAMPLE / "norrhaven-2026-03.csv"
RECORDS = SAMPLE / "shipments.csv"
NAME = "Network balancing"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Where readings are kept."""
    return tmp_path / "readings"


def run(folder: Path, *options: str, file: Path = STATEMENT) -> Result:
    """The command on a statement."""
    return CliRunner().invoke(columns, [str(file), "--readings", str(folder), *options])


def asked(problems: tuple[Problem, ...]) -> list[str]:
    """The questions about charges."""
    return [one.message for one in problems if one.asks and one.message.startswith("What is the charge")]


@cache
def question() -> str:
    """The one question about the sample's statement."""
    [message] = asked(reconcile([STATEMENT, RECORDS]).problems)
    return message


def next_month(folder: Path, *, without: str = "Large parcel") -> Path:
    """A statement of the same sender with another number and form, and without a rarer charge."""
    path = folder.parent / "next.csv"
    rows = STATEMENT.read_text(encoding="utf-8").replace("NP-2026-03", "NP-2026-04").splitlines()
    kept = [row.replace("Tracking number", "Waybill") for row in rows if f",{without}," not in row]
    path.write_text("\n".join(kept[:-1]) + "\n", encoding="utf-8")
    return path


def test_the_question_prints_the_command_that_answers_it(folder: Path) -> None:
    """Ready to be copied: it names the file where it lies; only the charge is to be put in."""
    words = shlex.split(question()[question().index("auditor columns") : question().index(" --save")])
    assert words[:2] == ["auditor", "columns"]
    assert Path(words[2]).resolve() == STATEMENT
    given = [word.replace("CHARGE", "fuel") for word in words[3:]]
    assert given == ["--charge", f"{NAME}=fuel"]
    assert run(folder, *given, "--save").exit_code == 0


def test_what_is_said_is_shown_and_kept_only_with_save(folder: Path) -> None:
    """Tried first: the table of charges has it."""
    tried = run(folder, "--charge", f"{NAME}=fuel")
    [row] = [" ".join(line.split()) for line in tried.output.splitlines() if NAME in line]
    assert row == f"{NAME} fuel 1 $4.50 you said so"
    assert not folder.exists()


def test_it_holds_for_the_senders_next_statement_which_says_so(folder: Path) -> None:
    """Whatever its headings, and though a rarer charge is not on it."""
    run(folder, "--charge", f"{NAME}=fuel", "--save")
    [kept] = saved(folder)[0]
    taken = intake.read([next_month(folder), RECORDS], readings=folder)
    [charge] = taken.lines.loc[taken.lines["description"] == NAME, "charge"]
    assert charge == "fuel"
    note = f"Statement NP-2026-04: charges were taken as kept for their sender in {kept.file}: '{NAME}' as fuel."
    assert note in [one.message for one in taken.problems if one.note]


def test_it_does_not_hold_for_another_sender(folder: Path, tmp_path: Path) -> None:
    """Who has a charge of the same name among others."""
    run(folder, "--charge", f"{NAME}=fuel", "--save")
    other = tmp_path / "other.csv"
    names = [NAME, "Carriage", "Oil", "Stairs"]
    rows = [f"O1,NP4410026030200001,{name},1.00" for name in names]
    other.write_text("\n".join(["Statement,Tracking number,Charge,Amount", *rows, ""]), encoding="utf-8")
    taken = intake.read([other], readings=folder)
    assert taken.lines.loc[taken.lines["description"] == NAME, "charge"].isna().all()


def test_a_charge_of_its_own_is_neither_asked_about_nor_disputed(folder: Path) -> None:
    """There is no price to hold it against."""
    run(folder, "--charge", f"{NAME}=other", "--save")
    audit = reconcile([STATEMENT, RECORDS], readings=folder)
    assert asked(audit.problems) == []
    [name] = audit.lines.loc[audit.lines["description"] == NAME, "finding"]
    [found] = audit.findings[audit.findings["finding"] == name].to_dict("records")
    assert found["dispute"] == "none"
    assert found["dispute_reason"] == (
        f"nothing to dispute: '{NAME}' is a charge of its own, as you said, and there is no price to hold it against"
    )


def test_a_second_answer_stands_beside_the_first_in_the_senders_file(folder: Path) -> None:
    """One file a sender, also when it is answered from next month's statement."""
    run(folder, "--charge", f"{NAME}=other", "--save")
    run(folder, "--charge", "Pickup service=tax", "--save", file=next_month(folder))
    [kept] = saved(folder)[0]
    assert kept.charges == {NAME: "other", "Pickup service": "tax"}


def test_it_holds_with_a_book_also_when_that_is_looked_into_without_files(folder: Path, tmp_path: Path) -> None:
    """And for what was filed before it was said."""
    book = tmp_path / "book.sqlite"
    assert asked(accounting.reconcile([STATEMENT, RECORDS], book=book).audit.problems)
    run(folder, "--charge", f"{NAME}=other", "--save")
    how = accounting.HowRead(readings=folder)
    assert asked(accounting.reconcile([], book=book, how=how).audit.problems) == []
    assert asked(recalled(book, readings=folder).audit.problems) == []


@pytest.mark.parametrize(
    ("option", "message"),
    [
        (NAME, f"'{NAME}' is not NAME=CHARGE."),
        ("Zebra=fuel", "no charge is called 'Zebra'. There are: Freight, Fuel surcharge, Residential delivery,"),
        (f"{NAME}=fule", "'fule' is no known charge. Known are additional handling, address correction,"),
        (f"{NAME}=fule", "'other' for one that is none of these."),
    ],
)
def test_what_cannot_be_is_refused_with_what_can(folder: Path, option: str, message: str) -> None:
    """In a sentence; exit code 2; nothing is kept."""
    shown = run(folder, "--charge", option, "--save")
    assert shown.exit_code == 2
    assert message in " ".join(shown.output.split())
    assert not folder.exists()


def test_where_the_amounts_are_those_of_another_charge_that_is_said() -> None:
    """The user's word holds."""
    lines, known = test_charge_names.taken().lines, test_charge_names.known()
    said = [Reading("statement", "", {}, charges={"Residential delivery": "large parcel"})]
    read, names, problems = with_charges(lines, known, readings=said)
    assert set(read.loc[read["description"] == "Residential delivery", "charge"]) == {"large parcel"}
    assert next(iter(names.values())).shown["Residential delivery"] == "told"
    assert " ".join(one.message for one in problems) == (
        "You said that the charge 'Residential delivery' is large parcel, but its amounts are those of residential. "
        "It was taken as you said."
    )


def test_a_file_of_charges_that_is_broken_is_told_of(folder: Path) -> None:
    """With what it needs."""
    path = save(folder, Reading("statement", "", {}, charges={"A": "fuel"}, names=("a",)))
    path.write_text('names = "a"\n[charges]\nA = 1\n', encoding="utf-8")
    [problem] = saved(folder)[1]
    assert "it needs the names of the sender's charges, and what each of some is" in problem.message
