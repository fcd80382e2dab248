"""A statement issued again is not counted twice; a true second statement of the same number is not swallowed."""

from __future__ import annotations

from pathlib import Path

import pytest

import auditor
from auditor import intake
from auditor.book import accounting, health, kept_disputes
from auditor.book.ledger import opened
from auditor.core.schemas import Problem
from auditor.intake import reissue_words
from tests import bad_files, books, small_book
from tests.books import TODAY
from tests.cli.test_cli import run

HEAD = "Statement,Statement date,Tracking number,Charge,Amount\n"
MARCH = {"NP1": "10.00", "NP2": "11.00", "NP3": "12.00", "NP4": "13.00"}
OLD, NEW = "S-3,2026-04-01", "S-3B,2026-04-09"


def written(statement: str, amounts: dict[str, str], above: str = "", charge: str = "Freight") -> str:
    """A statement of those amounts; '{number},{day}' is in each row."""
    return above + HEAD + "".join(f"{statement},{number},{charge},{cents}\n" for number, cents in amounts.items())


def taken(folder: Path, **contents: str) -> intake.Intake:
    """What files of those contents hold together."""
    return intake.read([bad_files.write(folder, f"{name}.csv", text) for name, text in contents.items()])


def counted(read: intake.Intake) -> set[str]:
    """The files whose lines are counted."""
    return set(read.lines["source_file"])


def messages(read: intake.Intake) -> str:
    """All that was said."""
    return "\n".join(problem.message for problem in read.problems)


def test_the_same_number_with_a_later_day_and_a_line_changed_counts_once(tmp_path: Path) -> None:
    """What was in common and why is said, with both sums and the way out."""
    read = taken(tmp_path, a=written(OLD, MARCH), b=written("S-3,2026-04-09", MARCH | {"NP4": "9.00"}))
    assert counted(read) == {"b.csv"}
    assert [problem for problem in read.problems if "stands here" in problem.message] == [
        Problem(
            "b.csv",
            "",
            "Statement S-3 in a.csv stands here too: 3 of its 4 lines as they were, 1 with another amount. This one is "
            "in its place (its day is the later one, 2026-04-09), so a.csv was not counted ($46.00 there, "
            "$42.00 here). "
            "If that is wrong, take b.csv out (in a book: auditor book set-aside 'b.csv') and run again.",
            note=True,
        )
    ]


def test_statements_that_print_no_total_are_audited_when_issued_again(tmp_path: Path) -> None:
    """Nothing was printed that the lines could tie out with."""
    for name, text in (("a", written(OLD, MARCH)), ("b", written("S-3,2026-04-09", MARCH | {"NP4": "9.00"}))):
        bad_files.write(tmp_path, f"{name}.csv", text)
    statements = auditor.reconcile([tmp_path]).statements
    assert statements["lines_total_cents"].to_list() == [4200]
    assert statements["printed_total_cents"].isna().all()


def test_which_of_two_is_final_is_a_fault_where_nothing_tells(tmp_path: Path) -> None:
    """One is counted all the same, as both would be wrong for certain; whatever the order they are given in."""
    one, other = written(OLD, MARCH), written(OLD, MARCH | {"NP4": "9.00"})
    for pair in ({"a": one, "b": other}, {"b": other, "a": one}):
        read = taken(tmp_path, **pair)
        assert counted(read) == {"b.csv"}
        assert [problem.note for problem in read.problems if "cannot be told for certain" in problem.message] == [False]


@pytest.mark.parametrize(
    "above",
    [
        "Statement S-9 replaces statement S-3 of 1 April\n\n",
        "This statement supersedes our invoice S-3.\n\n",
        "Rechnung S-9 ersetzt die Rechnung S-3\n\n",
        "Cette facture annule et remplace la facture S-3\n\n",
        "Corrected statement, for S-3\n\n",
    ],
)
def test_a_new_number_that_says_which_it_replaces_counts_alone(tmp_path: Path, above: str) -> None:
    """In any of the trade's languages; earlier or later does not matter then."""
    read = taken(tmp_path, a=written(OLD, MARCH), b=written("S-9,2026-04-01", MARCH | {"NP1": "8.00"}, above))
    assert counted(read) == {"b.csv"}
    assert read.replaced[["statement", "by_statement", "billed_cents", "now_cents"]].to_numpy().tolist() == [
        ["S-3", "S-9", 4600, 4400]
    ]
    assert "it is said: '" in messages(read)


def test_a_number_with_something_behind_it_and_the_lines_tell_it(tmp_path: Path) -> None:
    """S-3B is S-3 issued again, if most lines are as they were."""
    assert counted(taken(tmp_path, a=written(OLD, MARCH), b=written(NEW, MARCH | {"NP1": "8.00"}))) == {"b.csv"}
    other = taken(tmp_path, a=written(OLD, MARCH), b=written(NEW, {"NP8": "1.00", "NP1": "3.00"}))
    assert counted(other) == {"a.csv", "b.csv"}


def test_all_the_lines_under_an_unlike_number_count_once_and_are_told(tmp_path: Path) -> None:
    """The later one, by its day."""
    read = taken(tmp_path, a=written(OLD, MARCH), b=written("77881,2026-05-01", MARCH))
    assert counted(read) == {"b.csv"}
    assert "Statement S-3 in a.csv stands here again, as statement 77881: 4 of its 4 lines" in messages(read)


def test_a_chain_of_statements_ends_with_the_last(tmp_path: Path) -> None:
    """The third is in the place of both."""
    said = "Replaces statement {}\n\n"
    read = taken(
        tmp_path,
        a=written(OLD, MARCH),
        b=written("S-4,2026-04-05", MARCH | {"NP1": "9.00"}, said.format("S-3")),
        c=written("S-5,2026-04-07", MARCH | {"NP1": "8.00"}, said.format("S-4")),
    )
    assert counted(read) == {"c.csv"}
    assert set(read.replaced["by_statement"]) == {"S-5"}


def test_a_longer_export_of_a_history_without_a_number_counts_once(tmp_path: Path) -> None:
    """January to March, then January to April."""
    head = "Tracking number,Charge,Amount\n"
    lines = "".join(f"{number},Freight,{cents}\n" for number, cents in MARCH.items())
    read = taken(tmp_path, first=head + lines, second=f"{head}{lines}NP9,Freight,5.00\n")
    assert counted(read) == {"second.csv"}


def test_a_running_account_that_repeats_all_and_adds_to_it_counts_once_and_asks(tmp_path: Path) -> None:
    """Each statement holds the one before; that the carrier may want both is said, and is no mere note."""
    more = MARCH | {"NP5": "5.00", "NP6": "6.00"}
    files = {
        "one": written("ACC-1,2026-04-01", MARCH),
        "two": written("ACC-2,2026-05-01", more),
        "three": written("ACC-3,2026-06-01", more | {f"NP1{at}": "7.00" for at in range(4)}),
    }
    read = taken(tmp_path, **files)
    assert counted(read) == {"three.csv"}
    asked = sorted(problem.message for problem in read.problems if not problem.note)
    assert [message.split(":")[0] for message in asked] == [
        "Statement ACC-1 in one.csv stands here again, as statement ACC-2",
        "Statement ACC-2 in two.csv stands here again, as statement ACC-3",
    ]
    assert "(all of its lines stand here again, with more, as in a running account)" in asked[0]
    assert asked[0].endswith("If the carrier wants both of them paid, dispute the whole of one.")
    days = taken(tmp_path, a=files["one"], b=files["two"].replace("2026-05", "2026-03"))
    assert counted(days) == {"a.csv", "b.csv"}


def test_duplicates_of_a_statement_perhaps_issued_again_are_never_strong(tmp_path: Path) -> None:
    """Both count, and which of them does is one question."""
    more = MARCH | {f"NP1{at}": "7.00" for at in range(8)}
    head = "Tracking number,Ship date,Service,Zone,Size,Weight\n"
    records = head + "".join(f"{number},2026-03-05,Ground,5,12 x 10 x 8 in,4 lb\n" for number in more)
    texts = {"records": records, "a": written(OLD, MARCH), "b": written("S-4,2026-05-01", more)}
    paths = [bad_files.write(tmp_path, f"{name}.csv", text) for name, text in texts.items()]
    found = auditor.reconcile([*paths, bad_files.write(tmp_path, "rates.csv", small_book.RATES)]).findings
    again = found[found["cause"] == "duplicate"]
    assert set(again["dispute"]) == {"arguable"}
    assert len(again) == len(MARCH)
    assert "ask the carrier once which of them counts" in again["dispute_reason"].iloc[0]


def test_what_a_file_is_called_says_nothing(tmp_path: Path) -> None:
    """The later day decides, and the name is not called words of the carrier's."""
    first, later = written(OLD, MARCH | {"NP4": "9.00"}), written("S-3,2026-04-09", MARCH)
    for name in ("corrected", "final"):
        read = taken(tmp_path, **{name: first, "april": later})
        assert counted(read) == {"april.csv"}
        assert "called a corrected one" not in messages(read)


def test_without_a_book_nothing_is_told_of_one(tmp_path: Path) -> None:
    """The way out is to leave the file out."""
    march, again = small_book.march(tmp_path / "march"), small_book.file(tmp_path, "again.csv", RIGHT)
    said = run("reconcile", march, again, "--no-book", "--out", tmp_path / "out", "--today", "2026-06-02").stdout
    assert "If that is wrong: leave again.csv out and run again." in said
    assert "set-aside" not in said


def test_pages_supplements_credits_and_repeated_charges_are_all_counted(tmp_path: Path) -> None:
    """A true second statement: other lines of the same number, amounts beside the first, all taken back, one again."""
    first = written(OLD, MARCH)
    others = (
        written(OLD, {"NP5": "1.00", "NP6": "2.00", "NP7": "3.00"}),
        written(OLD, {"NP1": "1.10", "NP2": "1.20", "NP3": "2.30", "NP4": "0.90"}, charge="Address correction"),
        written(OLD, {"NP1": "1.10", "NP2": "1.20", "NP3": "2.30"}),
        written("S-3C,2026-04-09", {number: f"-{cents}" for number, cents in MARCH.items()}, "Cancels S-3\n\n"),
        written("S-4,2026-05-01", {"NP1": "10.00"}),
        written("S-4,2026-05-01", MARCH | {f"NP1{at}": "7.00" for at in range(8)}),
    )
    for other in others:
        read = taken(tmp_path, a=first, b=other)
        assert counted(read) == {"a.csv", "b.csv"}
        assert read.replaced.empty


def test_what_looks_like_it_but_is_not_certain_is_said(tmp_path: Path) -> None:
    """By words without the lines, and by lines without the words."""
    words = taken(tmp_path, a=written(OLD, MARCH), b=written("S-9,2026-05-01", {"NP1": "1.00"}, "Replaces S-3\n\n"))
    assert (
        "Statement S-9 says of statement S-3: 'Replaces S-3'. But only 1 of the 4 lines of that one stand in it, so "
        "both were counted. If it is in the place of it, take a.csv out (in a book: auditor book set-aside 'a.csv') "
        "and run again." in messages(words)
    )
    more = MARCH | {f"NP1{at}": "7.00" for at in range(8)}
    lines = taken(tmp_path, a=written(OLD, MARCH), b=written("S-4,2026-05-01", more))
    assert "Statement S-4 has 4 of its 12 lines in common with statement S-3 in a.csv" in messages(lines)


def later_lines(statement: str, numbers: str, *charges: str) -> str:
    """A statement with no more than later charges for parcels."""
    rows = [f"{statement},NP{number},{charge}\n" for number in numbers for charge in charges]
    return HEAD + "".join(rows)


CORRECTIONS = ("Freight adjustment,3.01", "Additional handling adjustment,29.50", "Correction fee,1.35")


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (  # corrected again, and one that is given back, of a long statement
            written(OLD, MARCH) + later_lines(OLD, "123", *CORRECTIONS).removeprefix(HEAD),
            later_lines("S-4,2026-05-01", "12", *CORRECTIONS) + "S-4,2026-05-01,NP3,Credit - freight,-3.01\n",
        ),
        (  # all corrections of a statement that has no more than those made once more
            later_lines("S-4,2026-05-01", "1", *CORRECTIONS),
            later_lines("S-5,2026-06-01", "1", *CORRECTIONS),
        ),
        (later_lines("S-4,2026-05-01", "1234", *CORRECTIONS), later_lines("S-5,2026-06-01", "1234", *CORRECTIONS)),
        (written(OLD, MARCH), written("S-4,2026-05-01", {"NP1": "10.00", "NP2": "11.00"})),  # two labels twice
    ],
)
def test_corrections_credits_and_charges_made_again_are_no_statement_issued_again(
    first: str, second: str, tmp_path: Path
) -> None:
    """Under another number: both count, and nothing is said of one in the place of the other."""
    read = taken(tmp_path, a=first, b=second)
    assert counted(read) == {"a.csv", "b.csv"}
    assert "in common" not in messages(read)


def test_two_statements_in_one_file_both_count_unless_one_says_otherwise(tmp_path: Path) -> None:
    """The carrier gave both; what is in doubt is told with what can be done within one file."""
    both = written(OLD, MARCH) + written("S-4,2026-05-01", MARCH).removeprefix(HEAD)
    read = taken(tmp_path, a=both)
    assert set(read.lines["statement"]) == {"S-3", "S-4"}
    assert (
        "Both were counted, and what is billed twice is told as that. If this one was issued in the place of the "
        "other, take the rows of statement S-3 out of a copy of this file and run again with that." in messages(read)
    )


def test_parts_that_come_to_the_printed_total_together_are_parts(tmp_path: Path) -> None:
    """Though they have lines in common."""
    one = written(OLD, MARCH)
    total = "Statement total,,,,99.00\n"
    read = taken(tmp_path, a=one + total, b=written(OLD, MARCH | {"NP4": "20.00"}) + total)
    assert counted(read) == {"a.csv", "b.csv"}


def test_a_statement_in_two_files_that_each_come_to_their_own_total_ties(tmp_path: Path) -> None:
    """A supplement under the same number."""
    import auditor

    one = written(OLD, MARCH) + "Statement total,,,,46.00\n"
    more = written(OLD, {"NP8": "5.00"}) + "Statement total,,,,5.00\n"
    paths = [bad_files.write(tmp_path, name, text) for name, text in (("a.csv", one), ("b.csv", more))]
    assert auditor.reconcile(paths).statements[["printed_total_cents", "ties"]].to_numpy().tolist() == [[5100, True]]


@pytest.mark.parametrize(
    "text", ["This statement does not replace S-3", "Address correction", "Weight corrected by scale", "Freight"]
)
def test_other_words_say_nothing(text: str) -> None:
    """Nor words that deny it."""
    assert list(reissue_words.said([text])) == []


# With a book


AGAIN = small_book.MARCH.replace("NP-2026-03,2026-04-01", "NP-2026-03B,2026-04-20")
RIGHT = AGAIN.replace("NP-2026-03B,2026-04-20,NP9,2026-03-09,Ground,5,Freight,7,12.50\n", "").replace("87.00", "74.50")


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """March, with two disputes sent."""
    path = books.march(tmp_path / "shelf" / "book.sqlite")
    with opened(path) as held:
        how = kept_disputes.Mark("sent", books.APRIL, reference="C-1")
        kept_disputes.mark(held, ["NP2", "NP9"], how, today=TODAY)
    return path


def stands(found: accounting.Booked) -> list[list[object]]:
    """Each dispute that has an amount."""
    table = found.disputes[found.disputes["amount_cents"] > 0]
    return (
        table[["statement", "about", "state", "amount_cents", "reference"]]
        .astype(object)
        .fillna("")
        .to_numpy()
        .tolist()
    )


def test_a_claim_that_was_sent_goes_on_with_the_statement_issued_again(book: Path, tmp_path: Path) -> None:
    """As sent, under its reference; what is no longer billed is no longer claimed; nothing is claimed twice."""
    found = accounting.reconcile([small_book.file(tmp_path, "again.csv", RIGHT)], book=book, today=TODAY)
    assert stands(found) == [
        ["NP-2026-03B", "NP2", "sent", 1650, "C-1"],
        ["NP-2026-03B", "NP3", "open", 1250, ""],
        ["NP-2026-03B", "pickup service $14.00", "open", 200, ""],
    ]
    assert found.audit.billed_cents == 7450
    with opened(book) as held:
        assert health.health_of(held).faults == ()
        assert health.health_of(held).notes == ()
        notes = kept_disputes.history_of(held, "NP9")["note"].dropna().tolist()
    assert "goes on with statement NP-2026-03B, which was issued in the place of this one" in notes
    assert "$12.50 of it is no longer billed, as the statement was issued again" in notes
    before = book.read_bytes()
    accounting.reconcile([], book=book, today=TODAY)
    assert book.read_bytes() == before


@pytest.mark.slow
def test_a_claim_goes_back_when_the_statement_issued_again_is_set_aside(book: Path, tmp_path: Path) -> None:
    """And on again when that is taken back."""
    again = small_book.file(tmp_path, "again.csv", AGAIN)
    accounting.reconcile([again], book=book, today=TODAY)
    sent = [["NP2", "sent"], ["NP9", "sent"]]
    for command, statement in (("set-aside", "NP-2026-03"), ("take-back", "NP-2026-03B")):
        assert run("book", command, "again.csv", "--book", book).exit_code == 0
        found = accounting.reconcile([], book=book, today=TODAY)
        assert [[one[1], one[2]] for one in stands(found) if one[2] == "sent"] == sent
        assert {one[0] for one in stands(found)} == {statement}
        with opened(book) as held:
            assert health.health_of(held).faults == ()


def test_a_claim_on_the_same_number_asks_for_what_is_still_billed(book: Path, tmp_path: Path) -> None:
    """Issued again without the parcel of nobody."""
    same = RIGHT.replace("NP-2026-03B", "NP-2026-03")
    found = accounting.reconcile([small_book.file(tmp_path, "again.csv", same)], book=book, today=TODAY)
    assert [one[1:4] for one in stands(found)] == [
        ["NP2", "sent", 1650],
        ["NP3", "open", 1250],
        ["pickup service $14.00", "open", 200],
    ]


LESS = small_book.MARCH.replace("NP1,2026-03-04,Ground,5,Freight,12,15.00", "NP1,2026-03-04,Ground,5,Freight,12,11.90")
LATER = LESS.replace("NP-2026-03,2026-04-01", "NP-2026-03,2026-04-20").replace("87.00", "83.90")
LAST = LATER.replace("NP-2026-03,2026-04-20", "NP-2026-03B,2026-05-04")


@pytest.mark.parametrize("last", [LAST, LAST.replace("03B", "03")])
def test_a_claim_keeps_its_amount_through_two_statements_issued_again(book: Path, tmp_path: Path, last: str) -> None:
    """All of it is still billed, whatever the statements before it come to together; its history names both."""
    accounting.reconcile([small_book.file(tmp_path, "again.csv", LATER)], book=book, today=TODAY)
    found = accounting.reconcile([small_book.file(tmp_path, "last.csv", last)], book=book, today=TODAY)
    statement = last.splitlines()[1].split(",")[0]
    sent = [one for one in stands(found) if one[2] == "sent"]
    assert sent == [[statement, "NP2", "sent", 1650, "C-1"], [statement, "NP9", "sent", 1250, "C-1"]]
    said = run("disputes", "history", "NP2", "--book", book).stdout.splitlines()
    if statement == "NP-2026-03B":
        assert [line for line in said if line.startswith("On")] == [
            "On statement NP-2026-03:",
            "On statement NP-2026-03B:",
        ]
        assert "goes on with statement NP-2026-03B" in said[3]
    assert not any("no longer billed" in line for line in said)


def test_a_line_that_is_billed_less_and_was_not_claimed_leaves_the_claim(book: Path, tmp_path: Path) -> None:
    """NP2's freight is still billed twice; a pickup at its door, which nobody claimed, is not there any more."""
    pickup = "NP-2026-03,2026-04-01,NP2,2026-03-05,Ground,5,Saturday,15,4.00\nStatement total,,,,,,,,91.00\n"
    with_it = small_book.MARCH.replace("Statement total,,,,,,,,87.00\n", pickup)
    accounting.reconcile([small_book.file(tmp_path, "more.csv", with_it)], book=book, today=TODAY)
    found = accounting.reconcile([small_book.file(tmp_path, "again.csv", AGAIN)], book=book, today=TODAY)
    assert ["NP-2026-03B", "NP2", "sent", 1650, "C-1"] in stands(found)


def test_a_credit_before_the_statement_was_issued_again_stays_with_the_claim(book: Path, tmp_path: Path) -> None:
    """Though its day is before that of the new one."""
    may = small_book.file(tmp_path, "may.csv", small_book.MAY)
    again = small_book.file(tmp_path, "again.csv", AGAIN.replace("2026-04-20", "2026-06-20"))
    found = accounting.reconcile([may], book=book, today=TODAY)
    found = accounting.reconcile([again], book=book, today=TODAY)
    assert [one[:3] for one in stands(found)][:2] == [
        ["NP-2026-03B", "NP2", "credited"],
        ["NP-2026-03B", "NP3", "open"],
    ]


@pytest.mark.slow
def test_the_order_of_giving_changes_nothing(tmp_path: Path) -> None:
    """The one issued again first."""
    march, again = small_book.march(tmp_path / "march"), small_book.file(tmp_path, "again.csv", RIGHT)
    first = accounting.reconcile([again], book=tmp_path / "one.sqlite", today=TODAY)
    first = accounting.reconcile([march], book=tmp_path / "one.sqlite", today=TODAY)
    other = accounting.reconcile([march, again], book=tmp_path / "two.sqlite", today=TODAY)
    assert stands(first) == stands(other)
    assert first.audit.billed_cents == other.audit.billed_cents == 7450


def test_it_is_shown_at_the_terminal_on_the_page_and_in_the_book(book: Path, tmp_path: Path) -> None:
    """With both sums, why, and the way out."""
    again = small_book.file(tmp_path, "again.csv", RIGHT)
    ran = run("reconcile", again, "--book", book, "--out", tmp_path / "out", "--today", "2026-06-02")
    told = "Statement NP-2026-03 in march.csv ($87.00) is not counted: again.csv is in its place ($74.50; its number is"
    assert told in ran.stdout
    assert "auditor book set-aside &#39;again.csv&#39;" in (tmp_path / "out" / "report.html").read_text()
    shown = run("book", "show", "--book", book).stdout
    assert "Statement NP-2026-03 in march.csv ($87.00) is not counted: again.csv, statement NP-2026-03B" in shown
    assert "If that is wrong: auditor book set-aside 'again.csv'" in shown


def test_a_file_is_set_aside_by_its_plain_name_or_its_digest(book: Path, tmp_path: Path) -> None:
    """Where two share it, both digests are named."""
    same = small_book.file(tmp_path / "other", "march.csv", AGAIN)
    accounting.reconcile([same], book=book, today=TODAY)
    ran = run("book", "set-aside", "march.csv", "--book", book)
    assert ran.exit_code == 2
    plain = " ".join(ran.output.split())
    assert "2 files in the book are called march.csv. Give the digest of the one meant: " in plain
    digest = plain.split("one meant: ")[1][:8]
    assert f"march.csv ({digest}) is no longer counted." in run("book", "set-aside", digest, "--book", book).stdout
    assert "rates.csv is no longer counted." in run("book", "set-aside", "x/y/rates.csv", "--book", book).stdout
