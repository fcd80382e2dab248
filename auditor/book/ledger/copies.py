"""Copies of the book: a backup while it is in use, and everything as CSV or Parquet and back."""

from __future__ import annotations

import csv
import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any, Literal

from auditor.book.ledger import reading_out
from auditor.book.ledger.check import check
from auditor.book.ledger.documents import documents_of, keep, place
from auditor.book.ledger.opening import Book, BookError, Steps, new_copy, opened, own_steps, plainly
from auditor.book.ledger.taking_in import columns_of
from auditor.core import csv_cells
from auditor.core.progress import each
from auditor.core.whole_files import PRIVATE, make_private, make_private_folder, written_whole

Form = Literal["csv", "parquet"]
MANIFEST = "book.json"
LONGEST_CELL = 2**26


def backup(book: Book, target: Path) -> None:
    """Copy the book and its documents, as they are at one moment, also while another run writes.

    Raises:
        BookError: there is something at the target, or it cannot be written.
    """
    if target.exists():
        raise BookError(f"{target} is there already. Choose another name for the backup, or delete it first.")
    with plainly(target):
        target.parent.mkdir(parents=True, exist_ok=True)
        # The documents before the name: a backup that has its name is whole.
        with new_copy(target) as partial:
            with closing(sqlite3.connect(partial)) as copy:
                book.connection.backup(copy)
            with opened(partial) as copied:
                for digest, ending, source in _documents(copied, book.documents):
                    if source.exists():
                        keep(documents_of(target), source, digest, ending)


def _documents(book: Book, folder: Path) -> Iterator[tuple[str, str, Path]]:
    """Each document that the book refers to: its digest, its ending, and where it is kept in that folder."""
    for filed in each(reading_out.files(book), "Copying kept documents"):
        yield filed.digest, filed.path.suffix, place(folder, filed.digest, filed.path.suffix)
    with book.reading() as connection:
        for (digest,) in connection.execute("SELECT digest FROM rules WHERE digest <> ''").fetchall():
            yield digest, ".toml", place(folder, digest, ".toml")


def export(book: Book, folder: Path, form: Form) -> list[Path]:
    """Write every table, and the documents, into a folder that is new or empty.

    In CSV an empty cell is a missing value; a text that a spreadsheet could run, an empty text, and one that begins
    with ' get a ' before them, which `restored` takes away again.

    Raises:
        BookError: the folder is not empty, cannot be written, or there is nothing installed that writes Parquet.
    """
    if folder.exists() and any(folder.iterdir()):
        raise BookError(f"{folder} is not empty. Choose another folder for the export.")
    with plainly(folder):
        make_private_folder(folder)
        with book.reading() as connection:
            names = _tables(connection)
            for name in names:
                make_private(folder / f"{name}.{form}")
            counts = {name: _write(connection, name, folder / f"{name}.{form}", form) for name in names}
            number = int(connection.execute("PRAGMA user_version").fetchone()[0])
        for digest, ending, source in _documents(book, book.documents):
            if source.exists():
                keep(folder / "documents", source, digest, ending)
        manifest = folder / MANIFEST
        text = json.dumps({"form": number, "written_as": form, "rows": counts}, indent=2)
        with written_whole(manifest, PRIVATE) as file:
            file.write(f"{text}\n".encode())
    return [*(folder / f"{name}.{form}" for name in names), manifest]


def restored(folder: Path, path: Path, *, steps: Steps | None = None) -> None:
    """Make a book from an export; every row and document is as it was.

    Raises:
        BookError: there is a book at the path, the folder is no whole export, or what it holds does not add up.
    """
    if path.exists():
        raise BookError(f"There is a book at {path} already. Choose another --book for what is imported.")
    steps = steps or own_steps()
    number, form, counts = _manifest(folder, steps)
    with plainly(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        before = {step: text for step, text in steps.items() if step <= number}
        with new_copy(path) as partial, opened(partial, steps=before) as book:
            _fill(book, folder, form, counts)
            for digest, ending, source in _documents(book, folder / "documents"):
                if source.exists():
                    _keep_again(path, source, digest, ending)
    with opened(path, steps=steps) as book:
        if faults := check(book).faults:
            raise BookError(f"The book was imported to {path}, but it is not whole: {'; '.join(faults)}.")


def _keep_again(path: Path, source: Path, digest: str, ending: str) -> None:
    try:
        keep(documents_of(path), source, digest, ending)
    except ValueError as error:
        raise BookError(f"A document in {source.parents[2]} is not what it was: {error}. Export it again.") from error


def _manifest(folder: Path, steps: Steps) -> tuple[int, Form, dict[str, int]]:
    try:
        manifest = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        number, form, counts = int(manifest["form"]), manifest["written_as"], dict(manifest["rows"])
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise BookError(
            f"{folder} is no whole export of a book: its {MANIFEST} is missing or damaged. Export the book again."
        ) from error
    if number > max(steps):
        raise BookError(f"{folder} was exported by a newer version of this program. Install that version first.")
    if form not in {"csv", "parquet"}:
        raise BookError(f"{folder} was exported as {form}, which this version cannot read. Use csv or parquet.")
    return number, form, counts


def _fill(book: Book, folder: Path, form: Form, counts: dict[str, int]) -> None:
    with book.writing() as connection:
        connection.execute("PRAGMA defer_foreign_keys = ON")
        connection.execute("DELETE FROM step")
        names = _tables(connection)
        if set(names) != set(counts):
            raise BookError(f"{folder} does not have the tables of a book. Export the book again.")
        for name in names:
            columns = columns_of(connection, name)
            rows = _read(folder / f"{name}.{form}", columns, _kinds(connection, name), form)
            marks = ", ".join("?" * len(columns))
            try:
                connection.executemany(f"INSERT INTO {name} VALUES ({marks})", rows)
            except (ValueError, sqlite3.IntegrityError) as error:
                raise BookError(
                    f"{folder / name}.{form} cannot be imported: {error}. Export the book again."
                ) from error
            there = connection.execute(f"SELECT count(*) FROM {name}").fetchone()[0]
            if there != counts[name]:
                raise BookError(f"{folder / name}.{form} has {there:,} rows, but {counts[name]:,} were exported.")


def _tables(connection: sqlite3.Connection) -> list[str]:
    return [
        name for (name,) in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY rowid")
    ]


def _kinds(connection: sqlite3.Connection, name: str) -> list[str]:
    return [kind for (kind,) in connection.execute("SELECT type FROM pragma_table_info(?)", (name,))]


def _rows(connection: sqlite3.Connection, name: str) -> Iterator[list[tuple[Any, ...]]]:
    """The rows of a table in the order of its key, so that the same book gives the same files."""
    key = "SELECT name FROM pragma_table_info(?) WHERE pk > 0 ORDER BY pk"
    order = ", ".join(column for (column,) in connection.execute(key, (name,)).fetchall())
    cursor = connection.execute(f"SELECT * FROM {name} ORDER BY {order}")
    while rows := cursor.fetchmany(reading_out.AT_ONCE):
        yield rows


def _write(connection: sqlite3.Connection, name: str, path: Path, form: Form) -> int:
    columns, count = columns_of(connection, name), 0
    if form == "parquet":
        return _write_parquet(connection, name, path)
    with path.open("w", encoding="utf-8", newline="") as file:
        file.write(csv_cells.row(columns))
        for rows in _rows(connection, name):
            file.writelines(csv_cells.row(map(_cell, row)) for row in rows)
            count += len(rows)
    return count


def _cell(value: Any) -> str:
    """A value as a cell: a number as it is, a missing one empty, a text that no spreadsheet runs."""
    if not isinstance(value, str):
        return "" if value is None else repr(value)
    return f"'{value}" if not value or value.startswith("'") else csv_cells.inert(value)


def _value(cell: str, kind: str) -> Any:
    if cell == "":
        return None
    if kind == "TEXT":
        return cell.removeprefix("'")
    return int(cell) if kind == "INTEGER" else float(cell)


def _read(path: Path, columns: list[str], kinds: list[str], form: Form) -> Iterator[tuple[Any, ...]]:
    if form == "parquet":
        yield from _read_parquet(path, columns)
        return
    before = csv.field_size_limit(LONGEST_CELL)
    try:
        with path.open(encoding="utf-8", newline="") as file:
            reader = csv.reader(file, strict=True)
            if next(reader, None) != columns:
                raise BookError(f"{path} does not have the columns of a book. Export the book again.")
            for row in reader:
                yield tuple(_value(cell, kind) for cell, kind in zip(row, kinds, strict=True))
    finally:
        csv.field_size_limit(before)


def _parquet() -> Any:
    try:
        import pyarrow as pa
        import pyarrow.parquet
    except ImportError as error:
        raise BookError("Parquet needs pyarrow: pip install 'auditor[fast]'. Or export as CSV.") from error
    return pa


def _write_parquet(connection: sqlite3.Connection, name: str, path: Path) -> int:
    pa = _parquet()
    types = {"TEXT": pa.string(), "INTEGER": pa.int64(), "REAL": pa.float64()}
    columns, kinds = columns_of(connection, name), _kinds(connection, name)
    schema = pa.schema([(column, types[kind]) for column, kind in zip(columns, kinds, strict=True)])
    count = 0
    with pa.parquet.ParquetWriter(path, schema) as writer:
        for rows in _rows(connection, name):
            arrays = [
                pa.array(values, field.type) for values, field in zip(zip(*rows, strict=True), schema, strict=True)
            ]
            writer.write_table(pa.Table.from_arrays(arrays, schema=schema))
            count += len(rows)
    return count


def _read_parquet(path: Path, columns: list[str]) -> Iterator[tuple[Any, ...]]:
    with _parquet().parquet.ParquetFile(path) as file:
        if file.schema_arrow.names != columns:
            raise BookError(f"{path} does not have the columns of a book. Export the book again.")
        for batch in file.iter_batches(reading_out.AT_ONCE):
            yield from zip(*(column.to_pylist() for column in batch.columns), strict=True)
