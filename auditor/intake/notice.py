"""A letter → a notice for each parcel's number in it, from 'Label: value' lines and from sentences.

Known labels are told by likeness, as headings of tables are; what other lines and sentences say is told by
letter_figures.py.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field

import pandas as pd

from auditor.core.schemas import NOTICES, Problem, conform
from auditor.intake import vocabulary
from auditor.intake.check_digits import checked
from auditor.intake.documents import Letter, Unreadable
from auditor.intake.evidence import is_code
from auditor.intake.headings import Heading
from auditor.intake.letter_figures import AMOUNT, adjustment, figures_of, is_no_adjustment, is_turned, sizes_and_weights
from auditor.intake.letter_text import Unit, carriers_own, units
from auditor.intake.letter_words import NUMBERS, pattern
from auditor.intake.recognise import Sheet
from auditor.intake.tidy import complete, shown, tidied

FIGURES = ["declared_length_nm", "declared_weight_pg", "measured_length_nm", "measured_weight_pg", "amount_cents"]
SURE = 0.9
"""So like a name of a field must a label be."""
LONGEST_LABEL = 60
DIGIT = re.compile(r"\d")
SHORTEST = 10
"""Letters and digits of a carrier's number at least."""

CODE = re.compile(
    r"(?<![\w./=-])(?P<number>"
    r"(?-i:[A-Z]{1,3} ?\d(?: ?\d){7,24}(?: ?[A-Z]{2})?|\d(?: ?\d){9,24}(?: ?[A-Z]{2})?)|"
    r"(?=(?:[A-Z]*\d){4})[A-Z0-9][A-Z0-9-]{6,38}[A-Z0-9])(?![\w-])",
    re.IGNORECASE,
)
"""What may be a parcel's number, also printed in groups."""
CALLED = 3
"""The points of a number of letters and digits that is called a parcel's."""
BEFORE = 30
"""So many letters before a number are looked at for what it is."""
REASON = re.compile(
    r"\b(?:because|due to|as (?:the|its|your) (?=parcel|carton|box|weight|size|length|longest)|"
    r"the reason (?:is|was)(?: that)?)\s*([^.;!?]{5,100})",
    re.IGNORECASE,
)


@dataclass
class Block:
    """What is said about one parcel: field → label and value, where its number stands, and the words about it."""

    place: str
    said: dict[str, tuple[Heading, str]]
    words: list[str] = field(default_factory=list)


def read(file: str, letter: Letter) -> tuple[pd.DataFrame, list[Problem]]:
    """The notices of a letter (NOTICES).

    Raises:
        Unreadable: nothing in it gives a parcel's number.
    """
    problems: list[Problem] = []
    text, written_on = carriers_own(letter)
    blocks = list(_blocks(file, letter.part, list(units(text)), problems))
    if not blocks:
        raise Unreadable(
            "This letter has no line such as 'Tracking number: …', so what it is about could not be told. If it is a "
            "notice, write its figures into lines of that kind; otherwise leave it out."
        )
    for block in blocks:
        problems += _fill_from_words(file, block)
    sheet = _sheet(file, blocks)
    frame, faults = tidied(sheet)
    frame, gaps = complete(frame, sheet)
    frame["noticed_on"] = pd.Timestamp(written_on) if written_on else pd.NaT
    problems += [*faults, *gaps, *_without_figures(frame)]
    return conform(frame, NOTICES), problems


def _blocks(file: str, part: str, units: Sequence[Unit], problems: list[Problem]) -> list[Block]:
    """What is said about each parcel, which begins with its number.

    What is said before the first number belongs to it where there is only one.
    """
    blocks: list[Block] = []
    before = Block("", {})
    numbers = _parcels_numbers([one.text for one in units])
    for unit in units:
        place = ", ".join(filter(None, (part, f"line {unit.line}")))
        labelled = _labelled(unit.text)
        if labelled and labelled[0] == "tracking":
            if not _said_before(blocks, labelled[2]):
                blocks.append(Block(place, {"tracking": (labelled[1], labelled[2])}))
            continue
        if labelled:
            name, heading, value = labelled
            current = blocks[-1] if blocks else before
            if name in current.said:
                message = f"{shown(unit.text)} was not read: the same was said before about this parcel."
                problems.append(Problem(file, place, message))
            else:
                current.said[name] = heading, value
            continue
        for text, mentioned in _mentions(unit.text, numbers):
            if mentioned and not _said_before(blocks, mentioned):
                blocks.append(Block(place, {"tracking": (Heading("tracking number"), mentioned)}))
            (blocks[-1] if blocks else before).words.append(text)
    if len(blocks) == 1:
        [only] = blocks
        only.said = {**before.said, **only.said}
        only.words = [*before.words, *only.words]
    return blocks


def _said_before(blocks: Sequence[Block], number: str) -> bool:
    """Whether the last block is about that parcel already."""
    return bool(blocks) and blocks[-1].said["tracking"][1] == number


def _labelled(text: str) -> tuple[str, Heading, str] | None:
    """The field, label and value of 'Label: value', if the label is known."""
    label, colon, value = text.partition(":")
    if not colon or not label or len(label) > LONGEST_LABEL:
        return None
    like = vocabulary.likeness(label, "notice")
    name = max(like, key=lambda one: like[one][0], default=None)
    if name is None or like[name][0] < SURE:
        return None
    if name == "tracking":
        return (name, Heading(label), _number_in(value.strip())) if DIGIT.search(value) or not value.strip() else None
    if name == "amount_cents" and is_no_adjustment(label):
        return None
    amount = re.search(AMOUNT, value) if name == "amount_cents" else None
    return name, Heading(label), amount[0] if amount else f"{value.strip()} {like[name][1] or ''}".strip()


def _number_in(value: str) -> str:
    """What stands behind the label of a number: the number, if others stand behind it."""
    found = CODE.match(value)
    return found["number"] if found and is_code(found["number"]) else value


def _parcels_numbers(texts: Sequence[str]) -> set[str]:
    """The numbers in a letter that are most likely parcels': those called so, then those of letters and digits.

    With the likeliest go those of the same shape that no word calls another thing.
    """
    points: dict[str, int] = {}
    for text in texts:
        for match in CODE.finditer(text):
            number = match["number"]
            if is_code(number):
                before = text[max(0, match.start() - BEFORE) : match.start()]
                points[number] = max(points.get(number, -CALLED), _likely(number, before))
    best = max(points.values(), default=0)
    shapes = {_shape(number) for number, point in points.items() if point == best > 0}
    return {
        number
        for number, point in points.items()
        if point > 0 and (point == best or point >= CALLED or _shape(number) in shapes)
    }


def _likely(number: str, before: str) -> int:
    """How likely a number is a parcel's: by the last word before it that tells, its check digit and its letters."""
    said = [(match.start(), kind) for kind, words in NUMBERS.items() for match in pattern(words).finditer(before)]
    called = max(said, default=(0, ""))[1]
    plain = number.replace(" ", "").upper()
    of_shape = len(plain) >= SHORTEST and not plain.isdecimal() and plain[:1].isalpha()
    return {"parcel": 2, "other": -CALLED, "": 0}[called] + of_shape + (of_shape and any(checked(plain).values()))


def _shape(number: str) -> str:
    return re.sub(r"[A-Z]", "A", re.sub(r"\d", "9", number.replace(" ", "").upper()))


def _mentions(text: str, numbers: Collection[str]) -> Iterator[tuple[str, str]]:
    """The parts of a text, each from the parcel's number it mentions on; the first may mention none."""
    found = [match for match in CODE.finditer(text) if match["number"] in numbers]
    starts = [0, *(match.start() for match in found[1:])] if found else [0]
    mentioned = [match["number"] for match in found] or [""]
    for start, end, number in zip(starts, [*starts[1:], len(text)], mentioned, strict=True):
        yield text[start:end].replace(number, " … ") if number else text[start:end], number


def _fill_from_words(file: str, block: Block) -> Iterator[Problem]:
    """Put what sentences and other labels say where no known label gave it."""
    found = list(figures_of(block.words))
    paid = adjustment(found)
    reason = REASON.search(" ".join(block.words))
    measures = list(sizes_and_weights(found))
    if is_turned(measures) and not (paid and paid.text.startswith("-")):
        message = (
            "This letter seems to say that less was measured than was declared, which is charged by nobody, so it was "
            "probably misunderstood: its sizes and weights were left out. Look at the letter."
        )
        yield Problem(file, block.place, message)
        measures = []
    new = [one for one in (*measures, *([paid] if paid else [])) if not _is_given(block, one.name)]
    block.said |= {one.name: (Heading(one.name.replace("_", " ")), one.text) for one in new}
    guessed = ", ".join(
        f"{shown(one.text)} for the {vocabulary.called(one.name, 'notice')} ({one.told})" for one in new if one.told
    )
    if guessed:
        message = f"No word says whose these figures are. Taken were {guessed}. Look whether that is right."
        yield Problem(file, block.place, message, note=True)
    if reason and "reason" not in block.said:
        block.said["reason"] = Heading("reason"), reason[1].strip()
    amounts = list(dict.fromkeys(one.text for one in found if one.kind == "amount"))
    if amounts and "amount_cents" not in block.said:
        message = f"Which amount is the adjustment could not be told ({', '.join(amounts[:5])}), so none was taken."
        yield Problem(file, block.place, message, note=True)


def _is_given(block: Block, name: str) -> bool:
    """Whether a figure is there already; a size is also where a side of it is, and a side where the size is."""
    size, sides = f"{name.partition('_')[0]}_size", f"{name.partition('_')[0]}_"
    if name == size:
        return any(one == size or (one.startswith(sides) and one.endswith("_nm")) for one in block.said)
    return name in block.said or (name.endswith("_nm") and size in block.said)


def _sheet(file: str, blocks: list[Block]) -> Sheet:
    headings = {name: heading for block in blocks for name, (heading, _) in block.said.items()}
    texts = [{name: text for name, (_, text) in block.said.items()} for block in blocks]
    places = pd.Series([block.place for block in blocks], dtype="str")
    cells = pd.DataFrame(texts, columns=list(headings), dtype=object).fillna("")
    return Sheet(file, "notice", cells, headings, places, cells["tracking"])


def has_figures(notices: pd.DataFrame) -> pd.Series:
    """For each notice whether it has a size, a weight or an amount."""
    return notices[FIGURES].notna().any(axis=1)


def _without_figures(notices: pd.DataFrame) -> Iterator[Problem]:
    there = has_figures(notices)
    for _, row in notices[~there].iterrows() if not there.all() else ():
        message = f"This notice about parcel {row['tracking']} has no figures in it: no size, weight or amount."
        yield Problem(row["source_file"], row["source_place"], message, note=True)
