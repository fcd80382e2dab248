"""The figures in a letter about parcels: sizes, sides, weights and amounts, and whose each is.

A figure is the seller's (declared) or the carrier's (read) by the words around it: the last before it that tells, or
else the first after it, within its sentence. Where no word tells, the other of the two being known does, or that both
stand one after the other and the second is the larger; that is then said. Of several amounts the adjustment is found by
its words and by arithmetic: where two come to a third, the third is none.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, islice

from auditor.intake import parsing
from auditor.intake.letter_words import AMOUNTS, LIMITS, SIDES, SPEAKS, WHOSE, pattern
from auditor.intake.words import canonical

NUMBER = r"(?<!\d)\d{1,6}(?:[.,]\d{1,6})?(?:[ -]\d{1,3}/\d{1,3})?"
INCHES = r"in(?:ch(?:es)?)?\b\.?|[\"″”]"
METRIC = r"cm\b|mm\b|centim[eè]t(?:er|re)s?\b"
LENGTH_UNIT = rf"(?:\s*(?:{INCHES}|{METRIC}))?"
TIMES = r"\s*(?:[x×*]|by)\s*"
SIZE = rf"{NUMBER}{LENGTH_UNIT}{TIMES}{NUMBER}{LENGTH_UNIT}{TIMES}{NUMBER}{LENGTH_UNIT}"
WEIGHT = (
    rf"{NUMBER}\s*(?:lbs?|pounds?|kgs?|kilo(?:gram(?:me)?)?s?|oz|ounces?|g|gram(?:me)?s?)\b"
    rf"(?:\s*{NUMBER}\s*(?:oz|ounces?)\b)?"
)
SIDE = rf"{NUMBER}\s*(?:in\b(?!\s+[a-z])|inch(?:es)?\b|[\"″”]|{METRIC})"
SUM = r"(?<!\d)\d(?:[\d.,']{0,14}\d)?"
CURRENCY = r"(?:US\s?\$|[$€£]|\b(?:USD|EUR|GBP|CAD|AUD|CHF|euros?|dollars?)\b)"
AMOUNT = rf"{CURRENCY}\s?(?:{SUM})|(?:{SUM})\s?{CURRENCY}"
FIGURE = re.compile(
    rf"(?P<size>{SIZE})|(?P<amount>{AMOUNT})|(?P<weight>{WEIGHT})|(?P<side>{SIDE})|(?P<bare>\b\d{1, 9}\.\d\d\b)",
    re.IGNORECASE,
)
BEFORE_LIMIT = re.compile(rf"(?:{pattern(LIMITS).pattern}|[<>≤≥])\W*(?:of|zu|the)?\W*$", re.IGNORECASE)
AFTER_LIMIT = re.compile(r"\s*(?:on|onwards?|(?:and|or) (?:over|up|more|above)|(?:in )?girth)\b", re.IGNORECASE)
SENTENCE = re.compile(r"(?<=[.;!?])\s+(?=\D)|(?<=[^\W\d][!?;.])\s+")
NEAR = 40
"""Letters between two figures of one set at most: '46 x 18 x 8 in and 22 lb'."""
FAR = 300
"""Letters away from a figure in which words that tell of it are looked for, at most."""
PAIR = 2
MOST_FIGURES, MOST_AMOUNTS = 500, 50
"""So many in a sentence, and different amounts about a parcel, are looked at."""
WORTH = {"adjustment": 1, "other": -1, "": 0}


@dataclass(frozen=True)
class Figure:
    """One figure: "size", "weight", "length", "width", "height" or "amount"; as written; "declared", "read" or ""."""

    kind: str
    text: str
    whose: str
    before: str
    after: str


@dataclass(frozen=True)
class Found:
    """A field of a notice, its text, and how it was told where no word did."""

    name: str
    text: str
    told: str = ""


def figures(text: str) -> Iterator[Figure]:
    """The figures of a line or paragraph, sentence by sentence, in order; limits are left out."""
    for sentence in SENTENCE.split(text):
        them = islice(FIGURE.finditer(sentence), MOST_FIGURES)
        found = [match for match in them if not _is_limit(sentence, match)]
        ends = [0, *(match.end() for match in found)]
        starts = [*(match.start() for match in found), len(sentence)]
        gaps = [_ends_of(sentence[end:start]) for end, start in zip(ends, starts, strict=True)]
        begins = [not at or _parted(gaps[at], found[at - 1], found[at]) for at in range(len(found))]
        kind: str | None = None
        for at, match in enumerate(found):
            kind = _kind(match, gaps[at], gaps[at + 1], kind)
            if kind:
                yield Figure(kind, match[0].strip().rstrip("."), _whose(at, gaps, begins), gaps[at], gaps[at + 1])


def _ends_of(gap: str) -> str:
    """The words between two figures; of very many, the first and the last."""
    return gap if len(gap) <= 2 * FAR else f"{gap[:FAR]} … {gap[-FAR:]}"


def _is_limit(sentence: str, match: re.Match[str]) -> bool:
    if match.lastgroup in {"amount", "bare"}:
        return False
    before, after = sentence[max(0, match.start() - NEAR) : match.start()], sentence[match.end() : match.end() + NEAR]
    return bool(BEFORE_LIMIT.search(before) or AFTER_LIMIT.match(after))


def _parted(gap: str, one: re.Match[str], other: re.Match[str]) -> bool:
    """Whether two figures are of two sets: of one kind, far from one another, or with a word between that tells."""
    return one.lastgroup == other.lastgroup or len(gap) > NEAR or bool(_said(gap, WHOSE))


def _kind(match: re.Match[str], before: str, after: str, last: str | None) -> str | None:
    """What a figure is; None for a length that no word says to be a side."""
    group = str(match.lastgroup)
    if group == "bare":
        return "amount" if pattern(AMOUNTS["adjustment"]).search(before) else None
    if group != "side":
        return group
    behind = next((side for side, words in SIDES.items() if pattern(words).match(after.lstrip())), None)
    sides = _said(before, SIDES)
    arrow = last if last in SIDES and len(before) < NEAR else None
    return behind or (max(sides)[1] if sides else arrow)


def _whose(at: int, gaps: Sequence[str], begins: Sequence[bool]) -> str:
    """Who says a figure: by the words before its set, or else after it."""
    first = next(place for place in range(at, -1, -1) if begins[place])
    last = next((place for place in range(at, len(begins) - 1) if begins[place + 1]), len(begins) - 1)
    for words in (WHOSE, SPEAKS):
        if found := _said(gaps[first], words):
            return max(found)[1]
        if found := _said(gaps[last + 1], words):
            return min(found)[1]
    return ""


def _said(text: str, words: Mapping[str, str]) -> list[tuple[int, str]]:
    """Where in a text such words stand, and what each says."""
    found = [(match.start(), says) for says, them in words.items() for match in pattern(them).finditer(text)]
    return found + _by_trade(text) if words is WHOSE else found


def _by_trade(text: str) -> list[tuple[int, str]]:
    """The same by the words of headings: 'audited', 'entered'."""
    says = {"declared": "declared", "measured": "read"}
    words = re.finditer(r"[^\W\d_]+", text)
    return [(match.start(), says[one]) for match in words for one in canonical(match[0]) if one in says]


# Two of a kind, and one of several amounts


def sizes_and_weights(found: Sequence[Figure]) -> Iterator[Found]:
    """The fields of sizes, sides and weights: what words tell, and what follows from it."""
    has_size = any(one.kind == "size" for one in found)
    for kind in ("size", "weight") if has_size else ("weight", *SIDES):
        yield from _both([one for one in found if one.kind == kind and _value(one)], kind)


def _both(them: Sequence[Figure], kind: str) -> Iterator[Found]:
    """The declared figure of a kind and the one read."""
    told = {one.whose: one for one in reversed(them) if one.whose}
    known = {_value(one) for one in told.values()}
    others = [one for one in them if not one.whose and _value(one) not in known]
    distinct = list({_value(one): one for one in reversed(others)}.values())[::-1]
    open_ = others if len(distinct) == 1 and len(others) == PAIR else distinct
    missing = [whose for whose in WHOSE if whose not in told]
    yield from (Found(_field(whose, kind), one.text) for whose, one in told.items())
    if len(missing) == len(open_) == 1:
        yield Found(_field(missing[0], kind), open_[0].text, "the other of two")
    elif len(missing) == len(open_) == PAIR and _grows(*open_):
        for whose, one, place in zip(WHOSE, open_, ("first, and smaller,", "second, and larger,"), strict=True):
            yield Found(_field(whose, kind), one.text, f"the {place} of two")


def _field(whose: str, kind: str) -> str:
    return f"{whose}_{'size' if kind == 'size' else 'weight_pg' if kind == 'weight' else f'{kind}_nm'}"


def _value(figure: Figure) -> tuple[int, ...]:
    """What a figure comes to; () where it cannot be read."""
    try:
        if figure.kind == "size":
            return parsing.size(figure.text, "in")
        return (parsing.heft(figure.text) if figure.kind == "weight" else parsing.side(figure.text),)
    except ValueError:
        return ()


def _grows(one: Figure, other: Figure) -> bool:
    """Whether a carrier may have read the second where the first was declared, and charged for it."""
    return all(first <= second for first, second in zip(_value(one), _value(other), strict=True))


def adjustment(found: Sequence[Figure]) -> Found | None:
    """The amount that is the adjustment; None where there is none, or none is likelier than the others."""
    amounts: dict[int, list[Figure]] = {}
    for one in found:
        if one.kind == "amount" and len(amounts) < MOST_AMOUNTS and (cents := _cents(one.text)):
            amounts.setdefault(cents, []).append(one)
    points = {cents: _points(cents, amounts) for cents in amounts}
    best = max(points.values(), default=-1)
    likely = [cents for cents, point in points.items() if point == best]
    return Found("amount_cents", amounts[likely[0]][0].text) if best >= 0 and len(likely) == 1 else None


def _points(cents: int, amounts: Mapping[int, Sequence[Figure]]) -> int:
    """How likely an amount is the adjustment: by its words, and by whether it and another come to a third."""
    words = max((WORTH[_called(one)] for one in amounts[cents]), key=abs)
    sums = [(one, other, one + other) for one, other in combinations(amounts, 2) if one + other in amounts]
    is_part = any(cents in one[:PAIR] for one in sums)
    is_sum = any(cents == one[PAIR] for one in sums)
    return 2 * words + is_part - 3 * is_sum


def _called(figure: Figure) -> str:
    """What the words around an amount call it; "" where they say nothing."""
    if before := _said(figure.before, AMOUNTS):
        return max(before)[1]
    clause = re.split(r",|\band\b|\bund\b", figure.after)[0]
    return min(_said(clause, AMOUNTS), default=(0, ""))[1]


def _cents(text: str) -> int:
    """What an amount comes to; 0 where it cannot be read."""
    try:
        return parsing.money(text, decimal_comma=parsing.has_decimal_comma([text]))
    except ValueError:
        return 0
