"""The plain recomputation against published examples, and the invented months against the plain recomputation."""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Collection
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pdfplumber
import pytest

from auditor.core import schemas
from tests.months import plainly
from tests.months.billing import ORDER_OF_CAUSES
from tests.months.faults import NEVER_BILLED, PLAN
from tests.months.make import make_month
from tests.months.plainly import Seen, attribute, billable_weight, cents, charges, dimensional_weight, shapley
from tests.months.scenario import CARTONS

SAMPLES = Path(__file__).parents[2] / "sample_statements"
SAMPLE, PLANTED = SAMPLES / "2026-03", SAMPLES / "2026-03-planted.csv"
SEED, PARCELS = 2026, 180


def sides(text: str) -> tuple[Fraction, ...]:
    """'11.1x8.1x4.1' in inches."""
    return tuple(Fraction(side) for side in text.split("x"))


# Published worked examples


@pytest.mark.parametrize(
    ("size", "pounds", "source"),
    [
        ("11.1x8.5x6.2", 6, "trade magazine, 2025: 12 x 9 x 7 = 756; 756/139 = 5.44"),
        ("11.1x8.1x4.1", 4, "packaging distributor's note, 2025: 12 x 9 x 5 = 540; 3.88"),
        ("11x10x9", 8, "trade magazine, 2025: 990; 7.12"),
        ("12x9x7", 6, "common practice, no source: 756; 5.44"),
        ("10x10x10", 8, "common practice, no source: 1,000; 7.2"),
        ("49x10x6", 22, "common practice, no source: 2,940; 21.15"),
    ],
)
def test_dimensional_weight_is_that_of_published_examples(size: str, pounds: int, source: str) -> None:
    """Each side up to the inch, the product over 139, up to the pound."""
    assert pounds == dimensional_weight(sides(size)), source


@pytest.mark.parametrize(
    ("size", "actual", "pounds", "source"),
    [
        ("12x9x7", "4.2", 6, "common practice, no source: the dimensional weight wins"),
        ("12x9x7", "7.0", 7, "common practice, no source: the actual weight wins"),
        ("10x10x10", "5.4", 8, "common practice, no source: 6 against 8"),
        ("49x10x6", "15", 40, "common practice, no source: least 40 lb when over 48 in, from 21 October 2024"),
    ],
)
def test_billable_weight_is_that_of_published_examples(size: str, actual: str, pounds: int, source: str) -> None:
    """The greatest of actual, dimensional and least billable weight."""
    assert pounds == billable_weight(sides(size), Fraction(actual)), source


def test_fuel_is_that_of_a_published_example() -> None:
    """10.97 and 5.50 at 15.25 % make 2.51 (common practice, no source)."""
    assert plainly.fuel({"freight": 1097, "residential": 550}, Decimal("15.25")) == 251


@pytest.mark.parametrize(
    ("size", "weight", "expected"),
    [
        ("48x20x8", "14", ("", 0)),
        ("48.01x20x8", "14", ("additional handling", 40)),
        ("40x30x2", "14", ("", 0)),
        ("40x30.01x2", "14", ("additional handling", 40)),
        ("48x18.5x9.5", "14", ("additional handling", 40)),
        ("36x18x16", "14", ("", 0)),
        ("35x18x16.1", "14", ("additional handling", 0)),
        ("12x10x8", "50", ("", 0)),
        ("12x10x8", "50.1", ("additional handling", 0)),
        ("96x8x8", "14", ("additional handling", 40)),
        ("96.1x8x8", "14", ("large parcel", 90)),
        ("36x24x20", "14", ("additional handling", 40)),
        ("36x24x20.1", "14", ("large parcel", 90)),
        ("12x10x8", "110.1", ("large parcel", 90)),
    ],
)
def test_a_limit_is_passed_only_when_the_rounded_figure_is_over_it(
    size: str, weight: str, expected: tuple[str, int]
) -> None:
    """At a limit is not over it, a hundredth of an inch more is (limits: common practice, no source)."""
    assert expected == plainly.size_surcharge(sides(size), Fraction(weight))


@pytest.mark.parametrize("size", ["108.1x8x8", "100x17x16"])
def test_a_parcel_over_the_greatest_size_is_not_priced(size: str) -> None:
    """Over 108 in long, or over 165 in of length plus girth (common practice, no source)."""
    with pytest.raises(ValueError, match="is not accepted"):
        plainly.size_surcharge(sides(size), Fraction(14))


@pytest.mark.parametrize(
    ("costs", "expected", "source"),
    [
        ((8, 11, 13, 18), ("2", "3", "4", "9"), "airport game, hellenicaworld.com"),
        ((1500, 2200, 3000), ("500", "850", "1650"), "runways, thoughtfulexaminations.com/?p=19583"),
        ((1500, 2200, 3500), ("500", "850", "2150"), "runways, thoughtfulexaminations.com/?p=19583"),
        ((100, 160, 200), ("100/3", "190/3", "310/3"), "airport game, math.techqa.club 2541276"),
    ],
)
def test_whoever_needs_the_longer_runway_pays_for_the_rest_of_it(
    costs: tuple[int, ...], expected: tuple[str, ...], source: str
) -> None:
    """A coalition costs what its most demanding player needs; Shapley values as published."""

    def cost(joined: Collection[int]) -> int:
        return max((costs[player] for player in joined), default=0)

    assert list(map(Fraction, expected)) == list(shapley(range(len(costs)), cost).values()), source


def test_the_only_left_glove_is_worth_two_thirds() -> None:
    """Glove game of the "Shapley value" article of Wikipedia: 1 and 2 hold right gloves, 3 a left one."""

    def pairs(joined: frozenset[int]) -> int:
        return int(3 in joined and len(joined) > 1)

    assert shapley((1, 2, 3), pairs) == {1: Fraction(1, 6), 2: Fraction(1, 6), 3: Fraction(2, 3)}


def test_a_cent_left_over_goes_to_the_largest_remainder_then_to_the_earlier_player() -> None:
    """100 in three equal parts, and 3 as 1/2 and 5/2."""
    third = Fraction(100, 3)
    assert plainly.to_whole_cents({"a": third, "b": third, "c": third}) == {"a": 34, "b": 33, "c": 33}
    assert plainly.to_whole_cents({"a": Fraction(1, 2), "b": Fraction(5, 2)}) == {"a": 1, "b": 2}


# The sample month

prices = plainly.read_prices(SAMPLE)
GUITAR = plainly.Parcel("Ground", "4", date(2026, 3, 4), sides("48x20x8"), Fraction(14), residential=True)


def test_the_recomputation_imports_nothing_of_the_package() -> None:
    """Only the standard library."""
    tree = ast.parse(Path(plainly.__file__).read_text(encoding="utf-8"))
    named = [node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    named += [alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names]
    assert not [name for name in named if name and name.split(".")[0] in {"auditor", "tests"}]


def test_a_reading_within_tolerance_is_put_down_to_rounding() -> None:
    """48.2 in against 48 is within a quarter of an inch, 48.3 in is not."""
    due = sum(charges(GUITAR, prices).values())
    longer = sum(charges(replace(GUITAR, sides=sides("49x20x8")), prices).values())
    for length, player in (("48.2", "rounding"), ("48.3", "longest side")):
        seen = Seen("Ground", "4", residential=True, read_sides=sides(f"{length}x20x8"))
        assert attribute(GUITAR, seen, prices) == {player: longer - due}


def test_a_rounded_figure_may_stand_for_any_reading_that_rounds_to_it() -> None:
    """A printed 49 may be 48.01, so it is rounding; a printed 50 is over 49, so it is the side."""
    for billed, player in ((49, "rounding"), (50, "longest side")):
        seen = Seen("Ground", "4", residential=True, billed_sides=(billed, 20, 8), billed_weight=58)
        assert player in attribute(GUITAR, seen, prices)


def test_what_is_beyond_declared_figures_is_shared_without_remainder() -> None:
    """Everything differs at once: the shares add up to the whole difference, fees among it."""
    seen = Seen(
        "Express",
        "6",
        residential=True,
        read_sides=sides("48.2x22x8"),
        read_weight=Fraction(59),
        address_corrected=True,
        corrected=True,
    )
    read = replace(GUITAR, service="Express", zone="6", sides=sides("48.2x22x8"), weight=Fraction(59))
    whole = sum(charges(read, prices).values()) + 2125 + 135 - sum(charges(GUITAR, prices).values())
    shares = attribute(GUITAR, seen, prices)
    assert tuple(shares) == ("rounding", "other sides", "weight", "address", "service or zone")
    assert whole == sum(shares.values())


def test_the_sample_month_is_what_make_gives(tmp_path: Path) -> None:
    """Byte for byte; the PDF by its words and their places, as its packing may change with the library."""
    make_month(SEED, PARCELS, out=tmp_path / "2026-03")
    made = {path.name: path for path in (tmp_path / "2026-03").iterdir()}
    assert set(made) == {path.name for path in SAMPLE.iterdir()}
    for name, path in made.items():
        if path.suffix == ".pdf":
            assert words(SAMPLE / name) == words(path)
        else:
            assert (SAMPLE / name).read_bytes() == path.read_bytes(), name
    assert PLANTED.read_bytes() == (tmp_path / "2026-03-planted.csv").read_bytes()


def words(path: Path) -> list[list[tuple[str, int, int]]]:
    """Every word of every page with its place."""
    with pdfplumber.open(path) as document:
        pages = [page.extract_words() for page in document.pages]
    return [[(word["text"], round(word["x0"]), round(word["top"])) for word in page] for page in pages]


def test_the_same_seed_gives_the_same_bytes(tmp_path: Path) -> None:
    """The PDF included."""
    for name in ("one", "other"):
        make_month(11, PARCELS, out=tmp_path / name)
    one, other = ({path.name: path.read_bytes() for path in (tmp_path / n).iterdir()} for n in ("one", "other"))
    assert one == other


def test_the_sample_month_has_every_cause() -> None:
    """And causes are named in the order of the package, which decides between equal shares."""
    assert ORDER_OF_CAUSES == schemas.CAUSES
    assert {row["cause"] for row in plainly.read_rows(PLANTED)} == {*schemas.CAUSES, NEVER_BILLED}


def test_the_sample_month_is_shipped_on_working_days_of_march_in_the_shops_cartons() -> None:
    """At least 150 parcels, none on a Sunday, every carton used."""
    shipments = plainly.read_rows(SAMPLE / "shipments.csv")
    days = {date.fromisoformat(row["Ship date"]) for row in shipments}
    assert len(shipments) >= 150
    assert (2026, 3) == (min(days).year, min(days).month) == (max(days).year, max(days).month)
    assert 6 not in {day.weekday() for day in days}
    assert {carton.name for carton in CARTONS} == {row["Carton"] for row in shipments}


# Months of any size, read back from their files


Amounts = dict[tuple[str, str], tuple[int, int]]


def differences(folder: Path) -> Amounts:
    """Billed and expected by statement and tracking number, recomputed from the CSV files, where they differ."""
    shipments = plainly.read_rows(folder / "shipments.csv")
    of_number = {row["Tracking number"]: row for row in shipments}
    of_order = {row["Order"]: row for row in shipments}
    prices = plainly.read_prices(folder)
    billed: dict[tuple[str, str], int] = defaultdict(int)
    for file in ("norrhaven-2026-03.csv", "larkrise-2026-03.csv"):
        for line in plainly.read_rows(folder / file)[:-1]:
            number = line["Tracking number"]
            shipment = of_number.get(number.replace(" ", "")) or of_order.get(line["Order reference"])
            billed[line["Statement"], shipment["Tracking number"] if shipment else number] += cents(line["Amount"])
    found = {}
    for (statement, number), amount in billed.items():
        row = of_number.get(number)
        unused = row is None or row["Voided"] == "yes"
        expected = 0 if row is None or unused else sum(charges(plainly.read_parcel(row), prices).values())
        if number and amount != expected:
            found[statement, number] = amount, expected
    return found


def planted(folder: Path) -> Amounts:
    """Billed and expected as the list of planted faults has them."""
    rows = plainly.read_rows(folder.parent / f"{folder.name}-planted.csv")
    return {
        (row["statement"], row["tracking"]): (cents(row["billed"]), cents(row["expected"]))
        for row in rows
        if row["cause"] != NEVER_BILLED
    }


@pytest.mark.parametrize(("seed", "parcels"), [(SEED, PARCELS), (1, 120), (2, 240), (3, 400)])
def test_every_difference_in_the_files_is_planted_and_every_planted_one_is_there(
    seed: int, parcels: int, tmp_path: Path
) -> None:
    """Ordinary parcels are billed what they should cost, to the cent."""
    make_month(seed, parcels, out=tmp_path / "month", pdf=False)
    assert planted(tmp_path / "month") == differences(tmp_path / "month")


def test_the_pdf_bills_the_same_amounts_as_the_csv(tmp_path: Path) -> None:
    """Row by row, money back in parentheses, and the total."""
    make_month(SEED, PARCELS, out=tmp_path / "month", pdf=False)
    in_csv = [row["Amount"] or "" for row in plainly.read_rows(tmp_path / "month" / "larkrise-2026-03.csv")]
    with pdfplumber.open(SAMPLE / "larkrise-2026-03.pdf") as document:
        assert len(document.pages) > 2
        rows = [row for page in document.pages for row in page.extract_tables()[0][1:]]
    printed = [(row[-1] or "").replace(",", "") for row in rows]
    assert in_csv == [f"-{text.strip('()')}" if text.startswith("(") else text for text in printed]
    assert rows[-1][0] == "Statement total"


@pytest.mark.parametrize("name", ["norrhaven-2026-03.csv", "larkrise-2026-03.csv"])
def test_a_printed_total_is_the_sum_of_the_lines(name: str, tmp_path: Path) -> None:
    """The last row, whose first cell says so."""
    make_month(5, PARCELS, out=tmp_path / "month", pdf=False)
    *lines, total = plainly.read_rows(tmp_path / "month" / name)
    assert total["Statement"] == "Statement total"
    assert cents(total["Amount"]) == sum(cents(line["Amount"]) for line in lines)


def test_a_month_without_faults_has_nothing_to_find(tmp_path: Path) -> None:
    """Every parcel is recorded, billed and billed rightly."""
    month = make_month(4, 60, faults=0, out=tmp_path / "month", pdf=False)
    assert not month.truths
    assert len(month.shipments) == 60
    assert not differences(tmp_path / "month")


def test_a_larger_month_has_its_share_of_faults(tmp_path: Path) -> None:
    """The plan is planted once for every 180 parcels."""
    month = make_month(6, 4 * PARCELS, out=tmp_path / "month", pdf=False)
    assert len(month.truths) == 4 * sum(1 for fault in PLAN if fault.cause)
    assert len(list((tmp_path / "month").glob("*.eml"))) == 4 * 4


def test_too_small_a_month_is_refused(tmp_path: Path) -> None:
    """Rather than planted with fewer faults than asked for."""
    with pytest.raises(ValueError, match="20 parcels are too few for 1 × 53 faults"):
        make_month(1, 20, out=tmp_path / "month")
