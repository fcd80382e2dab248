"""Which kind of table a grid is, where its headings stand, and which column means what.

Headings that are names of the vocabulary decide; the columns left over, or all of them where the names do not make a
whole table, are given to the fields left by one assignment over the likeness of headings and the look of values. A
saved reading of the same headings (readings.py) comes before both.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import reduce
from itertools import takewhile

import numpy as np
import numpy.typing as npt
import pandas as pd
from rapidfuzz import fuzz, process

from auditor.core import units
from auditor.core.schemas import Problem
from auditor.intake import covers, money_columns, typed_records, vocabulary, words
from auditor.intake.assignment import LEAST, audited_as_billed, completed, score_of
from auditor.intake.by_column import Columns, RowNumbers
from auditor.intake.cells_apart import apart
from auditor.intake.charges_apart import with_charges_apart
from auditor.intake.documents import Grid, Unreadable
from auditor.intake.evidence import CENTS
from auditor.intake.group_names import said
from auditor.intake.headings import (
    FIRST_ROWS,
    LIKE,
    MOST_COLUMNS,
    SIDE_FIELDS,
    CloseCall,
    Fit,
    Head,
    Heading,
    absent_sides,
    by_names,
    heads,
    is_measure,
    is_too_wide,
    lists_charges,
    may_be_headings,
)
from auditor.intake.labelled_cells import with_labels_apart
from auditor.intake.readings import CHARGE, NOT_READ, Meant, Reading, fits, meaning_of
from auditor.intake.texts import distinct, first_filled
from auditor.intake.uneven import has_odd_rows, is_rearranged

FIGURES = re.compile(r"\d+")
NEAR = 75.0
"""How alike two spellings are, of 100, for the one to be suggested for the other."""
SHOWN_HEADINGS = 20
_Below = tuple[npt.NDArray[np.int64], pd.Series, Callable[[int], pd.Series]]
"""Numbers of the rows below the headings, each one's first text, and the texts of the column at a position."""


@dataclass(frozen=True)
class Column:
    """What one column was taken for: a field, or "charge" or "sum" in a table with a column a charge.

    `score` runs from 0 to 1; `field` is None for what was not read, and `why` then says so; `left_out` is true where a
    reading says that it is not to be.
    """

    heading: str
    field: str | None
    score: float
    samples: tuple[str, ...]
    why: str = ""
    left_out: bool = False


@dataclass(frozen=True)
class Sheet:
    """A recognised table: for each field that has a column, its texts and its heading.

    `cells` (a column a field, stripped), `places` and `leads` (the first text of each row, whatever its column) have
    the same index; blank rows and repeated headings are gone. `charges` and `sums` have the texts of columns that hold
    one charge each, or sums of a row, where the table is of that arrangement. `totals` has the texts of a column that
    repeats the statement's total on each of its rows; it is empty where there is none. `columns` tells of every column.
    `grid` is what it was recognised in, `close_calls` are columns that could mean two things; `told` where the user
    said what columns are.
    """

    file: str
    kind: str
    cells: pd.DataFrame
    headings: Mapping[str, Heading]
    places: pd.Series
    leads: pd.Series
    above: tuple[str, ...] = ()
    charges: pd.DataFrame = field(default_factory=pd.DataFrame)
    sums: pd.DataFrame = field(default_factory=pd.DataFrame)
    totals: pd.Series = field(default_factory=lambda: pd.Series(dtype="str"))
    columns: tuple[Column, ...] = ()
    grid: Grid = Grid((), ())  # noqa: RUF009 - it does not change
    close_calls: tuple[CloseCall, ...] = ()
    told: bool = False

    def where(self, kept: pd.Series) -> Sheet:
        """The sheet with those rows alone, numbered anew."""
        names = ("cells", "places", "leads", "charges", "sums", "totals")
        of_rows = {name: getattr(self, name) for name in names}
        return replace(
            self,
            **{name: rows[kept].reset_index(drop=True) for name, rows in of_rows.items() if len(rows) == len(kept)},
        )


def recognised(
    name: str, grid: Grid, kind: str | None = None, saved: Sequence[Reading] = ()
) -> tuple[Sheet, list[Problem]]:
    """Find the kind and the columns of a grid; `kind` is what the user says it is, `saved` are readings kept before.

    Raises:
        Unreadable: it is no known kind, or lacks a needed column.
    """
    if isinstance(grid.rows, Columns):
        if found := _by_column_alone(name, grid, kind, saved):
            return found
        grid = replace(grid, rows=grid.rows.by_row())
    notes: list[Problem] = []
    for rearranged, message in REARRANGED.items():
        before, grid = grid, rearranged(grid)
        if _size(grid) != _size(before):
            notes.append(Problem(name, "", message, note=True))
    sheet, problems = _recognised(name, grid, kind, saved)
    return sheet, [*notes, *problems]


def _by_column_alone(
    name: str, grid: Grid, kind: str | None, saved: Sequence[Reading]
) -> tuple[Sheet, list[Problem]] | None:
    """The same of a grid that is kept by column; None where more may be told of it row by row."""
    if is_rearranged(grid, _rearranged):
        return None
    try:
        sheet, problems = _recognised(name, grid, kind, saved)
    except Unreadable:
        return None
    statement = sheet.kind == "statement"
    uneven = statement and (len(sheet.charges.columns) > 0 or has_odd_rows(sheet.cells, sheet.leads))
    return None if uneven else (sheet, problems)


REARRANGED: Mapping[Callable[[Grid], Grid], str] = {
    typed_records.one_table: "Records of several types, whose fields the file names, were read as a table of charges.",
    with_labels_apart: "Cells that say what each of their texts is ('Zone: 5') were read as a column for each label.",
    with_charges_apart: "Charges that stand beside or under one another in a parcel's rows were read as a row each.",
    apart: "Cells that hold several particulars of a parcel were read as a column for each.",
}
"""Other arrangements → a row a charge and a column a particular, one after the other; and what is told of that."""


def _rearranged(grid: Grid) -> Grid:
    """The grid with a row a charge and a column a particular; as it is where it is so already."""
    return reduce(lambda it, rearranged: rearranged(it), REARRANGED, grid)


def _size(grid: Grid) -> tuple[int, int]:
    """How many rows, and columns."""
    return len(grid.rows), max(map(len, grid.rows), default=0)


def _recognised(name: str, grid: Grid, kind: str | None, saved: Sequence[Reading]) -> tuple[Sheet, list[Problem]]:
    fit, problems = _best(name, grid, kind, saved)
    problems += [*_twice(name, grid, fit), *_too_wide(name, grid, fit)]
    return _sheet(name, grid, fit), problems


def _best(name: str, grid: Grid, kind: str | None, saved: Sequence[Reading]) -> tuple[Fit, list[Problem]]:
    candidates = list(heads(grid))
    kept = [(head, one) for head in candidates for one in saved if kind in {None, one.kind} and fits(one, head.texts)]
    by_reading = max((_by_reading(head, one) for head, one in kept), key=lambda fit: fit.rank, default=None)
    if by_reading and not by_reading.missing:
        used = next(one for head, one in kept if (head, one.kind) == (by_reading.head, by_reading.kind))
        return by_reading, [*_told_of_reading(name, used), *_likenesses(name, grid, by_reading)]
    kinds = [kind] if kind else list(vocabulary.KINDS)
    by_name = max((by_names(head, one) for head in candidates for one in kinds), key=lambda fit: fit.rank, default=None)
    if by_name is None:
        raise Unreadable(_without_headings(grid))
    best = by_name
    if by_name.missing or by_name.rank[1] < 1:
        likely = [
            completed(by_names(head, one))
            for head in candidates
            for one in kinds
            if len(head.texts) >= vocabulary.FEWEST_COLUMNS[one] and may_be_headings(head, one)
        ]
        found = [by_name, *filter(_is_plausible, likely)]
        statements = [fit for fit in found if fit.kind == "statement" and not fit.missing and lists_charges(fit)]
        best = max(statements or found, key=lambda fit: fit.rank)
    if best.missing:
        raise Unreadable(_not_recognised(by_name, kind))
    best = audited_as_billed(best)
    return best, [*_likenesses(name, grid, best)]


def _is_plausible(fit: Fit) -> bool:
    """Whether a table told by likeness explains enough: a list of prices has few columns, and all are known."""
    return not fit.scores or fit.kind in {"statement", "shipments", "notice"} or fit.rank[1] >= LEAST


def _by_reading(head: Head, reading: Reading) -> Fit:
    """The columns as a saved reading has them; those it says nothing of are found as ever."""
    columns: dict[str, tuple[int, Heading]] = {}
    meant: dict[str, Meant] = {}
    skipped, charges = [], []
    for position, text in enumerate(head.texts):
        said = meaning_of(reading.columns.get(text, ""))
        wanted = said.field
        if wanted == NOT_READ:
            skipped.append(position)
        elif wanted == CHARGE and reading.kind == "statement":
            charges.append(position)
        elif wanted:
            unit = vocabulary.likeness(text, reading.kind).get(wanted, (0.0, None))[1]
            columns.setdefault(wanted, (position, Heading(text, unit)))
            meant |= {wanted: said} if said.how else {}
    known = by_names(head, reading.kind)
    taken = {*skipped, *charges, *(position for position, _ in columns.values())}
    more = {one: column for one, column in known.columns.items() if one not in columns and column[0] not in taken}
    charges += [at for at in known.charges if at not in taken]
    found = Fit(head, reading.kind, {**columns, **more}, charges=tuple(sorted(charges)), skipped=skipped, told=True)
    return completed(replace(found, meant=meant))


def _likenesses(name: str, grid: Grid, fit: Fit) -> Iterator[Problem]:
    """What was guessed, in one sentence, and each close call."""
    place = grid.places[fit.head.row]
    guessed = [
        f"'{fit.columns[one][1].text}' as the {vocabulary.called(one, fit.kind)} ({score:.2f})"
        for one, score in fit.scores.items()
    ]
    if guessed:
        message = f"Columns were told by likeness: {', '.join(guessed)}. 'auditor columns' shows and corrects that."
        yield Problem(name, place, message, note=True)
    yield from (Problem(name, place, call.sentence, note=True) for call in fit.close_calls)


def _told_of_reading(name: str, reading: Reading) -> Iterator[Problem]:
    if reading.file:
        message = f"The columns were read as saved for this layout in {reading.file}."
        yield Problem(name, "", message, note=True)
    elif reading.layout:
        columns = ", ".join(
            f"'{heading}' as the {vocabulary.called(meaning_of(one).field, reading.kind)}"
            for heading, one in reading.columns.items()
        )
        yield Problem(name, "", f"Columns were read as answered when asked: {columns}.", note=True)


def _sheet(name: str, grid: Grid, fit: Fit) -> Sheet:
    below, leads, texts = (_by_column if isinstance(grid.rows, Columns) else _by_row)(grid, fit)
    cells = {one: _with_units(fit, one, texts) for one in fit.columns} | _no_description(fit, leads.index)
    return Sheet(
        file=name,
        kind=fit.kind,
        cells=pd.DataFrame(cells, index=leads.index, copy=False),
        headings={"description": Heading("charge")} | {one: heading for one, (_, heading) in fit.columns.items()},
        places=_places(grid.places, below).set_axis(leads.index),
        leads=leads,
        above=(*grid.above, *_above(grid.rows[: fit.head.row])),
        charges=pd.DataFrame({own_name(fit.head.texts, at): texts(at) for at in fit.charges}, index=leads.index),
        sums=pd.DataFrame({own_name(fit.head.texts, at): texts(at) for at in _sums(fit)}, index=leads.index),
        totals=pd.Series(dtype="str") if (total := _total(fit)) is None else texts(total),
        columns=tuple(_columns(fit)),
        grid=grid,
        close_calls=tuple(replace(call, file=name) for call in fit.close_calls),
        told=fit.told,
    )


def _above(rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """What stands above the headings, row by row, and label by value where values stand under their labels."""
    yield from dict.fromkeys([*(" ".join(filter(None, row)) for row in rows), *covers.said(rows)])


def own_name(headings: Sequence[str], position: int) -> str:
    """A heading, numbered where another column to the left has the same."""
    text = headings[position]
    before = headings[:position].count(text)
    return f"{text} ({before + 1})" if before else text


def _may_be_a_top(row: Sequence[str]) -> bool:
    """Whether a row above the headings may stand at the top of each page: it has no amount, and names no group."""
    texts = [text.strip() for text in row if text.strip()]
    return bool(texts) and not any(map(CENTS.fullmatch, texts)) and not (len(texts) == 1 and said(texts[0]))


def _without_figures(row: Sequence[str]) -> tuple[str, ...]:
    """The texts of a row with their figures alike, as of a page's number."""
    return tuple(FIGURES.sub("0", text.strip()) for text in row if text.strip())


def _by_row(grid: Grid, fit: Fit) -> _Below:
    """The rows below the headings that are not blank and no headings again, each one's first text, and its texts.

    What stands above the headings may stand there again, but for its figures, at the top of each page.
    """
    headings = grid.rows[fit.head.row]
    tops = {_without_figures(row) for row in grid.rows[: fit.head.row] if _may_be_a_top(row)}
    after = range(fit.head.row + 1, len(grid.rows))
    lead = _words_first if grid.boxes else _first
    first = {at: lead(grid.rows[at]) for at in after if grid.rows[at] != headings}
    if tops:
        again = {at for at in first if _without_figures(grid.rows[at]) in tops and _may_be_a_top(grid.rows[at])}
        first = {at: text for at, text in first.items() if at not in again}
    below = [at for at, lead in first.items() if lead]
    rows = [grid.rows[at] for at in below]
    leads = pd.Series([first[at] for at in below], dtype="str")

    def texts(position: int) -> pd.Series:
        column = [row[position].strip() if len(row) > position else "" for row in rows]
        return pd.Series(column, index=leads.index, dtype=object)

    return np.array(below, dtype=np.int64), leads, texts


def _first(row: Sequence[str]) -> str:
    """The first text of a row that is not blank."""
    return next(filter(None, map(str.strip, row)), "")


def _words_first(row: Sequence[str]) -> str:
    """The same of a printed row, whose words may stand across columns: all of them before the first figure."""
    first = _first(row)
    if any(map(str.isdigit, first)):
        return first
    words = takewhile(lambda text: not any(map(str.isdigit, text)), filter(None, map(str.strip, row)))
    return " ".join(words)


def _by_column(grid: Grid, fit: Fit) -> _Below:
    """The same of rows that are kept by column: nothing is done row by row."""
    assert isinstance(grid.rows, Columns)  # noqa: S101 - told to the type checker
    rows, after = grid.rows, fit.head.row + 1
    named = {position: name for name, (position, _) in fit.columns.items()}
    rows.code(position for position, name in named.items() if name not in vocabulary.OF_ONE_PARCEL)

    def column(position: int) -> pd.Series:
        if named.get(position) in vocabulary.OF_ONE_PARCEL:
            return rows.plain(position, after)
        return rows.coded(position).iloc[after:]

    leads = first_filled(map(column, range(rows.width)))
    headings = rows[fit.head.row]
    like = leads.index[leads == next(filter(None, headings))]
    again = [row for row in like if rows[row] == headings]
    kept = (leads != "").to_numpy() & ~leads.index.isin(again)
    new = pd.RangeIndex(int(kept.sum()))

    def below(column: pd.Series) -> pd.Series:
        return (column if kept.all() else column[kept]).set_axis(new)

    return np.flatnonzero(kept) + after, below(leads), lambda position: below(column(position))


def _places(places: Sequence[str], rows: npt.NDArray[np.int64]) -> pd.Series:
    if isinstance(places, RowNumbers):
        return places.of(rows)
    return pd.Series([places[at] for at in rows.tolist()], dtype="str")


def _no_description(fit: Fit, index: pd.Index) -> dict[str, pd.Series]:
    """A blank column of charges where they stand in another."""
    blank = pd.Series("", index=index, dtype=object)
    return {"description": blank} if fit.charges_among_numbers and "description" not in fit.columns else {}


def _with_units(fit: Fit, name: str, texts: Callable[[int], pd.Series]) -> pd.Series:
    """The texts of a field's column, with ounces from a second column, or the unit that a column of units gives."""
    position, heading = fit.columns[name]
    own = texts(position)
    if name in fit.meant:
        return _as_meant(own, fit.meant[name])
    if name == "amount_cents" and (beside := _beside_amounts(fit)):
        return money_columns.signed(own, *(texts(at) if at is not None else None for at in beside))
    kind = vocabulary.quantity(name)
    if kind == "weight" and heading.unit == "lb" and (ounces := _ounces(fit, name)) is not None:
        both = [_pounds_and_ounces(*pair) for pair in zip(own, texts(ounces), strict=True)]
        return pd.Series(both, index=own.index, dtype=object)
    if kind and heading.unit is None and (unit := _unit_column(fit, kind)) is not None:
        both = [f"{text} {of}".strip() if text else "" for text, of in zip(own, texts(unit), strict=True)]
        return pd.Series(both, index=own.index, dtype=object)
    return own


def _as_meant(texts: pd.Series, meant: Meant) -> pd.Series:
    """Yes and no for each text, as the user said what they are; a text that is neither stays, to be told of."""
    answers = {"": ""}
    for text in filter(None, distinct(texts)):
        try:
            answers[text] = "yes" if meant.yes(text) else "no"
        except ValueError:
            answers[text] = text
    return texts.astype(object).map(answers)


def _beside_amounts(fit: Fit) -> tuple[int | None, int | None] | None:
    """The columns of a statement's credits and of the marks beside its amounts; None where there are neither."""
    if fit.kind != "statement" or "amount_cents" not in fit.columns:
        return None
    amount = fit.columns["amount_cents"][0]
    pair = money_columns.debit_and_credit(fit.head)
    credit_at = pair[1] if pair and pair[0] == amount else None
    mark = money_columns.mark(fit.head, amount)
    taken = {position for position, _ in fit.columns.values()} | {*fit.skipped}
    found = (None if credit_at in taken else credit_at), (None if mark in taken else mark)
    return found if any(at is not None for at in found) else None


def _total(fit: Fit) -> int | None:
    """The column that repeats the statement's total on each row."""
    if fit.kind != "statement":
        return None
    taken = {position for position, _ in fit.columns.values()} | {*fit.charges, *fit.skipped}
    total = money_columns.total_on_each_row(fit.head)
    return None if total in taken else total


def _pounds_and_ounces(pounds: str, ounces: str) -> str:
    return " ".join(f"{text} {unit}" for text, unit in ((pounds, "lb"), (ounces, "oz")) if text)


def _ounces(fit: Fit, name: str) -> int | None:
    """The column that has a weight's ounces where another has its pounds."""
    taken = {position for position, _ in fit.columns.values()}
    return next(
        (
            at
            for at, text in enumerate(fit.head.texts)
            if at not in taken and vocabulary.likeness(text, fit.kind).get(name, (0.0, None)) >= (LEAST, "oz")
            if vocabulary.likeness(text, fit.kind)[name][1] == "oz"
        ),
        None,
    )


def _unit_column(fit: Fit, kind: str) -> int | None:
    """The column that gives the unit of each row's sizes or weights."""
    of_kind = {"weight": {"weight"}, "length": {"size", "length"}}[kind]
    for at, text in enumerate(fit.head.texts):
        said = set(words.canonical(text))
        units_there = fit.head.values(at).texts
        if "unit" in said and said & of_kind and units_there and all(units.symbol(one, kind) for one in units_there):
            return at
    return None


def _sums(fit: Fit) -> list[int]:
    """In a table with a column a charge, the columns of amounts that are not known as one: sums, or charges unnamed."""
    taken = {position for position, _ in fit.columns.values()} | {*fit.charges, *fit.skipped}
    others = (at for at, text in enumerate(fit.head.texts) if at not in taken and not is_measure(text))
    return [at for at in others if fit.charges and fit.head.is_money(at)]


def _columns(fit: Fit) -> Iterator[Column]:
    fields = {position: name for name, (position, _) in fit.columns.items()}
    beside = {at: f"with '{fit.columns[name][1].text}'" for name in fit.columns for at in _joined_to(fit, name)}
    if (total := _total(fit)) is not None:
        beside[total] = "as the total of each statement"
    for at, text in enumerate(fit.head.texts):
        samples = fit.head.values(at).texts[:3]
        if at in fields:
            name = fields[at]
            yield Column(text, str(fit.meant.get(name, name)), fit.scores.get(name, 1.0), samples)
        elif at in fit.charges:
            known = vocabulary.charge(text)[0] or "of no known name"
            yield Column(text, CHARGE, 1.0, samples, f"a charge of its own, {known}")
        elif at in beside:
            yield Column(text, None, 0.0, samples, f"read {beside[at]}")
        else:
            yield Column(text, None, 0.0, samples, _why_skipped(fit, at), left_out=at in fit.skipped)


def _joined_to(fit: Fit, name: str) -> list[int]:
    """The columns that are read together with a field's own: its ounces, its unit, its credits and marks."""
    kind, unit = vocabulary.quantity(name), fit.columns[name][1].unit
    found: tuple[int | None, ...] = ()
    if name == "amount_cents":
        found = _beside_amounts(fit) or ()
    elif kind == "weight" and unit == "lb":
        found = (_ounces(fit, name),)
    elif kind and unit is None:
        found = (_unit_column(fit, kind),)
    return [at for at in found if at is not None]


def _why_skipped(fit: Fit, position: int) -> str:
    text = fit.head.texts[position]
    if position in fit.skipped:
        return "not read, as the saved reading says"
    if position in _sums(fit):
        return "amounts that are no known charge: a sum of the row's, or told of below"
    like = vocabulary.likeness(text, fit.kind)
    if not fit.head.values(position).texts:
        return "it is empty"
    if not like:
        return f"nothing that {vocabulary.CALLED[fit.kind]} needs has a name like it"
    name = max(like, key=lambda one: like[one][0])
    called = vocabulary.called(name, fit.kind)
    if name in fit.columns:
        return f"the {called} was read from '{fit.columns[name][1].text}'"
    score = score_of(fit, position, name)
    return f"most like the {called}, but its heading or its values do not fit well (score {score:.2f})"


def _twice(name: str, grid: Grid, fit: Fit) -> Iterator[Problem]:
    """Columns that mean a field that another column was taken for."""
    joined = {at for one in fit.columns for at in _joined_to(fit, one)}
    taken = {position for position, _ in fit.columns.values()} | {*fit.charges, *fit.skipped, *joined}
    for position, text in enumerate(fit.head.texts):
        found = vocabulary.meaning(text, fit.kind)
        if found and position not in taken and found[0] in fit.columns:
            used = fit.columns[found[0]][1].text
            called = vocabulary.called(found[0], fit.kind)
            message = f"Columns '{used}' and '{text}' could both be the {called}; '{used}' was taken."
            yield Problem(name, grid.places[fit.head.row], message, note=True)


def _too_wide(name: str, grid: Grid, fit: Fit) -> Iterator[Problem]:
    """Rows with more cells than there are headings: what stands in them may have moved to another column."""
    if isinstance(grid.rows, Columns):
        return
    width = len(grid.rows[fit.head.row])
    for row, place in zip(grid.rows[fit.head.row + 1 :], grid.places[fit.head.row + 1 :], strict=True):
        if len(row) > width and any(cell.strip() for cell in row[width:]):
            message = (
                f"This row has {len(row)} cells, but there are {width} headings, so its values may stand in the wrong "
                "columns. A cell with a comma in it needs quotation marks around it. Correct the row and run again."
            )
            yield Problem(name, place, message)


def _without_headings(grid: Grid) -> str:
    if any(map(is_too_wide, grid.rows[:FIRST_ROWS])):
        return (
            f"This table has rows of more than {MOST_COLUMNS:,} cells, which no table that is known here has. Keep the "
            "columns that matter, and export it again."
        )
    first = next((row for row in grid.rows if any(map(str.strip, row))), ())
    return _says_nothing(first) or "There is nothing in this table. Export it again, or leave it out."


def _not_recognised(best: Fit, kind: str | None) -> str:
    headings = ", ".join(best.headings[:SHOWN_HEADINGS])
    if kind is None and len(best.columns) < LIKE and (nothing := _says_nothing(best.headings)):
        return nothing
    if kind is None and len(best.columns) < max(LIKE, len(best.missing)):
        known = ", ".join(vocabulary.KINDS)
        return (
            f"What this file is could not be told from its headings. Headings found: {headings}. If it is one of "
            f"yours, say what it is with --as KIND=FILE (kinds: {known}), or leave it out."
        )
    lacking = [_lack(one, best) for one in best.missing]
    advice = " ".join(advice for _, advice in lacking)
    return (
        f"This looks like {vocabulary.CALLED[best.kind]}, but has no column for the "
        f"{' and the '.join(word for word, _ in lacking)}. Headings found: {headings}. {advice}"
    )


def _says_nothing(texts: Sequence[str]) -> str:
    """That a table has no headings, or ones of one letter, where that is so; with what to do."""
    shown = ", ".join(list(filter(None, map(str.strip, texts)))[:SHOWN_HEADINGS])
    such = "what each column is, such as 'Tracking number' or 'Amount', and run again; or leave the file out."
    if shown and all(len(text.strip()) <= 1 for text in texts):
        return (
            f"The headings of this table are single letters ({shown}), which do not tell what stands below them, so "
            f"nothing of it was read. Write {such}"
        )
    if any(map(VALUE.search, texts)):
        return (
            f"This table has no row of headings that is known here; it begins with: {shown}. Nothing of it was read. "
            f"Put a row above it that says {such}"
        )
    return ""


VALUE = re.compile(r"\d{3}|\d[.,]\d|\d ?x ?\d")
"""What stands in the rows of a table, and hardly in its headings: a number of some length, an amount, a size."""


def _lack(needed: str, fit: Fit) -> tuple[str, str]:
    """The word for what is missing, and what to do about it."""
    sides = absent_sides(fit.columns)
    if needed == "size" and len(sides) == len(SIDE_FIELDS):
        return "size", "Name one 'Size', or three 'Length', 'Width' and 'Height'."
    names = [vocabulary.called(one, fit.kind) for one in (sides if needed == "size" else [needed])]
    advice = " ".join(f"Name one '{name.capitalize()}'.{_suggestion(name, fit)}" for name in names)
    return " and the ".join(names), advice


def _suggestion(name: str, fit: Fit) -> str:
    unknown = [text for text in fit.headings if vocabulary.meaning(text, fit.kind) is None]
    found = process.extractOne(name, unknown, scorer=fuzz.ratio, processor=str.casefold, score_cutoff=NEAR)
    return f" If '{found[0]}' is meant, that is the one to rename." if found else ""
