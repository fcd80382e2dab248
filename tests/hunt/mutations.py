"""What may have happened to the files of a shop before they reach the program. Each takes files and chance."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from random import Random

from tests.hunt.shops import Files, Sheet, shop

Change = Callable[[Files, Random], Files]

PRICES = ("rates.csv", "fees.csv", "fuel.csv")
HEADINGS = ("", "Amount", "Date", "Reference", "Weight", "Size", "Total", "Zone", "Charge", "1", "Größe", "x" * 300)
CELLS = (
    *("", "0", "-1", "-", "n/a", "?", "12,5", "1.234,56", "1e30", "99999999999999.99", "0.0001", "(3.20)", "USD 4"),
    *(
        "31/02/2026",
        "2026-13-01",
        "0001-01-01",
        "9999-12-31",
        "46000",
        "=1+1",
        "@x",
        "\N{SNOWMAN}",
        "a\nb",
        '"',
        "x" * 5000,
    ),
    *("44 x 6", "0 x 0 x 0 in", "44 x 6 x 6 mi", "1e6 x 1 x 1 in", "0 lb", "900 lb", "-3 lb", "yes", "Total"),
)


def changed(files: Files, changes: Sequence[tuple[str, int]]) -> Files:
    """The files after each change in turn; each has chances of its own, so leaving one out leaves the others as is."""
    for name, seed in changes:
        files = CHANGES[name](files, Random(seed))
    return files


def _tables(files: Files) -> list[str]:
    return sorted(name for name, sheet in files.items() if isinstance(sheet, Sheet))


def _one(edit: Callable[[Sheet, Random], Sheet]) -> Change:
    """A change of one table among the files."""

    def change(files: Files, rng: Random) -> Files:
        if not (names := _tables(files)):
            return files
        # Price tables are few and dull: what the shop and its carriers wrote is changed more often.
        name = rng.choice([one for one in names if one not in PRICES or rng.random() < 0.5] or names)
        sheet = files[name]
        assert isinstance(sheet, Sheet)
        return {**files, name: edit(sheet, rng)} if sheet.headings else files

    return change


def _by_place(sheet: Sheet, places: Sequence[int]) -> Sheet:
    """The table with its columns in that order."""
    rows = tuple(tuple(row[place] for place in places if place < len(row)) for row in sheet.rows)
    return replace(sheet, headings=tuple(sheet.headings[place] for place in places), rows=rows)


def _with_cells(sheet: Sheet, places: set[tuple[int, int]], cell: Callable[[str], str]) -> Sheet:
    rows = tuple(
        tuple(cell(text) if (number, place) in places else text for place, text in enumerate(row))
        for number, row in enumerate(sheet.rows)
    )
    return replace(sheet, rows=rows)


def _column(sheet: Sheet, rng: Random) -> set[tuple[int, int]]:
    """All cells of one column."""
    place = rng.randrange(len(sheet.headings))
    return {(number, place) for number in range(len(sheet.rows))}


def _some(cells: set[tuple[int, int]], rng: Random, share: float) -> set[tuple[int, int]]:
    return {cell for cell in sorted(cells) if rng.random() < share}


def _all_cells(sheet: Sheet) -> set[tuple[int, int]]:
    return {(number, place) for number in range(len(sheet.rows)) for place in range(len(sheet.headings))}


def _dropped(sheet: Sheet, rng: Random) -> Sheet:
    gone = rng.randrange(len(sheet.headings))
    return _by_place(sheet, [place for place in range(len(sheet.headings)) if place != gone])


def _only_some(sheet: Sheet, rng: Random) -> Sheet:
    return _by_place(sheet, sorted(rng.sample(range(len(sheet.headings)), rng.randint(1, len(sheet.headings)))))


def _shuffled(sheet: Sheet, rng: Random) -> Sheet:
    return _by_place(sheet, rng.sample(range(len(sheet.headings)), len(sheet.headings)))


def _doubled(sheet: Sheet, rng: Random) -> Sheet:
    return _by_place(sheet, [*range(len(sheet.headings)), rng.randrange(len(sheet.headings))])


def _renamed(sheet: Sheet, rng: Random) -> Sheet:
    place, heading = rng.randrange(len(sheet.headings)), rng.choice([*HEADINGS, *sheet.headings])
    return replace(sheet, headings=(*sheet.headings[:place], heading, *sheet.headings[place + 1 :]))


def _headings_shifted(sheet: Sheet, rng: Random) -> Sheet:
    by = rng.randrange(len(sheet.headings))
    return replace(sheet, headings=(*sheet.headings[by:], *sheet.headings[:by]))


def _column_blanked(sheet: Sheet, rng: Random) -> Sheet:
    return _with_cells(sheet, _some(_column(sheet, rng), rng, rng.choice([1, 0.5])), lambda _: "")


def _column_filled(sheet: Sheet, rng: Random) -> Sheet:
    written = rng.choice(CELLS)
    return _with_cells(sheet, _some(_column(sheet, rng), rng, rng.choice([1, 0.3])), lambda _: written)


def _cells_garbled(sheet: Sheet, rng: Random) -> Sheet:
    cells = _some(_all_cells(sheet), rng, rng.choice([0.01, 0.05, 0.3]))
    return _with_cells(sheet, cells, lambda _: rng.choice(CELLS))


def _cells_blanked(sheet: Sheet, rng: Random) -> Sheet:
    return _with_cells(sheet, _some(_all_cells(sheet), rng, rng.choice([0.02, 0.2])), lambda _: "")


def _cells_mixed(sheet: Sheet, rng: Random) -> Sheet:
    """The cells of a column in another order."""
    cells = sorted(_column(sheet, rng))
    texts = [sheet.rows[number][place] for number, place in cells if place < len(sheet.rows[number])]
    rng.shuffle(texts)
    return _with_cells(sheet, set(cells), lambda _: texts.pop())


def _signs_turned(sheet: Sheet, rng: Random) -> Sheet:
    return _with_cells(sheet, _column(sheet, rng), lambda text: text[1:] if text.startswith("-") else f"-{text}")


def _rows(edit: Callable[[list[tuple[str, ...]], Random], Sequence[tuple[str, ...]]]) -> Change:
    return _one(lambda sheet, rng: replace(sheet, rows=tuple(edit(list(sheet.rows), rng))))


def _cut(rows: list[tuple[str, ...]], rng: Random) -> list[tuple[str, ...]]:
    at = rng.randint(0, len(rows))
    return rng.choice([rows[:at], rows[at:], rows[:-1], rows[:1], []])


def _thinned(rows: list[tuple[str, ...]], rng: Random) -> list[tuple[str, ...]]:
    return [row for row in rows if rng.random() < 0.6]


def _repeated(rows: list[tuple[str, ...]], rng: Random) -> list[tuple[str, ...]]:
    return [row for row in rows for _ in range(1 + (rng.random() < 0.15))]


def _mixed(rows: list[tuple[str, ...]], rng: Random) -> list[tuple[str, ...]]:
    return rng.sample(rows, len(rows))


def _shortened(rows: list[tuple[str, ...]], rng: Random) -> list[tuple[str, ...]]:
    """Rows of fewer cells than there are headings."""
    return [row[: rng.randint(0, len(row))] if rng.random() < 0.05 else row for row in rows]


def _headings_again(sheet: Sheet, rng: Random) -> Sheet:
    at = rng.randint(0, len(sheet.rows))
    return replace(sheet, rows=(*sheet.rows[:at], sheet.headings, *sheet.rows[at:]))


def _unheaded(sheet: Sheet, rng: Random) -> Sheet:
    del rng
    return replace(sheet, headed=False)


def _written(sheet: Sheet, rng: Random) -> Sheet:
    return replace(sheet, delimiter=rng.choice(";\t|,"), encoding=rng.choice(["utf-8-sig", "utf-16", "latin-1"]))


def _another_kind(files: Files, rng: Random) -> Files:
    """One table, or each, as a workbook or a web page."""
    suffix, tables = rng.choice([".xlsx", ".html"]), _tables(files)
    chosen = set(tables if rng.random() < 0.3 else rng.sample(tables, min(len(tables), 1)))
    return {f"{name.rpartition('.')[0]}{suffix}" if name in chosen else name: sheet for name, sheet in files.items()}


def _letter_changed(files: Files, rng: Random) -> Files:
    """Lines of the letters cut, repeated, or saying something else after their colon."""
    return {name: _told_otherwise(text, rng) if isinstance(text, str) else text for name, text in files.items()}


def _told_otherwise(text: str, rng: Random) -> str:
    lines = [
        rng.choice(["", line, f"{line}\n{line}", f"{line.partition(':')[0]}: {rng.choice(CELLS)}"])
        if rng.random() < 0.4
        else line
        for line in text.split("\n")
    ]
    return "\n".join(lines)


def _left_out(files: Files, rng: Random) -> Files:
    gone = rng.choice(sorted(files)) if files else ""
    return {name: sheet for name, sheet in files.items() if name != gone}


def _only_one(files: Files, rng: Random) -> Files:
    kept = set(rng.sample(sorted(files), min(len(files), rng.randint(1, 2))))
    return {name: sheet for name, sheet in files.items() if name in kept}


def _no_prices(files: Files, rng: Random) -> Files:
    gone = rng.choice([PRICES, ("rates.csv",), ("fees.csv",), ("fuel.csv",), ("rates.csv", "fees.csv")])
    return {name: sheet for name, sheet in files.items() if name not in gone}


def _twice(files: Files, rng: Random) -> Files:
    """A file under another name too, as it is or changed a little."""
    if not files:
        return files
    name = rng.choice(sorted(files))
    again = {f"again-{name}": files[name]}
    if rng.random() < 0.6:
        again = dict(CHANGES[rng.choice(["rows thinned", "cells blanked", "cells garbled", "rows cut"])](again, rng))
    return {**files, **again}


def _other_shop(files: Files, rng: Random) -> Files:
    """Some or all files of another shop beside these."""
    other = shop(
        rng.randrange(1000), months=rng.randint(1, 2), parcels=8, carriers=2, prefix=rng.choice(["77", "4410"])
    )
    taken = rng.sample(sorted(other), rng.randint(1, len(other)))
    return {**files, **{f"other-{name}": other[name] for name in taken}}


def _replaced(files: Files, rng: Random) -> Files:
    """One word for another in all tables: a service, a carton, a number."""
    words = rng.choice(
        [("Ground", "Express"), ("Parcel", ""), ("NP", "np "), ("box", ""), (".", ","), ("2025", "2019")]
    )
    kept = rng.choice(sorted(files)) if files else ""
    return {name: sheet if name == kept else _with_word(sheet, *words) for name, sheet in files.items()}


def _with_word(sheet: Sheet | str, word: str, other: str) -> Sheet | str:
    if isinstance(sheet, str):
        return sheet.replace(word, other)
    return replace(sheet, rows=tuple(tuple(cell.replace(word, other) for cell in row) for row in sheet.rows))


CHANGES: Mapping[str, Change] = {
    "column dropped": _one(_dropped),
    "some columns only": _one(_only_some),
    "columns shuffled": _one(_shuffled),
    "column doubled": _one(_doubled),
    "column renamed": _one(_renamed),
    "headings shifted": _one(_headings_shifted),
    "column blanked": _one(_column_blanked),
    "column filled": _one(_column_filled),
    "column mixed": _one(_cells_mixed),
    "signs turned": _one(_signs_turned),
    "cells garbled": _one(_cells_garbled),
    "cells blanked": _one(_cells_blanked),
    "rows cut": _rows(_cut),
    "rows thinned": _rows(_thinned),
    "rows repeated": _rows(_repeated),
    "rows mixed": _rows(_mixed),
    "rows shortened": _rows(_shortened),
    "headings again": _one(_headings_again),
    "no headings": _one(_unheaded),
    "written otherwise": _one(_written),
    "another kind of file": _another_kind,
    "letter changed": _letter_changed,
    "file left out": _left_out,
    "one or two files only": _only_one,
    "no prices": _no_prices,
    "file twice": _twice,
    "another shop": _other_shop,
    "words replaced": _replaced,
}
