"""The carrier's own errors: each planted in a month, found to the cent, and told with the arithmetic that shows it."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pandas as pd
import pytest

import auditor
from auditor.audit import Audit
from auditor.charges.credits import answered
from auditor.charges.taxes import doubtful
from auditor.findings.standing import A_QUESTION
from tests.months.faults import ERRORS, TAXED, Fault
from tests.months.make import make_month
from tests.run.test_month import found, planted

PARCELS = 300


@pytest.fixture(scope="module")
def audit(tmp_path_factory: pytest.TempPathFactory) -> Audit:
    """A month with every error, read once."""
    folder = tmp_path_factory.mktemp("errors") / "2026-03"
    make_month(7, PARCELS, out=folder, faults=1, pdf=False, plan=ERRORS)
    of = auditor.reconcile([folder])
    assert found(of) == planted(folder)
    return of


@pytest.mark.sample(1)
@pytest.mark.parametrize("seed", [8, 9, 10])
def test_every_error_is_found_to_the_cent_and_nothing_else(seed: int, tmp_path: Path) -> None:
    """The truth was reckoned by tests/months/plainly.py, which shares no code with the package."""
    folder = tmp_path / "2026-03"
    make_month(seed, PARCELS, out=folder, faults=1, pdf=False, plan=ERRORS)
    of = auditor.reconcile([folder])
    assert found(of) == planted(folder)
    assert of.problems == ()
    assert of.billed_cents == of.expected_cents + of.difference_cents + of.not_audited_cents


@pytest.mark.parametrize(("seed", "percent"), [(3, "8"), (4, "8.875")])
def test_tax_that_does_not_fit_the_others_is_found(seed: int, percent: str, tmp_path: Path) -> None:
    """Another percentage on a statement that taxes all, and a tax on one that taxes none else."""
    folder = tmp_path / "2026-03"
    make_month(seed, 120, out=folder, faults=1, pdf=False, plan=TAXED, tax_percent=percent)
    of = auditor.reconcile([folder])
    assert found(of) == planted(folder)
    said = " ".join(of.findings["explanation"])
    assert f"and the {percent} % that most taxed parcels on this statement pay comes to" in said
    assert "parcels billed alike on this statement pay none" in said
    assert set(of.findings["dispute"]) == {"arguable"}


def test_a_month_in_which_all_is_taxed_alike_has_no_findings(tmp_path: Path) -> None:
    """Tax is expected where the others have it."""
    folder = tmp_path / "2026-03"
    make_month(5, 60, out=folder, faults=0, pdf=False, tax_percent="6.25")
    assert auditor.reconcile([folder]).findings.empty


def one(audit: Audit, words: str) -> pd.Series:
    """The finding with the largest difference that says so."""
    rows = audit.findings[audit.findings["explanation"].str.contains(words, regex=False)]
    assert len(rows), f"no finding says {words!r}"
    return rows.iloc[0]


SAID = {
    "the price of zone 8": ("rate", "strong"),
    "the price of zone 2": ("rate", "none"),
    "your price from 2025-01-06 to 2025-12-28": ("rate", "none"),
    "your amount from 2025-01-06 to 2025-12-28": ("rate", "none"),
    "the amount of zone 6": ("rate", "strong"),
    "; on its ship date, 2026-03-05, it is 15 %": ("carrier arithmetic", "strong"),
    "and of the two only large parcel is due": ("carrier arithmetic", "strong"),
    "perhaps that one was measured and put down for this one, though it may be chance": ("box length", "arguable"),
    "the two were taken for one another": ("box girth", "strong"),
    "and the same correction is charged again (freight, additional handling, fuel)": ("duplicate", "arguable"),
    "The same charges stand on statement NP-2026-03 too": ("duplicate", "strong"),
    "corrected this parcel to 38 × 18 × 14 in before and now the carrier read 38 × 18 × 17 in": (
        "box girth",
        "arguable",
    ),
    "so $0.90 is missing": ("box girth", "arguable"),
    "so $0.60 is missing": ("box length", "none"),
    "on statement LP-2026-03 was given back in full": ("box girth", "none"),
    "of what was billed for it is given back here": ("voided label", "none"),
}
"""What must be said of each error, with the cause and the standing of its finding."""


@pytest.mark.parametrize("words", SAID)
def test_each_error_is_named(audit: Audit, words: str) -> None:
    """The sentence says which price, week, parcel or statement it is."""
    row = one(audit, words)
    assert (row["cause"], row["dispute"]) == SAID[words]


def test_a_wrong_price_stands_in_the_working_with_its_file_and_row(audit: Audit) -> None:
    """Both the price due and the price billed can be looked up."""
    row = one(audit, "the price of zone 8")
    steps = dict(audit.workings[row["finding"]])["What stands out"]
    assert [step.what for step in steps] == ["Freight: the price of zone 8"]
    assert steps[0].source.startswith("rates.csv, row ")


def test_an_outlier_is_told_with_its_numbers_and_its_rule(audit: Audit) -> None:
    """How many parcels of that carton, how they read, and how far off this one is."""
    row = one(audit, "perhaps that one was measured")
    assert (
        "the longest side of this parcel was read at least 25 in longer than declared, that of " in row["explanation"]
    )
    assert " others in this carton at most as declared, half of them as declared or less" in row["explanation"]
    assert "(modified z-score 25.00, an outlier beyond 3.5)" in row["explanation"]
    steps = dict(audit.workings[row["finding"]])["What stands out"]
    assert [step.source for step in steps] == [
        "modified z-score of Iglewicz and Hoaglin, NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17",
        "",
    ]
    assert row["dispute_reason"].startswith("the longest side is an outlier for this carton, held against ")
    assert ", and the sides read are just those of " in row["dispute_reason"]


def test_what_was_given_back_is_no_longer_worth_disputing(audit: Audit) -> None:
    """On the statement that charged it; what is missing of it is."""
    reasons = audit.findings.set_index("finding")["dispute_reason"]
    assert reasons.str.fullmatch(r"\$[\d.]+ of \$[\d.]+ was given back on statement LP-2026-04").sum() == 1
    assert reasons.str.fullmatch(r"only a part was given back; ask for the \$0.60 that is missing").sum() == 1


def test_a_second_correction_is_held_against_the_first_in_its_working(audit: Audit) -> None:
    """The heading names the statement."""
    row = one(audit, "now the carrier read 38 × 18 × 17 in")
    headings = [heading for heading, _ in audit.workings[row["finding"]]]
    assert headings[1:3] == ["By the correction on statement NP-2026-03", "By the carrier's figures"]


def month(tmp_path: Path, *faults: Fault) -> Path:
    """A small month with those faults."""
    folder = tmp_path / "2026-03"
    make_month(7, 60, out=folder, faults=1, pdf=False, plan=faults)
    return folder


@pytest.mark.slow
def test_a_third_statement_is_held_against_the_second(tmp_path: Path) -> None:
    """The further correction made once more, under another number, is charged again and nothing else."""
    further = next(fault for fault in ERRORS if fault.later and fault.later.cause == "box girth" and fault.later.sides)
    folder = month(tmp_path, further)
    later = folder / "norrhaven-2026-04.csv"
    text = later.read_text(encoding="utf-8").replace("NP-2026-04", "NP-2026-05").replace("2026-05-01", "2026-06-01")
    (folder / "norrhaven-2026-05.csv").write_text(text, encoding="utf-8")
    last = auditor.reconcile([folder]).findings.set_index("statement").loc["NP-2026-05"]
    assert last["cause"] == "duplicate"
    assert last["other_cents"] == last["difference_cents"] > 0


def corrected_anew(tmp_path: Path, before: str = "", after: str = "") -> pd.DataFrame:
    """Findings by statement of a parcel that is corrected in March, given it back in April and corrected in May."""
    given_back = next(fault for fault in ERRORS if fault.later and fault.later.given_back and not fault.voided)
    folder = month(tmp_path, given_back)
    heading, *lines = (folder / "larkrise-2026-03.csv").read_text(encoding="utf-8").splitlines()
    anew = [line for line in lines if "adjustment" in line or "Correction fee" in line]
    text = "\n".join([heading, *anew]).replace("LP-2026-03", "LP-2026-05").replace("2026-04-02", "2026-06-02")
    (folder / "larkrise-2026-05.csv").write_text(text.replace(before, after) + "\n", encoding="utf-8")
    return auditor.reconcile([folder]).findings.set_index("statement")


@pytest.mark.sample(1)
@pytest.mark.parametrize(("before", "after"), [("", ""), (",28,14,8,", ",28,14,9,")])
def test_after_its_money_back_a_correction_is_held_against_the_declared_figures(
    tmp_path: Path, before: str, after: str
) -> None:
    """Corrected, given back and corrected anew, alike or otherwise: neither a duplicate nor a second correction."""
    last = corrected_anew(tmp_path, before, after).loc["LP-2026-05"]
    assert last["cause"] == "box girth"
    assert last["explanation"].startswith("You declared 28 × 12 × 6 in and the carrier read 28 × 14 × ")


def test_a_label_given_back_and_billed_anew_is_nothing_to_dispute(tmp_path: Path) -> None:
    """In March, given back in April, billed in May."""
    folder = tmp_path / "2026-03"
    make_month(7, 60, out=folder, faults=0, pdf=False)
    heading, *lines = (folder / "norrhaven-2026-03.csv").read_text(encoding="utf-8").splitlines()
    number = lines[0].split(",")[2]
    label = [line for line in lines if number in line]
    for name, day, sign in (("NP-2026-04", "2026-05-01", "-"), ("NP-2026-05", "2026-06-01", "")):
        moved = [line.replace("NP-2026-03", name).replace("2026-04-01", day).rpartition(",") for line in label]
        text = "\n".join([heading, *(f"{row},{sign}{amount}" for row, _, amount in moved)]) + "\n"
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    findings = auditor.reconcile([folder]).findings.set_index("statement")
    assert set(findings.index) == {"NP-2026-03", "NP-2026-04"}
    assert findings["difference_cents"].sum() == 0
    assert set(findings["dispute"]) == {"none"}
    assert "stand on statement NP-2026-05 too" in str(findings.loc["NP-2026-03", "explanation"])


@pytest.mark.parametrize(("more", "stands"), [(0, ("duplicate", "strong")), (1, ("unexplained", "arguable"))])
def test_a_label_billed_again_is_a_duplicate_at_the_same_amount_only(
    tmp_path: Path, more: int, stands: tuple[str, str]
) -> None:
    """On the next statement, the same or a dollar dearer, which may be for something else: that is asked about."""
    folder = tmp_path / "2026-03"
    make_month(7, 60, out=folder, faults=0, pdf=False)
    heading, freight, *_ = (folder / "norrhaven-2026-03.csv").read_text(encoding="utf-8").splitlines()
    row, _, amount = freight.replace("NP-2026-03", "NP-2026-04").replace("2026-04-01", "2026-05-01").rpartition(",")
    again = float(amount) + more
    (folder / "april.csv").write_text(f"{heading}\n{row},{again:.2f}\n", encoding="utf-8")
    [finding] = auditor.reconcile([folder]).findings.to_dict("records")
    assert (finding["cause"], finding["dispute"]) == stands
    assert finding["statement"] == "NP-2026-04"
    assert finding["difference_cents"] == round(100 * again)
    assert finding["explanation"].startswith(
        "Statement NP-2026-03 bills a charge of this label already, and here it is made again at another amount, "
        f"which neither the rules nor the carrier's figures explain: ${again:.2f}; ask the carrier what it is for."
        if more
        else "The same charges stand on statement NP-2026-03 too, and the second time cost "
    )


RETURNS = ("Freight - return to sender", "Freight, second attempt", "Base freight redelivery", "Freight Rücksendung")


@pytest.mark.sample(2)
@pytest.mark.parametrize("name", [*RETURNS, "Base freight"])
@pytest.mark.parametrize("later", [True, False])
def test_freight_of_another_name_is_no_strong_duplicate_at_any_amount(
    tmp_path: Path, name: str, *, later: bool
) -> None:
    """A parcel may be carried back, or to the door again; the same price under another name is asked about."""
    folder = tmp_path / "2026-03"
    make_month(7, 60, out=folder, faults=0, pdf=False)
    file = folder / "norrhaven-2026-03.csv"
    heading, freight, *rest = file.read_text(encoding="utf-8").splitlines()
    again = freight.replace(",Freight,", f',"{name}",')
    assert again != freight
    if later:
        again = again.replace("NP-2026-03", "NP-2026-04").replace("2026-04-01", "2026-05-01")
        (folder / "april.csv").write_text(f"{heading}\n{again}\n", encoding="utf-8")
    elif name in RETURNS:
        file.write_text("\n".join([heading, freight, again, *rest]) + "\n", encoding="utf-8")
    else:
        return
    [finding] = auditor.reconcile([folder]).findings.to_dict("records")
    assert (finding["cause"], finding["difference_cents"] > 0) == ("unexplained", True)
    asked = finding["dispute"] == "none" and finding["dispute_reason"].startswith(A_QUESTION)
    assert asked or (finding["dispute"], finding["disputable_cents"]) == ("arguable", finding["difference_cents"])


def test_few_parcels_of_a_carton_make_no_outlier(tmp_path: Path) -> None:
    """With fewer than ten nothing is said, and by all that is recorded the carrier is right."""
    folder = month(tmp_path, Fault("box length", carton="horn case box", sides="45.5 x 16 x 14"))
    of = auditor.reconcile([folder])
    assert (of.shipments["carton"] == "horn case box").sum() < 10
    row = of.findings.iloc[0]
    assert "unlike its carton" not in row["explanation"]
    assert row["dispute_reason"] == (
        "by all that is recorded the carrier is right: it measured more than was declared, and nothing you recorded "
        "says otherwise"
    )


def test_a_measurement_at_packing_goes_before_the_carton(tmp_path: Path) -> None:
    """Uncut, as the seller's own tape shows: the carrier is right, whatever other parcels of that carton read."""
    uncut = Fault("box length", carton="stand tube", sides="49 x 6 x 6", packed_size="49 x 6 x 6 in")
    row = auditor.reconcile([month(tmp_path, uncut)]).findings.iloc[0]
    assert "this is unlike its carton" in row["explanation"]
    assert row["dispute"] == "none"
    assert row["dispute_reason"] == "the carrier is right: your own measurement at packing supports its reading"


def statement(taxes: list[int], base: int = 2000, *, first: bool = True) -> pd.DataFrame:
    """Parcels on one statement, each billed the same but for its tax."""
    return pd.DataFrame({"statement": "S", "first": first, "tax_cents": taxes, "base_cents": base})


@pytest.mark.parametrize(
    ("taxes", "due"),
    [
        ([160] + [0] * 19, 0),  # one in 20 is taxed
        ([160] + [0] * 18, 160),  # of fewer nothing is said
        ([160, 160] + [0] * 18, 160),  # two in 20 are
        ([270] + [160] * 8, 160),  # 13.5 % where the others pay 8 %
        ([162] + [160] * 8, 162),  # rounded charge by charge
        ([100] + [160] * 8, 100),  # less is not looked at
        ([270] + [160] * 3, 270),  # of four taxed parcels nothing is said
        ([270, 280, 290, 160, 160, 160], 270),  # no three quarters agree
    ],
)
def test_tax_is_held_against_the_other_parcels_on_the_statement(taxes: list[int], due: int) -> None:
    """As docs/disputes.md has it."""
    assert doubtful(statement(taxes))["due_cents"].iloc[0] == due


@pytest.mark.parametrize(
    ("given", "charged", "on"),
    [
        (3316, 3316, 1),  # the very line
        (3000, 3316, 1),  # nearest to it
        (1250, 1250, 0),  # the label's, on the statement before
        (1200, 1200, 1),  # of two alike the later
        (9000, 3316 + 1200, 1),  # nothing is as much: all that the statement charges is the nearest
    ],
)
def test_money_back_answers_the_nearest_charge_of_its_name(given: int, charged: int, on: int) -> None:
    """Of that parcel, on its own statement or one before; never on one after."""
    rows = [
        ("label charge", 1250, 0),
        ("fee", 1200, 0),
        ("adjustment", 3316, 1),
        ("adjustment", 1200, 1),
        ("credit", -given, 1),
    ]
    rows.append(("adjustment", given, 2))
    lines = pd.DataFrame(rows, columns=["state", "amount_cents", "case"]).assign(shipment=7, charge="freight")
    about = pd.DataFrame({"shipment": [7, 7, 7]})
    lines = lines.assign(repeated=False)
    answer = answered(lines.drop(columns="case"), lines["case"], about).iloc[0]
    assert answer.to_dict() == {
        "case": 1,
        "charge": "freight",
        "given_cents": given,
        "charged_cents": charged,
        "charged_case": on,
    }


def parted(folder: Path, charges: str, more: str = "0.00") -> Audit:
    """A sound month whose lines of those charges stand on a second statement, the first one dearer."""
    make_month(6, 60, out=folder, faults=0, pdf=False)
    first = folder / "norrhaven-2026-03.csv"
    lines = pd.read_csv(first, dtype="str", keep_default_na=False)
    later = lines["Charge"].isin(charges.split(", "))
    second = lines[later].assign(Statement="NP-2026-04", **{"Statement date": "2026-05-01"})
    second.loc[second.index[0], "Amount"] = str(Decimal(str(second["Amount"].iloc[0])) + Decimal(more))
    lines[~later].to_csv(first, index=False)
    second.to_csv(folder / "norrhaven-2026-04.csv", index=False)
    return auditor.reconcile([folder])


@pytest.mark.sample(1)
@pytest.mark.parametrize("charges", ["Fuel surcharge", "Residential delivery", "Freight, Residential delivery"])
def test_a_label_billed_on_two_statements_owes_each_charge_once(charges: str, tmp_path: Path) -> None:
    """Neither statement is found too dear or too cheap for what the other one bills."""
    assert parted(tmp_path / "2026-03", charges).findings.empty


def test_what_is_wrong_on_the_second_statement_of_a_label_is_told_of_that_one(tmp_path: Path) -> None:
    """Its own charge against what its figures give, and nothing about the first."""
    audit = parted(tmp_path / "2026-03", "Fuel surcharge", "0.63")
    (finding,) = audit.findings.to_dict("records")
    assert finding["statement"] == "NP-2026-04"
    assert finding["difference_cents"] == 63
    assert finding["billed_cents"] - finding["expected_cents"] == 63
    billed, due = (f"{cents / 100:.2f}" for cents in (finding["billed_cents"], finding["expected_cents"]))
    assert f"fuel billed at ${billed} where its figures give ${due}; it cost $0.63" in finding["explanation"]
    workings = audit.workings.of_parcel(finding["tracking"])
    steps = [
        (step.what, step.figure)
        for parts in workings.values()
        for heading, steps in parts
        if heading == "Of the label, on another statement"
        for step in steps
    ]
    assert ("Fuel: due here, of a label billed before", f"${due}") in steps
    assert ("Fuel: billed on a later statement", f"−${due}") in steps


def test_fuel_on_what_a_second_statement_bills_is_not_billed_twice(tmp_path: Path) -> None:
    """A delivery to a home billed later, with fuel on it; the fuel on both statements is that of the whole label."""
    make_month(6, 60, out=tmp_path, faults=0, pdf=False)
    first = tmp_path / "norrhaven-2026-03.csv"
    lines = pd.read_csv(first, dtype="str", keep_default_na=False)
    home = lines["Charge"] == "Residential delivery"
    fuel = (lines["Charge"] == "Fuel surcharge") & lines["Tracking number"].isin(lines.loc[home, "Tracking number"])
    later = {"Statement": "NP-2026-04", "Statement date": "2026-05-01"}
    second = pd.concat([lines[home], lines[fuel].assign(Amount="0.91")]).assign(**later)
    lines.loc[fuel, "Amount"] = [str(Decimal(amount) - Decimal("0.91")) for amount in lines.loc[fuel, "Amount"]]
    lines[~home].to_csv(first, index=False)
    second.to_csv(tmp_path / "norrhaven-2026-04.csv", index=False)
    assert len(second)
    assert auditor.reconcile([tmp_path]).findings.empty
