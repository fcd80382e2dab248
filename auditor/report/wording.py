"""What the report says for people: dates, lengths, weights, money, and each cause and verdict in plain words."""

from __future__ import annotations

from datetime import date

import pandas as pd

from auditor.core import money, units
from auditor.disputes.deadlines import TOO_LATE
from auditor.findings.standing import A_QUESTION
from auditor.report.plain import Row
from auditor.tariff import Tariff

# Written out, so that a report reads the same whatever language the computer is set to.
MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)

CAUSES = {
    "box length": "The longest side was read longer than you declared.",
    "box girth": "Another side was read longer than you declared: a bulge, a taller cut, telescoped walls.",
    "declared weight": "The scale read more than the weight on the label.",
    "rounding": "The reading is as good as yours; rounding it up made the difference.",
    "service or zone": "Billed at another service or zone than you bought.",
    "address": "An address correction, or a delivery to a home that the label did not say.",
    "rate": "The same figures as yours, at another price than the table's.",
    "duplicate": "The same charge for the same parcel again.",
    "unknown parcel": "No parcel you recorded fits this number.",
    "voided label": "Billed for a label you cancelled.",
    "carrier arithmetic": "The charge does not follow from the carrier's own figures.",
    "unexplained": "What no rule explains.",
    "not priced": "The expected charge could not be worked out; the finding says why.",
}

SHARES = {
    "box_length_cents": "box length",
    "box_girth_cents": "box girth",
    "declared_weight_cents": "declared weight",
    "rounding_cents": "rounding",
    "other_cents": "other causes",
}

DISPUTES = {"strong": "Strong case", "arguable": "Arguable", "none": "No dispute"}


def over(cents: int) -> str:
    """What a sum is more than was expected, to be put behind it: '+ $5.00 over expected', '− $5.00 under expected'."""
    return f"− {dollars(-cents)} under expected" if cents < 0 else f"+ {dollars(cents)} over expected"


def verdict(finding: Row) -> str:
    """How a finding stands, and of which dollars that is said: 'Strong case for $4.21 of $45.50'."""
    asked, strong = finding["disputable_cents"] or 0, finding["strong_cents"] or 0
    words = DISPUTES[finding["dispute"] or "none"]
    if (finding["dispute_reason"] or "").startswith(TOO_LATE):
        return "Too late"
    if (finding["dispute_reason"] or "").startswith(A_QUESTION):
        return A_QUESTION.capitalize()
    if not asked or (asked == finding["difference_cents"] and strong in (0, asked)):
        return words
    besides = f" and a strong case for {dollars(strong)}" if 0 < strong < asked else ""
    rest = dollars(asked - strong if besides else asked)
    return f"{words} for {rest}{besides} of {dollars(finding['difference_cents'])}"


WORDS = {
    "declared": "The size and weight on your label.",
    "reading": "What the carrier's machine measured or weighed.",
    "over expected": "What was billed less what your own figures come to by the rules and prices used here.",
    "correction": "What the carrier charged after the label, as its statement says. Statements call it an adjustment.",
    "back-charge": "What a parcel cost more because of its size, its weight or rounding.",
    "billable weight": "The weight a price is looked up by: the scale's, or the dimensional weight where that is more.",
    "dimensional weight": "A weight made of the size: length times width times height, by the rules' divisor.",
    "length plus girth": "The longest side, and twice each of the other two.",
    "step": "Prices go up by whole inches and pounds; anything over one counts as the next.",
    "tolerance": "How far a sound tape, scale or scanner may be off.",
    "share of a cause": "A difference with several causes is split among them, each by what it adds on average.",
    "range": "The true figure lies between its ends nine times in ten.",
    "strong, arguable": "How well a dispute stands by what is recorded; no promise that it is granted.",
}

KINDS = {
    "exact": "exact",
    "rounded": "printed in whole inches, rounded up",
    "inferred": "worked out from the bill",
    "slip": "sent otherwise than declared, as uncut; left out of the estimate",
    "stayed below": "never corrected, so below the next costly figure",
}
"""How a reading is known, by the word in HABIT_READINGS."""

PRICES = {
    "table": "your rate table",
    "learned": "prices learned from your own labels and statements",
    "label": "what the label cost",
}

MATCHES = {
    "exact": "the same number",
    "spacing": "the same number, spaced otherwise",
    "misread": "a number that was misread",
    "reference": "the order reference",
    "none": "no shipment you recorded",
}


def day(moment: date | None) -> str:
    """For people: '3 March 2026'; empty when there is none."""
    return "" if moment is None else f"{moment.day} {MONTHS[moment.month - 1]} {moment.year}"


def month(moment: date) -> str:
    """For people: 'March 2026'."""
    return f"{MONTHS[moment.month - 1]} {moment.year}"


def dollars(cents: int | None) -> str:
    """For people: '$1,234.56'; 'not priced' when there is none."""
    return "not priced" if cents is None else money.dollars(cents)


def inches(nanometres: int) -> str:
    """A length for people: '48.2 in'."""
    return f"{units.shown(nanometres, 'in', 'length')} in"


def pounds(picograms: int) -> str:
    """A weight for people: '11.4 lb'."""
    return f"{units.shown(picograms, 'lb', 'weight')} lb"


def share(part: float) -> str:
    """A share of a whole for people: '12 %', 'under 1 %'."""
    return "under 1 %" if 0 < part < 0.005 else f"{100 * part:.0f} %"  # noqa: PLR2004 - half of one percent


def chance(confidence: float) -> str:
    """A chance for people, never called sure: '72 %', 'over 99 %'."""
    return "over 99 %" if confidence >= 0.995 else share(confidence)  # noqa: PLR2004 - would be rounded to 100 %


def counted(number: int, noun: str, plural: str = "") -> str:
    """A number with its noun: '1 line', '1,200 lines'."""
    return f"{number:,} {noun if number == 1 else plural or noun + 's'}"


def age(tariff: Tariff, last: pd.Timestamp) -> str:
    """How old a tariff's rules are: the day on which they were last looked at, held against the last ship date."""
    looked = f"The rules {tariff.name} were last looked at on {day(tariff.known_until)}"
    if pd.isna(last):
        return f"{looked}."
    apart = (last.date() - tariff.known_until).days
    if apart <= 0:
        return f"{looked}, after the last parcel on these statements was shipped."
    return (
        f"{looked}, {counted(apart, 'day')} before the last parcel on these statements was shipped. What the carrier "
        "changed in between is not in them, and what rests on them is marked."
    )


def period(days: pd.Series) -> str:
    """The months that the days lie in: 'March 2026', 'February to March 2026'; empty when no day is known."""
    known = days.dropna()
    if known.empty:
        return ""
    first, last = known.min(), known.max()
    end = f"{MONTHS[last.month - 1]} {last.year}"
    if (first.year, first.month) == (last.year, last.month):
        return end
    return f"{MONTHS[first.month - 1]}{'' if first.year == last.year else f' {first.year}'} to {end}"
