"""A seller's own rule file: it overrides single values of a shipped tariff, says what it replaced, and is checked."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner

from auditor.cli import group
from auditor.core import units
from auditor.tariff import RuleError, load, price
from auditor.tariff.checks import doubtful_facts
from tests import small_book
from tests.parcels import FEE_CENTS, parcel, prices, table

MINE = """\
extends = "us-ground-common"
name = "my-contract"

[[dimensional_weight.divisor]]
from = 2026-01-01
until = 2026-06-30
value = "166 in3/lb"
source = "my contract of December 2025, page 3"

[[charges.residential.fee]]
from = 2026-01-01
amount = "0.00"
source = "my contract of December 2025, page 4"
"""


def own(tmp_path: Path, text: str = MINE) -> Path:
    """A rule file of a seller's own."""
    file = tmp_path / "mine.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_a_negotiated_divisor_holds_for_its_days_only(tmp_path: Path) -> None:
    """12 x 12 x 14, by 139: 15 lb; by 166: 13 lb. After the contract's last day the shipped value is back."""
    parcels = table(*(parcel("12 x 12 x 14", 2, on) for on in ("2025-12-31", "2026-01-01", "2026-06-30", "2026-07-01")))
    priced = price(parcels, load(own(tmp_path)), prices())
    assert [pg // units.PG_PER_POUND for pg in priced["billable_pg"]] == [15, 13, 13, 15]


def test_a_waived_fee_goes_before_the_fees_table(tmp_path: Path) -> None:
    """The seller's own rule file is the later word."""
    priced = price(table(parcel("9 x 9 x 9", 5, residential=True)), load(own(tmp_path)), prices())
    assert priced["residential_cents"].tolist() == [0]
    before = price(table(parcel("9 x 9 x 9", 5, "2025-12-31", residential=True)), load(own(tmp_path)), prices())
    assert before["residential_cents"].tolist() == [FEE_CENTS["residential"]]


def test_an_own_value_says_what_it_replaced(tmp_path: Path) -> None:
    """With the source of what was there before."""
    rules = load(own(tmp_path)).on(date(2026, 3, 4))
    assert rules is not None
    assert rules.cited["dimensional_weight.divisor"].replaced.startswith("value 139 in3/lb (a trade magazine's")
    assert rules.cited["side_rounding"].replaced == ""


def test_show_and_check_tell_of_own_values(tmp_path: Path) -> None:
    """In plain words, with exit code 0."""
    shown = CliRunner().invoke(group, ["rules", "show", str(own(tmp_path)), "--on", "2026-03-04"])
    assert "For dimensional weight the volume is divided by 166 in3/lb, until 2026-06-30." in shown.output
    assert "your own, in place of: value 139 in3/lb" in shown.output
    checked = CliRunner().invoke(group, ["rules", "check", str(own(tmp_path))])
    assert checked.exit_code == 0
    assert "can be used" in checked.output


FAULTS = {
    "an unknown key": ('value = "166 in3/lb"', 'valeu = "166 in3/lb"', "mine.toml, line 7: ", "Did you mean value?"),
    "an unknown fact": ("[[dimensional_weight.divisor]]", "[[dimensional_weight.divider]]", "line 4: ", "Did you mean"),
    "a wrong unit": ('"166 in3/lb"', '"166 in/lb"', "line 7: ", "'166 in' is not a volume with a known unit"),
    "an impossible date": ("2026-06-30", "2026-06-31", "mine.toml", "line 6"),
    "an amount as a number": ('"0.00"', "0.00", "line 12: ", "in quotation marks"),
    "an unknown base": (
        '"us-ground-common"',
        '"us-grund"',
        "line 1: ",
        "is not a shipped tariff. Shipped are: air-iata",
    ),
    "an end before its beginning": (
        "until = 2026-06-30",
        "until = 2025-06-30",
        "line 6: ",
        "lies before from = 2026-01-01",
    ),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_named_with_file_line_and_what_was_meant(fault: str, tmp_path: Path) -> None:
    """One fault at a time."""
    before, after, *words = FAULTS[fault]
    with pytest.raises(RuleError) as error:
        load(own(tmp_path, MINE.replace(before, after, 1)))
    for word in words:
        assert word in str(error.value)


def test_check_exits_with_2_on_a_fault(tmp_path: Path) -> None:
    """The message stands on stderr."""
    file = own(tmp_path, MINE.replace("166 in3/lb", "166 in/lb"))
    checked = CliRunner().invoke(group, ["rules", "check", str(file)])
    assert checked.exit_code == 2
    assert "'166 in' is not a volume" in checked.output


UNREACHABLE = """
[[charges."large parcel".limits."longest side"]]
from = 2026-01-01
over = "108 in"
source = "invented"
"""


def test_a_limit_that_can_never_be_reached_is_doubted(tmp_path: Path) -> None:
    """Over 108 in a parcel is not accepted, so a charge over 108 in is never made."""
    file = own(tmp_path, MINE + UNREACHABLE)
    assert [fact for fact, _ in doubtful_facts(load(file))] == ["charges.large parcel.limits.longest side"]
    checked = CliRunner().invoke(group, ["rules", "check", str(file)])
    assert checked.exit_code == 1
    assert "longest side over 108 in can never be reached" in checked.output


def test_shipped_tariffs_raise_no_doubts() -> None:
    """Every shipped limit can be reached, and every dated value changes something."""
    for name in ("air-iata", "express-volumetric", "us-ground-common", "us-postal"):
        assert doubtful_facts(load(name)) == []


def test_list_and_compare_show_tariffs_and_days() -> None:
    """Four tariffs; one change of rounding on 18 August 2025."""
    listed = CliRunner().invoke(group, ["rules", "list"]).output
    assert [line.split()[0] for line in listed.splitlines()] == [
        "air-iata",
        "express-volumetric",
        "us-ground-common",
        "us-postal",
    ]
    days = ["--on", "2025-08-17", "--and-on", "2025-08-18"]
    compared = CliRunner().invoke(group, ["rules", "compare", "us-ground-common", *days]).output
    assert "us-ground-common on 2025-08-17: way nearest, to 1 in" in compared
    assert "us-ground-common on 2025-08-18: way up, to 1 in" in compared
    same = CliRunner().invoke(group, ["rules", "compare", "air-iata", "air-iata"]).output
    assert same == "Nothing differs.\n"
    later = CliRunner().invoke(group, ["rules", "show", "air-iata", "--on", "2031-01-01"]).output
    assert "Last looked at on 2026-11-25: what has changed since is not in it." in later
    assert "Not covered: charges of the airport" in later
    before = CliRunner().invoke(group, ["rules", "show", "air-iata", "--on", "1990-01-01"]).output
    assert "The rules air-iata are known only from 2010-01-01 on, not for 1990-01-01." in before


@pytest.mark.parametrize("name", ["air-iata", "express-volumetric", "us-postal"])
def test_a_month_is_audited_by_each_shipped_tariff(name: str, tmp_path: Path) -> None:
    """Also by one without a fee for corrections; every amount comes out to the cent."""
    wrong = small_book.MARCH.replace(
        "NP1,2026-03-04,Ground,5,Freight,12,15.00", "NP1,2026-03-04,Ground,5,Freight,12,19.00"
    )
    folder = small_book.march(tmp_path / "march")
    small_book.file(folder, "march.csv", wrong)
    call = ["reconcile", str(folder), "--no-book", "--rules", name, "--out", str(tmp_path / "out")]
    assert CliRunner().invoke(group, call, catch_exceptions=False).exit_code in {0, 1}
    assert "Total" in (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
