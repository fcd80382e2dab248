"""Rule files are refused at the door, with the file, the place and the value in the message."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from auditor.tariff import RuleError, load, price
from auditor.tariff.quantities import quantity
from auditor.tariff.rule_files import folder
from tests.parcels import parcel, prices, table

SHIPPED = sorted(file.stem for file in folder().glob("*.toml"))
GROUND = (folder() / "us-ground-common.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", SHIPPED)
def test_every_shipped_tariff_loads_and_every_value_has_a_source(name: str) -> None:
    """A fact without a document says so in one of two fixed phrases, or names one."""
    tariff = load(name)
    assert tariff.name == name
    for values in tariff.facts.values():
        assert all(value.source.strip() for value in values)


@pytest.mark.parametrize("name", SHIPPED)
def test_rules_change_on_their_day_and_not_before(name: str) -> None:
    """On both sides of every dated change."""
    tariff = load(name)
    for fact, values in tariff.facts.items():
        for value in values[1:]:
            before = tariff.on(date.fromordinal(value.since.toordinal() - 1))
            on = tariff.on(value.since)
            assert before is not None
            assert on is not None
            assert fact not in before.cited or before.cited[fact].since < value.since
            assert on.cited[fact].since == value.since


def test_a_day_before_what_is_known_has_no_rules_and_one_after_it_the_last() -> None:
    """Rules go on until they change; what was never looked at is not known."""
    tariff = load("us-ground-common")
    assert tariff.on(date(2021, 12, 31)) is None
    assert tariff.on(date(2022, 1, 1)) is not None
    last = tariff.on(date(2026, 11, 25))
    assert last is not None
    later = tariff.on(date(2026, 11, 26))
    assert later is not None
    assert (last.last_known, later.last_known) == (None, date(2026, 11, 25))
    assert replace(later, since=last.since, last_known=None) == last
    assert tariff.on(date(2031, 1, 1)) is later


@pytest.mark.parametrize("name", SHIPPED)
def test_a_source_younger_than_its_first_day_says_what_the_time_before_rests_on(name: str) -> None:
    """A text of 2025 does not say what held in 2022: that is then from memory, or has no source."""
    unsaid = [
        f"{fact} from {value.since}: {value.source}"
        for fact, values in load(name).facts.items()
        for value in values
        if (years := re.findall(r"\b(?:19|20)\d\d\b", value.source))
        and min(map(int, years)) > value.since.year
        and "from memory" not in value.source
        and "no source" not in value.source
    ]
    assert not unsaid


@pytest.mark.parametrize("name", SHIPPED)
def test_every_shipped_tariff_says_what_it_does_not_cover(name: str) -> None:
    """So that a charge which is not here is not taken for a wrong one."""
    assert load(name).not_covered


def test_a_needed_fact_that_ends_after_the_last_known_day_leaves_no_price(tmp_path: Path) -> None:
    """Sides that are rounded no way anybody knows are not sides that are not rounded."""
    file = tmp_path / "mine.toml"
    up = 'from = 2025-08-18\nway = "up"'
    file.write_text(GROUND.replace(up, up.replace("\n", "\nuntil = 2026-12-31\n"), 1), encoding="utf-8")
    parcels = table(parcel("9 x 9 x 9", 5, "2026-12-31"), parcel("9 x 9 x 9", 5, "2027-01-01"))
    reasons = price(parcels, load(file), prices())["unpriced"].tolist()
    assert pd.isna(reasons[0])
    assert reasons[1] == "side_rounding of us-ground-common is not known after 2026-12-31"


BROKEN = {
    "an unknown fact": (
        "[[side_rounding]]\nfrom = 2022",
        "[[edge_rounding]]\nfrom = 2022",
        "edge_rounding is not a fact",
    ),
    "an unknown key": (
        'way = "up"\nto = "1 in"',
        'how = "up"\nto = "1 in"',
        "side_rounding, value 2: how is not known",
    ),
    "an unknown way": (
        'way = "up"\nto = "1 in"',
        'way = "sideways"\nto = "1 in"',
        "'sideways' is not one of up, nearest",
    ),
    "a wrong unit": ('over = "48 in"', 'over = "48 lb"', "longest side, value 1: '48 lb' is not a length"),
    "no number": ('over = "48 in"', 'over = "four feet"', "'four feet' does not begin with a number"),
    "zero": ('over = "48 in"', 'over = "0 in"', "'0 in' must be above zero"),
    "an unknown measure": (
        'limits."second side"',
        'limits."third side"',
        "third side is not a fact that rules can state",
    ),
    "a missing source": (
        'source = "common practice, no source"\n\n[[side_rounding]]',
        "\n[[side_rounding]]",
        "source is missing",
    ),
    "an empty source": (
        'source = "common practice, no source"\n\n[[side_rounding]]',
        'source = " "\n\n[[side_rounding]]',
        "source is empty",
    ),
    "an impossible date": ("from = 2025-08-18", "from = 2025-08-32", "cannot be read as a rule file"),
    "a date as text": ("from = 2025-08-18", 'from = "18 August"', "from = '18 August' is not a day like 2026-01-12"),
    "values out of order": ("from = 2025-08-18", "from = 2021-08-18", "must come after the one from 2022-01-01"),
    "overlapping values": (
        'from = 2022-01-01\nway = "nearest"',
        'from = 2022-01-01\nuntil = 2025-09-01\nway = "nearest"',
        "the value until 2025-09-01 overlaps the one from 2025-08-18",
    ),
    "a gap in a needed fact": (
        'from = 2022-01-01\nway = "nearest"',
        'from = 2022-01-01\nuntil = 2025-08-01\nway = "nearest"',
        "nothing is said of the days between 2025-08-01 and 2025-08-18",
    ),
    "a repeated key": ('name = "us-ground-common"', 'name = "a"\nname = "b"', "cannot be read as a rule file"),
    "no name": ('name = "us-ground-common"', "", "name must be given"),
    "a stray key": ('version = "2026-11-25"', 'version = "2026-11-25"\ncolour = "blue"', "colour is not known here"),
    "an unknown flag": (
        'applies_to = "residential"',
        'applies_to = "weekends"',
        "applies_to = 'weekends' is not known",
    ),
    "an exclusion of nothing": ('excludes = ["additional handling"]', 'excludes = ["tolls"]', "excludes = ['tolls']"),
    "a ladder without its steps": (
        '{ up_to = "25 lb", within = "0.05 lb" }',
        '{ up_to = "25 lb" }',
        "tolerance.weight, value 1: by_load = [{'up_to': '25 lb'}, ",
    ),
    "a list of what is not covered": (
        'not_covered = "',
        'not_covered = ["a"] # "',
        "not_covered = ['a'] is not a text in quotation marks",
    ),
    "a window of no days": ("days = 30", "days = 0", "days = 0 is not a whole number above zero"),
}


@pytest.mark.parametrize("fault", BROKEN)
def test_a_broken_rule_file_is_refused_with_its_place_and_value(fault: str, tmp_path: Path) -> None:
    """One fault at a time, each in a copy of the shipped file."""
    before, after, message = BROKEN[fault]
    assert before in GROUND
    file = tmp_path / "mine.toml"
    file.write_text(GROUND.replace(before, after, 1), encoding="utf-8")
    with pytest.raises(RuleError) as error:
        load(file)
    assert message in str(error.value)
    assert "mine.toml" in str(error.value) or "us-ground-common" in str(error.value)


def test_an_unknown_tariff_names_the_shipped_ones() -> None:
    """The next step stands in the message."""
    with pytest.raises(RuleError, match=r"There are no rules named lunar-post\. Shipped are: .*us-ground-common"):
        load("lunar-post")


def test_a_file_that_is_not_there_or_not_text_is_said(tmp_path: Path) -> None:
    """No traceback for a wrong path."""
    with pytest.raises(RuleError, match="There are no rules named"):
        load(tmp_path / "missing.toml")
    (tmp_path / "noise.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(RuleError, match="cannot be read as a rule file"):
        load(tmp_path / "noise.toml")


def test_quantities_are_exact() -> None:
    """In whole small units, volumes too."""
    assert quantity("0.25 in", "length") == 6_350_000
    assert quantity("10368 in3", "volume") == 10_368 * 25_400_000**3
    assert quantity("70 lb", "weight") == 70 * 453_592_370_000_000
