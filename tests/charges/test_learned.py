"""Without a price table the prices are learned from the labels, near the true ones, and said to be estimates."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

import auditor
from auditor.charges.learned.rates import learned
from auditor.core.schemas import FEES, FUEL, LINES, RATES, SHIPMENTS, conform, empty
from auditor.tariff import Prices, Rulebook, load, price
from tests.evaluation.learning import both, causes, errors
from tests.parcels import FEE_CENTS, freight, inches, pounds

BOOK = Rulebook(load("us-ground-common"))
NO_PRICES = Prices(empty(RATES), empty(FEES), empty(FUEL))


def month(weights: list[int]) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Shipments of a small box at those weights, and what their labels were billed at 15.25 % fuel."""
    shipments = conform(
        pd.DataFrame(
            {
                "tracking": [f"T{number}" for number in range(len(weights))],
                "service": "Ground",
                "zone": "5",
                "shipped_on": pd.Timestamp("2026-03-04"),
                **{f"{side}_nm": inches(6) for side in ("length", "width", "height")},
                "weight_pg": [pounds(weight) for weight in weights],
            }
        ),
        SHIPMENTS,
    )
    lines = [
        {"tracking": f"T{number}", "charge": charge, "amount_cents": cents, "shipment": number}
        for number, weight in enumerate(weights)
        for charge, cents in zip(("freight", "residential", "fuel"), _charged(weight), strict=True)
    ]
    table = pd.DataFrame(lines).assign(service="Ground", zone="5", shipped_on=pd.Timestamp("2026-03-04"))
    table["state"] = "label charge"
    return shipments, conform(table, LINES).assign(shipment=table["shipment"].astype("Int64"))


def _charged(weight: int) -> tuple[int, int, int]:
    carried = freight(weight) + FEE_CENTS["residential"]
    return freight(weight), FEE_CENTS["residential"], (2 * carried * 152_500 + 1_000_000) // 2_000_000


def test_prices_fees_and_fuel_seen_are_learned_as_they_are() -> None:
    """To the cent at the weights seen."""
    shipments, lines = month([2, 5, 9])
    prices = learned(lines, shipments, NO_PRICES, BOOK)
    rates = prices.rates.set_index("up_to_pg")["price_cents"]
    assert [rates[pounds(weight)] for weight in (2, 5, 9)] == [freight(2), freight(5), freight(9)]
    assert prices.fuel["fuel_ppm"].tolist() == [152_500]
    assert prices.fee("residential", "5", 20_516) == FEE_CENTS["residential"]


def test_prices_between_and_beyond_are_continued_and_never_fall() -> None:
    """The invented price list is a straight line, so interpolation meets it."""
    shipments, lines = month([2, 9, 12])
    rates = learned(lines, shipments, NO_PRICES, BOOK).rates.sort_values("up_to_pg")
    assert rates["price_cents"].is_monotonic_increasing
    by_weight = rates.set_index("up_to_pg")["price_cents"]
    assert abs(by_weight[pounds(6)] - freight(6)) <= 1
    assert abs(by_weight[pounds(40)] - freight(40)) <= 2


def test_one_wrong_price_among_many_does_not_move_the_learned_one() -> None:
    """The median of each weight is taken."""
    shipments, lines = month([5, 5, 5, 9])
    lines.loc[(lines["tracking"] == "T1") & (lines["charge"] == "freight"), "amount_cents"] += 500
    rates = learned(lines, shipments, NO_PRICES, BOOK).rates.set_index("up_to_pg")["price_cents"]
    assert rates[pounds(5)] == freight(5)


def test_tables_given_are_not_touched() -> None:
    """What the seller knows is not learned."""
    shipments, lines = month([5])
    fees = conform(pd.DataFrame({"charge": ["residential"], "amount_cents": [1]}), FEES)
    given = Prices(empty(RATES), fees, empty(FUEL))
    assert learned(lines, shipments, given, BOOK).fees["amount_cents"].tolist() == [1]


@pytest.mark.slow
def test_a_generated_month_without_tables_has_nearly_the_same_findings() -> None:
    """Median error under 1 %, few causes changed, and marked as learned."""
    known, without = both(("faults of every kind", 6, 900))
    assert errors(known, without).median() < 0.01
    told = causes(known, without)
    assert (told["known"] != told["learned"]).mean() < 0.1
    assert set(without.findings.dropna(subset="carton")["price_basis"]) == {"learned"}
    assert without.findings["explanation"].str.contains("learned from your own labels").any()


def test_fuel_is_learned_by_the_service_of_the_record_where_no_statement_prints_one() -> None:
    """Seventeen labels at 17 %, say: not one of them is held against 0 %."""
    shipments, lines = month([2, 5, 9])
    bare = lines.assign(service=pd.Series(pd.NA, index=lines.index, dtype="str"))
    assert learned(bare, shipments, NO_PRICES, BOOK).fuel["fuel_ppm"].tolist() == [152_500]


def test_fuel_that_changes_within_a_week_is_learned_day_by_day() -> None:
    """Each day by its own labels."""
    shipments, lines = month([2, 5, 9, 12])
    late = lines["shipment"].isin([2, 3])
    day = pd.Timestamp("2026-03-06")
    shipments.loc[[2, 3], "shipped_on"] = day
    lines.loc[late, "shipped_on"] = day
    lines.loc[late & (lines["charge"] == "fuel"), "amount_cents"] = [
        ((freight(weight) + FEE_CENTS["residential"]) * 2 + 5) // 10 for weight in (9, 12)
    ]
    found = learned(lines, shipments, NO_PRICES, BOOK).fuel
    assert found["fuel_ppm"].tolist() == [152_500, 200_000]
    assert found["effective_on"].dt.day.tolist() == [4, 6]


def test_labels_billed_charge_by_charge_without_fuel_show_that_there_is_none() -> None:
    """Known to be 0 %, which is not the same as not known."""
    shipments, lines = month([2, 5, 9])
    assert learned(lines[lines["charge"] != "fuel"], shipments, NO_PRICES, BOOK).fuel["fuel_ppm"].tolist() == [0]


def test_fuel_that_follows_no_percentage_is_not_known_and_such_a_parcel_has_no_price() -> None:
    """Never 0 % for want of a better one."""
    shipments, lines = month([2, 5, 9])
    lines.loc[lines["charge"] == "fuel", "amount_cents"] = [511, 90, 333]
    found = learned(lines[lines["shipment"] == 9], shipments, NO_PRICES, BOOK)
    assert found.fuel.empty
    table = Prices(price_table(), found.fees, found.fuel)
    priced = price(shipments.assign(residential=False), BOOK, table)
    assert priced["total_cents"].isna().all()
    assert set(priced["unpriced"]) == {
        "no fuel percentage is known; give a fuel table, of 0 % where your prices include it"
    }


def price_table() -> pd.DataFrame:
    """Rates for the month's parcels."""
    return conform(
        pd.DataFrame({"service": ["Ground"], "zone": "5", "up_to_pg": pounds(50), "price_cents": 999}), RATES
    )


def test_fuel_is_told_from_what_labels_cost_where_no_statement_bills_them() -> None:
    """What a label cost beyond its price is fuel."""
    shipments, lines = month([2, 5, 9])
    shipments = shipments.assign(label_cost_cents=1_169, residential=False)
    given = Prices(price_table(), empty(FEES), empty(FUEL))
    assert learned(lines[:0], shipments, given, BOOK).fuel["fuel_ppm"].tolist() == [170_000]


def test_a_charge_of_unsettled_amounts_has_no_learned_fee() -> None:
    """Two amounts of one charge, as often the one as the other: neither is a price."""
    shipments, lines = month([2, 5, 9, 12])
    mine = (lines["charge"] == "residential") & lines["shipment"].isin([0, 1])
    lines.loc[mine, "amount_cents"] += 125
    assert learned(lines, shipments, NO_PRICES, BOOK).fees.empty


def test_labels_whose_prices_are_not_settled_teach_none() -> None:
    """Equal parcels at many prices: no list could be learned, and nothing is held against one."""
    shipments, lines = month([5] * 8)
    lines.loc[lines["charge"] == "freight", "amount_cents"] += pd.Series(range(8)).mul(37).to_numpy()
    assert learned(lines, shipments, NO_PRICES, BOOK).rates.empty


@pytest.mark.sample(1)
@pytest.mark.parametrize(("carries", "known"), [(True, True), (False, True), (None, False)])
def test_fuel_beside_a_charge_of_unknown_words_is_known_or_not_at_all(
    tmp_path: Path, *, carries: bool | None, known: bool
) -> None:
    """Nearly right is not known: a percentage must be plain by one reading of that charge, and by the other none."""
    head = "Statement,Statement date,Tracking number,Ship date,Service,Zone,Charge,Billed weight (lb),Amount\n"
    lines, records = head, "Tracking number,Ship date,Service,Zone,Residential,Size,Weight\n"
    for at in range(24):
        freight, extra, day = 1003 + 137 * at, 211, 2 + at % 12
        # None: on some labels it carries fuel, on others it does not.
        carried = freight + extra * (at % 2 == 0 if carries is None else carries)
        fuel = (carried * 155 + 500) // 1000
        records += f"NP44{at:04d},2026-03-{day:02d},Ground,5,no,12 x 6 x 4 in,{3 + at} lb\n"
        for name, cents in (("Freight", freight), ("Zwibbel", extra), ("Fuel surcharge", fuel)):
            lines += f"S1,2026-04-01,NP44{at:04d},2026-03-{day:02d},Ground,5,{name},{3 + at},{cents / 100:.2f}\n"
    (tmp_path / "records.csv").write_text(records)
    (tmp_path / "march.csv").write_text(lines)
    fuel_table = auditor.reconcile([tmp_path]).prices.fuel
    assert set(fuel_table["fuel_ppm"]) == ({155_000} if known else set())
