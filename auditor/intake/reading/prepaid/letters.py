"""Letters → tables: what is said about each parcel is a row, its labels, or the words before a figure, the headings."""

from __future__ import annotations

from collections.abc import Iterator

from auditor.intake.documents import Grid, Letter
from auditor.intake.letter_figures import FIGURE
from auditor.intake.letter_text import carriers_own, units
from auditor.intake.reading.cells import TOKEN
from auditor.intake.reading.known import Known, bare

MOST_LINES = 5_000
WORDS_BEFORE = 4
NUMBER = "number"
Cells = tuple[tuple[str, str], ...]
"""Headings with their texts."""


def tables(letter: Grid, known: Known) -> list[Grid]:
    """A letter, line by line, as tables of what it says of each of the shop's parcels; those of one form together."""
    if len(letter.rows) > MOST_LINES:
        return []
    found: dict[tuple[str, ...], list[tuple[Cells, str]]] = {}
    for cells, place in _blocks(letter, known):
        found.setdefault(tuple(heading for heading, _ in cells), []).append((cells, place))
    return [
        Grid(
            [list(heads), *([text for _, text in cells] for cells, _ in them)],
            [them[0][1], *(place for _, place in them)],
            part=letter.part,
        )
        for heads, them in found.items()
    ]


def _blocks(letter: Grid, known: Known) -> Iterator[tuple[Cells, str]]:
    """What is said of each parcel, from its number on; what stands before the only number is said of it too."""
    text, _ = carriers_own(Letter("\n".join(row[0] if row else "" for row in letter.rows)))
    before: list[tuple[str, str]] = []
    blocks: list[tuple[str, list[tuple[str, str]]]] = []
    numbers: list[str] = []
    for unit in units(text):
        number = _number_in(unit.text, known)
        if number and (not numbers or number != numbers[-1]):
            numbers.append(number)
            blocks.append((f"line {unit.line}", [(NUMBER, number)]))
        said = [pair for pair in _said(unit.text) if bare(pair[1]) != bare(number or "-")]
        (blocks[-1][1] if blocks else before).extend(said)
    for place, cells in blocks:
        whole = [cells[0], *(before if len(blocks) == 1 else ()), *cells[1:]]
        yield tuple(_apart(whole)), ", ".join(filter(None, (letter.part, place)))


def _number_in(text: str, known: Known) -> str | None:
    """The number of the one parcel of the shop that a text mentions."""
    words = [text.partition(":")[2].strip(), *TOKEN.findall(text)]
    found = {bare(word): word for word in words if bare(word) in known.numbers}
    return next(iter(found.values())) if len(found) == 1 else None


def _said(text: str) -> Iterator[tuple[str, str]]:
    """A label with its value, or each figure of a sentence with the words before it."""
    label, colon, value = text.partition(": ")
    found = list(FIGURE.finditer(text))
    if colon and len(found) <= 1 and value.strip():
        yield label.strip(), value.strip()
        return
    end = 0
    for one in found:
        yield " ".join(text[end : one.start()].split()[-WORDS_BEFORE:]), one[0].strip()
        end = one.end()


def _apart(cells: list[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """The same with no heading twice, and none of figures, which would be no heading."""
    seen: dict[str, int] = {}
    for heading, text in cells:
        words = " ".join(word for word in heading.split() if not any(map(str.isdigit, word))) or "said"
        seen[words] = seen.get(words, 0) + 1
        yield f"{words} {'again ' * (seen[words] - 1)}".strip(), text
