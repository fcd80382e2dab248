"""Kinds of parcels, as declared or cut, ready to be priced by whatever their readings may be."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd

from auditor.charges.schema import by_rules
from auditor.core.arrays import Whole
from auditor.core.sides import FIGURES
from auditor.habits.readings.alike import NO_PRICE, Charges, alike
from auditor.tariff import Prices, Rulebook, Rules


@dataclass(frozen=True)
class Lot:
    """n kinds of parcels that differ in what `price` looks at.

    `charges`: what they cost by other figures; `row` (n): of which of its rows each is a kind. `figures` (n), by
    figure: what is declared, nm or pg. `count` (n): parcels of each kind. `rules`: those in force, each with the rows
    of `charges` that fall under them; of each of those rows a number for its `service`, and for its `likeness`: all
    but its figures.
    """

    charges: Charges
    row: Whole
    figures: Mapping[str, Whole]
    count: Whole
    rules: Sequence[tuple[Rules, Whole]]
    service: Whole
    likeness: Whole

    @classmethod
    def of(cls, parcels: pd.DataFrame, book: Rulebook, prices: Prices) -> tuple[Lot, Whole]:
        """Parcels as `price` takes them, and the kind of each."""
        kinds, kind = alike(parcels, book, prices)
        others = [column for column in kinds if column not in FIGURES]
        likeness = kinds.groupby(others, sort=False, dropna=False).ngroup() if others else pd.Series(0, kinds.index)
        lot = cls(
            charges=Charges.of(kinds, book, prices),
            row=np.arange(len(kinds)),
            figures={figure: kinds[figure].to_numpy(dtype=np.int64) for figure in FIGURES},
            count=np.bincount(kind, minlength=len(kinds)),
            rules=[(rules, index.to_numpy()) for rules, index in by_rules(book, kinds)],
            service=pd.factorize(kinds["service"], use_na_sentinel=False)[0],
            likeness=np.asarray(likeness, dtype=np.int64),
        )
        return lot, kind

    def with_figures(self, kind: Whole, figures: Mapping[str, Whole]) -> tuple[Lot, Whole]:
        """Parcels of these kinds (N) but with other figures (N each), and the kind of each in the lot they make."""
        every = np.stack([self.likeness[self.row[kind]], *(figures[figure] for figure in FIGURES)])
        distinct, first, made_of = np.unique(every, axis=1, return_index=True, return_inverse=True)
        made = replace(
            self,
            row=self.row[kind[first]],
            figures=dict(zip(FIGURES, distinct[1:], strict=True)),
            count=np.bincount(made_of.ravel(), minlength=len(first)),
        )
        return made, made_of.ravel()

    def cut(self, side: str, lengths: Sequence[int]) -> Lot:
        """Every kind cut to each length in turn; one that is shorter already stays as it is."""
        times = len(lengths)
        cut = np.minimum(np.asarray(lengths)[:, None], self.figures[side]).ravel()
        figures = {figure: np.tile(declared, times) for figure, declared in self.figures.items()} | {side: cut}
        return replace(self, row=np.tile(self.row, times), figures=figures, count=np.tile(self.count, times))

    def stretches(self, kinds: Whole) -> Iterator[tuple[Rules, Whole]]:
        """The rules that some of the kinds fall under, each with those kinds."""
        for rules, rows in self.rules:
            under = kinds[np.isin(self.row[kinds], rows)]
            if len(under):
                yield rules, under

    def families(self, kinds: Whole, figure: str) -> Whole:
        """For each of some kinds a number that those have in common which differ in one figure only."""
        others = [self.figures[other][kinds] for other in FIGURES if other != figure]
        together = np.stack([self.likeness[self.row[kinds]], *others])
        return np.unique(together, axis=1, return_inverse=True)[1].ravel()

    @cached_property
    def declared_cents(self) -> Whole:
        """What each kind costs as declared, NO_PRICE where it has none."""
        return self.cents(np.arange(len(self.row)))

    @cached_property
    def fee_cents(self) -> Whole:
        """What correcting each kind costs, whatever the correction comes to; 0 where no fee for it is known."""
        return np.asarray(np.maximum(self._corrected_cents - self.declared_cents, 0))

    @property
    def lacks_fee(self) -> bool:
        """Whether some kind has a price and no fee for correcting it is known."""
        return bool(((self.declared_cents != NO_PRICE) & (self._corrected_cents == NO_PRICE)).any())

    @cached_property
    def _corrected_cents(self) -> Whole:
        return self.cents(np.arange(len(self.row)), corrected=np.zeros_like(self.row))

    def cents(
        self, kinds: Whole, measured: Mapping[str, Whole] | None = None, *, corrected: Whole | None = None
    ) -> Whole:
        """What some kinds cost, see `Charges.cents`: by their own figures where `measured` has no others."""
        own = {figure: declared[kinds] for figure, declared in self.figures.items()}
        return self.charges.cents(self.row[kinds], {**own, **(measured or {})}, corrected=corrected)

    def column(self, what: str) -> Whole:
        """A column of `price` for each kind by its own figures."""
        return self.charges.column(what, self.row, self.figures)
