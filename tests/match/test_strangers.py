"""Parcels that no record fits: forgotten by the shop, or another's."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from auditor.audit import Audit, audited
from auditor.core.units import NM_PER_INCH
from auditor.intake import Intake, read
from auditor.match.strangers import NO_SIGNS, Signs
from auditor.report import wording
from auditor.tariff import Rulebook, opened
from tests.months.make import make_month


@pytest.fixture(scope="module")
def book() -> Rulebook:
    """The rules of the months."""
    return opened("us-ground-common")


@pytest.fixture(scope="module")
def month(tmp_path_factory: pytest.TempPathFactory, book: Rulebook) -> Intake:
    """A month in which nothing is wrong, read."""
    folder: Path = tmp_path_factory.mktemp("month")
    make_month(7, 90, faults=0, out=folder, pdf=False)
    return read([folder], charges=book.charges)


def unknown(audit: Audit) -> list[dict[str, object]]:
    """The findings about parcels in no record."""
    return audit.findings[audit.findings["cause"] == "unknown parcel"].to_dict("records")  # type: ignore[return-value]


@pytest.mark.sample(1)
@pytest.mark.parametrize(("share", "seed"), [(0.1, 1), (0.25, 2), (0.4, 3)])
def test_a_parcel_that_the_shop_forgot_is_a_question_first(
    month: Intake, book: Rulebook, share: float, seed: int
) -> None:
    """Of the recorded parcels some are forgotten at random: all look like the shop's."""
    forgotten = month.shipments.sample(frac=share, random_state=seed)
    audit = audited(replace(month, shipments=month.shipments.drop(index=forgotten.index)), book)
    found = unknown(audit)
    assert len(found) > share * len(month.shipments) / 2
    assert {one["dispute"] for one in found} == {"none"}
    assert {one["disputable_cents"] for one in found} == {0}
    assert {wording.verdict(one) for one in found} == {"A question first"}
    assert all(
        "Did you forget to record it? It looks like yours: its number" in str(one["explanation"]) for one in found
    )
    told = [one.message for one in audit.problems if "are in no record of yours but look like yours" in one.message]
    assert len(told) == 2  # one for each statement


def _of_another(month: Intake, number: str, order: str, sides: tuple[int, int, int]) -> Intake:
    """The month with one parcel's lines as another shop's."""
    lines = month.lines.copy()
    mine = lines["tracking"] == lines["tracking"].dropna().iloc[0]
    lines.loc[mine, "tracking"], lines.loc[mine, "order"] = number, order
    for side, inches in zip(("length", "width", "height"), sides, strict=True):
        lines.loc[mine, f"billed_{side}_nm"] = inches * NM_PER_INCH
    shipments = month.shipments[month.shipments["tracking"] != month.lines.loc[mine, "tracking"].iloc[0]]
    return replace(month, lines=lines, shipments=shipments)


def test_a_parcel_unlike_all_of_the_shops_in_several_ways_is_a_strong_case(month: Intake, book: Rulebook) -> None:
    """Another form of number, another size and another form of order reference."""
    [one] = unknown(audited(_of_another(month, "ZX77-1", "HH/22/9", (61, 9, 7)), book))
    assert one["dispute"] == "strong"
    assert str(one["explanation"]).endswith(
        "It seems to be another's: its number has another form than any of yours and its size, 61 × 9 × 7 in, is none "
        "that you use and its order reference has another form than any of yours. Ask the carrier for proof that it "
        "was handed over for you."
    )
    assert one["dispute_reason"] == (
        "no shipment of yours has this number, and nothing about the parcel is like yours; ask for proof"
    )


@pytest.mark.parametrize(
    ("number", "order", "sides"),
    [
        ("ZX77-1", "HH/22/9", (44, 6, 6)),
        ("ZX77-1", "Q-10999", (61, 9, 7)),
        ("NP4410026031599999", "HH/22/9", (61, 9, 7)),
    ],
)
def test_one_sign_of_the_shop_makes_it_a_question(
    month: Intake, book: Rulebook, number: str, order: str, sides: tuple[int, int, int]
) -> None:
    """The size of one of its cartons, an order reference or a number of the shop's form."""
    [one] = unknown(audited(_of_another(month, number, order, sides), book))
    assert (one["dispute"], one["disputable_cents"]) == ("none", 0)
    assert one["dispute_reason"] == (
        "a question first: it looks like yours, so look whether you forgot to record it; if you did not send it, say "
        "so (auditor disputes not-mine)"
    )


def test_a_parcel_that_the_shop_says_it_did_not_send_is_disputed(month: Intake, book: Rulebook) -> None:
    """However much it looks like the shop's; the number is compared without blanks and signs."""
    taken = _of_another(month, "NP4410026031599999", "Q-10999", (44, 6, 6))
    [asked] = unknown(audited(taken, book))
    [answered] = unknown(audited(taken, book, ["np4410026 031599999"]))
    assert (asked["disputable_cents"], asked["dispute"]) == (0, "none")
    assert (answered["disputable_cents"], answered["dispute"]) == (asked["difference_cents"], "arguable")
    assert str(answered["explanation"]).endswith(
        "You said that it is none of yours. Ask the carrier for proof that it was handed over for you."
    )


def test_one_sign_of_another_is_not_enough() -> None:
    """A shop may send a parcel of a new size."""
    assert not Signs((), ("its size is none that you use",)).of_another
    assert not NO_SIGNS.of_another
