"""The original documents, kept beside the book by content, so that evidence can be made years later."""

from __future__ import annotations

import hashlib
import os
import re
import shutil
from contextlib import suppress
from pathlib import Path, PurePath


def digest_of(path: Path) -> str:
    """The SHA-256 of a file's bytes."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def ending_of(name: str) -> str:
    """The ending that a kept file gets, so that a program can be found to open it; "" where it is not a plain one."""
    ending = PurePath(name).suffix.lower()
    return ending if re.fullmatch(r"\.[a-z0-9]{1,8}", ending) else ""


def place(folder: Path, digest: str, ending: str) -> Path:
    """Where the file of that content is kept."""
    return folder / digest[:2] / f"{digest}{ending}"


def keep(folder: Path, source: Path, digest: str, ending: str) -> Path:
    """Copy a file into the folder; when this returns, the copy is whole and durable. One that is there is left.

    Raises:
        OSError: it cannot be read or written.
        ValueError: it is no longer the file of that digest.
    """
    kept = place(folder, digest, ending)
    if kept.exists() and digest_of(kept) == digest:
        return kept
    kept.parent.mkdir(parents=True, exist_ok=True)
    partial = kept.with_name(f".{digest}.{os.getpid()}.partial")
    try:
        with source.open("rb") as original, partial.open("wb") as copy:
            shutil.copyfileobj(original, copy, 2**20)
            copy.flush()
            os.fsync(copy.fileno())
        if digest_of(partial) != digest:
            raise ValueError("it changed while it was read")
        partial.replace(kept)
    finally:
        partial.unlink(missing_ok=True)
    for changed in (kept.parent, folder):
        _make_durable(changed)
    return kept


def _make_durable(folder: Path) -> None:
    """Have a folder's new names written to the disk, where the system can do that for folders."""
    with suppress(PermissionError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
