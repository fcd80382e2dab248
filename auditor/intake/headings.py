"""Rows that may be the headings of a table, and how well their names serve as those of one kind."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import islice

from auditor.intake import evidence, vocabulary, words
from auditor.intake.documents import Grid
from auditor.intake.readings import Meant

FIRST_ROWS = 30
"""Headings stand among the first rows; titles may stand above them."""
MOST_COLUMNS = 1_000
"""A row of more cells that are filled is no row of headings."""
LIKE = 2
"""Headings that must be known before a table is said to look like a kind."""
SURE_HEADING = 0.6
"""So like a name must two headings of a row at least be for the row to be one of headings."""
MOST_CHARGES = 30
SUMMED_ROWS = 200
"""So many columns and rows are added up at most to see whether one column is the sum of others."""
MONEY = 0.9
"""The share of amounts in a column of money."""
CODES_AMONG_CHARGES = 0.9
"""The share of numbers and charges in a column that has both, the sums of parcels among them."""
SIDE_FIELDS = ("length_nm", "width_nm", "height_nm")


@dataclass(frozen=True)
class Heading:
    """A column's heading as printed, and the unit it gives."""

    text: str
    unit: str | None = None


@dataclass(frozen=True)
class Head:
    """One row that may be the headings: its number and its texts, those of merged cells above it joined in."""

    grid: Grid
    row: int
    texts: tuple[str, ...]
    sample: evidence.Sample = field(compare=False)
    looked_at: dict[int, evidence.Values] = field(default_factory=dict, compare=False)

    def values(self, position: int) -> evidence.Values:
        """What stands below one of the headings."""
        if position not in self.looked_at:
            self.looked_at[position] = self.sample.values(position, self.row)
        return self.looked_at[position]

    def is_money(self, position: int) -> bool:
        """Whether amounts stand below the heading."""
        return self.values(position).share("money") >= MONEY

    @cached_property
    def summed_up(self) -> tuple[int, ...]:
        """The columns of amounts that another sums up in nearly every row, which no name need tell; or none.

        These are all such columns, or those next before the sum, as weights have two decimals too.
        """
        columns = [at for at, text in enumerate(self.texts) if text and self.values(at).share("cents") >= MONEY]
        if not LIKE < len(columns) <= MOST_CHARGES:
            return ()
        rows = [
            row for row in islice(self.grid.rows, self.row + 1, self.row + 1 + SUMMED_ROWS) if len(row) > columns[-1]
        ]
        cents = [[evidence.cents(row[at]) for at in columns] for row in rows]
        wide = [row for row in cents if sum(map(bool, row)) > LIKE]
        if len(wide) < LIKE:
            return ()
        every = ((place, range(len(columns))) for place in range(len(columns)))
        before = ((place, range(first, place + 1)) for place in range(LIKE, len(columns)) for first in range(place - 1))
        for place, parts in (*every, *before):
            if sum(2 * row[place] == sum(row[nth] for nth in parts) for row in wide) >= MONEY * len(wide):
                return tuple(columns[nth] for nth in parts if nth != place)
        return ()


@dataclass(frozen=True)
class Meaning:
    """A column, by its heading and three of its values, as a field; `score` says how well it serves, from 0 to 1."""

    heading: str
    field: str
    score: float
    samples: tuple[str, ...]


@dataclass(frozen=True)
class CloseCall:
    """A close call: one meaning was taken, and another nearly as good was not.

    The two are about one column, which may be one field or the other; or about one field, which may stand in one column
    or the other. `open` is true where taking the other leaves a whole table, and its headings tell the two apart.
    `headings` are all of the table.
    """

    file: str
    kind: str
    headings: tuple[str, ...]
    taken: Meaning
    other: Meaning
    open: bool

    @property
    def sentence(self) -> str:
        """The close call in a sentence, and how to settle it."""
        taken, other = self.taken, self.other
        called, meant = (vocabulary.called(one.field, self.kind) for one in (taken, other))
        might = (
            f"might be the {meant} ({other.score:.2f})"
            if taken.heading == other.heading
            else f"column '{other.heading}' might be it ({other.score:.2f})"
        )
        settled = f'auditor columns FILE --set "{other.heading}={other.field}" --save'
        return (
            f"Column '{taken.heading}' was read as the {called} (score {taken.score:.2f}), and {might}. If that is "
            f"right, run: {settled}"
        )


@dataclass(frozen=True)
class Fit:
    """How well one row serves as the headings of one kind: field → its column and heading; `charges` have their own.

    `told`: the user said what columns are; `meant`: for fields of yes and no, how he said that they are.
    """

    head: Head
    kind: str
    columns: Mapping[str, tuple[int, Heading]]
    scores: Mapping[str, float] = field(default_factory=dict)
    charges: tuple[int, ...] = ()
    skipped: Collection[int] = ()
    close_calls: tuple[CloseCall, ...] = ()
    told: bool = False
    meant: Mapping[str, Meant] = field(default_factory=dict)

    @cached_property
    def headings(self) -> tuple[str, ...]:
        """The texts of the row that are not blank."""
        return tuple(text for text in self.head.texts if text)

    @cached_property
    def missing(self) -> tuple[str, ...]:
        """The needed fields that no column has."""
        needed = vocabulary.NEEDED[self.kind]
        if self.charges:
            needed = tuple(one for one in needed if one not in {"description", "amount_cents"})
        elif self.charges_among_numbers:
            needed = tuple(one for one in needed if one != "description")
        if self.kind == "notice" and not self._notices:
            needed = (*needed, "measured_size")
        if self.kind == "shipments" and self.told and "carton" in self.columns:
            needed = ("tracking",)
        if self.kind == vocabulary.PARCELS and "carton" not in self.columns:
            needed = ("size",)
        return tuple(one for one in needed if not self._has(one))

    @cached_property
    def charges_among_numbers(self) -> bool:
        """Whether charges stand below the parcels' numbers in the same column, so that they have none of their own."""
        if self.kind != "statement" or "tracking" not in self.columns:
            return False
        column = self.head.values(self.columns["tracking"][0])
        return column.share("charge") > 0 and column.share("code or charge") >= CODES_AMONG_CHARGES

    @property
    def _notices(self) -> bool:
        """Whether it holds what was measured against something else, as a table of notices does."""
        beginnings = {one.partition("_")[0] for one in self.columns}
        return "measured" in beginnings and not beginnings.isdisjoint({"declared", "amount", "reason"})

    def _has(self, name: str) -> bool:
        return name in self.columns or (name == "size" and not absent_sides(self.columns))

    @property
    def rank(self) -> tuple[bool, float, float, int]:
        """A complete table first, then the one with the most of its headings known, then the topmost row."""
        known = sum(self.scores.get(one, 1.0) for one in self.columns) + len(self.charges)
        if self.missing:
            return False, known - len(self.missing), known, -self.head.row
        return True, known / max(len(self.headings), len(self.columns), 1), known, -self.head.row


def heads(grid: Grid) -> Iterator[Head]:
    """The first rows with anything in them; a row that a new page repeats counts where it stands first."""
    above: Sequence[str] = ()
    last = -1
    seen: set[tuple[str, ...]] = set()
    sample = evidence.Sample(grid.rows)
    filled = ((at, row) for at, row in enumerate(grid.rows) if any(cell.strip() for cell in row))
    for number, row in islice(filled, FIRST_ROWS):
        if is_too_wide(row) or _is_of_a_parcel(row):
            continue
        if number + 1 < len(grid.rows) and _goes_on(row, grid.rows[number + 1]):
            above, last = tuple(" ".join(cell.split()) for cell in row), number
            continue
        texts = tuple(" ".join(cell.split()) for cell in row)
        if texts not in seen:
            yield Head(grid, number, _with_group(texts, above if number == last + 1 else ()), sample)
        seen.add(texts)
        above, last = texts, number


def _goes_on(row: Sequence[str], below: Sequence[str]) -> bool:
    """Whether headings go on in the row below: without figures, mostly words of the trade, under texts of this one."""
    texts = [at for at, cell in enumerate(below) if cell.strip()]
    if len(texts) < FEWEST or any(map(str.isdigit, "".join(below))) or is_too_wide(row):
        return False
    under = [at for at in texts if at < len(row) and row[at].strip()]
    of_the_trade = [at for at in texts if words.are_known(below[at])]
    mostly = 2 * min(len(under), len(of_the_trade)) > len(texts)
    return mostly and not any(map(str.isdigit, "".join(row)))


def is_too_wide(row: Sequence[str]) -> bool:
    """Whether more cells of a row are filled than any table has columns."""
    return len(row) > MOST_COLUMNS and sum(map(bool, row)) > MOST_COLUMNS


def _is_of_a_parcel(row: Sequence[str]) -> bool:
    """Whether a row has a parcel's number and an amount to the cent, which no headings have."""
    cells = [cell.strip() for cell in row]
    return any(evidence.CENTS.fullmatch(cell) for cell in cells) and any(map(evidence.is_code, cells))


FEWEST = 3
"""A second row of headings has so many texts at least."""
UNIT = re.compile(r"(?:[(\[]|\bin )(cm|mm|in|inch|inches|kg|g|lbs?|oz)\.?[)\]]?$", re.IGNORECASE)
"""The unit that headings of a group have in common, behind its name."""


def _with_group(texts: tuple[str, ...], above: Sequence[str]) -> tuple[str, ...]:
    """Headings in two rows as one: a cell merged downwards has its text above, a repeated heading its group's name."""
    if sum(map(bool, above)) < LIKE or any(text.endswith(":") for text in above):
        return texts
    wide = [*above, *[""] * (len(texts) - len(above))]
    group, groups = "", []
    for text in wide[: len(texts)]:
        group = text or group
        groups.append(group)
    repeated = {text for text in texts if text and texts.count(text) > 1}
    two_lines = [at for at, text in enumerate(texts) if text and wide[at] and not _spans(at, texts, wide)]
    if 2 * len(two_lines) >= sum(map(bool, texts)):
        texts = tuple(f"{wide[at]} {text}" if at in two_lines else text for at, text in enumerate(texts))
    units_of = {of: f"({found[1]})" for of in {*groups} if groups.count(of) > 1 and (found := UNIT.search(of))}
    return tuple(
        f"{of} {text}" if text in repeated else f"{text} {units_of.get(of, '')}".strip() if text else over
        for text, over, of in zip(texts, wide, groups, strict=False)
    )


def _spans(at: int, texts: Sequence[str], above: Sequence[str]) -> bool:
    """Whether what stands above a heading reaches over the next one too, as the name of a group does."""
    return at + 1 < len(texts) and bool(texts[at + 1]) and not above[at + 1]


def by_names(head: Head, kind: str) -> Fit:
    """The fit of a row as headings of a kind by those that are names of its fields.

    A heading of one letter is believed where its values bear it out, the sides of a size together: 'D' may be a depth,
    a day or a description.
    """
    columns: dict[str, tuple[int, Heading]] = {}
    contradicted: set[str] = set()
    for position, text in enumerate(head.texts):
        found = vocabulary.meaning(text, kind)
        if not found or found[0] in columns or (found[0] == "description" and _numbers_rows(head, position)):
            continue
        if len(text.strip()) == 1 and not evidence.fits(found[0], kind, head.values(position)):
            contradicted.add(found[0])
        else:
            columns[found[0]] = position, Heading(text, found[1])
    return with_charges(Fit(head, kind, _without_lone_letters(columns, contradicted - columns.keys())))


def _without_lone_letters(
    columns: Mapping[str, tuple[int, Heading]], contradicted: set[str]
) -> dict[str, tuple[int, Heading]]:
    """The columns without sides named by a letter, where another side of the size is none by what it holds."""
    prefixes = {one.removesuffix(side) for one in contradicted for side in SIDE_FIELDS if one.endswith(side)}
    sides = {f"{prefix}{side}" for prefix in prefixes for side in SIDE_FIELDS}
    return {one: at for one, at in columns.items() if one not in sides or len(at[1].text.strip()) > 1}


def _numbers_rows(head: Head, position: int) -> bool:
    """Whether a column has numbers only, as one called 'Item' that counts the rows."""
    column = head.values(position)
    return bool(column.texts) and not column.share("words")


def with_charges(fit: Fit) -> Fit:
    """The fit with the columns that hold one charge each, where there are two or more and no column of charges."""
    if fit.kind != "statement":
        return fit
    named = [at for at, text in enumerate(fit.head.texts) if text and _names_a_charge(text)]
    charges = tuple(at for at in named if fit.head.is_money(at) or not fit.head.values(at).texts)
    charges = tuple(sorted({*charges, *fit.head.summed_up}))
    if sum(fit.head.is_money(at) for at in charges) < LIKE:
        return fit
    if any(_lists_charges(fit.head, at) for at in range(len(fit.head.texts)) if at not in named):
        return fit
    columns = {name: one for name, one in fit.columns.items() if name not in {"description", "amount_cents"}}
    return replace(fit, columns={name: one for name, one in columns.items() if one[0] not in charges}, charges=charges)


def _names_a_charge(heading: str) -> bool:
    return bool(vocabulary.charge(heading)[0]) and not is_measure(heading)


def is_measure(heading: str) -> bool:
    """Whether a heading is of a weight or a length with its unit, and so no amount: 'Entered weight (lb)'."""
    return any(vocabulary.unit_named(heading, field) for field in ("billed_weight_pg", "billed_length_nm"))


def lists_charges(fit: Fit) -> bool:
    """Whether charges stand in the column of charges, which only statements have beside parcels' numbers."""
    listed = fit.columns.get("description")
    return listed is not None and _lists_charges(fit.head, listed[0])


def _lists_charges(head: Head, position: int) -> bool:
    """Whether several charges stand below a heading, and little else."""
    column = head.values(position)
    return len(column.texts) > 1 and column.share("charge") >= 0.5  # noqa: PLR2004 - half of them


def may_be_headings(head: Head, kind: str) -> bool:
    """Whether two texts of the row are much like names of fields, and none is a parcel's number."""
    like = (max((score for score, _ in vocabulary.likeness(text, kind).values()), default=0.0) for text in head.texts)
    return sum(score >= SURE_HEADING for score in like) >= LIKE and not any(map(evidence.is_code, head.texts))


def absent_sides(columns: Mapping[str, object]) -> list[str]:
    """The sides that no column has."""
    return [side for side in SIDE_FIELDS if side not in columns]
