"""What columns of records are held against, and what is chosen for a field."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from auditor.core.arrays import Places
from auditor.intake import vocabulary
from auditor.intake.headings import Fit
from auditor.intake.reading.agreement import ONE_IN_100, ONE_IN_1000
from auditor.intake.reading.billed import Billed
from auditor.intake.reading.cells import Column
from auditor.intake.reading.roles import LEAN

SURE = ONE_IN_1000
"""What outvotes a word: one in a thousand by luck."""
SHAPE = ONE_IN_100
"""What looks like three sides, or a weight with its unit, is one ninety-nine times in a hundred. Chosen."""
HELD = 0.9
"""So many cells of a column are what it is taken for. Chosen."""
OF_ZERO = 1e-3
"""What breaks ties and outweighs nothing."""


@dataclass(frozen=True, eq=False)
class Chosen:
    """A field's columns: `texts` as they are to be read, its heading's place, the unit, the odds without any word."""

    texts: tuple[str, ...]
    at: tuple[int, ...]
    unit: str | None = None
    odds: float = 0.0
    said: str = ""
    changed: bool = False


@dataclass(frozen=True, eq=False)
class Scene:
    """All that columns are held against.

    `places`: each row's parcel among those billed, −1 where it is none. `usual`: the usual weight of cartons by name.
    `words`: what the words of the headings say; `cartons`: the names in lists of cartons.
    """

    columns: Sequence[Column]
    number: int
    places: Places
    billed: Billed
    words: Fit | None
    cartons: frozenset[str]
    usual: Mapping[str, int] = field(default_factory=dict)

    def named(self, name: str, at: int) -> float:
        """What the headings' words say for a field in a column."""
        if self.words is None or name not in self.words.columns or self.words.columns[name][0] != at:
            return 0.0
        score = self.words.scores.get(name, 1.0)
        if name == "carton" and score < 1 and not repeats(self.columns[at]):
            return 0.0
        return 2 * LEAN if score >= 1 else LEAN * score

    def called_otherwise(self, name: str, at: int) -> bool:
        """Whether a column's heading is a name of another field."""
        if self.words is None:
            return False
        others = ((one, column[0]) for one, column in self.words.columns.items() if one != name)
        return any(place == at and self.words.scores.get(one, 1.0) >= 1 for one, place in others)

    def unit(self, name: str, at: int) -> str | None:
        """The unit that a column's heading gives."""
        return vocabulary.unit_named(self.columns[at].heading, name)


def repeats(column: Column) -> bool:
    """Whether a column has few texts for its rows, as cartons are a handful."""
    return 2 * len(column.used) <= int(column.filled.sum())


@dataclass(frozen=True, eq=False)
class One:
    """One column for one field, before the choice."""

    field: str
    at: int
    odds: float
    unit: str | None = None
    texts: tuple[str, ...] | None = None
    said: str = ""
