"""From cases and loose lines to findings: the cause, the dispute, the sentence."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any

import pandas as pd

from auditor.charges.attribution import Attribution
from auditor.charges.learned.older_tables import Raised
from auditor.charges.schema import Cases
from auditor.core.money import dollars
from auditor.core.progress import at
from auditor.core.schemas import CAUSES, rows
from auditor.findings.facts import Facts, NotAudited
from auditor.findings.facts_of_cases import FactsOfCases
from auditor.findings.sentences import ranked, sentence
from auditor.findings.standing import A_QUESTION, NOTHING_BACK, Back, Standing, Strength, alone, standing
from auditor.match import NOTHING_LIKE_IT, SHARED, normalised
from auditor.match.strangers import NO_SIGNS, Signs
from auditor.tariff import Prices, Rules
from auditor.tariff.prices import day_numbers

OWN_COLUMN = {
    "box length": "box_length_cents",
    "box girth": "box_girth_cents",
    "declared weight": "declared_weight_cents",
    "rounding": "rounding_cents",
}
AGED = " It was priced by the rules of {}, the last that this version knows."
ESTIMATED = " The {} were learned from your own labels, so amounts that rest on them are estimates."
LEARNED_WORDS = {"rates": "prices", "fees": "fees", "fuel": "fuel percentages"}

NOT_AUDITED = alone("none", "not audited")
DAYS_WITHOUT_RULES = 30
"""Days to dispute a charge about no priced parcel; the shortest that contracts commonly give (from memory)."""

VOIDED = (
    "This label was voided before use, and {} is billed for it all the same{}. "
    "Nothing is due for a label that was never used."
)
TWO_SHIPMENTS = "two of your shipments have this number; find out which of them was billed before you dispute it"


OLDER_TABLE = "all labels changed alike, so your table seems to be older than the carrier's prices"
RISEN = (
    "By what the labels on your statements cost, {words}: your table is older. The {labels:,} labels of that time on "
    "this statement come to {billed}; by your table they would come to {due}. "
    "They were reckoned at the prices that they show, and no parcel is called wrong for it. Compare the carrier's "
    "notice of its prices, and put the new ones into your table; if your contract promises the old ones, ask the "
    "carrier."
)
ALL_SO = (
    f"{A_QUESTION}: nearly all labels are billed so; look whether your agreement says so, else ask the carrier once"
)
SHOWN = (
    "By what the labels on your statements show, {words}. The {labels:,} labels on this statement that this concerns "
    "come to {billed}; by the rules and prices given they would come to {due}. They were reckoned as they are billed, "
    "and no parcel is called wrong for it. Look whether your agreement says so: then put it into a rule file of your "
    "own (docs/rules.md). If it does not, ask the carrier once which of them holds."
)


@dataclass(frozen=True)
class Finding:
    """A finding before it has a number: its row of FINDINGS, its shares by cause, and the lines it is about.

    `facts` is missing where no parcel was priced: an unknown parcel, a charge about no parcel, or one not audited, of
    which `unpriced` tells what is known.
    """

    row: Mapping[str, Any]
    shares: Mapping[str, int]
    standing: Standing
    case: int | None = None
    facts: Facts | None = None
    unpriced: NotAudited | None = None

    @property
    def lines(self) -> tuple[int, ...]:
        """The statement lines it is about, by their labels."""
        return tuple(self.row["lines"])

    @property
    def order(self) -> tuple[int, str, str]:
        """Largest difference first, then by statement and number."""
        return -abs(self.row.get("difference_cents") or 0), str(self.row["statement"]), str(self.row["tracking"])


def of_cases(facts_of: FactsOfCases, lines: pd.DataFrame, shipments: pd.DataFrame) -> Iterator[Finding]:
    """A finding for each parcel and statement whose bill differs from what was expected, or that has no price."""
    cases, found = facts_of.cases, facts_of.found
    voided = cases.about["voided"]
    differs = (found.billed != found.expected) | (found.unpriced & ~voided)
    labels = differs.index[differs]
    about = cases.about.loc[labels]
    of_line = cases.of_line[cases.of_line.isin(labels)]
    places = _places(lines.loc[of_line.index], of_line, cases.again)
    everything = zip(
        labels,
        voided[labels],
        found.expected[labels],
        found.billed[labels],
        cases.apart.loc[labels, "credit_cents"],
        rows(shipments.loc[about["shipment"].astype(int)]),
        facts_of.of(labels),
        rows(_back(cases, found).loc[labels]),
        strict=True,
    )
    for number, (case, void, due, billed, credit, shipment, facts, back) in enumerate(everything, 1):
        at("Putting findings into words", number, len(labels))
        base = places[case] | {
            "shipment_tracking": shipment["tracking"],
            "order": shipment["order"],
            "carton": shipment["carton"],
            "billed_cents": int(billed),
            "price_basis": _basis(facts, facts_of.prices),
        }
        if void:
            base["explanation"] = _voided(int(billed), -int(credit))
            yield replace(_finding(base, _alone("voided label", int(billed)), 0, back=Back(**back)), case=case)
        elif isinstance(facts, NotAudited):
            base |= standing_columns(NOT_AUDITED) | {"explanation": facts.sentence}
            yield Finding(base, {}, NOT_AUDITED, case, unpriced=facts)
        else:
            base["explanation"] = sentence(facts) + _caveats(facts)
            finding = _finding(base, facts.shares, int(due), back=Back(**back), shipment=shipment, facts=facts)
            yield replace(finding, case=case)


def _estimated(facts: Facts) -> str:
    """What the amounts told rest on, where it was learned."""
    learned = [words for table, words in LEARNED_WORDS.items() if table in facts.learned]
    return ESTIMATED.format(" and ".join(learned)) if learned else ""


def _basis(facts: Facts | NotAudited, prices: Prices) -> str:
    """What a finding's prices are: learned ones where it rests on any."""
    return "learned" if (facts.learned if isinstance(facts, Facts) else prices.learned) else "table"


def _caveats(facts: Facts) -> str:
    """What its amounts rest on, where that is less than the rules of its day and the seller's own prices."""
    aged = AGED.format(facts.rules.last_known) if facts.rules.last_known else ""
    return aged + _estimated(facts)


def _back(cases: Cases, found: Attribution) -> pd.DataFrame:
    """What was given back of each case on later statements, and what is missing of money back for its charges."""
    missing = (cases.credits["charged_cents"] - cases.credits["given_cents"]).clip(lower=0)
    short: pd.Series = missing.groupby(cases.credits["charged_case"]).sum()
    returned = found.returned.rename(columns={"cents": "returned_cents", "on": "returned_on"})
    return returned.assign(short_cents=short.reindex(returned.index).fillna(0).astype("int64"))


def _voided(billed: int, given_back: int) -> str:
    if billed < 0:
        return f"This label was voided before use, and {dollars(-billed)} of what was billed for it is given back here."
    back = f", {dollars(given_back)} of what was charged being given back" if given_back else ""
    return VOIDED.format(dollars(billed), back)


def of_changed(
    more: pd.DataFrame, held: Raised, by_rules: Mapping[str, Sequence[str]], cases: Cases, lines: pd.DataFrame
) -> Iterator[Finding]:
    """One finding for each statement whose labels all cost otherwise, in one way, than the tables or rules given say.

    Args:
        more: as `older_tables.more_by_statement` gives it.
        held: the prices, and how they changed.
        by_rules: in words, which rules labels show otherwise, by service as compared.
        cases: the cases.
        lines: the statement lines of the cases.
    """
    for row in rows(more):
        otherwise = [words for service in sorted(row["services"]) for words in by_rules.get(service, ())]
        words = " and ".join(dict.fromkeys([*held.words, *otherwise]))
        text, why = (SHOWN, ALL_SO) if otherwise else (RISEN, OLDER_TABLE)
        line = lines.loc[cases.of_line.index[cases.of_line == row["case"]][0]]
        billed, due = int(row["raised_cents"]), int(row["given_cents"])
        base = {name: line[name] for name in ("statement", "statement_on", "source_file", "source_place")}
        base |= {
            "tracking": pd.NA,
            "match": "none",
            "lines": (),
            "charges": "rules" if otherwise else "prices",
            "billed_cents": billed,
            "expected_cents": due,
            "difference_cents": billed - due,
            "cause": "rate",
            **dict.fromkeys(OWN_COLUMN.values(), 0),
            "other_cents": billed - due,
            "price_basis": "table",
            **standing_columns(alone("none", why)),
            "explanation": text.format(
                words=words, labels=int(row["labels"]), billed=dollars(billed), due=dollars(due)
            ),
        }
        yield Finding(base, _alone("rate", billed - due), alone("none", why))


def of_unknown_parcels(
    lines: pd.DataFrame, signs: Mapping[str, Signs], not_mine: Collection[str] = ()
) -> Iterator[Finding]:
    """A finding for each number billed, of `lines`, that no record fits.

    Args:
        lines: LINES of those parcels.
        signs: whose each is, by number.
        not_mine: the numbers of which the seller has said that they are none of theirs.
    """
    key = lines.groupby(["statement", "tracking"], dropna=False).ngroup()
    billed = lines["amount_cents"].fillna(0).groupby(key).sum()
    answered = normalised(lines["tracking"]).isin(normalised(pd.Series([*not_mine], dtype="str"))).groupby(key).first()
    for one, place in _places(lines, key).items():
        if cents := int(billed[one]):
            whose = signs.get(str(place["tracking"]), NO_SIGNS)
            text = (
                f"No shipment of yours has the number {place['tracking']}, billed on statement {place['statement']} at "
                f"{dollars(cents)}: {place['match_reason']}. {_whose(whose, answered=answered[one])}"
            )
            base = place | {"billed_cents": cents, "explanation": text}
            yield _as_sure(_finding(base, _alone("unknown parcel", cents), 0), whose, answered=answered[one])


def _whose(signs: Signs, *, answered: bool) -> str:
    if answered:
        return "You said that it is none of yours. Ask the carrier for proof that it was handed over for you."
    if signs.of_another:
        return (
            f"It seems to be another's: {' and '.join(signs.others)}. Ask the carrier for proof that it was handed "
            "over for you."
        )
    if not signs.own:
        return "Did you forget to record it? If you did not send it, ask the carrier for proof."
    like = f"It looks like yours: {' and '.join(signs.own)}."
    return (
        f"Did you forget to record it? {like} If so, add it to your records and run again. If you did not send it, say "
        "so: auditor disputes not-mine, with its number. Until then it does not count as worth disputing."
    )


def _as_sure(found: Finding, signs: Signs, *, answered: bool) -> Finding:
    """An unknown parcel is a strong case only where it seems to be another's, and no misreading of the shop's own.

    One that looks like the shop's is no case before the seller has said that it is none of theirs.
    """
    if answered:
        return _standing_as(found, "arguable", NOT_MINE)
    if signs.own:
        stands = alone("none", PERHAPS_YOURS if found.row["match_reason"] == NOTHING_LIKE_IT else PERHAPS_MISREAD)
        return replace(found, row={**found.row, **standing_columns(stands)}, standing=stands)
    if found.row["match_reason"] != NOTHING_LIKE_IT:
        return _standing_as(found, "arguable", MISREADING)
    return _standing_as(found, "strong", OF_ANOTHER) if signs.of_another else found


MISREADING = "the number may be a misreading of one of yours; compare the labels first"
PERHAPS_YOURS = (
    f"{A_QUESTION}: it looks like yours, so look whether you forgot to record it; if you did not send it, say so "
    "(auditor disputes not-mine)"
)
PERHAPS_MISREAD = (
    f"{A_QUESTION}: the number may be a misreading of one of yours, so compare the labels; if you did not send it, "
    "say so (auditor disputes not-mine)"
)
NOT_MINE = "you said that this parcel is none of yours; ask for proof that it was handed over for you"
OF_ANOTHER = "no shipment of yours has this number, and nothing about the parcel is like yours; ask for proof"


def _standing_as(found: Finding, strength: Strength, reason: str) -> Finding:
    stands = alone(strength, reason, found.standing.cents)
    return replace(found, row={**found.row, **standing_columns(stands)}, standing=stands)


def of_account_charges(lines: pd.DataFrame, prices: Prices) -> Iterator[Finding]:
    """A finding for each of `lines`, charges about no parcel, that is not in the fees table at its amount."""
    name = lines["charge"].fillna(lines["description"]).fillna("a charge without a name")
    day = day_numbers(lines["shipped_on"].fillna(lines["statement_on"]))
    key = pd.Series(lines.index, index=lines.index)
    places = _places(lines, key)
    for label, what, on, billed in zip(lines.index, name, day.tolist(), lines["amount_cents"], strict=True):
        listed = prices.fee(what, "", on)
        if listed == billed:
            continue
        cause, due = ("unexplained", 0) if listed is None else ("rate", listed)
        text = f"{what} is billed at {dollars(int(billed))}; " + (
            "it is about no parcel and not in your fees table. Ask what it is for."
            if listed is None
            else f"your fees table says {dollars(listed)}."
        )
        base = places[label] | {"billed_cents": int(billed), "explanation": text}
        yield _finding(base, _alone(cause, int(billed) - due), due)


def _alone(cause: str, cents: int) -> dict[str, int]:
    return dict.fromkeys(CAUSES, 0) | {cause: cents}


def _finding(
    base: Mapping[str, Any],
    shares: Mapping[str, int],
    expected: int,
    *,
    back: Back = NOTHING_BACK,
    shipment: Mapping[str, Any] | None = None,
    facts: Facts | None = None,
) -> Finding:
    difference = sum(shares.values())
    stands = standing(shares, shipment or {}, facts, back)
    if shipment and base["confidence"] <= SHARED and stands.cents:
        stands = alone("none", TWO_SHIPMENTS)
    own = {column: shares[cause] for cause, column in OWN_COLUMN.items()}
    days = _days(facts.rules, str(base["charges"])) if facts else DAYS_WITHOUT_RULES
    verdict = {
        "expected_cents": expected,
        "difference_cents": difference,
        "cause": ranked(shares)[0],
        **own,
        "other_cents": difference - sum(own.values()),
        "price_basis": base.get("price_basis", "table"),
        **standing_columns(stands),
        "dispute_by": base["statement_on"] + timedelta(days=days) if stands.cents and days else pd.NaT,
    }
    return Finding({**base, **verdict}, shares, stands, facts=facts)


def standing_columns(stands: Standing) -> dict[str, Any]:
    """What a row of FINDINGS says of how it stands."""
    return {
        "dispute": stands.strength,
        "dispute_reason": stands.reason,
        "disputable_cents": stands.cents,
        "strong_cents": stands.strong_cents,
    }


def _days(rules: Rules, charges: str) -> int:
    """The days to dispute charges (parted by '; '): the shortest window of them."""
    return min(rules.dispute_days_of.get(charge, rules.dispute_days) for charge in charges.split("; "))


def _places(lines: pd.DataFrame, key: pd.Series, again: pd.Series | None = None) -> dict[int, dict[str, Any]]:
    """For each key: where its lines stand, the number as billed, and the charges with something to say.

    Those are the charges billed again, else the corrections and fees, else all.
    """
    rank = pd.Series(2, index=lines.index).mask(lines["state"].isin(["adjustment", "fee"]), 1)
    rank = rank.mask(again.loc[lines.index], 0) if again is not None else rank
    concerned = lines.assign(key=key, words=lines["charge"].fillna(lines["description"]))
    concerned = concerned[rank == rank.groupby(key).transform("min")]
    words = concerned.dropna(subset="words").drop_duplicates(["key", "words"]).groupby("key")["words"].agg("; ".join)
    first = concerned.drop_duplicates("key").set_index("key")
    first["match"] = first["match"].fillna("none")
    first["charges"] = words.reindex(first.index).fillna("")
    members = {one: tuple(labels) for one, labels in key.groupby(key).groups.items()}
    kept = ["tracking", "match", "confidence", "match_reason", "statement", "statement_on", "charges"]
    kept += ["source_file", "source_place"]
    return {
        int(one): place | {"lines": members[one]} for one, place in zip(first.index, rows(first[kept]), strict=True)
    }
