"""One case: a shop's months, what happened to the files, and the commands that are run on them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from random import Random

from tests.hunt.mutations import CELLS, CHANGES, HEADINGS, changed
from tests.hunt.shops import CARTONS, Files, shop, trackings

MOST_CHANGES = 4
LATER = "2026-09-30"
KINDS = ("shipments", "cartons", "rates", "fees", "fuel", "statement", "notice")
FIELDS = ("amount", "tracking", "length", "shipped_on", "charge", "not read", "statement", "zone")
TARIFFS = ("us-ground-common", "us-postal", "air-iata", "express-volumetric")


@dataclass(frozen=True)
class Case:
    """All that a case follows from; `changes` and `commands` are names with the number of their chances."""

    seed: int
    months: int
    parcels: int
    carriers: int
    with_book: bool
    changes: tuple[tuple[str, int], ...]
    commands: tuple[tuple[str, int], ...]

    def __str__(self) -> str:
        """In words, for somebody who is to see it again."""
        size = f"shop {self.seed}: {self.months} months, {self.parcels} parcels, {self.carriers} carriers"
        parts = [size, "with a book" if self.with_book else "without a book"]
        parts += [
            "; ".join(f"{name} ({seed})" for name, seed in told) for told in (self.changes, self.commands) if told
        ]
        return "\n  ".join(parts)


def case_of(seed: int) -> Case:
    """The case of that number."""
    rng = Random(seed)
    with_book = rng.random() < 0.3
    pool = sorted(WITH_BOOK) if with_book else ["reconcile", "reconcile", *sorted(AFTER)]
    first = ["reconcile into the book"] if with_book else []
    commands = [*first, *rng.choices(pool, k=rng.choice([1, 1, 2]))]
    return Case(
        seed=seed,
        months=rng.choice([1, 1, 1, 2, 2, 3, 6, 12]),
        parcels=rng.choice([1, 4, 8, 16, 24]),
        carriers=rng.randint(1, 2),
        with_book=with_book,
        changes=tuple(
            (name, rng.randrange(10**6)) for name in rng.choices(sorted(CHANGES), k=rng.randint(0, MOST_CHANGES))
        ),
        commands=tuple((name, rng.randrange(10**6)) for name in commands),
    )


def files_of(case: Case) -> Files:
    """The files after all that happened to them."""
    whole = shop(case.seed, months=case.months, parcels=case.parcels, carriers=case.carriers)
    return changed(whole, case.changes)


@dataclass(frozen=True)
class Place:
    """Where a case is run: the folder of its files, the book, and a folder for what is written."""

    files: Files
    folder: Path
    book: Path
    out: Path

    def tracking(self, rng: Random) -> str:
        """A number of the shop's, or some other word."""
        numbers = trackings(self.files)
        return rng.choice(numbers) if numbers and rng.random() < 0.8 else rng.choice([cell for cell in CELLS if cell])

    def a_file(self, rng: Random) -> Path:
        """One of the files."""
        return self.folder / rng.choice(sorted(self.files) or ["missing.csv"])

    def carton(self, rng: Random) -> str:
        """A carton's name, known or not."""
        return rng.choice([*CARTONS, "crate"])


Command = Callable[[Place, Random], Iterator[list[str | Path]]]
"""The calls that one command comes to, each a list of arguments."""


def calls_of(case: Case, place: Place) -> Iterator[list[str]]:
    """Every call of the command line, in order."""
    for name, seed in case.commands:
        for call in COMMANDS[name](place, Random(seed)):
            yield [str(argument) for argument in call]


def _reconcile(place: Place, rng: Random) -> Iterator[list[str | Path]]:
    yield ["reconcile", place.folder, "--no-book", "--out", place.out, *_otherwise(place, rng)]


def _otherwise(place: Place, rng: Random) -> list[str | Path]:
    """Now and then a file read as some kind, or other rules, for all or for one service."""
    return rng.choice([*[[]] * 5, ["--as", f"{rng.choice(KINDS)}={place.a_file(rng).name}"], *_other_rules(rng)])


def _other_rules(rng: Random) -> list[list[str | Path]]:
    return [["--rules", rng.choice(TARIFFS)], ["--rules", f"{rng.choice(['Parcel', 'Ground'])}={rng.choice(TARIFFS)}"]]


def _into_the_book(place: Place, rng: Random) -> Iterator[list[str | Path]]:
    """At once, or a part and then the rest, as months come in."""
    names = sorted(place.files)
    at = rng.randint(0, len(names))
    rules = rng.choice([*[[]] * 5, *_other_rules(rng)])
    for part in [names[:at], names[at:]] if rng.random() < 0.5 else [names]:
        if part:
            yield ["reconcile", *(place.folder / name for name in part), "--out", place.out, *rules]


def _again(place: Place, _: Random) -> Iterator[list[str | Path]]:
    yield ["reconcile", "--all", "--out", place.out]


def _explain(place: Place, rng: Random) -> Iterator[list[str | Path]]:
    yield ["explain", *_otherwise(place, rng), "--", place.tracking(rng), place.folder]


def _explain_from_book(place: Place, rng: Random) -> Iterator[list[str | Path]]:
    yield ["explain", "--", place.tracking(rng)]


def _cartons(place: Place, rng: Random) -> Iterator[list[str | Path]]:
    changed_on = ["--changed", f"{place.carton(rng)}=2025-10-15"] if rng.random() < 0.3 else []
    yield ["cartons", place.folder, *changed_on, *_otherwise(place, rng)]


def _whatif(place: Place, rng: Random) -> Iterator[list[str | Path]]:
    change: list[str | Path] = rng.choice(
        [
            ["--cut", place.carton(rng), rng.choice(["43 in", "7 in", "200 in"])],
            ["--weight", place.carton(rng), rng.choice(["1 lb", "9 lb"])],
            ["--swap", place.carton(rng), place.carton(rng)],
            ["--flat"],
            ["--flat-charge", "21.50"],
            ["--on", "2026-02-02"],
            ["--other-rules", rng.choice(TARIFFS)],
            ["--other-prices", place.a_file(rng)],
        ]
    )
    yield ["whatif", place.folder, *change, *rng.choice([[], ["--format", "csv"]]), *_otherwise(place, rng)]


def _precheck(place: Place, rng: Random) -> Iterator[list[str | Path]]:
    parcel: list[str | Path] = rng.choice([[place.carton(rng)], ["47 1/2 x 6 x 6 in", "3 lb"], [place.a_file(rng)]])
    where = rng.choice([[], ["--zone", "5"], ["--service", "Ground"]])
    on = ["--on", rng.choice(["2025-11-03", LATER])]
    yield ["precheck", *parcel, "--history", place.folder, *on, *where, *_otherwise(place, rng)]


def _evidence(place: Place, rng: Random) -> Iterator[list[str | Path]]:
    yield ["evidence", place.folder, "--out", place.out, *_otherwise(place, rng)]


def _evidence_of_one(place: Place, rng: Random) -> Iterator[list[str | Path]]:
    yield ["evidence", "--out", place.out, *_otherwise(place, rng), "--", place.tracking(rng), place.folder]


def _evidence_from_book(place: Place, _: Random) -> Iterator[list[str | Path]]:
    yield ["evidence", "--out", place.out]


def _columns(place: Place, rng: Random) -> Iterator[list[str | Path]]:
    """A reading looked at; or one that is kept, and the month read by it."""
    kind = rng.choice([[], ["--as", rng.choice(KINDS)]])
    keep = [f"--set={rng.choice(HEADINGS)}={rng.choice(FIELDS)}", "--save"]
    yield ["columns", place.a_file(rng), *kind, *rng.choice([[], keep])]
    yield ["reconcile", place.folder, "--no-book", "--out", place.out]


def _rules(place: Place, rng: Random) -> Iterator[list[str | Path]]:
    yield ["rules", "show", rng.choice(TARIFFS), "--on", rng.choice(["2009-01-01", "2025-10-15", LATER])]
    yield ["rules", "compare", rng.choice(TARIFFS), rng.choice(TARIFFS)]
    yield ["rules", "check", place.a_file(rng)]


def _disputes(place: Place, rng: Random) -> Iterator[list[str | Path]]:
    yield ["disputes", "--today", rng.choice(["2025-12-01", LATER])]
    for how in rng.choices(["sent", "answered", "refused", "give-up", "take-up-again", "history"], k=4):
        yield ["disputes", how, "--", place.tracking(rng)]
    yield ["disputes", "credited", "--amount", "1.00", "--", place.tracking(rng)]
    yield ["disputes", "calendar", place.out / "days.ics"]
    if rng.random() < 0.5:
        yield ["reconcile", "--all", "--out", place.out]
        yield ["disputes", "--closed"]


def _close(place: Place, rng: Random) -> Iterator[list[str | Path]]:
    yield ["close", rng.choice(["2025-10", "2025-11", "2026-01"])]
    yield ["reconcile", "--all", "--out", place.out]


def _book(place: Place, rng: Random) -> Iterator[list[str | Path]]:
    kept = place.out / f"{rng.randrange(10**6)}"
    yield ["book", "show"]
    yield ["book", "check"]
    yield ["book", "backup", f"{kept}.sqlite"]
    yield ["book", "export", kept, "--as", rng.choice(["csv", "parquet"])]
    yield ["book", "import", kept, "--book", f"{kept}-again.sqlite"]
    yield ["book", "check", "--book", f"{kept}-again.sqlite"]


def _set_aside(place: Place, rng: Random) -> Iterator[list[str | Path]]:
    name = place.a_file(rng).name
    yield ["book", "set-aside", name]
    yield ["reconcile", "--all", "--out", place.out]
    if rng.random() < 0.5:
        yield ["book", "take-back", name]
        yield ["reconcile", "--all", "--out", place.out]


AFTER: Mapping[str, Command] = {
    "explain": _explain,
    "cartons": _cartons,
    "whatif": _whatif,
    "precheck": _precheck,
    "evidence": _evidence,
    "evidence of one": _evidence_of_one,
    "columns": _columns,
    "rules": _rules,
}
WITH_BOOK: Mapping[str, Command] = {
    "reconcile all": _again,
    "explain from the book": _explain_from_book,
    "evidence from the book": _evidence_from_book,
    "disputes": _disputes,
    "close": _close,
    "book": _book,
    "set aside": _set_aside,
}
COMMANDS: Mapping[str, Command] = {
    "reconcile": _reconcile,
    "reconcile into the book": _into_the_book,
    **AFTER,
    **WITH_BOOK,
}
