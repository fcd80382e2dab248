"""The same parcel or price in two files, taken once from the file that reaches further."""

from __future__ import annotations

from pathlib import Path

from auditor import intake
from auditor.book import accounting
from auditor.core.schemas import Problem
from tests import bad_files

HEAD = "Tracking number,Ship date,Size,Weight,Order,Photo\n"
MARCH = HEAD + "NP1,2026-03-04,44 x 6 x 6 in,3 lb,Q-1,p1.jpg\nNP2,2026-03-05,28 x 12 x 6 in,5 lb,Q-2,\n"
MORE = HEAD + "NP1,2026-03-04,44 x 6 x 6 in,4 lb,Q-1,\nNP2,2026-03-05,28 x 12 x 6 in,5 lb,Q-2,\n"
MORE += "NP3,2026-03-30,28 x 12 x 6 in,5 lb,Q-3,\n"


def read(folder: Path, *contents: str, name: str = "records") -> intake.Intake:
    """Files of those contents."""
    return intake.read([bad_files.write(folder, f"{name}{at}.csv", text) for at, text in enumerate(contents)])


def test_an_export_made_again_doubles_no_parcel(tmp_path: Path) -> None:
    """The later one counts, what only the first one has is kept, and what differs is told."""
    for contents in ((MARCH, MORE), (MORE, MARCH)):
        taken = read(tmp_path, *contents)
        assert taken.shipments["tracking"].tolist() == ["NP1", "NP2", "NP3"]
        one = taken.shipments.iloc[0]
        assert (one["weight_pg"], one["photo"]) == (4 * 453_592_370_000_000, "p1.jpg")
        earlier, later = f"records{contents.index(MARCH)}.csv", f"records{contents.index(MORE)}.csv"
        assert taken.problems == (
            Problem(
                earlier,
                "row 2",
                f"2 of its rows stand in {later} too. They were taken once, from {later}, which reaches further; 1 of "
                "them differ there (the first in weight_pg).",
                note=True,
            ),
        )


def test_a_number_used_again_after_months_is_another_parcel(tmp_path: Path) -> None:
    """Carriers give numbers anew; both stay, and that is told."""
    taken = read(tmp_path, MARCH, HEAD + "NP1,2026-09-04,28 x 12 x 6 in,3 lb,Q-9,\n")
    assert (taken.shipments["tracking"] == "NP1").sum() == 2
    assert "Tracking number NP1 stands on 2 rows" in " ".join(problem.message for problem in taken.problems)


def test_price_lists_that_contradict_one_another_are_a_fault(tmp_path: Path) -> None:
    """One of them is taken, and what to do is said."""
    other = bad_files.RATES.replace("9.35", "9.99")
    taken = read(tmp_path, bad_files.RATES, other, name="rates")
    message = (
        "2 of its rows stand in rates1.csv too. They were taken once, from rates1.csv, but 1 of them have another "
        "amount there (the first: row 2 here). Give each list the day from which it holds, in a column 'Effective "
        "date', or leave out the one that no longer holds (in a book: auditor book set-aside)."
    )
    assert len(taken.rates) == 2
    assert taken.problems == (Problem("rates0.csv", "row 2", message),)


def test_the_same_prices_in_two_files_are_noted_only(tmp_path: Path) -> None:
    """A list given again with more rows."""
    taken = read(tmp_path, bad_files.RATES, bad_files.RATES + "Ground,5,3,12.00,2026-01-05\n", name="rates")
    assert len(taken.rates) == 3
    assert [problem.message for problem in taken.problems] == [
        "2 of its rows stand in rates1.csv too. They were taken once, from rates1.csv."
    ]


CARTONS = "Carton,Length (in),Width (in),Height (in),Cost\n"
OLD = CARTONS + "stand tube,44,6,6,1.20\nuke box,28,12,6,1.00\n"
NEW = CARTONS + "Stand tube,43,6,6,\nuke box,28,12,6,1.00\npedal box,12,10,8,0.70\n"


def test_a_list_of_cartons_given_again_is_taken_once(tmp_path: Path) -> None:
    """The longer list counts; what only the other has is kept."""
    for contents in ((OLD, NEW), (NEW, OLD)):
        taken = read(tmp_path, *contents, name="cartons")
        earlier, later = f"cartons{contents.index(OLD)}.csv", f"cartons{contents.index(NEW)}.csv"
        tube = taken.cartons.set_index("carton").loc["Stand tube"]
        assert (tube["length_nm"], tube["unit_cost_cents"]) == (43 * 25_400_000, 120)
        assert len(taken.cartons) == 3
        assert taken.problems == (
            Problem(
                earlier,
                "row 2",
                f"2 of its rows stand in {later} too. They were taken once, from {later}, which reaches further; 1 of "
                "them differ there (the first in carton, length_nm).",
                note=True,
            ),
        )


def test_a_book_goes_on_with_a_second_list_of_cartons(tmp_path: Path) -> None:
    """And every run after it."""
    book = tmp_path / "book.sqlite"
    for name, text in (("april", OLD), ("may", NEW)):
        file = bad_files.write(tmp_path, f"{name}.csv", text)
        for _ in range(2):
            audit = accounting.reconcile([file], book=book).audit
    assert len(audit.cartons) == 3
