"""From cases and loose lines to findings: the cause, the dispute, the sentence."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pandas as pd

from auditor.attribute import Attribution
from auditor.cases import Cases, repeated
from auditor.dispute import Standing, standing
from auditor.explain import Told, ranked, sentence
from auditor.money import dollars
from auditor.tables import CAUSES, row
from auditor.tariff import Prices, Rulebook
from auditor.tariff.prices import NONE

OWN_COLUMN = {
    "box length": "box_length_cents",
    "box girth": "box_girth_cents",
    "declared weight": "declared_weight_cents",
    "rounding": "rounding_cents",
}
NOT_AUDITED = Standing("none", "not audited", 0)


@dataclass(frozen=True)
class Finding:
    """A finding before it has a number: its row of FINDINGS, its shares by cause, and the lines it is about.

    `told` is missing where no parcel was priced: an unknown parcel, a charge about no parcel, or one not audited.
    """

    row: Mapping[str, Any]
    shares: Mapping[str, int]
    standing: Standing
    lines: tuple[int, ...]
    case: int | None = None
    told: Told | None = None

    @property
    def order(self) -> tuple[int, str, str]:
        """Largest difference first, then by statement and number."""
        return -abs(self.row.get("difference_cents") or 0), str(self.row["statement"]), str(self.row["tracking"])


def of_cases(
    cases: Cases, found: Attribution, lines: pd.DataFrame, shipments: pd.DataFrame, book: Rulebook
) -> Iterator[Finding]:
    """A finding for each parcel and statement whose bill differs from what was expected, or that has no price."""
    voided = shipments["voided"].fillna(value=False).loc[cases.about["shipment"].astype(int)].to_numpy()
    expected = found.expected.mask(voided, 0)
    telling = (found.billed != expected) | (found.unpriced.notna() & ~voided)
    rows_of = lines.groupby(["shipment", "statement"], dropna=False).groups
    again = repeated(lines)
    for case in telling.index[telling]:
        about = row(cases.about, case)
        rows = rows_of[about["shipment"], about["statement"]]
        shipment = row(shipments, about["shipment"])
        base = _place(lines.loc[rows], again.loc[rows]) | {
            "shipment_tracking": shipment["tracking"],
            "order": shipment["order"],
            "carton": shipment["carton"],
            "billed_cents": int(found.billed[case]),
        }
        told = told_of(case, cases, found, book)
        if voided[case]:
            shares = _alone("voided label", int(found.billed[case]))
            told = None
        elif told is None:
            base |= {"dispute": "none", "dispute_reason": "not audited", "explanation": _why_not(case, found)}
            yield Finding(base, {}, NOT_AUDITED, tuple(rows), case)
            continue
        else:
            shares = dict(told.shares)
        yield _finding(base, shares, int(expected[case]), shipment, told, tuple(rows), case, about["statement_on"])


def of_unknown_parcels(lines: pd.DataFrame) -> Iterator[Finding]:
    """A finding for each number billed, of `lines`, that no record fits."""
    for (statement, tracking), rows in lines.groupby(["statement", "tracking"], dropna=False):
        billed = int(rows["amount_cents"].sum())
        text = (
            f"No shipment of yours has the number {tracking}, billed on statement {statement} at {dollars(billed)}. "
            "Look for it in your records; if you did not send it, ask the carrier for proof."
        )
        if billed:
            yield _whole(rows, "unknown parcel", billed, 0, text)


def of_account_charges(lines: pd.DataFrame, prices: Prices) -> Iterator[Finding]:
    """A finding for each of `lines`, charges about no parcel, that is not in the fees table at its amount."""
    for label in lines.index:
        line = row(lines, label)
        billed = int(line["amount_cents"])
        name = str(line["charge"] if pd.notna(line["charge"]) else line["description"])
        listed = prices.fee(name, "", _day(line))
        if listed == NONE:
            text = f"{name} at {dollars(billed)} is about no parcel and not in your fees table. Ask what it is for."
            yield _whole(lines.loc[[label]], "unexplained", billed, 0, text)
        elif listed != billed:
            text = f"{name} is billed at {dollars(billed)}; your fees table says {dollars(listed)}."
            yield _whole(lines.loc[[label]], "rate", billed, listed, text)


def _day(line: Mapping[str, Any]) -> int:
    day = line["shipped_on"] if pd.notna(line["shipped_on"]) else line["statement_on"]
    return 0 if pd.isna(day) else int(pd.Timestamp(day).asm8.astype("datetime64[D]").astype(int))


def _whole(rows: pd.DataFrame, cause: str, billed: int, expected: int, text: str) -> Finding:
    """A finding whose whole difference has one cause and needs no parcel priced."""
    base = _place(rows, pd.Series(data=False, index=rows.index)) | {"billed_cents": billed, "explanation": text}
    shares = _alone(cause, billed - expected)
    return _finding(base, shares, expected, {}, None, tuple(rows.index), None, rows["statement_on"].iloc[0])


def _alone(cause: str, cents: int) -> dict[str, int]:
    return dict.fromkeys(CAUSES, 0) | {cause: cents}


def _finding(
    base: Mapping[str, Any],
    shares: Mapping[str, int],
    expected: int,
    shipment: Mapping[str, Any],
    told: Told | None,
    lines: tuple[int, ...],
    case: int | None,
    statement_on: pd.Timestamp,
) -> Finding:
    difference = sum(shares.values())
    stands = standing(shares, shipment, told)
    own = {column: shares[cause] for cause, column in OWN_COLUMN.items()}
    days = told.rules.dispute_days if told else DAYS_WITHOUT_RULES
    verdict = {
        "expected_cents": expected,
        "difference_cents": difference,
        "cause": ranked(shares)[0],
        **own,
        "other_cents": difference - sum(own.values()),
        "price_basis": "table",
        "dispute": stands.strength,
        "dispute_reason": stands.reason,
        "dispute_by": statement_on + timedelta(days=days) if stands.cents and days else pd.NaT,
    }
    if told:
        verdict["explanation"] = sentence(told)
    elif shares["voided label"]:
        verdict["explanation"] = (
            f"This label was voided before use, and {dollars(difference)} is billed for it all the same. "
            "Nothing is due for a label that was never used."
        )
    return Finding({**base, **verdict}, shares, stands, lines, case, told)


DAYS_WITHOUT_RULES = 30
"""Days to dispute a charge about no priced parcel; the shortest that contracts commonly give (from memory)."""


def _place(lines: pd.DataFrame, again: pd.Series) -> dict[str, Any]:
    """Where the lines stand, the parcel's number as billed, and the charges with something to say.

    Those are the charges billed again, else the corrections and fees, else all.
    """
    picks = [lines[again], lines[lines["state"].isin(["adjustment", "fee"])], lines]
    concerned = next(rows for rows in picks if len(rows))
    first = concerned.iloc[0]
    return {
        "tracking": first["tracking"],
        "match": "none" if pd.isna(first["match"]) else first["match"],
        "confidence": first["confidence"],
        "statement": first["statement"],
        "charges": "; ".join(concerned["charge"].fillna(concerned["description"]).dropna().drop_duplicates()),
        "source_file": first["source_file"],
        "source_place": first["source_place"],
    }


def told_of(case: int, cases: Cases, found: Attribution, book: Rulebook) -> Told | None:
    """All that a finding's words are made of; None where the declared figures have no price."""
    declared = row(cases.declared, case)
    rules = None if pd.isna(declared["shipped_on"]) else book.on(declared["service"], declared["shipped_on"].date())
    if rules is None or pd.notna(found.unpriced[case]):
        return None
    return Told(
        declared=declared,
        read=row(cases.read, case),
        by_declared=row(found.by_declared, case),
        by_read=row(found.by_read, case),
        players=row(cases.players, case),
        rules=rules,
        shares={cause: int(cents) for cause, cents in row(found.shares, case).items()},
        billed={column: int(cents) for column, cents in row(cases.billed, case).items()},
        first=bool(row(cases.about, case)["first"]),
    )


def _why_not(case: int, found: Attribution) -> str:
    return f"Not audited: {found.unpriced[case]}. The charge may be right or wrong; this tool cannot say."
