"""A statement in blocks, a parcel's line with its charges under it → a grid with a row for each charge.

Nothing in such a statement stands in a column but the amounts. What a line is, is told by what is in it: a parcel's
number begins a block, an amount under it is a charge, a sum says so in its first words, and of what remains dates,
sizes, weights and the words before them are read. The parcel's figures are repeated on each of its charges.
"""

from __future__ import annotations

import re
import string
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import accumulate, chain, pairwise, takewhile

import numpy as np

from auditor.intake import two_columns, wording
from auditor.intake.block_figures import (
    BILLED_SIZE,
    BILLED_WEIGHT,
    DAY,
    GUESSED,
    LABEL,
    NUMBERED,
    REFERRED,
    SCALE_WEIGHT,
    SERVICE,
    SHIPPED,
    SIZE,
    WIDE,
    ZONED,
    figures,
    labelled,
    labelled_pairs,
)
from auditor.intake.documents import Grid
from auditor.intake.placed import MONEY, TOP, X0, X1, Line, Numbers, Words, is_money, lines
from auditor.intake.words import canonical

NUMBER = re.compile(
    r"(?<![\w./-])(?:"
    r"(?=(?:[A-Z]*\d){8})[A-Z]{0,4}\d[A-Z0-9]{7,33}"  # in one piece
    r"|[A-Z]{1,4}(?:[- ]\d{3,8}){2,8}|\d{4}(?: \d{4}){2,7}(?: \d{1,4})?"  # in groups
    r")(?![\w/]|[.,]\d|-\w)"
)
SUM = re.compile(
    r"this (?:parcel|shipment|package|consignment|item|piece)\W*$|"
    r"(?:(?:statement|invoice|grand|account|page|parcel|shipment|package|consignment|item|sub|charges?|in|period|month|"
    r"section|group|all)[ -]*)*(?:totals?|sub-?totals?|sum|balance|amount due|carried (?:forward|over)|brought forward|"
    rf"(?:please |now )?to pay|payable|due)\b|{wording.SUM.pattern}",
    re.IGNORECASE,
)
FIGURED = re.compile(r"\d")
TOLD = re.compile(rf"(?P<words>[^\d]{{3,60}}?)\s*(?P<amount>{MONEY.pattern})", re.IGNORECASE)
"""A charge and its amount within a sentence."""
COUNTED = re.compile(r"^\d{1,4}\.?\s{2,}(?=[^\W\d_]{3})")
"""The number of a line in a column of its own before the words."""
CALLED = re.compile(
    r"(?:(?<![^\W_])(?:parcel|tracking|package|shipment|consignment|item|piece|label|number|no|id|#)[.:#\s]*)+$",
    re.IGNORECASE,
)
"""Words before a parcel's number that say what it is."""
NAMING = {"parcel", "tracking", "number"}
"""What the trade's one word is for the last word before a number that says what it is, in other languages."""
NUMBER_LABEL = re.compile(rf"(?:^|(?<=\s\s)){LABEL}\s?:\s*$|(?:^|(?<=\s\s))[^:;\d]{{1,60}}\s?:\s*$")
CHARGE, AMOUNT = "Charge", "Amount"
HEADINGS = (NUMBERED, SHIPPED, SERVICE, ZONED, REFERRED, BILLED_SIZE, BILLED_WEIGHT, SCALE_WEIGHT, CHARGE, AMOUNT)
PLACE = "page {}, row {}"

LEAST = 2
"""So many parcels or charges make a statement in blocks."""
ALIGNED = 3.0
MOST_SUMMED = 20
"""A summary by charge has no more lines."""
MOST_RUNNING = 6
"""Lines at the head or foot of a page that are looked at as such."""
MOSTLY_BELOW, HALF_A_LINE = 0.95, 0.5
COMMON = 0.5
"""The share of pages on which a line stands at the same height when it is the page's and not the table's."""


@dataclass(frozen=True)
class Said:
    """A line: the parcel's number in it and the amount at its end, "" where there is none, and the words before."""

    line: Line
    number: str
    amount: str
    words: str
    shift: float = 0.0

    @property
    def left(self) -> float:
        """Where it begins in its column of the page."""
        return float(self.line.boxes[0, X0]) - self.shift

    @property
    def right(self) -> float:
        """Where it ends."""
        return float(self.line.boxes[-1, X1]) - self.shift

    @property
    def called(self) -> str:
        """What its amount is called: all its words, or those next before it where these are of a sum."""
        last = self.words.rpartition(WIDE)[2]
        return last if SUM.match(last) and not SUM.match(self.words) else self.words

    @property
    def is_sum(self) -> bool:
        """Whether its words are those of a sum."""
        return bool(SUM.match(self.called))


@dataclass
class Block:
    """A parcel: its line, the figures said about it, and its charges."""

    head: Said
    figures: dict[str, str]
    charges: list[Said] = field(default_factory=list)


def grid_of(words: Words) -> tuple[list[Grid], Words]:
    """The blocks of a document as one grid, none where it has none; and the words that stand outside of them."""
    words, columns = two_columns.in_order(words)
    every = lines(words)
    said = [replace(one, shift=columns.shift * (one.left >= columns.begin)) for one in _read(every)]
    running = _running(said)
    body = _numbers_first(said, [at for at in range(len(every)) if at not in running])
    if not _is_in_blocks([said[at] for at in body]):
        return [], words
    grid, used = _grid(said, body)
    if grid is None:
        return [], words
    _, line = np.unique(words.line, return_inverse=True)
    outside = np.isin(line, [at for at in range(len(every)) if at not in used])
    return [grid], words.where(outside)


def _read(every: Sequence[Line]) -> list[Said]:
    numbers = [NUMBER.findall(DAY.sub("/", line.text)) for line in every]
    shapes = Counter(_shape(one) for one in {one for found in numbers for one in found})
    most = max(shapes.values(), default=0)
    kept = {shape for shape, count in shapes.items() if count * 10 >= most}
    return [
        _said(line, next((one for one in found if _shape(one) in kept), ""))
        for line, found in zip(every, numbers, strict=True)
    ]


def _shape(number: str) -> tuple[int, int]:
    return len(number) - len(number.lstrip(string.ascii_uppercase)), len(number.split())


def _said(line: Line, number: str) -> Said:
    words = (WIDE.join(line.parts)).split(" ")
    start = len(words)
    for begin in range(len(words) - 1, max(len(words) - 5, -1), -1):
        if words[begin + 1 : begin + 2] == [""] and words[begin][-1:].isdecimal():
            break  # a figure of another column, such as a count, is no thousands
        if is_money("".join(words[begin:])):
            start = begin
    amount = "".join(words[start:])
    return Said(line, number, amount, " ".join(words[:start]).strip())


def _running(said: Sequence[Said]) -> set[int]:
    """Lines at the head or foot of pages that stand on most of them at the same height, figures aside."""
    pages: dict[int, list[int]] = {}
    for at, one in enumerate(said):
        pages.setdefault(one.line.page, []).append(at)
    if len(pages) < LEAST:
        return set()
    ends = {at for mine in pages.values() for at in (*mine[:MOST_RUNNING], *mine[-MOST_RUNNING:])}
    keys = {at: _print(said[at].line) for at in ends if not said[at].number and not said[at].amount}
    keys = {at: key for at, key in keys.items() if not SIZE.search(said[at].words)}
    seen = Counter(keys.values())
    common = {at for at, key in keys.items() if seen[key] > max(COMMON * len(pages), 1)}
    heads = (takewhile(common.__contains__, mine[:MOST_RUNNING]) for mine in pages.values())
    feet = (takewhile(common.__contains__, mine[::-1][:MOST_RUNNING]) for mine in pages.values())
    return set(chain(*heads, *feet))


def _print(line: Line) -> tuple[str, int]:
    return re.sub(r"\d+", "9", line.text), round(float(line.boxes[0, TOP]) / ALIGNED)


def _is_in_blocks(said: Sequence[Said]) -> bool:
    """Whether amounts without a parcel's number stand under lines with one, and not in the columns of these."""
    heads = [one for one in said if one.number and not one.is_sum]
    charges = [one for one in said if one.amount and not one.number and not one.is_sum]
    if len({one.number for one in heads}) < LEAST or len(charges) < LEAST:
        return False
    edges = [Counter(round(edge(one) / ALIGNED) for one in charges) for edge in (_right, _amount_left)]
    aligned = max(max(counts.values()) + _beside(counts) for counts in edges)
    if aligned < len(charges) / 2 or _labelled(charges) > len(charges) / 2:
        return False
    followed = sum(1 for one, other in pairwise(_telling(said)) if one.number and other.amount and not other.number)
    if followed < len(heads) / 2:
        return False
    priced = [one for one in heads if one.amount]
    if len(priced) < len(heads) / 2:
        return True
    starts = {round(x / ALIGNED) for one in priced for x in one.line.boxes[1:-1, X0].tolist()}
    within = sum(1 for one in charges if round(one.left / ALIGNED) in starts)
    return within < len(charges) / 2


def _right(one: Said) -> float:
    return one.right


def _amount_left(one: Said) -> float:
    return float(one.line.boxes[-1, X0]) - one.shift


def _beside(counts: Counter[int]) -> int:
    """How many stand in the box beside the fullest one, across whose edge an alignment may fall."""
    most = counts.most_common(1)[0][0]
    return max(counts[most - 1], counts[most + 1])


def _telling(said: Iterable[Said]) -> list[Said]:
    return [one for one in said if (one.number and not one.is_sum) or (one.amount and not one.is_sum)]


def _labelled(charges: Iterable[Said]) -> int:
    """Amounts that a colon stands before, as in a letter: 'Adjustment: $29.50'."""
    return sum(1 for one in charges if one.words.rstrip("$ ").endswith(":"))


def _numbers_first(said: Sequence[Said], body: Sequence[int]) -> list[int]:
    """The lines with each parcel's before its charge, where a line about the parcel stands below each charge."""
    telling = [at for at in body if not said[at].is_sum and (said[at].number or said[at].amount)]
    pairs = [(one, other) for one, other in pairwise(telling) if said[one].amount and not said[one].number]
    below = [(one, other) for one, other in pairs if said[other].number and not said[other].amount]
    starts_so = bool(pairs) and pairs[0][0] == telling[0]
    if not starts_so or len(below) < LEAST or len(below) < MOSTLY_BELOW * len(pairs):
        return list(body)
    place = {at: float(nth) for nth, at in enumerate(body)}
    place |= {other: place[one] - HALF_A_LINE for one, other in below}
    return sorted(body, key=place.__getitem__)


def _grid(said: Sequence[Said], body: Sequence[int]) -> tuple[Grid | None, set[int]]:
    """The rows of charges and sums, and the lines that were used."""
    used: set[int] = set()
    found: list[tuple[Block | None, Said, int]] = []
    headed: list[tuple[Block, int]] = []
    block: Block | None = None
    edge = _amounts_end([said[at] for at in body])
    titles = _titles(said)
    sentences = _sentences(said, body)
    for at in body:
        one = said[at]
        if one.number and not one.is_sum:
            if block is None or block.head.number != one.number:
                block = Block(one, figures(_without_number(_under(titles, one))))
            headed.append((block, at))
            used.add(at)
        elif at in sentences or (one.amount and (one.words or one.is_sum) and _at(one, edge)):
            if block and not one.is_sum and _is_outside(one, block):
                block = None
            charges = sentences.get(at, [one])
            found += [(block, charge, at) for charge in charges]
            if block:
                block.charges += [charge for charge in charges if not charge.is_sum]
            used.add(at)
        elif block and one.left >= block.head.left - ALIGNED and (more := figures(_figured(one))):
            block.figures.update({name: value for name, value in more.items() if name not in block.figures})
            used.add(at)
        elif block and one.left <= block.head.left and not one.amount:
            block = None
    rows = [(block, one, at) for block, one, at in found]
    rows += [(block, block.head, at) for block, at in _own_charges(headed)]
    rows.sort(key=lambda row: row[2])
    summary = _summary(rows)
    kept = [row for row in rows if row[2] not in summary]
    return (_written(kept), used - summary) if kept else (None, set())


def _sentences(said: Sequence[Said], body: Sequence[int]) -> dict[int, list[Said]]:
    """The charges of lines that tell several in a sentence, which may go on in the next line and ends in their sum.

    'carriage £46.32, fuel £3.69. Together £50.01' → carriage, fuel, and the sum. A line that goes on has none left.
    """
    found: dict[int, list[Said]] = {}
    for at, following in pairwise([*body, -1]):
        one, text = said[at], said[at].line.text
        if at in found or one.number or len(TOLD.findall(text)) < LEAST:
            continue
        if charges := _told(one, text):
            found[at] = charges
        elif following >= 0 and (charges := _told(one, f"{text} {said[following].line.text}")):
            found |= {at: charges, following: []}
    return found


def _told(one: Said, text: str) -> list[Said]:
    """The charges of a text whose last amount is the sum of all before it; none of any other text."""
    told = list(TOLD.finditer(text))
    cents = [_cents(found["amount"]) for found in told]
    if len(told) <= LEAST or cents[-1] != sum(cents[:-1]):
        return []
    parts = [replace(one, amount=found["amount"], words=found["words"].strip(" ,;.:")) for found in told]
    return parts if parts[-1].is_sum else parts[:-1]


def _titles(said: Sequence[Said]) -> Line | None:
    """The line of headings nearest above the first parcel's line: of several parts, without figures."""
    above = [one.line for one in takewhile(lambda one: not one.number, said)]
    return next((line for line in reversed(above) if len(line.parts) > LEAST and not FIGURED.search(line.text)), None)


def _under(titles: Line | None, one: Said) -> Said:
    """A parcel's line whose parts are called by the headings that they stand under."""
    if titles is None or one.amount:
        return one
    named = [part if one.number in part else labelled(_above(titles, box), part) for part, box in _boxed(one.line)]
    return replace(one, words=WIDE.join(named))


def _boxed(line: Line) -> Iterator[tuple[str, Numbers]]:
    return zip(line.parts, line.boxes, strict=True)


def _above(titles: Line, box: Numbers) -> str:
    """The heading that reaches over a part of a line; "" for none."""
    over = (text for text, head in _boxed(titles) if head[X0] <= box[X1] and box[X0] <= head[X1])
    return next(over, "")


def _figured(one: Said) -> str:
    """The words of a line about a parcel, with colons behind labels that stand before their values in columns."""
    return one.words if one.amount else labelled_pairs(one.line.parts)


def _summary(rows: Sequence[tuple[Block | None, Said, int]]) -> set[int]:
    """The lines at the beginning or end that come to as much as all others: a summary by charge."""
    lead = list(takewhile(lambda row: not row[1].is_sum and row[0] is None, rows))
    lines = [(_cents(one.amount), at) for _, one, at in rows if not one.is_sum]
    every = sum(cents for cents, _ in lines)
    if LEAST <= len(lead) < len(rows) and 2 * sum(_cents(one.amount) for _, one, _ in lead) == every:
        return {at for _, _, at in lead}
    for count, cents in enumerate(accumulate(cents for cents, _ in reversed(lines[-MOST_SUMMED:])), start=1):
        last = {at for _, at in lines[-count:]}
        if LEAST <= count < len(lines) - count and 2 * cents == every and _sums_up(rows, last):
            return last
    return set()


def _sums_up(rows: Sequence[tuple[Block | None, Said, int]], last: set[int]) -> bool:
    """Whether the last lines are of no parcel, or each comes to as much as all others of its name."""
    sums: Counter[str] = Counter()
    summary: dict[str, int] = {}
    for _, one, at in rows:
        name = "".join(filter(str.isalpha, one.words.casefold()))
        if at in last:
            summary[name] = _cents(one.amount)
        elif not one.is_sum:
            sums[name] += _cents(one.amount)
    return all(block is None for block, _, at in rows if at in last) or summary == sums


def _without_number(one: Said) -> str:
    before, _, after = one.words.partition(one.number)
    before = CALLED.sub("", NUMBER_LABEL.sub("", before))
    *words, last = before.split() or [""]
    return f"{' '.join(words) if {*canonical(last)} <= NAMING else before} ; {after}"


def _amounts_end(said: Sequence[Said]) -> tuple[str, float]:
    """Where the amounts of charges are aligned: at their right or their left, and the place."""
    charges = [one for one in said if one.amount and not one.number and not one.is_sum]
    best = ("right", 0.0, 0)
    for name, of in (("right", _right), ("left", _amount_left)):
        where, count = Counter(round(of(one)) for one in charges).most_common(1)[0]
        if count > best[2]:
            best = name, float(where), count
    return best[0], best[1]


def _at(one: Said, edge: tuple[str, float]) -> bool:
    where = _right(one) if edge[0] == "right" else _amount_left(one)
    return one.is_sum or abs(where - edge[1]) <= 2 * ALIGNED


def _is_outside(one: Said, block: Block) -> bool:
    """A charge no further in than the parcel's line, where the block's own are further in."""
    indent = [charge.left for charge in block.charges] or [one.left]
    return one.left <= block.head.left + 1 and min(indent) > block.head.left + ALIGNED


def _own_charges(headed: Sequence[tuple[Block, int]]) -> list[tuple[Block, int]]:
    """The parcels' lines that bill a charge of their own: those whose amount is not the sum of the charges under it."""
    priced = [(block, at) for block, at in headed if block.head.amount]
    return [(block, at) for block, at in priced if not _is_the_sum(block)]


def _is_the_sum(block: Block) -> bool:
    return bool(block.charges) and _cents(block.head.amount) == sum(_cents(one.amount) for one in block.charges)


def _cents(amount: str) -> int:
    digits = int(re.sub(r"\D", "", amount))
    return -digits if re.search(r"[-−–(]|CR$", amount, re.IGNORECASE) else digits


def _written(rows: Sequence[tuple[Block | None, Said, int]]) -> Grid:
    texts, places, boxes = [list(HEADINGS)], [f"page {rows[0][1].line.page}"], [""]
    count: Counter[int] = Counter()
    for block, one, _ in rows:
        page = one.line.page
        count[page] += 1
        known = {} if block is None or one.is_sum else block.figures
        row = {name: known.get(name, "") for name in HEADINGS}
        row[SERVICE] = row[SERVICE] or known.get(GUESSED, "")
        own = one is block.head if block else False
        row[NUMBERED] = block.head.number if block and not one.is_sum else ""
        row[CHARGE] = (row[SERVICE] or _trimmed(_without_number(one))) if own else _trimmed(one.called)
        row[AMOUNT] = one.amount
        if not own and not one.is_sum and FIGURED.search(one.words):
            row |= {name: value for name, value in figures(_trimmed(one.words)).items() if name == BILLED_WEIGHT}
        texts.append([row[name] for name in HEADINGS])
        places.append(PLACE.format(page, count[page]))
        boxes.append(one.line.box)
    used = [
        at
        for at, name in enumerate(HEADINGS)
        if name in {NUMBERED, CHARGE, AMOUNT} or any(row[at] for row in texts[1:])
    ]
    return Grid([[row[at] for at in used] for row in texts], places, boxes=boxes)


def _trimmed(words: str) -> str:
    return " ".join(COUNTED.sub("", words).rstrip(" .·…:$_-").split())
