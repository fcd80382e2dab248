"""The figures in a letter about parcels: sizes, sides, weights and amounts, and whose each is.

A figure is the seller's (declared) or the carrier's (read) by the words around it: the last before it that tells, or
else the first after it, within its sentence. Where no word tells, the other of the two being known does, or that both
stand one after the other and the second is the larger; that is then said. Of several amounts the adjustment is found by
its words and by arithmetic: where two come to a third, the third is none.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, islice

from auditor.intake import parsing
from auditor.intake.letter_words import AMOUNTS, LIMITS, SIDES, SPEAKS, WHOSE, pattern
from auditor.intake.measures import METRIC, NUMBER, SIZE, WEIGHT
from auditor.intake.words import canonical

FEET = r"(?<!\d)\d{1,3}\s*(?:ft\b|feet\b|foot\b|['′’])\s*"
SIDE = (
    rf"(?:{FEET})?{NUMBER}\s*(?:in\b(?!\s+(?!long|wide|high|tall|deep)[a-z])|inch(?:es)?\b|[\"″”]|{METRIC})|"
    rf"{FEET}(?=\W|$)"
)
SUM = r"(?<!\d)\d(?:[\d.,']{0,14}\d)?"
CURRENCY = r"(?:US\s?\$|[$€£]|\b(?:USD|EUR|GBP|CAD|AUD|CHF|euros?|dollars?)\b)"
AMOUNT = rf"(?:(?<![\w)-])[-−](?=[$€£\d]))?(?:{CURRENCY}\s?(?:{SUM})|(?:{SUM})\s?{CURRENCY})"
FIGURE = re.compile(
    rf"(?P<size>{SIZE})|(?P<amount>{AMOUNT})|(?P<weight>{WEIGHT})|(?P<side>{SIDE})|(?P<bare>(?<![\d.])\d{{1,9}}[.,]\d\d\b)",
    re.IGNORECASE,
)
BEFORE_LIMIT = re.compile(rf"(?:{pattern(LIMITS).pattern}|[<>≤≥])\W*(?:of|zu)?\W*$", re.IGNORECASE)
AFTER_LIMIT = re.compile(
    r"\s*(?:on(?=\s*(?:[,.;)]|$))|onwards?|more|less|heavier|lighter|longer|(?:and|or) (?:over|up|more|above)|"
    r"(?:in )?girth)\b",
    re.IGNORECASE,
)
SENTENCE = re.compile(r"(?<=[.;!?])\s+(?=\D)|(?<=[^\W\d][!?;.])\s+")
NEAR = 40
"""Letters between two figures of one set at most: '46 x 18 x 8 in and 22 lb'."""
CLOSE, FAR_BEFORE = 12, 24
"""So near behind a figure must a word stand, and so far before it another, for the one behind to tell."""
FAR = 300
"""Letters away from a figure in which words that tell of it are looked for, at most."""
PAIR = 2
LONGEST_HEADING = 60
LABELLED = re.compile(r"[^:]{1,60}:\s")
MOST_FIGURES, MOST_AMOUNTS = 500, 50
"""So many in a sentence, and different amounts about a parcel, are looked at."""
WORTH = {"adjustment": 2, "refund": 2, "": 0, "fee": -1, "other": -2}


@dataclass(frozen=True)
class Figure:
    """One figure: "size", "weight", one of the SIDES or "amount"; as written; "declared", "measured" or ""."""

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


def figures_of(texts: Sequence[str]) -> Iterator[Figure]:
    """The figures of lines and paragraphs in order; what stands below a heading that says whose it is, is theirs.

    Such a heading is short and has no figure: 'As you booked it'. One with both, 'You said  We found', is of columns.
    """
    heading: list[str] = []
    for text in texts:
        found = list(figures(text))
        if not found and len(text) <= LONGEST_HEADING and not any(map(str.isdigit, text)):
            heading = _in_order(text) or heading
        elif found and LABELLED.match(text):
            yield from _below(heading, found)
        else:
            heading = []
            yield from found


def _in_order(text: str) -> list[str]:
    """Whose figures a heading says stand below it, in the order of columns."""
    said = sorted(_said(text, WHOSE)) or sorted(_said(text, SPEAKS))
    return list(dict.fromkeys(says for _, says in said))


def _below(heading: Sequence[str], found: Sequence[Figure]) -> Iterator[Figure]:
    """The figures of a labelled line; those that nobody is said to be are whose the heading above them says."""
    same = [one for one in found if one.kind == found[0].kind]
    if len(heading) == len(same) == PAIR and not any(one.whose for one in same):
        yield from (replace(one, whose=whose) for one, whose in zip(same, heading, strict=True))
        yield from (one for one in found if one not in same)
    else:
        of_all = heading[0] if len(heading) == 1 else ""
        yield from (replace(one, whose=one.whose or of_all) for one in found)


def figures(text: str) -> Iterator[Figure]:
    """The figures of a line or paragraph, sentence by sentence, in order; limits are left out."""
    for sentence in SENTENCE.split(text):
        them = islice(FIGURE.finditer(sentence), MOST_FIGURES)
        found = [match for match in them if not _is_limit(sentence, match)]
        ends = [0, *(match.end() for match in found)]
        starts = [*(match.start() for match in found), len(sentence)]
        gaps = [_ends_of(sentence[end:start]) for end, start in zip(ends, starts, strict=True)]
        kinds = _kinds(found, gaps)
        begins = [not at or _parted(gaps[at], kinds[at - 1], kinds[at]) for at in range(len(found))]
        crossed = _by_columns(kinds, gaps)
        for at, (match, kind) in enumerate(zip(found, kinds, strict=True)):
            if kind:
                text = re.sub(r"(?<=\d) (?=\d{3}\s?g)", "", re.sub(r"\s/\s", " x ", match[0].strip().rstrip(".")))
                whose = crossed.get(at) or _whose(at, gaps, begins)
                yield Figure(kind, text, whose, gaps[at], gaps[at + 1])


def _by_columns(kinds: Sequence[str], gaps: Sequence[str]) -> dict[int, str]:
    """Whose figures are that stand side by side behind words for both, as below headings: 'Entered Found 2 lb 3 lb'."""
    whose: dict[int, str] = {}
    for at in range(1, len(kinds)):
        said = [says for _, says in sorted(_said(gaps[at - 1], WHOSE))[-PAIR:]]
        if kinds[at] == kinds[at - 1] and not gaps[at].strip() and len(set(said)) == PAIR:
            whose |= {at - 1: said[0], at: said[1]}
    return whose


def _ends_of(gap: str) -> str:
    """The words between two figures; of very many, the first and the last."""
    return gap if len(gap) <= 2 * FAR else f"{gap[:FAR]} … {gap[-FAR:]}"


def _is_limit(sentence: str, match: re.Match[str]) -> bool:
    if match.lastgroup in {"amount", "bare"}:
        return False
    before, after = sentence[max(0, match.start() - NEAR) : match.start()], sentence[match.end() : match.end() + NEAR]
    return bool(BEFORE_LIMIT.search(before) or AFTER_LIMIT.match(after))


def _parted(gap: str, one: str, other: str) -> bool:
    """Whether two figures are of two sets: of one kind, far from one another, or with a word between that tells."""
    return one == other or len(gap) > NEAR or bool(_said(gap, WHOSE))


def _kinds(found: Sequence[re.Match[str]], gaps: Sequence[str]) -> list[str]:
    """What each figure is; "" for a length that no word says to be a side, and a bare number that is no amount."""
    kinds: list[str] = []
    for at, match in enumerate(found):
        group = str(match.lastgroup)
        if group == "side":
            group = _side(gaps[at], gaps[at + 1], kinds[-1] if kinds else "")
        elif group == "bare":
            group = "amount" if pattern(AMOUNTS["adjustment"]).search(gaps[at]) else ""
        kinds.append(group)
    return kinds


def _side(before: str, after: str, last: str) -> str:
    """Which side a length is, by the word right behind it, or before it; or the one that the figure before it is."""
    right_behind = re.sub(r"^\s*(?:de\s+)?", "", after)
    behind = next((side for side, words in SIDES.items() if pattern(words).match(right_behind)), "")
    said = _said(before, SIDES)
    return behind or (max(said)[1] if said else last if last in SIDES and len(before) < NEAR else "")


def _whose(at: int, gaps: Sequence[str], begins: Sequence[bool]) -> str:
    """Who says a figure: by the words before its set, or else behind it; behind it also where they are much nearer."""
    first = next(place for place in range(at, -1, -1) if begins[place])
    last = next((place for place in range(at, len(begins) - 1) if begins[place + 1]), len(begins) - 1)
    clause = re.split(r"[,;]", gaps[last + 1])[0]
    near = [one for one in _said(clause, WHOSE) if one[0] < CLOSE]
    before = _said(gaps[first], WHOSE)
    if near and before and len(gaps[first]) - max(before)[0] > FAR_BEFORE:
        return min(near)[1]
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
    words = re.finditer(r"[^\W\d_]+", text)
    return [(match.start(), one) for match in words for one in canonical(match[0]) if one in WHOSE]


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


def is_turned(found: Sequence[Found]) -> bool:
    """Whether nothing read is more than was declared and something is less: for that nobody is charged."""
    values = {one.name: _value(Figure(_kind_of(one.name), one.text, "", "", "")) for one in found}
    pairs = [(values[name], values.get(name.replace("declared", "measured"))) for name in values if "declared" in name]
    both = [(one, other) for was, now in pairs if was and now for one, other in zip(was, now, strict=True)]
    return any(now < was for was, now in both) and not any(now > was for was, now in both)


def _kind_of(name: str) -> str:
    what = name.partition("_")[2]
    return {"size": "size", "weight_pg": "weight"}.get(what, what.removesuffix("_nm"))


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
    best = max(points.values(), default=0)
    likely = [cents for cents, point in points.items() if point == best]
    if len(likely) != 1 or best < (WORTH["fee"] if len(amounts) == 1 else 0):
        return None
    them = amounts[likely[0]]
    sign = "-" if any("refund" in _called(one) for one in them) else ""
    return Found("amount_cents", f"{sign}{them[0].text}")


def _points(cents: int, amounts: Mapping[int, Sequence[Figure]]) -> int:
    """How likely an amount is the adjustment: by its words, and by whether it and another come to a third."""
    words = max((_worth(_called(one)) for one in amounts[cents]), key=abs)
    sums = [(one, other, one + other) for one, other in combinations(amounts, 2) if one + other in amounts]
    is_part = any(cents in one[:PAIR] for one in sums)
    is_sum = any(cents == one[PAIR] for one in sums)
    return words + is_part - 3 * is_sum


def _worth(called: set[str]) -> int:
    """What words say for an amount; where they say both, it is a little more likely the adjustment than not."""
    worths = [WORTH[one] for one in called or {""}]
    return max(worths) - (min(worths) < 0 < max(worths))


def is_no_adjustment(label: str) -> bool:
    """Whether the label of an amount calls it a price, a balance or the like, and no adjustment."""
    return _worth({says for _, says in _said(label, AMOUNTS)}) < WORTH["fee"]


def _called(figure: Figure) -> set[str]:
    """What the words around an amount call it: those before it, or else those behind it in its clause."""
    if before := {says for _, says in _said(figure.before, AMOUNTS)}:
        return before
    clause = re.split(r",|\band\b|\bund\b", figure.after)[0]
    return {says for _, says in sorted(_said(clause, AMOUNTS))[:1]}


def _cents(text: str) -> int:
    """What an amount comes to; 0 where it cannot be read."""
    try:
        return parsing.money(text, decimal_comma=parsing.has_decimal_comma([text]))
    except ValueError:
        return 0
