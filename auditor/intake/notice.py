"""A letter → a notice for each parcel's number in it, from 'Label: value' lines and from sentences.

Known labels are told by likeness, as headings of tables are; what other lines and sentences say is told by
letter_figures.py.
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
from auditor.intake.letter_figures import adjustment, figures, sizes_and_weights
from auditor.intake.letter_text import Unit, carriers_own, units
from auditor.intake.letter_words import GROUPED, OTHER_NUMBERS, pattern
from auditor.intake.recognise import Sheet
from auditor.intake.tidy import complete, shown, tidied
from auditor.tables import NOTICES, Problem, conform

FIGURES = ["declared_length_nm", "declared_weight_pg", "read_length_nm", "read_weight_pg", "amount_cents"]
SURE = 0.9
"""So like a name of a field must a label be."""
LONGEST_LABEL = 60
LONGEST_REASON = 200

PARCEL = re.compile(
    r"\b(?:tracking|parcel|package|shipment|consignment|label|waybill|barcode|sendung\w*|paket\w*|colis|suivi|envío|guía|"
    r"paquete|pacco|spedizione|zending\w*|pakket\w*)\W{0,3}"
    r"(?:(?:with|under|tracking|number|numbered|no|nr|id|n°|nº|numéro|número|numero|nummer|de)\W{1,3}){0,4}"
    rf"(?P<number>{GROUPED}|[A-Z0-9](?:[A-Z0-9-]{{6,38}})[A-Z0-9])\b",
    re.IGNORECASE,
)
CODE = re.compile(rf"(?<![\w-])(?P<number>{GROUPED}|(?=(?:[A-Z]*\d){{8}})[A-Z0-9]{{10,40}})(?![\w-])")
"""What is a parcel's number in a letter that calls none so."""
BEFORE = 25
"""So many letters before a number are looked at for what it is."""
REASON = re.compile(r"\b(?:because|due to|as the|the reason (?:is|was)(?: that)?)\s+([^.;!?]{5,200})", re.IGNORECASE)


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
    numbers = PARCEL if any(_labelled_number(one.text) or _numbers(one.text, PARCEL) for one in units) else CODE
    for unit in units:
        place = ", ".join(filter(None, (part, f"line {unit.line}")))
        labelled = _labelled(unit.text)
        if labelled and labelled[0] != "tracking":
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
    if name == "tracking" and value.strip() and not any(map(str.isdigit, value)):
        return None
    return name, Heading(label), f"{value.strip()} {like[name][1] or ''}".strip()


def _labelled_number(text: str) -> str | None:
    """The parcel's number in 'Tracking number: …'; the first word of several that may each be one."""
    labelled = _labelled(text)
    if not labelled or labelled[0] != "tracking":
        return None
    value = labelled[2]
    first, *more = value.split(" ", 1)
    alone = more and is_code(first) and not re.fullmatch(GROUPED, value)
    return first if alone else value


def _numbers(text: str, by: re.Pattern[str]) -> list[re.Match[str]]:
    """The parcels' numbers in a text; none right behind a word for another number."""
    found = [match for match in by.finditer(text) if is_code(match["number"])]
    return found if by is PARCEL else [match for match in found if not _is_other(text[: match.start()])]


def _is_other(before: str) -> bool:
    return bool(pattern(OTHER_NUMBERS).search(before[-BEFORE:]))


def _mentions(text: str, by: re.Pattern[str]) -> Iterator[tuple[str, str]]:
    """The parts of a text, each from the parcel's number it mentions on; the first may mention none."""
    if number := _labelled_number(text):
        yield "", number
        return
    found = _numbers(text, by)
    starts = [0, *(match.start() for match in found[1:])] if found else [0]
    numbers = [match["number"] for match in found] or [""]
    for start, end, number in zip(starts, [*starts[1:], len(text)], numbers, strict=True):
        yield text[start:end], number


def _fill_from_words(file: str, block: Block) -> Iterator[Problem]:
    """Put what sentences and other labels say where no known label gave it."""
    found = [figure for text in block.words for figure in figures(text)]
    paid = adjustment(found)
    reason = REASON.search(" ".join(block.words))
    new = [one for one in (*sizes_and_weights(found), *([paid] if paid else [])) if not _is_given(block, one.name)]
    block.said |= {one.name: (Heading(one.name.replace("_", " ")), one.text) for one in new}
    guessed = ", ".join(
        f"{shown(one.text)} for the {vocabulary.called(one.name, 'notice')} ({one.told})" for one in new if one.told
    )
    if guessed:
        message = f"No word says whose these figures are. Taken were {guessed}. Look whether that is right."
        yield Problem(file, block.place, message, note=True)
    if reason and "reason" not in block.said:
        block.said["reason"] = Heading("reason"), reason[1].strip()[:LONGEST_REASON]
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
    for _, row in notices[~has_figures(notices)].iterrows():
        message = f"This notice about parcel {row['tracking']} has no figures in it: no size, weight or amount."
        yield Problem(row["source_file"], row["source_place"], message, note=True)
