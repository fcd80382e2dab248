"""The original documents, kept beside the book by content, so that evidence can be made years later."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path, PurePath

from auditor.core.whole_files import PRIVATE, make_durable, make_private_folder, written_whole

AT_ONCE = 2**20


def documents_of(path: Path) -> Path:
    """The folder with the original documents of the book at that path."""
    return path.with_name(f"{path.stem}.documents")


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
    copied = hashlib.sha256()
    make_private_folder(folder)
    make_private_folder(kept.parent)
    with source.open("rb") as original, written_whole(kept, PRIVATE) as copy:
        while part := original.read(AT_ONCE):
            copied.update(part)
            copy.write(part)
        if copied.hexdigest() != digest:
            raise ValueError("it changed while it was read")
    make_durable(folder)
    return kept
