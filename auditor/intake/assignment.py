"""The columns that no name tells → the fields left over, by one assignment over the likeness of headings and values."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice, pairwise

import numpy as np

from auditor.intake import evidence, money_columns, vocabulary
from auditor.intake.best_pairs import best_pairs
from auditor.intake.headings import SIDE_FIELDS, CloseCall, Fit, Heading, Meaning, with_charges
from auditor.intake.words import canonical, tokens

LEAST = 0.55
"""The least score by which a column is taken for a field."""
CLOSE = 0.1
"""Two scores nearer than this are a close call."""
SAMPLES = 3
ROWS = 2_000
WORDY = 0.8
"""The share of words in a column of charges, and of parcels whose rows differ in it."""


def completed(fit: Fit) -> Fit:
    """The fit with the columns left over given to the fields left over, where that scores well."""
    fit, apart = _with_debits(fit)
    fields = _free_fields(fit)
    taken = {position for position, _ in fit.columns.values()} | {*fit.charges, *fit.skipped, *apart}
    positions = [at for at in range(len(fit.head.texts)) if at not in taken]
    closed = _closed(fit)
    scores = [[0.0 if one in closed.get(at, ()) else score_of(fit, at, one) for one in fields] for at in positions]
    if fit.kind == "statement":
        scores = _by_parcels(fit, positions, fields, scores)
    if not any(score >= LEAST for row in scores for score in row):
        return _with_charges_column(fit)
    chosen = _assignment(scores)
    columns, found = dict(fit.columns), dict(fit.scores)
    for row, column in chosen:
        at, one = positions[row], fields[column]
        unit = vocabulary.likeness(fit.head.texts[at], fit.kind).get(one, (0.0, None))[1]
        unit = unit or vocabulary.unit_named(fit.head.texts[at], one)
        columns[one], found[one] = (at, Heading(fit.head.texts[at], unit)), scores[row][column]
    whole = replace(fit, columns=columns, scores=found)
    whole = replace(whole, close_calls=tuple(_close_calls(whole, positions, fields, scores, chosen)))
    return _with_charges_column(whole if fit.charges else with_charges(whole))


MAY_BE_NUMBERED = ("order", "tracking")
"""Fields of which a table may have several, of which the first is meant: 'Reference 1', 'Reference 2'."""
NUMBER = re.compile(r"\d+")


def _closed(fit: Fit) -> dict[int, set[str]]:
    """The fields that columns are not for, whatever they look like.

    Headings alike but for their numbers, as 'Item 1' and 'Item 2', are of several things, and none is a parcel's one.
    A letter is a side only by name (see `headings.by_names`).
    """
    texts, fields = fit.head.texts, {*vocabulary.HEADINGS[fit.kind]}
    plain = [" ".join(NUMBER.sub(" ", text).split()) if NUMBER.search(text) else "" for text in texts]
    numbered = {at for at, text in enumerate(plain) if text and plain.count(text) > 1}
    letters = {at for at, text in enumerate(texts) if len(text.strip()) == 1}
    sides = {one for one in fields if one.endswith(SIDE_FIELDS)}
    return dict.fromkeys(letters, sides) | {at: fields - {*MAY_BE_NUMBERED} for at in numbered}


def _with_debits(fit: Fit) -> tuple[Fit, set[int]]:
    """The fit of a statement with its amounts in the column of debits, and the columns read beside it or not at all."""
    if fit.kind != "statement":
        return fit, set()
    total = money_columns.total_on_each_row(fit.head)
    apart = set() if total is None else {total}
    pair = money_columns.debit_and_credit(fit.head)
    if pair is None or fit.columns.get("amount_cents", pair)[0] != pair[0]:
        return fit, apart
    debits = pair[0], Heading(fit.head.texts[pair[0]])
    return replace(fit, columns={**fit.columns, "amount_cents": debits}), {*apart, pair[1]}


AUDITED = {"audited", "audit", "corrected", "verified", "adjusted", "rerated"}
"""What the weight is called that a carrier bills by after it looked."""


def audited_as_billed(fit: Fit) -> Fit:
    """The fit of a statement with the audited weight as the billed one, where no other is billed by."""
    read = fit.columns.get("measured_weight_pg")
    if fit.kind != "statement" or read is None or "billed_weight_pg" in fit.columns:
        return fit
    if not AUDITED & {*tokens(read[1].text)}:
        return fit

    def renamed(name: str) -> str:
        return "billed_weight_pg" if name == "measured_weight_pg" else name

    columns = {renamed(name): column for name, column in fit.columns.items()}
    return replace(fit, columns=columns, scores={renamed(name): score for name, score in fit.scores.items()})


def _with_charges_column(fit: Fit) -> Fit:
    """The fit of a statement with its charges in the one column left whose words differ from row to row of a parcel.

    What a parcel is, was and weighs is the same on each of its rows; what is charged for it is not.
    """
    if fit.kind != "statement" or fit.missing != ("description",):
        return fit
    number, amount = (fit.columns[one][0] for one in ("tracking", "amount_cents"))
    taken = {position for position, _ in fit.columns.values()} | {*fit.skipped}
    rows = list(islice(fit.head.grid.rows, fit.head.row + 1, fit.head.row + 1 + ROWS))
    rows = [row for row in rows if len(row) == len(fit.head.texts) and row[amount].strip()]
    found = {
        at: _differing([row[number] for row in rows], [row[at].strip() for row in rows])
        for at, text in enumerate(fit.head.texts)
        if text and at not in taken and fit.head.values(at).share("words") >= WORDY
    }
    best = max(found, key=lambda at: found[at], default=None)
    if best is None or found[best] < WORDY:
        return fit
    columns = {**fit.columns, "description": (best, Heading(fit.head.texts[best]))}
    return replace(fit, columns=columns, scores={**fit.scores, "description": LEAST})


def _differing(numbers: Sequence[str], texts: Sequence[str]) -> float:
    """The share of parcels of several rows, among all such, of which every row has a text and no two the same."""
    of: dict[str, list[str]] = {}
    last = ""
    for number, text in zip(numbers, texts, strict=True):
        last = number.strip() or last
        of.setdefault(last, []).append(text)
    several = [them for them in of.values() if len(them) > 1]
    return sum(all(them) and len({*them}) == len(them) for them in several) / len(several) if several else 0.0


def _free_fields(fit: Fit) -> list[str]:
    """Fields without a column; a size in one text leaves no room for three sides, and three sides none for a size."""
    known = fit.columns
    closed = {"description", "amount_cents"} if fit.charges else set()
    for prefix in ("", "billed_", "declared_", "measured_", "packed_"):
        sides = {f"{prefix}{side}" for side in SIDE_FIELDS}
        closed |= sides if f"{prefix}size" in known else set()
        closed |= {f"{prefix}size"} if sides & known.keys() else set()
    return [one for one in vocabulary.HEADINGS[fit.kind] if one not in known and one not in closed]


def score_of(fit: Fit, position: int, name: str) -> float:
    """How well a column serves as a field: the likeness of its heading, weighed by what its values look like."""
    heading = fit.head.texts[position]
    like = vocabulary.likeness(heading, fit.kind).get(name, (0.0, None))[0]
    told_by_values = name in {*vocabulary.NEEDED[fit.kind], "billed_size"} or (
        (fit.kind, name) == ("statement", "shipped_on") and not OTHER_DAYS & {*canonical(heading)}
    )
    said = canonical(heading)
    if (not like and not told_by_values) or (name.startswith("billed_") and "declared" in said):
        return 0.0
    if name == "voided" and "void" not in said:
        return 0.0
    column = fit.head.values(position)
    told = evidence.tells(name, fit.kind, column) if told_by_values else 0.0
    if not like:
        return told
    return max(like * (0.3 + 0.7 * evidence.fits(name, fit.kind, column)), told)


OTHER_DAYS = {"delivery", "statement", "billed", "measured", "paid", "due", "void", "correction", "credit"}
"""What days are of that are not the parcel's own."""
SIDES = tuple(f"billed_{one}" for one in SIDE_FIELDS)
OF_PARCEL = {"shipped_on", "service", "zone", "order", "billed_weight_pg", "billed_size", *SIDES}
"""What is the same on all lines of a parcel."""
ROWS, PARCELS = 400, 5
"""So many rows are looked at for that, and so many parcels are too few to tell by."""
MOSTLY = 0.9
VARIES, SHARED = 0.6, 0.8
"""What a score is worth of a column that varies among the lines of a parcel, or has one amount for all; and of orders
that many parcels share."""


def _by_parcels(
    fit: Fit, positions: Sequence[int], fields: Sequence[str], scores: Sequence[Sequence[float]]
) -> list[list[float]]:
    """The scores, less where what should be one parcel's own varies from line to line, or is many parcels'."""
    number = _tracking_at(fit, positions, fields, scores)
    if number is None:
        return [list(row) for row in scores]
    rows = [row for row in fit.head.grid.rows[fit.head.row + 1 : fit.head.row + 1 + ROWS] if len(row) > number]
    pairs = [(one, other) for one, other in pairwise(rows) if one[number] and one[number] == other[number]]
    parcels = {row[number] for row in rows if row[number]}
    worth = []
    for at, row in zip(positions, scores, strict=True):
        alike = sum(other[at : at + 1] in (one[at : at + 1], [""]) for one, other in pairs)
        different = len({one[at] for one in rows if len(one) > at})
        less = dict.fromkeys(OF_PARCEL, VARIES if alike < MOSTLY * len(pairs) else 1.0)
        if len(parcels) > PARCELS:
            less["order"] *= SHARED if different < len(parcels) / 2 else 1.0
            less["amount_cents"] = VARIES if different == 1 else 1.0
        worth.append([score * less.get(name, 1.0) for name, score in zip(fields, row, strict=True)])
    return worth


def _tracking_at(
    fit: Fit, positions: Sequence[int], fields: Sequence[str], scores: Sequence[Sequence[float]]
) -> int | None:
    """The column of parcels' numbers: the known one, or the likeliest."""
    if "tracking" in fit.columns:
        return fit.columns["tracking"][0]
    if "tracking" not in fields or not positions:
        return None
    column = fields.index("tracking")
    best = max(range(len(positions)), key=lambda row: scores[row][column])
    return positions[best] if scores[best][column] >= LEAST else None


def _assignment(scores: Sequence[Sequence[float]]) -> list[tuple[int, int]]:
    """Rows and columns of the assignment with the greatest sum, without those that score too little."""
    table = np.array(scores)
    table[table < LEAST] = 0.0
    return [(row, column) for row, column in best_pairs(table) if table[row, column] > 0]


def _close_calls(
    fit: Fit,
    positions: Sequence[int],
    fields: Sequence[str],
    scores: Sequence[Sequence[float]],
    chosen: Sequence[tuple[int, int]],
) -> Iterator[CloseCall]:
    """Columns that were taken for one thing and might nearly as well be another that no column was taken for."""
    taken_fields, taken_rows = {column for _, column in chosen}, {row for row, _ in chosen}

    def meant(row: int, column: int) -> tuple[int, str, float]:
        return positions[row], fields[column], scores[row][column]

    for row, column in chosen:
        least = max(LEAST, scores[row][column] - CLOSE)
        others = [(row, other) for other in range(len(fields)) if other not in taken_fields]
        others += [(other, column) for other in range(len(positions)) if other not in taken_rows]
        for other in others:
            if scores[other[0]][other[1]] >= least:
                yield _close_call(fit, meant(row, column), meant(*other))


def _close_call(fit: Fit, taken: tuple[int, str, float], other: tuple[int, str, float]) -> CloseCall:
    texts = fit.head.texts
    without = {name: column for name, column in fit.columns.items() if name != taken[1]}
    instead = replace(fit, columns={**without, other[1]: (other[0], Heading(texts[other[0]]))})
    told_apart = all(texts.count(texts[at]) == 1 for at in (taken[0], other[0]))
    one, another = (
        Meaning(texts[at], name, score, fit.head.values(at).texts[:SAMPLES]) for at, name, score in (taken, other)
    )
    return CloseCall("", fit.kind, texts, one, another, open=told_apart and not instead.missing)
