"""Files that are there whole or not at all, on the disk when they are, and never written through a stranger's link."""

from __future__ import annotations

import errno
import os
import secrets
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

PRIVATE, PRIVATE_FOLDER = 0o600, 0o700
"""For the owner alone, whatever the umask: what holds buyers' addresses."""
USUAL = 0o666
"""For whom the umask lets."""


def fresh(beside: Path) -> Path:
    """A hidden name in the same folder, which nobody can have laid a link in wait at."""
    return beside.with_name(f".{secrets.token_hex(8)}.partial")


def make_private(path: Path) -> None:
    """Make an empty file that only its owner may read, unless there is one.

    Raises:
        OSError: it cannot be made.
    """
    with suppress(FileExistsError):
        os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, PRIVATE))
        path.chmod(PRIVATE)


def make_private_folder(folder: Path) -> None:
    """Make a folder that only its owner may look into, unless there is one; those above it as usual.

    Raises:
        OSError: it cannot be made.
    """
    folder.parent.mkdir(parents=True, exist_ok=True)
    with suppress(FileExistsError):
        folder.mkdir(mode=PRIVATE_FOLDER)
        folder.chmod(PRIVATE_FOLDER)


@contextmanager
def written_whole(path: Path, mode: int = USUAL) -> Iterator[BinaryIO]:
    """A file to write into. When the block has ended well it has that name, and is durable; otherwise nothing changed.

    What had the name is replaced, a link itself and not what it leads to.

    Raises:
        OSError: the folder cannot be written to.
    """
    partial = fresh(path)
    try:
        with os.fdopen(os.open(partial, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb") as file:
            if mode == PRIVATE:
                partial.chmod(mode)
            yield file
            file.flush()
            os.fsync(file.fileno())
        partial.replace(path)
    finally:
        partial.unlink(missing_ok=True)
    make_durable(path.parent)


def write_whole(path: Path, content: bytes | str) -> Path:
    """Write a file; one that is stopped leaves what was there.

    Raises:
        OSError: the folder cannot be written to.
    """
    with written_whole(path) as file:
        file.write(_bytes(content))
    return path


def write_together(folder: Path, contents: Mapping[str, bytes | str]) -> list[Path]:
    """Write several files into a folder, all of them or none: what one cannot replace stays with all others.

    Raises:
        OSError: one of them cannot be written; all are as they were.
    """
    paths = [folder / name for name in contents]
    with ExitStack() as undo:
        staged = [_staged(path, content, undo) for path, content in zip(paths, contents.values(), strict=True)]
        earlier = [_replaced(path, partial, undo) for path, partial in zip(paths, staged, strict=True)]
        undo.pop_all()
    for one in filter(None, earlier):
        one.unlink(missing_ok=True)
    make_durable(folder)
    return paths


def _staged(path: Path, content: bytes | str, undo: ExitStack) -> Path:
    """The content on the disk, under another name in the same folder."""
    partial = fresh(path)
    undo.callback(partial.unlink, missing_ok=True)
    return write_whole(partial, content)


def _replaced(path: Path, partial: Path, undo: ExitStack) -> Path | None:
    """Give the file its name; what had it before, under another name, which is put back if the others fail."""
    if path.is_dir() and not path.is_symlink():
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    earlier = _second_name(path) if os.path.lexists(path) else None
    undo.callback(_put_back, path, earlier)
    partial.replace(path)
    return earlier


def _second_name(path: Path) -> Path:
    """A second name for the file, where the system has such; otherwise another one in place of it."""
    other = fresh(path)
    try:
        os.link(path, other, follow_symlinks=False)
    except (OSError, NotImplementedError):
        path.rename(other)
    return other


def _put_back(path: Path, earlier: Path | None) -> None:
    if earlier is None:
        path.unlink(missing_ok=True)
        return
    earlier.replace(path)
    earlier.unlink(missing_ok=True)  # two names of the same file are both left by the line above (POSIX, rename)


def _bytes(content: bytes | str) -> bytes:
    # A stranger's file may hold half a character pair, which UTF-8 cannot: it is shown as its code.
    return content if isinstance(content, bytes) else content.encode("utf-8", errors="backslashreplace")


def make_durable(folder: Path) -> None:
    """Have a folder's new names written to the disk, where the system can do that for folders."""
    with suppress(PermissionError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
