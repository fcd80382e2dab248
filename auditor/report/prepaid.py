"""The answer where labels were paid when they were bought: what they cost, what corrections took, and what for."""

from __future__ import annotations

from collections.abc import Iterator

from auditor.audit import Audit
from auditor.core.money import dollars
from auditor.report.wording import counted

CALLED = {
    "box_length_cents": "length",
    "box_girth_cents": "other sides",
    "declared_weight_cents": "weight",
    "rounding_cents": "rounding",
}
"""Shares of a difference, and what a correction is for by them."""


def lede(audit: Audit) -> Iterator[str]:
    """What labels cost, what corrections took and what for, and what of that is worth disputing."""
    cost = audit.shipments["label_cost_cents"].dropna()
    if len(cost):
        yield f"You bought {counted(len(cost), 'label')} for {dollars(int(cost.sum()))}."
    kinds, cents = audit.moves["kind"], audit.moves["amount_cents"] + audit.moves["fee_cents"].fillna(0)
    taken, returned = (int(cents[kinds == kind].sum()) for kind in ("correction", "returned"))
    count = int((kinds == "correction").sum())
    if not count:
        yield "Nothing of them was corrected."
        return
    back = f", and {dollars(-returned)} was given back" if returned else ""
    parts = [part for part in _parts(audit, taken + returned) if part[0]]
    what = f": {', '.join(f'{dollars(cents)} for {name}' for cents, name in parts)}" if parts else ""
    worth = f"{dollars(audit.disputable_cents)} is" if audit.disputable_cents else "nothing is"
    yield f"{counted(count, 'correction')} took {dollars(taken)} more{back}{what}; {worth} worth disputing."


def _parts(audit: Audit, cents: int) -> list[tuple[int, str]]:
    """What corrections come to by what they are for, the largest first and other reasons last; they add up."""
    corrected = audit.moves.loc[audit.moves["kind"].isin(["correction", "returned"]), "tracking"]
    findings = audit.findings[audit.findings["tracking"].isin(corrected)]
    named = [(int(findings[column].sum()), name) for column, name in CALLED.items()]
    rest = cents - sum(part for part, _ in named)
    return [*sorted(named, key=lambda part: -abs(part[0])), (rest, "other reasons")]


def balance(audit: Audit) -> Iterator[str]:
    """What was put into a balance and taken from it, paper by paper."""
    for paper, moves in audit.moves[audit.moves["balance_cents"].notna()].groupby("statement", sort=False):
        cents = moves["amount_cents"] + moves["fee_cents"].fillna(0)
        sums = {str(kind): int(some.sum()) for kind, some in cents.groupby(moves["kind"])}
        told = [f"{dollars(abs(part))} {WORDS[kind]}" for kind, part in sums.items() if part]
        yield f"The balance in {paper}: {', '.join(told)}."


WORDS = {
    "label": "taken for labels",
    "correction": "taken for corrections",
    "returned": "of corrections given back",
    "refund": "of labels refunded",
    "top-up": "put in",
    "other": "taken for other things",
}
