"""Shops without price tables, or with older ones, whose every charge is right: no charge is called wrong."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

import auditor
from auditor.audit import Audit
from auditor.book import accounting
from tests import small_book
from tests.shops import Rise, month, write

RISE = Rise(date(2026, 3, 16), "5.9")
ALL = ("rates.csv", "fees.csv", "fuel.csv")
MEASURED = {"box length", "box girth", "declared weight", "rounding"}


def audit(folder: Path, *, tables: tuple[str, ...] = (), rise: Rise | None = None, at_once: bool = False) -> Audit:
    """A month of 160 parcels."""
    return auditor.reconcile([write(folder, month(7, 160, rise=rise, at_once=at_once), tables=tables)])


@pytest.mark.sample(1)
@pytest.mark.parametrize("at_once", [False, True], ids=["corrected later", "billed at once"])
@pytest.mark.parametrize("rise", [None, RISE], ids=["one price", "a rise in mid month"])
def test_without_tables_right_charges_are_put_down_to_what_was_measured_and_none_is_strong(
    tmp_path: Path, rise: Rise | None, *, at_once: bool
) -> None:
    """Learned prices say nothing against a charge that is right, a rise within the month or not."""
    found = audit(tmp_path, rise=rise, at_once=at_once).findings
    assert len(found) > 20
    assert set(found["cause"]) <= MEASURED
    assert "strong" not in set(found["dispute"])
    assert set(found["price_basis"]) == {"learned"}
    assert not found["explanation"].str.contains("your table|your price", regex=True).any()


def test_a_book_keeps_a_rise_like_any_other_finding(tmp_path: Path) -> None:
    """It is about no parcel and no line, and stands in its statement's month."""
    folder = write(tmp_path / "month", month(7, 160, rise=RISE), tables=ALL)
    done = accounting.reconcile([folder], book=tmp_path / "book.sqlite")
    assert done.audit.findings["charges"].eq("prices").sum() == 2


@pytest.mark.sample(1)
@pytest.mark.parametrize("tables", [ALL, ("rates.csv",)], ids=["all tables", "rates alone"])
def test_a_rise_beyond_the_table_is_one_finding_of_each_statement_and_no_dispute(
    tmp_path: Path, tables: tuple[str, ...]
) -> None:
    """The day, the percentage and the dollars are told once; no parcel is called wrong for it."""
    found = audit(tmp_path, tables=tables, rise=RISE).findings
    rates = found[found["cause"] == "rate"]
    assert sorted(rates["statement"]) == ["LP-2026-03", "NP-2026-03"]
    assert set(rates["dispute"]) == {"none"}
    assert rates["tracking"].isna().all()
    assert rates["explanation"].str.contains("prices rose by 5.9 % on 2026-03-16, for all zones and weights").all()
    assert "strong" not in set(found["dispute"])
    assert set(found.loc[found["tracking"].notna(), "cause"]) <= MEASURED


OLDER = {
    "fuel.csv": (
        "fuel.csv",
        "Effective date,Percent,Service\n2025-01-01,14.5,\n",
        r"fuel is \S+ % from 2026-03-0\d on",
    ),
    "fees.csv": (
        "fees.csv",
        "Charge,Amount,Effective date\nresidential,6.08,2025-12-29\ncorrection fee,1.35,2025-12-29\n",
        "the amount of residential rose by 1.5 % on 2026-03-16",
    ),
}


@pytest.mark.sample(1)
@pytest.mark.parametrize("older", list(OLDER))
def test_an_older_table_of_fuel_or_fees_is_told_once_a_statement_and_no_charge_is_called_wrong_for_it(
    tmp_path: Path, older: str
) -> None:
    """A constant percentage where it moves every week, a fee that has gone up."""
    name, text, words = OLDER[older]
    folder = write(tmp_path, month(7, 160), tables=[one for one in ALL if one != "fees.csv"])
    (folder / name).write_text(text, encoding="utf-8")
    found = auditor.reconcile([folder]).findings
    told = found[found["tracking"].isna()]
    assert len(told) == 2
    assert told["explanation"].str.contains(words).all()
    assert set(told["dispute"]) == {"none"}
    assert set(found.loc[found["tracking"].notna(), "cause"].dropna()) <= MEASURED


def test_a_table_that_most_labels_do_not_follow_makes_no_strong_rate(tmp_path: Path) -> None:
    """Another carrier's list: told as a problem, and what is off it is at most arguable."""
    folder = write(tmp_path, month(7, 160), tables=["rates.csv"])
    rows = (folder / "rates.csv").read_text(encoding="utf-8").splitlines()
    others = [_cheaper(row, number) for number, row in enumerate(rows)]
    (folder / "rates.csv").write_text("\n".join(others) + "\n", encoding="utf-8")
    audit = auditor.reconcile([folder])
    told = [problem.message for problem in audit.problems if problem.message.startswith("Most labels")]
    assert told[0] == (
        "Most labels of service Ground cost something else than your price table says, and not by one percentage. Look "
        "whether it is that carrier's table, and of that time; until then no difference from it is called strong."
    )
    assert set(audit.findings["dispute"]) <= {"arguable", "none"}


def _cheaper(row: str, number: int) -> str:
    """A row of the table with its price a little lower, by no one percentage."""
    cells = row.split(",")
    return row if not number else ",".join([*cells[:3], f"{float(cells[3]) - 0.37 - number % 7 / 10:.2f}", *cells[4:]])


RECORDS = "Tracking number,Ship date,Service,Zone,Residential,Size,Weight\n" + "".join(
    f"NP{number},2026-03-0{number},Ground,5,no,10 x 8 x 6 in,2 lb\n" for number in range(1, 7)
)
CORRECTIONS = "Statement,Statement date,Tracking number,Ship date,Service,Zone,Charge,Scale weight (lb),Amount\n"


def prepaid(folder: Path, cents: list[int]) -> Audit:
    """Six labels bought beforehand and weighed heavier, with nothing but one sum for each; a table of rates alone."""
    folder.mkdir()
    rows = [
        f"NP-1,2026-04-01,NP{number},2026-03-0{number},Ground,5,Freight adjustment,{8 + number},{amount / 100:.2f}\n"
        for number, amount in enumerate(cents, 1)
    ]
    (folder / "shipments.csv").write_text(RECORDS, encoding="utf-8")
    (folder / "rates.csv").write_text(small_book.RATES, encoding="utf-8")
    (folder / "corrections.csv").write_text(CORRECTIONS + "".join(rows), encoding="utf-8")
    return auditor.reconcile([folder])


def test_corrections_that_come_to_the_prices_alone_show_that_the_fuel_is_in_them(tmp_path: Path) -> None:
    """Half a dollar a pound by the table, and just that was taken: no fuel table is asked for."""
    audit = prepaid(tmp_path / "month", [50 * (8 + number - 4) for number in range(1, 7)])
    assert audit.not_audited_cents == 0
    assert set(audit.findings["cause"]) == {"declared weight"}


def test_where_nothing_tells_the_fuel_nothing_is_audited_and_the_reason_and_the_sum_are_told(tmp_path: Path) -> None:
    """Never a difference from 0 %: one reason, with the parcels and dollars that it leaves open."""
    audit = prepaid(tmp_path / "month", [311, 402, 377, 519, 523, 610])
    assert audit.not_audited_cents == audit.billed_cents == 2742
    assert set(audit.findings["dispute"]) == {"none"}
    (reason,) = [problem.message for problem in audit.problems if "6 parcels" in problem.message]
    assert reason == (
        "6 parcels were not audited, $27.42 as billed: no fuel percentage is known; give a fuel table, of 0 % where "
        "your prices include it."
    )
    assert any(
        problem.message == "There is no table of fuel percentages among the files, and nothing on the statements tells "
        "them, so what depends on them is not audited. Add a table and run again."
        for problem in audit.problems
    )


ONE = "Tracking number,Ship date,Service,Zone,Residential,Size,Weight\nNP1,2026-03-04,Ground,5,no,10 x 8 x 6 in,5 lb\n"
TEN_PERCENT = "Effective date,Percent\n2026-01-05,10\n"


def one_parcel(folder: Path, rates: str, statement: str) -> Audit:
    """A parcel by 10 % fuel."""
    folder.mkdir()
    texts = {"shipments": ONE, "rates": rates, "fuel": TEN_PERCENT, "statement": small_book.HEAD + statement}
    for name, text in texts.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return auditor.reconcile([folder])


def test_fuel_beside_a_charge_of_unknown_words_is_asked_about_and_not_called_wrong(tmp_path: Path) -> None:
    """The unknown charge may carry fuel: 10 % of 11.50 and 5.13."""
    lines = [f"NP-1,2026-04-01,NP1,2026-03-04,Ground,5,{words}\n" for words in CHARGES]
    audit = one_parcel(tmp_path / "month", small_book.RATES, "".join(lines))
    (finding,) = audit.findings.to_dict("records")
    assert (finding["cause"], finding["difference_cents"], finding["dispute"]) == ("unexplained", 564, "none")
    assert "carrier's own figures (" not in finding["explanation"]


CHARGES = ("Freight,5,11.50", "Zorbing levy,,5.13", "Fuel surcharge,,1.66")


def test_a_difference_is_parted_by_what_is_known_where_one_set_of_figures_has_no_price(tmp_path: Path) -> None:
    """Ground has no price for 12 lb, Air has: by Ground that weight counts as what the declared one costs."""
    rates = "Service,Zone,Weight up to (lb),Price\nGround,5,10,11.50\nAir,5,10,20.00\nAir,5,40,50.00\n"
    head = "Statement,Statement date,Tracking number,Ship date,Service,Zone,Charge,Scale weight (lb),Amount\n"
    rows = "NP-1,2026-04-01,NP1,2026-03-04,Air,5,Freight,12,50.00\nNP-1,2026-04-01,NP1,2026-03-04,Air,5,Fuel,,5.00\n"
    folder = tmp_path / "month"
    one_parcel(folder, rates, rows)
    (folder / "statement.csv").write_text(head + rows, encoding="utf-8")
    (finding,) = auditor.reconcile([folder]).findings.to_dict("records")
    assert finding["difference_cents"] == 4235
    assert finding["declared_weight_cents"] == (5500 - 2200) // 2
