"""A letter of 'Label: value' lines → a notice for each tracking number in it."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from auditor.intake import vocabulary
from auditor.intake.documents import Letter, Unreadable
from auditor.intake.recognise import Heading, Sheet
from auditor.intake.tidy import complete, shown, tidied
from auditor.tables import NOTICES, Problem, conform

FIGURES = ["declared_length_nm", "declared_weight_pg", "read_length_nm", "read_weight_pg", "amount_cents"]

Block = dict[str, tuple[Heading, str]]


def read(file: str, letter: Letter) -> tuple[pd.DataFrame, list[Problem]]:
    """The notices of a letter (NOTICES).

    Raises:
        Unreadable: no line of it gives a tracking number.
    """
    problems: list[Problem] = []
    blocks = list(_blocks(file, letter.text, problems))
    if not blocks:
        raise Unreadable(
            "This letter has no line such as 'Tracking number: …', so what it is about could not be told. If it is a "
            "notice, write its figures into lines of that kind; otherwise leave it out."
        )
    sheet = _sheet(file, blocks)
    frame, faults = tidied(sheet)
    frame, gaps = complete(frame, sheet)
    frame["noticed_on"] = pd.Timestamp(letter.written_on) if letter.written_on else pd.NaT
    problems += [*faults, *gaps, *_without_figures(frame)]
    return conform(frame, NOTICES), problems


def _blocks(file: str, text: str, problems: list[Problem]) -> Iterator[tuple[str, Block]]:
    """The place and the labelled values of each notice, which begins with its tracking number."""
    block: Block | None = None
    for number, line in enumerate(text.splitlines(), start=1):
        label, colon, value = line.partition(":")
        found = vocabulary.meaning(label, "notice") if colon else None
        if not found:
            continue
        field, unit = found
        if field == "tracking":
            block = {}
            yield f"line {number}", block
        if block is None:
            continue
        if field in block:
            message = f"{shown(line.strip())} was not read: the same was said before about this parcel."
            problems.append(Problem(file, f"line {number}", message))
        else:
            block[field] = Heading(label.strip()), f"{value.strip()} {unit or ''}".strip()


def _sheet(file: str, blocks: list[tuple[str, Block]]) -> Sheet:
    headings = {field: heading for _, block in blocks for field, (heading, _) in block.items()}
    texts = [{field: text for field, (_, text) in block.items()} for _, block in blocks]
    places = pd.Series([place for place, _ in blocks], dtype="str")
    cells = pd.DataFrame(texts, columns=list(headings), dtype=object).fillna("")
    return Sheet(file, "notice", cells, headings, places, cells["tracking"])


def _without_figures(notices: pd.DataFrame) -> Iterator[Problem]:
    for _, row in notices[notices[FIGURES].isna().all(axis=1)].iterrows():
        message = f"This notice about parcel {row['tracking']} has no figures in it: no size, weight or amount."
        yield Problem(row["source_file"], row["source_place"], message, note=True)
