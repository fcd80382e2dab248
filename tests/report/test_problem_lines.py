"""What a terminal says of problems: a line a kind and file, money first, at most a few, and where the rest stands."""

from __future__ import annotations

import pytest

from auditor.core.schemas import Problem
from auditor.report.lines.problems import MOST_LINES, kinds, lines

WEIGHT = "'{}' in column 'Weight' is not a weight, such as 3 lb 4 oz or 1.5 kg. Correct it and run again."
REPORT = "The report and summary.json also have"


def told(*problems: Problem, statements: tuple[str, ...] = ()) -> list[str]:
    """The lines of those problems."""
    return list(lines(problems, statements, REPORT))


def of_weights(file: str, *rows: int) -> list[Problem]:
    """A bad weight in each of those rows."""
    return [Problem(file, f"row {row}", WEIGHT.format(f"abt {row}")) for row in rows]


def test_problems_of_one_column_are_one_line_with_the_first_place_and_what_to_do() -> None:
    """Whatever is wrong in the cells; how many there are is said."""
    unit = Problem("orders.csv", "row 9", "'12 lbss' in column 'Weight' has the unit 'lbss', which is not known.")
    [said] = told(*of_weights("orders.csv", 5, 7), unit)
    assert said == (
        "Problem: orders.csv, row 5, and 2 more like it: 'abt 5' in column 'Weight' is not a weight, such as 3 lb 4 oz "
        "or 1.5 kg. Correct it and run again."
    )


def test_what_a_file_was_told_to_have_more_of_is_counted() -> None:
    """Readers stop at some cells of a column and say how many follow."""
    rest = Problem("orders.csv", "row 9 to row 99", "1,011 more cells of column 'Weight' have faults like those above.")
    numbers = [Problem("orders.csv", "row 2", "The last digit of tracking number NP1 does not fit the others.")]
    more = Problem("orders.csv", "", "13 more tracking numbers have a last digit that does not fit the others.")
    found = kinds([*of_weights("orders.csv", 5, 7), rest, *numbers, more])
    assert [(kind.first.place, kind.count) for kind in found] == [("row 5", 1013), ("row 2", 14)]


def test_problems_that_differ_in_numbers_names_and_days_alone_are_of_one_kind() -> None:
    """And those of other words are not; nor are a note and a problem."""
    same = [Problem("a.csv", "row 3", f"Tracking number NP{at} stands on 2 rows.") for at in range(3)]
    other = Problem("a.csv", "row 3", "Tracking number NP1 is longer than any.")
    note = Problem("a.csv", "row 3", "Tracking number NP1 stands on 2 rows.", note=True)
    assert [kind.count for kind in kinds([*same, other, note])] == [3, 1, 1]


def test_what_is_said_of_several_columns_as_such_is_one_line() -> None:
    """Four sides and weights without a unit are not four things to know."""
    text = "Column '{}' has numbers without a unit. They were read as inches."
    notes = [Problem("a.csv", "", text.format(name), note=True) for name in ("Length", "Width", "Height")]
    assert told(*notes) == [f"Note: a.csv, and 2 more like it: {text.format('Length')}"]


def test_what_many_files_have_is_one_line() -> None:
    """Forty e-mails with the same fault are no forty lines; three files have a line each."""
    text = "This notice is about parcel {}, which is not in your records."
    mails = [Problem(f"notice-{at}.eml", "line 5", text.format(f"NP{at}")) for at in range(40)]
    assert told(*mails) == [f"Problem: notice-0.eml, line 5, and 39 more like it in 40 files: {text.format('NP0')}"]
    assert len(told(*mails[:3])) == 3


def test_files_not_read_come_first_then_statements_then_what_is_most() -> None:
    """A statement's fault costs money, a carton's seldom; a missing table concerns all."""
    unread = Problem("april.csv", "", "This file is empty.", unread=True)
    statement = Problem("norrhaven.csv", "row 3", "This row has 16 cells, but there are 14 headings.")
    missing = Problem("", "", "What is missing among the files: a statement.")
    found = told(*of_weights("orders.csv", 5, 7), statement, missing, unread, statements=("norrhaven.csv",))
    assert [line.split(":")[1].strip() for line in found] == [
        "april.csv",
        "norrhaven.csv, row 3",
        "What is missing among the files",
        "orders.csv, row 5, and 1 more like it",
    ]


def test_a_screen_is_never_more_and_says_what_the_report_has() -> None:
    """Of a thousand kinds eight are told, and how many problems are left."""
    words = ["".join(chr(ord("a") + int(digit)) for digit in f"{at:04}") for at in range(1000)]
    found = told(*(Problem("a.csv", "row 2", f"Something is {word} here.") for word in words))
    assert len(found) == MOST_LINES + 1
    assert found[-1] == f"{REPORT} 992 more problems."


@pytest.mark.parametrize(
    ("message", "said"),
    [
        ("Codes of charges were read by the statement's own notes: FRT as 'freight'.", False),
        ("The columns were read as saved for this layout in readings/one.toml.", False),
        ("'Total' was taken for the total, as it is the sum of all lines.", False),
        ("3 rows below the last line were taken for remarks: 'Thank you' and so on.", False),
        ("Column 'Amount' was read with a decimal comma: 12,34 as 12.34.", True),
        ("Column 'Weight' has numbers without a unit. They were read as pounds.", True),
        (
            "Column 'Date' has dates such as 3/4/2026, and none shows which number is the day.",
            True,
        ),
        ("Column 'Handling' has amounts, but was not counted. If it is a charge, run: auditor columns", True),
        ("The amounts are in EUR. They were read as they stand, and nothing was converted.", True),
    ],
)
def test_notes_are_told_where_they_ask_for_something(message: str, *, said: bool) -> None:
    """What is only of interest to those who write readers is counted, and stands in the report."""
    found = told(Problem("a.csv", "", message, note=True))
    assert found == ([f"Note: a.csv: {message}"] if said else [f"{REPORT} 1 choice made while reading."])


def test_nothing_is_said_where_nothing_is_wrong() -> None:
    """No empty line either."""
    assert told() == []
