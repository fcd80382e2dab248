"""A letter → a notice for each tracking number in it, from 'Label: value' lines and from sentences.

Labels are told by likeness, as headings of tables are. In sentences a figure belongs to the word nearest before it that
says whose it is: "You entered 48 x 20 x 8 in; our scanner read 48.2 x 20 x 8 in".
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import pandas as pd

from auditor.intake import vocabulary
from auditor.intake.documents import Letter, Unreadable
from auditor.intake.evidence import is_code
from auditor.intake.headings import Heading
from auditor.intake.recognise import Sheet
from auditor.intake.tidy import complete, shown, tidied
from auditor.intake.words import canonical
from auditor.tables import NOTICES, Problem, conform

FIGURES = ["declared_length_nm", "declared_weight_pg", "read_length_nm", "read_weight_pg", "amount_cents"]
SURE = 0.9
"""So like a name of a field must a label be."""
LONGEST_LABEL, LONGEST_TEXT = 60, 2_000_000
LONGEST_REASON = 200

NUMBER = r"\d+(?:[.,]\d+)?(?:[ -]\d+/\d+)?"
LENGTH_UNIT = r"(?:\s*(?:in(?:ch(?:es)?)?\.?|cm|mm|[\"″”]))?"
TIMES = r"\s*(?:[x×*]|by)\s*"
LAST_UNIT = r"(?:\s*(?:in(?:ch(?:es)?)?\b\.?|cm\b|mm\b|[\"″”]))?"
SIZE = rf"{NUMBER}{LENGTH_UNIT}{TIMES}{NUMBER}{LENGTH_UNIT}{TIMES}{NUMBER}{LAST_UNIT}"
WEIGHT = rf"{NUMBER}\s*(?:lbs?|pounds?|kgs?|kilograms?|oz|ounces?)\b(?:\s*{NUMBER}\s*(?:oz|ounces?)\b)?"
MONEY = r"(?:US\s?)?\$\s?\d[\d,]*(?:\.\d{2})?|\d[\d,]*\.\d{2}\s?(?:USD|dollars)"
FIGURE = re.compile(rf"(?P<size>{SIZE})|(?P<weight>{WEIGHT})|(?P<amount>{MONEY})", re.IGNORECASE)
PARCEL = re.compile(
    r"\b(?:tracking|parcel|package|shipment|consignment|label|waybill|barcode|sendung\w*|paket\w*|colis|suivi|envío|guía|"
    r"paquete|pacco|spedizione|zending\w*|pakket\w*)\W{0,3}"
    r"(?:(?:with|under|tracking|number|numbered|no|nr|id|n°|nº|numéro|número|numero|nummer|de)\W{1,3}){0,4}"
    r"(?P<number>[A-Z0-9](?:[A-Z0-9-]{6,38})[A-Z0-9])\b",
    re.IGNORECASE,
)
REASON = re.compile(r"\b(?:because|due to|as the|the reason (?:is|was)(?: that)?)\s+([^.;!?]{5,200})", re.IGNORECASE)
OF_ADJUSTMENT = {"adjustment", "correction", "difference", "additional"}
WHOSE = {"declared": "declared", "measured": "read"}


@dataclass
class Block:
    """What is said about one parcel: field → label and value, where its number stands, and the sentences about it."""

    place: str
    said: dict[str, tuple[Heading, str]]
    sentences: list[str] = field(default_factory=list)


def read(file: str, letter: Letter) -> tuple[pd.DataFrame, list[Problem]]:
    """The notices of a letter (NOTICES).

    Raises:
        Unreadable: nothing in it gives a tracking number.
    """
    problems: list[Problem] = []
    blocks = list(_blocks(file, letter, problems))
    if not blocks:
        raise Unreadable(
            "This letter has no line such as 'Tracking number: …', so what it is about could not be told. If it is a "
            "notice, write its figures into lines of that kind; otherwise leave it out."
        )
    for block in blocks:
        _fill_from_sentences(block)
    sheet = _sheet(file, blocks)
    frame, faults = tidied(sheet)
    frame, gaps = complete(frame, sheet)
    frame["noticed_on"] = pd.Timestamp(letter.written_on) if letter.written_on else pd.NaT
    problems += [*faults, *gaps, *_without_figures(frame)]
    return conform(frame, NOTICES), problems


def _blocks(file: str, letter: Letter, problems: list[Problem]) -> list[Block]:
    """The labelled values and the sentences of each notice, which begins with its tracking number.

    What is said before the first number belongs to it where there is only one.
    """
    blocks: list[Block] = []
    before = Block("", {})
    for number, line in enumerate(letter.text[:LONGEST_TEXT].splitlines(), start=1):
        place = ", ".join(filter(None, (letter.part, f"line {number}")))
        current = blocks[-1] if blocks else before
        if labelled := _labelled(line):
            name, heading, value = labelled
            if name == "tracking":
                if not _said_before(blocks, value):
                    blocks.append(Block(place, {name: (heading, value)}))
            elif name in current.said:
                message = f"{shown(line.strip())} was not read: the same was said before about this parcel."
                problems.append(Problem(file, place, message))
            else:
                current.said[name] = heading, value
            continue
        for text, mentioned in _mentions(line):
            if mentioned and not _said_before(blocks, mentioned):
                blocks.append(Block(place, {"tracking": (Heading("tracking number"), mentioned)}))
            (blocks[-1] if blocks else before).sentences.append(text)
    if len(blocks) == 1:
        [only] = blocks
        only.said = {**before.said, **only.said}
        only.sentences = [*before.sentences, *only.sentences]
    return blocks


def _said_before(blocks: Sequence[Block], number: str) -> bool:
    """Whether the last block is about that parcel already."""
    return bool(blocks) and bool(number) and blocks[-1].said["tracking"][1] == number


def _labelled(line: str) -> tuple[str, Heading, str] | None:
    """The field, label and value of a line 'Label: value', if the label is known."""
    label, colon, value = line.partition(":")
    text = label.strip(" \t*•·-–|>")
    if not colon or not text or len(text) > LONGEST_LABEL:
        return None
    like = vocabulary.likeness(text, "notice")
    name = max(like, key=lambda one: like[one][0], default=None)
    if name is None or like[name][0] < SURE:
        return None
    if name == "tracking" and value.strip() and not any(map(str.isdigit, value)):
        return None
    return name, Heading(text), f"{value.strip()} {like[name][1] or ''}".strip()


def _mentions(line: str) -> Iterator[tuple[str, str]]:
    """The parts of a line, each from the parcel's number it mentions on; the first may mention none."""
    found = [match for match in PARCEL.finditer(line) if is_code(match["number"])]
    starts = [0, *(match.start() for match in found[1:])] if found else [0]
    numbers = [match["number"] for match in found] or [""]
    for start, end, number in zip(starts, [*starts[1:], len(line)], numbers, strict=True):
        yield line[start:end], number


def _fill_from_sentences(block: Block) -> None:
    """Put the figures of the sentences where no label gave them."""
    text = " ".join(" ".join(block.sentences).split())
    for name, value in (*_figures(text), *_reason(text)):
        if name == "amount_cents" and name in block.said:
            continue
        if not _is_given(block, name):
            block.said[name] = Heading(name.replace("_", " ")), value


def _is_given(block: Block, name: str) -> bool:
    """Whether a figure, or the side of a size, is there already."""
    prefix = name.removesuffix("size")
    return name in block.said or (prefix != name and f"{prefix}length_nm" in block.said)


def _figures(text: str) -> Iterator[tuple[str, str]]:
    """The figures of sentences with their fields; of several amounts, the first that is called an adjustment."""
    amounts: list[tuple[bool, str]] = []
    last_end = 0
    found = list(FIGURE.finditer(text))
    for place, match in enumerate(found):
        before = text[last_end : match.start()]
        after = text[match.end() : found[place + 1].start() if place + 1 < len(found) else len(text)]
        last_end = match.end()
        kind = str(match.lastgroup)
        if kind == "amount":
            amounts.append((not OF_ADJUSTMENT.isdisjoint(canonical(before)), match[0]))
        elif whose := _whose(before, after):
            yield f"{whose}_{'size' if kind == 'size' else 'weight_pg'}", match[0].rstrip(".")
    if amounts:
        yield "amount_cents", max(amounts, key=lambda one: one[0])[1]


def _whose(before: str, after: str) -> str | None:
    """Who says a figure: the last word before it that tells, otherwise the first after it within its sentence."""
    told = [WHOSE[word] for word in _each_word(before) if word in WHOSE]
    if told:
        return told[-1]
    rest = re.split(r"[.;!?](?:\s|$)", after)[0]
    return next((WHOSE[word] for word in _each_word(rest) if word in WHOSE), None)


def _each_word(text: str) -> Iterator[str]:
    return (one for word in text.split() for one in canonical(word))


def _reason(text: str) -> Iterator[tuple[str, str]]:
    if found := REASON.search(text):
        yield "reason", found[1].strip()[:LONGEST_REASON]


def _sheet(file: str, blocks: list[Block]) -> Sheet:
    headings = {name: heading for block in blocks for name, (heading, _) in block.said.items()}
    texts = [{name: text for name, (_, text) in block.said.items()} for block in blocks]
    places = pd.Series([block.place for block in blocks], dtype="str")
    cells = pd.DataFrame(texts, columns=list(headings), dtype=object).fillna("")
    return Sheet(file, "notice", cells, headings, places, cells["tracking"])


def _without_figures(notices: pd.DataFrame) -> Iterator[Problem]:
    for _, row in notices[notices[FIGURES].isna().all(axis=1)].iterrows():
        message = f"This notice about parcel {row['tracking']} has no figures in it: no size, weight or amount."
        yield Problem(row["source_file"], row["source_place"], message, note=True)
